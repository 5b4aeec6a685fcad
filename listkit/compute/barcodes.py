"""Barcodes of GTINs as bars and digits: EAN-13, EAN-8, UPC-A, and ITF-14 for cases, with their quiet zones.

A number is laid out as it is given and never made up. EAN and UPC: tables and guards of ISO/IEC 15420; nominal sizes,
80 % to 200 % and quiet zones of the GS1 General Specifications, section 5.2 (from memory). ITF-14: ISO/IEC 16390 with
the ratio 2.5 that GS1 aims at; its bearer bars are two narrow bars high, as for what no plate prints (from memory).
Lengths are millimetres, exact.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import accumulate, groupby, pairwise
from typing import Final

from listkit.units.identifiers import LENGTHS, right_digit

SMALLEST: Final = Decimal("0.8")
LARGEST: Final = Decimal(2)
MODULE: Final = Decimal("0.33")  # X at 100 %, in mm
CASE_MODULE: Final = Decimal("0.635")  # of an ITF-14: the least for print on corrugated board (from memory)
# ISO/IEC 15420: number set A for the left half; B is C turned round, and C is A with bars and spaces exchanged.
_A: Final = (
    "0001101", "0011001", "0010011", "0111101", "0100011",
    "0110001", "0101111", "0111011", "0110111", "0001011",
)  # fmt: skip
_C: Final = tuple(code.translate(str.maketrans("01", "10")) for code in _A)
_B: Final = tuple(code[::-1] for code in _C)
# Which set the six digits of an EAN-13's left half are taken from tells its first digit.
_FIRST: Final = (
    "AAAAAA", "AABABB", "AABBAB", "AABBBA", "ABAABB",
    "ABBAAB", "ABBBAA", "ABABAB", "ABABBA", "ABBABA",
)  # fmt: skip
_SETS: Final = {"A": _A, "B": _B}
_SIDE, _MIDDLE = "101", "01010"
# ISO/IEC 16390: which two of a digit's five elements are wide.
_WIDE: Final = (
    "00110", "10001", "01001", "11000", "00101",
    "10100", "01100", "00011", "10010", "01010",
)  # fmt: skip
_RATIO: Final = Decimal("2.5")
_PITCH: Final = Decimal("6.6")  # modules from digit to digit


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar: its left edge from the symbol's, how far below the top it begins, its width and height."""

    x: Decimal
    y: Decimal
    width: Decimal
    height: Decimal


@dataclass(frozen=True, slots=True)
class Digit:
    """One digit below the bars: the middle of its foot and the size of its font."""

    text: str
    x: Decimal
    y: Decimal
    size: Decimal


@dataclass(frozen=True, slots=True)
class Symbol:
    """A barcode: its kind, number and narrowest bar, and the size of all of it, quiet zones and digits included."""

    kind: str
    gtin: str
    module: Decimal
    width: Decimal
    height: Decimal
    bars: tuple[Bar, ...]
    digits: tuple[Digit, ...]


@dataclass(frozen=True, slots=True)
class _Kind:
    """How one of the EAN and UPC symbols is laid out, in modules; `high` are its bars in mm at 100 %.

    `long` are the ranges of modules whose bars reach below the others. `places` are the middles of the digits, from
    the first module on; those in `small` are set smaller.
    """

    name: str
    left: int
    right: int
    high: Decimal
    long: tuple[tuple[int, int], ...]
    places: tuple[Decimal, ...]
    small: tuple[int, ...] = ()


def _middles(start: int, count: int) -> tuple[Decimal, ...]:
    """Return the middles of the digits below `count` symbol characters, closer than those to be clear of guards."""
    return tuple(start + Decimal("3.5") * count + (2 * at + 1 - count) * _PITCH / 2 for at in range(count))


_EAN_13: Final = _Kind(
    name="EAN-13", left=11, right=7, high=Decimal("22.85"), long=((0, 3), (45, 50), (92, 95)),
    places=(Decimal("-7.5"), *_middles(3, 6), *_middles(50, 6)),
)  # fmt: skip
_UPC_A: Final = _Kind(
    name="UPC-A", left=9, right=9, high=Decimal("22.85"), long=((0, 10), (45, 50), (85, 95)),
    places=(Decimal(-6), *_middles(10, 5), *_middles(50, 5), Decimal(101)), small=(0, 11),
)  # fmt: skip
_EAN_8: Final = _Kind(
    name="EAN-8", left=7, right=7, high=Decimal("18.23"), long=((0, 3), (31, 36), (64, 67)),
    places=(*_middles(3, 4), *_middles(36, 4)),
)  # fmt: skip
_KINDS: Final = {8: _EAN_8, 12: _UPC_A, 13: _EAN_13}
_ROUND: Final = Decimal("0.4")  # modules by which round digits reach below their line
_DROP: Final = 5  # modules by which long bars reach below the others
_FONT, _SMALL_FONT = Decimal("10.4"), Decimal("8.4")  # in modules: digits of 2.5 mm at 100 %
_BELOW: Final = Decimal("9.33")  # modules from the bars' foot to the symbol's: 25.93 mm in all at 100 %


