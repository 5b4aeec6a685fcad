"""Opens a table as rows of cells: CSV with comma, semicolon or tab, XLSX and ODS, read alike.

A cell is text as one would type it: "7.5", "true", "2027-03-01"; a value that a spreadsheet has turned into something
else (a date, a power of ten) says so in `turned`. Blank rows are passed over; a row keeps the number it has in the
file. Of a CSV the separator is the one that lets the header be understood best, and a broken row ends the table with
a problem; the rows before it stay. A workbook is looked through by `workbook_parts` before the reader proper sees it;
only the parts so checked are passed on. What is no small one is read in a process with limits.
"""

import csv
import datetime
import io
import json
import re
import zipfile
import zlib
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, replace
from decimal import Decimal
from functools import lru_cache
from itertools import accumulate, islice
from pathlib import Path
from typing import Any, Final

from python_calamine import CalamineWorkbook, SheetVisibleEnum

from listkit import bounds
from listkit.bounded_csv import broken_row, stated_separator
from listkit.limited import BOUNDS_PROCESSES, Limits, run_limited
from listkit.problem import FieldError, Place, Problem, quoted
from listkit.read.source import decoded_table
from listkit.read.workbook_parts import (
    AGAIN,
    FAILED,
    MOST_ROWS,
    SMALL,
    STYLES,
    WHOLE,
    Measure,
    Parts,
    TooLargeError,
    Unworked,
    is_error,
)

# Cells and rows, whatever the kind of file.

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


@lru_cache(maxsize=65_536)
def typed_cell(text: str) -> Cell:
    """Return the cell of a text file; `turned` is what a code was probably turned into before it was saved."""
    text = text.strip()
    if not text:
        return _EMPTY
    if _POWER.fullmatch(text):
        return Cell(text, "a power of ten")
    return Cell(text, "a date" if _DATE.fullmatch(text) else FAILED if is_error(text) else "")


def workbook_cell(value: object) -> Cell:
    """Return the cell of a workbook from its value."""
    if isinstance(value, str):
        return typed_cell(value)
    if isinstance(value, bool):
        return Cell("true" if value else "false", "a truth value")
    if isinstance(value, (int, float)):
        return _number_cell(value)
    if isinstance(value, datetime.datetime) and value.time() == datetime.time():
        value = value.date()
    if isinstance(value, (datetime.date, datetime.datetime)):
        return Cell(str(value), "a date")
    return Cell(str(value), "a time") if value is not None else _EMPTY


def _percent_cell(value: float) -> Cell:
    """Return the share that a cell shows in per cent: 0.2 is "20 %" there.

    >>> _percent_cell(0.2), _percent_cell(0.055), _percent_cell(1)
    (Cell(text='20 %', turned=''), Cell(text='5.5 %', turned=''), Cell(text='100 %', turned=''))
    """
    cell = _number_cell(float(Decimal(repr(value)) * 100))
    return Cell(f"{cell.text} %") if abs(value) < MOST_EXACT else cell


def _number_cell(value: float) -> Cell:
    """Return a number with the 15 digits that a spreadsheet shows: 0.1 + 0.2 is 0.3 there."""
    if isinstance(value, float) and (value != value or abs(value) == float("inf")):  # noqa: PLR0124 - NaN alone
        return Cell(str(value), "no number at all")
    text = f"{Decimal(format(value, '.15g') if isinstance(value, float) else value):f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    if abs(value) >= MOST_EXACT:
        return Cell(text, "a number with digits lost")
    return Cell(text, "a number, which has no zeros at its end" if "." in text else "")


def column_letters(index: int) -> str:
    """Return the letters of a column counted from 0.

    >>> column_letters(0), column_letters(25), column_letters(26)
    ('A', 'Z', 'AA')
    """
    letters = ""
    index += 1
    while index:
        index, digit = divmod(index - 1, 26)
        letters = chr(65 + digit) + letters
    return letters


# One sheet of a workbook.

_PARTS: Final = bounds.WORKBOOK_PARTS
_WORKER: Final = Path(__file__).with_name("workbook_worker.py")
_LIMITS: Final = Limits(bounds.WORKBOOK_MEMORY, bounds.WORKBOOK_SECONDS, bounds.WORKBOOK_PATIENCE)
_OLD: Final = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # compound file: an .xls, or an .xlsx behind a password
_LOCKED: Final = "EncryptedPackage".encode("utf-16-le")
_READ: Final = (".xml", ".rels")
_BROKEN: Final = (zipfile.BadZipFile, zlib.error, EOFError, OSError, RuntimeError, NotImplementedError, ValueError)


