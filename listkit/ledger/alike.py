"""Whether two cells say the same, though one went through another program: numbers as numbers, text as text.

Pure. A channel may round a weight, set a currency sign, wrap a text anew or keep a picture elsewhere;
none of that is a difference. A price is exact.
"""

import datetime
import html
import re
import unicodedata
from collections.abc import Callable
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from functools import lru_cache
from typing import Final

from listkit.fields import Kind
from listkit.units.table import UnitKind, sizes_by_word

_NUMBER: Final = re.compile(r"[+-]?(?:\d|[.,]\d)[\d.,'\s]*", re.ASCII)
_UNIT_GRAMS: Final = {"": None, **sizes_by_word(UnitKind.MASS)}
_INLINE: Final = re.compile(r"</?(?:a|b|em|i|small|span|strong|sub|sup|u)(?:\s[^<>]*)?>", re.IGNORECASE)
_TAG: Final = re.compile(r"</?[a-z][^<>]*>", re.IGNORECASE)
_SPACE: Final = re.compile(r"\s+")
_GUARD: Final = re.compile(r"'(?=[=+\-@\t\r\n\0])")
_DAY: Final = re.compile(r"(\d{4}-\d{2}-\d{2})(?:[T ][\d:.]+(?:Z|[+-][\d:]+)?)?")
_TYPOGRAPHY: Final = str.maketrans("‘’‚′“”„″‐‑–—−", "''''\"\"\"\"-----")
_LEAST_DIGITS: Final = 2  # significant ones, from which on a rounded number says something
Alike = Callable[[str, str], bool]
"""Whether our cell and theirs say the same."""
DayText = Callable[[datetime.date], str]
"""How a channel writes a day."""


def alike(kind: Kind, name: str, *, unit: str = "g", day: DayText = datetime.date.isoformat) -> Alike:
    """Return what compares the cells of a column: `name` is its field's, `unit` the one that our weights stand in.

    `day` writes our days; theirs may also be in the form of ISO 8601, as a workbook's are.
    """
    if name == "image":
        return _same_picture
    by_kind: dict[Kind, Alike] = {
        Kind.MONEY: _same_amount,
        Kind.NUMBER: _same_amount,
        Kind.WEIGHT: lambda ours, theirs: _same_weight(ours, theirs, unit),
        Kind.LENGTH: _same_measure,
        Kind.SHARE: _same_measure,
        Kind.DATE: lambda ours, theirs: _same_day(ours, theirs, day),
    }
    return by_kind.get(kind, _same_text)


def readings(text: str) -> tuple[Decimal, ...]:
    """Return the numbers that a cell may mean: "1,234" is 1234 and 1.234; () when it is none.

    Signs and letters around one number (£, GBP, pcs) are left aside.
    """
    found: list[str] = _NUMBER.findall(unicodedata.normalize("NFKC", text).translate(_TYPOGRAPHY))
    if len(found) != 1:
        return ()
    digits = re.sub(r"[\s'’]", "", found[0]).rstrip(".,")
    points = [sign for sign in digits if sign in ".,"]
    if not points:
        return (Decimal(digits),)
    if len(set(points)) == 2:  # 1.234,50 and 1,234.50: the last one parts whole and part
        whole, _, part = digits.rpartition(points[-1])
        return (Decimal(f"{_bare(whole)}.{part}"),) if points.count(points[-1]) == 1 else ()
    grouped = re.fullmatch(r"[+-]?[1-9]\d{0,2}([.,]\d{3})+", digits) is not None
    apart = () if len(points) > 1 else (Decimal(digits.replace(",", ".")),)
    return (Decimal(_bare(digits)), *apart) if grouped else apart


def _bare(digits: str) -> str:
    return digits.replace(",", "").replace(".", "")


def _own(text: str) -> tuple[Decimal, ...]:
    """Return the number of one of our own cells, which never has groups; () for an empty one."""
    return (Decimal(text.replace(",", ".")),) if text.strip() else ()


@lru_cache(maxsize=4096)
def _same_amount(ours: str, theirs: str) -> bool:
    """Exactly the same number, however many zeros follow."""
    if not ours.strip() or not theirs.strip():
        return ours.strip() == theirs.strip()
    return bool(set(_own(ours)) & set(readings(theirs)))


@lru_cache(maxsize=4096)
def _same_measure(ours: str, theirs: str) -> bool:
    """The same number, theirs perhaps rounded, as long as it still has two significant digits."""
    if _same_amount(ours, theirs):
        return True
    return any(_rounds_to(own, other) for own in _own(ours) for other in readings(theirs))


def _rounds_to(own: Decimal, other: Decimal) -> bool:
    _, digits, exponent = other.as_tuple()
    if not isinstance(exponent, int) or len("".join(map(str, digits)).lstrip("0")) < _LEAST_DIGITS:
        return False
    try:
        return own.quantize(Decimal((0, (1,), exponent)), ROUND_HALF_UP) == other
    except InvalidOperation:  # more digits than any weight has
        return False


@lru_cache(maxsize=4096)
def _same_weight(ours: str, theirs: str, unit: str) -> bool:
    """The same weight, theirs perhaps rounded, or in another unit that it names."""
    letters = re.sub(r"[\W\d_]", "", theirs).casefold()
    other = _UNIT_GRAMS.get(letters)
    if other is None or other == _UNIT_GRAMS[unit]:
        return letters in _UNIT_GRAMS and _same_measure(ours, theirs)
    grams = [own * (_UNIT_GRAMS[unit] or 1) / other for own in _own(ours)]
    return any(_rounds_to(own, found) or own == found for own in grams for found in readings(theirs))


@lru_cache(maxsize=1024)
def _same_day(ours: str, theirs: str, written: DayText) -> bool:
    """The same day of the calendar; a time behind theirs does not count."""
    match = _DAY.fullmatch(theirs.strip())
    try:
        other = written(datetime.date.fromisoformat(match[1])) if match else theirs.strip()
    except ValueError:  # 2027-02-30
        return False
    return ours.strip() == other


def _same_picture(ours: str, theirs: str) -> bool:
    """The same file names in the same order: a channel keeps its own copies, at its own address."""
    return _file_names(ours) == _file_names(theirs)


def _file_names(addresses: str) -> list[str]:
    """Return the names of one picture, or of several between semicolons."""
    bare = [address.strip().partition("?")[0].partition("#")[0] for address in addresses.split(";")]
    return [unicodedata.normalize("NFC", one.rstrip("/").rpartition("/")[2]).casefold() for one in bare]


def _same_text(ours: str, theirs: str) -> bool:
    return ours == theirs or folded(ours) == folded(theirs)


@lru_cache(maxsize=4096)
def folded(text: str) -> str:
    """Return a text without what programs change: Unicode forms, white space, HTML marks, typographic quotes."""
    plain = _GUARD.sub("", text, count=1) if text[:1] == "'" else text
    if "<" in plain or "&" in plain:
        plain = html.unescape(_TAG.sub(" ", _INLINE.sub("", plain)))
    plain = unicodedata.normalize("NFKC", plain).translate(_TYPOGRAPHY)
    plain = plain.replace("\u00ad", "").replace("\u200b", "").replace("\ufeff", "")
    return _SPACE.sub(" ", plain).strip()
