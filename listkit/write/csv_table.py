"""A table in CSV: RFC 4180 in the channel's dialect, written row by row, and read again by another way.

Quotes stand where they are needed. With `guard_formulas` a cell that holds any usual separator counts as needing them,
so that no part of it can become a cell of its own, and a formula, in a program that splits rows at another sign (OWASP,
"CSV Injection"). Line ends inside a cell are kept as they are.
"""

import csv
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import chain, zip_longest
from pathlib import Path
from typing import Final, TextIO

from listkit.listing.cells import CODECS, text_cell, unwritable
from listkit.listing.rows import Row
from listkit.model.channel import Dialect
from listkit.problem import FieldError

BYTE_ORDER_MARK: Final = "\ufeff"
SEPARATORS: Final = ",;\t|"
LINE_ENDS: Final = {"crlf": "\r\n", "lf": "\n"}
_LONGEST_CELL: Final = 100_000_000


@dataclass(frozen=True, slots=True)
class Form:
    """All of a dialect that decides which bytes a table of cells becomes, and nothing else."""

    separator: str
    quote_all: bool
    quoted_signs: str
    encoding: str
    mark: bool
    line_end: str

    @classmethod
    def of(cls, dialect: Dialect) -> "Form":
        """Return the form of a dialect; UTF-16 always begins with a byte order mark (RFC 2781, 3.3)."""
        bare = (dialect.separator, dialect.decimal)  # the separator is seen to anyway; 29,50 stands bare behind ";"
        signs = "".join(sign for sign in SEPARATORS if sign not in bare)
        return cls(
            dialect.separator,
            dialect.quote == "all",
            signs if dialect.guard_formulas and dialect.quote != "all" else "",
            dialect.encoding,
            dialect.encoding == "utf-16" or (dialect.encoding == "utf-8" and dialect.byte_order_mark),
            LINE_ENDS[dialect.line_end],
        )


def with_header(headings: tuple[str, ...], rows: Iterable[Row], dialect: Dialect) -> Iterator[Row]:
    """Yield the header, if the dialect has one, and the rows; headings are made safe like every text."""
    header = tuple(map(text_cell(dialect), headings))
    return chain([header] if dialect.header else [], rows)


def write_table(path: Path, rows: Iterable[Row], form: Form) -> None:
    """Write the rows to `path`.

    Raises:
        FieldError: a cell holds a character that the encoding has not; it names the cell.
    """
    with path.open("w", encoding=CODECS[form.encoding], newline="") as file:
        if form.mark:
            file.write(BYTE_ORDER_MARK)
        writer = _writer(file, form)
        for number, row in enumerate(rows, 1):
            try:
                writer(row)
            except UnicodeEncodeError as fault:
                raise _unwritable(row, number, form) from fault


def table_fault(path: Path, rows: Iterable[Row], form: Form) -> str:
    """Return "" when the file at `path` reads as exactly these rows in exactly this form, else the first difference."""
    try:
        with path.open(encoding=CODECS[form.encoding], errors="strict", newline="") as file, _long_cells():
            if form.mark and file.read(1) != BYTE_ORDER_MARK:
                return "the byte order mark is missing."
            return _difference(_Lines(file, form.line_end), rows, form)
    except UnicodeDecodeError as fault:
        return f"byte {fault.start} is no {form.encoding}."
    except csv.Error as fault:
        return f"it is no CSV: {fault}."


def _writer(file: TextIO, form: Form) -> Callable[[Row], object]:
    """Return what writes one row.

    The csv module puts quotes around a cell that has a sign of the line terminator. It is given all signs that need
    them, and the true line end takes their place: a lone carriage return would else stand bare where rows end in "\\n".
    """
    terminator = "\r\n" + form.quoted_signs
    end, cut = form.line_end, -len(terminator)

    class Ending:
        """Takes whole rows from the csv module."""

        @staticmethod
        def write(line: str) -> int:
            return file.write(line[:cut] + end)

    target = file if terminator == end else Ending
    if form.quote_all:
        return csv.writer(target, delimiter=form.separator, lineterminator=terminator, quoting=csv.QUOTE_ALL).writerow
    return csv.writer(target, delimiter=form.separator, lineterminator=terminator).writerow


def _unwritable(row: Row, number: int, form: Form) -> FieldError:
    at, sign = next((at, sign) for at, cell in enumerate(row, 1) if (sign := unwritable(cell, form.encoding)))
    where = f"line {number}, column {at}" if number == 1 else f"row {number} ({row[0]}), column {at}"
    hint = 'Write encoding = "utf-8" or transliterate = true in the channel\'s [dialect], or other words.'
    return FieldError(f'{where} of the table: {form.encoding} has no "{sign}" (U+{ord(sign):04X}).', hint)


class _Lines:
    """The physical lines of a file; `last` is the one that was read last, so that each row's own end can be seen."""

    def __init__(self, file: TextIO, end: str) -> None:
        self._file = file
        self._end = end
        self.last = ""

    def __iter__(self) -> Iterator[str]:
        for line in self._file:
            self.last = line
            yield line

    def ends_well(self) -> bool:
        """Whether the last line ends as every row should."""
        return self.last.endswith(self._end) and (self._end == "\r\n" or not self.last.endswith("\r\n"))


def _difference(lines: _Lines, rows: Iterable[Row], form: Form) -> str:
    reader = csv.reader(lines, delimiter=form.separator, doublequote=True, strict=True)
    for number, (found, wanted) in enumerate(zip_longest(reader, rows), 1):
        if found is None:
            return f"it ends before row {number}."
        if wanted is None:
            return f"row {number} was not asked for."
        if tuple(found) != wanted:
            return f"row {number} is not the one that was asked for."
        if not lines.ends_well():
            return f"row {number} does not end as every row should."
    return ""


@contextmanager
def _long_cells() -> Iterator[None]:
    """Let the csv module read cells longer than 128 KiB, and set back its limit, which is one for the whole program."""
    before = csv.field_size_limit(_LONGEST_CELL)
    try:
        yield
    finally:
        csv.field_size_limit(before)
