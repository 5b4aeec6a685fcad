"""One row of the items sheet: its fields, what follows before a price is saved, a new row.

A row is named by its code, or by its line where it has none of its own; both are looked up in the sheet.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from typing import Any, Final
from urllib.parse import parse_qsl, quote

from pydantic import BaseModel
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from listkit.desk import changes, saving
from listkit.desk.changes import Outcome, Wrong
from listkit.desk.edits import Edit, Files, Role, edited_all, look
from listkit.desk.fields import sections_of, with_unit
from listkit.desk.follows import Look, follows, follows_page, moved_price
from listkit.desk.page import Desk, in_full, offer, page, say, text_of, went_well
from listkit.desk.shelf import (
    LINE,
    LONG,
    ROW,
    TARGET,
    Asked,
    Thing,
    is_read_only,
    sheet_lines,
    sheet_problems,
    thing_of,
    uses_of,
)  # fmt: skip
from listkit.desk.tables import AddRow, Line, Lines, PutCell, row_value
from listkit.desk.wording import field_words
from listkit.model.fields import Shape, Status
from listkit.model.item import Item
from listkit.model.shop import Shop
from listkit.pipeline import list_catalog
from listkit.present.plan import cost_rows, number_text
from listkit.problem import FieldError, Problem

FOLLOWED: Final = frozenset({"retail", "cost", "tax", "weight", "status"})
"""Fields of which she sees what follows before they are saved."""
_SIZE: Final = "size"
_SUMS: Final = frozenset({"retail", "cost"})
"""Fields in which a sum with a sign is so much more or less than before."""
AT: Final = "at"
"""The field of a form that says from which rows of the table it came, as their address does."""
_NOT_COPIED: Final = frozenset({"code", "old_codes", "gtin", "on_hand", "status"})
_YES_NO: Final = frozenset({"upright", "fragile", "rinse_off", "foams"})
_CHOICES: Final[Mapping[str, type[Enum]]] = {"shape": Shape, "status": Status}
_CELL: Final = "cell/"


@dataclass(frozen=True, slots=True)
class ItemField:
    """A field of a row as its page has it: what it says now or what was typed, and what is wrong there."""

    name: str
    label: str
    help: str
    heading: str
    value: str
    kind: str = "text"
    choices: tuple[str, ...] = ()
    required: bool = False
    wrong: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class Typed:
    """What was typed into fields and could not be saved, and why."""

    texts: Mapping[str, str]
    wrong: tuple[Wrong, ...] = ()

    def at(self, name: str) -> tuple[str, ...]:
        """Return what is wrong at a field."""
        here = (each for each in self.wrong if _field_of(each) == name)
        return tuple(in_full(each) for each in here)

    @property
    def elsewhere(self) -> tuple[str, ...]:
        """What is wrong and is of none of the fields."""
        here = (each for each in self.wrong if _field_of(each) not in Item.model_fields)
        return tuple(in_full(each) for each in here)


_NOTHING_TYPED: Final = Typed({})


def _field_of(wrong: Wrong) -> str:
    return next((str(part) for part in wrong.key[::-1] if part in Item.model_fields), "")


def fields_of(
    cells: Mapping[str, str], headings: Mapping[str, str], problems: Sequence[Problem], typed: Typed
) -> Iterator[ItemField]:
    """Yield each field that an item has, in the order of the model; its old codes come last."""
    for name in sorted(Item.model_fields, key=lambda name: name == "old_codes"):
        about = Item.model_fields[name]
        value = typed.texts.get(name, cells.get(name, ""))
        choices = ("yes", "no") if name in _YES_NO else tuple(str(each.value) for each in _CHOICES.get(name, ()))
        yield ItemField(
            name=name,
            label=say(f"item.field.{name}"),
            help=field_words()["help"].get(Item.__name__, {}).get(name) or about.description or "",
            heading=headings.get(name, ""),
            value=value,
            kind="choice" if choices else "long" if name in LONG else "text",
            choices=tuple(dict.fromkeys((*choices, *((value,) if value else ())))) if choices else (),
            required=about.is_required(),
            wrong=typed.at(name),
            problems=tuple(problem for problem in problems if problem.place.key[:1] == (name,)),
        )


@dataclass(frozen=True, slots=True)
class ItemSection:
    """Fields that stand together; those that are seldom needed are folded while nothing in them asks for attention."""

    title: str
    fields: tuple[ItemField, ...]
    folded: bool


def item_sections(fields: Sequence[ItemField], at: str = "") -> tuple[ItemSection, ...]:
    """Return the fields of an item as a page has them; `at` is the one that the address asks for."""
    by_name = {each.name: each for each in fields}
    made = []
    for title, names_there, seldom in sections_of(Item):
        there = tuple(by_name[name] for name in names_there if name in by_name)
        asks = any(each.wrong or each.problems or each.name == at for each in there)
        made.append(ItemSection(title, there, folded=seldom and not asks))
    return tuple(each for each in made if each.fields)


def key_of(given: Mapping[str, Any]) -> str | int:
    """Return the row that a page or form speaks of: its code, or its line."""
    line, row = given.get(LINE), given.get(ROW)
    if isinstance(line, str) and line.isdecimal() and len(line) < 8:
        return int(line)
    return row if isinstance(row, str) else ""


def line_of(lines: Lines, key: str | int) -> Line | None:
    """Return the row that a key names, None where there is none."""
    return next((each for each in lines.rows if key in (each.line, each.cells.get("code") or None)), None)


def item_address(key: str | int) -> str:
    """Return the address of a row's page.

    >>> item_address("OH/1"), item_address(12)
    ('/shelf/item?row=OH%2F1', '/shelf/item?line=12')
    """
    return f"/shelf/item?{LINE}={key}" if isinstance(key, int) else f"/shelf/item?{ROW}={quote(key, safe='')}"


offer("item_address", item_address)


def show_item(desk: Desk, request: Request, *, key: str | int | None = None, typed: Typed = _NOTHING_TYPED) -> Response:
    """Return the page of one row; `typed` is what could not be saved."""
    key = key_of(request.query_params) if key is None else key
    seen, files = desk.shop_state.look(), look(desk.shop_state.folder)
    file = changes.see(files.root, TARGET, files)
    lines = sheet_lines(files, file)
    line = line_of(lines, key)
    if line is None:
        return page(desk, request, "shelf", template="nothing", status=404)
    problems = tuple(problem for problem in sheet_problems(desk, seen) if problem.place.line == line.line)
    thing = thing_of(
        line,
        Counter(each.cells.get("code", "") for each in lines.rows),
        {item.code: item for item in seen.opened.shop.items},
        uses_of(seen.catalog),
        {},
    )
    typed_here = replace(typed, texts={}) if is_read_only(file.path) else typed
    fields = tuple(fields_of(line.cells, lines.headings, problems, typed_here))
    at_field = request.query_params.get("at", "") if not typed.wrong else ""
    return page(
        desk,
        request,
        "shelf",
        template="item",
        thing=thing,
        fields=fields,
        sections=item_sections([each for each in fields if each.name != "code" or not thing.code], at_field),
        to_mend=[each for each in fields if each.wrong or each.problems or (each.required and not each.value.strip())],
        at_field=at_field,
        elsewhere=typed.elsewhere,
        rest=tuple(each for each in problems if not each.place.key),
        sharing=tuple(sharing_of(thing)),
        recipe=recipe_of(seen.opened.shop, thing.code),
        file=file,
        target=TARGET,
        read_only=is_read_only(file.path),
        status=422 if typed.wrong else 200,
    )


@dataclass(frozen=True, slots=True)
class RecipeCost:
    """What an item costs by its recipe: rows of what, how much a batch, price and cost a piece; the sum; what is wrong.

    `typed` says that its own cost is stated, and so stands.
    """

    rows: tuple[tuple[str, str, str, str], ...]
    pieces: str
    total: str
    currency: str
    faults: tuple[str, ...]
    typed: bool


def recipe_of(shop: Shop, code: str) -> RecipeCost | None:
    """Return what an item costs by its recipe, None where it has none."""
    cost = shop.made.costs.get(code) if shop.made is not None else None
    if cost is None or shop.made is None:
        return None
    *rows, (_, _, _, total) = cost_rows(cost, shop)
    faults = tuple(f"{fault.place}: {fault.message} {fault.hint}" for fault in cost.faults)
    typed = code not in shop.made.follows
    return RecipeCost(tuple(rows), number_text(cost.pieces), total, shop.settings.currency, faults=faults, typed=typed)


@dataclass(frozen=True, slots=True)
class Sharing:
    """A set that takes an item: how many of it a variant takes, and how many of the set can be made, in words."""

    name: str
    code: str
    takes: str
    can_make: int | None
    status: str


def sharing_of(row: Thing) -> Iterator[Sharing]:
    """Yield the sets that take an item of the same stock."""
    for facts in row.sets:
        takes = sorted(
            {piece.quantity for each in facts.variants for piece in each.pieces if piece.item.code == row.code}
        )
        words = "–".join(map(str, dict.fromkeys((takes[0], takes[-1])))) if takes else ""
        yield Sharing(facts.name, facts.code, words, facts.can_make, facts.source.gift_set.status.value)


def change(desk: Desk, request: Request, form: FormData) -> Response:
    """Save cells of a row; where prices follow from them, show what follows first."""
    key, files = key_of(form), look(desk.shop_state.folder)
    file = changes.see(files.root, TARGET, files)
    line = line_of(sheet_lines(files, file), key)
    before = line.cells if line is not None else {}
    sent = {
        name.removeprefix(_CELL): text_of(form, name)
        for name in form
        if name.startswith(_CELL) and name.removeprefix(_CELL) in Item.model_fields
    }
    texts = {name: text for name, text in sent.items() if text != " ".join(before.get(name, "").split())}
    at = form.get(AT)
    address = item_address(key)
    if isinstance(at, str):
        address = Asked.read(dict(parse_qsl(at))).to(page=Asked.read(dict(parse_qsl(at))).page)
        address += f"#r{line.line}" if line is not None else ""
    if not texts:
        return went_well(desk, address)
    typed, unclear = dict(texts), []
    currency = desk.shop_state.look().opened.shop.settings.currency
    for name in _SUMS & texts.keys():
        try:
            texts[name] = moved_price(texts[name], before.get(name, ""), currency)
        except FieldError as fault:
            unclear.append(Wrong(None, (name,), fault.message, fault.hint))
    if unclear:
        return show_item(desk, request, key=key, typed=Typed(typed, tuple(unclear)))
    texts, understood = _understood(desk, files, file, texts, lambda text: PutCell(key, _SIZE, text))
    edits = [Edit(TARGET, PutCell(key, name, text)) for name, text in texts.items()]

    def wrong(outcome: Outcome) -> Response:
        return show_item(desk, request, key=key, typed=Typed(texts, outcome.wrong))

    is_same = saving.shown_in(form).get(TARGET) == file.digest
    if FOLLOWED & texts.keys() and text_of(form, "sure") != "yes" and line is not None and is_same:
        contents, faults = edited_all(files, edits, {TARGET: file.path}, {TARGET: file.content})
        if faults:
            unsound = tuple(Wrong(edit, each.place.key, each.message, each.hint) for edit, each in faults)
            return show_item(desk, request, key=key, typed=Typed(texts, unsound))
        after = row_value(file.path, contents[TARGET], files.form(Role.ITEMS), key)
        return _show_follows(desk, request, form, line=line, after=after, texts=texts, typed=typed)
    name = before.get("name") or before.get("code") or str(key)
    what = say("shelf.changed", name=name, fields=", ".join(say(f"item.field.{each}") for each in texts))
    saved = saving.Saved(address, f"{what} {understood}".rstrip(), what=what, wrong=wrong, by_place=True)
    return saving.save(desk, request, form, edits=edits, saved=saved)


def _understood(
    desk: Desk, files: Files, file: changes.Seen, texts: dict[str, str], edit: Callable[[str], PutCell | AddRow]
) -> tuple[dict[str, str], str]:
    """Return typed cells with the shop's unit behind a size that the sheet takes for one without, and a word on it."""
    typed = texts.get(_SIZE, "")
    size = with_unit(typed, inches=desk.shop_state.look().opened.shop.settings.measures.customary)
    if size == typed:
        return texts, ""
    _, faults = edited_all(files, [Edit(TARGET, edit(typed))], {TARGET: file.path}, {TARGET: file.content})
    if not any(fault.place.key[-1:] == (_SIZE,) for _, fault in faults):
        return texts, ""  # its heading has the unit
    return {**texts, _SIZE: size}, say("item.understood", field=say(f"item.field.{_SIZE}"), size=size)


