"""Lengths against the published factor."""

from decimal import Decimal

import pytest

from listkit.units.length import Length, Size


@pytest.mark.parametrize(("text", "mm"), [("1 in", "25.4"), ("1 cm", "10"), ("1 m", "1000"), ("1 mm", "1")])
def test_one_inch_is_25_4_mm_exactly(text: str, mm: str) -> None:
    """NIST Special Publication 811 (2008), Appendix B: 1 inch = 25.4 mm, exact."""
    assert Length.parse(text) == Length(Decimal(mm))


def test_a_cubic_inch_is_16_387064_cubic_centimetres() -> None:
    """NIST Special Publication 811, Appendix B: 1 in³ = 16.387064 cm³, exact."""
    assert Size.parse("1 x 1 x 1 in").volume == Decimal("16387.064")
