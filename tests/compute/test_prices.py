"""Prices against published exercises and the promises they keep."""

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from listkit.compute.catalog import NetShare
from listkit.compute.prices import (
    at_dearest,
    included_tax,
    item_wholesale,
    net_share,
    price_facts,
    wholesale,
    with_ending,
)
from listkit.model.fields import Ending, WholesaleRule
from listkit.model.settings import Prices
from listkit.problem import FieldError
from listkit.units.money import Money

KEEP = Ending(None)


def by_rule(rule: WholesaleRule, price: str, cost: str, packed: str) -> Decimal:
    """A wholesale price without tax."""
    return wholesale(rule, Decimal(price), NetShare(), full_cost=Decimal(cost), items_and_packing=Decimal(packed))


def gbp(amount: str) -> Money:
    return Money(Decimal(amount), "GBP")


def test_a_price_is_the_items_and_the_uplift_with_every_step() -> None:
    facts = price_facts(Decimal("28.00"), Decimal("1.00"), Ending(Decimal("0.95")), net=NetShare(), currency="GBP")
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
    assert included_tax(gbp(gross), net_share(Decimal(rate))) == gbp(tax)


def test_before_tax_and_tax_make_the_price_again() -> None:
    """OpenStax, Contemporary Mathematics (2023), 6.2: a total of 153 with 6.25 % tax is 144.00 and 9.00."""
    facts = price_facts(Decimal(153), Decimal(0), KEEP, net=net_share(Decimal("0.0625")), currency="USD")
    assert (facts.net.of(facts.price.amount), facts.tax.amount) == (Decimal(144), Decimal(9))


def test_a_margin_and_a_mark_up_agree_with_the_textbook_table() -> None:
    """m = k/(1+k): a margin of 50 % is a mark-up of 100 % (keystone), 37.5 % one of 60 %, 20 % one of 25 %.

    OpenStax, Contemporary Mathematics (2023), 6.2: cost 311.00 with a mark-up of 60 % sells at 497.60.
    """
    for share, cost, price in (("0.5", "10", "20"), ("0.375", "311.00", "497.60"), ("0.2", "100", "125")):
        rule = WholesaleRule("margin", Decimal(share))
        assert by_rule(rule, "0", cost, "0") == Decimal(price)


def test_wholesale_follows_the_rule_of_the_shop() -> None:
    """The worked set of the trade, common practice without source: 29.00 at half is 14.50."""
    assert by_rule(WholesaleRule("share", Decimal("0.5")), "29", "9.28", "16.43") == Decimal("14.5")
    assert by_rule(WholesaleRule("sum", Decimal(0)), "29", "9.28", "16.43") == Decimal("16.43")


def test_an_item_sells_to_shops_at_half_before_tax_rounded_half_up() -> None:
    assert item_wholesale(gbp("7.50"), Decimal("0.5"), NetShare()) == gbp("3.75")
    assert item_wholesale(gbp("9.99"), Decimal("0.5"), net_share(Decimal("0.2"))) == gbp("4.16")  # 9.99/1.2/2 = 4.1625


@pytest.mark.parametrize("share", ["0.45", "0.42", "0.60", "0.36", "0.5"])
@pytest.mark.parametrize("tax", ["0.2", "0.05", "0.19", "0.25", "0"])
def test_wholesale_of_everyday_prices_is_that_of_exact_fractions(share: str, tax: str) -> None:
    """Against fractions of whole numbers, which no division shortens: 19.00 with 20 % and 45 % is 7.125, so 7.13."""
    for whole in range(1, 186):
        for ending in (0, 25, 50, 95, 99):
            pence = 100 * whole + ending
            exact = pence * Fraction(share) / (1 + Fraction(tax))
            half_up = (2 * exact.numerator + exact.denominator) // (2 * exact.denominator)
            retail = Money(Decimal(pence).scaleb(-2), "GBP")
            assert item_wholesale(retail, Decimal(share), net_share(Decimal(tax))).amount.scaleb(2) == half_up
            rule = WholesaleRule("share", Decimal(share))
            net = net_share(Decimal(tax))
            of_set = wholesale(rule, retail.amount, net, full_cost=Decimal(1), items_and_packing=Decimal(1))
            assert of_set.quantize(Decimal("0.01"), ROUND_HALF_UP).scaleb(2) == half_up


