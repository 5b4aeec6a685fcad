"""Line sheets that were given out before: their versions, days and prices, and what has moved since.

What the ledger knows, as values: nothing is opened here.
"""

import datetime
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from listkit.compute.wholesale import Sheet
from listkit.units.money import Money


@dataclass(frozen=True, slots=True)
class PreviousSheet:
    """A sheet that was given out before: its version, and code, wholesale and suggested retail of each line."""

    version: str
    prices: tuple[tuple[str, Money, Money], ...]
    issued: datetime.date | None = None


@dataclass(frozen=True, slots=True)
class SheetMove:
    """A line that is not what it was: `what` is "new", "gone", "wholesale" or "retail"."""

    code: str
    what: str
    old: Money | None = None
    new: Money | None = None


def moves_since(sheet: Sheet, previous: PreviousSheet) -> tuple[SheetMove, ...]:
    """Return the lines that moved since a sheet, in the order of this one; then those that are gone, in its own."""
    before = {code: (wholesale, retail) for code, wholesale, retail in previous.prices}
    moves = []
    for line in sheet.lines:
        old = before.pop(line.code, None)
        if old is None:
            moves.append(SheetMove(line.code, "new"))
            continue
        if old[0] != line.wholesale:
            moves.append(SheetMove(line.code, "wholesale", old[0], line.wholesale))
        if old[1] != line.retail:
            moves.append(SheetMove(line.code, "retail", old[1], line.retail))
    return (*moves, *(SheetMove(code, "gone") for code in before))


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
