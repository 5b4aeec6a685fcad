"""Prices: the sum of the items, the uplift and the ending, and what is left of it.

Every figure is rounded once, half up to the currency's minor digits (ISO 4217), from exact amounts;
an ending rounds up. What is divided is multiplied first, so that an exact half is seen as one: 45 % of 19.00 less
20 % included tax is 7.125, and 7.13.
"""

from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from math import prod
from typing import Final

from listkit.compute.catalog import NetShare, Piece, PriceFacts, PriceStep
from listkit.compute.declaration import total_amount
from listkit.model.fields import Ending, WholesaleRule
from listkit.model.item import Item
from listkit.model.labels import UnitPricing
from listkit.units.declared import Figure, base_amount
from listkit.units.money import Money, minor_digits
from listkit.units.net import Measure
from listkit.units.table import WIDE, UnitKind, price_units

NOTHING: Final = Decimal(0)


def with_ending(price: Decimal, ending: Ending) -> Decimal:
    """Return the lowest amount with this ending that is not below `price`; "keep" returns it as it is."""
    if ending.share is None:
        return price
    times = ((price - ending.share) / ending.every).to_integral_value(ROUND_CEILING)
    return max(times, NOTHING) * ending.every + ending.share


def net_share(tax: Decimal) -> NetShare:
    """Return the share before tax of a price that includes `tax`: 0.2 for 20 %."""
    return NetShare(Decimal(1), 1 + tax)


def tax_of(item: Item, tax: Decimal) -> Decimal:
    """Return the rate of tax in an item's price: its own, else `tax`, the shop's."""
    return tax if item.tax is None else item.tax


def item_net(item: Item, tax: Decimal) -> NetShare:
    """Return the share before tax of an item's price."""
    return net_share(tax_of(item, tax))


def net_of_pieces(pieces: tuple[Piece, ...], tax: Decimal) -> NetShare:
    """Return the share before tax of a set's price, split over rates by the retail prices of its pieces.

    A set of 6.00 with 20 % and 4.00 with 5 %: (6 ÷ 1.2 + 4 ÷ 1.05) ÷ 10, as one fraction.
    """
    by_rate: dict[Decimal, Decimal] = {}
    for piece in pieces:
        rate = tax_of(piece.item, tax)
        by_rate[rate] = by_rate.get(rate, NOTHING) + piece.item.retail.amount * piece.quantity
    total = sum(by_rate.values(), NOTHING)
    if len(by_rate) < 2 or not total:
        return net_share(max(by_rate, default=tax))
    whole = prod((1 + rate for rate in by_rate), start=Decimal(1))
    return NetShare(sum((amount * whole / (1 + rate) for rate, amount in by_rate.items()), NOTHING), total * whole)


def price_facts(items: Decimal, uplift: Decimal, ending: Ending, *, net: NetShare, currency: str) -> PriceFacts:
    """Return the price of items worth `items` together, with the steps that lead to it.

    Args:
        items: the sum of quantity times retail.
        uplift: added for box, fill and card.
        ending: the last digits; rounds up.
        net: the share of the price that is before tax.
        currency: of all amounts.
    """
    before = items + uplift
    price = with_ending(before, ending)
    steps = (
        PriceStep("items", Money(items, currency), Money(items, currency)),
        PriceStep("uplift", Money(uplift, currency), Money(before, currency)),
        PriceStep("ending", Money(price - before, currency), Money(price, currency)),
    )
    return priced(steps, price, net)


def at_dearest(facts: PriceFacts, dearest: Decimal) -> PriceFacts:
    """Return `facts` raised to the price of the dearest variant, as one more step."""
    if facts.price.amount == dearest:
        return facts
    currency = facts.price.currency
    raised = PriceStep("dearest option", Money(dearest - facts.price.amount, currency), Money(dearest, currency))
    return priced((*facts.steps, raised), dearest, facts.net)


