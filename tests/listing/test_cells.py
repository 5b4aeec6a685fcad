"""Tests of single cells."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.fields import Kind
from listkit.listing.cells import WEIGHT_PLACES, cell_of, day_text, guarded, half_up, unwritable
from listkit.model.channel import Dialect
from listkit.units.money import Money
from listkit.units.weight import Weight

PLAIN = Dialect()


def money(amount: str, currency: str) -> str:
    return cell_of(Kind.MONEY, PLAIN)(Money(Decimal(amount), currency))


def weight(grams: str, unit: str) -> str:
    return cell_of(Kind.WEIGHT, Dialect.model_validate({"weight": unit}))(Weight(Decimal(grams)))


@pytest.mark.parametrize(
    ("amount", "currency", "cell"),
    [("29", "GBP", "29.00"), ("29.5", "EUR", "29.50"), ("1100", "JPY", "1100"), ("12.3456", "KWD", "12.346")],
)
def test_money_has_the_minor_digits_of_iso_4217(amount: str, currency: str, cell: str) -> None:
    """ISO 4217, list one: two digits for GBP and EUR, none for JPY, three for KWD."""
    assert money(amount, currency) == cell


@pytest.mark.parametrize(
    ("grams", "unit", "cell"),
    [("28.349523125", "oz", "1"), ("453.59237", "lb", "1"), ("453.59237", "oz", "16"), ("1000", "kg", "1")],
)
def test_weights_are_converted_by_the_exact_factors_of_nist_handbook_44_appendix_c(
    grams: str, unit: str, cell: str
) -> None:
    assert weight(grams, unit) == cell


@pytest.mark.parametrize(
    ("grams", "unit", "cell"),
    [("507.05", "g", "507.1"), ("507.04999", "g", "507"), ("507", "kg", "0.507"), ("507.5", "kg", "0.508")],
)
def test_a_weight_is_rounded_once_and_half_up(grams: str, unit: str, cell: str) -> None:
    assert weight(grams, unit) == cell


@given(st.decimals(0, 100_000, places=6), st.sampled_from(sorted(WEIGHT_PLACES)))
def test_a_weight_in_a_cell_is_never_further_off_than_half_its_last_digit(grams: Decimal, unit: str) -> None:
    cell = Weight.parse(f"{weight(str(grams), unit)} {unit}")
    step = Weight.parse(f"{Decimal(1).scaleb(-WEIGHT_PLACES[unit]):f} {unit}")
    assert abs(cell.grams - grams) <= step.grams / 2


def test_the_decimal_sign_is_the_dialects_in_every_figure_and_in_no_text() -> None:
    comma = Dialect(decimal=",", separator=";")
    assert cell_of(Kind.MONEY, comma)(Money(Decimal("29.5"), "EUR")) == "29,50"
    assert cell_of(Kind.WEIGHT, comma)(Weight(Decimal("507.5"))) == "507,5"
    assert cell_of(Kind.LENGTH, comma)(Decimal("63.5")) == "63,5"
    assert cell_of(Kind.SHARE, comma)(Decimal("0.36125")) == "0,3613"
    assert cell_of(Kind.TEXT, comma)("No. 1.5") == "No. 1.5"


@pytest.mark.parametrize("kind", [kind for kind in Kind if kind is not Kind.TEXT])
def test_what_is_not_known_is_an_empty_cell(kind: Kind) -> None:
    assert cell_of(kind, PLAIN)(None) == ""


def test_a_day_is_written_as_iso_8601_has_it() -> None:
    assert cell_of(Kind.DATE, PLAIN)(date(2027, 5, 10)) == "2027-05-10"


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\r", "\n", "\0"])
def test_text_that_begins_like_a_formula_gets_an_apostrophe(sign: str) -> None:
    """OWASP, CSV Injection: the seven signs; OWASP ASVS 5.0, 1.2.10: NUL."""
    assert cell_of(Kind.TEXT, PLAIN)(f"{sign}1+2") == f"'{sign}1+2"
    assert cell_of(Kind.TEXT, Dialect(guard_formulas=False))(f"{sign}1+2") == f"{sign}1+2"


@pytest.mark.parametrize("sign", "=+-@\t\r\n\0＝＋－＠")
def test_a_sign_that_begins_a_formula_is_guarded_in_its_wide_form_too(sign: str) -> None:
    """OWASP, CSV Injection: "full-width variants"."""
    assert guarded(f"{sign}1+1") == f"'{sign}1+1"


def test_numbers_are_never_guarded() -> None:
    assert cell_of(Kind.MONEY, PLAIN)(Money(Decimal(-5), "GBP")) == "-5.00"


@given(st.text())
def test_a_guarded_text_never_begins_like_a_formula_and_is_else_left_alone(text: str) -> None:
    safe = guarded(text)
    assert not safe.startswith(("=", "+", "-", "@", "\t", "\r", "\n", "\0"))
    assert safe.removeprefix("'" if safe != text else "") == text


@pytest.mark.parametrize(("number", "text"), [("1000", "1000"), ("0.0", "0"), ("166.25", "166.3"), ("12.0", "12")])
def test_a_figure_carries_no_zeros_behind_its_last_digit(number: str, text: str) -> None:
    assert f"{half_up(Decimal(number), 1):f}" == text


@pytest.mark.parametrize(
    ("text", "encoding", "sign"),
    [("Café – 5 €", "windows-1252", ""), ("Ħobż", "windows-1252", "Ħ"), ("Ħobż 🐝", "utf-16", ""), ("🐝", "utf-8", "")],
)
def test_the_first_sign_that_an_encoding_has_not_is_found(text: str, encoding: str, sign: str) -> None:
    """The signs of windows-1252 are those of the code page as the WHATWG Encoding Standard indexes it."""
    assert unwritable(text, encoding) == sign


@pytest.mark.parametrize("form", ["2027-02-28", "28/02/2027", "02/28/2027", "28.02.2027", "20270228"])
def test_the_example_of_a_form_is_written_as_it_stands(form: str) -> None:
    assert day_text(date(2027, 2, 28), form) == form


def test_a_day_keeps_its_zeros_and_its_order() -> None:
    """The three forms of ISO 8601, of Britain and of the United States (CLDR, short dates)."""
    day = date(2026, 12, 3)
    assert [day_text(day, form) for form in ("2027-02-28", "28/02/2027", "02/28/2027")] == [
        "2026-12-03", "03/12/2026", "12/03/2026"
    ]  # fmt: skip


def test_the_dialects_words_for_yes_and_no_are_made_safe_like_every_text() -> None:
    """They may be anybody's: a channel that was handed on wrote =2+2 into every row."""
    dialect = Dialect(yes="=2+2", no="-1")
    assert [cell_of(Kind.YES_NO, dialect)(answer) for answer in (True, False, None)] == ["'=2+2", "'-1", ""]
    assert cell_of(Kind.YES_NO, Dialect(yes="=2+2", guard_formulas=False))(True) == "=2+2"
