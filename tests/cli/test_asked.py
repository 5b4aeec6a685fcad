"""Files that are asked for by a path: nothing of the owner's is lost, whatever lies there and however the disk is."""

import re
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from listkit.cli import main
from listkit.save.out_folder import part_of
from tests.cli.published import Told, built_shop
from tests.disks import Ended, files_end_at, files_of, run_on
from tests.shops import clean_shop

SAMPLE = "SKU,Title,Price,Quantity\nA-1,A soap,7.50,3\nA-2,A balm,9.00,1\n"


@pytest.fixture
def told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Told:
    """A shop of which the web shop was built and recorded."""
    return built_shop(tmp_path / "shop", capsys, ("web", "--at", "2026-09-01T10:00"))


@pytest.fixture
def sample(tmp_path: Path) -> Path:
    file = tmp_path / "sample.csv"
    file.write_text(SAMPLE, encoding="utf-8")
    return file


def svg_commands(shop: Path, place: str) -> list[list[str]]:
    """Each command that draws to a path, with this one."""
    return [
        ["history", "RRS-1-J1", "--svg", place, "--shop", str(shop)],
        ["show", "RRS-1", "--out", place, "--shop", str(shop)],
    ]


@pytest.mark.parametrize("number", [0, 1])
@pytest.mark.parametrize(
    "place",
    [
        "items.csv", "ledger.sqlite3", "sets/set-1/set.toml", "channels/web.toml", "own.svg", "sets/new.svg",
        "channels/new.svg", "photos/new.svg", "linked.svg", "linked/new.svg",
    ],
)  # fmt: skip
def test_a_drawing_takes_no_place_of_the_owners_and_goes_through_no_link(
    told: Told, tmp_path: Path, number: int, place: str
) -> None:
    (told.shop / "own.svg").write_text("<svg>mine</svg>", encoding="utf-8")
    (told.shop / "linked.svg").symlink_to(told.shop / "items.csv")
    (tmp_path / "outside").mkdir()
    (told.shop / "linked").symlink_to(tmp_path / "outside", target_is_directory=True)
    before, outside = files_of(told.shop), files_of(tmp_path / "outside")
    assert told.run(*svg_commands(told.shop, str(told.shop / place))[number][:-2]) == 1
    assert told.err.strip()
    assert "Traceback" not in told.err
    assert files_of(told.shop) == before
    assert files_of(tmp_path / "outside") == outside


@pytest.mark.parametrize("number", [0, 1])
def test_a_free_name_is_told_and_our_own_drawing_is_made_again(told: Told, tmp_path: Path, number: int) -> None:
    place = tmp_path / "drawing.svg"
    place.write_text("<svg>mine</svg>", encoding="utf-8")
    words = svg_commands(told.shop, str(place))[number][:-2]
    assert told.run(*words) == 1
    assert "drawing-2.svg" in told.err
    assert place.read_text(encoding="utf-8") == "<svg>mine</svg>"
    place.unlink()
    for _ in range(2):
        assert told.run(*words) == 0
        assert "listkit made this drawing" in place.read_text(encoding="utf-8").splitlines()[-1]
    place.write_text(place.read_text(encoding="utf-8").replace("<svg", "<svg id='mine'", 1), encoding="utf-8")
    assert told.run(*words) == 1
    assert "id='mine'" in place.read_text(encoding="utf-8")


@pytest.mark.parametrize("number", [0, 1])
def test_a_full_disk_leaves_no_half_a_drawing(told: Told, tmp_path: Path, number: int) -> None:
    words = svg_commands(told.shop, str(tmp_path / "drawing.svg"))[number][:-2]
    assert told.run(*words) == 0
    whole = (tmp_path / "drawing.svg").read_bytes()
    for size in (0, 10, len(whole) - 1):
        with files_end_at(size):
            assert told.run(*words[:-1], str(tmp_path / f"new-{size}.svg")) == 1
        assert "cannot be written" in told.err
        with files_end_at(size):
            told.run(*words)
    assert [path.name for path in tmp_path.iterdir() if "svg" in path.name or "part" in path.name] == ["drawing.svg"]
    assert (tmp_path / "drawing.svg").read_bytes() == whole


