"""What a channel shows now, held against the truth: cell by cell, matched by code, rows in any order.

Pure. Nothing is passed over: a column, row or cell that cannot be compared is told as such.
"""

import datetime
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final

from listkit.fields import FIELDS, Kind
from listkit.ledger.alike import Alike, DayText, alike

KINDS: Final = {
    "price": "price lowestPrice highestPrice wholesalePrice suggestedRetail priceCurrency",
    "stock": "inventoryLevel availability canMake",
    "title": "name title setName",
    "option": "slot choice",
    "weight": "weight parcelWeight volumetricWeight chargeableWeight",
    "size": "width height depth",
    "photo": "image alt",
    "date": "priceValidUntil availabilityStarts availabilityEnds",
    "code": "sku gtin inProductGroupWithID itemCodes",
}
_KIND_OF: Final = {name: kind for kind, names in KINDS.items() for name in names.split()}
MOST_LINES: Final = 20
"""So many lines of an export are named in one remark."""


@dataclass(frozen=True, slots=True)
class ShownColumn:
    """One column that both sides may have: its heading, the field behind it ("" for words or a template).

    `number` is 1 for the first of a family, 0 for all of it; `unit` is what weights stand in, `day` writes days;
    `once` says that only a listing's first row need have it.
    """

    heading: str
    field: str = ""
    number: int = 0
    unit: str = "g"
    once: bool = False
    day: DayText = datetime.date.isoformat

    @property
    def told(self) -> str:
        """What people and scripts call it."""
        return f"{self.field}_{self.number}" if self.number > (self.field == "image") else self.field or self.heading

    @property
    def kind(self) -> str:
        """What a difference in it is called."""
        return _KIND_OF.get(self.field, "text")

    def alike(self) -> Alike:
        """Return what compares its cells."""
        kind = FIELDS[self.field].kind if self.field in FIELDS else Kind.TEXT
        return alike(kind, self.field, unit=self.unit, day=self.day)


@dataclass(frozen=True, slots=True)
class ShownRow:
    """One row: its code, where it stands, a cell a column; None where the row or the table has no such cell.

    `later`: of ours, that it is not its listing's first.
    """

    code: str
    line: int
    cells: tuple[str | None, ...]
    later: bool = False


@dataclass(frozen=True, slots=True)
class Differing:
    """One cell that says something else there; `field` is our name for it, or the heading."""

    code: str
    field: str
    ours: str
    theirs: str
    kind: str


@dataclass(frozen=True, slots=True)
class Twins:
    """A code that stands in several rows there."""

    code: str
    lines: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Uncompared:
    """Something that could not be held against anything, and why."""

    what: str
    why: str


@dataclass(frozen=True, slots=True)
class Compared:
    """All that was found; `matched` counts our rows that are there, `compared` the cells held against each other."""

    differences: tuple[Differing, ...] = ()
    missing_there: tuple[str, ...] = ()
    unknown_there: tuple[str, ...] = ()
    twins: tuple[Twins, ...] = ()
    not_compared: tuple[Uncompared, ...] = ()
    matched: int = 0
    compared: int = 0

    def __bool__(self) -> bool:
        """Whether anything differs; what could not be compared alone is no difference."""
        return bool(self.differences or self.missing_there or self.unknown_there or self.twins)

    @property
    def codes(self) -> tuple[str, ...]:
        """Ours that are to be sent again, each once."""
        return tuple(dict.fromkeys((*(one.code for one in self.differences), *self.missing_there)))


def compare(
    ours: Iterable[ShownRow], theirs: Iterable[ShownRow], columns: Sequence[ShownColumn], *, absent: Sequence[int] = ()
) -> Compared:
    """Return what differs, in the order of `theirs` and then of `ours`.

    Args:
        ours: every row of the truth, each code once.
        theirs: every row there.
        columns: what the cells of both are.
        absent: places of columns that they have not at all; told once.
    """
    run = _Run(columns, frozenset(absent))
    by_code = {row.code: row for row in ours}
    by_folded = {_folded(code): code for code in by_code}
    lines: dict[str, list[int]] = {}
    for row in theirs:
        code = row.code if row.code in by_code else by_folded.get(_folded(row.code), row.code.strip())
        if not code:
            run.nameless.append(row.line)
            continue
        lines.setdefault(code, []).append(row.line)
        if code in by_code:
            run.row(by_code[code], row)
    return Compared(
        tuple(run.differences),
        tuple(code for code in by_code if code not in lines),
        tuple(code for code in lines if code not in by_code),
        tuple(Twins(code, tuple(found)) for code, found in lines.items() if len(found) > 1),
        tuple(run.remarks()),
        sum(code in by_code for code in lines),
        run.compared,
    )


def _folded(code: str) -> str:
    return unicodedata.normalize("NFKC", code).strip().casefold()


@dataclass(slots=True)
class _Run:
    """One comparison at work."""

    columns: Sequence[ShownColumn]
    absent: frozenset[int]
    differences: list[Differing] = field(default_factory=list)
    nameless: list[int] = field(default_factory=list)
    short: list[int] = field(default_factory=list)
    compared: int = 0
    held: list[tuple[int, ShownColumn, Alike]] = field(init=False)

    def __post_init__(self) -> None:
        self.held = [(at, one, one.alike()) for at, one in enumerate(self.columns) if at not in self.absent]

    def row(self, ours: ShownRow, theirs: ShownRow) -> None:
        """Hold one of their rows against ours."""
        self.compared += len(self.held)
        if ours.cells == theirs.cells:
            return
        for at, column, same in self.held:
            own, other = ours.cells[at], theirs.cells[at]
            if own == other:
                continue
            if other is None or own is None:
                self.compared -= 1
                if not self.short or self.short[-1] != theirs.line:
                    self.short.append(theirs.line)
            elif not (column.once and ours.later and not other.strip()) and not same(own, other):
                found = Differing(ours.code, column.told, own, other, column.kind)
                self.differences.append(found)

    def remarks(self) -> Iterable[Uncompared]:
        """Yield what could not be compared."""
        for at in sorted(self.absent):
            yield Uncompared(f'column "{self.columns[at].heading}"', "the export has no such column")
        if self.nameless:
            yield Uncompared(told_lines(self.nameless), "no code stands there")
        if self.short:
            yield Uncompared(told_lines(self.short), "cells are missing there")


def told_lines(lines: Sequence[int]) -> str:
    """Return "lines 3, 5 and 9", not all of very many."""
    shown = [str(line) for line in lines[:MOST_LINES]]
    more = len(lines) - len(shown)
    if more:
        return f"lines {', '.join(shown)} and {more} more"
    return f"line {shown[0]}" if len(shown) == 1 else f"lines {', '.join(shown[:-1])} and {shown[-1]}"


def always_differs(found: Compared, *, least: int = 5) -> tuple[str, ...]:
    """Return the fields that differ in every row: the column is probably another one, or in another unit."""
    codes: dict[str, set[str]] = {}
    for one in found.differences:
        codes.setdefault(one.field, set()).add(one.code)
    return tuple(name for name, own in codes.items() if len(own) >= least and len(own) == found.matched)
