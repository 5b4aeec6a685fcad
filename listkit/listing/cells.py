"""Cells: how one fact is written in a channel's dialect.

Money has its currency's digits, weights stand in the channel's unit, lengths in millimetres, dates as ISO 8601
has them; what is not known is an empty cell. Text that a spreadsheet would take for a formula gets an apostrophe.
"""

import datetime
from collections.abc import Callable
from decimal import ROUND_HALF_UP, Context, Decimal
from functools import lru_cache
from typing import Any, Final

from listkit.fields import Kind
from listkit.model.channel import Dialect
from listkit.units.money import Money
from listkit.units.weight import Weight

Cell = Callable[[Any], str]
"""Returns the cell for one value."""

# OWASP, "CSV Injection": = + - @, tab, carriage return and line feed; OWASP ASVS 5.0, 1.2.10 adds NUL.
FORMULA_SIGNS: Final = frozenset("=+-@\t\r\n\0")
# About a gram or finer in every unit, a tenth of one in grams: as fine as parcel scales. Common practice, no source.
WEIGHT_PLACES: Final = {"g": 1, "kg": 3, "oz": 2, "lb": 3}
LENGTH_PLACES: Final = 1
SHARE_PLACES: Final = 4
_WIDE: Final = Context(prec=60)
CODECS: Final = {"utf-8": "utf-8", "windows-1252": "cp1252", "utf-16": "utf-16-le"}  # little-endian on every machine
_KEPT: Final = 4096  # texts of prices and weights; they repeat from row to row


def guarded(text: str) -> str:
    """Return `text` with an apostrophe before it where it begins like a formula."""
    return "'" + text if text[:1] in FORMULA_SIGNS else text


def money_digits(money: Money) -> str:
    """Return the amount with the minor digits of its currency (ISO 4217): 29.00."""
    return f"{money.rounded(ROUND_HALF_UP).amount:f}"


def half_up(number: Decimal, places: int) -> Decimal:
    """Return `number` with `places` behind the point at most, halves away from zero, without zeros at its end."""
    return number.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP, _WIDE).normalize(_WIDE)


def unwritable(text: str, encoding: str) -> str:
    """Return the first character of `text` that the encoding has not, "" when it has all."""
    try:
        text.encode(CODECS[encoding])
    except UnicodeEncodeError as fault:
        return text[fault.start]
    return ""


def cell_of(kind: Kind, dialect: Dialect) -> Cell:
    """Return what writes values of this kind; None gives an empty cell."""
    if kind is Kind.TEXT:
        return guarded if dialect.guard_formulas else str
    if kind is Kind.DATE:
        return _date
    unit, places = dialect.weight, WEIGHT_PLACES[dialect.weight]
    figures: dict[Kind, Callable[[Any], str]] = {
        Kind.MONEY: money_digits,
        Kind.WEIGHT: lambda weight: f"{half_up(weight.in_unit(unit), places):f}",
        Kind.LENGTH: lambda length: f"{half_up(length, LENGTH_PLACES):f}",
        Kind.SHARE: lambda share: f"{half_up(share, SHARE_PLACES):f}",
        Kind.NUMBER: str,
    }
    return _kept(figures[kind], dialect)


def _kept(text_of: Callable[[Any], str], dialect: Dialect) -> Cell:
    """Return a cell that remembers its last texts, with the dialect's decimal sign."""

    @lru_cache(maxsize=_KEPT)
    def cell(value: Money | Weight | Decimal | int | None) -> str:
        return "" if value is None else text_of(value).replace(".", dialect.decimal)

    return cell


def _date(day: datetime.date | None) -> str:
    return "" if day is None else day.isoformat()
