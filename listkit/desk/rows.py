"""Tables that have a page of their own: what sending costs (rates.csv), and what goods are made of (ingredients.csv).

A row is named by its line in the file that the page showed. Its cells are fields; what differs from the file is saved.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from listkit.desk import changes, saving
from listkit.desk.changes import Outcome, Wrong
from listkit.desk.edits import Edit, Role, Target, look
from listkit.desk.page import Desk, in_full, page, page_of, say, text_of
from listkit.desk.state import known_problems
from listkit.desk.tables import AddRow, Lines, PutCell, TakeRow, lines_of
from listkit.problem import FieldError, Problem

TABLES: Final[Mapping[str, Role]] = {"postage": Role.RATES, "ingredients": Role.INGREDIENTS}
"""The tables by what their pages are called in addresses."""
_ROWS: Final = 60  # on a page


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell as a field: its name, what it says, what is wrong with what was typed, and what is told of it."""

    name: str
    field: str
    value: str
    wrong: tuple[Wrong, ...] = ()
    told: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class Typed:
    """What is told of cells: texts that could not be saved, what is wrong with them, what is told of the file."""

    texts: Mapping[str, str] = field(default_factory=dict)
    wrong: tuple[Wrong, ...] = ()
    told: tuple[Problem, ...] = ()

    def cells(self, line: int | str, texts: Mapping[str, str], fields: tuple[str, ...]) -> Iterator[Cell]:
        """Yield the cells of a row, "" for the line of a new one."""
        for each in fields:
            name = f"cell/{line}/{each}"
            wrong = tuple(one for one in self.wrong if one.key[:2] == (line, each))
            told = tuple(one for one in self.told if one.place.line == line and one.place.key[:1] == (each,))
            yield Cell(name, each, self.texts.get(name, texts.get(each, "")), wrong, told)


_NOTHING_TYPED: Final = Typed()


def show(desk: Desk, request: Request, *, typed: Typed = _NOTHING_TYPED) -> Response:
    """Return the page of a table; `typed` is what could not be saved, and why."""
    name = request.path_params["name"]
    if name not in TABLES:
        return page(desk, request, "shop", template="nothing", status=404)
    target, files, seen = Target(TABLES[name]), look(desk.shop_state.folder), desk.shop_state.look()
    file, form = changes.see(desk.shop_state.folder, target, files), files.form(target.role)
    lines, fault = Lines({}, ()), ""
    try:
        lines = lines_of(file.path, file.content, form) if file.content else lines
    except FieldError as unread:
        fault = in_full(unread)
    problems = known_problems(seen, desk.shop_state.full())
    typed = replace(typed, told=tuple(each for each in problems if each.place.file == file.path))
    pages, at = max(1, -(-len(lines.rows) // _ROWS)), page_of(request, "page", len(lines.rows), _ROWS)
    shown = lines.rows[(at - 1) * _ROWS : at * _ROWS]
    return page(
        desk,
        request,
        "shop",
        template="rows",
        name=name,
        file=file,
        target=target,
        fault=fault,
        fields=form.fields,
        headings=lines.headings,
        rows=tuple((row.line, tuple(typed.cells(row.line, row.cells, form.fields))) for row in shown),
        new=tuple(typed.cells("", {}, form.fields)),
        elsewhere=(
            *(each for each in typed.wrong if len(each.key) < 2),
            *(each for each in typed.told if not each.place.key),
        ),
        at=at,
        pages=pages,
        status=422 if typed.wrong else 200,
    )


def change(desk: Desk, request: Request, form: FormData) -> Response:
    """Save the cells that differ, add what was typed into the new row, or take a row out."""
    name = request.path_params["name"]
    if name not in TABLES:
        return page(desk, request, "shop", template="nothing", status=404)
    target, files = Target(TABLES[name]), look(desk.shop_state.folder)
    file, model = changes.see(desk.shop_state.folder, target, files), files.form(target.role)
    sent = {key: text_of(form, key) for key in form if key.startswith("cell/")}
    lines = lines_of(file.path, file.content, model) if file.content else Lines({}, ())
    edits = [
        Edit(target, PutCell(row.line, each, text))
        for row in lines.rows
        for each in model.fields
        if (text := sent.get(f"cell/{row.line}/{each}")) is not None
        and text != " ".join(row.cells.get(each, "").split())
    ]
    added = {each: text for each in model.fields if (text := sent.get(f"cell//{each}"))}
    what, _, line = text_of(form, "do").partition(" ")
    if added:
        edits.append(Edit(target, AddRow(added)))
    elif what == "take" and line.isdecimal():
        edits.append(Edit(target, TakeRow(int(line))))

    def refused(outcome: Outcome) -> Response:
        return show(desk, request, typed=Typed(sent, outcome.wrong))

    number = text_of(form, "page")
    address = f"/shop/table/{name}" + (f"?page={number}" if number.isdecimal() else "")
    note = say("one.saved") if edits else say("one.same")
    return saving.save(desk, request, form, edits=edits, saved=saving.Saved(address, note, wrong=refused))