def is_gtin(number: str) -> bool:
    """Whether a number can be laid out as a barcode: a GTIN with its right check digit.

    >>> is_gtin("9520123456788"), is_gtin("9520123456789"), is_gtin("")
    (True, False, False)
    """
    return len(number) in LENGTHS and number.isascii() and number.isdigit() and right_digit(number)


def symbol(gtin: str, magnification: Decimal = Decimal(1)) -> Symbol:
    """Return the symbol that tills read: by its length an EAN-8, a UPC-A or an EAN-13; of 14 digits an ITF-14.

    Raises:
        ValueError: the number is no GTIN, or the magnification not from 80 % to 200 %.
    """
    if not SMALLEST <= magnification <= LARGEST:
        raise ValueError(f"a magnification of {magnification} is not from {SMALLEST} to {LARGEST}")
    number = gtin[1:] if len(gtin) == 14 and gtin[0] == "0" else gtin
    if len(number) == 14:
        return case_symbol(number)
    _check(number)
    return _laid_out(_KINDS[len(number)], number, MODULE * magnification)


def case_symbol(gtin: str, module: Decimal = CASE_MODULE) -> Symbol:
    """Return the ITF-14 of a case; a GTIN of 12 or 13 digits is filled up with zeros.

    Raises:
        ValueError: the number is no GTIN of 12 to 14 digits.
    """
    number = gtin.zfill(14)
    if len(gtin) < 12:
        raise ValueError(f"{gtin} is too short for a case")
    _check(number)
    bearer, quiet, high = 2 * module, 10 * module, Decimal("31.75")
    edges = list(accumulate(_itf_widths(number), initial=Decimal(0)))
    bars = tuple(
        Bar(quiet + left * module, bearer, (right - left) * module, high)
        for at, (left, right) in enumerate(pairwise(edges))
        if at % 2 == 0
    )
    width = edges[-1] * module + 2 * quiet
    frame = tuple(Bar(Decimal(0), top, width, bearer) for top in (Decimal(0), bearer + high))
    size = Decimal(5)
    foot = high + 2 * bearer + size
    step = width / 20
    digits = tuple(Digit(text, width / 2 + (at - Decimal("6.5")) * step, foot, size) for at, text in enumerate(number))
    return Symbol(
        kind="ITF-14", gtin=number, module=module, width=width, height=foot + 1, bars=(*frame, *bars), digits=digits
    )  # fmt: skip


def _check(number: str) -> None:
    if not (number.isascii() and number.isdigit() and len(number) in (*_KINDS, 14) and right_digit(number)):
        raise ValueError(f"{number!r} is no GTIN")


def modules_of(number: str) -> str:
    """Return the modules of an EAN or UPC symbol from guard to guard, 1 for a dark one: 95, or 67 of an EAN-8."""
    sets, digits = ("AAAAAA", number) if len(number) != 13 else (_FIRST[int(number[0])], number[1:])
    half = len(digits) // 2
    left = "".join(_SETS[name][int(digit)] for name, digit in zip(sets, digits[:half], strict=False))
    right = "".join(_C[int(digit)] for digit in digits[half:])
    return f"{_SIDE}{left}{_MIDDLE}{right}{_SIDE}"


def _laid_out(kind: _Kind, number: str, module: Decimal) -> Symbol:
    high = kind.high * module / MODULE
    bars = tuple(
        Bar((kind.left + start) * module, Decimal(0), wide * module, high + (_DROP * module if long else 0))
        for start, wide, long in _runs(modules_of(number), kind.long)
    )
    foot = high + _BELOW * module
    line = foot - _ROUND * module
    digits = tuple(
        Digit(text, (kind.left + place) * module, line, (_SMALL_FONT if at in kind.small else _FONT) * module)
        for at, (text, place) in enumerate(zip(number, kind.places, strict=True))
    )
    width = (kind.left + len(modules_of(number)) + kind.right) * module
    return Symbol(
        kind=kind.name, gtin=number, module=module, width=width, height=foot, bars=bars, digits=digits
    )  # fmt: skip


def _runs(modules: str, long: tuple[tuple[int, int], ...]) -> Iterator[tuple[int, int, bool]]:
    """Yield where each bar begins, how wide it is, and whether it reaches below the others, in modules."""
    at = 0
    for dark, group in groupby(modules):
        wide = len(list(group))
        if dark == "1":
            yield at, wide, any(start <= at < end for start, end in long)
        at += wide


def _itf_widths(number: str) -> Iterator[Decimal]:
    """Yield the widths of bars and spaces in turn, in modules: start, each pair of digits woven together, stop."""
    narrow = Decimal(1)
    yield from (narrow,) * 4
    for one, other in zip(number[::2], number[1::2], strict=True):
        for bar, space in zip(_WIDE[int(one)], _WIDE[int(other)], strict=True):
            yield from (_RATIO if wide == "1" else narrow for wide in (bar, space))
    yield from (_RATIO, narrow, narrow)
