"""Money against ISO 4217 and in owners' cells."""

from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

import pytest
from babel.core import Locale
from babel.localedata import locale_identifiers
from babel.numbers import get_currency_symbol, get_territory_currencies
from hypothesis import example, given
from hypothesis import strategies as st
from iso4217 import Currency

from listkit.learn.languages import SHIPPED
from listkit.problem import FieldError
from listkit.units.money import EACH, MINOR_DIGITS, Money


def test_minor_digits_are_those_of_iso_4217_list_one() -> None:
    """Package iso4217, made from the maintenance agency's list one of 2026-01-01."""
    published = {currency.code: currency.exponent for currency in Currency if currency.exponent is not None}
    assert published == MINOR_DIGITS


@pytest.mark.parametrize("text", ["24.50", "£24.50", "24.50 GBP", "GBP 24.50", "24.5", "£ 24.50"])
def test_an_amount_may_carry_its_sign(text: str) -> None:
    assert Money.parse(text, "GBP") == Money(Decimal("24.50"), "GBP")


def test_an_amount_may_carry_every_sign_that_is_written_where_its_currency_is_used() -> None:
    """CLDR, as Babel has it: "kr." in Denmark, "B/." in Panama; the stop of a sign is no decimal point."""
    written_there = {
        (currency, "".join(sign.split()).strip("\u200b\u200e\u200f"))
        for locale in map(Locale.parse, locale_identifiers())
        for currency in (get_territory_currencies(locale.territory) if locale.territory else ())
        if currency in MINOR_DIGITS and (sign := get_currency_symbol(currency, locale))
    }
    assert {("DKK", "kr."), ("PAB", "B/."), ("XOF", "FCFA"), ("SEK", "kr")} <= written_there
    for currency, sign in sorted(written_there):
        texts = [f"{sign} 12", f"12 {sign}", f"12{sign}", f"{sign}12", f"{sign.removesuffix('.')} 12"]
        assert {Money.parse(text, currency).amount for text in texts if sign} <= {Decimal(12)}, (currency, sign)


@pytest.mark.parametrize(
    ("text", "currency", "amount"),
    [
        ("Fr. 12.50", "CHF", "12.50"),
        ("12.50 Fr.", "CHF", "12.50"),
        ("Fr.50", "CHF", "50"),
        ("Fr 12.50", "CHF", "12.50"),
        ("kr.50", "DKK", "50"),
        ("$.50", "USD", "0.50"),
        ("R.50", "ZAR", "0.50"),
        ("CA$12", "CAD", "12"),
    ],
)
def test_a_full_stop_is_the_signs_where_the_sign_has_one(text: str, currency: str, amount: str) -> None:
    """Common practice, no source, but for the signs themselves: CLDR."""
    assert Money.parse(text, currency).amount == Decimal(amount)


@pytest.mark.parametrize("text", ["Fr. 12.50", "kr. 3", "3 kr.", "GBP. 3", "No. 3", "approx. 12.50", "12.50 per 100 g"])
def test_what_is_another_currency_or_a_word_stays_no_amount(text: str) -> None:
    with pytest.raises(FieldError, match="not an amount"):
        Money.parse(text, "GBP")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("24,50", "has a comma"),
        ("1e5", "powers of ten"),
        ("-3.00", "negative"),
        ("-0", "negative"),
        ("$3", "not an amount in GBP"),
        ("3.999", "finer than GBP"),
        ("free", "not an amount"),
        ("", "not an amount"),
        ("1,234.50", "not an amount"),
    ],
)
def test_what_is_no_amount_is_told(text: str, words: str) -> None:
    with pytest.raises(FieldError, match=words):
        Money.parse(text, "GBP")


def test_a_word_alone_is_told_as_it_stands_even_while_no_currency_is_known() -> None:
    with pytest.raises(FieldError, match='"ask" is not an amount of money'):
        Money.parse("ask", "XXX")