def test_all_at_the_dearest_adds_one_step_to_the_cheaper_ones() -> None:
    facts = price_facts(Decimal(26), Decimal(1), KEEP, net=NetShare(), currency="GBP")
    raised = at_dearest(facts, Decimal(29))
    assert raised.price == gbp("29").rounded(ROUND_HALF_UP)
    assert [step.label for step in raised.steps] == ["items", "uplift", "ending", "dearest option"]
    assert at_dearest(raised, Decimal(29)) is raised


@given(st.decimals(0, 500, places=2), st.decimals(0, 20, places=2), st.sampled_from(["0", "0.05", "0.2"]))
def test_steps_add_up_to_the_price(items: Decimal, uplift: Decimal, tax: str) -> None:
    facts = price_facts(items, uplift, Ending(Decimal("0.50")), net=net_share(Decimal(tax)), currency="GBP")
    assert sum(step.amount.amount for step in facts.steps) == facts.price.amount == facts.steps[-1].running.amount
    assert 0 <= facts.tax.amount <= facts.price.amount


@pytest.mark.parametrize(
    ("currency", "items", "ending", "steps"),
    [
        ("GBP", "29", ".00", ["29.00", "0.00", "0.00", "29.00"]),
        ("KWD", "2416.3", ".95", ["2416.300", "0.000", "0.650", "2416.950"]),
        ("JPY", "1980", "keep", ["1980", "0", "0", "1980"]),
    ],
)
def test_every_step_has_the_digits_of_its_currency(currency: str, items: str, ending: str, steps: list[str]) -> None:
    """ISO 4217: GBP 2, KWD 3, JPY none."""
    rule = Ending(None if ending == "keep" else Decimal(ending))
    facts = price_facts(Decimal(items), Decimal(0), rule, net=NetShare(), currency=currency)
    assert [str(step.amount) for step in facts.steps] + [str(facts.price)] == steps


@pytest.mark.parametrize(
    ("price", "currency", "text", "expected"),
    [
        ("1901", "JPY", "980", "1980"),  # common practice, no source: yen prices end in 80 or in whole hundreds
        ("1981", "JPY", "980", "2980"),
        ("1901", "JPY", "80", "1980"),
        ("2301", "JPY", "00", "2400"),
        ("2400", "JPY", "00", "2400"),
        ("50", "JPY", "980", "980"),
        ("12.31", "CHF", "steps of 0.05", "12.35"),  # the smallest coin, from memory
        ("12.35", "CHF", "steps of 0.05", "12.35"),
        ("2310", "JPY", "steps of 50", "2350"),
        ("21.00", "GBP", "5.50", "25.50"),
        ("9.00", "GBP", "0.95", "9.95"),
        ("2416.301", "KWD", ".950", "2416.950"),
    ],
)
def test_an_ending_may_be_whole_digits_or_steps(price: str, currency: str, text: str, expected: str) -> None:
    rules = Prices.model_validate({"ending": text}, context={"currency": currency})
    assert with_ending(Decimal(price), rules.ending) == Decimal(expected)
    assert rules.ending.text == text.removeprefix("0" if text == "0.95" else "-")


@pytest.mark.parametrize(
    ("text", "currency", "words"),
    [
        (".95", "JPY", "finer than the currency"),
        ("steps of 0.5", "JPY", "finer than the currency"),
        ("steps of 0.001", "GBP", "finer than the currency"),
        ("steps of 0", "GBP", "leads nowhere"),
        ("round", "GBP", "is not an ending"),
        ("", "GBP", "is not an ending"),
    ],
)
def test_an_ending_that_the_currency_cannot_show_is_told(text: str, currency: str, words: str) -> None:
    with pytest.raises(FieldError, match=words):
        ending_of(text, currency)


def ending_of(text: str, currency: str) -> Ending:
    """The ending as the reader reads it, its fault raised."""
    try:
        return Prices.model_validate({"ending": text}, context={"currency": currency}).ending
    except ValidationError as fault:
        raise fault.errors()[0]["ctx"]["error"] from None