def _show_follows(
    desk: Desk,
    request: Request,
    form: FormData,
    *,
    line: Line,
    after: BaseModel | None,
    texts: Mapping[str, str],
    typed: Mapping[str, str],
) -> Response:
    """Return the page that says what follows from a change before it is saved.

    `texts` are the cells that would differ, `typed` is how each was typed; `after` is the row then, None if unsound.
    """
    seen = desk.shop_state.look()
    found = follows(list_catalog(seen.catalog, seen.day), after) if isinstance(after, Item) else None
    look_at = Look(
        room="shelf",
        name=line.cells.get("name") or line.cells.get("code") or str(line.line),
        lines=tuple(
            (say(f"item.field.{name}"), line.cells.get(name, ""), _as_typed(text, typed[name]))
            for name, text in texts.items()
        ),
        follows=found,
        back=item_address(key_of(form)),
        unknown=say("follows.new_item" if after is not None else "follows.unknown"),
        instead={f"{_CELL}{name}": text for name, text in texts.items()},
    )
    return follows_page(desk, request, form, look_at)


def _as_typed(text: str, typed: str) -> str:
    """Return what a cell would say, with how that was typed where it was so much more or less."""
    return text if text == typed else text + " " + say("follows.typed", typed=typed)


# A new row


def show_new(desk: Desk, request: Request, *, typed: Typed = _NOTHING_TYPED) -> Response:
    """Return the page of a row to be added, filled in like another one where `like` names it."""
    files = look(desk.shop_state.folder)
    file = changes.see(files.root, TARGET, files)
    lines = sheet_lines(files, file) if file.content else Lines({}, ())
    like = line_of(lines, request.query_params.get("like", ""))
    cells = {name: text for name, text in like.cells.items() if name not in _NOT_COPIED} if like is not None else {}
    return page(
        desk,
        request,
        "shelf",
        template="new_item",
        sections=item_sections(
            [each for each in fields_of(cells, lines.headings, (), typed) if each.name != "old_codes"]
        ),
        elsewhere=typed.elsewhere,
        file=file,
        target=TARGET,
        read_only=is_read_only(file.path),
        status=422 if typed.wrong else 200,
    )


