"""Changes that are too large to be published unasked.

That 30 % of one price and half of all prices are large is our own: common practice, no source.
"""

from decimal import Decimal

import pytest

from listkit.ledger.changes import BrakeRules, Rows, brakes
from listkit.units.spoken import Spoken
from tests.ledger.rows import row

SPOKEN = Spoken("en-GB", "GBP")
KNOWN = BrakeRules(SPOKEN, known=frozenset({"A", "B", "C", "D"}))


def rows(**prices: str) -> Rows:
    return {code: row(code, price) for code, price in prices.items()}


def kinds(old: Rows, new: Rows, rules: BrakeRules = KNOWN, *, alike: int = 0) -> list[tuple[str, str]]:
    return [(one.kind, one.code) for one in brakes(old, new, rules, alike=alike)]


@pytest.mark.parametrize(
    ("before", "now", "brakes_it"),
    [
        ("20.00", "26.00", False),  # 30 % exactly
        ("20.00", "26.01", True),
        ("20.00", "14.00", False),
        ("20.00", "13.99", True),
        ("29.00", "2.90", True),
        ("29.00", "2900", True),
        ("0.00", "20.00", False),  # no share of nothing
    ],
)
def test_a_price_that_leaps_by_more_than_the_share_brakes(before: str, now: str, brakes_it: bool) -> None:
    found = kinds({"A": row("A", before, fullCost="1.00")}, {"A": row("A", now, fullCost="1.00")}, alike=9)
    assert found == ([("price-leaps", "A")] if brakes_it else [])


def test_the_message_names_both_prices() -> None:
    [brake] = brakes(rows(A="20.00"), rows(A="30.00"), KNOWN, alike=9)
    assert brake.message == "A goes from £20.00 to £30.00, +50 %."


def test_the_owner_may_say_what_is_large() -> None:
    rules = BrakeRules(SPOKEN, largest_move=Decimal("0.01"), most_moves=Decimal(1))
    assert kinds(rows(A="20.00"), rows(A="20.21"), rules) == [("price-leaps", "A")]
    assert kinds(rows(A="20.00"), rows(A="20.20"), rules) == []


@pytest.mark.parametrize(("alike", "brakes_it"), [(5, True), (6, False), (7, False)])
def test_more_than_half_of_all_prices_at_once_brake(alike: int, brakes_it: bool) -> None:
    found = kinds(rows(**dict.fromkeys("ABCDEF", "20.00")), rows(**dict.fromkeys("ABCDEF", "21.00")), alike=alike)
    assert found == ([("many-prices", "")] if brakes_it else [])


def test_a_single_price_is_never_too_many() -> None:
    assert kinds(rows(A="20.00"), rows(A="21.00")) == []


def test_a_price_below_full_cost_brakes_until_it_has_been_published_so() -> None:
    below, above = {"A": row("A", "9.00", fullCost="9.28")}, {"A": row("A", "9.50", fullCost="9.28")}
    assert kinds({}, below) == [("below-cost", "A")]
    assert kinds(above, below, alike=9) == [("below-cost", "A")]
    assert kinds(below, below) == []
    assert kinds({}, {"A": row("A", "9.28", fullCost="9.28")}) == []
    cheaper = {"A": row("A", "8.50", fullCost="9.28")}
    assert kinds(below, cheaper, alike=9) == [("below-cost", "A")]


def test_a_code_that_the_shop_no_longer_has_brakes_and_one_that_is_only_hidden_does_not() -> None:
    assert kinds(rows(A="1", B="1"), rows(A="1"), BrakeRules(SPOKEN, known=frozenset({"A"}))) == [("code-gone", "B")]
    assert kinds(rows(A="20", B="20"), rows(A="20"), BrakeRules(SPOKEN, known=frozenset({"A", "B"}))) == []


@pytest.mark.parametrize(
    "now",
    [
        row("A", itemCodes=["OH-B01", "OH-U02"]),
        row("A", itemCodes=["OH-B01"]),
        row("A", itemCodes=["OH-B01", "OH-B01", "OH-U01"]),
        row("A", inProductGroupWithID="OHS-2"),
    ],
)
def test_a_code_that_stands_for_something_else_brakes(now: dict[str, object]) -> None:
    assert kinds({"A": row("A")}, {"A": now}, alike=9) == [("code-means-another", "A")]


def test_the_order_of_pieces_means_nothing() -> None:
    assert kinds({"A": row("A")}, {"A": row("A", itemCodes=["OH-U01", "OH-B01"])}, alike=9) == []


def test_nothing_brakes_where_nothing_differs() -> None:
    assert kinds({}, {}) == []
    assert kinds(rows(A="20.00"), rows(A="20.00")) == []


def test_a_reduction_that_begins_or_ends_is_no_slip() -> None:
    old = {code: row(code, "20.00", inProductGroupWithID="SET-1") for code in "ABCDEFG"}
    new = {code: row(code, "10.00", inProductGroupWithID="SET-1") for code in "ABCDEFG"}
    told = brakes(old, new, BrakeRules(SPOKEN, lowered=frozenset({"SET-1"})))
    assert told == ()
    assert len(brakes(old, new, BrakeRules(SPOKEN, lowered=frozenset({"SET-2"})))) == 8
