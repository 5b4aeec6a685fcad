"""Days on which hands work: curing runs through holidays, pouring and wrapping fall on working days."""

import datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from listkit.compute.costs import Way
from listkit.compute.working_days import LOOK, WorkDays
from listkit.model.making import WEEKDAYS, Weekday, Workshop

D = datetime.date.fromisoformat


def way(cure: int, ready_after: int = 0) -> Way:
    """A way that cures so many days."""
    return Way(24, Decimal(1), cure, Decimal(2), ready_after)


def days(*closed: str, on: tuple[str, ...] = WEEKDAYS[:5]) -> WorkDays:
    """A workshop that is open on these days of the week, but not on those days."""
    return WorkDays(Workshop.model_validate({"days": on, "closed": closed}))


@pytest.mark.parametrize(
    ("made", "cure", "ready"),
    [("2026-01-05", 28, "2026-02-02"), ("2026-01-05", 42, "2026-02-16")],
)
def test_a_cure_runs_through_all_days(made: str, cure: int, ready: str) -> None:
    """Four to six weeks is what suppliers of soap makers write; the days are counted by the calendar (ISO 8601)."""
    assert days("2026-01-20", "2026-02-02").ready(D(made), way(cure)) == D(ready)
    assert days().pour_by(D(ready), way(cure)) == D(made)


def test_pouring_and_wrapping_fall_on_days_on_which_somebody_works() -> None:
    workshop = days("2026-12-24", "2026-12-25", "2026-12-28")
    assert workshop.last(D("2026-12-28")) == D("2026-12-23")
    assert workshop.first(D("2026-12-24")) == D("2026-12-29")
    # the cure ends on Saturday the 26th; two working days later is Wednesday the 30th
    assert workshop.ready(D("2026-11-14"), way(42, ready_after=2)) == D("2026-12-30")
    assert workshop.pour_by(D("2026-12-30"), way(42, ready_after=2)) == D("2026-11-16")


def test_without_a_working_day_there_is_no_day_to_pour() -> None:
    assert days(on=()).pour_by(D("2027-01-01"), way(0)) is None
    assert days(on=()).ready(D("2027-01-01"), way(0, ready_after=1)) is None
    year = tuple((D("2026-01-01") + datetime.timedelta(at)).isoformat() for at in range(366))
    assert days(*year).last(D("2026-12-31")) == D("2025-12-31")
    assert days(*year).first(D("2026-01-01")) == D("2027-01-04")


@given(
    by=st.dates(D("2026-01-01"), D("2028-12-31")),
    cure=st.integers(0, 60),
    after=st.integers(0, 4),
    on=st.sets(st.sampled_from(WEEKDAYS), min_size=1),
    closed=st.sets(st.dates(D("2025-10-01"), D("2029-01-31")), max_size=60),
)
def test_pour_by_is_the_last_working_day_that_is_early_enough(
    by: datetime.date, cure: int, after: int, on: set[str], closed: set[datetime.date]
) -> None:
    """Held against trying every day, which is how one does it on paper."""
    workshop, made = WorkDays(Workshop.model_validate({"days": tuple(on), "closed": tuple(closed)})), way(cure, after)
    poured = workshop.pour_by(by, made)
    tried = (by - datetime.timedelta(at) for at in range(LOOK))
    best = next(day for day in tried if workshop.works(day) and (workshop.ready(day, made) or datetime.date.max) <= by)
    assert poured == best


@pytest.mark.parametrize("length", [LOOK - 3, LOOK - 1, LOOK, LOOK + 1])
@given(
    asked=st.dates(D("2022-06-01"), D("2033-01-01")),
    cure=st.integers(0, 60),
    after=st.integers(0, 400),
    on=st.sets(st.sampled_from(WEEKDAYS)),
)
def test_days_are_counted_as_they_would_be_walked(
    length: int, asked: datetime.date, cure: int, after: int, on: set[Weekday]
) -> None:
    """Held against walking day by day, through nearly and more than three years without a working day."""
    closed = tuple(D("2026-01-01") + datetime.timedelta(at) for at in range(length))
    workshop = WorkDays(Workshop.model_construct(days=tuple(on), closed=closed))

    def walked(day: datetime.date | None, step: int) -> datetime.date | None:
        days = (day + datetime.timedelta(step * at) for at in range(LOOK)) if day else ()
        return next((each for each in days if workshop.works(each)), None)

    ready: datetime.date | None = asked + datetime.timedelta(cure)
    by: datetime.date | None = asked
    for _ in range(after):
        ready = walked(ready + datetime.timedelta(1), 1) if ready else None
        worked = walked(by, -1)
        by = worked - datetime.timedelta(1) if worked else None
    assert workshop.ready(asked, way(cure, after)) == ready
    assert workshop.pour_by(asked, way(cure, after)) == (walked(by - datetime.timedelta(cure), -1) if by else None)


def test_a_workshop_has_no_thousands_of_closed_days() -> None:
    every = [(D("2026-01-01") + datetime.timedelta(at)).isoformat() for at in range(1_001)]
    assert Workshop.model_validate({"closed": every[:-1]}).closed
    with pytest.raises(ValidationError, match="1001 entries"):
        Workshop.model_validate({"closed": every})
