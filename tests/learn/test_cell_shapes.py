"""What single cells look like."""

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from stdnum import ean

from listkit.learn.cell_shapes import amount, is_code, is_gtin, is_price, is_sides, kind_of, sides_have_unit, sign_of


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("7.50", 7.5),
        ("7,50 €", 7.5),
        ("£1,250.00", 1250),
        ("1.250,00", 1250),
        ("1 250,5", 1250.5),
        ("12", 12),
        ("24.50 GBP", 24.5),
        ("12 kg", None),
        ("n/a", None),
        ("-", None),
        ("", None),
    ],
)
def test_amounts_are_seen_however_they_are_written(cell: str, value: float | None) -> None:
    assert amount(cell) == value


def test_a_price_has_a_sign_or_two_digits_behind_the_point() -> None:
    assert is_price("£7")
    assert is_price("7,50")
    assert not is_price("7")
    assert not is_price("119.5")
    assert (sign_of("£7.50"), sign_of("7.50 eur"), sign_of("7.50")) == ("£", "eur", "")


@pytest.mark.parametrize(
    ("cell", "kind"),
    [
        ("110 g", "mass"),
        ("4oz", "mass"),
        ("1 lb 2 oz", "mass"),
        ("4 x 25 g", "mass"),
        ("95 Gramm", "mass"),
        ("2 fl. oz", "volume"),
        ("100 ml", "volume"),
        ("18 months", "time"),
        ("24 Monate", "time"),
        ("3 1/2 in", "length"),
        ("110", ""),
        ("110 g of soap", ""),
        ("g", ""),
        ("£4", ""),
    ],
)
def test_an_amount_has_the_kind_of_its_unit(cell: str, kind: str) -> None:
    assert kind_of(cell) == kind


@pytest.mark.parametrize(
    ("cell", "with_unit"),
    [
        ("86 x 58 x 28 mm", True),
        ("3in x 2 1/2in x 1in", True),
        ("8,5×8,5×7", False),
        ('3" x 2" x 1"', True),
        ("80*55*25", False),
        ("28 x 58 x 86 mm (HxWxD)", True),
        ("H 28 x W 58 x D 86", False),
    ],
)
def test_three_sides_are_seen_with_and_without_units(cell: str, with_unit: bool) -> None:
    assert is_sides(cell)
    assert sides_have_unit(cell) is with_unit


@pytest.mark.parametrize("cell", ["86 x 58", "4 x 25 g", "a x b x c", "1 x 2 x 3 kg", "x x", ""])
def test_what_is_not_three_sides(cell: str) -> None:
    assert not is_sides(cell)


def test_codes_are_short_and_plain() -> None:
    assert is_code("OH-B01")
    assert not is_code("Rosemary & Rind")
    assert not is_code("x" * 25)


@pytest.mark.parametrize("gtin", ["6291041500213", "8904000210037", "9520123456788", "15201234000008"])
def test_published_gtins_have_a_right_check_digit(gtin: str) -> None:
    """Check-digit pages of GS1 Hong Kong and GS1 India, GS1 Digital Link standard, GS1 Greece."""
    assert is_gtin(gtin)
    assert not is_gtin(gtin[:-1] + str((int(gtin[-1]) + 1) % 10))


CODES_OF_DIGITS = st.from_regex(r"\A(\d{8}|\d{12,14})\Z").map(lambda text: "".join(str(int(one)) for one in text))


@given(CODES_OF_DIGITS | CODES_OF_DIGITS.map(lambda text: text[:-1] + ean.calc_check_digit(text[:-1])))
@example("0" * 13)
def test_check_digits_agree_with_python_stdnum(digits: str) -> None:
    assert is_gtin(digits) == (ean.is_valid(digits) and digits.strip("0") != "")


@given(st.text(max_size=60))
def test_any_cell_has_a_shape_or_none(cell: str) -> None:
    assert isinstance(amount(cell), (float, type(None)))
    assert kind_of(cell) in {"", "mass", "volume", "length", "time"}
    assert not (is_sides(cell) and is_gtin(cell))
