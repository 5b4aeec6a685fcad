"""Formats: how money, numbers, weights and dates read in the language of a text.

Patterns come from CLDR through Babel. Babel rounds half to even, so every figure is
rounded half up here first, and Babel is never left a digit to drop. The clock and the
machine's own language play no part: the same value and language give the same text.
"""

import re
from collections.abc import Callable
from copy import copy
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Context, Decimal
from functools import lru_cache
from typing import Final, Literal

from babel import Locale, UnknownLocaleError
from babel.dates import format_date, format_skeleton
from babel.lists import format_list
from babel.numbers import get_currency_precision
from babel.units import format_unit

from listkit.problem import FieldError
from listkit.units.length import MM_PER_INCH
from listkit.units.money import SIGNS, minor_digits
from listkit.units.shown import UnitSystem, pounds_and_ounces
from listkit.units.table import UnitKind, units_of
from listkit.units.weight import Weight

_MASSES: Final = {unit.sign: unit for unit in units_of(UnitKind.MASS) if unit.cldr}
_NAMED: Final[dict[str, Literal["short", "medium", "long", "full"]]] = {
    "short": "short", "medium": "medium", "long": "long", "full": "full",
}  # fmt: skip
DATE_STYLES: Final = (*_NAMED, "day", "iso")
WEIGHT_UNITS: Final = tuple(_MASSES)
# Where lengths are told in inches: CLDR, supplemental data, measurementSystem "US", from memory.
_INCHES_IN: Final = frozenset({"US"})
_WIDE: Final = Context(prec=60)  # the usual 28 digits are too few to cut a quotient of large numbers
LONGEST_LIST: Final = 100  # Babel's list takes time that grows with the square


@dataclass(frozen=True, slots=True)
class Formats:
    """Language (BCP 47, "en-GB") and currency (ISO 4217) that a text is written in."""

    language: str
    currency: str


@lru_cache
def locale_of(language: str) -> Locale:
    """Return the CLDR locale nearest to a BCP 47 tag: what is not known is dropped from its end.

    Raises:
        FieldError: no part of the tag is a language of CLDR.
    """
    parts = language.split("-")
    while parts:
        try:
            return Locale.parse("_".join(parts))
        except (UnknownLocaleError, ValueError, TypeError):
            parts.pop()
    raise FieldError(f'"{language}" is not a language we can write in.', 'Write it as in "en-GB".')


@lru_cache(maxsize=4096)  # prices, weights and lists repeat from row to row, and Babel takes ten microseconds or more
def money_text(amount: Decimal, currency: str, language: str) -> str:
    """Return an amount in a currency, half up to its minor digits (ISO 4217).

    CLDR leaves off minor digits that some currencies have in ISO 4217; so do we, unless there is something to show.
    """
    shown = half_up(amount, minor_digits(currency))
    digits = get_currency_precision(currency)
    if shown != half_up(shown, digits):
        digits = minor_digits(currency)
    return money_digits_text(shown, currency, language, digits=digits)


# Where CLDR tells signs of other countries apart by their country ("£GB", "$US"). A shop has one currency, so the sign
# alone is enough there, as CLDR's narrow form has it (from memory; Babel does not give it).
_TELLS_SIGNS_APART: Final = frozenset({"fr", "es"})


def _narrow(text: str, currency: str, locale: Locale) -> str:
    """Return an amount with the narrow sign of its currency."""
    sign = next((sign for sign, codes in SIGNS.items() if currency in codes), "")
    if not sign or locale.language not in _TELLS_SIGNS_APART:
        return text
    return text.replace(locale.currency_symbols.get(currency, currency), sign)


# Where four digits stand without a sign between them, "1234,50 €" and "12.345,50 €": CLDR 48, minimumGroupingDigits, as
# Intl of ICU 78 shows it; Babel does not read it. Of Spanish it is so where Spain's is spoken, not in the Americas.
_FOUR_TOGETHER: Final = frozenset(
    ["be", "bg", "es", "et", "hu", "hy", "ia", "ie", "it", "ka", "lv", "pl", "sl", "sq", "pt_PT"]
)
_SPANISH_OF_SPAIN: Final = frozenset(("ES", "GQ", "PH", "IC", "EA"))


