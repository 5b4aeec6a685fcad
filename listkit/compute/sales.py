"""Sales: what a channel leaves of one sale, after tax, fee, free postage and cost.

Tax and fees are paid in whole minor units, so what is kept is what is left of the amounts as they are printed, and a
column of them foots. Margins go by the exact amount, which no rounding moved.
"""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from listkit.compute.catalog import NetShare, SetFacts, Variant
from listkit.compute.freight import postage
from listkit.compute.prices import included_tax, net_share
from listkit.model.channel import PRICE_AND_POSTAGE, Channel
from listkit.model.shop import Shop
from listkit.units.money import Money

NOTHING: Final = Decimal(0)
_LARGE: Final = 10**9
_DIGITS: Final = 18  # two divisions that should cancel out may differ in the 25th digit; nobody's margin does


@dataclass(frozen=True, slots=True)
class Sale:
    """What is paid of one sale and what is left: kept = price - tax - fee - postage - cost, each as it is printed.

    `postage` is what sending costs us where it is free to the buyer. `exact` is what is left without any rounding, and
    `before_tax` the exact price before tax.
    """

    price: Money
    tax: Money
    fee: Money
    postage: Money
    cost: Money
    kept: Money
    exact: Decimal
    before_tax: Decimal

    @property
    def margin(self) -> Decimal | None:
        """The exact amount kept as a share of the price before tax; None for a price of nothing."""
        if not self.before_tax:
            return None
        share = self.exact / self.before_tax
        return round(share, _DIGITS) if abs(share) < _LARGE else share  # of a slip of the pen, as 28 digits have it


def sale_on(channel: Channel, variant: Variant, facts: SetFacts, shop: Shop) -> Sale:
    """Return what a channel leaves of one sale of a variant of a set."""
    price, cost, currency = variant.prices.price, variant.full_cost, shop.settings.currency
    net = net_on(channel, variant)
    sending = postage_to(channel, variant, shop)
    free = _free_share(price, shop) * sending if sending else NOTHING
    exact_fee = fee_of(channel, price.amount, sending - free)
    tax = variant.prices.tax if channel.tax is None else included_tax(price, net)
    fee, borne = Money(exact_fee, currency).rounded(ROUND_HALF_UP), Money(free, currency).rounded(ROUND_HALF_UP)
    before_tax = net.of(price.amount)
    return Sale(
        price=price,
        tax=tax,
        fee=fee,
        postage=borne,
        cost=cost,
        kept=Money(price.amount - tax.amount - fee.amount - borne.amount - cost.amount, currency),
        exact=before_tax - exact_fee - free - variant.exact_cost,
        before_tax=before_tax,
    )


def sales_on(channel: Channel, facts: SetFacts, shop: Shop) -> Callable[[Variant], Sale]:
    """Return a function from a variant to its sale on a channel; variants with the same price and costs share one."""
    known: dict[object, Sale] = {}

    def sale_of(variant: Variant) -> Sale:
        prices = variant.prices
        # Amounts as they are written: 24 and 24.00 are equal, and printed unlike.
        amounts = f"{prices.price.amount} {prices.tax.amount} {variant.full_cost.amount} {variant.exact_cost}"
        sent = (variant.weights, variant.carton) if channel.zone else None
        key = amounts, prices.net, sent
        sale = known.get(key)
        if sale is None:
            sale = known[key] = sale_on(channel, variant, facts, shop)
        return sale

    return sale_of


def net_on(channel: Channel, variant: Variant) -> NetShare:
    """Return the share before tax of a price on a channel: by its own tax, else by those of the variant's items."""
    return variant.prices.net if channel.tax is None else net_share(channel.tax)


def fee_of(channel: Channel, price: Decimal, paid_postage: Decimal) -> Decimal:
    """Return what a channel takes of one piece sold, unrounded.

    Its share is taken of the price, or of price and postage; a fixed fee an order is shared by the pieces in it.

    Args:
        channel: its fees.
        price: what the buyer pays, tax included.
        paid_postage: what the buyer pays for sending.
    """
    charged = price + paid_postage if channel.fee_on == PRICE_AND_POSTAGE else price
    fixed = channel.fixed_fee.amount if channel.fixed_fee else NOTHING
    pieces = channel.pieces_in_order if channel.fixed_fee_per == "order" else 1
    exact = (channel.fee * charged * pieces + fixed) / pieces
    return max(exact, channel.minimum_fee.amount) if channel.minimum_fee else exact


def postage_to(channel: Channel, variant: Variant, shop: Shop) -> Decimal:
    """Return what the cheapest service to the channel's zone asks; nothing where it states none, or none takes it."""
    if channel.zone is None:
        return NOTHING
    asked = postage(variant.weights, variant.carton, shop.rates_to(channel.zone), shop.settings.freight.packet)
    return min((each.price.amount for each in asked), default=NOTHING)


def _free_share(price: Money, shop: Shop) -> Decimal:
    """Return in what share of orders postage is free: all from the free order value on, below it as the owner says."""
    freight = shop.settings.freight
    if freight.free_above is not None and price >= freight.free_above:
        return Decimal(1)
    return freight.free_share or NOTHING
