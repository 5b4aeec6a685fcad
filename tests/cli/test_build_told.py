"""What a build prints: what must be fixed, one line of counts, and what is where."""

from pathlib import Path

import pytest

from listkit.present.building import folder_lines
from listkit.save.manifest import Entry
from tests.cli.published import DAY, Told, small_shop
from tests.three_sets import published


@pytest.fixture
def told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Told:
    """A shop with one remark."""
    told = Told(small_shop(tmp_path / "shop"), capsys)
    told.edit("items.csv", "RR-M1,Little Willow,body butter,30 ml", "RR-M1,Little Willow,body butter,300 ml")
    return told


def test_remarks_are_counted_and_folders_listed_with_what_is_in_them(told: Told) -> None:
    assert told.build() == 0
    first, second, *folders, proof = told.err.splitlines()
    assert first == "0 to fix, 1 to look at; listkit check shows all."
    assert second.startswith(f"{told.shop / 'out'}: ")
    assert " made, 0 unchanged, 0 removed, in " in second
    there = [path.relative_to(told.shop / "out").parts[0] for path in (told.shop / "out").rglob("*") if path.is_file()]
    assert [line.split()[:2] for line in folders] == [
        [f"{name}/", str(there.count(name))] for name in sorted({name for name in there if "." not in name})
    ]
    assert proof == "  proof.html: read it through before anything goes out"
    assert told.out == ""


def test_an_unchanged_build_prints_the_same(told: Told) -> None:
    assert told.build() == 0
    first = told.err.splitlines()
    assert told.build() == 0
    second = told.err.splitlines()
    assert " 0 made, " in second[1]
    assert [*second[:1], *second[2:]] == [*first[:1], *first[2:]]


def test_what_must_be_fixed_is_listed_whole_before_the_counts(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = published(tmp_path / "shop", capsys)
    told.edit("items.csv", "RR-M1,Little Willow,body butter,30 ml", "RR-M1,Little Willow,body butter,300 ml")
    told.edit("sets/noon/set.toml", 'item = "RR-K1"', 'item = "RR-K9"')
    assert told.build() == 1
    lines = told.err.splitlines()
    assert lines[0].startswith("Must fix · sets/noon/set.toml")
    assert not [line for line in lines if line.startswith("Look at")]
    assert told.run("check", "--today", DAY) == 1
    remarks = told.out.count("Look at · ")
    assert remarks
    assert f"1 to fix, {remarks} to look at. Begin with sets/noon/set.toml; listkit check shows all." in lines
    assert told.build("--strict") == 1
    assert told.err.splitlines() == lines[:3]


def test_a_shop_without_remarks_has_nothing_to_read_elsewhere(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = Told(small_shop(tmp_path / "shop"), capsys)
    assert told.build() == 0
    assert told.err.startswith("Nothing to fix, nothing to look at.\n")


def entry(path: str) -> Entry:
    return Entry(path, "", 1, "0" * 64, None, None, None, None, guarded=False, codes=())


def test_folders_are_counted_with_what_is_below_them() -> None:
    paths = ["web/feed.csv", "web/listings/a.html", "web/listings/b.html", "web/photos/a.jpg", "stall/price-list.csv"]
    paths += ["print/labels/deep/a.pdf", "print/labels/deep/b.pdf", "manifest-like.json"]
    assert list(folder_lines([entry(path) for path in paths])) == [
        "  print/  2 files in labels/",
        "  stall/  1 file",
        "  web/    4 files: 1 here, 2 in listings/, 1 in photos/",
    ]


def test_without_files_there_is_no_line() -> None:
    assert list(folder_lines([])) == []
