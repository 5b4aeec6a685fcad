"""Understands the header of a table: which column fills which of our fields, and what unit it states.

A heading names one of our fields: "Weight (g)", "weight in oz", "retail £" and "shelf_life, months" are read alike;
case, underscores and spaces do not matter. Headings that are none of ours are left alone, unless they are nearly one.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain, islice
from typing import Final

from listkit.read.sheet import Row
from listkit.read.wording import nearest
from listkit.units.length import LENGTH_UNITS
from listkit.units.money import MINOR_DIGITS, SIGNS
from listkit.units.net import VOLUME_UNITS
from listkit.units.table import UnitKind, says_no_unit, sizes_by_word, units_of
from listkit.units.weight import WEIGHT_UNITS

_BRACKETS: Final = re.compile(r"(.[^(\[\n]*?)\s*[(\[]\s*(.*?)\s*[)\]]")
_IN: Final = re.compile(r"(.+?)\s+in\s+(.+)")
_COMMA: Final = re.compile(r"(.+?)\s*[,/:]\s*(.+)")
_LAST_WORD: Final = re.compile(r"(.+?)\s+(\S+)")
_MONTHS: Final = tuple(sizes_by_word(UnitKind.TIME))
_LENGTHS: Final = tuple(LENGTH_UNITS)
_SPACED: Final = tuple(unit.sign for unit in units_of(UnitKind.MASS, UnitKind.VOLUME) if " " in unit.sign)
_NETS: Final = (
    *WEIGHT_UNITS, *VOLUME_UNITS, *LENGTH_UNITS, *_SPACED, *(sign.replace(" ", ". ") for sign in _SPACED)
)  # fmt: skip
_MONEYS: Final = tuple(sign.casefold() for sign in (*SIGNS, *MINOR_DIGITS))
UNITS: Final[Mapping[str, tuple[str, ...]]] = {
    "weight": tuple(WEIGHT_UNITS),
    "size": _LENGTHS,
    "net": _NETS,
    "shelf_life": _MONTHS,
    "after_opening": _MONTHS,
    "from_age": _MONTHS,
    "retail": _MONEYS,
    "cost": _MONEYS,
    "over": tuple(WEIGHT_UNITS),
    "up_to": tuple(WEIGHT_UNITS),
    "price": _MONEYS,
}
"""The units that a heading may state for a column, by field."""
_HEADER_WITHIN: Final = 30
_LONGEST: Final = 300
"""Letters of a heading; what is longer is a text, in which nobody looks for a unit."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column that fills one of our fields: its place from 0, the heading as written, the unit it states."""

    index: int
    heading: str
    field: str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Headings:
    """The header row understood.

    `twice` are columns whose field an earlier one fills already, `nearly` pairs of an unknown heading and what it was
    probably meant to be.
    """

    row: Row
    columns: tuple[Column, ...]
    twice: tuple[Column, ...]
    nearly: tuple[tuple[str, str], ...]

    @property
    def fields(self) -> frozenset[str]:
        """The fields that have a column."""
        return frozenset(column.field for column in self.columns)


@lru_cache(maxsize=4096)  # the names of fields, and the cells of the first rows
def fold(heading: str) -> str:
    """Return a heading without what does not matter: case, underscores, hyphens, spaces."""
    return " ".join(heading.replace("_", " ").replace("-", " ").casefold().split())


def find_headings(
    rows: Iterable[Row], fields: tuple[str, ...], required: frozenset[str], owners: Mapping[str, str]
) -> Headings | None:
    """Return the header: among the first rows the one that names most of the required fields; None when none does.

    `owners` are the owner's headings and our names for them, "" for a column that is to be left alone.
    """
    best: Headings | None = None
    for row in islice((row for row in rows if not row.blank), _HEADER_WITHIN):
        read = read_headings(row, fields, owners, slips=False)
        if best is None or _named(read, required) > _named(best, required):
            best = read
    return read_headings(best.row, fields, owners) if best is not None and best.columns else None


def _named(headings: Headings, required: frozenset[str]) -> tuple[int, int]:
    return len(headings.fields & required), len(headings.fields)