_NO_TABLES: Final = (
    *((b"\xff\xd8\xff", "a picture"), (b"\x89PNG", "a picture"), (b"GIF8", "a picture")),
    (b"%PDF", "a PDF document"),
    (b"{\\rtf", "a document of a word processor (RTF)"),
)


def no_table(content: bytes) -> str:
    """Return what a file is that begins as no table does, "a picture" or "a PDF document"; "" for any other.

    >>> no_table(b"%PDF-1.7"), no_table(b"code,name")
    ('a PDF document', '')
    """
    return next((what for begins, what in _NO_TABLES if content.startswith(begins)), "")


def is_workbook(content: bytes) -> bool:
    """Whether the bytes begin as a workbook does, new or old."""
    return content.startswith((b"PK\x03\x04", b"PK\x05\x06", _OLD))


Sheets = list[tuple[str, tuple[Row, ...] | FieldError]]
"""Sheets of a workbook by their names: the rows of each, or why it has none."""


def workbook_rows(content: bytes, sheet: str = "", *, as_shown: bool = True, rows: int = 0) -> tuple[Row, ...]:
    """Return the rows of the named sheet, or of the first that is not hidden.

    Of more than `rows` that hold something they end with the one beyond; 0 is all.

    A number that its cell shows in per cent is a share, "20 %", unless figures are wanted as they are stored.

    Raises:
        FieldError: no workbook, an old or locked one, damaged, too large, or without that sheet.
    """
    [(_, read)] = _sheets(content, Wanted(sheet, as_shown=as_shown, rows=rows))
    if isinstance(read, FieldError):
        raise read
    return read


def workbook_sheets(content: bytes, most: int) -> Sheets:
    """Return the first sheets of a workbook with their names, each with its rows or why it has none.

    Raises:
        FieldError: as `workbook_rows`; also when these sheets together are too large.
    """
    return _sheets(content, Wanted(most=most))


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked of a workbook: the sheet of a name, else the first shown; with `most` so many from the first on.

    Of each sheet as many `rows` that hold something are wanted and one more; all of them with 0.
    """

    sheet: str = ""
    most: int = 0
    as_shown: bool = True
    rows: int = 0


def _sheets(content: bytes, wanted: Wanted) -> Sheets:
    """Read a small workbook here and another in a process with limits, where the system bounds any."""
    if not BOUNDS_PROCESSES:
        return sheets_here(content, wanted, WHOLE)
    try:
        return sheets_here(content, wanted, SMALL)
    except TooLargeError:
        sheets = _read_elsewhere(content, wanted)
    if isinstance(sheets, FieldError):
        raise FieldError(sheets.message, sheets.hint)
    return sheets


@lru_cache(maxsize=1)
def _read_elsewhere(content: bytes, wanted: Wanted) -> Sheets | FieldError:
    """Return what is wanted of a workbook or its own fault; the last is kept, as a command asks for it several times.

    Raises:
        FieldError: a fault that may be gone the next time.
    """
    too_much = FieldError("the workbook takes more time or memory than any sheet needs.", AGAIN)
    try:
        ended = run_limited(_WORKER, asdict(wanted), _LIMITS, content=content)
    except TimeoutError:
        raise too_much from None
    if ended.took_too_much:
        return too_much
    if ended.status:
        why = ended.lines[-1] if ended.lines else ended.status
        raise FieldError(f"workbooks cannot be read here: {why}.", "Install listkit again.")
    answer = json.loads(ended.answer)
    return FieldError(*answer["fault"]) if isinstance(answer, dict) else sheets_from_json(answer)


def sheets_as_json(sheets: Sheets) -> list[Any]:
    """Return sheets as lists and texts; a cell is its text, or a list of two where it was turned into something."""

    def rows_of(rows: tuple[Row, ...]) -> list[Any]:
        return [[[cell.text, cell.turned] if cell.turned else cell.text for cell in row.cells] for row in rows]

    return [
        [name, None, [rows.message, rows.hint]] if isinstance(rows, FieldError) else [name, rows_of(rows), None]
        for name, rows in sheets
    ]


def sheets_from_json(answer: list[Any]) -> Sheets:
    """Return the sheets that `sheets_as_json` gave."""

    def rows_of(rows: list[Any]) -> tuple[Row, ...]:
        return tuple(
            Row(line, tuple(_cell(cell) if isinstance(cell, str) else _cell(*cell) for cell in row))
            for line, row in enumerate(rows, 1)
        )

    return [(name, FieldError(*fault) if rows is None else rows_of(rows)) for name, rows, fault in answer]


@lru_cache(maxsize=65_536)
def _cell(text: str, turned: str = "") -> Cell:
    return Cell(text, turned)


def sheets_here(content: bytes, wanted: Wanted, measure: Measure) -> Sheets:
    """Return what is wanted of a workbook within a measure; raises what `workbook_sheets` raises."""
    checked, parts = _checked(content, measure)
    with _damaged():
        workbook = CalamineWorkbook.from_filelike(io.BytesIO(checked))
        names = workbook.sheet_names
        shown = [page.name for page in workbook.sheets_metadata if page.visible == SheetVisibleEnum.Visible]
    if not names:
        raise FieldError("the workbook has no sheet.", AGAIN)
    if wanted.most:
        names = names[: wanted.most]
        parts.check_together(names)
    elif wanted.sheet and wanted.sheet not in names:
        shown_names = ", ".join(quoted(name) for name in names[:10])
        raise FieldError(f"there is no sheet {quoted(wanted.sheet)}.", f"Its sheets are {shown_names}.")
    else:
        names = [wanted.sheet or next(iter(shown), names[0])]
    if measure is SMALL and not parts.knows(names):
        raise TooLargeError("the workbook keeps its sheets where none are looked for.", AGAIN)
    sheets: Sheets = []
    for name in names:
        try:
            with _damaged():
                values = list(workbook.get_sheet_by_name(name).to_python(skip_empty_area=False))
            percents = parts.percents(name) if wanted.as_shown else set()
            sheets.append((name, _up_to(wanted.rows, _rows_of(values, parts.unworked(name), percents))))
        except FieldError as fault:
            sheets.append((name, fault))
    return sheets


@contextmanager
def _damaged() -> Iterator[None]:
    """Turn what the reader raises into a FieldError: it is not Python's, and where it panics that is no Exception."""
    try:
        yield
    except (KeyboardInterrupt, SystemExit, MemoryError):
        raise
    except BaseException:
        raise FieldError("the workbook is damaged.", AGAIN) from None


