"""Numbers with units as owners write them."""

from collections.abc import Callable
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.problem import FieldError
from listkit.units.length import LENGTH_UNITS, Size
from listkit.units.net import NetContent
from listkit.units.quantity import Example, parse_decimal, parse_quantity, parse_share, parse_sides
from listkit.units.weight import WEIGHT_UNITS, Weight

EXAMPLE = Example("a weight", "340 g")


@pytest.mark.parametrize(
    ("text", "grams"),
    [
        ("340 g", "340"),
        ("340g", "340"),
        ("1 lb 2 oz", "510.291416250"),
        ("4oz", "113.398092500"),
        ("2 1/2 oz", "70.8738078125"),
        ("2 1 / 2 oz", "70.8738078125"),
        ("2\t1/ 2 oz", "70.8738078125"),
        ("0.25 kg", "250"),
        (".5 kg", "500"),
        ("12 Oz.", "340.19427750"),
    ],
)
def test_weights_are_read_as_owners_write_them(text: str, grams: str) -> None:
    assert Weight.parse(text) == Weight(Decimal(grams))


def test_a_heading_may_carry_the_unit() -> None:
    assert Weight.parse("119", unit="g") == Weight(Decimal(119))
    assert Weight.parse("119 g", unit="kg") == Weight(Decimal(119))


@pytest.mark.parametrize(
    "text",
    ["86 x 58 x 28 mm", "86mm x 58mm x 28mm", "86 × 58 × 28 mm", "8.6x5.8x2.8 cm", "86*58*28 mm"],
)
def test_sizes_take_a_unit_once_or_behind_every_side(text: str) -> None:
    assert Size.parse(text).sides == (Decimal(86), Decimal(58), Decimal(28))


@pytest.mark.parametrize("text", ["3 x 2.5 x 1 in", "3in x 2 1/2in x 1in", '3" x 2 1/2" x 1"'])
def test_inches_may_be_fractions(text: str) -> None:
    assert Size.parse(text).sides == (Decimal("76.2"), Decimal("63.5"), Decimal("25.4"))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("340", "has no unit"),
        ("24,5 g", "has a comma"),
        ("1e5 g", "powers of ten"),
        ("-3 g", "negative"),
        ("1/3 oz", "does not end"),
        ("1/0 oz", "does not end"),
        ("3 furlongs", "not a unit"),
        ("3 g 2", "without unit"),
        ("", "is not a weight"),
        ("heavy", "is not a weight"),
        ("100000 kg", "more than can be meant"),
        ("9" * 40 + " g", "more than can be meant"),
        ("0.0000001 g", "less than can be meant"),
    ],
)
def test_what_cannot_be_read_is_told_with_the_value_and_a_remedy(text: str, words: str) -> None:
    with pytest.raises(FieldError, match=words) as fault:
        parse_quantity(text, WEIGHT_UNITS, EXAMPLE)
    assert "340 g" in fault.value.hint


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("0.000000001 x 58 x 28 mm", "less than can be meant"),
        ("999999999 x 58 x 28 mm", "more than can be meant"),
        ("999999999mm x 58 x 28 mm", "more than can be meant"),
    ],
)
def test_a_size_is_one_that_something_can_have(text: str, words: str) -> None:
    with pytest.raises(FieldError, match=words):
        Size.parse(text)


@pytest.mark.parametrize(("text", "words"), [("86 x 58 mm", "2 sides"), ("0 x 58 x 28 mm", "side of zero")])
def test_a_size_has_three_sides_above_zero(text: str, words: str) -> None:
    with pytest.raises(FieldError, match=words):
        Size.parse(text)


@given(st.text())
def test_reading_any_text_gives_an_amount_or_a_field_error(text: str) -> None:
    for kind, read in (
        (Weight, Weight.parse),
        (Size, Size.parse),
        (Decimal, lambda text: parse_decimal(text, EXAMPLE)),
    ):
        try:
            made: object = read(text)
        except FieldError as fault:
            assert fault.message
        else:
            assert isinstance(made, kind)


@given(st.decimals(0, 10_000, places=3), st.sampled_from(sorted(WEIGHT_UNITS)))
def test_a_weight_written_out_reads_back_the_same(number: Decimal, unit: str) -> None:
    assert Weight.parse(f"{number} {unit}").grams == number * WEIGHT_UNITS[unit]


@given(st.lists(st.decimals("0.1", 999, places=2), min_size=1, max_size=4))
def test_sides_read_alike_whether_the_unit_stands_once_or_everywhere(sides: list[Decimal]) -> None:
    once = " x ".join(map(str, sides)) + " cm"
    everywhere = " x ".join(f"{side} cm" for side in sides)
    assert parse_sides(once, LENGTH_UNITS, EXAMPLE) == parse_sides(everywhere, LENGTH_UNITS, EXAMPLE)


@pytest.mark.parametrize(
    ("text", "share"), [("12.5 %", "0.125"), ("0 %", "0"), ("50%", "0.5"), ("6.25\u00a0%", "0.0625")]
)
def test_a_share_is_exact(text: str, share: str) -> None:
    assert parse_share(text) == Decimal(share)


@pytest.mark.parametrize("text", ["0.5", "2,9 %", "-3 %", "%", "1e2 %"])
def test_a_share_without_its_sign_or_unreadable_is_told(text: str) -> None:
    with pytest.raises(FieldError):
        parse_share(text)


@pytest.mark.parametrize(
    ("parse", "text"),
    [
        (parse_share, "%"),
        (parse_share, " %"),
        (NetContent.parse, "x"),
        (NetContent.parse, "80 mm x"),
        (Size.parse, "80 x 60 x mm x"),
        (Size.parse, "× 80 × 60 mm"),
    ],
)
def test_where_a_number_is_missing_the_whole_text_is_quoted_and_not_nothing(
    parse: Callable[[str], object], text: str
) -> None:
    with pytest.raises(FieldError) as fault:
        parse(text)
    assert '""' not in fault.value.message
    assert text.strip()[:4] in fault.value.message
