"""How money, numbers, weights and dates read: against the CLDR data that is installed, and half up everywhere."""

import re
from datetime import date
from decimal import Decimal

import iso4217
import pytest
from babel import Locale
from babel.numbers import get_currency_precision
from hypothesis import given
from hypothesis import strategies as st

from listkit.listing.formats import in_sound, list_text, measure_text, number_text, weight_text
from listkit.problem import FieldError
from listkit.units.spoken import date_text, half_up, locale_of, money_text
from listkit.units.weight import Weight

NO_BREAK = "\u00a0"


def cldr_amount(currency: str, language: str, whole: tuple[str, ...], rest: str) -> str:
    """An amount put together by hand from the CLDR data that is installed: its groups of digits and its minor ones."""
    cldr = Locale.parse(language, sep="-")
    symbols = cldr.number_symbols["latn"]
    number = symbols["group"].join(whole) + (symbols["decimal"] + rest if rest else "")
    pattern = cldr.currency_formats["standard"].pattern.partition(";")[0]
    return re.sub(r"[#0,.]+", number, pattern).replace("¤", cldr.currency_symbols.get(currency, currency))


@pytest.mark.parametrize(
    ("currency", "language"),
    [
        ("USD", "en-US"), ("EUR", "de-DE"), ("EUR", "fr-FR"), ("GBP", "en-GB"), ("CAD", "en-CA"), ("CAD", "en-US"),
        ("CAD", "fr-CA"), ("CHF", "de-CH"), ("SEK", "sv-SE"), ("PLN", "pl-PL"),
    ],
)  # fmt: skip
def test_an_amount_reads_as_the_installed_cldr_has_it(currency: str, language: str) -> None:
    """Signs, separators and their places move with CLDR's editions (CHF in de-CH has), so they are looked up."""
    groups = ("21", "099")
    assert money_text(Decimal("21099.98"), currency, language) == cldr_amount(currency, language, groups, "98")


def test_a_currency_without_minor_digits_shows_none() -> None:
    assert money_text(Decimal("21099.98"), "JPY", "en-US") == cldr_amount("JPY", "en-US", ("21", "100"), "")
    assert money_text(Decimal("21099.98"), "JPY", "ja-JP") == cldr_amount("JPY", "ja-JP", ("21", "100"), "")


@pytest.mark.parametrize(
    ("currency", "language", "text"),
    [
        ("USD", "en-US", "$1,099.98"),
        ("EUR", "de-DE", f"1.099,98{NO_BREAK}€"),
        ("GBP", "en-GB", "£1,099.98"),
        ("CAD", "en-CA", "$1,099.98"),
        ("JPY", "en-US", "¥1,100"),
    ],
)
def test_an_amount_reads_as_people_write_it(currency: str, language: str, text: str) -> None:
    """From memory, and the same in every edition of CLDR that we know: a reader that no library has a say in."""
    assert money_text(Decimal("1099.98"), currency, language) == text


def test_a_negative_amount_and_three_minor_digits_read_as_people_write_them() -> None:
    """From memory; three digits: ISO 4217."""
    assert money_text(Decimal("-1099.98"), "USD", "en-US") == "-$1,099.98"
    assert money_text(Decimal("1099.9876"), "KWD", "en-US").endswith("1,099.988")


@pytest.mark.parametrize(
    ("amount", "text"), [("0.125", "$0.13"), ("0.135", "$0.14"), ("2.345", "$2.35"), ("2.344", "$2.34")]
)
def test_money_is_rounded_half_up_where_the_library_would_round_half_to_even(amount: str, text: str) -> None:
    """Half up is our rule; Babel alone gives $0.12, $0.14 and $2.34 for the first three."""
    assert money_text(Decimal(amount), "USD", "en-US") == text


def test_minor_digits_of_iso_4217_are_shown_where_cldr_would_drop_them() -> None:
    """No part of a price may be lost. What CLDR cuts short moves with its editions; iso4217 states the digits."""
    cut = [one.code for one in iso4217.Currency if one.exponent == 2 and get_currency_precision(one.code) == 0]
    assert {"ALL", "LBP"} <= {*cut}
    for currency in cut:
        assert digits_of(money_text(Decimal("1234.50"), currency, "en-GB")) == "1,234.50"
        assert digits_of(money_text(Decimal(1234), currency, "en-GB")) == "1,234"


