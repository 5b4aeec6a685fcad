"""The XML parts of a workbook, walked through before it is read: bounds, formulas without a value, per cents.

A workbook is a ZIP of XML files, and may come from anyone. Before the reader proper sees it, every part is unpacked
within bounds and walked through: no document type (so no entities), and nothing beyond measure. The reader lays a
sheet out as one rectangle up to its last cell, and copies a shared text into every cell that names it; one cell in
the last column of the last row, or one long text named everywhere, would make a small file an enormous table. So the
rectangle, the cells and rows that hold something and the sum of all texts are bounded, each counted as the reader would
lay it out: a cell of an XLSX that names no place follows the one before, a cell of an ODS may be repeated.
"""

import itertools
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final
from xml.parsers import expat

from listkit import bounds
from listkit.problem import FieldError

AGAIN: Final = "Save the sheet again as .xlsx, .ods or CSV."
MOST_ROWS: Final = bounds.TABLE_ROWS  # of a table of any kind
_BY_ITSELF: Final = "Save the sheet that you want by itself, as .xlsx or CSV."
_REFERENCE: Final = re.compile(r"([A-Z]{1,3})(\d{1,7})", re.IGNORECASE)
_COUNT: Final = re.compile(r"\d{1,9}", re.ASCII)
# Formats of numbers that show a hundredfold with a per cent sign: ECMA-376 part 1, 18.8.30 (built in) and 18.8.31; a
# sign in quotes or behind a backslash is only written.
_PERCENTS: Final = ("9", "10")
_WRITTEN: Final = re.compile(r'"[^"]*"|\\.')
STYLES: Final = "xl/styles.xml"
"""The part to be checked before the sheets, whose cells name its formats."""
_SHEETS: Final = "xl/worksheets/"
_SHARED: Final = "xl/sharedStrings.xml"
_CONTENT: Final = "content.xml"
_BOOK: Final = ("xl/workbook.xml", "xl/_rels/workbook.xml.rels")
_NAMED: Final = (*_BOOK, STYLES, _SHARED, _CONTENT)
_FOLDED: Final = frozenset(map(str.casefold, _NAMED))
Place = tuple[int, int]
"""Row and column of a cell, from 1."""
UNWORKED: Final = "a formula without its result"
"""What a cell was turned into that holds a formula, in its text, and nothing that came of it."""
FAILED: Final = "an error of a spreadsheet"
"""What a cell was turned into that holds, in its text, an error in place of a value."""
Unworked = dict[Place, tuple[str, str]]
"""Cells without a value: the text of each, and what it was turned into."""
# ECMA-376 part 1, 18.17.3, and OpenDocument 1.3 part 4, 5.12; what programs write besides, from memory.
_ERROR: Final = re.compile(
    r"#(?:NULL!|DIV/0!|VALUE!|REF!|NAME\?|NUM!|N/A|GETTING_DATA|SPILL!|CALC!|FIELD!|BLOCKED!|CONNECT!|UNKNOWN!|ERROR!)"
    r"|Err:[0-9]{3}"
)
_LONGEST_ERROR: Final = 20
_UNNAMED: Final = "#ERROR!"
_SPACES_LIMIT: Final = bounds.WORKBOOK_SPACES


@dataclass(frozen=True, slots=True)
class Measure:
    """How large a workbook may be: bytes when unpacked, cells of a rectangle, letters of all cells."""

    unpacked: int
    cells: int
    letters: int


WHOLE: Final = Measure(bounds.UNPACKED_BYTES, bounds.WORKBOOK_CELLS, bounds.WORKBOOK_LETTERS)
SMALL: Final = Measure(bounds.WORKBOOK_SMALL_BYTES, bounds.WORKBOOK_SMALL_CELLS, bounds.WORKBOOK_SMALL_LETTERS)


class TooLargeError(FieldError):
    """The workbook is beyond the measure that it was held against, or laid out so that nobody can say."""


