"""Opens the sheet that an owner keeps already: which sheet of a workbook, which row is the header, what columns are."""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from listkit.learn.header import (
    ColumnMatch,
    CurrencyGuess,
    HeaderRow,
    find_header,
    guess_currency,
    heading_score,
    match_items,
)
from listkit.problem import FieldError, Problem
from listkit.read.folder import stays_inside
from listkit.read.sheet import Row, Sheet, column_letters, is_workbook, read_sheet, sheet_names
from listkit.read.source import read_bytes

_SAMPLES: Final = 400
_SHEETS: Final = 30
_TAKEN: Final = ("stockists.csv", "rates.csv", "ingredients.csv")
_FILL: Final = "Write a row of headings, and a row for each thing you sell."
_NO_SHEETS: Final = (
    (b"\xff\xd8\xff", "a picture"),
    (b"\x89PNG", "a picture"),
    (b"GIF8", "a picture"),
    (b"%PDF", "a PDF document"),
)


@dataclass(frozen=True, slots=True)
class SheetRead:
    """The owner's sheet, understood: `sheet` names one of a workbook's, "" where there is one alone.

    `problems` are rows that could not be read at all; what is wrong in cells is told by `check`.
    """

    file: str
    content: bytes
    sheet: str
    table: Sheet
    header: HeaderRow
    matches: tuple[ColumnMatch, ...]
    samples: tuple[tuple[str, ...], ...]
    currency: CurrencyGuess
    problems: tuple[Problem, ...]

    @property
    def header_line(self) -> int:
        """The header's line, or row of the workbook, from 1."""
        return self.table.rows[self.header.index].line

    @property
    def first_line(self) -> int:
        """The line of the first row that holds something below the header; the one after it when there is none."""
        below = (row.line for row in self.table.rows[self.header.first :] if not row.blank)
        return next(below, self.header_line + 1)


def read_own_sheet(path: Path) -> SheetRead:
    """Return the sheet at `path`, understood.

    Raises:
        FieldError: there is no such file, it is no sheet, nothing stands in it, or no row names its columns.
    """
    file, content = path.name, _content(path)
    table, sheet, problems = _table(file, content)
    rows = _texts(table.rows)
    header = find_header(rows)
    if header is None:
        raise FieldError(f"{file}: no row names the columns.", _header_hint(rows))
    samples = tuple(row for row in rows[header.first :] if any(row))[:_SAMPLES]
    matches = match_items(header.with_units, samples)
    currency = guess_currency(matches, samples)
    return SheetRead(file, content, sheet, table, header, matches, samples, currency, problems)


def _content(path: Path) -> bytes:
    """Return the bytes of the file, once it is sure that it can be a table in a shop folder."""
    if not stays_inside(path.name) or path.name.startswith((".", "~")) or path.name.lower() in _TAKEN:
        raise FieldError(f"{path.name} cannot be the name of an items table.", "Rename the sheet, as in stock.csv.")
    try:
        whole = path.resolve(strict=True)
    except (OSError, RuntimeError):
        raise FieldError(f"there is no file {path}.", "Look at the name, and where it lies.") from None
    content = read_bytes(whole.parent, whole.name)
    if isinstance(content, Problem):
        raise FieldError(f"{path.name}: {content.message}", content.hint)
    for begins, what in _NO_SHEETS:
        if content.startswith(begins):
            raise FieldError(f"{path.name} is {what} and no sheet.", "Name a CSV, .xlsx or .ods file.")
    return content


def _table(file: str, content: bytes) -> tuple[Sheet, str, tuple[Problem, ...]]:
    """Return the rows, of a workbook those of the sheet that is most like a table of items, and its name."""
    names = _names(file, content)
    best: tuple[tuple[int, ...], Sheet, str, tuple[Problem, ...]] | None = None
    fault: Problem | None = None
    for name in names:
        table, problems = read_sheet(file, content, _score, sheet=name)
        if table is None:
            fault = fault or problems[0]
        elif best is None or _score(table.rows) > best[0]:
            best = _score(table.rows), table, name, tuple(problems)
    if best is None:
        words = (fault.message, fault.hint) if fault else ("nothing stands in it.", _FILL)
        raise FieldError(f"{file}: {words[0]}", words[1])
    _, table, name, told = best
    if not any(sign.isalnum() for row in table.rows for cell in row.cells for sign in cell.text):
        raise FieldError(f"{file}: nothing stands in it.", _FILL)
    return table, name if len(names) > 1 else "", told


def _names(file: str, content: bytes) -> tuple[str, ...]:
    """Return the sheets to look at; one without name for a text file, and for what is told when it is read."""
    if not is_workbook(content) or file.lower().endswith((".csv", ".txt", ".tsv")):
        return ("",)
    try:
        return sheet_names(content)[:_SHEETS] or ("",)
    except FieldError as fault:
        raise FieldError(f"{file}: {fault.message}", fault.hint) from fault


def _score(rows: Iterable[Row]) -> tuple[int, ...]:
    """Return how much of a table of items some rows are: columns named, then cells side by side."""
    texts = [row for row in _texts(rows) if any(row)][:60]
    named = max(map(heading_score, texts), default=(0, 0))
    widths = sorted(sum(map(bool, row)) for row in texts)
    return (*named, widths[len(widths) // 2] if widths else 0)


def _texts(rows: Iterable[Row]) -> tuple[tuple[str, ...], ...]:
    return tuple(tuple(cell.text for cell in row.cells) for row in rows)


def _header_hint(rows: tuple[tuple[str, ...], ...]) -> str:
    """Return which headings to write above, as far as the cells tell what they are."""
    filled = [row for row in rows if any(row)][:_SAMPLES]
    width = max(map(len, filled), default=0)
    guessed = [match.second or match.field for match in match_items([""] * width, filled)]
    told = [f"{column_letters(at)} {field}" for at, field in enumerate(guessed) if field]
    seen = f" By their cells: {', '.join(told)}." if told else ""
    needed = "code, name, retail, cost, weight (g), size (mm)"
    return f"Write a row of headings above the first row; needed are {needed}.{seen}"
