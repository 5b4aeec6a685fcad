"""Property: whatever part of a shop is broken, files and rows of the untouched sets are those of the sound shop.

Source: none but the sound shop itself, built beside the broken one and compared byte for byte.
"""

import csv
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.published import Told
from tests.samples import in_turn
from tests.three_sets import outputs, published, whole_shop

pytestmark = pytest.mark.usefixtures("pages_are_printed_once")

SETS = {"dawn": "RRS-1", "noon": "RRS-2", "dusk": "RRS-3"}
OWN_ITEMS = {"RR-J1": "dawn", "RR-K1": "noon", "RR-K2": "dusk"}
FAULTS: dict[str, Callable[[str], str]] = {
    "no TOML": lambda text: text.replace('name = "', "name = \u201c", 1),
    "a key that is none": lambda text: "colour = 3\n" + text,
    "an item that is none": lambda text: text.replace('item = "RR-', 'item = "ZZ-', 1),
    "no contents": lambda text: text.partition("[[contents]]")[0],
    "a season that is none": lambda text: text.replace('"spring"', '"sprig"'),
    "a code that is another's": lambda text: text.replace('code = "RRS-', 'code = "RR-B1" # "', 1),
    "nothing at all": lambda _text: "",
    "a theme still to write": lambda text: text.replace('theme = "', 'theme = "WRITE HERE: '),
    "a draft": lambda text: 'status = "draft"\n' + text,
}


@pytest.fixture
def told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Told:
    """A copy of the sound shop with what was built and recorded."""
    return published(tmp_path / "shop", capsys)


def untouched_files(made: dict[str, bytes], touched: str) -> dict[str, bytes]:
    """Return the files that speak of a single set, another than the touched."""
    others = [folder for folder in SETS if folder != touched]
    return {path: content for path, content in made.items() if any(f"/{folder}." in path for folder in others)}


def untouched_rows(made: dict[str, bytes], touched: str) -> dict[str, list[list[str]]]:
    """Return the rows of every table that speak of other sets than the touched."""
    codes = [code for folder, code in SETS.items() if folder != touched]
    return {
        path: [
            row
            for row in csv.reader(content.decode().splitlines())
            if any(cell.startswith(tuple(codes)) for cell in row[:2])
        ]
        for path, content in made.items()
        if path.endswith(".csv")
    }


def hold(told: Told, touched: str, before: dict[str, bytes]) -> None:
    """Build, then with the broken set left out by hand: the others are as they were, each time."""
    for more in ((), ("--without", touched)):
        told.build(*more)
        now = outputs(told.shop)
        assert untouched_files(now, touched) == untouched_files(before, touched), told.err
        assert untouched_rows(now, touched) == untouched_rows(before, touched), told.err
    assert all(untouched_rows(before, touched).values())


# Each fault in one of three sets alike, with all three by hand; so it is with the cells below.
@pytest.mark.parametrize(("fault", "folder"), in_turn(FAULTS, list(SETS)))
def test_a_broken_set_leaves_the_others_as_they_were(fault: str, folder: str, told: Told) -> None:
    before = outputs(told.shop)
    file = told.shop / "sets" / folder / "set.toml"
    file.write_text(FAULTS[fault](file.read_text(encoding="utf-8")), encoding="utf-8")
    hold(told, folder, before)


@pytest.mark.parametrize(("cell", "item"), in_turn(["retail", "weight (g)", "size (mm)", "form"], list(OWN_ITEMS)))
def test_a_broken_row_leaves_the_sets_without_the_item_as_they_were(cell: str, item: str, told: Told) -> None:
    before = outputs(told.shop)
    file = told.shop / "items.csv"
    rows = list(csv.reader(file.read_text(encoding="utf-8").splitlines()))
    at = rows[0].index(cell)
    for row in rows:
        row[at] = "\u200b?" if row[0] == item else row[at]
    with file.open("w", encoding="utf-8", newline="") as out:
        csv.writer(out).writerows(rows)
    hold(told, OWN_ITEMS[item], before)


def test_a_broken_box_leaves_the_sets_in_other_boxes_as_they_were(told: Told) -> None:
    before = outputs(told.shop)
    told.edit("packaging.toml", 'inside = "170 x 130 x 80 mm"', 'inside = "wide"')
    hold(told, "noon", before)


@pytest.mark.parametrize("picture", ["open-box.png", "detail.png"])
def test_a_broken_picture_leaves_the_other_sets_as_they_were(picture: str, told: Told) -> None:
    before = outputs(told.shop)
    (told.shop / "sets/dawn/photos" / picture).write_bytes(b"no picture")
    hold(told, "dawn", before)


# A fault in a file that several places use holds back these, as they are, and nothing else.

