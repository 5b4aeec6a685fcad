"""Tests of colours: the embedded profile is obeyed, and the tables are those of the standards."""

import pytest
from PIL import Image, ImageChops

from listkit.picture.encode import SRGB
from listkit.picture.open import Colours, colours_of, from_linear, mean_lightness, on_page, to_linear
from listkit.problem import FieldError
from tests.picture.sample import cmyk_profile, red_for_green, scene


@pytest.mark.parametrize(
    ("level", "linear"),
    [(0, 0), (1, 0.000304), (10, 0.003035), (11, 0.003347), (64, 0.051269), (118, 0.181164), (128, 0.215861),
     (188, 0.502886), (200, 0.577580), (255, 1)],
)  # fmt: skip
def test_levels_become_linear_light_as_iec_61966_2_1_says(level: int, linear: float) -> None:
    """IEC 61966-2-1:1999: 10 lies on the straight part, 11 on the curve; values worked from its formula."""
    assert to_linear()[level] / 65535 == pytest.approx(linear, abs=0.6 / 65535 + 5e-7)


def test_every_level_survives_the_way_to_linear_light_and_back() -> None:
    assert [from_linear()[light] for light in to_linear()] == list(range(256))


def test_half_the_light_is_188_and_eighteen_per_cent_is_118() -> None:
    """IEC 61966-2-1; 18 % grey encodes to 0.461356 (colour-science's test suite)."""
    assert from_linear()[round(65535 / 2)] == 188
    assert from_linear()[round(65535 * 0.18)] == 118


@pytest.mark.parametrize(
    ("colour", "lightness"),
    [((255, 0, 0), 53.24), ((0, 255, 0), 87.74), ((0, 0, 255), 32.30), ((119, 119, 119), 50.03),
     ((255, 255, 255), 100), ((0, 0, 0), 0)],
)  # fmt: skip
def test_lightness_is_that_of_cielab_under_d65(colour: tuple[int, int, int], lightness: float) -> None:
    """CIE 15 with IEC 61966-2-1 primaries: L* of the sRGB primaries and of grey 119."""
    assert 100 * mean_lightness(Image.new("RGB", (4, 4), colour)) == pytest.approx(lightness, abs=0.25)


def test_the_profile_decides_what_a_colour_is() -> None:
    """A profile that exchanges red and green makes green of pure red."""
    colours = colours_of("RGB", red_for_green())
    assert colours.name != "sRGB"
    assert colours.srgb(Image.new("RGB", (2, 2), "#ff0000")).getpixel((0, 0)) == (0, 255, 0)
    see_through = colours_of("RGBA", red_for_green()).srgb(Image.new("RGBA", (2, 2), (255, 0, 0, 90)))
    assert see_through.getpixel((1, 1)) == (0, 255, 0, 90)


def test_an_srgb_profile_moves_nothing() -> None:
    colours = colours_of("RGB", SRGB)
    assert colours == Colours("sRGB")
    assert ImageChops.difference(colours.srgb(scene()), scene()).getbbox() is None


def test_a_missing_profile_is_told_and_a_broken_one_too() -> None:
    assert colours_of("RGB", b"").name == "untagged"
    assert colours_of("RGB", b"scrap").name == "unreadable"
    assert colours_of("RGB", cmyk_profile()).name == "unreadable"  # it does not fit a picture of three channels
    assert colours_of("L", b"").srgb(Image.new("L", (2, 2), 77)).getpixel((0, 0)) == (77, 77, 77)


@pytest.mark.parametrize(("black", "grey"), [(0, 255), (255, 0), (128, 118)])
def test_printing_colours_become_srgb_through_their_profile(black: int, grey: int) -> None:
    """Half black ink is L* 49.8 in that profile; L* 50.03 is grey 119 (CIE 15, IEC 61966-2-1)."""
    colours = colours_of("CMYK", cmyk_profile())
    assert colours.name == "test inks"
    shown = colours.srgb(Image.new("CMYK", (2, 2), (0, 0, 0, black))).getpixel((0, 0))
    assert shown == pytest.approx((grey, grey, grey), abs=2)


@pytest.mark.parametrize("profile", [b"", b"scrap", SRGB])
def test_printing_colours_without_a_fitting_profile_are_refused(profile: bytes) -> None:
    with pytest.raises(FieldError, match="CMYK"):
        colours_of("CMYK", profile)


def test_transparent_parts_show_the_page() -> None:
    """A quarter of red over white: 255 × 0.25 + 255 × 0.75 = 255 for red, 191 for the rest."""
    shown = on_page(Image.new("RGBA", (2, 2), (255, 0, 0, 64)), "#ffffff").getpixel((0, 0))
    assert shown == pytest.approx((255, 191, 191), abs=1)
    assert on_page(Image.new("RGBA", (2, 2), (9, 9, 9, 0)), "#102030").getpixel((0, 0)) == (16, 32, 48)