def digits_of(text: str) -> str:
    return "".join(sign for sign in text if sign in "0123456789.,")


@given(
    amount=st.decimals(min_value=0, max_value=10**9, places=4),
    language=st.sampled_from(("en-GB", "en-IN", "de-DE", "fr-FR", "fr-CA", "sv-SE", "es-ES", "pl-PL")),
)
def test_the_digits_of_an_amount_are_those_of_the_amount_rounded_half_up(amount: Decimal, language: str) -> None:
    digits = "".join(sign for sign in money_text(amount, "EUR", language) if sign.isdigit())
    cents = int(amount * 10000 + 50) // 100
    assert int(digits) == cents


@pytest.mark.parametrize(
    ("unit", "language", "text"),
    [("g", "en", "612 g"), ("oz", "en", "21.6 oz"), ("lb", "en", "1.35 lb"), ("g", "fr", "612 g")],
)
def test_a_weight_reads_as_people_write_it(unit: str, language: str, text: str) -> None:
    """Figures by NIST Handbook 44, Appendix C: 612 g is 21.59 oz and 1.349 lb. Which space it is differs in CLDR."""
    assert " ".join(weight_text(Weight(Decimal(612)), language, unit=unit).split()) == text


@pytest.mark.parametrize(
    ("style", "language", "text"),
    [
        ("long", "en-GB", "24 December 2026"),
        ("long", "en-US", "December 24, 2026"),
        ("long", "de-DE", "24. Dezember 2026"),
        ("long", "fr-FR", "24 décembre 2026"),
        ("long", "fr-CA", "24 décembre 2026"),
        ("short", "fr-CA", "2026-12-24"),
        ("short", "de-DE", "24.12.26"),
        ("short", "en-GB", "24/12/2026"),
        ("day", "en-GB", "24 December"),
        ("day", "de-DE", "24. Dezember"),
        ("full", "en-GB", "Thursday, 24 December 2026"),
        ("iso", "en-GB", "2026-12-24"),
    ],
)
def test_a_date_reads_as_the_language_writes_it(style: str, language: str, text: str) -> None:
    """From memory, as these languages write dates; "iso" is ISO 8601."""
    assert date_text(date(2026, 12, 24), language, style=style) == text


def test_several_words_are_joined_as_the_language_joins_them() -> None:
    """From memory: British English writes no comma before "and", American English does."""
    assert list_text(("soap", "balm", "salt"), "en-GB") == "soap, balm and salt"
    assert list_text(("soap", "balm", "salt"), "en-US") == "soap, balm, and salt"
    assert list_text(("Seife", "Balsam"), "de-DE") == "Seife und Balsam"


def test_a_number_keeps_the_digits_asked_for_and_the_grouping_of_its_language() -> None:
    """Indian grouping in twos after the first three digits: Unicode CLDR, from memory."""
    assert number_text(Decimal("2.345"), "en-GB", digits=2) == "2.35"
    assert number_text(Decimal(2), "de-DE", digits=2) == "2,00"
    assert number_text(Decimal("1234567.125"), "en-IN") == "12,34,567.125"


def test_a_quotient_with_many_digits_can_still_be_cut() -> None:
    assert half_up(Decimal(10**15) / 3, 6) == Decimal("333333333333333.333333")


@pytest.mark.parametrize(
    ("language", "identifier"),
    [("de", "de"), ("zh-Hant-TW", "zh_Hant_TW"), ("sl-rozaj-biske", "sl"), ("de-CH-1901", "de_CH"), ("en-GB", "en_GB")],
)
def test_what_is_not_known_of_a_language_is_dropped_from_its_end(language: str, identifier: str) -> None:
    """The tags are examples of RFC 5646, Appendix A."""
    assert str(locale_of(language)) == identifier


@pytest.mark.parametrize("language", ["", "x-whatever", "qq", "../../etc/passwd", "\0", "e" * 1000])
def test_what_is_no_language_is_told(language: str) -> None:
    with pytest.raises(FieldError, match="is not a language"):
        locale_of(language)


# Figures of CLDR 48 as Intl of ICU 78.2 shows them (Node.js: NumberFormat, ListFormat), for what Babel does not do.


