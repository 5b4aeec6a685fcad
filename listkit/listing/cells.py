"""Cells: how one fact is written in a channel's dialect.

Money has its currency's digits; weights, lengths and dates stand as the channel wants them; what is not known is an
empty cell. Text that a spreadsheet would take for a formula gets an apostrophe.
"""

import datetime
import re
import unicodedata
from collections.abc import Callable
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache
from operator import itemgetter
from typing import Any, Final

from text_unidecode import unidecode  # type: ignore[import-untyped]

from listkit.fields import Kind
from listkit.model.channel import Dialect
from listkit.units.length import LENGTH_UNITS
from listkit.units.money import Money
from listkit.units.table import WIDE, UnitKind, channel_places
from listkit.units.weight import Weight

# From memory, as typists do it; most of these are in windows-1252 and are left alone there.
_STAND_INS: Final = {
    "→": "->", "←": "<-", "≤": "<=", "≥": ">=", "≈": "~", "−": "-", "‐": "-", "‑": "-", "‒": "–", "―": "—", "⁄": "/",
    "⅓": "1/3", "⅔": "2/3", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "′": "'", "″": '"', "☆": "*", "★": "*",
    "✓": "v", "✔": "v", "✗": "x", "●": "•", "▪": "•", "\u2009": " ", "\u202f": "\u00a0", "\u2028": "\n",
    "\u2029": "\n", "\u200b": "", "\u200c": "", "\u200d": "", "\ufe0f": "", "\ufeff": "", "\u00ad": "",
}  # fmt: skip


def nearest(text: str, codec: str) -> str:
    """Return `text` with each character that the codec has not replaced by the nearest that it has.

    First the same character put together otherwise (e and an accent are é), then the trade's usual stand-ins for
    signs, then the letter without its marks, last the Latin letters of another script. A character without any such
    likeness is left, for the owner to see to.

    >>> nearest("Ĵar → ½", "ascii")
    'Jar -> 1/2'
    """
    if text.isascii() or _has(text, codec):
        return text
    whole = unicodedata.normalize("NFC", text)
    return whole if _has(whole, codec) else "".join([_nearest(sign, codec) for sign in whole])


@lru_cache(maxsize=4096)
def _nearest(sign: str, codec: str) -> str:
    if _has(sign, codec):
        return sign
    plain = "".join(part for part in unicodedata.normalize("NFKD", sign) if not unicodedata.combining(part))
    if unicodedata.combining(sign):
        return ""
    for instead in (_STAND_INS.get(sign), plain, unidecode(sign)):
        if instead is not None and (instead or sign in _STAND_INS) and _has(instead, codec):
            return instead
    return sign


def _has(text: str, codec: str) -> bool:
    try:
        text.encode(codec)
    except UnicodeEncodeError:
        return False
    return True


Cell = Callable[[Any], str]
"""Returns the cell for one value."""

# OWASP, "CSV Injection": = + - @, tab, carriage return and line feed, and the wide forms that programs set for Chinese
# and Japanese take for the same (from memory); OWASP ASVS 5.0, 1.2.10 adds NUL.
FORMULA_SIGNS: Final = frozenset("=+-@\t\r\n\0＝＋－＠")
WEIGHT_PLACES: Final = channel_places(UnitKind.MASS)
LENGTH_PLACES: Final = channel_places(UnitKind.LENGTH)
SHARE_PLACES: Final = 4
ISO_DAY: Final = "2027-02-28"
"""The form of days in ISO 8601."""
_DAY_PARTS: Final = re.compile("2027|02|28")
_FIRST: Final = itemgetter(slice(1))  # the first letter of a text, "" of an empty one
CODECS: Final = {"utf-8": "utf-8", "windows-1252": "cp1252", "utf-16": "utf-16-le"}  # little-endian on every machine
LONGEST_XLSX_CELL: Final = 32_767
"""UTF-16 units that a workbook's cell holds; from memory, as every spreadsheet program states it."""
WORDED: Final = frozenset({Kind.TEXT, Kind.YES_NO})
"""Kinds whose cells are words, the owner's or those of the dialect, which may be any; all others are figures."""
_KEPT: Final = 4096  # texts of prices and weights; they repeat from row to row
# What XML 1.0 (section 2.2) has no characters for, and a workbook is XML; other control signs are escaped in it.
_NOT_IN_XLSX: Final = re.compile("[\ud800-\udfff\ufffe\uffff]")


