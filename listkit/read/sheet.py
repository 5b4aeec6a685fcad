"""Opens a table as rows of cells: CSV with comma, semicolon or tab, XLSX and ODS, read alike.

A cell is text as one would type it: "7.5", "true", "2027-03-01"; a value that a spreadsheet has turned into something
else (a date, a power of ten) says so in `turned`. Blank rows are passed over; a row keeps the number it has in the
file. Of a CSV the separator is the one that lets the header be understood best, and a broken row ends the table with
a problem; the rows before it stay.

A workbook is a ZIP of XML files, and may come from anyone. Before the reader proper sees it, every part is unpacked
within bounds and walked through: no document type (so no entities), and nothing beyond measure. The reader lays a
sheet out as one rectangle up to its last cell, and copies a shared text into every cell that names it; one cell in
the last column of the last row, or one long text named everywhere, would make a small file an enormous table. So the
rectangle and the sum of all texts are bounded. Only the parts so checked are passed on.
"""

import csv
import datetime
import io
import re
import zipfile
import zlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal
from itertools import islice
from typing import Final
from xml.parsers import expat

from python_calamine import CalamineWorkbook, SheetVisibleEnum

from listkit import bounds
from listkit.problem import FieldError, Place, Problem
from listkit.read.source import decoded_table

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


def typed_cell(text: str) -> Cell:
    """Return the cell of a text file; `turned` is what a code was probably turned into before it was saved."""
    text = text.strip()
    if not text:
        return _EMPTY
    if _POWER.fullmatch(text):
        return Cell(text, "a power of ten")
    return Cell(text, "a date" if _DATE.fullmatch(text) else "")


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


# The XML parts of a workbook, walked through before it is read.

CELL_LIMIT: Final = bounds.WORKBOOK_CELLS
LETTER_LIMIT: Final = bounds.WORKBOOK_LETTERS
AGAIN: Final = "Save the sheet again as .xlsx, .ods or CSV."
_REFERENCE: Final = re.compile(r"([A-Z]{1,3})(\d{1,7})", re.IGNORECASE)
_COUNT: Final = re.compile(r"\d{1,9}", re.ASCII)
_SPACES_LIMIT: Final = bounds.WORKBOOK_SPACES


class Parts:
    """What the parts looked through so far add up to."""

    def __init__(self) -> None:
        self._shared: list[int] = []  # letters in each shared text
        self._named: list[int] = []  # which shared text each cell names

    def check(self, name: str, text: bytes) -> None:
        """Raise FieldError when the part is no XML, holds a document type, is locked, or is beyond the limits."""
        walker: _Walker | None = None
        if name.startswith("xl/worksheets/"):
            walker = _Sheet(self._named)
        elif name == "xl/sharedStrings.xml":
            walker = _SharedTexts(self._shared)
        elif name == "content.xml":
            walker = _Content()
        elif name == "META-INF/manifest.xml":
            walker = _Manifest()
        try:
            _parse(text, walker)
        except FieldError:
            raise
        except (expat.ExpatError, LookupError, ValueError):  # the last two are of an encoding that it cannot read
            raise FieldError("the workbook is damaged.", AGAIN) from None

    def check_all(self) -> None:
        """Raise FieldError when the shared texts, each as often as it is named, are beyond LETTER_LIMIT."""
        if sum(self._shared[at] for at in self._named if at < len(self._shared)) > LETTER_LIMIT:
            raise _too_much_text()