def priced(steps: tuple[PriceStep, ...], price: Decimal, net: NetShare) -> PriceFacts:
    """Return the facts of a price, with the currency of its steps."""
    money = Money(price, steps[0].amount.currency).rounded(ROUND_HALF_UP)
    return PriceFacts(steps, money, included_tax(money, net), net)


def included_tax(price: Money, net: NetShare) -> Money:
    """Return the tax within `price`, half up: 20 % of 12.99 is 2.17, never 2.16."""
    return Money(net.tax_in(price.amount), price.currency).rounded(ROUND_HALF_UP)


def wholesale(
    rule: WholesaleRule, price: Decimal, net: NetShare, *, full_cost: Decimal, items_and_packing: Decimal
) -> Decimal:
    """Return the exact wholesale price.

    Args:
        rule: "share" of the price before tax; "sum" of the items' wholesale and the packing; "margin" on full cost.
        price: the retail price, tax included.
        net: the share of it that is before tax.
        full_cost: all that it costs to make and pack.
        items_and_packing: the items' rounded wholesale prices, with box, fill, card and minutes.
    """
    if rule.kind == "sum":
        return items_and_packing
    if rule.kind == "margin":
        return full_cost / (1 - rule.share)
    return net.of(price * rule.share)


def in_steps(exact: Decimal, currency: str, step: Money | None) -> Money:
    """Return an exact wholesale price rounded half up, to a multiple of `step` where there is one.

    >>> str(in_steps(Decimal("7.125"), "GBP", Money(Decimal("0.05"), "GBP")))
    '7.15'
    """
    if step is not None:
        exact = (exact / step.amount).to_integral_value(ROUND_HALF_UP) * step.amount
    return Money(exact, currency).rounded(ROUND_HALF_UP)


def item_wholesale(retail: Money, share: Decimal, net: NetShare, step: Money | None = None) -> Money:
    """Return an item's wholesale price: its share of retail before tax, half up, in steps where there are some.

    >>> str(item_wholesale(Money(Decimal("19.00"), "GBP"), Decimal("0.45"), net_share(Decimal("0.2"))))
    '7.13'
    """
    return in_steps(net.of(retail.amount * share), retail.currency, step)


# What a unit of goods costs: the price by the kilogram, 100 g, fluid ounce or any other unit with a price.
#
# Rounded once, half up, from the unrounded ratio: to the currency's minor unit, below one whole unit of it to a
# tenth of the minor unit where the rule wants that (Price Marking Order (Northern Ireland) 2004, Article 13;
# NIST Handbook 130, Uniform Unit Pricing Regulation). Packages of unlike pieces, which are exempt in the United
# Kingdom and Germany, have none. Whether one is asked for is decided where one sells.

_UNITS: Final = {
    unit.price_name: Figure((Decimal(unit.priced),), unit.sign)
    for kind in (UnitKind.MASS, UnitKind.VOLUME)
    for unit in price_units(kind)
}


@dataclass(frozen=True, slots=True)
class UnitPrice:
    """`amount` of `currency`, with the digits that are printed, for `unit` of goods."""

    amount: Decimal
    currency: str
    unit: Figure


def unit_price(price: Money, pieces: tuple[Piece, ...], rule: UnitPricing | None) -> UnitPrice | None:
    """Return what a unit costs; None where none is asked for, or nothing adds up to weight or volume."""
    total = total_amount(pieces) if rule is not None else None
    if rule is None or total is None:
        return None
    measure, amount = total
    unit = _UNITS[rule.weight if measure is Measure.MASS else rule.volume]
    if amount < rule.smallest:
        return None
    exact = price.amount * base_amount(unit) / amount
    digits = minor_digits(price.currency)
    if exact < 1 and rule.below_one == "tenth":
        digits += 1
    return UnitPrice(exact.quantize(Decimal(1).scaleb(-digits), ROUND_HALF_UP, WIDE), price.currency, unit)
