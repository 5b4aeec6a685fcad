"""Prices against published exercises and the promises they keep."""

from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.prices import (
    at_dearest,
    included_tax,
    item_wholesale,
    kept,
    margin,
    price_facts,
    wholesale,
    with_ending,
)
from listkit.model.fields import Ending, WholesaleRule
from listkit.units.money import Money

KEEP = Ending(None)


def gbp(amount: str) -> Money:
    return Money(Decimal(amount), "GBP")


def test_a_price_is_the_items_and_the_uplift_with_every_step() -> None:
    facts = price_facts(Decimal("28.00"), Decimal("1.00"), Ending(Decimal("0.95")), tax=Decimal(0), currency="GBP")
    assert [(s.label, str(s.amount), str(s.running)) for s in facts.steps] == [
        ("items", "28.00", "28.00"),
        ("uplift", "1.00", "29.00"),
        ("ending", "0.95", "29.95"),
    ]
    assert facts.price == gbp("29.95")


@pytest.mark.parametrize(
    ("price", "ending", "expected"),
    [
        ("28.95", "0.95", "28.95"),
        ("28.96", "0.95", "29.95"),
        ("28.00", "0.00", "28.00"),
        ("28.01", "0.00", "29.00"),
        ("28.10", "0.50", "28.50"),
        ("0.10", "0.95", "0.95"),
        ("0.00", "0.50", "0.50"),
    ],
)
def test_an_ending_rounds_up_to_the_next_such_price(price: str, ending: str, expected: str) -> None:
    assert with_ending(Decimal(price), Ending(Decimal(ending))) == Decimal(expected)


@given(st.decimals(0, 10_000, places=2), st.sampled_from(["0.00", "0.50", "0.95", "0.99", "0.05"]))
def test_an_ending_never_lowers_a_price_and_never_skips_one(price: Decimal, ending: str) -> None:
    ended = with_ending(price, Ending(Decimal(ending)))
    assert ended >= price
    assert ended % 1 == Decimal(ending)
    assert ended - 1 < price or ended < 1


@pytest.mark.parametrize(
    ("gross", "rate", "tax"),
    [
        ("12.99", "0.20", "2.17"),  # HMRC Notice 700, 17.5: retailers may not round down; 2.165 goes up
        ("24.90", "0.19", "3.98"),  # gross · 19/119
        ("10.50", "0.05", "0.50"),  # gross · 1/21
        ("153.00", "0.0625", "9.00"),  # OpenStax, Contemporary Mathematics (2023), 6.2: net 144.00, tax 9.00
        ("5.97", "0.20", "1.00"),  # gross · 1/6 = 0.995
    ],
)
def test_included_tax_matches_worked_figures(gross: str, rate: str, tax: str) -> None:
    assert included_tax(gbp(gross), Decimal(rate)) == gbp(tax)


def test_before_tax_and_tax_make_the_price_again() -> None:
    """OpenStax, Contemporary Mathematics (2023), 6.2: a total of 153 with 6.25 % tax is 144.00 and 9.00."""
    facts = price_facts(Decimal(153), Decimal(0), KEEP, tax=Decimal("0.0625"), currency="USD")
    assert (facts.before_tax, facts.tax.amount) == (Decimal(144), Decimal(9))


def test_a_margin_and_a_mark_up_agree_with_the_textbook_table() -> None:
    """m = k/(1+k): a margin of 50 % is a mark-up of 100 % (keystone), 37.5 % one of 60 %, 20 % one of 25 %.

    OpenStax, Contemporary Mathematics (2023), 6.2: cost 311.00 with a mark-up of 60 % sells at 497.60.
    """
    for share, cost, price in (("0.5", "10", "20"), ("0.375", "311.00", "497.60"), ("0.2", "100", "125")):
        rule = WholesaleRule("margin", Decimal(share))
        assert wholesale(rule, Decimal(0), Decimal(cost), Decimal(0)) == Decimal(price)


def test_wholesale_follows_the_rule_of_the_shop() -> None:
    """The worked set of the trade, common practice without source: 29.00 at half is 14.50."""
    exact, packed = Decimal("9.28"), Decimal("16.43")
    assert wholesale(WholesaleRule("share", Decimal("0.5")), Decimal(29), exact, packed) == Decimal("14.5")
    assert wholesale(WholesaleRule("sum", Decimal(0)), Decimal(29), Decimal("9.28"), Decimal("16.43")) == Decimal(
        "16.43"
    )


def test_an_item_sells_to_shops_at_half_before_tax_rounded_half_up() -> None:
    assert item_wholesale(gbp("7.50"), Decimal("0.5"), Decimal(0)) == gbp("3.75")
    assert item_wholesale(gbp("9.99"), Decimal("0.5"), Decimal("0.2")) == gbp("4.16")  # 9.99/1.2/2 = 4.1625


@pytest.mark.parametrize(
    ("price", "cost", "fee", "fixed", "left"),
    [
        ("20.93", "0", "0.03", "0.30", "20.00"),  # fee gross-up: 20.93 nets 20.0021, 20.92 would net 19.9924
        ("20.92", "0", "0.03", "0.30", "19.99"),
        ("29.00", "9.28", "0", "0", "19.72"),  # the worked set at one's own stall
        ("29.00", "9.28", "0.13", "0.50", "15.45"),  # the same with 13 % and 0.50
    ],
)
def test_what_is_kept_after_fees_matches_worked_figures(price: str, cost: str, fee: str, fixed: str, left: str) -> None:
    assert kept(gbp(price), Decimal(price), Decimal(cost), Decimal(fee), gbp(fixed)) == gbp(left)


def test_a_price_of_nothing_has_no_margin() -> None:
    assert margin(gbp("0"), Decimal(0)) is None
    assert margin(gbp("7.50"), Decimal(30)) == Decimal("0.25")


def test_all_at_the_dearest_adds_one_step_to_the_cheaper_ones() -> None:
    facts = price_facts(Decimal(26), Decimal(1), KEEP, tax=Decimal(0), currency="GBP")
    raised = at_dearest(facts, Decimal(29), tax=Decimal(0), currency="GBP")
    assert raised.price == gbp("29").rounded(ROUND_HALF_UP)
    assert [step.label for step in raised.steps] == ["items", "uplift", "ending", "dearest option"]
    assert at_dearest(raised, Decimal(29), tax=Decimal(0), currency="GBP") is raised


@given(st.decimals(0, 500, places=2), st.decimals(0, 20, places=2), st.sampled_from(["0", "0.05", "0.2"]))
def test_steps_add_up_to_the_price(items: Decimal, uplift: Decimal, tax: str) -> None:
    facts = price_facts(items, uplift, Ending(Decimal("0.50")), tax=Decimal(tax), currency="GBP")
    assert sum(step.amount.amount for step in facts.steps) == facts.price.amount == facts.steps[-1].running.amount
    assert 0 <= facts.tax.amount <= facts.price.amount
