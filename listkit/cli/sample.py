"""Opens a storefront's sample: which sheet of a workbook, how a text is written, which row is the header."""

import codecs
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from listkit.learn.dialect import SAMPLE_ROWS, TextForm, read_text
from listkit.learn.feed_header import header_row
from listkit.problem import FieldError, Problem
from listkit.read.sheet import is_workbook, sheet_names, workbook_rows
from listkit.read.source import TEXT_LIMIT, read_bytes

_SHEETS: Final = 30
_SMALLER: Final = "Keep its header and the first rows, and learn from that."
_NO_TABLES: Final = (
    *((b"\xff\xd8\xff", "a picture"), (b"\x89PNG", "a picture"), (b"%PDF", "a PDF document")),
    *((b"{", "JSON"), (b"[", "JSON"), (b"<", "XML or a page of the web")),
)
Row = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sample:
    """A sample: how it is written (None for a workbook), its headings, the rows below."""

    file: str
    form: TextForm | None
    headings: Row
    rows: tuple[Row, ...]


def read_sample(path: Path) -> Sample:
    """Return the sample at `path`.

    Raises:
        FieldError: there is no such file, it is no table, nothing stands in it, or no row names its columns.
    """
    try:
        return _sample(path.name, _content(path))
    except FieldError as fault:
        raise FieldError(f"{path.name}: {fault.message}", fault.hint) from None


def _content(path: Path) -> bytes:
    try:
        whole = path.resolve(strict=True)
        size = whole.stat().st_size if whole.is_file() else 0
    except (OSError, RuntimeError, ValueError):
        raise FieldError("there is no such file.", "Look at the name, and where it lies.") from None
    if size > TEXT_LIMIT:
        told = f"it has {size // 1_000_000} MB, and more than {TEXT_LIMIT // 1_000_000} are not read."
        raise FieldError(told, _SMALLER)
    content = read_bytes(whole.parent, whole.name)
    if isinstance(content, Problem):
        raise FieldError(content.message, content.hint)
    for begins, what in _NO_TABLES:
        if content.removeprefix(codecs.BOM_UTF8).lstrip().startswith(begins):
            raise FieldError(f"it is {what} and no table.", "Ask the storefront for a sample as CSV or .xlsx.")
    return content


def _sample(file: str, content: bytes) -> Sample:
    if is_workbook(content):
        tables = [_table(content, name) for name in sheet_names(content)[:_SHEETS]]
        return max((_of_rows(file, None, rows) for rows in _readable(tables)), key=lambda one: len(one.headings))
    form, rows = read_text(content)
    return _of_rows(file, form, rows)


def _readable(tables: list[tuple[Row, ...]]) -> list[tuple[Row, ...]]:
    """Return the sheets in which a row names the columns; where there is none, the first that holds anything."""
    found = [rows for rows in tables if rows and _has_header(rows)]
    filled = [rows for rows in tables if rows]
    if not filled:
        raise FieldError("nothing stands in it.", "Ask the storefront for a sample with a row of headings.")
    return found or filled[:1]


def _has_header(rows: tuple[Row, ...]) -> bool:
    try:
        header_row(rows)
    except FieldError:
        return False
    return True


def _table(content: bytes, sheet: str) -> tuple[Row, ...]:
    rows = (tuple(cell.text for cell in row.cells) for row in workbook_rows(content, sheet) if not row.blank)
    return tuple(row for row, _ in zip(rows, range(SAMPLE_ROWS), strict=False))


def _of_rows(file: str, form: TextForm | None, rows: tuple[Row, ...]) -> Sample:
    at = header_row(rows)
    headings = rows[at]
    while headings and not headings[-1]:  # a spreadsheet adds empty columns behind
        headings = headings[:-1]
    return Sample(file, form, headings, tuple(row[: len(headings)] for row in rows[at + 1 :] if any(row)))