class Parts:
    """What the parts looked through so far add up to."""

    def __init__(self, measure: Measure = WHOLE) -> None:
        self._measure = measure
        self._cells: dict[str, int] = {}  # of the rectangle of each part
        self._held = 0  # cells that hold something, of all parts
        self._odd = False  # whether a part has a name that some readers take for another's
        self._shared: list[int] = []  # letters in each shared text
        self._named: list[int] = []  # which shared text each cell names
        self._book, self._styles, self._content = _Book(), _Styles(), _Content(measure)
        self._unworked: dict[str, Unworked] = {}  # by part
        self._percents: dict[str, set[Place]] = {}

    def check(self, name: str, text: bytes) -> None:
        """Raise FieldError when the part is no XML, holds a document type, is locked, or is beyond the limits."""
        walker: _Walker | None = None
        folded = name.replace("\\", "/").casefold()
        self._odd |= folded != name and (folded.startswith(_SHEETS) or folded in _FOLDED) and name not in _NAMED
        if name.startswith(_SHEETS):
            percents = self._percents.setdefault(name, set())
            unworked = self._unworked.setdefault(name, {})
            walker = _Sheet(self._named, unworked, self._styles.percents, percents, self._measure.cells)
        elif name in _BOOK:
            walker = self._book
        elif name == _SHARED:
            walker = _SharedTexts(self._shared)
        elif name == STYLES:
            walker = self._styles
        elif name == _CONTENT:
            walker = self._content
        elif name == "META-INF/manifest.xml":
            walker = _Manifest()
        try:
            _parse(text, walker)
        except FieldError:
            raise
        except (expat.ExpatError, LookupError, ValueError):  # the last two are of an encoding that it cannot read
            raise FieldError("the workbook is damaged.", AGAIN) from None
        if isinstance(walker, _Sheet):
            self._count(name, walker)

    def _count(self, name: str, sheet: "_Sheet") -> None:
        self._cells[name] = sheet.cells
        self._held += sheet.held
        if self._held > self._measure.cells:
            raise _too_many_together(self._measure.cells)

    def check_together(self, sheets: Iterable[str]) -> None:
        """Raise TooLargeError when some sheets of an XLSX, each as often as it is named, have too many cells."""
        if sum(self._cells.get(self._book.part_of(sheet), 0) for sheet in sheets) > self._measure.cells:
            raise _too_many_together(self._measure.cells)

    def knows(self, sheets: Iterable[str]) -> bool:
        """Whether the parts that hold these sheets were looked through as such, whatever a reader takes for them."""
        parts = ((self._book.part_of(sheet), sheet) for sheet in sheets)
        return not self._odd and all(part in self._cells or sheet in self._content.percents for part, sheet in parts)

    def unworked(self, sheet: str) -> Unworked:
        """Return the cells of a sheet that hold an error, and of an XLSX those whose formula has no result."""
        return self._unworked.get(self._book.part_of(sheet)) or self._content.errors.get(sheet, {})

    def percents(self, sheet: str) -> set[Place]:
        """Return the places of a sheet whose numbers are shown with a per cent sign: 0.2 as 20 %."""
        return self._percents.get(self._book.part_of(sheet)) or self._content.percents.get(sheet, set())

    def check_all(self) -> None:
        """Raise FieldError when the shared texts, each as often as it is named, are beyond the measure."""
        if sum(self._shared[at] for at in self._named if at < len(self._shared)) > self._measure.letters:
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
        parser.StartElementHandler = lambda name, attributes: start(_local(name), _locally(attributes))
        parser.EndElementHandler = lambda name: end(_local(name))
        parser.CharacterDataHandler = walker.text
    parser.Parse(text, True)


def _locally(attributes: dict[str, str]) -> dict[str, str]:
    """Return attributes by their local names; most have no other."""
    if " " in "".join(attributes):
        return {_local(key): value for key, value in attributes.items()}
    return attributes


@lru_cache(maxsize=1_000)
def _local(name: str) -> str:
    return name.rpartition(" ")[2]


def _too_much_text() -> TooLargeError:
    return TooLargeError("the workbook unpacks to more text than any sheet needs.", AGAIN)


def _too_many_together(most: int) -> TooLargeError:
    return TooLargeError(f"its sheets have more than {most} cells together.", _BY_ITSELF)


def _refuse_beyond(cells: int, most: int, rows: int) -> None:
    """Refuse a rectangle of more cells than the measure, and more rows that hold something than any table has."""
    if rows > MOST_ROWS:
        raise TooLargeError(f"a sheet has more than {MOST_ROWS} rows.", f"Is it the right file? {_BY_ITSELF}")
    if cells > most:
        raise TooLargeError("a cell stands so far out that the sheet is too large to read.", "Delete the empty rows.")


