"""The second implementation itself, against published figures: what both implementations had wrong would not differ."""

from fractions import Fraction

import pytest

from tests.oracle.prices import before_tax, ended
from tests.oracle.reading import GRAMS, Shop, half_up, up_to_step
from tests.oracle.sending import by_volume


def billed(outside: str, step: str, **freight: str) -> Fraction:
    """Return what a parcel is billed by, in whole units of `step`."""
    shop = Shop({"currency": "USD", "freight": freight}, {}, {}, {}, {}, None)
    return up_to_step(by_volume(outside, shop), GRAMS[step]) / GRAMS[step]


@pytest.mark.parametrize(
    ("outside", "step", "freight", "units"),
    [
        ("30 x 45 x 65 cm", "kg", {"divisor": "6000"}, 15),  # 87,750 cm³, 14.625 kg
        ("140 x 100 x 90 cm", "kg", {"divisor": "6000"}, 210),
        ("150 x 100 x 110 cm", "kg", {"divisor": "6000"}, 275),
        ("30.4 x 19.6 x 19.5 in", "lb", {"divisor": "139 in³/lb", "sides": "half up"}, 87),  # 30 × 20 × 20
        ("30.4 x 19.6 x 19.5 in", "lb", {"divisor": "139 in³/lb"}, 84),
        ("12 x 9 x 4 in", "lb", {"divisor": "139 in³/lb"}, 4),
        ("12 x 9 x 4 in", "lb", {"divisor": "166 in³/lb"}, 3),
        ("20 x 25 x 20 cm", "kg", {"divisor": "5000"}, 2),  # exact multiples are not bumped
    ],
)
def test_volumes_are_billed_as_worked_examples_have_it(
    outside: str, step: str, freight: dict[str, str], units: int
) -> None:
    """Length × width × height ÷ divisor, rounded up: IATA's 6000 cm³/kg, 139 and 166 in³/lb; examples of carriers."""
    assert billed(outside, step, **freight) == units


@pytest.mark.parametrize(
    ("price", "rate", "tax"),
    [("12.99", "0.20", "2.17"), ("24.90", "0.19", "3.98"), ("10.50", "0.05", "0.50"), ("153.00", "0.0625", "9.00")],
)
def test_included_tax_is_the_price_times_rate_over_one_and_the_rate(price: str, rate: str, tax: str) -> None:
    """VAT Notice 700, 17.5: retailers round to the nearest penny; 153.00 less 6.25 %: OpenStax, Contemporary
    Mathematics (2023), 6.2."""
    included = Fraction(price) - before_tax(Fraction(price), {Fraction(rate): Fraction(1)})
    assert half_up(included, 2) == Fraction(tax)


def test_halves_are_exact_and_round_up() -> None:
    """19.00 with 20 % tax in it, 45 % of the rest: 7.125."""
    net = before_tax(Fraction(19), {Fraction(1, 5): Fraction(1)})
    assert half_up(Fraction(45, 100) * net, 2) == Fraction("7.13")


@pytest.mark.parametrize(
    ("amount", "ending", "price"),
    [
        ("1001", "980", 1980),
        ("2301", "00", 2400),
        ("12.96", ".95", "13.95"),
        ("12.95", ".95", "12.95"),
        ("0.01", ".95", "0.95"),
    ],
)
def test_a_price_is_the_next_one_that_ends_so(amount: str, ending: str, price: str) -> None:
    assert ended(Fraction(amount), ending, 2) == Fraction(price)
