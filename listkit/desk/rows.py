"""Tables that have a page of their own: postage, ingredients, raw materials, recipes, and what is wanted when.

A row is named by its line in the file that the page showed. Its cells are fields; what differs from the file is saved.
Where costs follow from a table, what then moves is shown before it is saved.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final
from urllib.parse import urlencode

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from listkit.desk import changes, saving
from listkit.desk.changes import Outcome, Wrong
from listkit.desk.edits import Edit, Role, Target, look
from listkit.desk.follows import Look, follows_making, follows_page, moved_price
from listkit.desk.items import RecipeCost, recipe_of
from listkit.desk.page import Desk, in_full, page, page_of, say, text_of
from listkit.desk.sent import number_in
from listkit.desk.state import known_problems
from listkit.desk.tables import AddRow, Line, Lines, PutCell, TakeRow, lines_of
from listkit.model.shop import Shop
from listkit.problem import FieldError, Problem

TABLES: Final[Mapping[str, Role]] = {
    "postage": Role.RATES, "ingredients": Role.INGREDIENTS, "materials": Role.MATERIALS, "recipes": Role.RECIPES,
    "plan": Role.PLAN,
}  # fmt: skip
"""The tables by what their pages are called in addresses."""
ON_SHELF: Final = ("recipes", "materials", "plan")
"""Those that are part of the shelf; the others are the shop's."""
_COSTING: Final = (Role.MATERIALS, Role.RECIPES)
_ROWS: Final = 60  # on a page
_OF: Final = "of"
"""The part of an address that asks for the rows of one thing alone, by their first field."""


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


