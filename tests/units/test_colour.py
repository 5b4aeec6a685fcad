"""Contrast and grey against published values."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.units.colour import BLACK, WHITE, contrast, in_grey, luminance

COLOURS = st.integers(0, 0xFFFFFF).map(lambda number: f"#{number:06x}")


@pytest.mark.parametrize(
    ("colour", "ratio"),
    [
        ("#000000", 21.0),
        ("#777777", 4.478),
        ("#767676", 4.542),
        ("#959595", 2.995),
        ("#949494", 3.033),
        ("#ffffff", 1.0),
    ],
)
def test_contrast_on_white_is_that_of_wcag_2(colour: str, ratio: float) -> None:
    """WCAG 2.2, contrast ratio: black on white is 21:1; #777777 just fails 4.5:1 and #767676 just passes."""
    assert contrast(colour, WHITE) == pytest.approx(ratio, abs=0.0005)


@pytest.mark.parametrize(("level", "linear"), [(0, 0.0), (10, 0.003035), (11, 0.003347), (128, 0.215861), (255, 1.0)])
def test_luminance_of_grey_follows_the_srgb_curve(level: int, linear: float) -> None:
    """IEC 61966-2-1: 10 of 255 lies on the straight part of the curve, 11 on the curved one."""
    assert luminance(f"#{level:02x}{level:02x}{level:02x}") == pytest.approx(linear, abs=5e-7)


@pytest.mark.parametrize(("colour", "grey"), [("#ff0000", "#4c4c4c"), ("#00ff00", "#969696"), ("#0000ff", "#1d1d1d")])
def test_pure_colours_print_as_rec_601_has_them(colour: str, grey: str) -> None:
    """Rec. ITU-R BT.601 luma: pure red 76, green 150, blue 29."""
    assert in_grey(colour) == grey


@given(COLOURS, COLOURS)
def test_contrast_is_the_same_both_ways_and_lies_between_1_and_21(one: str, other: str) -> None:
    assert 1 <= contrast(one, other) <= 21.001
    assert contrast(one, other) == contrast(other, one)
    assert contrast(one, BLACK) * contrast(one, WHITE) == pytest.approx(21, abs=0.001)
