"""Comparing and adding: values of one kind, exact, below a bound."""

from collections.abc import Callable
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.listing.template_values import LARGEST, calculate, compare
from listkit.problem import FieldError
from listkit.units.money import Money
from listkit.units.weight import Weight

POUND = Money(Decimal(1), "GBP")
EURO = Money(Decimal(1), "EUR")
GRAM = Weight(Decimal(1))
numbers = st.integers(-(10**6), 10**6) | st.decimals(-(10**6), 10**6, places=2)
values = numbers | st.text(max_size=3) | st.booleans() | st.none() | st.dates() | st.just(POUND) | st.just(GRAM)
kinds = (numbers, st.text(max_size=3), st.booleans(), st.none(), st.dates(), st.just(POUND), st.just(GRAM))
pairs = st.tuples(values, values) | st.one_of([st.tuples(kind, kind) for kind in kinds])
SIGNS = ("eq", "ne", "lt", "lteq", "gt", "gteq", "in", "notin")


@pytest.mark.parametrize(
    ("left", "sign", "right", "result"),
    [
        (2, "lt", Decimal("2.5"), True),
        (2, "eq", Decimal(2), True),
        ("on sale", "eq", "on sale", True),
        ("a", "lt", "b", True),
        (date(2026, 1, 1), "gteq", date(2025, 12, 31), True),
        (POUND, "lt", POUND * 2, True),
        (GRAM, "lteq", GRAM, True),
        (POUND, "eq", EURO, False),
        (None, "eq", None, True),
        (1, "eq", True, False),
        (1, "eq", "1", False),
        ("spring", "in", "spring gift", True),
        ("spring", "in", ("spring", "gift"), True),
        ("spr", "notin", ("spring", "gift"), True),
        (1, "in", (True,), False),
    ],
)
def test_values_of_one_kind_compare(left: object, sign: str, right: object, result: bool) -> None:
    assert compare(left, sign, right) is result


@pytest.mark.parametrize(
    ("left", "sign", "right"),
    [
        (1, "lt", "a"),
        (None, "lt", None),
        (True, "gt", False),
        (POUND, "lt", EURO),
        (POUND, "lt", GRAM),
        ("a", "in", 5),
        (("a",), "eq", ("a",)),
        (1, "in", "1"),
    ],
)
def test_unlike_values_have_no_order(left: object, sign: str, right: object) -> None:
    with pytest.raises(FieldError):
        compare(left, sign, right)


@given(pairs, st.sampled_from(SIGNS))
def test_any_two_values_compare_and_their_opposites_agree_or_all_are_told(
    pair: tuple[object, object], sign: str
) -> None:
    left, right = pair
    opposite = {"eq": "ne", "ne": "eq", "lt": "gteq", "gteq": "lt", "gt": "lteq", "lteq": "gt"}
    mirrored = {"eq": "eq", "ne": "ne", "lt": "gt", "gt": "lt", "lteq": "gteq", "gteq": "lteq"}
    result = told_or(lambda: compare(left, sign, right))
    against = {**opposite, "in": "notin", "notin": "in"}[sign]
    assert told_or(lambda: compare(left, against, right)) == (None if result is None else not result)
    if sign in mirrored:
        assert told_or(lambda: compare(right, mirrored[sign], left)) is result


def told_or(made: Callable[[], bool]) -> bool | None:
    """What is made, or None where it is told that it cannot be."""
    try:
        return made()
    except FieldError as fault:
        assert fault.message
        return None


@pytest.mark.parametrize(
    ("left", "sign", "right", "result"),
    [
        (1, "+", Decimal("0.1"), Decimal("1.1")),
        (7, "//", 2, 3),
        (7, "%", 2, 1),
        (1, "/", 4, Decimal("0.25")),
        (POUND, "+", POUND, Money(Decimal(2), "GBP")),
        (3, "*", POUND, Money(Decimal(3), "GBP")),
        (POUND, "/", 4, Money(Decimal("0.25"), "GBP")),
        (GRAM, "*", 3, Weight(Decimal(3))),
        (GRAM, "-", GRAM, Weight(Decimal(0))),
    ],
)
def test_numbers_money_and_weights_add_up(left: object, sign: str, right: object, result: object) -> None:
    assert calculate(left, sign, right) == result


@pytest.mark.parametrize(
    ("left", "sign", "right"),
    [
        ("a", "*", 3),
        (3, "*", "a"),
        ("%s", "%", 1),
        ("%s", "%", ("a",)),
        (("a",), "*", 1000),
        (("a",), "+", ("b",)),
        (True, "+", 1),
        (None, "+", 1),
        (POUND, "+", EURO),
        (POUND, "*", POUND),
        (POUND, "+", GRAM),
        (2, "**", 3),
        (1, "/", 0),
        (1, "%", 0),
        (Decimal(1), "//", Decimal(0)),
        (POUND, "/", 0),
        (LARGEST, "+", 1),
        (LARGEST, "*", LARGEST),
        (-LARGEST, "*", LARGEST),
        (Decimal(LARGEST), "//", Decimal("1E-20")),
        (POUND * LARGEST, "*", 2),
    ],
)
def test_anything_else_is_told(left: object, sign: str, right: object) -> None:
    with pytest.raises(FieldError):
        calculate(left, sign, right)


def figure(result: object) -> Decimal:
    if isinstance(result, Money):
        return result.amount
    if isinstance(result, Weight):
        return result.grams
    assert isinstance(result, int | Decimal)
    return Decimal(result)


@given(pairs, st.sampled_from(("+", "-", "*", "/", "//", "%", "**")))
def test_any_two_values_add_up_below_the_bound_or_are_told(pair: tuple[object, object], sign: str) -> None:
    left, right = pair
    try:
        result = calculate(left, sign, right)
    except FieldError as fault:
        assert fault.message
        return
    assert abs(figure(result)) <= LARGEST