def _grouped(text: str, locale: Locale) -> str:
    """Return a number in a text without the sign behind its first of four digits, where the language has none."""
    language, country = locale.language, locale.territory
    if not {language, f"{language}_{country}"} & _FOUR_TOGETHER:
        return text
    if language == "es" and country and country not in _SPANISH_OF_SPAIN:
        return text
    sign = re.escape(locale.number_symbols[locale.default_numbering_system]["group"])
    return re.sub(rf"(?<!\d)(?<!\d{sign})(\d){sign}(\d{{3}})(?!{sign}?\d)", r"\1\2", text, count=1)


def money_digits_text(amount: Decimal, currency: str, language: str, *, digits: int) -> str:
    """Return an amount with so many digits, half up, as unit prices below one have them: "£0.792"."""
    locale = locale_of(language)
    pattern = copy(locale.currency_formats["standard"])
    pattern.frac_prec = (digits, digits)
    text = str(pattern.apply(half_up(amount, digits), locale, currency=currency, currency_digits=False))
    return _narrow(_grouped(text, locale), currency, locale)


@lru_cache(maxsize=4096)
def number_text(number: Decimal, language: str, *, digits: int | None = None) -> str:
    """Return a number, half up to `digits` behind the point; without, to three at most as CLDR has it."""
    locale = locale_of(language)
    pattern = copy(locale.decimal_formats[None])
    if digits is not None:
        pattern.frac_prec = (digits, digits)
    return _grouped(str(pattern.apply(half_up(number, pattern.frac_prec[1]), locale)), locale)


@lru_cache(maxsize=4096)
def weight_text(weight: Weight, language: str, *, unit: str = "g") -> str:
    """Return a weight in one of WEIGHT_UNITS, half up to the digits of its row, with CLDR's short sign."""
    row = _MASSES[unit]
    figure = half_up(weight.grams / row.size, row.digits)
    return _grouped(format_unit(figure, row.cldr, length="short", locale=locale_of(language)), locale_of(language))


def read_weight_text(weight: Weight, language: str) -> str:
    """Return a weight in ounces, from a pound on in pounds and ounces: "12.6 oz", "1 lb 2.3 oz"."""
    pounds, ounces = pounds_and_ounces(weight)
    figures = [(Decimal(pounds), "lb")] * bool(pounds) + [(ounces.normalize(), "oz")] * bool(ounces or not pounds)
    return " ".join(
        format_unit(figure, _MASSES[sign].cldr, length="short", locale=locale_of(language)) for figure, sign in figures
    )


def told_in_inches(language: str) -> bool:
    """Whether lengths are told in inches where a language is written: en-US, es-US; else in millimetres."""
    return locale_of(language).territory in _INCHES_IN


@lru_cache(maxsize=4096)
def date_text(day: date, language: str, *, style: str = "long") -> str:
    """Return a date in a style of DATE_STYLES: "day" is day and month without the year, "iso" is ISO 8601."""
    if style == "iso":
        return day.isoformat()
    locale = locale_of(language)
    if style == "day":
        return format_skeleton("MMMMd", day, locale=locale)
    return format_date(day, _NAMED[style], locale=locale)


@lru_cache(maxsize=4096)
def list_text(parts: tuple[str, ...], language: str, *, style: Literal["standard", "or"] = "standard") -> str:
    """Return "a, b and c" or "a, b or c" as the language joins them; LONGEST_LIST parts at most."""
    text = format_list(parts, style=style, locale=locale_of(language))
    return in_sound(text, parts[-1], language) if len(parts) > 1 else text


