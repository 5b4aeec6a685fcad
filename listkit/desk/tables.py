"""Cells and rows of the owner's tables: changed in place, and read again to see that nothing else differs."""

import csv
import io
import re
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property, lru_cache
from typing import Any, Final, cast

from pydantic import BaseModel

from listkit.edit.table import ANY, CellEdit, with_cells, with_column, with_row, without_row
from listkit.edit.workbook import with_workbook_cells
from listkit.problem import FieldError, Problem, not_in, quoted
from listkit.read.headings import Headings
from listkit.read.odd_rows import comma_fields, is_section, is_total
from listkit.read.sheet import Row, workbook_cell
from listkit.read.table_file import Form, Table, open_table, read_table

_AGAIN: Final = "Load the page again."


@dataclass(frozen=True, slots=True)
class PutCell:
    """The text of a cell: its row by the code in it, or by its line where rows have none, and its field of ours.

    One that is judged `by_itself` is written whatever else is wrong in its row.
    """

    row: str | int
    field: str
    text: str
    by_itself: bool = False


@dataclass(frozen=True, slots=True)
class AddRow:
    """One more row below the last one, by our fields; a table that is not there is made."""

    cells: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class TakeRow:
    """A row to be taken out: by its code, or by its line."""

    row: str | int


Texts = tuple[str, ...]
_CODE_FIELDS: Final = ("code", "gtin", "larger", "cas")  # digits that are no number
_PLAIN: Final = re.compile(r"-?(0|[1-9]\d{0,11})(\.\d{1,9})?", re.ASCII)
_DECIMAL_POINT: Final = re.compile(r"(?<=\d)\.(?=\d{1,2}(?!\d))")
_ELSEWHERE: Final = "Give it another by renaming, through all files."


def edited_table(file: str, content: bytes, form: Form[Any], action: AddRow | TakeRow) -> tuple[bytes, list[Problem]]:
    """Return the bytes of a table after an edit, and what is wrong in that row then and was not before.

    Args:
        file: the table's name.
        content: its bytes, empty where it is not there yet.
        form: what it should hold.
        action: the edit.

    Raises:
        FieldError: there is no such row or column, or it cannot be changed in place.
    """
    table = _Opened(file, content or _begun(file, form, action), form)
    if isinstance(action, AddRow):
        return table.with_row(action)
    return table.without_row(table.row(action.row)), []


@dataclass(frozen=True, slots=True)
class CellFaults:
    """What is wrong once a cell is put there: why it is not, what came by it, and all that is wrong in its row."""

    refused: FieldError | None = None
    new: tuple[Problem, ...] = ()
    in_row: tuple[Problem, ...] = ()


def edited_cells(
    file: str, content: bytes, form: Form[Any], actions: Sequence[PutCell]
) -> tuple[bytes, tuple[CellFaults, ...]]:
    """Return the bytes of a table after cells are put there one after the other, and what is wrong with each then.

    The table is read and written once. Arguments are those of `edited_table`.

    Raises:
        FieldError: there is no table, or they cannot be changed in place, all of them together at least.
    """
    if not content:
        raise FieldError(f"{file} is not there.", _AGAIN)
    table = _Opened(file, content, form)
    after, faults = table.with_cells(actions)
    if len(actions) > 1 and _Opened(file, after, form).commas != table.commas:
        raise FieldError("the first of them change how the others are written.", "Put them there one by one.")
    return after, faults


def cell_text(file: str, content: bytes, form: Form[Any], action: PutCell) -> str | None:
    """Return what a cell says now, None where its column is not there; raises as `edited_table` does."""
    table = _Opened(file, content, form)
    column = table.columns.get(action.field)
    return table.rows[table.row(action.row)].text(column) if column is not None else None


@dataclass(frozen=True, slots=True)
class Line:
    """A row as a table has it: its line, and its texts by our fields; of a field without a column there is none."""

    line: int
    cells: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Lines:
    """The rows of a table as they are written, sound or not, and the owner's heading of each of our fields."""

    headings: Mapping[str, str]
    rows: tuple[Line, ...]


