"""Reductions: to what they lower the prices of a set.

The usual prices stay those of the catalog, which wholesale, sheets and suggested prices go by; what a
channel shows on a day is made of them here.
"""

import datetime
from dataclasses import replace
from decimal import ROUND_DOWN, ROUND_FLOOR, Decimal

from listkit.compute.catalog import PriceFacts, SetFacts, Step, Variant
from listkit.compute.prices import priced
from listkit.compute.rulings import Ruling, ruling_on, rulings_of
from listkit.model.reduction import Reduction
from listkit.model.settings import Settings
from listkit.units.money import Money, minor_digits


def reduced_price(price: Money, reduction: Reduction) -> Money | None:
    """Return the lower price, in whole minor units, below `price`; None where nothing would be left of it.

    A share is taken off and the rest rounded down, so that buyers get no less than was said.
    """
    step = Decimal(1).scaleb(-minor_digits(price.currency))
    if reduction.ending is not None and reduction.ending.share is not None:
        share = reduction.ending.share
        lower = (price.amount - step - share).to_integral_value(ROUND_FLOOR) + share
    else:
        lower = (price.amount * (1 - (reduction.by or 0))).quantize(step, ROUND_DOWN)
    return Money(lower, price.currency) if lower > 0 else None


def reduced(facts: PriceFacts, reduction: Reduction, *, tax: Decimal) -> PriceFacts | None:
    """Return the facts of the lower price, with the reduction as one more step; None where nothing would be left."""
    lower = reduced_price(facts.price, reduction)
    if lower is None:
        return None
    step = Step("reduction", lower - facts.price, lower)
    return priced((*facts.steps, step), lower.amount, tax=tax, currency=lower.currency)


def reduced_variants(variants: tuple[Variant, ...], reduction: Reduction, *, tax: Decimal) -> tuple[Variant, ...]:
    """Return the variants at their lower prices, each with its usual ones; as it is where nothing would be left."""
    known: dict[int, PriceFacts | None] = {}
    lowered = []
    for one in variants:
        key = id(one.prices)  # variants share the facts of a price
        if key not in known:
            known[key] = reduced(one.prices, reduction, tax=tax)
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
    return ruling, reduced_variants(facts.variants, ruling.reduction, tax=settings.prices.tax)
