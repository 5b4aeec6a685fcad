"""Sales: what a channel leaves of one sale, after tax, fee and cost.

Tax and fees are paid in whole minor units, so what is kept is what is left of the amounts as they are printed, and a
column of them foots. Margins go by the exact amount, which no rounding moved.
"""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from listkit.compute.catalog import Variant
from listkit.compute.prices import included_tax
from listkit.model.channel import Channel
from listkit.units.money import Money

NOTHING: Final = Decimal(0)
_DIGITS: Final = 18  # two divisions that should cancel out may differ in the 25th digit; nobody's margin does


@dataclass(frozen=True, slots=True)
class Sale:
    """What is paid of one sale and what is left: kept = price - tax - fee - cost, each as it is printed.

    `exact` is what is left without any rounding, and `before_tax` the exact price before tax.
    """

    price: Money
    tax: Money
    fee: Money
    cost: Money
    kept: Money
    exact: Decimal
    before_tax: Decimal

    @property
    def margin(self) -> Decimal | None:
        """The exact amount kept as a share of the price before tax; None for a price of nothing."""
        return round(self.exact / self.before_tax, _DIGITS) if self.before_tax else None


def sale_on(channel: Channel, variant: Variant) -> Sale:
    """Return what a channel leaves of one sale of a variant."""
    price, net, cost = variant.prices.price, variant.prices.net, variant.full_cost
    tax = included_tax(price, net)
    exact_fee = channel.fee * price.amount + (channel.fixed_fee.amount if channel.fixed_fee else NOTHING)
    fee = Money(exact_fee, price.currency).rounded(ROUND_HALF_UP)
    before_tax = net.of(price.amount)
    return Sale(
        price=price,
        tax=tax,
        fee=fee,
        cost=cost,
        kept=price - tax - fee - cost,
        exact=before_tax - exact_fee - variant.exact_cost,
        before_tax=before_tax,
    )
