"""A table as a workbook with one sheet: cells of the right type, the same bytes on every run, read again another way.

Text is text, so leading zeros and long numbers stay as they are and nothing becomes a formula; figures are numbers of
fifteen digits at most, days are dates. A row is written at a time and none is kept, and it is read again in slices.
"""

import datetime
import io
import struct
import zipfile
import zlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import zip_longest
from pathlib import Path
from typing import Final

import xlsxwriter  # type: ignore[import-untyped]
from xlsxwriter.exceptions import XlsxWriterException  # type: ignore[import-untyped]

from listkit.listing.cells import LONGEST_XLSX_CELL, unwritable
from listkit.listing.measure import utf16_units
from listkit.listing.rows import Row
from listkit.problem import FieldError
from listkit.write.xlsx_slices import damaged_part, sheet_rows

LIBRARY: Final = f"xlsxwriter {xlsxwriter.__version__}"  # its bytes are its own
_LONGEST_NAME: Final = 31  # of a sheet
_EXACT_DIGITS: Final = 15  # that a binary number of 64 bits holds (IEEE 754)
_CREATED: Final = datetime.datetime(2000, 1, 1)  # noqa: DTZ001 - a workbook states a day without a zone, this one always
_FIRST_YEAR: Final = 1901  # days of a workbook begin in 1900, which it takes for a leap year
_OPTIONS: Final = {
    "constant_memory": True,
    "strings_to_numbers": False,
    "strings_to_formulas": False,
    "strings_to_urls": False,
}
Found = str | float | datetime.date
"""What a cell reads as."""


class Type(StrEnum):
    """What the cells of a column are."""

    TEXT = "text"
    NUMBER = "number"
    DAY = "day"


@dataclass(frozen=True, slots=True)
class SheetColumn:
    """A column of the sheet: the type of its cells, and how a workbook shows them ("0.00", "yyyy-mm-dd")."""

    type: Type = Type.TEXT
    shown: str = "@"


@dataclass(frozen=True, slots=True)
class SheetForm:
    """All that decides which bytes a table of cells becomes: the sheet's name, its columns, whether it has a header."""

    name: str
    columns: tuple[SheetColumn, ...]
    header: bool


def write_sheet(path: Path, rows: Iterable[Row], form: SheetForm) -> None:
    """Write the rows, the header among them, to a workbook at `path`; figures have a point, days are in ISO 8601.

    Raises:
        FieldError: a text has a character, or a length, that a workbook has not.
    """
    packed = io.BytesIO()  # a ZIP that a full disk cuts short would complain behind our back
    try:
        with xlsxwriter.Workbook(packed, _OPTIONS) as book:
            book.set_properties({"created": _CREATED})
            _fill(book, rows, form)
    except XlsxWriterException as fault:
        raise OSError(f"the workbook cannot be written: {fault}") from fault
    path.write_bytes(packed.getbuffer())


def _fill(book: xlsxwriter.Workbook, rows: Iterable[Row], form: SheetForm) -> None:
    sheet = book.add_worksheet(form.name[:_LONGEST_NAME])
    shown = [book.add_format({"num_format": column.shown}) for column in form.columns]
    text, bold = book.add_format({"num_format": "@"}), book.add_format({"num_format": "@", "bold": True})
    if form.header:
        sheet.freeze_panes(1, 0)
    for number, row in enumerate(rows):
        in_header = form.header and number == 0
        for at, cell in enumerate(row):
            value = cell if in_header else value_of(cell, form.columns[at])
            if value == "":
                continue  # a cell that is not there is what programs take for an empty one
            if isinstance(value, str):
                _check(value, number, at)
                sheet.write_string(number, at, value, bold if in_header else text)
            elif isinstance(value, float):
                sheet.write_number(number, at, value, shown[at])
            else:
                sheet.write_datetime(number, at, value, shown[at])


def value_of(cell: str, column: SheetColumn) -> Found:
    """Return what a cell becomes; text where a number or a day of a workbook could not hold all of it."""
    if column.type is Type.NUMBER and cell and sum(sign.isdigit() for sign in cell) <= _EXACT_DIGITS:
        return float(cell)
    if column.type is Type.DAY and cell and (day := datetime.date.fromisoformat(cell)).year >= _FIRST_YEAR:
        return day
    return cell


def _check(text: str, number: int, at: int) -> None:
    where = f"row {number + 1}, column {at + 1} of the sheet"
    if sign := unwritable(text, "xlsx"):
        raise FieldError(f"{where}: a workbook has no U+{ord(sign):04X}.", "Take it out of the text.")
    if utf16_units(text) > LONGEST_XLSX_CELL:
        raise FieldError(f"{where}: a cell of a workbook takes {LONGEST_XLSX_CELL:,} characters.", "Shorten the text.")


def sheet_fault(path: Path, rows: Iterable[Row], form: SheetForm) -> str:
    """Return "" when the workbook reads as exactly these rows, each cell of its type, else the first difference."""
    try:
        if broken := damaged_part(path):
            return f"its part {broken} is damaged."
        return _difference(sheet_rows(path), rows, form)
    except (zipfile.BadZipFile, zlib.error, struct.error, ValueError, OSError, NotImplementedError) as fault:
        return f"it is no workbook: {fault}."


def _difference(found: Iterator[tuple[object, ...]], rows: Iterable[Row], form: SheetForm) -> str:
    types = tuple(SheetColumn() for _ in form.columns)
    for number, (cells, row) in enumerate(zip_longest(found, rows), 1):
        if row is None:
            return f"row {number} was not asked for."
        columns = types if form.header and number == 1 else form.columns
        wanted = _bare([value_of(cell, column) for cell, column in zip(row, columns, strict=True)])
        if cells is None and wanted:
            return f"it ends before row {number}."
        if _bare(cells or ()) != wanted:
            return f"row {number} is not the one that was asked for."
    return ""


def _bare(cells: Sequence[object]) -> list[tuple[type, object]]:
    """Return the cells with their types, without empty ones at the end, which a workbook does not hold."""
    end = next((at for at in range(len(cells), 0, -1) if cells[at - 1] != ""), 0)
    return [(type(cell), cell) for cell in cells[:end]]
