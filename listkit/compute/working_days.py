"""The days on which hands work, and what follows from them: when a batch is ready, by when it must be poured."""

import datetime
from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from listkit.compute.costs import Way
from listkit.model.making import WEEKDAYS, Workshop

LOOK: Final = 3 * 366
"""Days within which a working day is looked for; a workshop without one in three years has none."""
ONE_DAY: Final = datetime.timedelta(days=1)
_LAST: Final = datetime.date.max.toordinal()


@dataclass(frozen=True, slots=True)
class Week:
    """The hours that a week asks for, and those there are; `has` None where nobody says."""

    monday: datetime.date
    hours: Fraction
    has: Fraction | None

    @property
    def full(self) -> bool:
        """Whether it asks for more than there are."""
        return self.has is not None and self.hours > self.has


class WorkDays:
    """The days on which the owner works, counted and not walked, however many lie between two days."""

    def __init__(self, workshop: Workshop, open_again: frozenset[datetime.date] = frozenset()) -> None:
        """`open_again` are closed days that are supposed to be none."""
        self.hours_a_week = workshop.hours_a_week
        self.weekdays = frozenset(WEEKDAYS.index(name) for name in workshop.days)
        self.closed = frozenset(workshop.closed) - open_again
        self._shut = sorted(day.toordinal() for day in self.closed if day.weekday() in self.weekdays)
        self._in_week = [sum(day < rest for day in self.weekdays) for rest in range(7)]
        self._gaps = tuple(self._long_gaps()) if len(self._shut) >= LOOK // 7 else ()  # a week has one day at least

    def works(self, day: datetime.date) -> bool:
        """Whether she works on a day."""
        return day.weekday() in self.weekdays and day not in self.closed

    def weeks(self, hours: Mapping[datetime.date, Fraction]) -> Iterator[Week]:
        """Yield the weeks in which so many hours of work fall on days, with the hours that there are in them."""
        sums: dict[datetime.date, Fraction] = defaultdict(Fraction)
        for day, asked in hours.items():
            sums[day - ONE_DAY * day.weekday()] += asked
        for monday in sorted(sums):
            worked = sum(self.works(monday + ONE_DAY * at) for at in range(7))
            has = None
            if self.hours_a_week is not None and self.weekdays:
                has = Fraction(self.hours_a_week) * worked / len(self.weekdays)
            yield Week(monday, sums[monday], has)

    def last(self, day: datetime.date) -> datetime.date | None:
        """Return the last working day until `day`, itself included; None where there is none in three years."""
        return self._back(day, 1)

    def first(self, day: datetime.date) -> datetime.date | None:
        """Return the first working day from `day` on."""
        return self._ahead(day, 1)

    def ready(self, poured: datetime.date, way: Way) -> datetime.date | None:
        """Return when what is poured on a day is ready: its cure, then so many working days."""
        cured = moved(poured, way.cure)
        return self._ahead(moved(cured, 1), way.ready_after) if way.ready_after else cured

    def pour_by(self, by: datetime.date, way: Way) -> datetime.date | None:
        """Return the last working day on which it may be poured to be ready by a day."""
        wrapped = self._back(by, way.ready_after) if way.ready_after else by + ONE_DAY
        return self.last(moved(wrapped, -1 - way.cure)) if wrapped is not None else None

    def _back(self, day: datetime.date, number: int) -> datetime.date | None:
        """Return so many working days back from a day, itself counted; None behind three years without one."""
        start = day.toordinal()
        counted = self._worked(start)
        if not self.weekdays or counted < number or start - self._at(counted) >= LOOK:
            return None
        end = self._at(counted - number + 1)
        return None if self._crosses(end, self._at(counted)) else datetime.date.fromordinal(end)

    def _ahead(self, day: datetime.date, number: int) -> datetime.date | None:
        """Return so many working days on from a day, itself counted; None behind three years without one."""
        start = day.toordinal()
        counted = self._worked(start - 1) + 1
        end = self._at(counted + number - 1)
        if not self.weekdays or end > _LAST or self._at(counted) - start >= LOOK:
            return None
        return None if self._crosses(self._at(counted), end) else datetime.date.fromordinal(end)

    def _worked(self, day: int) -> int:
        """Return how many working days there are until the day of an ordinal, itself included; the first is a Monday.

        Days are ordinals of the proleptic Gregorian calendar, as `datetime.date` counts them.
        """
        weeks, rest = divmod(day, 7)
        return weeks * len(self.weekdays) + self._in_week[rest] - bisect_right(self._shut, day)

    def _at(self, number: int) -> int:
        """Return the ordinal of the working day of a number, the first of all being 1; beyond the calendar for none."""
        if not self.weekdays:
            return _LAST + 1
        near = number * 7 // len(self.weekdays)  # were no day closed, within a week
        days = range(min(_LAST + 1, max(0, near - 14)), min(_LAST + 1, near + 14 + 7 * len(self._shut)))
        return days.start + bisect_left(days, number, key=self._worked)

    def _crosses(self, first: int, last: int) -> bool:
        """Whether three years without a working day lie between two."""
        return any(first <= before and after <= last for before, after in self._gaps)

    def _long_gaps(self) -> Iterator[tuple[int, int]]:
        """Yield the working days before and behind each three years without one."""
        before = 0
        for day in self._shut:
            number = self._worked(day)
            if number != before and number and self._at(number + 1) - self._at(number) > LOOK:
                yield self._at(number), self._at(number + 1)
            before = number


def moved(day: datetime.date, days: int) -> datetime.date:
    """Return the day so many days later, or earlier; within the calendar."""
    ordinal = max(1, min(datetime.date.max.toordinal(), day.toordinal() + days))
    return datetime.date.fromordinal(ordinal)