class _Walker:
    """Takes the elements of one part: local names, attributes by local name."""

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Take the beginning of an element."""

    def text(self, letters: str) -> None:
        """Take letters within an element."""

    def end(self, name: str) -> None:
        """Take the end of an element."""


def _parse(text: bytes, walker: _Walker | None) -> None:
    def refuse_document_type(*_parts: object) -> None:
        raise FieldError("the workbook holds an XML document type, which no sheet has.", AGAIN)

    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.StartDoctypeDeclHandler = refuse_document_type
    if walker is not None:
        start, end = walker.start, walker.end
        parser.StartElementHandler = lambda name, attributes: start(
            name.rpartition(" ")[2], {key.rpartition(" ")[2]: value for key, value in attributes.items()}
        )
        parser.EndElementHandler = lambda name: end(name.rpartition(" ")[2])
        parser.CharacterDataHandler = walker.text
    parser.Parse(text, True)


def _too_much_text() -> FieldError:
    return FieldError("the workbook unpacks to more text than any sheet needs.", AGAIN)


def _refuse_beyond(rows: int, columns: int) -> None:
    if rows * columns > CELL_LIMIT:
        raise FieldError("a cell stands so far out that the sheet is too large to read.", "Delete the empty rows.")


class _Manifest(_Walker):
    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name == "encryption-data":
            raise FieldError("the workbook is locked with a password.", "Save it without one.")


class _SharedTexts(_Walker):
    def __init__(self, lengths: list[int]) -> None:
        self._lengths = lengths

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name == "si":
            self._lengths.append(0)

    def text(self, letters: str) -> None:
        if self._lengths:
            self._lengths[-1] += len(letters)


class _Sheet(_Walker):
    """The rectangle of an XLSX sheet's cells that hold something, and the shared texts they name."""

    def __init__(self, named: list[int]) -> None:
        self._named = named
        self._rows = self._columns = 0
        self._reference = self._kind = ""
        self._value: list[str] | None = None

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name == "c":
            self._reference, self._kind = attributes.get("r", ""), attributes.get("t", "")
        elif name in {"v", "is", "f"} and self._reference:
            self._grow()
            self._value = [] if name == "v" and self._kind == "s" else None

    def text(self, letters: str) -> None:
        if self._value is not None:
            self._value.append(letters)

    def end(self, name: str) -> None:
        if self._value is not None and name == "v":
            index = "".join(self._value).strip()
            if _COUNT.fullmatch(index):
                self._named.append(int(index))
            self._value = None

    def _grow(self) -> None:
        match = _REFERENCE.fullmatch(self._reference)
        if match is None:
            raise FieldError("the workbook is damaged.", AGAIN)
        column = 0
        for letter in match[1].upper():
            column = column * 26 + ord(letter) - 64
        self._rows, self._columns = max(self._rows, int(match[2])), max(self._columns, column)
        _refuse_beyond(self._rows, self._columns)
        self._reference = ""


class _Content(_Walker):
    """The rectangle and the letters of an ODS sheet's cells, each counted as often as it is repeated."""

    def __init__(self) -> None:
        self._rows = self._columns = 0
        self._row = self._column = 0
        self._row_repeat = self._column_repeat = 1
        self._letters = self._cell = 0

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name == "table-row":
            self._row_repeat, self._column = _repeat(attributes, "number-rows-repeated"), 0
        elif name in {"table-cell", "covered-table-cell"}:
            self._column_repeat, self._cell = _repeat(attributes, "number-columns-repeated"), 0
            self._column += self._column_repeat
            if "value-type" in attributes:
                self._grow()
        elif name == "p" and self._column:
            self._grow()
        elif name == "s" and _repeat(attributes, "c") > _SPACES_LIMIT:
            raise _too_much_text()
        elif name == "table":
            self._rows = self._columns = self._row = 0

    def text(self, letters: str) -> None:
        self._cell += len(letters)

    def end(self, name: str) -> None:
        if name == "table-row":
            self._row += self._row_repeat
        elif name in {"table-cell", "covered-table-cell"}:
            self._letters += self._cell * self._column_repeat * self._row_repeat
            if self._letters > LETTER_LIMIT:
                raise _too_much_text()

    def _grow(self) -> None:
        self._rows = max(self._rows, self._row + self._row_repeat)
        self._columns = max(self._columns, self._column)
        _refuse_beyond(self._rows, self._columns)


def _repeat(attributes: dict[str, str], name: str) -> int:
    text = attributes.get(name, "1")
    if not _COUNT.fullmatch(text):
        raise FieldError("the workbook is damaged.", AGAIN)
    return int(text)


# One sheet of a workbook.

UNPACKED_LIMIT: Final = bounds.UNPACKED_BYTES
_PARTS: Final = bounds.WORKBOOK_PARTS
_OLD: Final = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # compound file: an .xls, or an .xlsx behind a password
_LOCKED: Final = "EncryptedPackage".encode("utf-16-le")
_READ: Final = (".xml", ".rels")
_BROKEN: Final = (zipfile.BadZipFile, zlib.error, EOFError, OSError, RuntimeError, NotImplementedError, ValueError)


