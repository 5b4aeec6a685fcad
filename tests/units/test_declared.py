"""Declared quantities against the figures that regulations print."""

from decimal import Decimal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from listkit.problem import FieldError
from listkit.units.declared import Figure, base_amount, other, shortened, stated, summed, three_digits
from listkit.units.net import NetContent


def converted(text: str, rounding: str = "down") -> str:
    figure = other(stated(NetContent.parse(text)), "half up" if rounding == "half up" else "down")
    assert figure is not None
    return " x ".join(f"{number:f}" for number in figure.numbers) + f" {figure.unit}"


PRINTED = [
    ("3.2 oz", "90 g"), ("5.0 oz", "141 g"), ("11.4 oz", "323 g"), ("6 oz", "170 g"),
    ("3 fl oz", "88 ml"), ("5 fl oz", "147 ml"), ("6 fl oz", "177 ml"), ("8 fl oz", "236 ml"), ("11 fl oz", "325 ml"),
]  # fmt: skip
PRINTED_LENGTHS = [
    ("4", "10.1"), ("2.5", "6.3"), ("0.5", "1.2"), ("4.5", "11.4"), ("0.75", "1.9"), ("8", "20.3"), ("6", "15.2"),
    ("1", "2.5"), ("10", "25.4"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "metric"), PRINTED)
def test_weights_and_volumes_turn_into_what_16_cfr_500_28_and_500_29_print(text: str, metric: str) -> None:
    """Nine of the 18 conversions printed in the examples of 16 CFR 500.28 and 500.29."""
    assert converted(text) == metric


@pytest.mark.parametrize(("inches", "centimetres"), PRINTED_LENGTHS)
def test_lengths_turn_into_what_16_cfr_500_29_prints(inches: str, centimetres: str) -> None:
    """The other nine: lengths in inches and centimetres."""
    assert other(Figure((Decimal(inches),), "in")) == Figure((Decimal(centimetres),), "cm")


def test_half_up_gives_only_ten_of_the_eighteen_so_down_is_the_rule() -> None:
    """Counted from the same examples of 16 CFR 500.28 and 500.29; every miss is an overstatement."""
    kept = sum(converted(text, "half up") == metric for text, metric in PRINTED)
    kept += sum(
        other(Figure((Decimal(inches),), "in"), "half up") == Figure((Decimal(printed),), "cm")
        for inches, printed in PRINTED_LENGTHS
    )
    assert len(PRINTED) + len(PRINTED_LENGTHS) == 18
    assert kept == 10


@pytest.mark.parametrize(
    ("text", "metric"), [("10.3 oz", "291 g"), ("5.15 oz", "145 g"), ("20.6 oz", "583 g"), ("0.15 oz", "4.2 g")]
)
def test_the_legal_factors_are_used_where_they_print_other_figures_than_the_exact_ones(text: str, metric: str) -> None:
    """16 CFR 500.19(a): 1 oz = 28.3495 g and none other. Exact factors would print 292, 146 and 584."""
    assert converted(text) == metric


@pytest.mark.parametrize(
    ("text", "down", "half_up"),
    [
        ("1 oz", "28 g", "28 g"), ("1.5 oz", "42 g", "43 g"), ("2 oz", "56 g", "57 g"), ("3.4 oz", "96 g", "96 g"),
        ("4 oz", "113 g", "113 g"), ("4.5 oz", "127 g", "128 g"), ("8 oz", "226 g", "227 g"),
        ("16 oz", "453 g", "454 g"),
        ("0.5 oz", "14 g", "14 g"), ("1 fl oz", "29 ml", "30 ml"), ("2 fl oz", "59 ml", "59 ml"),
        ("4 fl oz", "118 ml", "118 ml"), ("12 fl oz", "354 ml", "355 ml"), ("32 fl oz", "946 ml", "946 ml"),
        ("100 g", "3.52 oz", "3.53 oz"), ("113 g", "3.98 oz", "3.99 oz"), ("50 g", "1.76 oz", "1.76 oz"),
        ("250 g", "8.81 oz", "8.82 oz"), ("15 g", "0.52 oz", "0.53 oz"), ("30 ml", "1.01 fl oz", "1.01 fl oz"),
        ("50 ml", "1.69 fl oz", "1.69 fl oz"), ("100 ml", "3.38 fl oz", "3.38 fl oz"),
        ("118 ml", "3.99 fl oz", "3.99 fl oz"), ("236 ml", "7.98 fl oz", "7.98 fl oz"),
        ("250 ml", "8.45 fl oz", "8.45 fl oz"),
    ],
)  # fmt: skip
def test_usual_sizes_both_ways_and_in_both_roundings(text: str, down: str, half_up: str) -> None:
    """Worked by hand from the factors and digits of 16 CFR 500.19; 113 g is not 4 oz going back."""
    assert (converted(text), converted(text, "half up")) == (down, half_up)


def test_three_digits_are_the_finer_way() -> None:
    """16 CFR 500.27 prints 3.4 oz as 96.3 g (from memory)."""
    assert three_digits(Figure((Decimal("3.4") * Decimal("28.3495"),), "g")) == Figure((Decimal("96.3"),), "g")