def learn(shop: Path, sample: Path, name: str) -> int:
    return main(["learn", str(sample), "--name", name, "--shop", str(shop)])


def test_learn_writes_through_no_link(tmp_path: Path, sample: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop = clean_shop(tmp_path / "shop")
    (shop / "channels").rename(tmp_path / "outside")
    (shop / "channels").symlink_to(tmp_path / "outside", target_is_directory=True)
    before = files_of(tmp_path / "outside")
    assert learn(shop, sample, "New place") == 1
    assert "channels is a link, which is not followed." in capsys.readouterr().err
    assert files_of(tmp_path / "outside") == before


@pytest.mark.parametrize("name", ["Con", "nul", "LPT1"])
def test_learn_makes_no_channel_with_the_name_of_a_device(
    tmp_path: Path, sample: Path, name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    shop = clean_shop(tmp_path / "shop")
    before = files_of(shop)
    assert learn(shop, sample, name) == 1
    assert f'"{name}" cannot be the name of a channel.' in capsys.readouterr().err
    assert files_of(shop) == before


def test_a_channel_with_the_name_of_a_device_is_told_by_check(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shop = clean_shop(tmp_path / "shop", {"channels/con.toml": 'name = "Con"\nmake = ["price list"]\n'})
    assert main(["check", "--shop", str(shop)]) == 1
    assert '"con" cannot be a channel\'s key: some systems keep that name for themselves.' in capsys.readouterr().out


@pytest.mark.parametrize("size", [0, 100, 300])
def test_a_full_disk_leaves_no_half_a_channel_set_or_shop(
    tmp_path: Path, sample: Path, size: int, capsys: pytest.CaptureFixture[str]
) -> None:
    shop = clean_shop(tmp_path / "shop")
    before = files_of(tmp_path)
    with files_end_at(size):
        assert learn(shop, sample, "New place") == 1
        assert main(["add", "New set", "--shop", str(shop)]) == 1
        assert main(["new", str(tmp_path / "deep/new")]) == 1
        assert main(["new", str(tmp_path / "deep/new"), "--items", str(shop / "items.csv")]) == 1
    told = capsys.readouterr().err
    assert told.count("File too large") == 4
    assert files_of(tmp_path) == before


DISK_WORDS = [
    ["learn", "SHOP/sample.csv", "--name", "New place", "--shop", "SHOP"],
    ["add", "New set", "--shop", "SHOP"],
    ["new", "SHOP/new"],
    ["new", "SHOP/new", "--items", "SHOP/items.csv"],
    ["changes", "--shop", "SHOP", "--set-item", "RR-B1", "retail=8.00", "--apply", "--today", "2027-03-01"],
    ["changes", "--shop", "SHOP", "--today", "2027-03-01"],
    ["build", "--shop", "SHOP", "--today", "2027-03-01"],
    ["show", "RRS-1", "--out", "SHOP/drawing.svg", "--shop", "SHOP"],
]


@pytest.fixture(scope="module")
def on_disks(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], list[Ended]]:
    """Return what gives how each of the commands ends on a disk of a kind; they run once, one after the other."""

    @cache
    def ended_on(kind: str) -> list[Ended]:
        shop = clean_shop(tmp_path_factory.mktemp(kind) / "shop")
        (shop / "sample.csv").write_text(SAMPLE, encoding="utf-8")
        return run_on(kind, shop, DISK_WORDS)

    return ended_on


@pytest.mark.parametrize("kind", ["full", "read-only"])
@pytest.mark.parametrize("words", DISK_WORDS, ids=lambda words: " ".join(words[:2]))
def test_on_a_full_or_read_only_disk_nothing_is_changed_and_it_is_told(
    on_disks: Callable[[str], list[Ended]], kind: str, words: list[str]
) -> None:
    status, text, before, after = on_disks(kind)[DISK_WORDS.index(words)]
    assert status == 1, text
    assert ("No space left" if kind == "full" else "Read-only file system") in text
    assert "Traceback" not in text
    empty = {"out", "out/.lock", "out/.making.jsonl"}  # what a build that comes to nothing may leave
    assert {path: what for path, what in after.items() if path not in empty} == {
        path: what for path, what in before.items() if path not in empty
    }


@pytest.mark.parametrize(
    "out", ["", "sets", "sets/dawn", "photos", "channels/new", "..", "project", ".listkit", ".listkit/kept"]
)
@pytest.mark.parametrize("command", [["build"], ["changes"]])
def test_outputs_go_to_no_folder_of_the_shop_or_of_another_project(
    tmp_path: Path, out: str, command: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    shop = clean_shop(tmp_path / "shop")
    (shop / "project").mkdir()
    (shop / "project/index.html").write_text("mine", encoding="utf-8")
    before = files_of(tmp_path)
    assert main([*command, "--shop", str(shop), "--out", str(shop / out), "--today", "2027-03-01"]) == 1
    assert "--out" in capsys.readouterr().err
    assert files_of(tmp_path) == before


def test_a_folder_with_a_manifest_of_another_program_alone_takes_no_outputs(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shop = clean_shop(tmp_path / "shop")
    (tmp_path / "page").mkdir()
    (tmp_path / "page/manifest.json").write_text('{"name": "A page", "icons": []}', encoding="utf-8")
    before = files_of(tmp_path)
    for command in (["build"], ["changes"], ["plan", "--calendar"]):
        words = [*command, "--shop", str(shop), "--out", str(tmp_path / "page"), "--today", "2027-03-01"]
        assert main(words) == 1, command
        assert "none that listkit made" in capsys.readouterr().err
        assert files_of(tmp_path) == before


@pytest.mark.parametrize("out", ["", "other", "x" * 300])
def test_packing_out_of_a_folder_that_is_none_of_ours_leaves_nothing_in_it(
    tmp_path: Path, out: str, capsys: pytest.CaptureFixture[str]
) -> None:
    shop = clean_shop(tmp_path / "shop")
    (shop / "other").mkdir()
    before = files_of(tmp_path)
    words = ["pack", "stall", str(tmp_path / "stall.zip"), "--shop", str(shop), "--out", str(shop / out)]
    assert main(words) == 1
    assert "nothing is built" in capsys.readouterr().err
    assert files_of(tmp_path) == before


def test_a_drawing_for_a_name_that_is_too_long_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop = clean_shop(tmp_path / "shop")
    code = re.search(r'code = "([^"]+)"', next(shop.glob("sets/*/set.toml")).read_text(encoding="utf-8"))
    assert code is not None
    assert main(["show", code[1], "--shop", str(shop), "--out", str(tmp_path / ("x" * 300))]) == 1
    assert "cannot be written" in capsys.readouterr().err


def test_an_empty_folder_or_one_of_ours_takes_outputs(tmp_path: Path) -> None:
    shop, out = clean_shop(tmp_path / "shop"), tmp_path / "out"
    out.mkdir()
    for _ in range(2):
        assert main(["build", "--shop", str(shop), "--out", str(out), "--today", "2027-03-01"]) == 0


def test_a_list_of_changes_is_written_over_nothing_of_the_owners(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shop = clean_shop(tmp_path / "shop")
    page = shop / "out/stall/changes/changes.md"
    page.parent.mkdir(parents=True)
    page.write_text("mine", encoding="utf-8")
    words = ["changes", "stall", "--shop", str(shop), "--today", "2027-03-01"]
    assert main(words) == 1
    assert "changes-2.md" in capsys.readouterr().err
    assert page.read_text(encoding="utf-8") == "mine"
    page.unlink()
    for _ in range(2):
        assert main(words) == 1  # everything is new
        assert "changes.md" in capsys.readouterr().err
    page.write_text(page.read_text(encoding="utf-8") + "- [x] told the printer\n", encoding="utf-8")
    assert main(words) == 1
    assert page.read_text(encoding="utf-8").endswith("told the printer\n")


def test_a_link_planted_at_a_temporary_name_is_not_written_through(tmp_path: Path) -> None:
    """The names hold nothing that can be known before: two of one path in one process differ in 128 bits."""
    names = {part_of(tmp_path, "changes.csv").name for _ in range(100)}
    assert len(names) == 100
    assert all(len(name.rpartition("-")[2].partition(".")[0]) == 32 for name in names)
