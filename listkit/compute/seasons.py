"""Seasons: whether a day lies before, in or after the days on which a set is sold. The day is an argument."""

import datetime
from enum import StrEnum

from listkit.model.settings import Season


class Phase(StrEnum):
    """Where a day lies in the season of a set."""

    NOT_YET = "not yet"
    ON_SALE = "on sale"
    OVER = "over"


def phase_of(season: Season | None, day: datetime.date | None) -> Phase:
    """Return where `day` lies in a season; both its first and its last day are on sale.

    A set without a season is always on sale, and so is one whose season ends before it begins: that is told as a fault.
    Without a day nothing is asked about it.
    """
    if season is None or day is None or season.off_sale < season.on_sale or season.on_sale <= day <= season.off_sale:
        return Phase.ON_SALE
    return Phase.NOT_YET if day < season.on_sale else Phase.OVER
