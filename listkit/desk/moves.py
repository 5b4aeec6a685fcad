"""Moves of prices: one price, a share over all, a season's reduction. First what follows everywhere, then it is done.

What is then still to be published stands with the places, and follows from the shop and the ledger alone.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from pydantic import ValidationError
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from listkit.actions.what_if import ItemEdit, cells_of, changed_sheet, item_edits, open_sheet, supposed_shop
from listkit.compute.box.searches import Searches
from listkit.compute.build import build_catalog
from listkit.desk import changes, saving
from listkit.desk.changes import Came, Outcome, Wrong
from listkit.desk.edits import Add, Edit, Role, Target
from listkit.desk.follows import Follows, follows_between
from listkit.desk.guard import seal_of
from listkit.desk.page import Desk, in_full, page, say, text_of
from listkit.desk.places import checked_now
from listkit.desk.shelf import TARGET
from listkit.desk.tables import PutCell
from listkit.edit.past_lines import digest_of
from listkit.edit.toml_text import TomlValue
from listkit.model.reduction import ShopReduction
from listkit.model.shop import Shop
from listkit.pipeline import Checked, list_catalog
from listkit.problem import FieldError
from listkit.read.faults import faults_of
from listkit.units.money import Money
from listkit.units.spoken import money_text

ADDRESS: Final = "/places/moves"
ONE, ALL, SEASON = "one", "all", "season"
_WAYS: Final = (ONE, ALL, SEASON)
_SHOP: Final = Target(Role.SHOP)
_MOST_CELLS: Final = 40
_MANY: Final = frozenset({"sets", "channels"})
_TYPED: Final = {ONE: ("item", "price"), ALL: ("share",), SEASON: ("name", "from", "until", "by", *sorted(_MANY))}
"""What is typed for each way, by the names of its fields."""


@dataclass(frozen=True, slots=True)
class Move:
    """A change of prices that is asked for: what it changes in words, what follows, and how it is made."""

    way: str
    lines: tuple[tuple[str, str, str], ...]
    follows: Follows
    edits: tuple[ItemEdit, ...] = ()
    then: Shop | None = None
    reduction: Mapping[str, TomlValue] = field(default_factory=dict)


def show(
    desk: Desk, request: Request, *, typed: Mapping[str, list[str]] | None = None, way: str = "", fault: str = ""
) -> Response:
    """Return the page on which prices are moved, with what was typed and cannot be."""
    shop = desk.shop_state.look().opened.shop
    language = shop.settings.language
    prices = {item.code: money_text(item.retail.amount, item.retail.currency, language) for item in shop.items}
    return page(
        desk,
        request,
        "places",
        template="moves",
        items=shop.items,
        prices=prices,
        sets=tuple((one.gift_set.code, one.gift_set.name) for one in shop.sets),
        channels=tuple((channel.key, channel.name) for channel in shop.channels),
        seasons=shop.settings.seasons,
        reductions=shop.settings.reductions,
        currency=shop.settings.currency,
        typed={name: values[-1] if values else "" for name, values in (typed or {}).items()},
        ticked={name: (typed or {}).get(name, []) for name in _MANY},
        way=way,
        fault=fault,
        status=422 if fault else 200,
    )


def change(desk: Desk, request: Request, form: FormData) -> Response:
    """Show what would follow; once she has seen that, do it."""
    way = text_of(form, "way")
    if way not in _WAYS:
        raise FieldError(say("moves.no_way"), "")
    typed = {name: [str(text).strip() for text in form.getlist(name)] or [""] for name in _TYPED[way]}
    target = _SHOP if way == SEASON else TARGET
    file = changes.see(desk.shop_state.folder, target)  # before the look: what is shown is never older than the digest
    checked = checked_now(desk)
    try:
        move = _season(checked, typed) if way == SEASON else _prices(checked, way, typed)
    except FieldError as fault:
        return show(desk, request, typed=typed, way=way, fault=in_full(fault))
    if not move.lines:
        return show(desk, request, typed=typed, way=way, fault=say("moves.nothing"))
    is_same, sure = saving.shown_in(form).get(target) == file.digest, text_of(form, "sure")
    seal = seal_of((move.lines, move.follows))  # all of it is agreed to, whichever file it comes of
    if is_same and sure == seal:
        return _done(desk, request, form, move)
    return page(
        desk,
        request,
        "places",
        template="move",
        move=move,
        most=_MOST_CELLS,
        typed=[(name, text) for name, texts in typed.items() for text in texts],
        seal=seal,
        has_moved=bool(sure),
        target=target,
        digest=file.digest,
    )


def _prices(checked: Checked, way: str, typed: Mapping[str, list[str]]) -> Move:
    """Return the move of one price, or of all of them.

    Raises:
        FieldError: there is no such item, or the price or share cannot be used.
    """
    shop = checked.shop
    if way == ONE:
        code, price = typed["item"][-1], typed["price"][-1]
        if not code or not price:
            raise FieldError(say("moves.one_missing"), "")
        edits = item_edits(shop, [(code, f"retail={price}")], "")
    else:
        share = typed["share"][-1].replace(" ", "")
        if not share:
            raise FieldError(say("moves.share_missing"), "")
        signed = share if share[:1] in ("+", "-") else f"+{share}"
        edits = item_edits(shop, [], signed if signed.endswith("%") else f"{signed}%")
    then = supposed_shop(shop, edits)
    listed = list_catalog(build_catalog(then, Searches(), before=checked.catalog), checked.day)
    items = {item.code: item for item in shop.items}
    lines = tuple(
        (f"{items[edit.code].name} ({edit.code})", _money(items[edit.code].retail, shop), _money(edit.value, shop))
        for edit in edits
    )
    return Move(way, lines, follows_between(checked, listed), edits, then)


def _money(money: Money, shop: Shop) -> str:
    return money_text(money.amount, money.currency, shop.settings.language)


def _season(checked: Checked, typed: Mapping[str, list[str]]) -> Move:
    """Return the move of a reduction, looked at on its first day.

    Raises:
        FieldError: it has no days or no share, or these cannot be.
    """
    shop = checked.shop
    stated = {name: values[-1] for name, values in typed.items() if name not in _MANY and values and values[-1]}
    if "by" in stated and stated["by"].replace(".", "").isdecimal():
        stated["by"] += " %"
    table: dict[str, TomlValue] = {**stated, **{name: typed[name] for name in sorted(_MANY) if any(typed[name])}}
    if missing := [name for name in ("from", "until", "by") if name not in stated]:
        raise FieldError(say("moves.season_missing", what=say(f"moves.{missing[0]}")), "")
    try:
        reduction = ShopReduction.model_validate(table, context={"currency": shop.settings.currency})
    except ValidationError as error:
        fault = faults_of(ShopReduction, error)[0]
        raise FieldError(fault.message, fault.hint) from None
    if not reduction.sound:
        raise FieldError(say("moves.turned"), "")
    table |= {"from": reduction.first, "until": reduction.until}
    settings = shop.settings.model_copy(update={"reductions": (*shop.settings.reductions, reduction)})
    day = max(reduction.first, checked.day)
    before = list_catalog(checked.catalog, day)
    then = list_catalog(build_catalog(replace(shop, settings=settings), Searches(), before=checked.catalog), day)
    days = say("moves.days", first=reduction.first, until=reduction.until)
    name = reduction.name or say("moves.reduction")
    return Move(SEASON, ((name, days, stated["by"]),), follows_between(before, then), reduction=table)


def _done(desk: Desk, request: Request, form: FormData, move: Move) -> Response:
    """Make a move in the owner's files, as a change that can be taken back."""
    folder = desk.shop_state.folder
    what = say(f"moves.done.{move.way}", name=move.lines[0][0], new=move.lines[0][2], count=len(move.lines))
    kind = changes.Kind(desk.now(), what, saving.agreed(form))

    def wrong(outcome: Outcome) -> Response:
        fault = in_full(*outcome.wrong)
        return show(desk, request, way=move.way, fault=fault)

    if move.way == SEASON:
        edit = Edit(_SHOP, Add(("reduction",), dict(move.reduction)))
        outcome = changes.apply(folder, [edit], saving.shown_in(form), kind)
    else:
        outcome = _with_prices(desk, form, move, kind)
    return saving.answer(desk, request, form, outcome, saved=saving.Saved("/places", what, wrong=wrong))


def _with_prices(desk: Desk, form: FormData, move: Move, kind: changes.Kind) -> Outcome:
    """Put new prices into the owner's sheet: cell by cell into a workbook, all at once into a CSV."""
    shop = desk.shop_state.look().opened.shop
    sheet = open_sheet(shop)
    if sheet.workbook:
        cells = zip(move.edits, cells_of(sheet, move.edits), strict=True)
        edits = [Edit(TARGET, PutCell(edit.code, edit.field, cell.new)) for edit, cell in cells]
        return changes.apply(desk.shop_state.folder, edits, saving.shown_in(form), kind)
    if digest_of(sheet.content) != saving.shown_in(form).get(TARGET):
        return Outcome(Came.REFUSED, wrong=(Wrong(None, (), say("moves.shop_moved"), ""),))
    changed = changed_sheet(sheet, move.edits, supposed_shop(shop, move.edits))
    read = {shop.items_file: digest_of(sheet.content)}
    return changes.put_files(desk.shop_state.folder, {shop.items_file: changed}, kind, read=read)
