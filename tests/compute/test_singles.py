"""A single piece costs, weighs and is worth to shops exactly what its item does.

Follows from the definition of a set of one; no source.
"""

from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.build import build_catalog
from listkit.compute.catalog import SetFacts
from listkit.model.fields import Status
from listkit.model.item import Item
from listkit.model.shop import Shop, Single
from listkit.units.money import Money
from tests.small_shop import item, settings


def single(of: Item, **rules: Any) -> SetFacts:
    """The item as it is listed alone in a shop with these settings."""
    shop = Shop(Path(), settings(**rules), items=(of,), singles=(Single(of.code, of.code.lower()),))
    return build_catalog(shop).singles[0]


def test_a_bar_by_hand() -> None:
    """7.50 and 119 g; the uplift, ending and margin rule of sets are none of its own; half of it before 20 % tax."""
    bar = item("OH-B01", gtin="9520000000011", on_hand="64")
    rules = {"ending": ".95", "tax": "20 %", "option_prices": "dearest", "set_wholesale": "margin 40 %"}
    facts = single(bar, prices=rules, singles={})
    only = facts.variants[0]
    assert (only.code, only.gtin, str(only.price), str(only.wholesale)) == ("OH-B01", "9520000000011", "7.50", "3.13")
    assert (only.full_cost, only.can_make) == (bar.cost, 64)
    assert (only.weights.gift, only.weights.parcel, only.fill_share) == (bar.weight, None, None)
    assert (facts.box, facts.card, facts.carton, facts.season) == (None, None, None, None)
    assert (facts.source.folder, facts.is_single) == ("oh-b01", True)


def test_it_has_a_parcel_where_the_shop_states_what_singles_are_sent_in() -> None:
    carton = {"outside": "200 x 120 x 60 mm", "weight": "31 g"}
    facts = single(item("OH-B01"), singles={"carton": carton})
    parcel = facts.variants[0].weights.parcel
    assert parcel is not None
    assert parcel.grams == Decimal(150)


def test_it_is_on_sale_as_its_item_is() -> None:
    for status in Status:
        facts = single(item("OH-B01", status=status.value), singles={})
        assert (facts.source.gift_set.sold_as, facts.variants[0].status) == (status, status)


@given(
    cents=st.integers(1, 99_999),
    share=st.integers(1, 99),
    tax=st.integers(0, 30),
    ending=st.sampled_from(("keep", ".95")),
)
def test_price_and_wholesale_are_the_items_own(cents: int, share: int, tax: int, ending: str) -> None:
    """The wholesale price anew: retail ÷ (1 + tax) × share, half up, in fractions of the standard library's Decimal."""
    of = item("X-1", retail=f"{Decimal(cents) / 100:.2f}")
    rules = {"ending": ending, "wholesale": f"{share} %", "tax": f"{tax} %", "uplift": "3.10"}
    only = single(of, prices=rules, singles={}).variants[0]
    assert only.price == of.retail
    exact = Decimal(cents) * share / (100 + tax) / 100
    assert only.wholesale == Money(exact, "GBP").rounded(ROUND_HALF_UP)


def test_a_long_name_and_a_long_form_make_a_longer_one() -> None:
    """Either may have as many letters as a name has at most; no source beyond the bound."""
    facts = single(item("OH-B01", name="y" * 20_000, form="z" * 20_000), singles={})
    assert facts.name == f"{'y' * 20_000} {'z' * 20_000}"
