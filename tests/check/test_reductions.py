"""Checks of reductions; the words of each stand in tests/problems.

Announcing by Directive 98/6/EC, Article 6a, and 16 CFR 233.1, from memory; the rest is common practice, no source.
"""

import datetime
from typing import Any

import pytest

from listkit.check import prices
from listkit.compute.build import build_catalog
from listkit.compute.reductions import reduced_price
from listkit.listing.build import build_listings
from listkit.listing.listings import OnDay
from listkit.model.reduction import Reduction
from listkit.model.shop import Shop
from listkit.units.money import Money
from tests.check.found import run, told
from tests.listing.shops import channel as web_channel
from tests.listing.shops import folder
from tests.listing.shops import shop as web_shop
from tests.small_shop import channel, gift_set, item, settings, shop, wholesale

DAY = datetime.date(2027, 3, 3)


def raw(first: str = "2027-03-01", until: str = "2027-03-07", **says: Any) -> dict[str, Any]:
    return {"from": first, "until": until, "by": "10 %", **says}


def reducing(*of_shop: dict[str, Any], own: tuple[dict[str, Any], ...] = (), lines: tuple[str, ...] = ()) -> Shop:
    """Two bars in a box, 16.00, and one bar alone, 7.50, both the item B1."""
    pair = gift_set([{"item": "B1", "quantity": 2}], reduction=list(own))
    alone = gift_set([{"item": "B1"}], code="ONE", name="One Bar", box="none")
    stated = settings(reduction=list(of_shop))
    terms = wholesale(*lines) if lines else None
    channels = (channel(), channel(key="fair", name="Fair"))
    return shop([item("B1")], [pair, alone], settings=stated, channels=channels, wholesale=terms)


def in_force(code: str, of: Shop) -> list[str]:
    listings = build_listings(build_catalog(of), OnDay(DAY))
    return [str(problem) for problem in run(code, listings, DAY)]


def test_reductions_of_other_days_sets_or_channels_do_not_overlap() -> None:
    assert told("reductions-overlap", reducing(raw(), raw("2027-03-08", "2027-03-09"))) == []
    assert told("reductions-overlap", reducing(raw(sets=["SET-1"]), raw(sets=["ONE"]))) == []
    assert told("reductions-overlap", reducing(raw(channels=["stall"]), raw(channels=["fair"]))) == []
    assert len(told("reductions-overlap", reducing(raw(), raw("2027-03-07", "2027-03-09")))) == 1


def test_a_set_s_own_reduction_may_stand_beside_the_shop_s_but_not_beside_another_of_its_own() -> None:
    assert told("reductions-overlap", reducing(raw(), own=(raw(),))) == []
    assert len(told("reductions-overlap", reducing(own=(raw(), raw())))) == 1


def test_a_reduction_that_is_over_is_not_told_to_stockists_any_more() -> None:
    of = reducing(raw(), lines=("SET-1",))
    assert len(told("cheaper-than-stockists", of, datetime.date(2027, 3, 7))) == 1
    assert told("cheaper-than-stockists", of, datetime.date(2027, 3, 8)) == []


def test_stockists_are_undercut_by_a_single_piece_that_they_sell_too() -> None:
    [one] = told("cheaper-than-stockists", reducing(raw(), lines=("B1",)), DAY)
    assert one.startswith(
        "Look at · shop.toml: One Bar is cheaper than your stockists from 1 March 2027 until 7 March 2027: "
        "ONE at £6.75 instead of the suggested £7.50."
    )
    assert told("cheaper-than-stockists", reducing(raw()), DAY) == []


def test_a_reduction_on_one_channel_is_told_and_no_false_alarm_of_parity() -> None:
    of = web_shop(folder(reduction=[raw(channels=["web"])]), channels=(web_channel(), web_channel("fair", name="Fair")))
    assert in_force("price-parity", of) == []
    [one] = in_force("reduction-apart", of)
    assert "until 7 March 2027 HHS-1-U1 costs £26.10 on Web shop and £29.00 on Fair." in one


def test_a_reduction_on_all_channels_or_in_another_country_sets_none_apart() -> None:
    channels = (web_channel(), web_channel("fair", name="Fair"))
    assert in_force("reduction-apart", web_shop(folder(reduction=[raw()]), channels=channels)) == []
    channels = (web_channel(), web_channel("fair", name="Fair", country="IE"))
    assert in_force("reduction-apart", web_shop(folder(reduction=[raw(channels=["web"])]), channels=channels)) == []


def test_what_is_unsaid_is_told_once_with_the_reason() -> None:
    of = web_shop(folder(reduction=[raw()]), channels=(web_channel(), web_channel("fair", name="Fair")))
    [one] = in_force("reduction-unannounced", of)
    assert "HHS-1-S1: no price before is known. So it is in 1 other listing." in one


def test_words_of_a_saving_are_told_where_no_reduction_is_announced() -> None:
    of = web_shop(folder(reduction=[raw()], theme="Reduced to clear."))
    assert len(in_force("sounds-like-saving", of)) == 1


def test_whether_anything_is_left_is_asked_once_a_set_and_reduction(monkeypatch: pytest.MonkeyPatch) -> None:
    """Five hundred reductions of five thousand variants were two million prices."""
    asked = []

    def counted(price: Money, reduction: Reduction) -> Money | None:
        asked.append(price)
        return reduced_price(price, reduction)

    monkeypatch.setattr(prices, "reduced_price", counted)
    items = [item(f"B{at}", retail=f"{7 + at}.50") for at in range(20)]
    choice = gift_set([{"slot": "Bar", "choose": [f"B{at}" for at in range(20)]}])
    of = shop(items, [choice], settings=settings(reduction=[raw(), raw("2027-03-08", "2027-03-09")]))
    assert told("reduction-empty", of, DAY) == []
    assert len(asked) == 2
