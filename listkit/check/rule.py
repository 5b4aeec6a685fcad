"""What a rule is: its code, its level, the sentence that it goes by, its source, and the figure that it goes by."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Final

from listkit.check.places import CheckContext
from listkit.listing.listings import Listings
from listkit.problem import Level, Problem

Check = Callable[[Listings, CheckContext], Iterator[Problem]]
"""All listings in, its problems out, each cause once; it never raises."""

COMMON: Final = "common practice, no source"


class Kind(StrEnum):
    """What a threshold counts."""

    SHARE = "a share"
    MONEY = "an amount of money"
    DAYS = "a number of days"
    MONTHS = "a number of months"
    TIMES = "a number"
    COUNT = "a whole number"


@dataclass(frozen=True, slots=True)
class Threshold:
    """A figure that a check goes by: what it counts, ours, and what it means."""

    kind: Kind
    ours: Decimal
    meaning: str


@dataclass(frozen=True, slots=True)
class Rule:
    """One kind of problem: its code, how grave it is, and the rule in the owner's words.

    `always` marks codes that [checks] does not touch: what they are about could not be read, and is left out.
    `of_sheet` marks what is told of the line sheet, its terms and who has it alone, never of a set's own files.
    `by_figures` marks what is judged by prices, costs, weights and sizes: it may turn with a value that is missing.
    """

    code: str
    level: Level
    sentence: str
    function: Check | None = None
    source: str = COMMON
    threshold: Threshold | None = None
    always: bool = False
    of_sheet: bool = False
    by_figures: bool = False
