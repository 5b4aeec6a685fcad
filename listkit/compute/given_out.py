"""Line sheets that were given out before: their versions, days and prices, and what has moved since.

What the ledger knows, as values: nothing is opened here.
"""

import datetime
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final, NamedTuple

from listkit.compute.wholesale import Sheet, SheetEntry, SheetLine
from listkit.units.money import Money, amount_of

_TIER: Final = re.compile(r"(\d{1,9}): (\S+)", re.ASCII)


def tier_prices(row: Mapping[str, Any]) -> tuple[tuple[int, Decimal], ...]:
    """Return the tiers of a row that was recorded: first quantities and prices; what says none is none.

    >>> tier_prices({"tierPrices": ["24: 12.70", "48: NaN", "60: 1e999999", "dear"]}), tier_prices({"tierPrices": 24})
    (((24, Decimal('12.70')),), ())
    """
    stated = row.get("tierPrices")
    found = (_TIER.fullmatch(str(text)) for text in (stated if isinstance(stated, list) else ()))
    prices = ((int(tier[1]), amount_of(tier[2])) for tier in found if tier)
    return tuple((start, price) for start, price in prices if price is not None)


class GivenLine(NamedTuple):
    """A line as a sheet that was given out stated it; `tiers` are pairs of a first quantity and a price, upwards."""

    code: str
    wholesale: Money
    retail: Money
    name: str = ""
    tiers: tuple[tuple[int, Money], ...] = ()
    display: Money | None = None


def given_line(code: str, row: Mapping[str, Any], currency: str) -> GivenLine | None:
    """Return a line as it was recorded; None for a row without a price, as of a display set by its own code."""
    amounts = (amount_of(row.get(name)) for name in ("wholesalePrice", "suggestedRetail", "displayPrice"))
    wholesale, retail, display = (None if amount is None else Money(amount, currency) for amount in amounts)
    if wholesale is None:
        return None
    tiers = tuple((start, Money(price, currency)) for start, price in tier_prices(row))
    name = str(row.get("name", ""))
    return GivenLine(code, wholesale, retail or wholesale * 0, name=name, tiers=tiers, display=display)


@dataclass(frozen=True, slots=True)
class PreviousSheet:
    """A sheet that was given out before: its version and its lines."""

    version: str
    lines: tuple[GivenLine, ...]
    issued: datetime.date | None = None


@dataclass(frozen=True, slots=True)
class SheetMove:
    """A line that is not what it was: `what` is "new", "gone", "wholesale", "tier", "retail" or "display".

    `start` is the first quantity of a tier; `name` is what a line that is gone was called. A price that came or went
    has no old or no new one.
    """

    code: str
    what: str
    old: Money | None = None
    new: Money | None = None
    start: int = 0
    name: str = ""


def moves_since(sheet: Sheet, previous: PreviousSheet) -> tuple[SheetMove, ...]:
    """Return the lines that moved since a sheet, in the order of this one; then those that are gone, in its own."""
    before = {line.code: line for line in previous.lines}
    moves: list[SheetMove] = []
    for entry in sheet.entries:
        for line in entry.lines:
            old = before.pop(line.code, None)
            moves += [SheetMove(line.code, "new")] if old is None else _moves_of(line, entry, sheet, old)
    return (*moves, *(SheetMove(line.code, "gone", name=line.name) for line in before.values()))


def _moves_of(line: SheetLine, entry: SheetEntry, sheet: Sheet, old: GivenLine) -> Iterator[SheetMove]:
    """Yield the prices of a line that moved; a display's with the first line of its entry alone."""
    if old.wholesale != line.wholesale:
        yield SheetMove(line.code, "wholesale", old.wholesale, line.wholesale)
    tiers = {tier.start: price for tier, price in zip(sheet.tiers, line.tiers, strict=True)}
    for start in sorted({*tiers, *dict(old.tiers)}):
        if dict(old.tiers).get(start) != tiers.get(start):
            yield SheetMove(line.code, "tier", dict(old.tiers).get(start), tiers.get(start), start)
    if old.retail != line.retail:
        yield SheetMove(line.code, "retail", old.retail, line.retail)
    if line is entry.lines[0] and old.display != entry.display:
        yield SheetMove(entry.code, "display", old.display, entry.display)


@dataclass(frozen=True, slots=True)
class GivenOut:
    """One version as it was recorded: on which day, and the days that it states; `number` is its record's."""

    version: str
    recorded: datetime.date
    issued: datetime.date | None
    valid_until: datetime.date | None
    number: int


@dataclass(frozen=True, slots=True)
class SheetHistory:
    """The version that the shop says now, "" without terms for shops; what was given out, oldest first.

    `previous` is the last one that is not the current one, with its prices.
    """

    current: str = ""
    given_out: tuple[GivenOut, ...] = ()
    previous: PreviousSheet | None = None

    def find(self, version: str) -> GivenOut | None:
        """Return the last record of a version."""
        return next((sheet for sheet in reversed(self.given_out) if sheet.version == version), None)


NOTHING_GIVEN_OUT: Final = SheetHistory()


@dataclass(frozen=True, slots=True)
class LinePrices:
    """What one line cost on one version: wholesale, then each tier's first quantity and price, upwards."""

    wholesale: Decimal
    tiers: tuple[tuple[int, Decimal], ...] = ()

    def each(self, quantity: int) -> Decimal:
        """Return what one costs when so many of its entry are ordered."""
        reached = [price for start, price in self.tiers if quantity >= start]
        return reached[-1] if reached else self.wholesale


@dataclass(frozen=True, slots=True)
class PriceBook:
    """All prices of one version by code, those of display sets by the code they are ordered by."""

    version: str
    valid_until: datetime.date | None
    prices: tuple[tuple[str, LinePrices], ...]
