"""The row that names the columns, of a sheet and of a sample; and what prices and measures say of the whole shop."""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Final

from listkit.learn.cell_shapes import (
    amount,
    could_be_gtin,
    has_letters,
    has_markup,
    is_address,
    is_day,
    is_picture,
    is_plain_code,
    sign_of,
    units_in,
)
from listkit.learn.folding import parted, unit_of
from listkit.learn.heading import heading_of
from listkit.learn.hits import AMONG, hits
from listkit.learn.matching import Match
from listkit.learn.values import filled
from listkit.learn.words import FEEDS
from listkit.problem import FieldError
from listkit.units.money import MINOR_DIGITS, SIGNS
from listkit.units.shown import UnitSystem
from listkit.units.table import UnitKind, says_no_unit, units_of

# The row that names the columns: below titles and groups of columns, above the rows and a row of units.

WITHIN: Final = 30
"""Rows in which the one that names the columns is looked for."""
_WIDEST: Final = 60  # filled cells of a row that are looked at for headings, until it is known which row has them
_SIDES: Final = ("length", "width", "depth", "height")
Row = Sequence[str]


@dataclass(frozen=True, slots=True)
class HeaderRow:
    """The header: its place among the rows given, from 0, its headings in one line each, and the units right below.

    `first` is the place of the first row that may be a thing. `units` is empty unless a row of its own holds them.
    """

    index: int
    headings: tuple[str, ...]
    units: tuple[str, ...] = ()

    @property
    def first(self) -> int:
        """The place of the first row below header and units."""
        return self.index + (2 if self.units else 1)

    @property
    def with_units(self) -> tuple[str, ...]:
        """The headings, each with the unit that stands below it."""
        return tuple(
            f"{heading} ({self.units[at]})" if at < len(self.units) and self.units[at] else heading
            for at, heading in enumerate(self.headings)
        )


def find_header(rows: Sequence[Row]) -> HeaderRow | None:
    """Return the row that names most of what items have; None when no row names two things, or all of its few."""
    best, place = (0, 0), -1
    seen = 0
    for at, row in enumerate(rows):
        filled = [cell for cell in row if cell.strip()]
        seen += bool(filled)
        if seen > WITHIN:
            break
        named = heading_score(row)
        if named > best and named[0] >= min(2, len(filled)):
            best, place = named, at
    if place < 0:
        return None
    headings = tuple(" ".join(cell.split()) for cell in rows[place])
    return HeaderRow(place, headings, _units(rows[place + 1]) if place + 1 < len(rows) else ())


def heading_score(row: Row) -> tuple[int, int]:
    """Return how many fields of items a row names, and how many of its cells mean anything as headings."""
    texts = islice((" ".join(cell.split()) for cell in row if cell.strip()), _WIDEST)
    found = [[hit for hit in hits(text) if hit.score >= AMONG] for text in texts]
    fields = {one[0].meaning.item for one in found if one} - {""}
    return len(fields), sum(bool(one) for one in found)


def _units(row: Row) -> tuple[str, ...]:
    """Return the units in a row that holds nothing else but words for pieces, which are no unit of ours."""
    words = [cell.strip().strip("()[]").strip() for cell in row]
    known = [bool(word) and bool(unit_of(word)[0]) for word in words]
    plain = [not word or yes or says_no_unit(word) for yes, word in zip(known, words, strict=True)]
    stated = tuple(word if yes else "" for yes, word in zip(known, words, strict=True))
    return stated if any(known) and all(plain) else ()


# The row of a sample that names its columns, below titles and notes.

_LONGEST: Final = 80
_HINT: Final = "Write the storefront's headings above the first row, or write the channel's [[column]]s by hand."


def header_row(rows: Sequence[Sequence[str]]) -> int:
    """Return the place of the row that names the columns.

    Raises:
        FieldError: no row does.
    """
    scores = [_named(row) for row in rows[:WITHIN]]
    best = max(range(len(scores)), key=lambda at: (scores[at], -at), default=None)
    if best is None:
        raise FieldError("nothing stands in it.", "Ask the storefront for a sample with a row of headings.")
    if scores[best] >= min(2, sum(map(bool, rows[best]))) and _looks_like_headings(rows[best]):
        return best
    first = next(at for at, row in enumerate(rows) if any(row))
    below = [row for row in rows[first + 1 : WITHIN] if any(row)]
    if _looks_like_headings(rows[first]) and sum(map(bool, rows[first])) > 1 and _unlike(rows[first], below):
        return first
    raise FieldError("no row names the columns.", _HINT)


def _named(row: Sequence[str]) -> int:
    """Return how many meanings a row names."""
    texts = islice((cell for cell in row if cell and len(cell) <= _LONGEST), _WIDEST)
    found = [hits(heading_of(text).numbered.plain, FEEDS) for text in texts]
    return len({(one[0].meaning.feed or one[0].meaning.name) for one in found if one and one[0].score >= AMONG})


def _looks_like_headings(row: Sequence[str]) -> bool:
    """Whether the cells of a row may be headings, one odd one in five aside: words, no amounts, addresses, days."""
    filled = [cell for cell in row if cell]
    return bool(filled) and 5 * sum(map(_is_value, filled)) <= len(filled)


def _is_value(cell: str) -> bool:
    bare = amount(cell) is not None or could_be_gtin(cell) or is_day(cell)
    linked = is_address(cell) or is_picture(cell) or has_markup(cell)
    return bare or linked or len(cell) > _LONGEST or not has_letters(cell)