def guarded(text: str) -> str:
    """Return `text` with an apostrophe before it where it begins like a formula."""
    return "'" + text if text[:1] in FORMULA_SIGNS else text


def all_guarded(texts: list[str]) -> list[str]:
    """Return the texts, each `guarded`; mostly there is nothing to do."""
    return texts if FORMULA_SIGNS.isdisjoint(map(_FIRST, texts)) else list(map(guarded, texts))


def money_digits(money: Money) -> str:
    """Return the amount with the minor digits of its currency (ISO 4217): 29.00."""
    return f"{money.rounded(ROUND_HALF_UP).amount:f}"


def half_up(number: Decimal, places: int) -> Decimal:
    """Return `number` with `places` behind the point at most, halves away from zero, without zeros at its end."""
    return number.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP, WIDE).normalize(WIDE)


def day_text(day: datetime.date, form: str) -> str:
    """Return a day in the form that 28 February 2027 has in `form`: "28/02/2027", "2027-02-28"."""
    parts = {"2027": f"{day.year:04}", "02": f"{day.month:02}", "28": f"{day.day:02}"}
    return _DAY_PARTS.sub(lambda match: parts[match[0]], form)


def unwritable(text: str, encoding: str) -> str:
    """Return the first character of `text` that the encoding, or "xlsx", has not; "" when it has all."""
    if encoding == "xlsx":
        return match[0] if (match := _NOT_IN_XLSX.search(text)) else ""
    try:
        text.encode(CODECS[encoding])
    except UnicodeEncodeError as fault:
        return text[fault.start]
    return ""


def text_cell(dialect: Dialect) -> Callable[[str], str]:
    """Return what writes texts: in letters that the encoding has, where that is wished, and then made safe."""
    finish = guarded if dialect.guard_formulas else str
    codec = CODECS[dialect.encoding]
    if not dialect.transliterate or codec.startswith("utf"):
        return finish
    return lambda text: finish(nearest(text, codec))


def plain_cell(kind: Kind, dialect: Dialect, unit: str = "") -> Cell:
    """Return what writes values of this kind, text just as it is; None gives an empty cell.

    `unit` is the column's own, of a weight or length.
    """
    if kind is Kind.TEXT:
        return str
    if kind is Kind.DATE:
        return lambda day: "" if day is None else day_text(day, dialect.date)
    if kind is Kind.YES_NO:
        return lambda answer: "" if answer is None else dialect.yes if answer else dialect.no
    mass, side = unit or dialect.weight, unit or dialect.length
    figures: dict[Kind, Callable[[Any], str]] = {
        Kind.MONEY: money_digits,
        Kind.WEIGHT: lambda weight: f"{half_up(weight.in_unit(mass), WEIGHT_PLACES[mass]):f}",
        Kind.LENGTH: lambda length: f"{half_up(length / LENGTH_UNITS[side], LENGTH_PLACES[side]):f}",
        Kind.SHARE: lambda share: f"{half_up(share, SHARE_PLACES):f}",
        Kind.NUMBER: str,
    }
    text_of = figures[kind]

    @lru_cache(maxsize=_KEPT)
    def cell(value: Money | Weight | Decimal | int | None) -> str:
        return "" if value is None else text_of(value).replace(".", dialect.decimal)

    return cell


def cell_of(kind: Kind, dialect: Dialect, unit: str = "") -> Cell:
    """Return what writes values of this kind, text made safe."""
    plain = plain_cell(kind, dialect, unit)
    if kind not in WORDED:
        return plain
    finish = text_cell(dialect)
    return finish if kind is Kind.TEXT else lambda value: finish(plain(value))
