"""`listkit check --new`: only what the last build did not remark yet."""

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.problem import Level, Place, Problem, not_in
from listkit.save.made import problems_of_last_build
from tests.cli.published import DAY, Told, small_shop
from tests.three_sets import published


@pytest.fixture
def told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Told:
    """A shop with one remark, built."""
    told = Told(small_shop(tmp_path / "shop"), capsys)
    told.edit("items.csv", "RR-M1,Little Willow,body butter,30 ml", "RR-M1,Little Willow,body butter,300 ml")
    return told


def all_of(told: Told) -> list[dict[str, str]]:
    problems: list[dict[str, str]] = json.loads(checked(told, "--json"))["problems"]
    return problems


def checked(told: Told, *words: str) -> str:
    assert told.run("check", "--today", DAY, *words) in (0, 1)
    return told.out


def test_after_a_build_nothing_is_new_and_what_was_there_is_counted(told: Told) -> None:
    assert told.build() == 0
    there = all_of(told)
    assert there, "the shop is made so that there is a remark"
    assert checked(told, "--new") == (
        f"Nothing is new. Known from the last build: 0 to fix, {len(there)} to look at; listkit check shows all.\n"
    )
    assert json.loads(checked(told, "--new", "--json")) == {"problems": [], "known": len(there)}


def test_what_came_since_is_shown_alone(told: Told) -> None:
    assert told.build() == 0
    before = all_of(told)
    told.edit("items.csv", "RR-J2,Water Mint,body butter,100 ml,9.00", 'RR-J2,Water Mint,body butter,100 ml,"9,00"')
    new = json.loads(checked(told, "--new", "--json"))
    assert new["known"] == len(before)
    assert "items.csv" in [each["file"] for each in new["problems"] if each["level"] == "must fix"]
    assert [each for each in all_of(told) if each not in before] == new["problems"]
    text = checked(told, "--new")
    assert text.startswith("Must fix · items.csv, row RR-J2, column retail: ")
    assert text.endswith(f"Known from the last build: 0 to fix, {len(before)} to look at; listkit check shows all.\n")


def test_the_exit_status_is_that_of_the_whole_shop(told: Told) -> None:
    told.edit("items.csv", "RR-J2,Water Mint,body butter,100 ml,9.00", 'RR-J2,Water Mint,body butter,100 ml,"9,00"')
    assert told.build() == 1
    assert told.run("check", "--new", "--today", DAY) == 1


def test_without_a_build_all_are_new_and_that_is_said(told: Told) -> None:
    everything, small_print, _ = checked(told).partition("Small print, ")
    assert small_print
    assert checked(told, "--new") == f"{everything}There is no build to compare with, so that all are shown.\n"
    assert json.loads(checked(told, "--new", "--json")) == {"problems": all_of(told), "known": 0}


def test_a_build_that_held_something_back_is_the_last_one_too(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = published(tmp_path / "shop", capsys)
    told.edit("sets/noon/set.toml", 'item = "RR-K1"', 'item = "RR-K9"')
    assert told.build() == 1
    text = checked(told, "--new")
    assert text.startswith("Nothing is new. Known from the last build: ")
    assert "1 to fix" in text
    assert told.build() == 1, "what must be fixed is looked at anew"


def test_a_build_elsewhere_is_named_by_out(told: Told, tmp_path: Path) -> None:
    assert told.build("--out", str(tmp_path / "there")) == 0
    assert "There is no build" in checked(told, "--new")
    assert "Nothing is new" in checked(told, "--new", "--out", str(tmp_path / "there"))


ROW = Place("items.csv", 4, "OH-B01", "retail")


def problem(message: str, place: Place = ROW, level: Level = Level.LOOK_AT, *, draft: bool = False) -> Problem:
    return Problem(place, "some-code", message, "Write it so.", level, draft=draft)


@pytest.mark.parametrize(("now", "new"), [
    (problem("12 of 40 are short."), False),
    (problem("1,204.50 of 41 are short."), False),
    (problem("12 of 40 are short.", Place("items.csv", 9, "OH-B01", "retail")), False),
    (problem("12 of 40 are short.", Place("items.csv", 4, "OH-B02", "retail")), True),
    (problem("12 of 40 are far too short."), True),
    (problem("OH-B2 and 40 are short."), True),
    (problem("12 of 40 are short.", level=Level.MUST_FIX), True),
    (problem("12 of 40 are short.", draft=True), True),
])  # fmt: skip
def test_a_remark_is_known_by_place_and_words_whatever_its_figures_and_line(now: Problem, new: bool) -> None:
    assert not_in([problem("12 of 40 are short.")], [now]) == ((now,) if new else ())


def test_one_more_of_the_same_is_new() -> None:
    twice = [problem("12 are short."), problem("14 are short.")]
    assert not_in([problem("14 are short.")], twice) == (twice[0],)


@given(content=st.binary(max_size=200) | st.sampled_from([b"{}", b"[]", b'{"problems": 7}', b'{"problems": [1]}']))
def test_whatever_is_in_the_place_of_the_memory_is_no_build(
    tmp_path_factory: pytest.TempPathFactory, content: bytes
) -> None:
    out = tmp_path_factory.mktemp("out")
    (out / ".built.json").write_bytes(content)
    assert problems_of_last_build(out) is None