def read_headings(row: Row, fields: tuple[str, ...], owners: Mapping[str, str], *, slips: bool = True) -> Headings:
    """Return one row understood as a header: plain headings first, then those with a remark, as in "name (short)".

    Without `slips` nothing is looked for that unknown headings may have been meant to be, which takes longest.
    """
    ours = {fold(heading): name for heading, name in owners.items()}
    known = {fold(field): field for field in fields}
    aside = {heading for heading, name in ours.items() if not name}
    texts = [" ".join(cell.text.split()) for cell in row.cells]
    plain = [(at, text, *_understood(text, ours, known)) for at, text in enumerate(texts)]
    columns: list[Column] = []
    twice: list[Column] = []
    for at, text, name, unit in plain:
        if name:
            taken = any(column.field == name for column in columns)
            (twice if taken else columns).append(Column(at, text, name, unit))
    nearly: list[tuple[str, str]] = []
    for at, text in ((at, text) for at, text, name, _ in plain if text and not name and fold(text) not in aside):
        base = fold(_split(text)[0])
        if base not in known:
            nearly += [(text, near)] if slips and (near := nearest(base, known)) else []
        elif all(column.field != known[base] for column in columns):
            columns.append(Column(at, text, known[base]))
    return Headings(row, tuple(columns), tuple(twice), tuple(nearly))


def _understood(heading: str, ours: Mapping[str, str], known: Mapping[str, str]) -> tuple[str, str]:
    """Return field and unit of a heading: by the owner's word for it, else by ours; "" when it is none."""
    for text in (heading, _split(heading)[0]) if ours else ():
        if fold(text) in ours and (ours[fold(text)] or text == heading):
            name, own_unit = _split(ours[fold(text)])
            return known.get(fold(name), ""), own_unit or _split(heading)[1]
    if fold(heading) in known:
        return known[fold(heading)], ""
    for base, unit in _splits(heading):
        field = known.get(fold(base), "")
        if field and known_unit(field, unit):
            return field, unit
    return "", ""


def _split(heading: str) -> tuple[str, str]:
    return next(iter(_splits(heading)), (heading, ""))


@lru_cache(maxsize=4096)  # each cell of the first rows is asked for again and again
def _splits(heading: str) -> tuple[tuple[str, str], ...]:
    """Return the ways to part a heading into a name and a unit, the plainest first."""
    if len(heading) > _LONGEST:
        return ()
    plain = [(match[1], match[2]) for pattern in (_BRACKETS, _IN, _COMMA) if (match := pattern.fullmatch(heading))]
    last = _LAST_WORD.fullmatch(heading)
    if last and any(last[2].casefold().rstrip(".") in units for units in UNITS.values()):
        plain.append((last[1], last[2]))
    return tuple(plain)


def our_field(name: str, fields: tuple[str, ...]) -> str:
    """Return the field that a name of ours means, with or without a unit: "weight (g)" is weight; "" for none."""
    known = {fold(field): field for field in fields}
    return known.get(fold(name), "") or known.get(fold(_split(name)[0]), "")


def without_unit(heading: str) -> str:
    """Return a heading less its unit or remark."""
    return _split(heading)[0]


def known_unit(field: str, unit: str) -> bool:
    """Whether a heading may state this unit for this field."""
    return unit.casefold().rstrip(".") in UNITS.get(field, ()) or unit.casefold() in UNITS.get(field, ())


_UNIT_WORDS: Final = frozenset(chain.from_iterable(UNITS.values()))


def is_units(row: Row) -> bool:
    """Whether a row says only what the columns above it are measured in; "pcs" and "%" say so beside a unit."""
    if not all(_is_unit(cell.text) or says_no_unit(cell.text.strip("()[] ")) for cell in row.cells):
        return False
    return row.blank or any(cell.text and _is_unit(cell.text) for cell in row.cells)


@lru_cache(maxsize=8192)  # of most rows the first cell is a code or a name
def _is_unit(text: str) -> bool:
    word = text.strip("()[] ")
    return not word or not _UNIT_WORDS.isdisjoint((word.casefold(), word.casefold().rstrip(".")))