def test_a_thousand_grams_are_told_in_kilograms() -> None:
    assert converted("40 oz") == "1.13 kg"
    assert converted("500 g") == "1.1 lb"
    assert shortened(Figure((Decimal(1500),), "ml")) == Figure((Decimal("1.5"),), "l")


@pytest.mark.parametrize(
    ("text", "numbers", "unit"),
    [
        ("110 g", ("110",), "g"), ("5.0 oz", ("5.0",), "oz"), ("1 lb 2 oz", ("18",), "oz"), ("4 x 25 g", ("25",), "g"),
        ("2 1/2 oz", ("2.5",), "oz"), ("8 fl. ozs.", ("8",), "fl oz"), ("118 x 80 mm", ("118", "80"), "mm"),
        ("4in x 2 1/2in", ("4", "2.5"), "in"), ("6 pieces", ("6",), ""), ("50 cl", ("50",), "cl"),
        ("900 mg", ("0.9",), "g"),
        ("3 x 8 fl oz", ("8",), "fl oz"),
    ],
)  # fmt: skip
def test_what_is_stated_keeps_its_unit_and_digits(text: str, numbers: tuple[str, ...], unit: str) -> None:
    figure = stated(NetContent.parse(text))
    assert (tuple(f"{number:f}" for number in figure.numbers), figure.unit) == (numbers, unit)


@pytest.mark.parametrize(
    ("text", "numbers", "unit"),
    [
        ("86 mm L x 58 mm W x 28 mm H", ("86", "58", "28"), "mm"), ("H 28 x W 86 x D 58 mm", ("86", "58", "28"), "mm"),
        ("8,6 x 5,8 x 2,8 cm", ("8.6", "5.8", "2.8"), "cm"), ("2¾ x 1 ½ in", ("2.75", "1.5"), "in"),
        ("2-1/4 x 3 in", ("2.25", "3"), "in"), ("118 x .5 in", ("118", "0.5"), "in"),
        ("3 x 1 / 2 in", ("3", "0.5"), "in"), ("2 1 / 2 x 3.0 in", ("2.5", "3.0"), "in"),
        ("3 x 2 by 1 in", ("3", "2", "1"), "in"), ("3 in x 20 mm", ("76.20", "20"), "mm"),
        ("20 mm x 3 in", ("0.78", "3"), "in"), ("1 m 20 cm x 50 cm", ("120.00", "50"), "cm"),
    ],
)  # fmt: skip
def test_a_size_states_the_sides_that_were_read_however_they_are_written(
    text: str, numbers: tuple[str, ...], unit: str
) -> None:
    figure = stated(NetContent.parse(text))
    assert (tuple(f"{number:f}" for number in figure.numbers), figure.unit) == (numbers, unit)


@example("¼L")
@example("1¼L")
@example("2 x ⅜oz")
@given(st.text('0123456789 ./xX×,-\t½¼"″mingcolzfltre()LWHDby', max_size=24))
def test_whatever_is_read_as_a_content_can_be_declared(text: str) -> None:
    try:
        read = NetContent.parse(text)
    except FieldError:
        return
    assert stated(read).numbers


def test_a_sum_is_made_in_the_stated_unit_and_only_then_converted() -> None:
    """16 CFR 500.28(a): 11.4 ozs. (323 g), never the 321 that 90 + 90 + 141 come to."""
    total = summed(((2, Figure((Decimal("3.2"),), "oz")), (1, Figure((Decimal("5.0"),), "oz"))))
    assert total == Figure((Decimal("11.4"),), "oz")
    assert other(total) == Figure((Decimal(323),), "g")


def test_unlike_units_of_one_kind_add_up_and_unlike_kinds_do_not() -> None:
    ounces, grams = Figure((Decimal(4),), "oz"), Figure((Decimal(100),), "g")
    assert summed(((1, ounces), (1, grams))) == Figure((Decimal("7.52"),), "oz")
    assert summed(((1, ounces), (1, Figure((Decimal(8),), "fl oz")))) is None
    assert summed(()) is None
    assert base_amount(ounces) == Decimal("113.3980925")


@given(st.decimals("0.01", "5000", places=2), st.sampled_from(["oz", "fl oz", "lb", "g", "ml"]))
def test_rounding_down_never_overstates(number: Decimal, unit: str) -> None:
    figure = Figure((number,), unit)
    down, half_up = other(figure), other(figure, "half up")
    assert down is not None
    assert half_up is not None
    tolerance = Decimal("1.00001")  # the legal factors have six digits
    assert base_amount(down) <= base_amount(figure) * tolerance
    assert base_amount(down) <= base_amount(half_up)


def test_a_size_in_inches_by_their_mark_is_one_of_inches() -> None:
    """Twice the 2.54 cm of 16 CFR 500.19(a), cut to a tenth, and three times."""
    figure = stated(NetContent.parse('2" x 3″'))
    assert figure == Figure((Decimal(2), Decimal(3)), "in")
    assert other(figure) == Figure((Decimal(5), Decimal("7.6")), "cm")
