"""What the owner may say in [checks], and what is wrong there.

Our own figures, as check/rules.py has them with their sources.
"""

import datetime
from decimal import Decimal
from pathlib import Path

import pytest

from listkit.check.rules import CODES, THRESHOLDS
from listkit.check.thresholds import read_thresholds, threshold_text
from listkit.problem import Level, Place, Problem
from tests.checked import problems_of
from tests.shops import clean_shop, edited
from tests.small_shop import settings


@pytest.mark.parametrize(
    ("code", "text", "figure"),
    [
        ("margin-thin", "30 %", "0.30"),
        ("sheet-long", "120 days", "120"),
        ("band-missed", "0.50", "0.50"),
        ("band-missed", "£0.50", "0.50"),
        ("wholesale-thin", "1.4", "1.4"),
        ("shelf-life-short", "9 months", "9"),
        ("options-alike", "1", "1"),
    ],
)
def test_a_figure_is_read_in_its_own_kind(code: str, text: str, figure: str) -> None:
    thresholds, problems = read_thresholds(settings(checks={code: text}))
    assert problems == ()
    assert thresholds.figures[code] == Decimal(figure)


@pytest.mark.parametrize(
    ("code", "text", "says"),
    [
        ("margin-thn", "off", 'there is no check "margin-thn". Write "margin-thin".'),
        ("margin-thin", "30", '"30" is not a share, which "margin-thin" goes by. Write it as in "30 %"'),
        ("sheet-long", "four months", '"four months" is not a number of days'),
        ("gtin-wrong", "12", '"12" is nothing that "gtin-wrong" can be. Write "off", "look at" or "must fix".'),
        ("wholesale-thin", "-1", '"-1" is not a number, which'),
        ("syntax", "off", '"syntax" cannot be changed'),
    ],
)
def test_what_cannot_be_read_is_told_at_its_key_and_ours_stays_in_force(code: str, text: str, says: str) -> None:
    thresholds, (problem,) = read_thresholds(settings(checks={code: text}))
    assert problem.place == Place("shop.toml", key=("checks", code))
    assert problem.code == ("bad-value" if code in CODES else "unknown-code")
    assert says in f"{problem.message} {problem.hint}"
    assert thresholds.off == frozenset()
    assert all(thresholds.figures[name] == threshold.ours for name, threshold in THRESHOLDS.items())


def test_levels_and_off_apply_to_whatever_problem_has_the_code() -> None:
    thresholds, _ = read_thresholds(settings(checks={"unknown-column": "off", "gtin-wrong": "look at"}))
    place = Place("items.csv")
    problems = [Problem(place, "unknown-column", "a"), Problem(place, "gtin-wrong", "b"), Problem(place, "syntax", "c")]
    assert [(one.code, one.level) for one in thresholds.judged(problems)] == [
        ("gtin-wrong", Level.LOOK_AT),
        ("syntax", Level.MUST_FIX),
    ]


def test_every_threshold_belongs_to_a_code_and_can_be_written_as_it_is_shown() -> None:
    for code, threshold in THRESHOLDS.items():
        shown = threshold_text(code, threshold.ours)
        thresholds, problems = read_thresholds(settings(checks={code: shown}))
        assert problems == ()
        assert code in CODES
        assert thresholds.figures[code] == threshold.ours


def test_a_code_of_reading_that_may_be_changed_is_changed_for_the_whole_command(tmp_path: Path) -> None:
    """A heading that is nearly one of ours is told while reading, before any check runs."""
    day = datetime.date(2027, 3, 1)
    typo = edited("items.csv", "upright", "uprihgt")
    checks = {**typo, **edited("shop.toml", "[[season]]", '[checks]\nunknown-column = "off"\n\n[[season]]')}
    told = problems_of(clean_shop(tmp_path / "told", typo), day)
    assert [one.code for one in told] == ["unknown-column"]
    assert problems_of(clean_shop(tmp_path / "off", checks), day) == []