class _Manifest(_Walker):
    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name == "encryption-data":
            raise FieldError("the workbook is locked with a password.", "Save it without one.")


class _Book(_Walker):
    """Which part of an XLSX workbook each of its sheets is."""

    def __init__(self) -> None:
        self._ids: dict[str, str] = {}
        self._targets: dict[str, str] = {}

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name == "sheet":
            self._ids[attributes.get("name", "")] = attributes.get("id", "")
        elif name == "Relationship":
            self._targets[attributes.get("Id", "")] = attributes.get("Target", "")

    def part_of(self, sheet: str) -> str:
        target = self._targets.get(self._ids.get(sheet, ""), "")
        return target[1:] if target.startswith("/") else f"xl/{target}"


class _Styles(_Walker):
    """Which styles of cells show a number in per cent, by their numbers as cells name them."""

    def __init__(self) -> None:
        self.percents: set[str] = set()
        self._formats = set(_PERCENTS)
        self._of_cells = False
        self._count = 0

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name == "numFmt" and "%" in _WRITTEN.sub("", attributes.get("formatCode", "")):
            self._formats.add(attributes.get("numFmtId", ""))
        elif name == "cellXfs":
            self._of_cells = True
        elif name == "xf" and self._of_cells:
            if attributes.get("numFmtId") in self._formats:
                self.percents.add(str(self._count))
            self._count += 1

    def end(self, name: str) -> None:
        self._of_cells = self._of_cells and name != "cellXfs"


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
    """The rectangle of an XLSX sheet's cells that hold something, and the shared texts they name.

    `unworked` takes the cells without a value, `percents` the places of numbers whose style is one of `styles`.
    """

    def __init__(self, named: list[int], unworked: Unworked, styles: set[str], percents: set[Place], most: int) -> None:
        self._most = most
        self._named, self._unworked, self._styles, self._percents = named, unworked, styles, percents
        self._in_percent = False
        self._formula: list[str] | None = None
        self._within = ""
        self._worked = False
        self._column = self._row = 0  # where the cell stands
        self._rows = self._columns = 0  # of the rectangle
        self._last = self._held_rows = 0  # the last row that holds something, and how many do
        self._counted = False  # whether this cell is
        self.held = 0  # cells that hold something
        self._kind = ""
        self._damaged = False  # whether its reference is none
        self._value: list[str] | None = None

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name == "row":
            stated = attributes.get("r", "")
            self._row, self._column = int(stated) if _COUNT.fullmatch(stated) else self._row + 1, 0
        elif name == "c":
            self._kind = attributes.get("t", "")
            self._place(attributes.get("r", ""))
            self._formula, self._worked = None, False
            self._in_percent = attributes.get("s", "") in self._styles and self._kind in {"", "n"}
        elif name in {"v", "is", "f"}:
            if not self._counted:
                self._grow()
            self._value = [] if name == "v" and self._kind in {"s", "e"} else None
        if name == "v" and self._kind == "str":  # a text, which may be empty
            self._worked = True
        if name == "f":
            self._formula = []
        self._within = name

    def text(self, letters: str) -> None:
        if self._value is not None:
            self._value.append(letters)
        if self._within == "f" and self._formula is not None:
            self._formula.append(letters)
        self._worked = self._worked or (self._within in {"v", "t"} and bool(letters.strip()))

    def end(self, name: str) -> None:
        if self._value is not None and name == "v":
            value = "".join(self._value).strip()
            if self._kind == "e":
                self._unworked[self._row, self._column] = value or _UNNAMED, FAILED
            elif _COUNT.fullmatch(value):
                self._named.append(int(value))
            self._value = None
        if name == "c" and self._formula is not None and not self._worked:
            self._unworked[self._row, self._column] = "=" + "".join(self._formula), UNWORKED
        if name == "c" and self._in_percent and self._worked:
            self._percents.add((self._row, self._column))
        self._within = ""

    def _place(self, reference: str) -> None:
        """Take where a cell stands: where it says, else behind the one before (ECMA-376 part 1, 18.3.1.4)."""
        self._counted, self._damaged = False, False
        if not reference:
            self._column += 1
        elif match := _REFERENCE.fullmatch(reference):
            self._row, self._column = int(match[2]), _column_of(match[1])
        else:
            self._damaged = True

    def _grow(self) -> None:
        """Count the cell, which holds something."""
        if self._damaged:
            raise FieldError("the workbook is damaged.", AGAIN)
        self._counted = True
        self.held += 1
        if self._row != self._last:
            self._last, self._held_rows = self._row, self._held_rows + 1
        self._rows, self._columns = max(self._rows, self._row), max(self._columns, self._column)
        _refuse_beyond(max(self.cells, self.held), self._most, self._held_rows)

    @property
    def cells(self) -> int:
        """How many cells the reader lays out."""
        return self._rows * self._columns


