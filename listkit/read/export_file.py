"""Reads what a channel gives out of itself: a table in any dialect of CSV, a workbook, or JSON of ours.

Rows come one at a time, with the line where they stand. An export that breaks off is told, not half read.
"""

import codecs
import csv
import io
import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import chain
from pathlib import PurePath
from typing import Final

from listkit.problem import FieldError, Problem
from listkit.read.json_export import read_json, read_json_lines
from listkit.read.source import UTF16, decoded_table
from listkit.read.workbook import is_workbook, workbook_rows

EXPORT_LIMIT: Final = 1_000_000_000
"""Bytes; a larger export is not read."""
_SEPARATORS: Final = ",;\t|"
_LONGEST_CELL: Final = 100_000_000
_LONGEST_HEADER: Final = 1_000_000  # bytes
_PIECE: Final = 1_000_000
_JSON_ENDINGS: Final = (".json", ".jsonl")
_AGAIN: Final = "Export it again."
Known = Callable[[Sequence[str]], int]
"""How many headings of a row are known."""


@dataclass(frozen=True, slots=True)
class ExportRow:
    """One row: its physical line (row of a sheet, line of JSON Lines, number of a product in JSON), and its cells.

    A cell is None where the row has none.
    """

    line: int
    cells: tuple[str | None, ...]


@dataclass(frozen=True, slots=True)
class Export:
    """A table by its headings; of JSON, `facts` says that cells are facts as listkit writes them, not a dialect's."""

    headings: tuple[str, ...]
    rows: Iterator[ExportRow]
    facts: bool = False


def read_export(name: str, content: bytes, known: Known, *, header: tuple[str, ...] = ()) -> Export:
    """Return the table in `content`; `name` is the file's, whose ending tells JSON.

    `known` chooses the separator; `header` is given where the dialect has no row of headings.

    Raises:
        FieldError: it is empty, no table, or breaks off (also later, while rows are taken).
    """
    if not content or content.isspace():
        raise FieldError("the export is empty.", _AGAIN)
    if is_workbook(content):
        return _table(((number, row) for number, row in _sheet(content)), header)
    encoding, ending = _encoding(content), PurePath(name).suffix.lower()
    head = content[:_LONGEST_HEADER].decode(encoding or "latin-1", "ignore")
    if encoding and ending not in _JSON_ENDINGS and head.lstrip()[:1] not in ("{", "["):
        return _table(_csv(content, encoding, known), header)
    source = decoded_table(name, content)
    if isinstance(source, Problem):
        raise FieldError(source.message, _AGAIN)
    if ending == ".jsonl" or _begins_with_object_line(source.text):
        return _json(read_json_lines(source.text))
    return _json(read_json(source.text))


def _encoding(content: bytes) -> str:
    """Return what a table is written in, looked at piece by piece, so that a large one is held once; "" if none."""
    for encoding in ("utf-16",) if content.startswith(UTF16) else ("utf-8-sig", "windows-1252"):
        decoder = codecs.getincrementaldecoder(encoding)()
        try:
            pieces = (content[at : at + _PIECE] for at in range(0, len(content), _PIECE))
            if any("\0" in decoder.decode(piece) for piece in pieces):
                return ""
            decoder.decode(b"", True)
        except UnicodeDecodeError:
            continue
        return encoding
    return ""


def _begins_with_object_line(text: str) -> bool:
    """Whether the first line is a JSON object by itself and more follow: JSON Lines, whatever the file is called."""
    if text.lstrip()[:1] != "{":
        return False
    first, _, rest = text.lstrip().partition("\n")
    if not rest.strip():
        return False
    try:
        return isinstance(json.loads(first), dict)
    except (ValueError, RecursionError):
        return False


def _sheet(content: bytes) -> Iterator[tuple[int, list[str]]]:
    for row in workbook_rows(content):
        yield row.line, [cell.text for cell in row.cells]


def _csv(content: bytes, encoding: str, known: Known) -> Iterator[tuple[int, list[str]]]:
    """Yield line and cells of every row that is not blank."""
    first, separator = 1, ""
    head = content[:_LONGEST_HEADER].decode(encoding, "ignore")
    text = io.TextIOWrapper(io.BytesIO(content), encoding, newline="")
    if head[:4].lower() == "sep=" and head[5:6] in ("\r", "\n"):
        separator, first = head[4], 2
        text.readline()
    separator = separator or max(_SEPARATORS, key=lambda sign: known(_first_row(head, sign)))
    reader = csv.reader(text, delimiter=separator, strict=True)
    line = first
    with _long_cells():
        try:
            for cells in reader:
                if cells:
                    yield line, cells
                line = reader.line_num + first
        except csv.Error as fault:
            raise FieldError(f"line {line}: a quotation mark is not closed; the export breaks off.", _AGAIN) from fault


def _first_row(head: str, separator: str) -> list[str]:
    try:
        return next((row for row in csv.reader(io.StringIO(head, newline=""), delimiter=separator) if row), [])
    except csv.Error:
        return []


@contextmanager
def _long_cells() -> Iterator[None]:
    """Let the csv module read long cells, and set back its limit, which is one for the whole program."""
    before = csv.field_size_limit(_LONGEST_CELL)
    try:
        yield
    finally:
        csv.field_size_limit(before)


def _table(rows: Iterator[tuple[int, list[str]]], header: tuple[str, ...]) -> Export:
    headings = header
    if not header:
        _, found = next(rows, (0, []))
        headings = tuple(cell.strip().removeprefix("\ufeff").removeprefix("'") for cell in found)
    if not any(headings):
        raise FieldError("the export has no row of headings.", _AGAIN)
    return Export(headings, _filled(rows, len(headings)))


def _filled(rows: Iterator[tuple[int, list[str]]], width: int) -> Iterator[ExportRow]:
    """Yield rows of one width; a short last one says that the export breaks off."""
    ending: Iterator[tuple[int, list[str]] | None] = chain(rows, (None,))
    row = next(ending)
    while row is not None:
        line, cells = row
        row = next(ending)
        if not any(cells):
            continue
        missing = width - len(cells)
        if missing > 0 and row is None:
            message = f"line {line}, the last, has {len(cells)} of {width} cells; the export breaks off."
            raise FieldError(message, _AGAIN)
        if missing < 0 and any(cells[width:]):
            raise FieldError(f"line {line} has {len(cells)} cells and the table {width} columns.", _AGAIN)
        yield ExportRow(line, (*cells[:width], *([None] * missing)))


def _json(facts: Sequence[dict[str, str]]) -> Export:
    headings = tuple(dict.fromkeys(name for row in facts for name in row))
    rows = (ExportRow(line, tuple(row.get(name, "") for name in headings)) for line, row in enumerate(facts, 1))
    return Export(headings, rows, facts=True)
