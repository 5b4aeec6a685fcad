"""Reads a table into models, one a row: items in any of the owner's sheets, stockists in a CSV.

Which column fills which field is found in `headings`. Every fault has its row and heading, in a workbook the cell's
name too. Rows that cannot be read are left out; `Table.broken` says which codes they have, so that what uses them can
be told apart from what names nothing. What a row says follows from its cells and the header alone, so a table that is
read again takes over the rows that have not changed.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Final, Generic, TypeVar

from pydantic import BaseModel, ValidationError

from listkit import bounds
from listkit.model.item import FollowingCost
from listkit.model.shop import Guess
from listkit.problem import FieldError, Level, Place, Problem, must_fix, one_line, quoted, times
from listkit.read.as_mended import row_as_mended, usual_text
from listkit.read.faults import faults_of, follow
from listkit.read.headings import Column, Headings, find_headings, is_units, known_unit
from listkit.read.odd_rows import (
    MONEY,
    aside_words,
    comma_fields,
    doubtful_cells,
    error_words,
    is_named_total,
    is_section,
    is_total,
    with_a_cell_more,
    with_point,
)
from listkit.read.sheet import Row, Sheet, column_letters, of_few_letters, read_sheet
from listkit.read.source import Fault, steering_fault
from listkit.read.wording import listed
from listkit.read.workbook_parts import FAILED, UNWORKED
from listkit.units.money import NO_CURRENCY, Money

M = TypeVar("M", bound=BaseModel)
_BARE: Final = re.compile(r"[\d\s.,/+x×X*-]+", re.ASCII)
_COST: Final = "cost"
_UNIT_NEEDED: Final = {
    "weight": "g", "size": "mm", "net": "g", "shelf_life": "months", "after_opening": "months", "from_age": "years",
    "up_to": "g", "over": "g",
}  # fmt: skip
_FEW: Final = 3  # required columns of a table in which a text alone may be a row
_MANY_BARE: Final = 3  # as many numbers without unit are one problem of the heading
PART_ROWS: Final = bounds.PART_ROWS  # the rows of a table that has several for each thing


@dataclass(frozen=True, slots=True)
class Form(Generic[M]):
    """What a table should hold: its model, the owner's own headings, the currency, the sheet's name.

    `following` are the codes of rows whose cost may be empty, since it follows from a recipe. `commas` are fields whose
    cells have decimal commas for certain; others have them where the whole column does.
    """

    model: type[M]
    own: Mapping[str, str]
    currency: str = NO_CURRENCY
    sheet: str = ""
    following: frozenset[str] = frozenset()
    commas: frozenset[str] = frozenset()
    guess: Guess | None = None  # which stand-ins rows get where their cells cannot be read
    customary: bool = False  # whether of a weight in both measures the ounces are read
    most: int = bounds.THING_ROWS  # rows with the header; those beyond are left out

    @property
    def context(self) -> dict[str, object]:
        """What values are read by."""
        return {"currency": self.currency, "customary": self.customary}

    @property
    def fields(self) -> tuple[str, ...]:
        """Every field that a column may fill."""
        return tuple(self.model.model_fields)

    @property
    def required(self) -> frozenset[str]:
        """The fields that must have a column."""
        required = frozenset(name for name, about in self.model.model_fields.items() if about.is_required())
        return required - {_COST} if self.following else required


@dataclass(frozen=True, slots=True)
class Table(Generic[M]):
    """The rows that could be read, and the codes of those that could not, each with its first problem.

    `headings` is None when the columns are not known. `unread` is what hides the table, the rest of it or the
    code of a row; then it may hold more codes than these.
    """

    file: str
    rows: tuple[M, ...] = ()
    broken: tuple[tuple[str, Problem], ...] = ()
    headings: Headings | None = None
    lines: Mapping[str, int] = field(default_factory=dict)
    unread: Problem | None = None
    row_lines: tuple[int, ...] = ()  # of the rows, which need not have codes
    doubtful: tuple[tuple[str, Problem], ...] = ()  # codes that a spreadsheet may have made of others, as they stand
    remembered: "Remembered[M] | None" = field(default=None, compare=False, repr=False)

    def place(self, code: str, name: str) -> Place:
        """Return the place of a field in the row of a code."""
        return replace(self.place_at(self.lines.get(code, 0), name), row=code)

    def place_at(self, line: int, name: str) -> Place:
        """Return the place of a field in a line."""
        columns = self.headings.columns if self.headings else ()
        heading = next((column.heading for column in columns if column.field == name), "")
        return Place(self.file, line, column=heading, key=(name,))


@dataclass(frozen=True, slots=True)
class Remembered(Generic[M]):
    """What rows say, each with its faults, by the texts of their cells and what these were turned into.

    `basis` is all else that it follows from.
    """

    basis: object
    rows: Mapping["Cells", tuple[M | None, tuple[Fault, ...]]]


_UNTOLD: Final = (Fault((), "bad-value", ""),)
"""Of a row with faults that are not told one by one."""
Cells = tuple[tuple[str, ...], tuple[str, ...]]
"""The texts of a row's cells, and what a spreadsheet has turned each into."""