def _rows_of(values: list[list[Any]], unworked: Unworked, percents: set[tuple[int, int]]) -> Iterator[Row]:
    for line, row in enumerate(values, 1):
        yield Row(
            line,
            tuple(
                Cell(*unworked[line, at])
                if (line, at) in unworked
                else _percent_cell(value)
                if (line, at) in percents and isinstance(value, (int, float))
                else workbook_cell(value)
                for at, value in enumerate(row, 1)
            ),
        )


def _up_to(most: int, rows: Iterator[Row]) -> tuple[Row, ...]:
    """Return rows up to the first beyond `most` that hold something; all of them with 0."""
    kept, held = list[Row](), 0
    for row in rows:
        kept.append(row)
        held += not row.blank
        if held > most > 0:
            break
    return tuple(kept)


def _checked(content: bytes, measure: Measure) -> tuple[bytes, Parts]:
    """Return the workbook packed anew from its XML parts alone, each unpacked and looked through, and the parts."""
    if content.startswith(_OLD) and _LOCKED in content:
        raise FieldError("the workbook is locked with a password.", "Save it without one.")
    if not content.startswith(b"PK"):
        message = "it is a workbook of the old kind (.xls)." if content.startswith(_OLD) else "it is not a workbook."
        raise FieldError(message, AGAIN)
    packed, parts = io.BytesIO(), Parts(measure)
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(packed, "w") as new:
            if len(old.infolist()) > _PARTS or sum(part.file_size for part in old.infolist()) > measure.unpacked:
                raise TooLargeError("the workbook unpacks to more than any sheet needs.", AGAIN)
            for part in sorted(old.infolist(), key=lambda part: part.filename != STYLES):
                if part.filename.endswith(_READ) or part.filename == "mimetype":
                    with old.open(part) as stream:  # gives no more than the size it states
                        text = stream.read()
                    if part.filename != "mimetype":
                        parts.check(part.filename, text)
                    new.writestr(part.filename, text)
        parts.check_all()
    except FieldError:
        raise
    except _BROKEN as fault:
        if "encrypted" in str(fault):
            raise FieldError("the workbook is locked with a password.", "Save it without one.") from None
        raise FieldError("the workbook is damaged.", AGAIN) from None
    return packed.getvalue(), parts


# A table of any kind.

Score = Callable[[Iterable[Row]], tuple[int, ...]]
"""How well the first rows of a sheet are understood; more is better."""
_SEPARATORS: Final = ",;\t"
_SAMPLE: Final = 60
_MOST_COLUMNS: Final = bounds.TABLE_COLUMNS
_TOO_MANY: Final = "too many"
_TEXT_ENDINGS: Final = (".csv", ".txt", ".tsv")


