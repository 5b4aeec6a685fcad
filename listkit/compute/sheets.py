"""Line sheets that were given out before: their versions, their days, their prices. What the ledger knows, as values.

Nothing is opened here; `cli/sheets.py` asks the ledger.
"""

import datetime
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from listkit.compute.wholesale import PreviousSheet


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
        return next((one for one in reversed(self.given_out) if one.version == version), None)


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
