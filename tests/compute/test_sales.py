"""What a channel leaves of one sale: published fees, and columns that foot."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.catalog import Variant
from listkit.compute.sales import Sale, sale_on
from listkit.model.channel import Channel
from tests.small_shop import channel, facts, gift_set, item, settings

ONE = gift_set([{"item": "A-1"}], box="none")


def variant(price: str, cost: str = "0", tax: str = "0 %") -> Variant:
    """The only variant of a set without box, which costs what its one item does."""
    made = [item("A-1", retail=price, cost=cost)]
    return facts(made, ONE, settings=settings(prices={"tax": tax})).variants[0]


def with_fee(share: str, fixed: str = "0") -> Channel:
    return channel(fee=share, fixed_fee=fixed)


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
    sale = sale_on(with_fee(fee, fixed), variant(price, cost))
    assert (str(sale.kept), sale.exact) == (left, Decimal(exact))


def test_tax_and_fee_are_paid_in_whole_pence_and_what_is_kept_follows() -> None:
    """HMRC Notice 700, 17.5: the tax of 12.99 at 20 % is 2.17 to a retailer; 11 % of it is 1.4289, a fee of 1.43."""
    sale = sale_on(with_fee("11 %"), variant("12.99", "4.00", "20 %"))
    assert [str(each) for each in (sale.price, sale.tax, sale.fee, sale.cost, sale.kept)] == [
        "12.99", "2.17", "1.43", "4.00", "5.39",
    ]  # fmt: skip
    assert sale.exact == Decimal("5.3961")  # which rounds to 5.40, and would not foot


def test_a_margin_goes_by_the_exact_amount() -> None:
    """m = kept / price before tax; 9.00 of 36.00 less 20 % tax is 9 / 30, whatever the pennies do."""
    assert sale_on(with_fee("0 %"), variant("36.00", "21.00", "20 %")).margin == Decimal("0.3")
    assert sale_on(with_fee("0 %"), variant("0.00")).margin is None


money = st.decimals(0, 500, places=2)


@given(money, money, st.integers(0, 30), st.sampled_from(["0 %", "5 %", "19 %", "20 %"]))
def test_every_column_foots(price: Decimal, cost: Decimal, share: int, tax: str) -> None:
    sale: Sale = sale_on(with_fee(f"{share}.5 %", "0.25"), variant(str(price), str(cost), tax))
    assert sale.price - sale.tax - sale.fee - sale.cost == sale.kept
    assert abs(sale.kept.amount - sale.exact) <= Decimal("0.015")