def lines_of(file: str, content: bytes, form: Form[Any]) -> Lines:
    """Return the rows of a table as they are written.

    Raises:
        FieldError: it cannot be read to its end.
    """
    return _lines_once(file, content, cast("Hashable", form.model), tuple(form.own.items()), form.sheet)


@lru_cache(maxsize=2)  # the page that follows a change, and the change after it
def _lines_once(
    file: str, content: bytes, model: Hashable, headings_of_owner: tuple[tuple[str, str], ...], sheet: str
) -> Lines:
    rows, headings = _opened_once(file, content, model, headings_of_owner, sheet)
    at = {column.field: column.index for column in headings.columns}
    required = frozenset(
        name for name, about in cast("type[BaseModel]", model).model_fields.items() if about.is_required()
    )
    lines = [
        Line(row.line, {name: row.text(index) for name, index in at.items()})
        for row in rows
        if _is_thing(row, at, required)
    ]
    kept = tuple(line for line in lines if line.line > headings.row.line)
    return Lines({column.field: column.heading for column in headings.columns}, kept)


def _is_thing(row: Row, at: Mapping[str, int], required: frozenset[str]) -> bool:
    """Whether a row is one of the table's own: no blank, no heading within it, no sum, no units."""
    code, name = (row.text(at[field]) if field in at else "" for field in ("code", "name"))
    if row.blank or is_section(row):
        return False
    needed = [at[field] for field in required & at.keys() - {"code", "name"}]
    return bool(code or name or "code" not in at) and not is_total(row, code, name, needed)


def row_value(file: str, content: bytes, form: Form[Any], name: str | int) -> BaseModel | None:
    """Return what a row says, by its code or its line, None where it is not sound; raises as `edited_table` does."""
    return _Opened(file, content, form).value(name)


def _begun(file: str, form: Form[Any], action: AddRow | TakeRow) -> bytes:
    """Return a table that has the headings of a first row alone."""
    if not isinstance(action, AddRow):
        raise FieldError(f"{file} is not there.", _AGAIN)
    fields = [name for name in form.fields if name in form.required or name in action.cells]
    return ",".join(name.replace("_", " ").strip() for name in fields).encode() + b"\n"


