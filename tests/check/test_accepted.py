"""[[accepted]] silences one remark at one place, never what must be fixed, and is told when nothing answers to it."""

import datetime
from pathlib import Path

import pytest

from listkit.problem import Level, Problem
from tests.checked import problems_of
from tests.shops import PROBLEMS, broken_shop

TODAY = datetime.date(2027, 3, 1)


def told(tmp_path: Path, case: str, check: str, at: str) -> list[Problem]:
    """Return what is told of a problem's shop with one entry accepted."""
    shop = broken_shop(tmp_path / "shop", PROBLEMS / case)
    with (shop / "shop.toml").open("a", encoding="utf-8") as file:
        file.write(f'\n[[accepted]]\ncheck = "{check}"\nat = "{at}"\nreason = "as it is meant"\n')
    return problems_of(shop, TODAY)


@pytest.mark.parametrize(
    ("case", "at"),
    [
        ("band-missed", "RRS-1"),  # the set whose file it is in
        ("band-missed", "sets/dawn/set.toml"),
        ("band-missed", "RRS-1-J1"),  # named in the message
        ("weight-unlikely", "RR-B1"),  # a row of the items
    ],
)
def test_a_remark_is_silenced_by_what_it_is_said_of(tmp_path: Path, case: str, at: str) -> None:
    before = problems_of(broken_shop(tmp_path / "before", PROBLEMS / case), TODAY)
    assert [problem.code for problem in before] == [case]
    assert told(tmp_path, case, case, at) == []


@pytest.mark.parametrize(("check", "at"), [("band-missed", "RRS-2"), ("band-missed", "RRS"), ("crop-tight", "RRS-1")])
def test_another_place_or_another_check_stays_and_the_entry_is_told(tmp_path: Path, check: str, at: str) -> None:
    assert sorted(problem.code for problem in told(tmp_path, "band-missed", check, at)) == [
        "accepted-unused", "band-missed"
    ]  # fmt: skip


def test_what_is_said_of_an_entry_follows_the_checks_table_and_stays_on_one_line(tmp_path: Path) -> None:
    (unused,) = told(tmp_path, "clean", "band-missed", "x\\ny\\u001b[31m")
    assert unused.code == "accepted-unused"
    assert unused.message.isprintable()
    shop = tmp_path / "shop" / "shop.toml"
    text = shop.read_text(encoding="utf-8")
    shop.write_text(text + '\n[checks]\naccepted-unused = "must fix"\n', encoding="utf-8")
    assert [(each.code, each.level) for each in problems_of(shop.parent, TODAY)] == [
        ("accepted-unused", Level.MUST_FIX)
    ]
    shop.write_text(text + '\n[checks]\naccepted-unused = "off"\n', encoding="utf-8")
    assert problems_of(shop.parent, TODAY) == []


def test_what_must_be_fixed_is_told_all_the_same(tmp_path: Path) -> None:
    assert [problem.code for problem in told(tmp_path, "gtin-wrong", "gtin-wrong", "RRS-1")] == ["gtin-wrong"]
