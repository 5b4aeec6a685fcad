"""Net contents as labels state them."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.problem import FieldError
from listkit.units.net import Measure, NetContent


@pytest.mark.parametrize(
    ("text", "measure", "count", "each"),
    [
        ("110 g", Measure.MASS, 1, "110"),
        ("100 ml", Measure.VOLUME, 1, "100"),
        ("4 x 25 g", Measure.MASS, 4, "25"),
        ("6 × 15 g", Measure.MASS, 6, "15"),
        ("118 x 80 mm", Measure.SIZE, 1, "0"),
        ("4 in x 6 in x 1 in", Measure.SIZE, 1, "0"),
        ("1 lb 2 oz", Measure.MASS, 1, "510.291416250"),
        ("6 pieces", Measure.COUNT, 6, "1"),
    ],
)
def test_net_contents_are_read_as_the_label_has_them(text: str, measure: Measure, count: int, each: str) -> None:
    assert NetContent.parse(text) == NetContent(measure, count, Decimal(each), text)


@pytest.mark.parametrize(
    ("text", "each"),
    [("¼L", "250"), ("3½ fl oz", "103.50735346875"), ("1½oz", "42.5242846875"), ("3¾fl oz", "110.900735859375")],
)
def test_a_fraction_that_is_one_sign_is_no_letter_of_the_unit(text: str, each: str) -> None:
    """16 CFR 500.17 takes common fractions; NIST Handbook 44: a US fl oz is 29.5735295625 ml, an oz 28.349523125 g."""
    assert NetContent.parse(text).each == Decimal(each)


@pytest.mark.parametrize(
    "text", ["4 x 25 g (3.5 oz)", "4x25g/3.5oz", "4 x 25 g (4 x 0.88 oz)", "4 x 25 g (0.88 oz)", "3.5 oz (4 x 25 g)"]
)
def test_packs_beside_what_all_of_them_or_one_weigh_in_ounces_are_packs(text: str) -> None:
    """NIST Handbook 44, Appendix C: 1 oz is 28.349523125 g, so 25 g are 0.88 oz and four of them 3.5 oz."""
    assert NetContent.parse(text) == NetContent(Measure.MASS, 4, Decimal(25), "4 x 25 g")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("4 x 25 g (5 oz)", '"4 x 25 g" and "5 oz" are not the same net content.'),
        ("4 x 25 g (5 x 0.88 oz)", '"4 x 25 g" and "5 x 0.88 oz" are not the same net content.'),
        ("4 x 0.88 oz (100 g)", '"4 x 0.88 oz" and "100 g" do not say how much is in one, in grams or millilitres.'),
        ("2 x 4 x 25 g", '"2 x 4 x 25 g" is not a net content.'),
        ("4 x 25", '"4 x 25" has no unit.'),
        ("118 x 80 mm (5 in)", '"118 x 80 mm (5 in)" is a size in two measures.'),
        ("4 x 6 in / 100 x 150 mm", '"4 x 6 in / 100 x 150 mm" is a size in two measures.'),
    ],
)
def test_of_packs_and_sizes_it_is_told_what_is_not_understood(text: str, says: str) -> None:
    """It was told that "x" or "g" is no unit."""
    with pytest.raises(FieldError) as told:
        NetContent.parse(text)
    assert told.value.message == says


def test_a_size_as_a_content_may_say_in_which_order_its_sides_are() -> None:
    assert NetContent.parse("28 x 58 x 86 mm (HxWxD)").measure is Measure.SIZE


@pytest.mark.parametrize("text", ["8 fl oz", "8 fl. oz.", "8 fl ozs", "8 Fl Oz"])
def test_a_fluid_ounce_is_volume_never_weight(text: str) -> None:
    """NIST Handbook 44, Appendix C: a gallon is 231 in³, so 1 US fl oz = 29.5735295625 ml exactly."""
    read = NetContent.parse(text)
    assert (read.measure, read.each) == (Measure.VOLUME, 8 * Decimal("29.5735295625"))


@pytest.mark.parametrize(
    "text", ["0 g", "110", "4 x", "lots", "4 x 25 furlongs", "100 g 50 ml", "0 x 3 mm", "1 x 2 x 3 x 4 mm"]
)
def test_a_content_that_is_none_is_told(text: str) -> None:
    with pytest.raises(FieldError):
        NetContent.parse(text)


@given(st.text())
def test_reading_any_text_gives_a_content_or_a_field_error(text: str) -> None:
    try:
        NetContent.parse(text)
    except FieldError as fault:
        assert fault.message
