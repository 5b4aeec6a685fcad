"""Money and days as a language writes them: "£16.50", "16,50 €", "15 February 2027".

The one place that words them: for screens, papers and texts in the language of each, for messages by `Spoken`. What an
owner has to type into a file, what is quoted from one, tables, CSV and JSON have plain figures and ISO 8601 instead.

Patterns come from CLDR through Babel. Babel rounds half to even, so every figure is
rounded half up here first, and Babel is never left a digit to drop. The clock and the
machine's own language play no part: the same value and language give the same text.
"""

import re
from copy import copy
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal, localcontext
from functools import lru_cache
from typing import Final, Literal

from babel import Locale, UnknownLocaleError
from babel.dates import format_date, format_skeleton
from babel.numbers import get_currency_precision

from listkit.problem import FieldError, quoted
from listkit.units.money import NO_CURRENCY, SIGNS, Money, minor_digits
from listkit.units.table import WIDE

_NAMED: Final[dict[str, Literal["short", "medium", "long", "full"]]] = {
    "short": "short", "medium": "medium", "long": "long", "full": "full",
}  # fmt: skip
DATE_STYLES: Final = (*_NAMED, "day", "iso")
_ENGLISH: Final = "en-GB"  # in which messages are written where the shop's own language is another


@dataclass(frozen=True, slots=True)
class Spoken:
    """Words money and days in sentences, in a language (BCP 47) and the shop's currency (ISO 4217).

    >>> spoken = Spoken.to_owner("fr", "EUR")
    >>> spoken.money(Decimal("16.5")), spoken.day(date(2027, 2, 15))
    ('€16.50', '15 February 2027')
    >>> Spoken.to_owner("en-US", "USD").day(date(2027, 2, 15))
    'February 15, 2027'
    """

    language: str
    currency: str

    @classmethod
    def to_owner(cls, language: str, currency: str) -> "Spoken":
        """Return what words messages in a shop of this language: in its own English, or that of Britain."""
        return cls(language if language.partition("-")[0].lower() == "en" else _ENGLISH, currency)

    def money(self, amount: Money | Decimal) -> str:
        """Return an amount with its currency; one that has none is of the shop's."""
        if isinstance(amount, Money):
            return money_text(amount.amount, amount.currency, self.language)
        return money_text(amount, self.currency, self.language)

    def day(self, day: date) -> str:
        """Return a day with its month in letters."""
        return date_text(day, self.language)


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
    raise FieldError(f"{quoted(language)} is not a language we can write in.", 'Write it as in "en-GB".')


@lru_cache(maxsize=4096)  # prices, weights and lists repeat from row to row, and Babel takes ten microseconds or more
def money_text(amount: Decimal, currency: str, language: str) -> str:
    """Return an amount in a currency, half up to its minor digits (ISO 4217).

    CLDR leaves off minor digits that some currencies have in ISO 4217; so do we, unless there is something to show.
    """
    shown = half_up(amount, minor_digits(currency))
    digits = get_currency_precision(currency)
    if shown != half_up(shown, digits):
        digits = minor_digits(currency)
    text = money_digits_text(shown, currency, language, digits=digits)
    return text if currency != NO_CURRENCY else text.replace("¤", "").strip()


# Where CLDR tells signs of other countries apart by their country ("£GB", "$US"). A shop has one currency, so the sign
# alone is enough there, as CLDR's narrow form has it (from memory; Babel does not give it).
_TELLS_SIGNS_APART: Final = frozenset({"fr", "es"})


def _narrow(text: str, currency: str, locale: Locale) -> str:
    """Return an amount with the narrow sign of its currency."""
    sign = next((sign for sign, codes in SIGNS.items() if currency in codes), "")
    if not sign or locale.language not in _TELLS_SIGNS_APART:
        return text
    return text.replace(locale.currency_symbols.get(currency, currency), sign)


# Where a currency of letters would touch the digits, "CHF 16.50": CLDR 48, currencySpacing, as Intl of ICU 78 shows it;
# Babel does not read it.
_BESIDE_LETTERS: Final = re.compile(r"(?<=[^\W\d_])(?=\d)|(?<=\d)(?=[^\W\d_])")

# Where four digits stand without a sign between them, "1234,50 €" and "12.345,50 €": CLDR 48, minimumGroupingDigits, as
# Intl of ICU 78 shows it; Babel does not read it. Of Spanish it is so where Spain's is spoken, not in the Americas.
_FOUR_TOGETHER: Final = frozenset(
    ["be", "bg", "es", "et", "hu", "hy", "ia", "ie", "it", "ka", "lv", "pl", "sl", "sq", "pt_PT"]
)
_SPANISH_OF_SPAIN: Final = frozenset(("ES", "GQ", "PH", "IC", "EA"))


def grouped(text: str, locale: Locale) -> str:
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
    with localcontext(WIDE):
        text = str(pattern.apply(half_up(amount, digits), locale, currency=currency, currency_digits=False))
    return _BESIDE_LETTERS.sub("\u00a0", _narrow(grouped(text, locale), currency, locale))


@lru_cache(maxsize=4096)
def date_text(day: date, language: str, *, style: str = "long") -> str:
    """Return a date in a style of DATE_STYLES: "day" is day and month without the year, "iso" is ISO 8601."""
    if style == "iso":
        return day.isoformat()
    locale = locale_of(language)
    if style == "day":
        return format_skeleton("MMMMd", day, locale=locale)
    return format_date(day, _NAMED[style], locale=locale)


def half_up(number: Decimal, digits: int) -> Decimal:
    """Return `number` with exactly `digits` behind the point, halves away from zero."""
    return number.quantize(Decimal(1).scaleb(-digits), ROUND_HALF_UP, WIDE)