def show(desk: Desk, request: Request, *, of: str = "", typed: Typed = _NOTHING_TYPED) -> Response:
    """Return the page of a table; `typed` is what could not be saved, and why.

    `line` in the address is a row to go to, `at` its field; `of` asks for the rows of one thing alone.
    """
    name, asked = request.path_params["name"], request.query_params
    if not _is_table(request):
        return page(desk, request, "shop", template="nothing", status=404)
    target, files, seen = Target(TABLES[name]), look(desk.shop_state.folder), desk.shop_state.look()
    file, form = changes.see(desk.shop_state.folder, target, files), files.form(target.role)
    lines, fault = Lines({}, ()), ""
    try:
        lines = lines_of(file.path, file.content, form) if file.content else lines
    except FieldError as unread:
        fault = in_full(unread)
    of = of or asked.get(_OF, "")
    rows = tuple(row for row in lines.rows if not of or row.cells.get(form.fields[0]) == of)
    problems = known_problems(seen, desk.shop_state.full())
    typed = replace(typed, told=tuple(each for each in problems if each.place.file == file.path))
    pages, at = max(1, -(-len(rows) // _ROWS)), _page_at(request, rows)
    shown = rows[(at - 1) * _ROWS : at * _ROWS]
    return page(
        desk,
        request,
        _room(name),
        template="rows",
        name=name,
        tables=ON_SHELF if name in ON_SHELF else (),
        of=of,
        here=f"/{_room(name)}/table/{name}?" + (f"{urlencode({_OF: of})}&" if of else ""),
        at_cell=f"cell/{asked['line']}/{asked.get('at', '') or form.fields[0]}" if asked.get("line") else "",
        file=file,
        target=target,
        fault=fault,
        fields=form.fields,
        headings=lines.headings,
        rows=tuple((row.line, tuple(typed.cells(row.line, row.cells, form.fields))) for row in shown),
        new=tuple(typed.cells("", {form.fields[0]: of}, form.fields)),
        offers=_offers(seen.opened.shop),
        costs=tuple(_costs(seen.opened.shop, shown)) if target.role is Role.RECIPES else (),
        elsewhere=(
            *(each for each in typed.wrong if len(each.key) < 2),
            *(each for each in typed.told if not each.place.key),
        ),
        at=at,
        pages=pages,
        status=422 if typed.wrong else 200,
    )


def _is_table(request: Request) -> bool:
    name = request.path_params["name"]
    return name in TABLES and request.url.path.startswith(f"/{_room(name)}/")


def _room(name: str) -> str:
    return "shelf" if name in ON_SHELF else "shop"


def _page_at(request: Request, rows: Sequence[Line]) -> int:
    """Return the page that an address asks for, by its number or by a row on it."""
    line = request.query_params.get("line", "")
    at = next((at for at, row in enumerate(rows) if str(row.line) == line), None)
    return page_of(request, "page", len(rows), _ROWS) if at is None else at // _ROWS + 1


def _offers(shop: Shop) -> dict[str, tuple[str, ...]]:
    """Return what a page offers for a field, beside typing."""
    items = tuple(item.code for item in shop.items)
    mixtures = dict.fromkeys(row.item for _, row in shop.making.recipes if row.item not in items)
    return {
        "item": (*items, *mixtures),
        "material": (*(row.material for _, row in shop.making.materials), *mixtures),
        "set_or_item": (*(each.gift_set.code for each in shop.sets), *items),
        "place": tuple(channel.key for channel in shop.channels),
    }


def _costs(shop: Shop, rows: Sequence[Line]) -> Iterator[tuple[str, str, RecipeCost]]:
    """Yield code, name and cost by its recipe of each item that one of these rows is of."""
    names = {item.code: item.name for item in shop.items}
    for code in dict.fromkeys(row.cells.get("item", "") for row in rows):
        cost = recipe_of(shop, code)
        if cost is not None:
            yield code, names.get(code, ""), cost


def change(desk: Desk, request: Request, form: FormData) -> Response:
    """Save the cells that differ, add what was typed into the new row, or take a row out."""
    name = request.path_params["name"]
    if not _is_table(request):
        return page(desk, request, "shop", template="nothing", status=404)
    target, files, seen = Target(TABLES[name]), look(desk.shop_state.folder), desk.shop_state.look()
    file, model = changes.see(desk.shop_state.folder, target, files), files.form(target.role)
    sent = {key: text_of(form, key) for key in form if key.startswith("cell/")}
    lines = lines_of(file.path, file.content, model) if file.content else Lines({}, ())
    of = text_of(form, _OF)
    edits, wrong = _edits(target, lines, model.fields, sent, seen.opened.shop.settings.currency)
    if wrong:
        return show(desk, request, of=of, typed=Typed(sent, wrong))
    added = {each: text for each in model.fields if (text := sent.get(f"cell//{each}"))}
    what, _, line = text_of(form, "do").partition(" ")
    if added and added != {model.fields[0]: of}:
        edits.append(Edit(target, AddRow(added)))
    elif what == "take" and (taken := number_in(line)) >= 0:
        edits.append(Edit(target, TakeRow(taken)))
    number = text_of(form, "page")
    query = {_OF: of} if of else {"page": number} if number_in(number) >= 0 else {}
    address = f"/{_room(name)}/table/{name}" + (f"?{urlencode(query)}" if query else "")
    is_same = saving.shown_in(form).get(target) == file.digest
    if edits and target.role in _COSTING and is_same and text_of(form, "sure") != "yes":
        then = follows_making(seen, desk.shop_state.folder, edits)
        if then is not None and (then.differs or then.costs):
            shown = tuple(_line_of(edit, lines) for edit in edits)
            look_at = Look("shelf", say(f"rows.title.{name}"), shown, then, address)
            return follows_page(desk, request, form, replace(look_at, instead=_instead(edits)))

    def refused(outcome: Outcome) -> Response:
        return show(desk, request, of=of, typed=Typed(sent, outcome.wrong))

    note = say("one.saved") if edits else say("one.same")
    return saving.save(
        desk, request, form, edits=edits, saved=saving.Saved(address, note, wrong=refused, by_place=True)
    )


def _edits(
    target: Target, lines: Lines, fields: Sequence[str], sent: Mapping[str, str], currency: str
) -> tuple[list[Edit], tuple[Wrong, ...]]:
    """Return the cells that differ; of a material's price "+5 %" is so much more than before, where there is one."""
    edits, wrong = [], list[Wrong]()
    for row in lines.rows:
        for each in fields:
            text, before = sent.get(f"cell/{row.line}/{each}"), " ".join(row.cells.get(each, "").split())
            if text is None or text == before:
                continue
            try:
                is_price = target.role is Role.MATERIALS and each == "price"
                text = moved_price(text, before, currency) if is_price else text
            except FieldError as fault:
                wrong.append(Wrong(None, (row.line, each), fault.message, fault.hint))
            edits.append(Edit(target, PutCell(row.line, each, text)))
    return edits, tuple(wrong)


def _instead(edits: Sequence[Edit]) -> dict[str, str]:
    """Return cells as they would be, by the fields that they were typed into."""
    cells = (edit.action for edit in edits if isinstance(edit.action, PutCell))
    return {f"cell/{cell.row}/{cell.field}": cell.text for cell in cells}


def _line_of(edit: Edit, lines: Lines) -> tuple[str, str, str]:
    """Return an edit as a page says it before it is saved: of what, what is there now, what would be."""
    action = edit.action
    if isinstance(action, AddRow):
        return say("rows.new"), "", " · ".join(action.cells.values())
    row = getattr(action, "row", 0)
    cells = next((each.cells for each in lines.rows if each.line == row), {})
    if isinstance(action, PutCell):
        name = " · ".join(filter(None, (cells.get(each, "") for each in ("item", "material"))))
        return f"{name}, {say(f'rows.field.{action.field}')}", cells.get(action.field, ""), action.text
    return say("rows.row", number=row), " · ".join(filter(None, cells.values())), ""