@lru_cache(maxsize=2_000)
def _column_of(letters: str) -> int:
    column = 0
    for letter in letters.upper():
        column = column * 26 + ord(letter) - 64
    return column


class _Content(_Walker):
    """The rectangles and letters of an ODS, each cell as often as it is repeated: the reader lays out every sheet."""

    def __init__(self, measure: Measure) -> None:
        self._measure = measure
        self._before = 0  # cells of the sheets before
        self._rows = self._columns = 0
        self._row = self._column = 0
        self._row_repeat = self._column_repeat = 1
        self._held_rows, self._row_counted = 0, False  # rows that hold something, and whether this is one
        self._letters = self._cell = 0
        self.percents: dict[str, set[Place]] = {}  # by sheet
        self.errors: dict[str, Unworked] = {}  # by sheet
        self._sheet: set[Place] = set()
        self._unworked: Unworked = {}
        self._failed, self._texts = False, list[str]()  # of a cell, while it may be an error

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name == "table-row":
            self._row_repeat, self._column = _repeat(attributes, "number-rows-repeated"), 0
            self._row_counted = False
        elif name in {"table-cell", "covered-table-cell"}:
            self._column_repeat, self._cell = _repeat(attributes, "number-columns-repeated"), 0
            self._column += self._column_repeat
            self._failed, self._texts = attributes.get("value-type") == "error", []
            if "value-type" in attributes:
                self._grow()
            if attributes.get("value-type") == "percentage":
                self._sheet.update(self._places())
        elif name == "p" and self._column:
            self._grow()
        elif name == "s":
            spaces = _repeat(attributes, "c")
            if spaces > _SPACES_LIMIT:
                raise _too_much_text()
            self._cell += spaces
            if self._cell > self._measure.letters:
                raise _too_much_text()
        elif name == "table":
            self._before += self._rows * self._columns
            self._rows = self._columns = self._row = self._held_rows = 0
            self._sheet = self.percents.setdefault(attributes.get("name", ""), set())
            self._unworked = self.errors.setdefault(attributes.get("name", ""), {})

    def text(self, letters: str) -> None:
        self._cell += len(letters)
        if self._cell <= _LONGEST_ERROR:
            self._texts.append(letters)

    def _places(self) -> Iterable[Place]:
        """Return where the cell stands, as often as it is repeated."""
        rows = range(self._row + 1, self._row + self._row_repeat + 1)
        return itertools.product(rows, range(self._column - self._column_repeat + 1, self._column + 1))

    def end(self, name: str) -> None:
        if name == "table-row":
            self._row += self._row_repeat
        elif name in {"table-cell", "covered-table-cell"}:
            self._letters += self._cell * self._column_repeat * self._row_repeat
            text = "".join(self._texts).strip() if self._cell <= _LONGEST_ERROR else ""
            if self._failed or is_error(text):
                self._unworked.update(dict.fromkeys(self._places(), (text or _UNNAMED, FAILED)))
            if self._letters > self._measure.letters:
                raise _too_much_text()

    def _grow(self) -> None:
        self._rows = max(self._rows, self._row + self._row_repeat)
        self._columns = max(self._columns, self._column)
        self._held_rows += 0 if self._row_counted else self._row_repeat
        self._row_counted = True
        _refuse_beyond(self._before + self._rows * self._columns, self._measure.cells, self._held_rows)


def is_error(text: str) -> bool:
    """Whether a cell says no more than that a spreadsheet could not work it out.

    >>> is_error("#N/A"), is_error("Err:502"), is_error("#1 soap")
    (True, True, False)
    """
    return bool(_ERROR.fullmatch(text))


def _repeat(attributes: dict[str, str], name: str) -> int:
    text = attributes.get(name, "1")
    if not _COUNT.fullmatch(text):
        raise FieldError("the workbook is damaged.", AGAIN)
    return int(text)
