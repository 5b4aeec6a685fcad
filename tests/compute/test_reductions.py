"""Reductions: which one is in force, since when and how long, and what is left of the price."""

import datetime
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.build import build_catalog
from listkit.compute.reductions import (
    first_day,
    last_day,
    on_channel,
    reduced,
    reduced_price,
    reductions_in_force,
    ruling_on,
    rulings_of,
)
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


@pytest.mark.parametrize(
    ("price", "by", "lower"), [("29.00", "15 %", "24.65"), ("12.99", "10 %", "11.69"), ("0.03", "50 %", "0.01")]
)
def test_a_share_is_taken_off_and_the_rest_rounded_down(price: str, by: str, lower: str) -> None:
    """Worked by hand: 29.00 less 15 % is 24.65, 12.99 less 10 % is 11.691."""
    assert reduced_price(pounds(price), reduction(by=by)) == pounds(lower)


@pytest.mark.parametrize(("price", "lower"), [("29.00", "28.95"), ("28.95", "27.95"), ("28.96", "28.95")])
def test_a_new_ending_is_the_next_price_below_that_ends_so(price: str, lower: str) -> None:
    assert reduced_price(pounds(price), reduction(ending=".95")) == pounds(lower)


@pytest.mark.parametrize(
    ("price", "says"), [("0.90", {"ending": ".95"}), ("0.95", {"ending": ".95"}), ("0.05", {"by": "90 %"})]
)
def test_a_price_of_which_nothing_would_be_left_is_not_lowered(price: str, says: dict[str, str]) -> None:
    assert reduced_price(pounds(price), reduction(**says)) is None


@given(st.decimals("0.01", "9999", places=2), st.integers(1, 99))
def test_a_lower_price_is_below_the_old_one_and_no_dearer_than_was_said(amount: Decimal, share: int) -> None:
    lower = reduced_price(Money(amount, "GBP"), reduction(by=f"{share} %"))
    if lower is not None:
        assert 0 < lower.amount < amount
        assert lower.amount * 100 <= amount * (100 - share)
        assert (lower.amount + Decimal("0.01")) * 100 > amount * (100 - share)


def test_the_reduction_is_one_more_step_and_the_tax_follows() -> None:
    """Tax within 14.40 at 20 %: 2.40."""
    [facts] = build_catalog(reducing()).sets
    lowered = reduced(facts.variants[0].prices, reduction(), tax=Decimal("0.2"))
    assert lowered is not None
    assert (lowered.steps[-1].label, lowered.steps[-1].amount, lowered.steps[-1].running) == (
        "reduction", pounds("-1.60"), pounds("14.40"),
    )  # fmt: skip
    assert lowered.tax == pounds("2.40")


def test_a_variant_keeps_its_usual_price_for_shops_beside_the_lower_one() -> None:
    of = reducing(raw("2026-12-01", "2026-12-10", by="10 %"))
    [facts] = build_catalog(of).sets
    ruling, [lowered] = on_channel(facts, of.settings, "stall", day(1))
    assert ruling is not None
    assert (lowered.price, lowered.usual_price) == (pounds("14.40"), pounds("16.00"))
    assert lowered.wholesale == facts.variants[0].wholesale
    assert on_channel(facts, of.settings, "stall", day(11)) == (None, facts.variants)
    assert on_channel(facts, of.settings, "stall", None) == (None, facts.variants)


@pytest.mark.parametrize(("on", "holds"), [(day(30, 11), False), (day(1), True), (day(10), True), (day(11), False)])
def test_the_first_and_the_last_day_are_both_days_of_the_reduction(on: datetime.date, holds: bool) -> None:
    of = reducing(raw("2026-12-01", "2026-12-10", by="10 %"))
    assert bool(ruling_on(rulings_of(of.sets[0], of.settings), "stall", on)) is holds


def test_a_reduction_holds_for_the_channels_and_sets_that_it_names() -> None:
    of = reducing(raw("2026-12-01", "2026-12-10", by="10 %", channels=["fair"]))
    assert [one.channel for one in reductions_in_force(build_catalog(of), day(5))] == ["fair"]
    of = reducing(raw("2026-12-01", "2026-12-10", by="10 %", sets=["SET-2"]))
    assert list(reductions_in_force(build_catalog(of), day(5))) == []


def test_a_set_s_own_reduction_goes_before_the_shop_s() -> None:
    of = reducing(raw("2026-12-01", "2026-12-31", by="10 %"), own=(raw("2026-12-10", "2026-12-12", by="20 %"),))
    rulings = rulings_of(of.sets[0], of.settings)
    own = [one is not None and one.own for one in (ruling_on(rulings, "stall", day(at)) for at in (9, 10, 12, 13))]
    assert own == [False, True, True, False]
    assert [last_day(rulings, "stall", day(at)) for at in (1, 10, 13)] == [day(9), day(12), day(31)]
    assert [first_day(rulings, "stall", day(at)) for at in (9, 11, 20)] == [day(1), day(10), day(13)]


def test_the_usual_price_holds_until_the_day_before_a_reduction_and_again_without_end() -> None:
    of = reducing(raw("2026-12-01", "2026-12-10", by="10 %"))
    rulings = rulings_of(of.sets[0], of.settings)
    assert last_day(rulings, "stall", day(1, 11)) == day(30, 11)
    assert last_day(rulings, "stall", day(11)) is None
    assert last_day((), "stall", day(11)) is None


def test_a_cut_that_grows_without_a_break_began_with_its_first_step_where_a_country_says_so() -> None:
    """Directive 98/6/EC, Art. 6a(5): progressive reductions, if the Member State has chosen so."""
    of = reducing(raw("2026-12-01", "2026-12-10", by="10 %"), raw("2026-12-11", "2026-12-20", by="20 %"))
    rulings = rulings_of(of.sets[0], of.settings)
    assert first_day(rulings, "stall", day(15)) == day(11)
    assert first_day(rulings, "stall", day(15), further_cuts=True) == day(1)
    apart = reducing(raw("2026-12-01", "2026-12-09", by="10 %"), raw("2026-12-11", "2026-12-20", by="20 %"))
    assert first_day(rulings_of(apart.sets[0], apart.settings), "stall", day(15), further_cuts=True) == day(11)


@pytest.mark.parametrize("says", [{"by": "10 %", "ending": ".95"}, {}])
def test_what_is_unclear_lowers_nothing(says: dict[str, str]) -> None:
    of = reducing(raw("2026-12-01", "2026-12-10", **says))
    assert list(reductions_in_force(build_catalog(of), day(5))) == []
    of = reducing(raw("2026-12-10", "2026-12-01", by="10 %"))
    assert list(reductions_in_force(build_catalog(of), day(5))) == []