def _unlike(header: Sequence[str], below: Sequence[Sequence[str]]) -> bool:
    """Whether the rows below look like something else than headings, or there are none; "F1" may head "ZZ-01"."""
    values = [_is_value(cell) or is_plain_code(cell) for row in below for cell in row if cell]
    codes = [(at, cell) for at, cell in enumerate(header) if is_plain_code(cell)]
    alike = [_shape(row[at]) == _shape(cell) for row in below for at, cell in codes if at < len(row)]
    return not below or (any(values) and not any(alike))


def _shape(cell: str) -> str:
    return re.sub(r"[^\W\d_]", "a", re.sub(r"\d", "9", cell))


_MOST_NOTES: Final = 4


def rows_of_goods(rows: Sequence[Sequence[str]], header: int) -> tuple[Sequence[str], ...]:
    """Return the rows below the header that hold something, less those right below it that explain the headings.

    A row explains where it has words in each of the columns that hold numbers, addresses or dates further down.
    """
    below = tuple(row for row in rows[header + 1 :] if any(row))
    for notes in range(min(_MOST_NOTES, len(below) - 1), 0, -1):
        goods = below[notes:]
        places = [at for at in range(len(rows[header])) if _holds_values(goods, at)]
        if len(places) > 1 and all(_explains(row, places) for row in below[:notes]):
            return goods
    return below


def _holds_values(rows: Sequence[Sequence[str]], place: int) -> bool:
    cells = [row[place] for row in rows if place < len(row) and row[place]]
    return bool(cells) and all(map(_is_value, cells))


def _explains(row: Sequence[str], places: Sequence[int]) -> bool:
    cells = [row[at] for at in places if at < len(row) and row[at]]
    return bool(cells) and not any(map(_is_plain_value, cells))


def _is_plain_value(cell: str) -> bool:
    """Whether a cell is a value and no words about one, as "13 digits" is."""
    return _is_value(cell) and not (has_letters(cell) and " " in cell)


# The shop's currency, by the signs in its price columns; sure only where one currency is left.

_MONEY_FIELDS: Final = frozenset({"retail", "cost"})
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


def guess_currency(matches: Sequence[Match], samples: Sequence[Sequence[str]]) -> CurrencyGuess:
    """Return what the headings and cells of the money columns say of the currency."""
    columns = [
        _signs(match, tuple(row[at] for row in samples if at < len(row)))
        for at, match in enumerate(matches)
        if _MONEY_FIELDS & {match.field, match.second}
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


def _signs(match: Match, cells: tuple[str, ...]) -> tuple[_Signed, ...]:
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


def _in_heading(match: Match) -> str:
    units = [match.unit, *(way.unit for way in parted(match.heading.text) if way.kind == "money")]
    return next((_plain(unit) for unit in units if unit), "")


# Her measure, by the units of weights and sizes; net contents are declared as laws want and say nothing of it.

_MEASURED_FIELDS: Final = frozenset({"weight", "size", "length", "width", "depth", "height", "diameter"})
_MEASURED_KINDS: Final = frozenset({"mass", "length"})
_CUSTOMARY: Final = frozenset(unit.sign for unit in units_of(UnitKind.MASS, UnitKind.LENGTH) if not unit.metric)
_NEARLY_ALL: Final = 0.8


@dataclass(frozen=True, slots=True)
class MeasureGuess:
    """The measure, None where the sheet names no units or as many of either, and the units seen, most first."""

    system: UnitSystem | None
    signs: tuple[str, ...] = ()


def guess_measure(matches: Sequence[Match], samples: Sequence[Sequence[str]]) -> MeasureGuess:
    """Return what headings and cells of weights and sizes say of the measure."""
    seen: Counter[str] = Counter()
    for at, match in enumerate(matches):
        if not _MEASURED_FIELDS & {match.field, match.known}:
            continue
        cells = filled(tuple(row[at] for row in samples if at < len(row)))
        stated = [match.unit, *(way.unit for way in parted(match.heading.text) if way.kind in _MEASURED_KINDS)]
        if unit := next(filter(None, stated), ""):
            seen[unit] += max(1, len(cells))
            continue
        seen.update(sign for cell in cells for kind, sign in set(units_in(cell)) if kind in _MEASURED_KINDS)
    signs = tuple(sign for sign, _ in seen.most_common())
    customary = sum(count for sign, count in seen.items() if sign in _CUSTOMARY) / (seen.total() or 1)
    if not signs or 1 - _NEARLY_ALL < customary < _NEARLY_ALL:
        return MeasureGuess(None, signs)
    return MeasureGuess("customary" if customary >= _NEARLY_ALL else "metric", signs)


def columns_of_sides(matches: Sequence[Match]) -> tuple[int, ...]:
    """Return which columns have length, width and height, each a column of its own; () where there are not three."""
    places = {match.known: at for at, match in enumerate(matches) if match.known}
    sides = [places[side] for side in _SIDES if side in places]
    if "diameter" in places and len(sides) == len(_SIDES) - 2:
        sides = [places["diameter"], *sides]
    if "diameter" in places and len(sides) == 1 and "height" in places:
        sides = [places["diameter"], places["diameter"], places["height"]]
    return tuple(sides) if len(sides) == len(_SIDES) - 1 else ()
