"""CheckContext: what a check goes by beside the listings: the day, thresholds in force, sheets given out."""

import datetime
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from listkit.check.thresholds import Thresholds
from listkit.compute.sheets import NOTHING_GIVEN_OUT, SheetHistory
from listkit.listing.listings import Listings
from listkit.problem import Problem


@dataclass(frozen=True, slots=True)
class CheckContext:
    """The day that counts as today; `thresholds` are those of the shop, which check_listings puts in.

    `sheets` are the line sheets that were given out.
    """

    today: datetime.date
    thresholds: Thresholds = field(default_factory=Thresholds)
    sheets: SheetHistory = NOTHING_GIVEN_OUT


Rule = Callable[[Listings, CheckContext], Iterator[Problem]]
"""One rule: all listings in, its problems out, each cause once; it never raises."""
