"""Lengths against the published factor."""

import doctest
from decimal import Decimal

import pytest

from listkit.problem import FieldError
from listkit.units import length
from listkit.units.length import Length, Size


@pytest.mark.parametrize(("text", "mm"), [("1 in", "25.4"), ("1 cm", "10"), ("1 m", "1000"), ("1 mm", "1")])
def test_one_inch_is_25_4_mm_exactly(text: str, mm: str) -> None:
    """NIST Special Publication 811 (2008), Appendix B: 1 inch = 25.4 mm, exact."""
    assert Length.parse(text) == Length(Decimal(mm))


def test_a_cubic_inch_is_16_387064_cubic_centimetres() -> None:
    """NIST Special Publication 811, Appendix B: 1 in³ = 16.387064 cm³, exact."""
    assert Size.parse("1 x 1 x 1 in").volume == Decimal("16387.064")


@pytest.mark.parametrize(
    "text", ["round 2.75 in x 2.5 in", "2.75in dia x 2.5in", "Ø 2.75 x 2.5 in", "rund 2.75 x 2.5 in"]
)
def test_something_round_is_as_long_and_wide_as_its_diameter(text: str) -> None:
    """An inch is 25.4 mm exactly (NIST Special Publication 811, Appendix B)."""
    assert Size.parse(text).sides == (Decimal("69.85"), Decimal("69.85"), Decimal("63.5"))


def test_a_round_size_may_have_three_sides_and_no_other_has_two() -> None:
    assert Size.parse("round 70 x 70 x 60 mm") == Size.parse("70 x 70 x 60 mm") == Size.parse("70 mm dia. x 60 mm")
    with pytest.raises(FieldError, match="2 sides"):
        Size.parse("70 x 60 mm")


def test_the_examples_hold() -> None:
    assert doctest.testmod(length)[0] == 0