NO_TOML = "name = \u201c"
NO_TEXT = b"\xff\xfe\xff"
SHARED: dict[tuple[str, str | bytes], set[str]] = {
    ("languages/fr.toml", NO_TOML): {"web_fr", "print"},
    ("languages/fr.toml", '[items]\nRR-Z9 = "Rien"\n'): {"web_fr", "print"},
    ("templates/listing/listing.html", "{{ nothing }}"): {"web", "web_fr"},
    ("templates/listing/listing.txt", NO_TEXT): {"web", "web_fr", "fair", "stall"},
    ("templates/listing/listing.txt", "{{ nothing }}"): {"web", "web_fr", "fair", "stall"},
    ("templates/listing/listing.md", "{% for %}"): {"stall"},
    ("templates/words/fr.toml", NO_TOML): {"web_fr", "print"},
    ("templates/words/en.toml", NO_TOML): {"web", "fair", "stall", "wholesale", "print"},
    ("templates/cautions/fr.toml", NO_TOML): {"web_fr", "print"},
    ("templates/cautions/en.toml", NO_TOML): {"web", "fair", "stall", "print"},
    ("templates/label/fr.toml", NO_TOML): {"print"},
    ("templates/label/en.toml", NO_TOML): {"print"},
    ("templates/print/en.toml", NO_TOML): {"stall", "wholesale"},
    ("templates/print/line_sheet.typ", NO_TEXT): {"wholesale"},
    ("templates/print/stall_list.typ", NO_TEXT): {"stall"},
    ("templates/print/common.typ", NO_TEXT): {"stall", "wholesale"},
    ("templates/drawing/box.svg", NO_TEXT): set(),
    ("rates.csv", "service,zone,up to (g),price\nPacket,home,500,dear\n"): {"fair"},
    ("rates.csv", "service,zone,over (g),up to (g),price\nPacket,home,0,500,2\nPacket,home,400,900,3\n"): {"fair"},
    ("rates.csv", "nothing\n"): {"fair"},
}


def change(shop: Path) -> None:
    """Change what every place shows of one set."""
    for path, old, new in (
        ("items.csv", "Bog Myrtle", "Bog Myrtle Leaf"),
        ("sets/dusk/story.md", "Salts", "Bath salts"),
        ("sets/dusk/story.fr.md", "Pour", "Voici"),
        ("languages/fr.toml", '"Myrte"', '"Myrte des marais"'),
    ):
        file = shop / path
        file.write_text(file.read_text(encoding="utf-8").replace(old, new), encoding="utf-8")


@pytest.fixture(scope="module")
def wholes(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Where the sound shop, and it with a change, are to be."""
    folder = tmp_path_factory.mktemp("wholes")
    return folder / "before", folder / "after"


@pytest.fixture
def whole(wholes: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Told:
    """A copy of the sound shop, built; one with a change is built beside it."""
    before, after = wholes
    if not before.exists():
        assert Told(whole_shop(before), capsys).build() == 0
        shutil.copytree(before, after)
        change(after)
        assert Told(after, capsys).build() == 0
    return Told(Path(shutil.copytree(before, tmp_path / "shop")), capsys)


@pytest.mark.parametrize(("path", "content"), SHARED, ids=[f"{path} {content!r:.12}" for path, content in SHARED])
def test_a_fault_in_a_shared_file_holds_back_the_places_that_use_it_alone(
    path: str, content: str | bytes, whole: Told, wholes: tuple[Path, Path]
) -> None:
    touched = SHARED[path, content]
    before, after = (outputs(each) for each in wholes)
    change(whole.shop)
    file = whole.shop / path
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(content if isinstance(content, bytes) else content.encode())
    assert whole.build() == 1
    now = outputs(whole.shop)
    assert path in now["proof.html"].decode()  # which says what is to be mended
    apart = {"manifest.json", "proof.html"}
    wanted = {
        name: (before if name.partition("/")[0] in touched else after).get(name, b"")
        for name in ({*before, *after} - apart)
    }
    assert {name: made for name, made in now.items() if name not in apart} == {
        name: made for name, made in wanted.items() if made
    }, whole.err
    assert ("Held back until" in whole.err) == bool(touched)
    assert whole.run("record", "--all") == bool(touched - {"print"})


ITEMS_MADE = {
    "RR-K1,Sodium Chloride,,lots\n": "noon",
    "RR-K1,Sodium Chloride,,97\nRR-K1,Reed oil,,3\nReed oil,Parfum,,none\n": "noon",
    "RR-K2,Sodium Chloride,,70\nRR-K2,Aqua,,70\n": "dusk",
}


@pytest.mark.parametrize("rows", ITEMS_MADE)
def test_a_fault_in_percentages_concerns_the_sets_with_what_is_made_so(
    rows: str, whole: Told, wholes: tuple[Path, Path]
) -> None:
    before = outputs(wholes[0])
    (whole.shop / "ingredients.csv").write_text(f"item,ingredient,CAS,percent\n{rows}", encoding="utf-8")
    for more in ((), ("--without", ITEMS_MADE[rows])):
        whole.build(*more)
        now = outputs(whole.shop)
        assert untouched_files(now, ITEMS_MADE[rows]) == untouched_files(before, ITEMS_MADE[rows]), whole.err
        assert untouched_rows(now, ITEMS_MADE[rows]) == untouched_rows(before, ITEMS_MADE[rows]), whole.err


def test_percentages_of_nobody_knows_what_leave_out_whatever_they_may_be_of(whole: Told) -> None:
    before = outputs(whole.shop)
    file = whole.shop / "ingredients.csv"
    file.write_text("item,ingredient,CAS,percent\nRR-BI,Linalool,,3\n", encoding="utf-8")
    assert whole.build() == 1
    assert outputs(whole.shop) == before
