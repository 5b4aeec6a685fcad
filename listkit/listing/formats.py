"""Formats: how numbers, weights, measures and lists read in the language of a text; money and days: units/spoken.py.

Patterns come from CLDR through Babel. Babel rounds half to even, so every figure is
rounded half up here first, and Babel is never left a digit to drop. The clock and the
machine's own language play no part: the same value and language give the same text.
"""

import re
from collections.abc import Callable
from copy import copy
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal, localcontext
from functools import lru_cache
from typing import Final, Literal

from babel.lists import format_list
from babel.units import format_unit

from listkit.units.length import MM_PER_INCH
from listkit.units.shown import UnitSystem, pounds_and_ounces
from listkit.units.spoken import grouped, half_up, locale_of
from listkit.units.table import WIDE, UnitKind, units_of
from listkit.units.weight import Weight

_MASSES: Final = {unit.sign: unit for unit in units_of(UnitKind.MASS) if unit.cldr}
WEIGHT_UNITS: Final = tuple(_MASSES)
# Where lengths are told in inches: CLDR, supplemental data, measurementSystem "US", from memory.
_INCHES_IN: Final = frozenset({"US"})
LONGEST_LIST: Final = 100  # Babel's list takes time that grows with the square


@dataclass(frozen=True, slots=True)
class Formats:
    """Language (BCP 47, "en-GB") and currency (ISO 4217) that a text is written in."""

    language: str
    currency: str


@lru_cache(maxsize=4096)
def number_text(number: Decimal, language: str, *, digits: int | None = None) -> str:
    """Return a number, half up to `digits` behind the point; without, to three at most as CLDR has it."""
    locale = locale_of(language)
    pattern = copy(locale.decimal_formats[None])
    if digits is not None:
        pattern.frac_prec = (digits, digits)
    places = pattern.frac_prec[1]
    with localcontext(prec=max(WIDE.prec, number.adjusted() + places + 2)):  # a net content may have any digits
        rounded = number.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
        return grouped(str(pattern.apply(rounded, locale)), locale)


@lru_cache(maxsize=4096)
def weight_text(weight: Weight, language: str, *, unit: str = "g") -> str:
    """Return a weight in one of WEIGHT_UNITS, half up to the digits of its row, with CLDR's short sign."""
    row = _MASSES[unit]
    figure = half_up(weight.grams / row.size, row.digits)
    return grouped(format_unit(figure, row.cldr, length="short", locale=locale_of(language)), locale_of(language))


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
