"""Decides what is written of each column of the owner's sheet: filled in, left for her to decide, or left alone.

A column that items do not need is left alone so that no row fails because of it; a needed one is never hidden.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from pydantic import ValidationError

from listkit.cli.own_sheet import SheetRead
from listkit.edit.starter import ColumnLine
from listkit.learn.folding import parted
from listkit.learn.header import ColumnMatch
from listkit.model.fields import NO_CURRENCY
from listkit.model.item import Item
from listkit.read.faults import faults_of
from listkit.read.sheet import Row, column_letters
from listkit.read.table_file import fold, read_headings
from listkit.units.table import UnitKind, channel_places, units_of

FIELDS: Final = tuple(Item.model_fields)
NEEDED: Final = tuple(name.replace("_", " ") for name, field in Item.model_fields.items() if field.is_required())
_BASES: Final = tuple(unit for unit in units_of(UnitKind.MASS, UnitKind.VOLUME) if unit.size == 1)
_UNITS: Final = {
    "weight": tuple(channel_places(UnitKind.MASS)),
    "net": (*(unit.sign for unit in _BASES), *(unit.legal.sign for unit in _BASES if unit.legal)),
    "size": tuple(channel_places(UnitKind.LENGTH)),
    "shelf life": tuple(unit.sign for unit in units_of(UnitKind.TIME)),
}
_SIDES: Final = ("length", "width", "depth", "height")
_SOUND: Final = {"code": "A", "name": "A", "retail": "1", "cost": "1", "weight": "1 g", "size": "1 x 1 x 1 mm"}
_AS_IN: Final = {"code": "B-1", "retail": "6.50", "cost": "1.70", "size": "80 x 55 x 25 mm"}
_MOST: Final = 0.5


@dataclass(frozen=True, slots=True)
class Doubt:
    """A column for the owner to decide: its heading, and what it may be with the reason, in words."""

    heading: str
    words: str


@dataclass(frozen=True, slots=True)
class OwnColumns:
    """What is written of the columns: `lines` for shop.toml, and the same parted by how sure it is."""

    lines: tuple[ColumnLine, ...]
    understood: tuple[ColumnLine, ...]
    doubtful: tuple[Doubt, ...]
    unused: tuple[str, ...]
    missing: tuple[str, ...]


def own_columns(read: SheetRead) -> OwnColumns:
    """Return what is written of every column, in the order of the sheet."""
    twice = _twice(read)
    understood, doubtful, unused = [], [], []
    for at, match in enumerate(read.matches):
        heading = read.header.headings[at]
        if fold(heading) in twice:
            doubtful.append(Doubt(heading, "two columns have this heading: give each its own"))
        elif not match.field or not heading:
            unused += [heading] if heading else []
            doubtful += _unnamed(at, match) if match.field else []
        elif not match.sure:
            doubtful.append(Doubt(heading, _choices(match)))
        elif fault := _unreadable(match, _cells(read, at), read.currency.code):
            doubtful.append(Doubt(heading, f'"{_says(match)}" once its cells can be read: {fault}'))
        else:
            understood.append(ColumnLine(heading, _says(match)))
    doubts = tuple(dict.fromkeys(doubtful))
    lines = (*understood, *(ColumnLine(one.heading, "", f"? {one.words}") for one in doubts if one.heading))
    lines += _taken_otherwise(read, lines)
    return OwnColumns(lines, tuple(understood), doubts, tuple(unused), _missing(read, understood))


def _twice(read: SheetRead) -> frozenset[str]:
    """Return the headings, folded, that several columns have, where one of them could be of use."""
    counted = Counter(fold(heading) for heading in read.header.headings if heading)
    useful = {fold(read.header.headings[at]) for at, match in enumerate(read.matches) if match.field or match.second}
    return frozenset(heading for heading, count in counted.items() if count > 1 and heading in useful)


def _unnamed(at: int, match: ColumnMatch) -> list[Doubt]:
    return [Doubt("", f"column {column_letters(at)} has no heading; by its cells it may be the {match.field}")]


def _says(match: ColumnMatch) -> str:
    return f"{match.field} ({match.unit})" if match.unit and match.field in _UNITS else str(match.field)


def _choices(match: ColumnMatch) -> str:
    """Return what a doubtful column may be, as it would be written, and why that is not sure."""
    units = _UNITS.get(str(match.field), ()) if not match.unit and match.reason == "the numbers have no unit" else ()
    first = " or ".join(f'"{match.field} ({unit})"' for unit in units) or f'"{_says(match)}"'
    second = f', or "{match.second}"' if match.second else ""
    return f"{first}{second}: {match.reason}"


def _cells(read: SheetRead, at: int) -> tuple[str, ...]:
    return tuple(row[at] for row in read.samples if at < len(row) and row[at])


def _unreadable(match: ColumnMatch, cells: tuple[str, ...], currency: str) -> str:
    """Return the first fault of a column that items can do without, when half of its cells or more have one."""
    field = str(match.field)
    if field in NEEDED:
        return ""
    faults = [fault for cell in cells if (fault := _fault(field, _with_unit(cell, match.unit), currency))]
    return faults[0] if faults and len(faults) >= _MOST * len(cells) else ""


def _with_unit(cell: str, unit: str) -> str:
    return f"{cell} {unit}" if unit and not any(sign.isalpha() for sign in cell.replace("x", "")) else cell


def _fault(field: str, cell: str, currency: str) -> str:
    given: Mapping[str, str] = {**_SOUND, field.replace(" ", "_"): cell}
    try:
        Item.model_validate(given, context={"currency": currency or NO_CURRENCY})
    except ValidationError as error:
        fault = faults_of(Item, error)[0]
        return f"{fault.message} {fault.hint}"
    return ""


def _taken_otherwise(read: SheetRead, lines: tuple[ColumnLine, ...]) -> tuple[ColumnLine, ...]:
    """Return lines that leave columns alone which would be taken for one of ours by their heading alone."""
    row: Row = read.table.rows[read.header.index]
    aside: list[ColumnLine] = []
    known = {fold(line.heading) for line in lines}
    for _ in read.header.headings:
        own = {line.heading: line.says for line in (*lines, *aside)}
        columns = read_headings(row, FIELDS, own).columns
        more = [column.heading for column in columns if fold(column.heading) not in known]
        if not more:
            break
        known.update(map(fold, more))
        aside += [ColumnLine(heading, "", "left alone") for heading in more]
    return tuple(aside)


def _missing(read: SheetRead, understood: list[ColumnLine]) -> tuple[str, ...]:
    """Return what to add for each needed field that no column fills or may fill, in words."""
    given = {line.says.split(" (")[0] for line in understood}
    asked = {match.field for match in read.matches if match.field and match.heading}
    return tuple(f"{field}. {_to_add(field, read)}" for field in NEEDED if field not in given | asked)


def _to_add(field: str, read: SheetRead) -> str:
    description = Item.model_fields[field].description or ""
    as_in = f', as in "{_AS_IN[field]}"' if field in _AS_IN else ""
    add = f'Add a column "{field.capitalize()}" to {read.file}{as_in}.'
    if field == "size" and (joined := _joined_sides(read)):
        add = f'Add a column "Size" to {read.file} with {joined}, copied down.'
    return f"{description} {add}"


def _joined_sides(read: SheetRead) -> str:
    """Return the formula that joins sides which stand in columns of their own, "" when there are not three."""
    places = {match.known: at for at, match in enumerate(read.matches) if match.known}
    sides = [places[side] for side in _SIDES if side in places]
    if len(sides) == 2 and "diameter" in places:
        sides = [places["diameter"], *sides]
    if "diameter" in places and len(sides) == 1 and "height" in places:
        sides = [places["diameter"], places["diameter"], places["height"]]
    if len(sides) != 3:
        return ""
    cells = '&" x "&'.join(f"{column_letters(at)}{read.first_line}" for at in sides)
    stated = (way.unit for way in parted(read.header.with_units[sides[0]]) if way.kind == "length")
    return f'={cells}&" {next(stated, "mm")}"'
