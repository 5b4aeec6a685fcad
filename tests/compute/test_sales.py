"""What a channel leaves of one sale: published fees, and columns that foot."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.build import build_catalog
from listkit.compute.sales import Sale, sale_on
from listkit.model.channel import Channel
from listkit.model.packaging import Rate
from listkit.model.shop import Shop
from tests.small_shop import GBP, channel, gift_set, item, settings, shop

ONE = gift_set([{"item": "A-1"}], box="none")


def sale(on: Channel, price: str, cost: str = "0", tax: str = "0 %") -> Sale:
    """What a channel leaves of a set without box, which costs what its one item does."""
    return sale_of(on, shop([item("A-1", retail=price, cost=cost)], [ONE], settings=settings(prices={"tax": tax})))


def sale_of(on: Channel, of: Shop) -> Sale:
    """What a channel leaves of the first variant of the only set."""
    [facts] = build_catalog(of).sets
    return sale_on(on, facts.variants[0], facts, of)


def with_fee(share: str, fixed: str = "0", **says: str) -> Channel:
    return channel(fee=share, fixed_fee=fixed, **says)


@pytest.mark.parametrize(
    ("price", "cost", "fee", "fixed", "left", "exact"),
    [
        # fee gross-up p = (target + fixed) / (1 - rate), up to the cent: 20.93 nets 20.0021, 20.92 only 19.9924
        ("20.93", "0", "3 %", "0.30", "20.00", "20.0021"),
        ("20.92", "0", "3 %", "0.30", "19.99", "19.9924"),
        ("29.00", "9.28", "0 %", "0", "19.72", "19.72"),  # common practice, no source: at one's own stall
        ("29.00", "9.28", "13 %", "0.50", "15.45", "15.45"),  # the same with 13 % and 0.50
    ],
)
def test_what_is_kept_after_fees_matches_worked_figures(
    price: str, cost: str, fee: str, fixed: str, left: str, exact: str
) -> None:
    left_of = sale(with_fee(fee, fixed), price, cost)
    assert (str(left_of.kept), left_of.exact) == (left, Decimal(exact))


def test_tax_and_fee_are_paid_in_whole_pence_and_what_is_kept_follows() -> None:
    """HMRC Notice 700, 17.5: the tax of 12.99 at 20 % is 2.17 to a retailer; 11 % of it is 1.4289, a fee of 1.43."""
    left_of = sale(with_fee("11 %"), "12.99", "4.00", "20 %")
    assert [str(each) for each in (left_of.price, left_of.tax, left_of.fee, left_of.cost, left_of.kept)] == [
        "12.99", "2.17", "1.43", "4.00", "5.39",
    ]  # fmt: skip
    assert left_of.exact == Decimal("5.3961")  # which rounds to 5.40, and would not foot


def test_a_margin_goes_by_the_exact_amount() -> None:
    """m = kept / price before tax; 9.00 of 36.00 less 20 % tax is 9 / 30, whatever the pennies do."""
    assert sale(with_fee("0 %"), "36.00", "21.00", "20 %").margin == Decimal("0.3")
    assert sale(with_fee("0 %"), "0.00").margin is None
    assert sale(with_fee("0 %"), "0.01", "99999999999999.99").margin == Decimal(-9999999999999998)


money = st.decimals(0, 500, places=2)


@given(money, money, st.integers(0, 30), st.sampled_from(["0 %", "5 %", "19 %", "20 %"]))
def test_every_column_foots(price: Decimal, cost: Decimal, share: int, tax: str) -> None:
    left_of = sale(with_fee(f"{share}.5 %", "0.25"), str(price), str(cost), tax)
    assert left_of.price - left_of.tax - left_of.fee - left_of.cost == left_of.kept
    assert abs(left_of.kept.amount - left_of.exact) <= Decimal("0.015")


def by_post(price: str = "20.00", freight: dict[str, str] | None = None, tax: str = "0 %") -> Shop:
    """A set in box S whose parcel costs 3.00 or 4.00 to send home, 9.00 far away."""
    rules = settings(prices={"tax": tax, "uplift": "0"}, freight=freight or {})
    rows = [("slow", "home", "3.00"), ("quick", "home", "4.00"), ("slow", "far", "9.00")]
    rates = tuple(
        Rate.model_validate({"service": service, "zone": zone, "up_to": "2 kg", "price": asked}, context=GBP)
        for service, zone, asked in rows
    )
    made = [item("A-1", retail=price)]
    return shop(made, [gift_set([{"item": "A-1"}])], settings=rules, rates=rates)


def test_a_fee_on_price_and_postage_is_charged_on_what_the_buyer_pays_for_both() -> None:
    """p = (target + fixed + rate·(ship + tax)) / (1 - rate), solved for the target; tax is within the price here.

    Of 20.00 with 3.00 for sending, 10 % + 0.30 is 2.60: 20.00 is what (17.40 + 0.30 + 0.10 · 3.00) / 0.9 comes to.
    """
    both = with_fee("10 %", "0.30", fee_on="price and postage", zone="home")
    assert str(sale_of(both, by_post()).fee) == "2.60"
    assert (Decimal("17.40") + Decimal("0.30") + Decimal("0.1") * 3) / Decimal("0.9") == 20
    assert str(sale_of(with_fee("10 %", "0.30", zone="home"), by_post()).fee) == "2.30"


def test_free_postage_is_a_cost_by_the_channels_own_zone() -> None:
    free = {"free_above": "20"}
    near, far, none = (sale_of(with_fee("10 %", zone=zone), by_post(freight=free)) for zone in ("home", "far", ""))
    assert [str(each.postage) for each in (near, far, none)] == ["3.00", "9.00", "0.00"]
    assert none.kept - near.kept == near.postage
    assert none.exact - far.exact == 9
    below = sale_of(with_fee("10 %", zone="home"), by_post("19.99", free))
    assert str(below.postage) == "0.00"


def test_a_stated_share_of_orders_goes_free_below_the_free_order_value() -> None:
    """A fifth of 3.00 is 0.60 of ours; buyers pay the other 2.40, of which a fee on postage takes its share."""
    rules = {"free_above": "40", "free_share": "20 %"}
    both = with_fee("10 %", fee_on="price and postage", zone="home")
    left = sale_of(both, by_post(freight=rules))
    assert (str(left.postage), str(left.fee)) == ("0.60", "2.24")
    assert str(sale_of(both, by_post("40.00", rules)).postage) == "3.00"


@pytest.mark.parametrize(
    ("says", "fee"),
    [
        ({}, "0.90"),
        ({"fixed_fee_per": "piece", "pieces_in_order": "2"}, "0.90"),
        ({"pieces_in_order": "2"}, "0.75"),  # 0.60 and half of 0.30
        ({"pieces_in_order": "1.5"}, "0.80"),
        ({"minimum_fee": "1.00"}, "1.00"),
        ({"minimum_fee": "0.89"}, "0.90"),
    ],
)
def test_a_fixed_fee_is_of_an_order_or_of_a_piece_and_a_fee_has_a_least(says: dict[str, str], fee: str) -> None:
    """By hand: 3 % of 20.00 is 0.60, with 0.30 for each order or piece."""
    assert str(sale(with_fee("3 %", "0.30", **says), "20.00").fee) == fee


def test_a_channel_may_have_a_tax_of_its_own() -> None:
    """24.90 at 19 % holds 3.98, and at 5 % 1.19: gross · r / (1 + r)."""
    assert str(sale(with_fee("0 %"), "24.90", tax="19 %").tax) == "3.98"
    assert str(sale(with_fee("0 %", tax="5 %"), "24.90", tax="19 %").tax) == "1.19"
    assert str(sale(with_fee("0 %", tax="0 %"), "24.90", tax="19 %").tax) == "0.00"


def test_the_tax_of_a_set_of_two_rates_is_split_by_the_prices_of_its_items() -> None:
    """By hand: of 11.00 for 6.00 at 20 % and 4.00 at 5 %, 6.60 holds 1.10 and 4.40 holds 0.2095, together 1.31."""
    made = [item("A-1", retail="6.00"), item("A-2", retail="4.00", tax="5 %")]
    both = gift_set([{"item": "A-1"}, {"item": "A-2"}], box="none", uplift="1.00")
    of = shop(made, [both], settings=settings(prices={"tax": "20 %"}))
    [facts] = build_catalog(of).sets
    [variant] = facts.variants
    assert (str(variant.prices.price), str(variant.prices.tax)) == ("11.00", "1.31")
    before_tax = Decimal("6.60") / Decimal("1.2") + Decimal("4.40") / Decimal("1.05")
    assert variant.prices.net.of(Decimal("11.00")) == before_tax
    assert str(variant.wholesale) == "4.85"  # half of 9.690476...
    assert str(sale_of(with_fee("0 %", tax="20 %"), of).tax) == "1.83"
