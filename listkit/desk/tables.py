"""Cells and rows of the owner's tables: changed in place, and read again to see that nothing else differs."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from listkit.edit.table import ANY, CellEdit, with_cells, with_column, with_row, without_row
from listkit.edit.workbook import with_workbook_cells
from listkit.problem import FieldError
from listkit.read.sheet import Row
from listkit.read.table_file import Form, Headings, Table, open_table, read_table
from listkit.read.wording import quoted

_AGAIN: Final = "Load the page again."


@dataclass(frozen=True, slots=True)
class PutCell:
    """The text of a cell: its row by the code in it, or by its line where rows have none, and its field of ours."""

    row: str | int
    field: str
    text: str


@dataclass(frozen=True, slots=True)
class AddRow:
    """One more row below the last one, by our fields; a table that is not there is made."""

    cells: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class TakeRow:
    """A row to be taken out: by its code, or by its line."""

    row: str | int


Texts = tuple[str, ...]


def edited_table(file: str, content: bytes, form: Form[Any], action: PutCell | AddRow | TakeRow) -> bytes:
    """Return the bytes of a table after an edit; `content` is empty where the table is not there yet.

    Raises:
        FieldError: there is no such row or column, or it cannot be changed in place.
    """
    return _TableEdit(file, content, form).edited(action)


def cell_text(file: str, content: bytes, form: Form[Any], action: PutCell) -> str | None:
    """Return what a cell says now, None where its column is not there; raises as `edited_table` does."""
    table = _TableEdit(file, content, form)
    rows, headings = table.rows()
    line = table.line(action.row)
    column = next((column.index for column in headings.columns if column.field == action.field), None)
    return next(row.text(column) for row in rows if row.line == line) if column is not None else None


@dataclass(frozen=True, slots=True)
class _TableEdit:
    """Edits of one table; what comes of one is read again and must differ in what was meant alone."""

    file: str
    content: bytes
    form: Form[Any]

    def edited(self, action: PutCell | AddRow | TakeRow) -> bytes:
        if not self.content:
            if isinstance(action, AddRow):
                return self.begun(action)
            raise FieldError(f"{self.file} is not there.", _AGAIN)
        rows, headings = self.rows()
        before = [_texts(row) for row in rows]
        if isinstance(action, AddRow):
            return self.checked(*self.added(action, rows, headings, before))
        line = self.line(action.row)
        at = next(number for number, row in enumerate(rows) if row.line == line)
        if isinstance(action, TakeRow):
            del before[at]
            return self.checked(self.taken(headings, line), before)
        return self.checked(*self.cell(action, headings, at, line, before))

    def rows(self) -> tuple[tuple[Row, ...], Headings]:
        sheet, headings, problems = open_table(self.file, self.content, self.form)
        if sheet is None or headings is None or problems:
            problem = problems[0]
            raise FieldError(problem.message, problem.hint)
        return sheet.rows, headings

    def line(self, row: str | int) -> int:
        table: Table[Any] = read_table(self.file, self.content, self.form)[0]
        lines = table.lines.values() if isinstance(row, int) else ()
        line = table.lines.get(row) if isinstance(row, str) else row
        if line is None or (isinstance(row, int) and row not in (*lines, *table.row_lines)):
            raise FieldError(f"there is no row {quoted(str(row))} in {self.file}.", _AGAIN)
        return line

    def begun(self, action: AddRow) -> bytes:
        """Return a new table with this row."""
        fields = [name for name in self.form.fields if name in self.form.required or name in action.cells]
        header = ",".join(name.replace("_", " ") for name in fields).encode() + b"\n"
        cells = {fields.index(name): text for name, text in action.cells.items() if name in fields}
        return with_row(header, (1, len(fields)), 1, cells)

    def added(
        self, action: AddRow, rows: tuple[Row, ...], headings: Headings, before: list[Texts]
    ) -> tuple[bytes, list[Texts]]:
        table = read_table(self.file, self.content, self.form)[0]
        last = max((*table.lines.values(), *table.row_lines, headings.row.line))
        content, header, columns = self.with_columns(headings, action.cells)
        cells = {columns[name]: text for name, text in action.cells.items()}
        at = next(number for number, row in enumerate(rows) if row.line == last) + 1
        texts = tuple(cells.get(column, "").strip() for column in range(max(columns.values()) + 1))
        wanted = self.with_headings(before, rows, headings, columns)
        wanted.insert(at, _trimmed(texts))
        if self.is_workbook:
            below = max(row.line for row in rows) + 1
            if at < len(rows):
                raise FieldError("below the last row something else is written.", "Add the row in your own program.")
            named = {(below, column): text for column, text in cells.items() if text}
            return with_workbook_cells(content, self.form.sheet, named), wanted
        return with_row(content, header, last, cells), wanted

    def taken(self, headings: Headings, line: int) -> bytes:
        if self.is_workbook:
            raise FieldError("a row of a workbook cannot be taken out here.", f"Delete row {line} in your own program.")
        return without_row(self.content, (headings.row.line, len(headings.row.cells)), line)

    def cell(
        self, action: PutCell, headings: Headings, at: int, line: int, before: list[Texts]
    ) -> tuple[bytes, list[Texts]]:
        if action.field not in self.form.fields:
            raise FieldError(f"there is no column {quoted(action.field)}.", _AGAIN)
        if action.field == "code" and action.text.strip() != str(action.row) and isinstance(action.row, str):
            raise FieldError("other files may name it by its code.", "Give it another by renaming, through all files.")
        rows, _ = self.rows()
        content, header, columns = self.with_columns(headings, {action.field: action.text})
        wanted = self.with_headings(before, rows, headings, columns)
        column = columns[action.field]
        texts = [*wanted[at], *[""] * (column + 1 - len(wanted[at]))]
        texts[column] = action.text.strip()
        wanted[at] = _trimmed(tuple(texts))
        if self.is_workbook:
            return with_workbook_cells(content, self.form.sheet, {(line, column): action.text}), wanted
        return with_cells(content, [CellEdit(line, column, ANY, action.text)], header), wanted

    @property
    def is_workbook(self) -> bool:
        if self.file.lower().endswith(".ods"):
            raise FieldError(f"{self.file} can only be read here.", "Change it in your own program.")
        return not self.file.lower().endswith((".csv", ".txt", ".tsv"))

    def with_columns(
        self, headings: Headings, cells: Mapping[str, str]
    ) -> tuple[bytes, tuple[int, int], dict[str, int]]:
        """Return the table with a column for each of these fields, its header, and where each field stands."""
        columns = {column.field: column.index for column in headings.columns}
        content, line, width = self.content, headings.row.line, len(headings.row.cells)
        for name in cells:
            if name not in columns and name in self.form.fields:
                heading = name.replace("_", " ")
                if self.is_workbook:
                    content = with_workbook_cells(content, self.form.sheet, {(line, width): heading})
                else:
                    content = with_column(content, heading, line)
                columns[name], width = width, width + 1
            elif name not in columns:
                raise FieldError(f"there is no column {quoted(name)}.", _AGAIN)
        return content, (line, width), columns

    def with_headings(
        self, before: list[Texts], rows: tuple[Row, ...], headings: Headings, columns: Mapping[str, int]
    ) -> list[Texts]:
        """Return the rows as they are to read with the columns that were added."""
        width = len(headings.row.cells)
        added = [name.replace("_", " ") for name, column in columns.items() if column >= width]
        at = next(number for number, row in enumerate(rows) if row.line == headings.row.line)
        result = list(before)
        if added:
            result[at] = (*(cell.text for cell in headings.row.cells), *added)
        return result

    def checked(self, content: bytes, wanted: list[Texts]) -> bytes:
        rows, _ = replace(self, content=content).rows()
        if [_texts(row) for row in rows] != [texts for texts in wanted if texts]:
            raise FieldError(f"{self.file} would not read as it should.", "Change it in your own program.")
        return content


def _texts(row: Row) -> Texts:
    return _trimmed(tuple(cell.text for cell in row.cells))


def _trimmed(texts: Texts) -> Texts:
    while texts and not texts[-1]:
        texts = texts[:-1]
    return texts