class _Opened:
    """A table as it stands, and the edits of it. What comes of one must differ from it in what was meant alone."""

    def __init__(self, file: str, content: bytes, form: Form[Any]) -> None:
        self.file, self.content, self.form = file, content, form
        self.rows, self.headings = _opened(file, content, form)
        self.columns = {column.field: column.index for column in self.headings.columns}
        self.header = self.headings.row.line, len(self.headings.row.cells)
        self.commas = comma_fields([row for row in self.rows if row.line > self.header[0]], self.columns)
        self.is_workbook = not file.lower().endswith((".csv", ".txt", ".tsv"))
        if file.lower().endswith(".ods"):
            raise FieldError(f"{file} can only be read here.", "Change it in your own program.")

    def row(self, name: str | int) -> int:
        """Return which of the rows has a code, or begins on a line."""
        if name in self.by_name:
            return self.by_name[name]
        raise FieldError(f"there is no row {quoted(str(name))} in {self.file}.", _AGAIN)

    @cached_property
    def by_name(self) -> dict[str | int, int]:
        """Which row begins on a line, and which is the first with a code."""
        code, names = self.columns.get("code", -1), dict[str | int, int]()
        for at, row in enumerate(self.rows):
            if row.line > self.header[0]:
                names[row.line] = at
                if code >= 0 and (text := row.text(code)):
                    names.setdefault(text, at)
        return names

    def value(self, name: str | int) -> BaseModel | None:
        """Return what a row says, read by itself below the header."""
        table = self._alone(_texts(self.rows[self.row(name)]))[0]
        return table.rows[0] if len(table.rows) == 1 else None

    def with_cells(self, actions: Sequence[PutCell]) -> tuple[bytes, tuple[CellFaults, ...]]:
        places = self.places(actions)
        table = self.with_columns([each.field for each, at in zip(actions, places, strict=True) if isinstance(at, int)])
        texts, faults = dict[int, Texts](), dict[int, list[Problem]]()
        cells, outcomes = dict[int, dict[str, str]](), list[CellFaults]()
        for action, at in zip(actions, places, strict=True):
            if isinstance(at, FieldError):
                outcomes.append(CellFaults(refused=at))
                continue
            name, row = action.field, table.rows[at]
            written = table.as_written(name, action.text)
            cells.setdefault(row.line, {})[name] = written
            old, column = texts.get(at, _texts(row)), table.columns[name]
            wide = [*old, *[""] * (column + 1 - len(old))]
            wide[column] = table.read(name, written)
            before = faults[at] if at in faults else table.problems(old)
            texts[at] = _trimmed(wide)
            faults[at] = table.problems(texts[at])
            new = [
                problem
                for problem in faults[at]
                if problem.place.key == (name,) or (not action.by_itself and problem in not_in(before, faults[at]))
            ]
            outcomes.append(CellFaults(new=tuple(new), in_row=tuple(faults[at])))
        wanted = [texts[at] if at in texts else _texts(row) for at, row in enumerate(table.rows)]
        return table.checked(table.with_texts(cells), wanted), tuple(outcomes)

    def places(self, actions: Sequence[PutCell]) -> list[int | FieldError]:
        """Return for each cell which row it is in, or why it is not put there."""
        places, codes = list[int | FieldError](), dict[int, str]()
        for action in actions:
            try:
                at = self.row(action.row)
                now = codes.get(at, self.rows[at].text(self.columns["code"]) if "code" in self.columns else "")
                if action.field == "code" and now not in ("", action.text.strip()):
                    raise FieldError("other files may name it by its code.", _ELSEWHERE)
                if action.field not in self.form.fields:
                    raise _no_column(action.field)
            except FieldError as fault:
                places.append(fault)
                continue
            if action.field == "code":
                codes[at] = action.text.strip()
                self.by_name.setdefault(codes[at], at)
            places.append(at)
        return places

    def with_texts(self, cells: Mapping[int, Mapping[str, str]]) -> bytes:
        """Return the bytes with the texts of cells, by the lines of their rows and by our fields."""
        if self.is_workbook:
            content = self.content
            for line, texts in cells.items():
                content = self.in_workbook(content, line, texts)
            return content
        edits = [
            CellEdit(line, self.columns[name], ANY, text)
            for line, texts in cells.items()
            for name, text in texts.items()
        ]
        return with_cells(self.content, edits, self.header) if edits else self.content

    def with_row(self, action: AddRow) -> tuple[bytes, list[Problem]]:
        code = action.cells.get("code", "").strip()
        if code and "code" in self.columns and any(row.text(self.columns["code"]) == code for row in self.rows):
            raise FieldError(f"{quoted(code)} is there already.", "Give each its own code.")
        table = self.with_columns(tuple(action.cells))
        action = AddRow({name: table.as_written(name, text) for name, text in action.cells.items()})
        at = table.last() + 1
        texts = [""] * (max(table.columns.values()) + 1)
        for name, text in action.cells.items():
            texts[table.columns[name]] = table.read(name, text)
        if not table.is_workbook:
            cells = {table.columns[name]: text for name, text in action.cells.items()}
            content = with_row(table.content, table.header, table.rows[at - 1].line, cells)
        elif at < len(table.rows):
            raise FieldError("below the last row something else is written.", "Add the row in your own program.")
        else:
            content = table.in_workbook(table.content, table.rows[-1].line + 1, action.cells)
        wanted = [*map(_texts, table.rows)]
        wanted.insert(at, _trimmed(texts))
        return table.checked(content, wanted), table.problems(wanted[at])

    def without_row(self, at: int) -> bytes:
        row = self.rows[at]
        wanted = [_texts(each) for number, each in enumerate(self.rows) if number != at]
        if not self.is_workbook:
            return self.checked(without_row(self.content, self.header, row.line), wanted)
        emptied = {
            column: "" for column, cell in enumerate(row.cells) if cell.text
        }  # the rows below keep their numbers
        try:
            content = with_workbook_cells(self.content, self.form.sheet, row.line, emptied)
        except FieldError as fault:
            raise FieldError(fault.message, f"Delete row {row.line} in your own program.") from fault
        return self.checked(content, wanted)

    def with_columns(self, names: Sequence[str]) -> "_Opened":
        """Return the table with a column for each of these fields."""
        table = self
        for name in names:
            if name not in self.form.fields:
                raise _no_column(name)
            if name not in table.columns:
                line, width = table.header
                heading = name.replace("_", " ").strip()
                if table.is_workbook:
                    content = with_workbook_cells(table.content, table.form.sheet, line, {width: heading})
                else:
                    content = with_column(table.content, heading, line)
                wanted = [*map(_texts, table.rows)]
                header = next(at for at, row in enumerate(table.rows) if row.line == line)
                wanted[header] = (*(cell.text for cell in table.headings.row.cells), heading)
                table = _Opened(self.file, table.checked(content, wanted), self.form)
        return table

    def last(self) -> int:
        """Return the last row that fills its first fields, as sums and remarks below do not; else the header."""
        needed = [self.columns[name] for name in self.form.fields if name in self.form.required & self.columns.keys()]
        filled = (
            at for at, row in enumerate(self.rows) if row.line >= self.header[0] and all(map(row.text, needed[:2]))
        )
        return max(filled)

    def in_workbook(self, content: bytes, line: int, cells: Mapping[str, str]) -> bytes:
        placed: dict[int, str | Decimal] = {
            self.columns[name]: Decimal(text.strip()) if self.is_number(name, text) else text.strip()
            for name, text in cells.items()
        }
        return with_workbook_cells(content, self.form.sheet, line, placed)

    def is_number(self, name: str, text: str) -> bool:
        return self.is_workbook and name not in _CODE_FIELDS and bool(_PLAIN.fullmatch(text.strip()))

    def as_written(self, name: str, text: str) -> str:
        """Return a text as its column writes numbers: one point among decimal commas would spoil the whole column."""
        return _DECIMAL_POINT.sub(",", text) if name in self.commas and "," not in text else text

    def read(self, name: str, text: str) -> str:
        """Return what a cell will be read as: in a workbook 7.50 is 7.5."""
        return workbook_cell(float(text)).text if self.is_number(name, text) else text.strip()

    def problems(self, texts: Texts) -> list[Problem]:
        """Return what is wrong in one row, read by itself below the header."""
        return [problem for problem in self._alone(texts)[1] if problem.place.line > 1]

    def _alone(self, texts: Texts) -> tuple[Table[Any], list[Problem]]:
        """Read one row below the header."""
        written = io.StringIO(newline="")
        csv.writer(written).writerows([[cell.text for cell in self.headings.row.cells], texts])
        form = replace(self.form, commas=self.commas)  # a row alone does not show how its columns write numbers
        return read_table("row.csv", written.getvalue().encode(errors="replace"), form)

    def checked(self, content: bytes, wanted: Sequence[Texts]) -> bytes:
        """Return the bytes where they read as they should."""
        rows, _ = _opened(self.file, content, self.form)
        if [_texts(row) for row in rows] != [texts for texts in wanted if texts]:
            raise FieldError(f"{self.file} would not read as it should.", "Change it in your own program.")
        return content