def test_an_amount_of_any_size_is_rounded() -> None:
    """More digits than the 28 that are reckoned with (decimal, "Context objects")."""
    assert str(Money(Decimal(10**40), "GBP").rounded(ROUND_HALF_UP).amount) == f"1{'0' * 40}.00"


def test_yen_have_no_digits_behind_the_point_and_dinars_three() -> None:
    """ISO 4217: JPY 0, KWD 3."""
    assert Money(Decimal("1099.5"), "JPY").rounded(ROUND_HALF_UP) == Money(Decimal(1100), "JPY")
    assert Money.parse("1.125", "KWD").amount == Decimal("1.125")
    with pytest.raises(FieldError, match="finer"):
        Money.parse("10.5", "JPY")


def test_mixing_currencies_is_an_error() -> None:
    with pytest.raises(ValueError, match="cannot mix"):
        Money(Decimal(1), "GBP") + Money(Decimal(1), "EUR")
    with pytest.raises(ValueError, match="cannot mix"):
        assert Money(Decimal(1), "GBP") < Money(Decimal(2), "EUR")


@given(st.decimals(0, 1_000_000, places=6), st.sampled_from(["JPY", "GBP", "KWD", "CLF"]))
def test_rounding_up_never_loses_and_never_gains_a_whole_unit(amount: Decimal, currency: str) -> None:
    unit = Decimal(1).scaleb(-MINOR_DIGITS[currency])
    up = Money(amount, currency).rounded(ROUND_CEILING).amount
    assert amount <= up < amount + unit


@given(st.text())
@example("100000000000000000000000000")
def test_reading_any_text_gives_money_or_a_field_error(text: str) -> None:
    try:
        Money.parse(text, "GBP")
    except FieldError as fault:
        assert fault.message


def test_an_amount_without_currency_reads_as_prices_mostly_do() -> None:
    """Where the currency cannot be read it is XXX, which takes as many digits as any currency has."""
    told = [str(Money(Decimal(amount), "XXX").rounded(ROUND_HALF_UP)) for amount in ("15.5", "0", "1.2345", "7.50")]
    assert told == ["15.50", "0.00", "1.2345", "7.50"]


@pytest.mark.parametrize(
    ("amount", "currency", "text"),
    [
        ("0", "GBP", "0.00"), ("2416.95", "KWD", "2416.950"), ("29", "USD", "29.00"), ("1980", "JPY", "1980"),
        ("1E+3", "JPY", "1000"), ("-3.4", "GBP", "-3.40"), ("1.5", "CLF", "1.5000"), ("2.165", "GBP", "2.165"),
    ],
)  # fmt: skip
def test_an_amount_has_the_digits_of_its_currency(amount: str, currency: str, text: str) -> None:
    """ISO 4217: GBP and USD 2, KWD 3, CLF 4, JPY 0; what is finer, as a unit price, shows all that it has."""
    assert str(Money(Decimal(amount), currency)) == text


@given(st.decimals(-1_000_000, 1_000_000, places=6), st.integers(0, 6), st.sampled_from(["JPY", "GBP", "KWD", "CLF"]))
def test_the_text_of_an_amount_is_that_amount_with_at_least_its_digits(
    amount: Decimal, places: int, currency: str
) -> None:
    """As Python writes numbers with a fixed count of digits."""
    rounded = round(amount, places)
    assert str(Money(rounded, currency)) == f"{rounded:.{max(places, MINOR_DIGITS[currency])}f}"


@pytest.mark.parametrize("text", ["£12.50 ea", "12.50 ea.", "12.50 each", "12.50/ea", "12.50 apiece", "12.50 Stück"])
def test_a_word_for_one_piece_behind_a_price_changes_nothing(text: str) -> None:
    assert Money.parse(text, "GBP") == Money(Decimal("12.50"), "GBP")


def test_the_words_for_one_piece_are_those_of_the_languages_of_sheets() -> None:
    words = {word.casefold() for word in SHIPPED.words("cells", "each")}
    assert words <= {word.casefold() for word in EACH}