def read_sheet(
    file: str, content: bytes, score: Score, *, sheet: str = "", most: int = MOST_ROWS
) -> tuple[Sheet | None, list[Problem]]:
    """Return the rows of the table in `content`, `most` with the header; `sheet` names one of a workbook's."""
    if not content.strip():
        return None, [Problem(Place(file), "syntax", "it is empty.", "Write a row of headings, and a row for each.")]
    if file.lower().endswith(_TEXT_ENDINGS):
        return _text_sheet(file, content, score, most)
    try:
        table = _table_of(file, workbook_rows(content, sheet, rows=most))
    except FieldError as fault:
        return None, [_syntax(file, fault)]
    beyond = [_left_out(table, most, _too_many(most))] if len(table.rows) > most else []
    return replace(table, rows=table.rows[:most]), beyond


def of_few_letters(table: Sheet | None, problems: list[Problem]) -> tuple[Sheet | None, list[Problem]]:
    """Return a table up to the row with which it has more letters than any of a shop, and the problems with that."""
    letters = accumulate(sum(len(cell.text) for cell in row.cells) for row in (table.rows if table else ()))
    end = next((at for at, count in enumerate(letters) if count > bounds.TABLE_LETTERS), None)
    if table is None or end is None:
        return table, problems
    told = _left_out(table, end, f"it has more than {bounds.TABLE_LETTERS:,} letters")
    return replace(table, rows=table.rows[:end]), [*problems, told]


def _left_out(table: Sheet, at: int, message: str) -> Problem:
    place = Place(table.file, line=table.rows[at].line)
    return Problem(place, "syntax", f"{message}; the rows from here on are left out.", "Is it the right file?")


def _too_many(most: int) -> str:
    return f"it has more than {most:,} rows"


def read_tables(file: str, content: bytes, score: Score, *, most: int) -> list[tuple[str, Sheet | None, list[Problem]]]:
    """Return the first tables in `content` with their names, as `read_sheet` does; a text file has one without name."""
    if not is_workbook(content) or file.lower().endswith(_TEXT_ENDINGS):
        return [("", *read_sheet(file, content, score))]
    try:
        sheets = workbook_sheets(content, most)
    except FieldError as fault:
        return [("", None, [_syntax(file, fault)])]
    return [
        (name, None, [_syntax(file, rows)]) if isinstance(rows, FieldError) else (name, _table_of(file, rows), [])
        for name, rows in sheets
    ]


def _table_of(file: str, rows: Iterable[Row]) -> Sheet:
    return Sheet(file, tuple(row for row in rows if not row.blank), workbook=True)


def _syntax(file: str, fault: FieldError) -> Problem:
    return Problem(Place(file), "syntax", fault.message, fault.hint)


def _text_sheet(file: str, content: bytes, score: Score, most: int) -> tuple[Sheet | None, list[Problem]]:
    if is_workbook(content):
        hint = "Give the file the ending .xlsx or .ods, or save it as CSV."
        return None, [Problem(Place(file), "syntax", "it is a workbook and no CSV.", hint)]
    source = decoded_table(file, content)
    if isinstance(source, Problem):
        return None, [source]
    separator, text = stated_separator(source.text)
    first_line = 2 if separator else 1
    separator = separator or max(_SEPARATORS, key=lambda sign: score(islice(_rows(text, sign, []), _SAMPLE)))
    faults: list[tuple[int, str]] = []
    rows = tuple(_rows(text, separator, faults, first_line=first_line, most=most))
    problems = [Problem(Place(file, line=line), "syntax", *_plain_words(phrase, most)) for line, phrase in faults]
    return Sheet(file, rows), problems


def _rows(
    text: str, separator: str, faults: list[tuple[int, str]], *, first_line: int = 1, most: int = MOST_ROWS
) -> Iterable[Row]:
    """Yield the rows that hold something; where one is broken, put its line and the phrase into `faults` and end."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, skipinitialspace=True, strict=True)
    line, seen = first_line, 0
    try:
        for cells in reader:
            if any(cells):
                if seen == most:
                    faults.append((line, _TOO_MANY))
                    return
                seen += 1
                yield Row(line, tuple(map(typed_cell, cells[:_MOST_COLUMNS])))
            line = reader.line_num + first_line
    except csv.Error as fault:
        faults.append((line, str(fault)))


def _plain_words(phrase: str, most: int) -> tuple[str, str]:
    message, hint = (_too_many(most), "Is it the right file?") if phrase == _TOO_MANY else broken_row(phrase)
    return f"{message}; the rows from here on are left out.", hint
