"""[[accepted]] silences one remark at one place, never what must be fixed, and is told when nothing answers to it.

Our own rule: common practice, no source.
"""

import datetime
from pathlib import Path

import pytest

from listkit.check.thresholds import without_accepted
from listkit.model.channel import Channel
from listkit.model.settings import Settings
from listkit.model.shop import Shop
from listkit.pipeline import check_shop
from listkit.problem import Level, Place, Problem
from tests.checked import problems_of
from tests.shops import PROBLEMS, broken_shop
from tests.small_shop import item
from tests.steps import calls

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
    (unused,) = told(tmp_path, "clean", "band-missed", "x\\ny\\u202e\\u202c")
    assert unused.code == "accepted-unused"
    assert unused.message.isprintable()
    shop = tmp_path / "shop" / "shop.toml"
    text = shop.read_text(encoding="utf-8")
    shop.write_text(text + '\n[checks]\naccepted-unused = "must fix"\n', encoding="utf-8")
    assert [(each.code, each.level) for each in problems_of(shop.parent, TODAY)] == [
        ("accepted-unused", Level.MUST_FIX)
    ]
    assert check_shop(shop.parent, TODAY).stopped
    shop.write_text(text + '\n[checks]\naccepted-unused = "off"\n', encoding="utf-8")
    assert problems_of(shop.parent, TODAY) == []


def test_what_must_be_fixed_is_told_all_the_same(tmp_path: Path) -> None:
    assert [problem.code for problem in told(tmp_path, "gtin-wrong", "gtin-wrong", "RRS-1")] == ["gtin-wrong"]


@pytest.mark.parametrize("at", ["set", "The", "box", "lie up to", "RRS", "16.00", "stal"])
def test_what_is_no_code_channel_or_file_answers_nothing_and_is_told(tmp_path: Path, at: str) -> None:
    kept, unused = sorted(told(tmp_path, "band-missed", "band-missed", at), key=lambda problem: problem.place.file)
    assert (kept.code, unused.code) == ("band-missed", "accepted-unused")
    assert str(unused).startswith(f'Look at · shop.toml, line 21: there is no code, channel or file "{at}". Write ')


def spoken_of(message: str, at: str, file: str = "items.csv") -> bool:
    """Return whether an entry answers a remark, in a shop with codes that begin alike."""
    entry = {"check": "band-missed", "at": at, "reason": "as it is meant"}
    settings = {"name": "N", "currency": "GBP", "country": "GB", "accepted": [entry]}
    codes = ("TT", "TT.2", "OHS", "OHS/2", "OHS-2")
    channel = Channel.model_validate({"key": "web", "name": "Our web shop", "make": ["feed"]})
    shop = Shop(Path("shop"), Settings.model_validate(settings), items=tuple(map(item, codes)), channels=(channel,))
    remark = Problem(Place(file), "band-missed", message, "", Level.LOOK_AT)
    return remark not in without_accepted((remark,), shop)[0]


@pytest.mark.parametrize(
    ("message", "at", "file", "answered"),
    [
        ("TT is thin.", "TT", "items.csv", True),
        ("thin is TT.", "TT", "items.csv", True),
        ("TT.2 is thin.", "TT", "items.csv", False),
        ("TT.2 is thin.", "TT.2", "items.csv", True),
        ("OHS/2, OHS-2 and A.OHS are thin.", "OHS", "items.csv", False),
        ("OHS/2: thin.", "OHS/2", "items.csv", True),
        ("it is on the web.", "web", "items.csv", False),
        ('it is what "web" shows.', "web", "items.csv", True),
        ("it is.", "web", "channels/web.toml", True),
        ("it is.", "web", "languages/web.toml", False),
        ("it is.", "items.csv", "items.csv", True),
    ],
)
def test_a_code_is_told_from_those_that_begin_with_it(message: str, at: str, file: str, *, answered: bool) -> None:
    assert spoken_of(message, at, file) == answered


def steps_of(count: int) -> int:
    """Return the calls for as many entries as there are remarks, each about an item of its own."""
    entries = [{"check": "band-missed", "at": f"Z-{at}", "reason": "so"} for at in range(count)]
    settings = Settings.model_validate({"name": "N", "currency": "GBP", "country": "GB", "accepted": entries})
    shop = Shop(Path("shop"), settings, items=tuple(item(f"Z-{at}") for at in range(count)))
    remarks = tuple(
        Problem(Place("items.csv"), "band-missed", f"Z-{at} is so.", "", Level.LOOK_AT) for at in range(count)
    )
    assert without_accepted(remarks, shop) == ((), ())
    return calls(lambda: without_accepted(remarks, shop))


def test_four_times_as_many_entries_and_remarks_cost_four_times_as_much() -> None:
    """Each entry was sought in each message by a pattern of its own."""
    assert steps_of(400) < 6 * steps_of(100)
