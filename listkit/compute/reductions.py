"""Reductions: to what they lower the prices of a set.

The usual prices stay those of the catalog, which wholesale, sheets and suggested prices go by; what a
channel shows on a day is made of them here.
"""

import datetime
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_DOWN, ROUND_FLOOR, Decimal
from functools import lru_cache
from typing import Final

from listkit.compute.catalog import Catalog, PriceFacts, PriceStep, SetFacts, Variant
from listkit.compute.prices import priced
from listkit.model.reduction import Reduction, ShopReduction
from listkit.model.settings import Settings
from listkit.model.shop import SetFolder
from listkit.units.money import Money, minor_digits

# Which reduction rules over a set's prices on a channel and day, since when, and how long.
#
# A set's own reductions go before the shop's. The day is an argument, and None means that no day is asked about.

_DAY: Final = datetime.timedelta(days=1)
Rulings = tuple["Ruling", ...]


@dataclass(frozen=True, slots=True)
class Ruling:
    """A reduction that concerns a set: its `own`, or the shop's; `at` is its number in that file, from 0."""

    reduction: Reduction
    own: bool
    at: int

    def concerns(self, channel: str) -> bool:
        """Whether it says anything of a channel on some days."""
        return self.reduction.sound and channel in (self.reduction.channels or (channel,))

    def holds(self, channel: str, day: datetime.date) -> bool:
        """Whether it says anything of a channel on a day."""
        return self.reduction.first <= day <= self.reduction.until and self.concerns(channel)


@dataclass(frozen=True, slots=True)
class InForce:
    """A reduction in force on a channel; `began` is the day that its prices are compared with those before."""

    channel: str
    facts: SetFacts
    ruling: Ruling
    began: datetime.date


def rulings_of(source: SetFolder, settings: Settings) -> Rulings:
    """Return all reductions that concern a set, its own first: where both hold, its own does."""
    own = tuple(Ruling(one, own=True, at=at) for at, one in enumerate(source.gift_set.reductions))
    of_shop = _parted(_Same(settings.reductions)).of(source.gift_set.code)
    return (*own, *of_shop) if own else of_shop


@dataclass(frozen=True, slots=True, eq=False)
class _Same:
    """A shop's reductions, the same as others only where they are these very ones: comparing hundreds takes longer."""

    reductions: tuple[ShopReduction, ...]

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and self.reductions is other.reductions

    def __hash__(self) -> int:
        return id(self.reductions)


class _Parted:
    """A shop's reductions by the sets that they are for, which is asked of each set at each place."""

    def __init__(self, reductions: Sequence[ShopReduction]) -> None:
        self._named: defaultdict[str, set[int]] = defaultdict(set)
        self._of: dict[str, Rulings] = {}
        self._rulings = tuple(Ruling(one, own=False, at=at) for at, one in enumerate(reductions))
        self._of_all = {one.at for one, stated in zip(self._rulings, reductions, strict=True) if not stated.sets}
        for at, stated in enumerate(reductions):
            for code in stated.sets:
                self._named[code].add(at)

    def of(self, code: str) -> Rulings:
        """Return those of a set, in their order."""
        if code not in self._of:
            ats = self._of_all | self._named.get(code, set())
            self._of[code] = tuple(self._rulings[at] for at in sorted(ats))
        return self._of[code]


@lru_cache(maxsize=4)
def _parted(same: _Same) -> _Parted:
    return _Parted(same.reductions)


def ruling_on(rulings: Rulings, channel: str, day: datetime.date | None) -> Ruling | None:
    """Return what lowers the prices on a channel and day; None where they are as usual."""
    return None if day is None else next((one for one in rulings if one.holds(channel, day)), None)


def last_day(rulings: Rulings, channel: str, day: datetime.date | None) -> datetime.date | None:
    """Return the last day of the prices that hold on `day`, None where no reduction will change them.

    They change when one begins that goes before what is in force, or when that ends.
    """
    if day is None or not rulings:
        return None
    now, before = _in_force(rulings, channel, day)
    turns = [one.reduction.first for one in before if one.reduction.first > day]
    if now is not None and now.reduction.until < datetime.date.max:
        turns.append(now.reduction.until + _DAY)
    return min(turns) - _DAY if turns else None


