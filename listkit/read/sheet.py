"""Opens a table as rows of cells: CSV with comma, semicolon or tab, XLSX and ODS, read alike.

The separator is the one that lets the header be understood best. Broken rows are told; the rows before
them stay. Blank rows are passed over; a row keeps the number it has in the file.
"""

import csv
import io
from collections.abc import Callable, Iterable
from itertools import islice
from typing import Final

from listkit.problem import FieldError, Place, Problem
from listkit.read.cells import Row, Sheet, typed_cell
from listkit.read.source import decoded_table
from listkit.read.workbook import is_workbook, workbook_rows

Score = Callable[[Iterable[Row]], tuple[int, ...]]
"""How well the first rows of a sheet are understood; more is better."""
_SEPARATORS: Final = ",;\t"
_SAMPLE: Final = 60
_MOST_ROWS: Final = 100_000
_MOST_COLUMNS: Final = 500
_TOO_MANY: Final = "too many"
_TEXT_ENDINGS: Final = (".csv", ".txt", ".tsv")


def read_sheet(file: str, content: bytes, score: Score, *, sheet: str = "") -> tuple[Sheet | None, list[Problem]]:
    """Return the rows of the table in `content`; `sheet` names one of a workbook's."""
    if not content.strip():
        return None, [Problem(Place(file), "syntax", "it is empty.", "Write a row of headings, and a row for each.")]
    if file.lower().endswith(_TEXT_ENDINGS):
        return _text_sheet(file, content, score)
    try:
        return Sheet(file, tuple(row for row in workbook_rows(content, sheet) if not row.blank), workbook=True), []
    except FieldError as fault:
        return None, [Problem(Place(file), "syntax", fault.message, fault.hint)]


def _text_sheet(file: str, content: bytes, score: Score) -> tuple[Sheet | None, list[Problem]]:
    if is_workbook(content):
        hint = "Give the file the ending .xlsx or .ods, or save it as CSV."
        return None, [Problem(Place(file), "syntax", "it is a workbook and no CSV.", hint)]
    source = decoded_table(file, content)
    if isinstance(source, Problem):
        return None, [source]
    text, first_line = source.text, 1
    if text[:4].lower() == "sep=" and text[5:6] in "\r\n":  # some programs state the separator so
        separator, first_line = text[4], 2
        text = text[4:].partition("\n")[2]
    else:
        separator = max(_SEPARATORS, key=lambda sign: score(islice(_rows(text, sign, []), _SAMPLE)))
    faults: list[tuple[int, str]] = []
    rows = tuple(_rows(text, separator, faults, first_line=first_line))
    problems = [Problem(Place(file, line=line), "syntax", *_words(told)) for line, told in faults]
    return Sheet(file, rows), problems


def _rows(text: str, separator: str, faults: list[tuple[int, str]], *, first_line: int = 1) -> Iterable[Row]:
    """Yield the rows that hold something; where one is broken, put its line and what was told into `faults` and end."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, skipinitialspace=True, strict=True)
    line, seen = first_line, 0
    try:
        for cells in reader:
            if any(cells):
                seen += 1
                yield Row(line, tuple(map(typed_cell, cells[:_MOST_COLUMNS])))
            line = reader.line_num + first_line
            if seen == _MOST_ROWS:
                faults.append((line, _TOO_MANY))
                return
    except csv.Error as fault:
        faults.append((line, str(fault)))


def _words(told: str) -> tuple[str, str]:
    if told == _TOO_MANY:
        return f"it has more than {_MOST_ROWS} rows; those from here on are left out.", "Is it the right file?"
    if "expected after" in told:
        hint = 'Double a quotation mark within a text in quotes: "a ""good"" bar".'
        return "text stands behind a closing quotation mark; the rows from here on are left out.", hint
    if "larger than" in told:
        message = "a cell is longer than any text of a shop, or its quotation mark is not closed; "
        return f"{message}the rows from here on are left out.", "Shorten it, or close the quotes."
    hint = "Close the quotes, or take them out."
    return "a quotation mark is not closed; the rows from here on are left out.", hint