def _cells(row: Row) -> Cells:
    return tuple([cell.text for cell in row.cells]), tuple([cell.turned for cell in row.cells])


def open_table(file: str, content: bytes, form: Form[M]) -> tuple[Sheet | None, Headings | None, list[Problem]]:
    """Return the rows of a table and its header, as far as there are any, and what is wrong with either."""
    own, required = form.own, form.required

    def understood(rows: Iterable[Row]) -> tuple[int, ...]:
        headings = find_headings(rows, form.fields, required, own)
        return (len(headings.fields & required), len(headings.fields), len(headings.row.cells)) if headings else ()

    sheet, problems = read_sheet(file, content, understood, sheet=form.sheet, most=form.most)
    if form.guess is not None and sheet is not None and not sheet.workbook and problems:
        sheet = read_sheet(file, _closed(content, problems), understood, sheet=form.sheet, most=form.most)[0]
    sheet, problems = of_few_letters(sheet, problems)
    headings = find_headings(sheet.rows, form.fields, required, own) if sheet else None
    if sheet is not None and (headings is None or not headings.fields & required):
        hint = f"Write one with {', '.join(name for name in form.fields if name in required)}."
        hint += ' Or name the sheet in shop.toml: [items] sheet = "...".' * (sheet.workbook and not form.sheet)
        problems.append(Problem(Place(file), "missing-key", "no row names the columns.", hint))
        headings = None
    return sheet, headings, problems


def read_table(
    file: str, content: bytes, form: Form[M], before: Table[M] | None = None
) -> tuple[Table[M], list[Problem]]:
    """Return the table in `content` and all that is wrong in it; bad input never raises.

    Rows that are as they were in the table of `before` are taken over from it.
    """
    sheet, headings, problems = open_table(file, content, form)
    if sheet is None or headings is None:
        return Table(file, unread=problems[0]), problems
    reading = _Reading(sheet, headings, form, before.remembered if before else None)
    table = reading.table(problems[0] if problems else None)
    return table, [*problems, *reading.problems]


def _closed(content: bytes, problems: Iterable[Problem]) -> bytes:
    """Return a text less the last of an odd number of quotation marks on each line where one is not closed."""
    lines = content.split(b"\n")
    for at in {problem.place.line - 1 for problem in problems if 0 < problem.place.line <= len(lines)}:
        if lines[at].count(b'"') % 2:
            before, _, behind = lines[at].rpartition(b'"')
            lines[at] = before + behind
    return b"\n".join(lines)


def unsure_rows(file: str, content: bytes, form: Form[M], name: str, problems: list[Problem]) -> frozenset[str] | None:
    """Return what rows that cannot be read say in the column `name`; None where it is not known whose they are."""
    if not must_fix(problems):
        return frozenset()
    sheet, headings, _ = open_table(file, content, form)
    columns = headings.columns if headings else ()
    at = next((column.index for column in columns if column.field == name), None)
    if sheet is None or headings is None or at is None:
        return None
    named = {row.line: row.text(at) for row in sheet.rows if row.line > headings.row.line}
    lines = [0 if problem.code == "syntax" else problem.place.line for problem in problems]
    names = frozenset(named.get(line, "") for line in lines)
    return None if "" in names else names


