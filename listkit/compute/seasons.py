"""Seasons: whether a day lies before, in or after the days on which a set is sold, and which are one in other years."""

import datetime
import re
from collections.abc import Iterable
from enum import StrEnum
from typing import Final

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


# The same season in other years: "winter", "winter 2027".

_OF_A_YEAR: Final = re.compile(r"\s+(?:19|20)\d\d\Z")


def base_name(name: str) -> str:
    """Return what a season is called without its year.

    >>> base_name("winter 2027")
    'winter'
    """
    return _OF_A_YEAR.sub("", name)


def family_of(seasons: Iterable[Season], season: Season) -> tuple[Season, ...]:
    """Return the seasons that are the same one in other years, with the season itself."""
    name = base_name(season.name).casefold()
    return tuple(each for each in seasons if base_name(each.name).casefold() == name)