def _no_column(name: str) -> FieldError:
    return FieldError(f"there is no column {quoted(name)}.", _AGAIN)


def _opened(file: str, content: bytes, form: Form[Any]) -> tuple[tuple[Row, ...], Headings]:
    """Return the rows of a table and its header; raises FieldError where it cannot be read to its end."""
    return _opened_once(file, content, cast("Hashable", form.model), tuple(form.own.items()), form.sheet)


@lru_cache(maxsize=4)  # what one edit leaves is what the next begins with
def _opened_once(
    file: str,
    content: bytes,
    model: Hashable,
    headings_of_owner: tuple[tuple[str, str], ...],
    sheet: str,
) -> tuple[tuple[Row, ...], Headings]:
    form = Form(cast("type[BaseModel]", model), dict(headings_of_owner), sheet=sheet)
    opened, headings, problems = open_table(file, content, form)
    if opened is None or headings is None or problems:
        raise FieldError(f"{file}: {problems[0].message}", problems[0].hint)
    return opened.rows, headings


def _texts(row: Row) -> Texts:
    return _trimmed([cell.text for cell in row.cells])


def _trimmed(texts: Sequence[str]) -> Texts:
    width = max((at for at, text in enumerate(texts, 1) if text), default=0)
    return tuple(texts[:width])