def add(desk: Desk, request: Request, form: FormData) -> Response:
    """Add a row below the last one."""
    sent = {name: text_of(form, f"{_CELL}{name}") for name in Item.model_fields}
    cells = {name: text for name, text in sent.items() if text}
    code, name = cells.get("code", ""), cells.get("name", "")
    wrong = [] if code else [Wrong(None, ("code",), say("item.code_missing"), "")]
    for each in _SUMS & cells.keys():
        try:
            moved_price(cells[each], "", "")
        except FieldError as fault:
            wrong.append(Wrong(None, (each,), fault.message, fault.hint))
    if wrong:
        return show_new(desk, request, typed=Typed(sent, tuple(wrong)))

    def refused(outcome: Outcome) -> Response:
        # a code that is there already is told without the field that it is of
        named = (each if _field_of(each) else replace(each, key=("code",)) for each in outcome.wrong)
        return show_new(desk, request, typed=Typed(sent, tuple(named)))

    files = look(desk.shop_state.folder)
    file = changes.see(files.root, TARGET, files)
    cells, understood = _understood(desk, files, file, cells, lambda text: AddRow({**cells, _SIZE: text}))
    added = say("item.added", name=name or code)
    saved = saving.Saved(item_address(code), f"{added} {understood}".rstrip(), wrong=refused)
    return saving.save(desk, request, form, edits=[Edit(TARGET, AddRow(cells))], saved=saved)
