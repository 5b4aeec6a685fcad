"""Figures as they are told: grams, per cent and counts, with a dash for what is not known."""

from decimal import ROUND_HALF_UP, Decimal

from listkit.compute.catalog import Catalog, Variant
from listkit.compute.prices import kept
from listkit.compute.stock import published
from listkit.model.channel import Channel
from listkit.units.money import Money
from listkit.units.weight import Weight

DASH = "–"


def kept_by(channel: Channel, one: Variant) -> Money:
    """Return what the channel leaves of one sale."""
    return kept(one.price, one.prices.before_tax, one.exact_cost, channel.fee, channel.fixed_fee)


def fee_of(channel: Channel, one: Variant) -> Money:
    """Return what the channel takes of one sale, half up."""
    fixed = channel.fixed_fee.amount if channel.fixed_fee else Decimal(0)
    return Money(channel.fee * one.price.amount + fixed, one.price.currency).rounded(ROUND_HALF_UP)


def stock_on(channel: Channel, one: Variant, catalog: Catalog) -> int | None:
    """Return what the channel may publish."""
    back = catalog.shop.settings.stock.hold_back if channel.hold_back is None else channel.hold_back
    return published(one.can_make, back)


def plain_number(exact: Decimal | None) -> int | float | None:
    """Return a JSON number: whole where the exact figure is, None where it is not known."""
    if exact is None:
        return None
    return int(exact) if exact == exact.to_integral_value() else float(exact)


def grams(weight: Weight | None) -> str:
    """Return "507 g", to a tenth of a gram at most."""
    if weight is None:
        return DASH
    tenths = weight.grams.quantize(Decimal("0.1"), ROUND_HALF_UP)
    return f"{tenths.normalize() if tenths % 1 else tenths.to_integral_value():f} g"


def percent(share: Decimal | None) -> str:
    """Return "36 %", whole, half up."""
    return DASH if share is None else f"{(share * 100).quantize(Decimal(1), ROUND_HALF_UP)} %"


def count(number: int | None) -> str:
    """Return the number, or that nobody counts."""
    return "not counted" if number is None else str(number)