# Spanish says "e" for "y" before the sound of i, "u" for "o" before that of o (Real Academia Española, Diccionario
# panhispánico de dudas, "y" and "o", from memory). CLDR leaves it to programs, and Babel does not do it.
_LIKE_I: Final = re.compile(r"\W*(?:[ií]|h[ií](?![aeáé]))", re.IGNORECASE)
_LIKE_O: Final = re.compile(r"\W*(?:h?[oó]|8|11(?!\d))", re.IGNORECASE)


def in_sound(text: str, last: str, language: str) -> str:
    """Return a text that ends with a word that joins and `last`, the word as it is said before that.

    >>> in_sound("romero y incienso", "incienso", "es"), in_sound("45 g o 80 ml", "80 ml", "es-MX")
    ('romero e incienso', '45 g u 80 ml')
    >>> in_sound("agua y hielo", "hielo", "es"), in_sound("sel y iode", "iode", "fr")
    ('agua y hielo', 'sel y iode')
    """
    if locale_of(language).language != "es":
        return text
    for word, said_so, sound in ((" y ", " e ", _LIKE_I), (" o ", " u ", _LIKE_O)):
        if text.endswith(f"{word}{last}") and sound.match(last):
            return f"{text[: -len(word) - len(last)]}{said_so}{last}"
    return text


# Measures of goods.

_DECIMAL: Final = re.compile(r"\d+\.\d+")
_TIMES: Final = re.compile(r"(?<=[\da-z])\s*[xX×]\s*(?=\d)")


@lru_cache(maxsize=1024)
def measure_text(text: str, language: str) -> str:
    """Return a measure as its owner wrote it, with × between sides and the language's decimal sign."""
    if "." in text and language[:2] != "en":

        def in_language(number: re.Match[str]) -> str:
            return number_text(Decimal(number[0]), language, digits=len(number[0].partition(".")[2]))

        text = _DECIMAL.sub(in_language, text)
    return _TIMES.sub(" × ", text)


def sides_text(sides: tuple[Decimal, ...], language: str, measure: UnitSystem | None = None) -> str:
    """Return sides in whole and tenth millimetres, "162 × 122 × 70 mm", or in hundredths of an inch.

    Inches are for `measure` "customary", and without any where they are usual.
    """
    if told_in_inches(language) if measure is None else measure == "customary":
        inches = (half_up(side / MM_PER_INCH, 2).normalize() for side in sides)
        return " × ".join(number_text(side, language) for side in inches) + " in"
    return " × ".join(number_text(side, language) for side in sides) + " mm"


def half_up(number: Decimal, digits: int) -> Decimal:
    """Return `number` with exactly `digits` behind the point, halves away from zero."""
    return number.quantize(Decimal(1).scaleb(-digits), ROUND_HALF_UP, _WIDE)


# Measures: how long a text is, counted as a channel counts.

Measure = Callable[[str], int]
"""Returns the length of a text."""


def utf8_bytes(text: str) -> int:
    """Return how many bytes the text has in UTF-8 (RFC 3629); half a surrogate pair counts three."""
    return len(text) if text.isascii() else len(text.encode("utf-8", "surrogatepass"))


def utf16_units(text: str) -> int:
    """Return how many 16-bit units the text has in UTF-16 (RFC 2781): two for each character above U+FFFF."""
    return len(text) if text.isascii() else len(text) + sum(sign > "\uffff" for sign in text)


MEASURES: Final[dict[str, Measure]] = {"characters": len, "bytes": utf8_bytes, "utf-16 units": utf16_units}
"""By the words of [limits] count; a character is a Unicode code point."""
UNIT_WORDS: Final = {"characters": "character", "bytes": "byte", "utf-16 units": "UTF-16 unit"}
"""One of what is counted, in words."""


def fitting(text: str, most: int, measure: Measure) -> int:
    """Return how many characters of `text`, from its beginning, measure `most` at most."""
    if measure is len:
        return min(most, len(text))
    low, high = 0, min(most, len(text))  # no character measures less than one
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if measure(text[:middle]) <= most else (low, middle - 1)
    return low
