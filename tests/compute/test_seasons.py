"""Where a day lies in a season.

The calendar, by hand; no source.
"""

import datetime

import pytest

from listkit.compute.seasons import Phase, phase_of
from listkit.model.settings import Season


def spring(first: str = "2027-02-15", last: str = "2027-05-10") -> Season:
    return Season.model_validate({"name": "spring", "on_sale": first, "off_sale": last})


@pytest.mark.parametrize(
    ("day", "phase"),
    [
        ("2027-02-14", Phase.NOT_YET),
        ("2027-02-15", Phase.ON_SALE),
        ("2027-05-10", Phase.ON_SALE),
        ("2027-05-11", Phase.OVER),
    ],
)
def test_the_first_and_the_last_day_are_on_sale(day: str, phase: Phase) -> None:
    assert phase_of(spring(), datetime.date.fromisoformat(day)) is phase


def test_what_has_no_season_or_an_impossible_one_is_on_sale_and_so_is_all_without_a_day() -> None:
    day = datetime.date(2030, 1, 1)
    assert phase_of(None, day) is phase_of(spring(last="2027-02-14"), day) is phase_of(spring(), None) is Phase.ON_SALE
