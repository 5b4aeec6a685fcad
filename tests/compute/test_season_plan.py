"""How many to make for one season: the fraction, and the number, against published examples."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from listkit.compute.season_plan import enough_share, season_quantity
from listkit.model.making import Likely, LikelyField

LIKELY: TypeAdapter[Likely] = TypeAdapter(LikelyField)

PUBLISHED = [
    # Postek, Zocca, Gromicho, Kantor, Hands-On Mathematical Optimization with Python, pop-up shop: price 40, cost 12,
    # salvage 2; demand 650 / 400 / 200 with 0.1 / 0.6 / 0.3
    ("28", "10", "650: 10 %; 400: 60 %; 200: 30 %", 400),
    # documentation of an open library for single-period stock: cost 5, price 7, salvage 0, normal(50, 20): 38.68
    ("2", "5", "50 ± 20", 39),
    # the same, uniform from 50 to 80: 50 + 30 · 2/7 = 58.57, computed
    ("2", "5", "50 to 80", 59),
    # a public exercise: price 20, cost 14, salvage 5; uniform from 80 to 150, normal(115, 15) and normal(115, 5)
    ("6", "9", "80 to 150", 108),
    ("6", "9", "115 ± 15", 112),
    ("6", "9", "115 +- 5", 114),
    # a public exercise: normal(1000, 200), 40 and 10: 1168.32
    ("40", "10", "1000 ± 200", 1169),
    # our own gift sets, expected gain tried for every number: 712.50 at 50
    ("18", "7", "20: 5 %; 30: 15 %; 40: 30 %; 50: 25 %; 60: 15 %; 70: 10 %", 50),
]


@pytest.mark.parametrize(("under", "over", "likely", "quantity"), PUBLISHED)
def test_the_number_is_the_least_that_is_enough_often_enough(under: str, over: str, likely: str, quantity: int) -> None:
    share = enough_share(Decimal(under), Decimal(over))
    assert season_quantity(LIKELY.validate_python(likely), share) == quantity


@pytest.mark.parametrize(
    ("under", "over", "share"),
    [
        ("28", "10", Fraction(14, 19)),
        ("2", "5", Fraction(2, 7)),
        ("6", "9", Fraction(2, 5)),
        ("18", "7", Fraction(18, 25)),
    ],
)
def test_the_fraction_is_exact(under: str, over: str, share: Fraction) -> None:
    """Cu ÷ (Cu + Co), as in the sources above: 0.7368, 0.2857, 0.4, 0.72."""
    assert enough_share(Decimal(under), Decimal(over)) == share


def test_at_the_edges_none_are_made_or_as_many_as_may_be_asked_for() -> None:
    steps, around = LIKELY.validate_python("20: 30 %; 40: 70 %"), LIKELY.validate_python("115 ± 15")
    assert season_quantity(steps, enough_share(Decimal(0), Decimal(7))) == 0
    assert enough_share(Decimal(0), Decimal(0)) == 0
    assert season_quantity(steps, enough_share(Decimal(3), Decimal(0))) == 40
    assert season_quantity(LIKELY.validate_python("80 to 150"), Fraction(1)) == 150
    assert season_quantity(around, Fraction(1)) is None
    assert season_quantity(LIKELY.validate_python("115 ± 0"), Fraction(1, 3)) == 115


def test_a_share_that_is_nearly_all_has_no_end_either() -> None:
    around, under = LIKELY.validate_python("115 ± 15"), Decimal("999999999999999.99")
    assert season_quantity(around, enough_share(under, Decimal("0.01"))) is None
    # the quantile of 1 − 10⁻⁹ is 5.997807 (any table of the normal distribution): 115 + 15 × 5.9978 = 204.97
    assert season_quantity(around, 1 - Fraction(1, 10**9)) == 205


@pytest.mark.parametrize(
    "likely",
    ["20: 1.234567890123456789012345678 %; 30: 98.765432109876543210987654321 %", "10000000 ± 15", "115 ± 1000000"],
)
def test_shares_come_to_all_exactly_and_numbers_are_such_as_can_be_meant(likely: str) -> None:
    with pytest.raises(ValidationError):
        LIKELY.validate_python(likely)


@given(
    st.dictionaries(st.integers(0, 60), st.integers(1, 9), min_size=1, max_size=6),
    st.integers(1, 50),
    st.integers(0, 50),
)
def test_no_other_number_is_expected_to_gain_more(weights: dict[int, int], under: int, over: int) -> None:
    """Held against the expected gain of every number from none to the most that may be asked for."""
    whole = sum(weights.values())
    steps = tuple((number, Decimal(part)) for number, part in sorted(weights.items()))
    scaled = Likely("", steps=tuple((number, part / whole) for number, part in steps))

    def gain(made: int) -> Fraction:
        return sum(
            (
                Fraction(part, whole) * (under * min(made, asked) - over * max(0, made - asked))
                for asked, part in weights.items()
            ),
            Fraction(0),
        )

    share = Fraction(under, under + over)
    reached = Fraction(0)
    best = next(
        number for number, part in sorted(weights.items()) if (reached := reached + Fraction(part, whole)) >= share
    )
    assert gain(best) == max(gain(number) for number in range(max(weights) + 1))
    exact = all(Fraction(part) == Fraction(weights[number], whole) for number, part in scaled.steps)
    if exact:  # shares that end as decimals: thirds that were cut off may come to 1 together, and are none
        assert season_quantity(scaled, share) == best


@pytest.mark.parametrize("text", ["1000000 to 2000000", "1,000,000 to 1,200,000", "2000000 ± 5", "1000000: 100 %"])
def test_a_million_is_told_as_too_many_and_not_as_no_number(text: str) -> None:
    with pytest.raises(ValidationError, match="is more than may be asked for"):
        LIKELY.validate_python(text)
