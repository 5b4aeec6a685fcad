"""How a sample is written: its encoding, separator, quotes and line ends, and how it writes numbers and days.

What the sample leaves open is as in our own files. Nothing here opens a file.
"""

import codecs
import csv
import io
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Final

from listkit import bounds
from listkit.bounded_csv import broken_row, long_cells, stated_separator
from listkit.learn.cell_shapes import day_forms
from listkit.learn.folding import ANSWERS
from listkit.model.channel import DayForm
from listkit.problem import FieldError

SAMPLE_ROWS: Final = 400
MOST_COLUMNS: Final = bounds.SAMPLE_COLUMNS
_CELLS: Final = 25_000
_SEPARATORS: Final = ",;\t|"
_TRIED: Final = 60  # rows from which the separator is told
_LONGEST_CELL: Final = 1_000_000
_UTF16: Final = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
_COMMA: Final = re.compile(r"[^\d]{0,4}\d{1,3}(?:[. ]?\d{3})*,\d{1,3}[^\d]{0,4}")
_POINT: Final = re.compile(r"[^\d]{0,4}\d{1,3}(?:[, ]?\d{3})*\.\d{1,3}[^\d]{0,4}")
Row = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TextForm:
    """How a text file is written, in the words of a channel's [dialect]."""

    encoding: str = "utf-8"
    byte_order_mark: bool = False
    separator: str = ","
    quote: str = "needed"
    line_end: str = "crlf"


@dataclass(frozen=True, slots=True)
class ValueForm:
    """How numbers, days and answers are written; `day_sure` says that day and month could not be exchanged."""

    decimal: str = "."
    date: DayForm = "2027-02-28"
    day_sure: bool = True
    yes: str = "yes"
    no: str = "no"


def rows_looked_at(columns: int) -> int:
    """Return how many rows below the header say what columns are, where there are so many columns.

    >>> rows_looked_at(30), rows_looked_at(500)
    (400, 50)
    """
    return min(SAMPLE_ROWS, _CELLS // max(1, columns))


def read_text(content: bytes) -> tuple[TextForm, tuple[Row, ...]]:
    """Return how a sample is written, and its first rows; blank ones are left out.

    Raises:
        FieldError: it is empty, is no text, or breaks the rules of CSV in its first rows.
    """
    text, encoding, mark = _decoded(content)
    if not any(sign.isalnum() for sign in text):
        raise FieldError("nothing stands in it.", "Ask the storefront for a sample with a row of headings.")
    line_end = "crlf" if 2 * text.count("\r\n") >= text.count("\n") else "lf"
    stated, text = stated_separator(text)
    separator = stated or _separator(text)
    rows = tuple(row for row in islice(_rows(text, separator, 1 + bool(stated)), SAMPLE_ROWS) if any(row))
    return TextForm(encoding, mark, separator, _quote(text, separator), line_end), rows


def _decoded(content: bytes) -> tuple[str, str, bool]:
    """Return the text, the encoding's name, and whether a byte order mark stands before it."""
    if content.startswith(_UTF16):
        return _text_of(content, "utf-16"), "utf-16", True
    if content.startswith(codecs.BOM_UTF8):
        return _text_of(content, "utf-8-sig"), "utf-8", True
    if content[1:200:2].count(0) > len(content[1:200:2]) // 2:
        return _text_of(content, "utf-16-le"), "utf-16", False
    try:
        return _text_of(content, "utf-8"), "utf-8", False
    except FieldError:
        return _text_of(content, "cp1252"), "windows-1252", False


def _text_of(content: bytes, codec: str) -> str:
    try:
        text = content.decode(codec)
    except UnicodeDecodeError as fault:
        hint = "Save it again as UTF-8, or as a workbook (.xlsx)."
        raise FieldError(f"byte {fault.start + 1} belongs to no encoding that is known.", hint) from None
    if "\0" in text:
        raise FieldError("it holds the sign NUL, which no text has.", "Is it the right file?")
    return text


def _separator(text: str) -> str:
    """Return the sign that splits the first rows into most cells, row after row alike."""
    return max(_SEPARATORS, key=lambda sign: _evenness(text, sign))


def _evenness(text: str, separator: str) -> tuple[int, int]:
    """Return how many cells most of the first rows have, in how many rows; one cell counts for nothing."""
    try:
        widths = Counter(len(row) for row in islice(_rows(text, separator), _TRIED) if any(row))
    except FieldError:
        return 0, 0
    scored = [(width * count, width) for width, count in widths.items() if width > 1]
    return max(scored, default=(0, 0))


def _rows(text: str, separator: str, line: int = 1) -> Iterator[Row]:
    """Yield the rows of a table that begins on a line of its file."""
    reader, above = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True), line
    try:
        with long_cells(_LONGEST_CELL):
            for row in reader:
                yield tuple(cell.strip() for cell in row[: MOST_COLUMNS + 1])
                line = reader.line_num + above
    except csv.Error as fault:
        message, hint = broken_row(str(fault))
        raise FieldError(f"line {line}: {message}.", f"{hint} Or save it as a workbook (.xlsx).") from None


def _quote(text: str, separator: str) -> str:
    """Return "all" when every filled cell of the first rows stands in quotes."""
    quoted = re.compile(rf'"(?:[^"]|"")*"(?:{re.escape(separator)}|\r?\n|$)|{re.escape(separator)}|\r?\n')
    at, cells = 0, 0
    while at < len(text) and cells < SAMPLE_ROWS:
        match = quoted.match(text, at)
        if match is None:
            return "needed"
        cells += match[0].startswith('"')
        at = match.end()
    return "all" if cells else "needed"


def values_of(columns: Sequence[Sequence[str]], answers: Sequence[Sequence[str]]) -> ValueForm:
    """Return how the cells write numbers and days; `answers` are the columns that say yes or no."""
    commas = sum(bool(_COMMA.fullmatch(cell)) for cells in columns for cell in cells)
    points = sum(bool(_POINT.fullmatch(cell)) for cells in columns for cell in cells)
    date, sure = _day_form(columns)
    yes, no = _answers(answers)
    return ValueForm("," if commas > points else ".", date, sure, yes, no)


def _day_form(columns: Sequence[Sequence[str]]) -> tuple[DayForm, bool]:
    """Return the form of most columns of days; between two that fit alike the day before the month, and unsure."""
    votes: Counter[DayForm] = Counter()
    sure = True
    for cells in columns:
        filled = [cell for cell in cells if cell]
        fitting = frozenset.intersection(*map(day_forms, filled)) if filled else frozenset()
        eight_digits = fitting == {"20270228"} and len(filled) < 2  # one number of eight digits may be anything
        if fitting and not eight_digits:
            votes[min(fitting, key=_PREFERRED.index)] += 1
            sure &= len(fitting) == 1
    best = max(votes, key=lambda form: (votes[form], -_PREFERRED.index(form)), default=None)
    return (best, sure) if best else ("2027-02-28", True)


_PREFERRED: Final[tuple[DayForm, ...]] = (
    "2027-02-28", "28.02.2027", "28-02-2027", "28/02/2027", "02/28/2027", "20270228",
)  # fmt: skip


def _answers(columns: Sequence[Sequence[str]]) -> tuple[str, str]:
    said = {cell for cells in columns for cell in cells if cell}
    return next((pair for pair in ANSWERS if said and said <= set(pair)), ("yes", "no"))
