"""A small shop with reductions, for the tests of what they do."""

import datetime
from decimal import Decimal
from typing import Any

from listkit.model.reduction import Reduction
from listkit.model.shop import Shop
from listkit.units.money import Money
from tests.small_shop import GBP, channel, gift_set, item, settings, shop


def reduction(first: str = "2026-12-01", until: str = "2026-12-10", **says: Any) -> Reduction:
    """A reduction by 10 % unless told otherwise."""
    how = {} if "ending" in says else {"by": "10 %"}
    return Reduction.model_validate({"from": first, "until": until, **how, **says}, context=GBP)


def raw(first: str, until: str, **says: Any) -> dict[str, Any]:
    return {"from": first, "until": until, **says}


def reducing(*of_shop: dict[str, Any], own: tuple[dict[str, Any], ...] = (), **announcing: Any) -> Shop:
    """A shop with one set of two bars, 16.00, on two channels."""
    pair = gift_set([{"item": "B1", "quantity": 2}], reduction=list(own))
    stated = settings(reduction=list(of_shop), announcing=announcing)
    channels = (channel(), channel(key="fair", name="Fair"))
    return shop([item("B1")], [pair], settings=stated, channels=channels)


def day(number: int, month: int = 12) -> datetime.date:
    return datetime.date(2026, month, number)


def pounds(amount: str) -> Money:
    return Money(Decimal(amount), "GBP")
