"""Reductions: what is left of the price.

Sums by hand; which price comes before is Directive 98/6/EC, Article 6a.
"""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.build import build_catalog
from listkit.compute.prices import net_share
from listkit.compute.reductions import on_channel, reduced, reduced_price, reductions_in_force
from listkit.units.money import Money
from tests.compute.reducing import day, pounds, raw, reducing, reduction


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
    found = reduced_price(Money(amount, "GBP"), reduction(by=f"{share} %"))
    lower = found.amount if found else Decimal(0)  # less than a penny is left
    assert (found is None) == (lower == 0)
    assert lower < amount
    assert lower * 100 <= amount * (100 - share) < (lower + Decimal("0.01")) * 100


def test_the_reduction_is_one_more_step_and_the_tax_follows() -> None:
    """Tax within 14.40 at 20 %: 2.40."""
    [facts] = build_catalog(reducing()).sets
    lowered = reduced(replace(facts.variants[0].prices, net=net_share(Decimal("0.2"))), reduction())
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


@pytest.mark.parametrize("says", [{"by": "10 %", "ending": ".95"}, {}])
def test_what_is_unclear_lowers_nothing(says: dict[str, str]) -> None:
    of = reducing(raw("2026-12-01", "2026-12-10", **says))
    assert list(reductions_in_force(build_catalog(of), day(5))) == []
    of = reducing(raw("2026-12-10", "2026-12-01", by="10 %"))
    assert list(reductions_in_force(build_catalog(of), day(5))) == []
