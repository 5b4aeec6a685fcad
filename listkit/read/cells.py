"""Rows of cells as a sheet has them, whatever the kind of file, and what a spreadsheet did to them.

A cell is text as one would type it: "7.5", "true", "2027-03-01". A value that a spreadsheet has
turned into something else (a date, a power of ten) says so in `turned`.
"""

import datetime
import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

MOST_EXACT: Final = 10**15  # a spreadsheet keeps 15 digits of a number
_MONTH: Final = "Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec"
_DATE: Final = re.compile(
    rf"\d{{1,2}}[-/.]\d{{1,2}}[-/.](\d{{2}}|\d{{4}})|\d{{4}}-\d{{2}}-\d{{2}}( \d\d:\d\d(:\d\d)?)?"
    rf"|\d{{1,2}}-({_MONTH})(-\d{{2,4}})?|({_MONTH})-\d{{2}}"
)
_POWER: Final = re.compile(r"\d+([.,]\d+)?[eE][+-]?\d+")


@dataclass(frozen=True, slots=True)
class Cell:
    """What a cell says, and what a spreadsheet made of it: "a date", "a power of ten", ... or ""."""

    text: str
    turned: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """One row: where it begins (physical line, or row of the sheet; from 1) and its cells."""

    line: int
    cells: tuple[Cell, ...]

    @property
    def blank(self) -> bool:
        """Whether nothing stands in it."""
        return not any(cell.text for cell in self.cells)

    def text(self, column: int) -> str:
        """Return what stands in a column, "" beyond the row's end."""
        return self.cells[column].text if column < len(self.cells) else ""


@dataclass(frozen=True, slots=True)
class Sheet:
    """All rows of one table; `workbook` says that cells have names such as G7."""

    file: str
    rows: tuple[Row, ...]
    workbook: bool = False


_EMPTY: Final = Cell("")


def typed_cell(text: str) -> Cell:
    """Return the cell of a text file; `turned` tells what a code was probably turned into before it was saved."""
    text = text.strip()
    if not text:
        return _EMPTY
    if _POWER.fullmatch(text):
        return Cell(text, "a power of ten")
    return Cell(text, "a date" if _DATE.fullmatch(text) else "")


def workbook_cell(value: object) -> Cell:
    """Return the cell of a workbook from the value that stands in it."""
    if isinstance(value, str):
        return typed_cell(value)
    if isinstance(value, bool):
        return Cell("true" if value else "false", "a truth value")
    if isinstance(value, (int, float)):
        return _number(value)
    if isinstance(value, datetime.datetime) and value.time() == datetime.time():
        value = value.date()
    if isinstance(value, (datetime.date, datetime.datetime)):
        return Cell(str(value), "a date")
    return Cell(str(value), "a time") if value is not None else _EMPTY


def _number(value: float) -> Cell:
    """Return a number with the 15 digits that a spreadsheet shows: 0.1 + 0.2 is 0.3 there."""
    if isinstance(value, float) and (value != value or abs(value) == float("inf")):  # noqa: PLR0124 - NaN alone
        return Cell(str(value), "no number at all")
    text = f"{Decimal(format(value, '.15g') if isinstance(value, float) else value):f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    if abs(value) >= MOST_EXACT:
        return Cell(text, "a number with digits lost")
    return Cell(text, "a number, which has no zeros at its end" if "." in text else "")


def column_letters(index: int) -> str:
    """Return the letters of a column counted from 0: A, B, ... Z, AA."""
    letters = ""
    index += 1
    while index:
        index, digit = divmod(index - 1, 26)
        letters = chr(65 + digit) + letters
    return letters