@pytest.mark.parametrize(
    ("language", "four", "five"),
    [
        ("es", "1234,5", "12.345,5"), ("es-ES", "1234,5", "12.345,5"), ("es-MX", "1,234.5", "12,345.5"),
        ("es-AR", "1.234,5", "12.345,5"), ("it", "1234,5", "12.345,5"), ("pl", "1234,5", f"12{NO_BREAK}345,5"),
        ("pt-PT", "1234,5", f"12{NO_BREAK}345,5"), ("pt-BR", "1.234,5", "12.345,5"), ("de", "1.234,5", "12.345,5"),
        ("en", "1,234.5", "12,345.5"), ("fr", "1\u202f234,5", "12\u202f345,5"),
    ],
)  # fmt: skip
def test_four_digits_stand_together_where_cldr_has_them_so(language: str, four: str, five: str) -> None:
    assert (number_text(Decimal("1234.5"), language), number_text(Decimal("12345.5"), language)) == (four, five)


def test_four_digits_of_sums_and_weights_stand_together_too() -> None:
    assert money_text(Decimal("1234.5"), "EUR", "es") == f"1234,50{NO_BREAK}€"
    assert money_text(Decimal("12345.5"), "GBP", "es") == f"12.345,50{NO_BREAK}£"
    assert weight_text(Weight(Decimal(1234)), "es") == "1234 g"
    assert number_text(Decimal(1234567), "es") == "1.234.567"
    assert money_text(Decimal(1234), "JPY", "pt-PT").startswith(f"1234{NO_BREAK}")  # as before the sign, so in the sum
    assert number_text(Decimal(1234567), "pl") == f"1{NO_BREAK}234{NO_BREAK}567"


@pytest.mark.parametrize("word", ["incienso", "hilo", "historia", "Isla", "ion"])
def test_spanish_says_e_for_and_before_the_sound_of_i(word: str) -> None:
    assert list_text(("a", word), "es") == f"a e {word}"


@pytest.mark.parametrize("word", ["hiedra", "hierro", "hiato", "yodo", "romero"])
def test_spanish_says_y_for_and_before_all_else(word: str) -> None:
    assert list_text(("a", word), "es") == f"a y {word}"


@pytest.mark.parametrize("word", ["olor", "ocho", "hora", "8 g", "80 g", "800 g", "11 g", "oro"])
def test_spanish_says_u_for_or_before_the_sound_of_o(word: str) -> None:
    assert list_text(("a", word), "es-MX", style="or") == f"a u {word}"


@pytest.mark.parametrize("word", ["110 g", "18 g", "rosa"])
def test_spanish_says_o_for_or_before_all_else(word: str) -> None:
    assert list_text(("a", word), "es", style="or") == f"a o {word}"


def test_accents_and_quotes_are_looked_through_and_other_languages_left_alone() -> None:
    """The sound decides (Diccionario panhispánico de dudas, from memory); ICU looks at plain letters alone."""
    assert list_text(("savia", "«Índigo»"), "es") == "savia e «Índigo»"
    assert list_text(("a", "b", "incienso"), "es") == "a, b e incienso"
    assert in_sound("olio y incenso", "incenso", "it") == "olio y incenso"
    assert list_text(("Indigo",), "es") == "Indigo"


@pytest.mark.parametrize(
    ("language", "all_of", "one_of"),
    [
        ("en-GB", "a, b and c", "a, b or c"), ("en-US", "a, b, and c", "a, b, or c"), ("fr", "a, b et c", "a, b ou c"),
        ("de", "a, b und c", "a, b oder c"), ("es", "a, b y c", "a, b o c"),
    ],
)  # fmt: skip
def test_lists_are_joined_as_cldr_has_it(language: str, all_of: str, one_of: str) -> None:
    parts = ("a", "b", "c")
    assert (list_text(parts, language), list_text(parts, language, style="or")) == (all_of, one_of)


@pytest.mark.parametrize("behind", [19, 29, 70, 500])
def test_a_measure_of_any_digits_reads_in_a_language_with_a_comma(behind: int) -> None:
    digits = "0" * (behind - 1) + "1"
    assert measure_text(f"110.{digits} g", "fr") == f"110,{digits} g"
    assert measure_text(f"1110.{digits} g", "de") == f"1.110,{digits} g"
    assert number_text(Decimal(f"2.{digits}5"), "fr", digits=behind) == f"2,{digits[:-1]}2"
