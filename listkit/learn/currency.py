"""Guesses a shop's currency from the signs in its price columns; sure only where one currency is left."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from listkit.learn.cell_shapes import amount, sign_of
from listkit.learn.folding import parted
from listkit.learn.header import ColumnMatch
from listkit.learn.values import filled
from listkit.units.money import MINOR_DIGITS, SIGNS

_MONEY: Final = frozenset({"retail", "cost"})
_ENOUGH: Final = 0.5
_SEVERAL: Final = 2
# Other pounds are told apart by letters (E£, FK£): the bare sign is sterling's. From memory.
_BARE: Final = {"£": ("GBP",)}


@dataclass(frozen=True, slots=True)
class CurrencyGuess:
    """The currency when it is sure, else ""; the signs seen, and the currencies that they leave."""

    code: str
    signs: tuple[str, ...] = ()
    choices: tuple[str, ...] = ()


def guess_currency(matches: Sequence[ColumnMatch], samples: Sequence[Sequence[str]]) -> CurrencyGuess:
    """Return what the headings and cells of the money columns say of the currency."""
    columns = [
        _signs(match, tuple(row[at] for row in samples if at < len(row)))
        for at, match in enumerate(matches)
        if _MONEY & {match.field, match.second}
    ]
    seen = tuple(sorted({one.sign for signs in columns for one in signs}))
    if not seen:
        return CurrencyGuess("")
    left = [code for code in _currencies(seen[0]) if all(code in _currencies(sign) for sign in seen)]
    signed = [one for signs in columns for one in signs]
    enough = any(one.share >= _ENOUGH for one in signed) or sum(one.count for one in signed) >= _SEVERAL
    return CurrencyGuess(left[0] if len(left) == 1 and enough else "", seen, tuple(left))


@dataclass(frozen=True, slots=True)
class _Signed:
    """A sign in a column of money: how many of its amounts carry it, and their share."""

    sign: str
    count: int
    share: float


def _signs(match: ColumnMatch, cells: tuple[str, ...]) -> tuple[_Signed, ...]:
    """Return the signs of a money column; one in the heading holds for all of it."""
    priced = [cell for cell in filled(cells) if amount(cell) is not None]
    counted = Counter(sign for cell in priced if (sign := _plain(sign_of(cell))))
    if stated := _in_heading(match):
        counted[stated] = len(priced)
    return tuple(_Signed(sign, count, count / len(priced) if priced else 1.0) for sign, count in counted.items())


def _currencies(sign: str) -> tuple[str, ...]:
    return _BARE.get(sign) or SIGNS.get(sign) or (sign,)


def _plain(sign: str) -> str:
    return sign.upper() if sign.upper() in MINOR_DIGITS else sign


def _in_heading(match: ColumnMatch) -> str:
    units = [match.unit, *(way.unit for way in parted(match.heading) if way.kind == "money")]
    return next((_plain(unit) for unit in units if unit), "")
