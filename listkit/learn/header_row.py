"""Finds the row that names the columns: below titles and groups of columns, above the rows and a row of units."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from listkit.learn.folding import unit_of
from listkit.learn.hits import AMONG, hits

_WITHIN: Final = 30
Row = Sequence[str]


@dataclass(frozen=True, slots=True)
class HeaderRow:
    """The header: its place among the rows given, from 0, its headings in one line each, and the units right below.

    `first` is the place of the first row that may be a thing. `units` is empty unless a row of its own holds them.
    """

    index: int
    headings: tuple[str, ...]
    units: tuple[str, ...] = ()

    @property
    def first(self) -> int:
        """The place of the first row below header and units."""
        return self.index + (2 if self.units else 1)

    @property
    def with_units(self) -> tuple[str, ...]:
        """The headings, each with the unit that stands below it."""
        return tuple(
            f"{heading} ({self.units[at]})" if at < len(self.units) and self.units[at] else heading
            for at, heading in enumerate(self.headings)
        )


def find_header(rows: Sequence[Row]) -> HeaderRow | None:
    """Return the row that names most of what items have; None when no row names two things, or all of its few."""
    best, place = (0, 0), -1
    seen = 0
    for at, row in enumerate(rows):
        filled = [cell for cell in row if cell.strip()]
        seen += bool(filled)
        if seen > _WITHIN:
            break
        named = heading_score(row)
        if named > best and named[0] >= min(2, len(filled)):
            best, place = named, at
    if place < 0:
        return None
    headings = tuple(" ".join(cell.split()) for cell in rows[place])
    return HeaderRow(place, headings, _units(rows[place + 1]) if place + 1 < len(rows) else ())


def heading_score(row: Row) -> tuple[int, int]:
    """Return how many fields of items a row names, and how many of its cells mean anything as headings."""
    found = [[hit for hit in hits(" ".join(cell.split())) if hit.score >= AMONG] for cell in row if cell.strip()]
    fields = {one[0].meaning.item for one in found if one} - {""}
    return len(fields), sum(bool(one) for one in found)


def _units(row: Row) -> tuple[str, ...]:
    """Return the units in a row that holds nothing else."""
    words = [cell.strip().strip("()[]").strip() for cell in row]
    known = [bool(word) and bool(unit_of(word)[0]) for word in words]
    return tuple(words) if any(known) and all(yes or not word for yes, word in zip(known, words, strict=True)) else ()
