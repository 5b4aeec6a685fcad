"""Property: whatever part of a shop is broken, files and rows of the untouched sets are those of the sound shop.

Source: none but the sound shop itself, built beside the broken one and compared byte for byte.
"""

import csv
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.published import Told
from tests.three_sets import outputs, published

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


@pytest.mark.parametrize("folder", SETS)
@pytest.mark.parametrize("fault", FAULTS)
def test_a_broken_set_leaves_the_others_as_they_were(fault: str, folder: str, told: Told) -> None:
    before = outputs(told.shop)
    file = told.shop / "sets" / folder / "set.toml"
    file.write_text(FAULTS[fault](file.read_text(encoding="utf-8")), encoding="utf-8")
    hold(told, folder, before)


@pytest.mark.parametrize("item", OWN_ITEMS)
@pytest.mark.parametrize("cell", ["retail", "weight (g)", "size (mm)", "form"])
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