def is_workbook(content: bytes) -> bool:
    """Whether the bytes begin as a workbook does, new or old."""
    return content.startswith((b"PK\x03\x04", b"PK\x05\x06", _OLD))


def workbook_rows(content: bytes, sheet: str = "") -> tuple[Row, ...]:
    """Return the rows of the named sheet, or of the first that is not hidden.

    Raises:
        FieldError: no workbook, an old or locked one, damaged, too large, or without that sheet.
    """
    try:
        workbook = CalamineWorkbook.from_filelike(io.BytesIO(_checked(content)))
        names = workbook.sheet_names
        if sheet and sheet not in names:
            shown_names = ", ".join(f'"{name}"' for name in names[:10])
            raise FieldError(f'there is no sheet "{sheet}".', f"Its sheets are {shown_names}.")
        if not names:
            raise FieldError("the workbook has no sheet.", AGAIN)
        shown = (page.name for page in workbook.sheets_metadata if page.visible == SheetVisibleEnum.Visible)
        page = workbook.get_sheet_by_name(sheet or next(shown, names[0]))
        values = [list(row) for row in page.to_python(skip_empty_area=False)]
    except (FieldError, KeyboardInterrupt, SystemExit):
        raise
    except BaseException:  # the reader is not Python's: where it panics, what comes is no Exception
        raise FieldError("the workbook is damaged.", AGAIN) from None
    return tuple(Row(line, tuple(map(workbook_cell, row))) for line, row in enumerate(values, 1))


def sheet_names(content: bytes) -> tuple[str, ...]:
    """Return the names of a workbook's sheets, in its order; raises what `workbook_rows` raises."""
    checked = _checked(content)
    try:
        return tuple(CalamineWorkbook.from_filelike(io.BytesIO(checked)).sheet_names)
    except (KeyboardInterrupt, SystemExit):
        raise
    except BaseException:  # the reader is not Python's: where it panics, what comes is no Exception
        raise FieldError("the workbook is damaged.", AGAIN) from None


def _checked(content: bytes) -> bytes:
    """Return the workbook packed anew from its XML parts alone, each unpacked and looked through."""
    if content.startswith(_OLD) and _LOCKED in content:
        raise FieldError("the workbook is locked with a password.", "Save it without one.")
    if not content.startswith(b"PK"):
        message = "it is a workbook of the old kind (.xls)." if content.startswith(_OLD) else "it is not a workbook."
        raise FieldError(message, AGAIN)
    packed, parts = io.BytesIO(), Parts()
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(packed, "w") as new:
            if len(old.infolist()) > _PARTS or sum(part.file_size for part in old.infolist()) > UNPACKED_LIMIT:
                raise FieldError("the workbook unpacks to more than any sheet needs.", AGAIN)
            for part in old.infolist():
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
    return packed.getvalue()


# A table of any kind.

Score = Callable[[Iterable[Row]], tuple[int, ...]]
"""How well the first rows of a sheet are understood; more is better."""
_SEPARATORS: Final = ",;\t"
_SAMPLE: Final = 60
_MOST_ROWS: Final = bounds.TABLE_ROWS
_MOST_COLUMNS: Final = bounds.TABLE_COLUMNS
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
    problems = [Problem(Place(file, line=line), "syntax", *_plain_words(phrase)) for line, phrase in faults]
    return Sheet(file, rows), problems


def _rows(text: str, separator: str, faults: list[tuple[int, str]], *, first_line: int = 1) -> Iterable[Row]:
    """Yield the rows that hold something; where one is broken, put its line and the phrase into `faults` and end."""
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


def _plain_words(phrase: str) -> tuple[str, str]:
    if phrase == _TOO_MANY:
        return f"it has more than {_MOST_ROWS} rows; those from here on are left out.", "Is it the right file?"
    if "expected after" in phrase:
        hint = 'Double a quotation mark within a text in quotes: "a ""good"" bar".'
        return "text stands behind a closing quotation mark; the rows from here on are left out.", hint
    if "larger than" in phrase:
        message = "a cell is longer than any text of a shop, or its quotation mark is not closed; "
        return f"{message}the rows from here on are left out.", "Shorten it, or close the quotes."
    hint = "Close the quotes, or take them out."
    return "a quotation mark is not closed; the rows from here on are left out.", hint
