"""The days on which hands work, and what follows from them: when a batch is ready, by when it must be poured."""

import datetime
from collections.abc import Iterator
from typing import Final

from listkit.compute.costs import Way
from listkit.model.making import WEEKDAYS, Workshop

LOOK: Final = 3 * 366
"""Days within which a working day is looked for; a workshop without one in three years has none."""
ONE_DAY: Final = datetime.timedelta(days=1)


class WorkDays:
    """The days on which the owner works."""

    def __init__(self, workshop: Workshop, open_again: frozenset[datetime.date] = frozenset()) -> None:
        """`open_again` are closed days that are supposed to be none."""
        self.weekdays = frozenset(WEEKDAYS.index(name) for name in workshop.days)
        self.closed = frozenset(workshop.closed) - open_again

    def works(self, day: datetime.date) -> bool:
        """Whether she works on a day."""
        return day.weekday() in self.weekdays and day not in self.closed

    def last(self, day: datetime.date) -> datetime.date | None:
        """Return the last working day until `day`, itself included; None where there is none in three years."""
        return next((each for each in _run(day, -1) if self.works(each)), None)

    def first(self, day: datetime.date) -> datetime.date | None:
        """Return the first working day from `day` on."""
        return next((each for each in _run(day, 1) if self.works(each)), None)

    def ready(self, poured: datetime.date, way: Way) -> datetime.date | None:
        """Return when what is poured on a day is ready: its cure, then so many working days."""
        day: datetime.date | None = moved(poured, way.cure)
        for _ in range(way.ready_after):
            day = self.first(day + ONE_DAY) if day is not None and day < datetime.date.max else None
        return day

    def pour_by(self, by: datetime.date, way: Way) -> datetime.date | None:
        """Return the last working day on which it may be poured to be ready by a day."""
        day: datetime.date | None = by
        for _ in range(way.ready_after):
            worked = self.last(day) if day is not None else None
            day = worked - ONE_DAY if worked is not None and worked > datetime.date.min else None
        return self.last(moved(day, -way.cure)) if day is not None else None


def _run(day: datetime.date, step: int) -> Iterator[datetime.date]:
    """Yield the days from `day` on, at most so many as are looked through."""
    start = day.toordinal()
    for at in range(LOOK):
        if 1 <= start + at * step <= datetime.date.max.toordinal():
            yield datetime.date.fromordinal(start + at * step)


def moved(day: datetime.date, days: int) -> datetime.date:
    """Return the day so many days later, or earlier; within the calendar."""
    ordinal = max(1, min(datetime.date.max.toordinal(), day.toordinal() + days))
    return datetime.date.fromordinal(ordinal)
