"""Wholesale prices of one line by any rule.

Sums by hand; no source.
"""

from decimal import Decimal

import pytest

from listkit.compute.build import build_catalog
from listkit.compute.wholesale import line_of, price_by
from listkit.model.fields import WholesaleRule
from tests.small_shop import gift_set, item, shop

MARGIN = Decimal("0.2")


@pytest.mark.parametrize(
    ("rule", "price"),
    [
        (WholesaleRule("share", Decimal("0.5")), "4.25"),  # half of 8.50
        (WholesaleRule("sum", Decimal(0)), "6.18"),  # 3.75 and 2.43 of box, fill, card, minutes
        (WholesaleRule("margin", Decimal("0.4")), "7.13"),  # (1.85 + 2.43) / 0.6 is 7.1333
    ],
)
def test_a_set_is_priced_by_each_rule(rule: WholesaleRule, price: str) -> None:
    of = build_catalog(shop([item("A-1")], [gift_set([{"item": "A-1"}])]))
    line = line_of(of.sets[0].variants[0], of.shop.settings.prices)
    assert price_by(line, rule) == Decimal(price)


def test_a_margin_is_a_share_of_the_price_and_a_markup_of_the_cost() -> None:
    """College guides: a price of 125 over a cost of 100 is 25 % on cost and 20 % on price."""
    one = item("A-1", retail="500", cost="100")
    of = shop([one], [])
    assert price_by(line_of(one, of.settings.prices), WholesaleRule("margin", MARGIN)) == 125