def first_day(rulings: Rulings, channel: str, day: datetime.date, *, further_cuts: bool) -> datetime.date:
    """Return since when the reduction that is in force on `day` has been so without a break.

    With `further_cuts` the days of other reductions right before it count too: a cut that grows is one
    (Directive 98/6/EC, Art. 6a(5), where a country has chosen so).
    """
    now, before = _in_force(rulings, channel, day)
    if now is None:
        return day
    since = now.reduction.first
    if not further_cuts:
        return max([since, *(one.reduction.until + _DAY for one in before if one.reduction.until < day)])
    began = [one.reduction for one in rulings if one.concerns(channel) and one.reduction.first <= day]
    for each in sorted(began, key=lambda each: each.until, reverse=True):
        if each.until < since - _DAY:
            break
        since = min(since, each.first)
    return since


def _in_force(rulings: Rulings, channel: str, day: datetime.date) -> tuple[Ruling | None, Rulings]:
    """Return what is in force on a channel and day, and what would go before it there; all of it where nothing is."""
    of_channel = tuple(one for one in rulings if one.concerns(channel))
    at = next((at for at, one in enumerate(of_channel) if one.holds(channel, day)), None)
    return (None, of_channel) if at is None else (of_channel[at], of_channel[:at])


def reductions_in_force(catalog: Catalog, day: datetime.date) -> Iterator[InForce]:
    """Yield every reduction that is in force on a day, channel by channel and set by set."""
    settings = catalog.shop.settings
    for channel in catalog.shop.channels:
        for facts in catalog.listed:
            rulings = rulings_of(facts.source, settings)
            ruling = ruling_on(rulings, channel.key, day)
            if ruling is not None:
                cuts = settings.announcing.further_cuts
                began = first_day(rulings, channel.key, day, further_cuts=cuts)
                yield InForce(channel.key, facts, ruling, began)


def reduced_price(price: Money, reduction: Reduction) -> Money | None:
    """Return the lower price, in whole minor units, below `price`; None where nothing would be left of it.

    A share is taken off and the rest rounded down, so that buyers get no less than was said.
    """
    step = Decimal(1).scaleb(-minor_digits(price.currency))
    if reduction.ending is not None and reduction.ending.share is not None:
        share, every = reduction.ending.share, reduction.ending.every
        lower = ((price.amount - step - share) / every).to_integral_value(ROUND_FLOOR) * every + share
    else:
        lower = (price.amount * (1 - (reduction.by or 0))).quantize(step, ROUND_DOWN)
    return Money(lower, price.currency) if lower > 0 else None


def reduced(facts: PriceFacts, reduction: Reduction) -> PriceFacts | None:
    """Return the facts of the lower price, with the reduction as one more step; None where nothing would be left."""
    lower = reduced_price(facts.price, reduction)
    if lower is None:
        return None
    step = PriceStep("reduction", lower - facts.price, lower)
    return priced((*facts.steps, step), lower.amount, facts.net)


def reduced_variants(variants: tuple[Variant, ...], reduction: Reduction) -> tuple[Variant, ...]:
    """Return the variants at their lower prices, each with its usual ones; as it is where nothing would be left."""
    known: dict[int, PriceFacts | None] = {}
    lowered = []
    for one in variants:
        key = id(one.prices)  # variants share the facts of a price
        if key not in known:
            known[key] = reduced(one.prices, reduction)
        facts = known[key]
        lowered.append(one if facts is None else replace(one, prices=facts, usual=one.prices))
    return tuple(lowered)


def on_channel(
    facts: SetFacts, settings: Settings, channel: str, day: datetime.date | None
) -> tuple[Ruling | None, tuple[Variant, ...]]:
    """Return what lowers a set's prices on a channel and day, and its variants as they cost there."""
    ruling = ruling_on(rulings_of(facts.source, settings), channel, day)
    if ruling is None:
        return None, facts.variants
    return ruling, reduced_variants(facts.variants, ruling.reduction)