class _Reading(Generic[M]):
    """One pass over the rows below the header."""

    def __init__(self, sheet: Sheet, headings: Headings, form: Form[M], before: Remembered[M] | None) -> None:
        self.sheet, self.headings, self.form, self.before = sheet, headings, form, before
        self.problems: list[Problem] = []
        self.columns = [self._with_known_unit(column) for column in headings.columns]
        self.by_field = {column.field: column for column in self.columns}
        self.places = {column.field: column.index for column in self.columns}
        self.lines: dict[str, int] = {}
        self.fitting: dict[int, list[tuple[int, Row]]] = {}  # by line, of rows that end a cell too early
        self.first: dict[str, Problem] = {}
        self.doubtful: list[tuple[str, Problem]] = []
        self.nameless: Problem | None = None  # the first of a row whose code cannot be read
        self.bare: dict[str, Problem] = {}  # fields whose numbers have no unit in the whole column
        self.required = form.required
        self.has_sections = len(self.required) > _FEW
        below = [row for row in sheet.rows if row.line > headings.row.line and not row.blank]
        self.aside = tuple(row for row in below if self._is_aside(row))
        # Rows that hold something of their own: not the header again, no units, no sums.
        aside, header = {row.line for row in self.aside}, headings.row.cells
        self.rows = [row for row in below if row.line not in aside and row.cells != header and not is_units(row)]
        commas = form.commas | comma_fields(self.rows, self.places)
        self.commas = frozenset(at for name, at in self.places.items() if name in commas)
        guessed = self.columns if form.guess is Guess.USUAL else ()
        self.usual = {each.field: usual_text(self._text(row, each) for row in self.rows) for each in guessed}

    def table(self, unread: Problem | None) -> Table[M]:
        self._check_headings()
        if not self.required <= self.headings.fields and (self.form.guess is None or "code" not in self.places):
            unread = next(problem for problem in self.problems if problem.code == "missing-key")
            return Table(self.sheet.file, unread=unread)
        self._check_bare_columns()
        cells, currency = self.headings.row.cells, self.form.currency
        form, bare = (self.form.model, currency, self.form.following, self.form.guess), (*self.bare,)
        basis = form, tuple(self.columns), cells, self.commas, bare, self.sheet.workbook, self.usual
        known = self.before.rows if self.before and self.before.basis == basis else {}
        keys = [_cells(row) for row in self.rows]
        said = self._all_said(keys, known)
        kept = [(row.line, self._kept(row, *of)) for row, of in zip(self.rows, said, strict=True)]
        read = [(line, value) for line, value in kept if value is not None]
        self._check_aside()
        rows, lines = tuple(value for _, value in read), tuple(line for line, _ in read)
        return Table(
            self.sheet.file,
            rows,
            broken=tuple(self.first.items()),
            headings=self.headings,
            lines=self.lines,
            unread=unread or self.nameless,
            row_lines=lines,
            doubtful=tuple(self.doubtful),
            remembered=Remembered(basis, {key: of for key, of in zip(keys, said, strict=True) if of[1] != _UNTOLD}),
        )

    def _all_said(
        self, keys: Sequence["Cells"], known: Mapping["Cells", tuple[M | None, tuple[Fault, ...]]]
    ) -> list[tuple[M | None, tuple[Fault, ...]]]:
        """Return what each row says and its faults; beyond a bounded number of faulty rows only that there are some."""
        lacking, faulty = {(name,) for name in self.required - self.headings.fields}, 0
        said = list[tuple[M | None, tuple[Fault, ...]]]()
        for key, row in zip(keys, self.rows, strict=True):
            one = known.get(key) or self._said(row, in_full=faulty < bounds.FAULTY_ROWS)
            faulty += any(fault.loc[:1] not in lacking for fault in one[1])
            said.append(one)
        if more := sum(faults == _UNTOLD for _, faults in said):
            first = next(row for row, (_, faults) in zip(self.rows, said, strict=True) if faults == _UNTOLD)
            message = f"{times(more, 'more row')} from here on cannot be read."
            self.problems.append(Problem(self._place(first), "bad-value", message, "Mend the rows above first."))
        return said

    def _is_aside(self, row: Row) -> bool:
        """Whether a row is a heading within the sheet, a sum or a footnote; a table of few columns has none."""
        named = row.text(self.by_field["name"].index) if "name" in self.by_field else ""
        needed = [self.places[name] for name in self.required & self.places.keys() - {"code", "name"}]
        return is_total(row, self._code(row), named, needed) or (self.has_sections and is_section(row))

    def _check_aside(self) -> None:
        """Add one remark for all rows left alone; bare sums alone are known for certain and need none."""
        if any(is_section(row) or is_named_total(row) for row in self.aside):
            message = aside_words(self.aside, workbook=self.sheet.workbook)
            hint = "Fill in the other cells where one is a thing."
            place = Place(self.sheet.file, line=self.aside[0].line)
            self.problems.append(Problem(place, "row-aside", message, hint, Level.LOOK_AT))

    def _code(self, row: Row) -> str:
        return row.text(self.by_field["code"].index) if "code" in self.by_field else ""

    def _said(self, row: Row, *, in_full: bool) -> tuple[M | None, tuple[Fault, ...]]:
        """Return what a row says and its faults, by its cells alone; not `in_full`, only that there are some."""
        if not in_full:
            read = self._sound(row)
            return read, () if read is not None and not self._turned(row) + self._beyond(row) else _UNTOLD
        read, faults = self._read(row)
        if len(faults) > 1 and (missing := self._missing_cell(row)) is not None:
            faults = [missing]
        if beyond := [fault for fault in faults if fault.code == "syntax"]:
            faults = beyond  # each cell behind one too many stands in another column
        if faults and len(texts := [cell.text for cell in row.cells if cell.text]) == 1:
            faults = [Fault((), "missing-key", f"the row holds only {quoted(texts[0])}.", "Fill it in or take it out.")]
        if faults and self.form.guess is not None:
            read = self._as_mended(row, faults)
        return read, tuple(faults)

    def _sound(self, row: Row) -> M | None:
        try:
            return self.form.model.model_validate(self._given(row), context=self.form.context)
        except ValidationError:
            return None

    def _as_mended(self, row: Row, faults: list[Fault]) -> M | None:
        """Return what a row says with stand-ins for what is wrong in it; None where they do not do."""
        model, guess = self.form.model, self.form.guess or Guess.SMALL
        if not any(fault.loc for fault in faults):
            longer = [each for _, each in self._fitted(row)]
            at = {Guess.SMALL: 0, Guess.USUAL: len(longer) // 2, Guess.LARGE: -1}[guess]
            row = longer[at] if longer else row
        given = self._given(row)
        faulty: dict[str, Fault | None] = {**dict.fromkeys(self.bare), **{str(f.loc[0]): f for f in faults if f.loc}}
        if guess is Guess.USUAL and faulty.pop(_COST, None):
            given[_COST] = FollowingCost(Decimal(0), self.form.currency)  # such a share of its price as others have
        for _ in range(2):  # the second time for what only stands out once the first is mended
            mended = row_as_mended(given, model, guess, faulty, self.usual)
            try:
                return model.model_validate(mended, context=self.form.context)
            except ValidationError as error:
                more = {str(fault.loc[0]): fault for fault in faults_of(model, error) if fault.loc}
                faulty = {**more, **dict.fromkeys(faulty.keys() & more.keys()), **dict.fromkeys(faulty.keys() - more)}
        return None

    def _read(self, row: Row) -> tuple[M | None, list[Fault]]:
        """Return what a row says, None where it cannot be read, and its faults."""
        faults = self._turned(row) + self._beyond(row)
        try:
            return self.form.model.model_validate(self._given(row), context=self.form.context), faults
        except ValidationError as error:
            turned = {fault.loc for fault in faults}
            faults += [fault for fault in faults_of(self.form.model, error) if fault.loc not in turned]
            return None, [fault for fault in faults if not self._is_bare(row, fault)]

    def _given(self, row: Row) -> dict[str, object]:
        """Return what the cells of a row say, by their fields."""
        hidden = doubtful_cells(row, self.places).keys() - {"code"}
        given: dict[str, object] = {
            column.field: self._text(row, column)
            for column in self.columns
            if column.field not in hidden and row.text(column.index)
        }
        if given.get("code") in self.form.following and _COST not in given:
            given[_COST] = FollowingCost(Decimal(0), self.form.currency)
        return given

    def _missing_cell(self, row: Row) -> Fault | None:
        """Return the one fault of a row that would be sound with an empty cell more: that one, not those behind it."""
        fits = [
            (tuple(column.field for column in self.columns if column.index == place), self.headings.row.text(place))
            for place, _ in self._fitted(row)
        ]
        if not fits:
            return None
        which = listed([quoted(heading) for _, heading in fits], "or")
        message = f"the row has a cell less than the table has columns; it can be read with {which} empty."
        return Fault(
            fits[0][0] if len(fits) == 1 else (), "bad-value", message, f"Put {which} in, or leave its cell empty."
        )

    def _fitted(self, row: Row) -> list[tuple[int, Row]]:
        """Return each place where a cell more makes a row sound but for this cell, and that row; of few rows alone."""
        longer = [*with_a_cell_more(row, len(self.headings.row.cells))]
        if longer and row.line not in self.fitting and len(self.fitting) < bounds.ROWS_FITTED:
            self.fitting[row.line] = [each for each in longer if self._fits(*each)]
        return self.fitting.get(row.line, [])

    def _fits(self, place: int, row: Row) -> bool:
        here = tuple(column.field for column in self.columns if column.index == place)
        return [fault.loc[:1] for fault in self._read(row)[1]] in ([], [here])

    def _kept(self, row: Row, read: M | None, faults: tuple[Fault, ...]) -> M | None:
        """Return what a row says if it is sound and its code is new; keep what is wrong with it."""
        code = self._code(row)
        lacking = self.required - self.headings.fields  # columns that are not there are told once, above
        faults = tuple(fault for fault in faults if fault.loc[:1] not in {(name,) for name in lacking})
        untold = (Problem(self._place(row), "bad-value", "the row cannot be read."),) if faults == _UNTOLD else ()
        faults = () if untold else faults
        problems = [self._problem(row, fault) for fault in faults]
        doubts = {name: self._problem(row, fault) for name, fault in doubtful_cells(row, self.places).items()}
        self.problems += doubts.values()
        if "code" in doubts:
            self.doubtful.append((code, doubts["code"]))
        codeless = (problem for fault, problem in zip(faults, problems, strict=True) if fault.loc[:1] == ("code",))
        self.nameless = self.nameless or next(codeless, None) or (None if code else next(iter(untold), None))
        if code in self.lines:
            row_or_line = "row" if self.sheet.workbook else "line"
            message = (
                f"{quoted(code)} stands in {row_or_line} {self.lines[code]} and again in {row_or_line} {row.line}."
            )
            problems.append(Problem(self._place(row, "code"), "code-twice", message, "Give each its own code."))
        elif code:
            self.lines[code] = row.line
            if read is None or (problems and self.form.guess is None):
                self.first[code] = next(iter((*problems, *untold, *self.bare.values())))
        doubted = {problem for fault, problem in zip(faults, problems, strict=False) if fault.loc == ("code",)}
        self.problems += [problem for problem in problems if problem not in doubted or "code" not in doubts]
        twice = any(problem.code == "code-twice" for problem in problems)
        return None if twice or (problems and self.form.guess is None) else read

    def _is_bare(self, row: Row, fault: Fault) -> bool:
        """Whether a fault is only the missing unit that is a problem of the heading already."""
        name = str(fault.loc[0]) if fault.loc else ""
        return name in self.bare and bool(_BARE.fullmatch(row.text(self.by_field[name].index)))

    def _text(self, row: Row, column: Column) -> str:
        """Return the cell with the heading's unit behind a bare number."""
        text = row.text(column.index)
        if column.index in self.commas:
            text = with_point(text)
        return f"{text} {column.unit}" if column.unit and _BARE.fullmatch(text) else text

    def _turned(self, row: Row) -> list[Fault]:
        faults = []
        for column in self.columns:
            cell = row.cells[column.index] if column.index < len(row.cells) else None
            if cell is None:
                continue
            if not cell.text.isprintable() and (fault := steering_fault((column.field,), cell.text)):
                faults.append(fault)
            elif cell.turned == UNWORKED:
                message = f"the formula {quoted(cell.text)} is there without its result."
                hint = "Open the sheet in a spreadsheet program and save it again, or type the value."
                faults.append(Fault((column.field,), "bad-value", message, hint))
            elif cell.turned == FAILED:
                faults.append(Fault((column.field,), "bad-value", *error_words(cell.text)))
        return faults

    def _beyond(self, row: Row) -> list[Fault]:
        width = len(self.headings.row.cells)
        if self.sheet.workbook or not any(cell.text for cell in row.cells[width:]):
            return []
        message = f"the row has {times(len(row.cells), 'cell')} and the table {times(width, 'column')}."
        return [
            Fault((), "syntax", message, "Put a text that holds the separator in quotes, and write a point in prices.")
        ]

    def _place(self, row: Row, name: str = "") -> Place:
        column = self.by_field.get(name)
        code = one_line(self._code(row))[:60] or (str(row.line) if self.sheet.workbook else "")
        return Place(self.sheet.file, row.line, code, column.heading if column else "", (name,) if name else ())

    def _problem(self, row: Row, fault: Fault) -> Problem:
        name = str(fault.loc[0]) if fault.loc else ""
        column = self.by_field.get(name)
        cell = f"cell {column_letters(column.index)}{row.line}: " if column and self.sheet.workbook else ""
        place, hint = self._place(row, name), fault.hint
        if fault.code == "missing-key" and name:
            hint = f"Fill it in: {follow(self.form.model, fault.loc).description}."
        return Problem(place, fault.code, cell + fault.message, hint)

    def _with_known_unit(self, column: Column) -> Column:
        """Return the column with its heading's unit only where it is one; a sum in another currency is a problem."""
        unit = column.unit if known_unit(column.field, column.unit) else ""
        if unit and column.field in MONEY:
            try:
                Money.parse(f"1 {unit}", self.form.currency)
            except FieldError:
                message = f"{quoted(unit)} is not the shop's currency, {self.form.currency}."
                self._add(column.heading, "bad-value", message, "Give sums in the shop's currency.")
                unit = ""
        return Column(column.index, column.heading, column.field, unit)

    def _add(self, heading: str, code: str, message: str, hint: str, *, level: Level | None = None) -> Problem:
        place = Place(self.sheet.file, line=self.headings.row.line, column=one_line(heading))
        self.problems.append(Problem(place, code, message, hint, level))
        return self.problems[-1]

    def _check_bare_columns(self) -> None:
        """Add one problem for a column that has many numbers and no unit, in its heading or its cells."""
        for column in (column for column in self.columns if column.field in _UNIT_NEEDED and not column.unit):
            texts = (row.text(column.index) for row in self.rows)
            bare = [text for text in texts if text and _BARE.fullmatch(text)]
            if len(bare) >= _MANY_BARE:
                message = f"its numbers have no unit, as in {quoted(bare[0])}."
                heading = f"{column.field.replace('_', ' ')} ({_UNIT_NEEDED[column.field]})"
                hint = f"Write the unit in the heading, as in {quoted(heading)}."
                self.bare[column.field] = self._add(column.heading, "bad-value", message, hint)

    def _check_headings(self) -> None:
        """Add what is wrong in the header row."""
        for column in self.headings.twice:
            first = self.by_field[column.field]
            message = f"{quoted(first.heading)} already holds the {column.field.replace('_', ' ')}."
            self._add(column.heading, "bad-value", message, "Take one of the two out, or give it another heading.")
        for heading, near in self.headings.nearly:
            message = f"{quoted(heading)} is nearly {quoted(near)}."
            self._add(heading, "unknown-column", message, f'Write "{near}".', level=Level.LOOK_AT)
        for name in self.form.fields:
            if name in self.required - self.headings.fields:
                hint = f"Add it: {follow(self.form.model, (name,)).description}."
                if "" in self.form.own.values():
                    hint += " Or say in shop.toml, [items.columns], which heading it has."
                shown = name.replace("_", " ")
                self._add("", "missing-key", f"there is no column {quoted(shown)}.", hint)
