"""What came and went: of each item, box and card what is on hand, reserved and free, and every line; all taken back.

The figures are those of `listkit stock`. Lines are only ever added, so what is taken back is reversed by lines of its
own, as its page shows it before. A page carries a digest of what it showed, and nothing is added where that has moved.
"""

import datetime
import hashlib
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from decimal import Decimal
from typing import Final
from urllib.parse import urlencode

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from listkit.actions.stock import Added, MovedOnError, StockShop, start_stock, stopping, undo
from listkit.compute.movements import Goods, batches, count_worth, goods_of, sets_moved, sheet_stock, short_pieces
from listkit.desk.page import Desk, offer, page, page_of, say, text_of, went_well
from listkit.desk.state import Seen, known_problems
from listkit.listing.formats import number_text
from listkit.model.movements import (
    MESSAGE_CARD,
    BatchState,
    CountVariance,
    MoveKind,
    Stock,
    StockFigure,
    StockMove,
    sums_by_kind,
)
from listkit.present.stock import running
from listkit.problem import FieldError, Problem, in_our_time
from listkit.read.folder import MOVEMENTS
from listkit.units.spoken import date_text, money_text

ADDRESS: Final = "/shelf/stock"
BY_HAND: Final[tuple[MoveKind, ...]] = ("made", "broken", "given", "taken", "sold", "came back", "poured")
"""What may be written down by a form; a count has one of its own, and orders are in Shops."""
PAGE: Final = 100
_BATCHES: Final = 12
_OF_ORDERS: Final[frozenset[MoveKind]] = frozenset({"ordered", "sent"})


@dataclass(frozen=True, slots=True)
class CodeRow:
    """A code with its figures; None where it was never counted, and goes by the sheet, which has `sheet`."""

    code: str
    name: str
    figure: StockFigure | None
    sheet: int | None
    counted_on: str

    @property
    def address(self) -> str:
        """The page of all its lines."""
        return code_address(self.code)


@dataclass(frozen=True, slots=True)
class BatchRow:
    """What one file brought, in words; `of_order` says that it is a step of an order of a shop."""

    state: BatchState
    days: str
    places: str
    did: str

    @property
    def of_order(self) -> bool:
        """Whether it is what an order reserved or took, which Shops takes back."""
        return any(move.kind in _OF_ORDERS for move in self.state.standing)

    @property
    def address(self) -> str:
        """The page of its lines."""
        return batch_address(self.state.batch)


@dataclass(frozen=True, slots=True)
class MoveRow:
    """A line as it is shown, with the stock of its code after it where that is known."""

    move: StockMove
    day: str
    what: str
    place: str
    name: str
    after: int | None = None


@dataclass(frozen=True, slots=True)
class Before:
    """What a batch changes of a code; `sheet` is what the owner's sheet says, which holds until it is counted."""

    code: str
    name: str
    moved: str
    before: StockFigure | None
    after: StockFigure | None
    sheet: int | None


@dataclass(frozen=True, slots=True)
class CountRow:
    """A count that differs from the books, with what that is worth at cost, "" where no cost is known."""

    count: CountVariance
    name: str
    day: str
    worth: str


@dataclass(frozen=True, slots=True)
class Counts:
    """Counts that differ, and what they come to at cost; `share` is what that is of what should be there."""

    rows: tuple[CountRow, ...]
    missing: str
    over: str
    share: str


def code_address(code: str) -> str:
    """Return the address of all lines of a code.

    >>> code_address("box S")
    '/shelf/stock/code?code=box+S'
    """
    return f"{ADDRESS}/code?{urlencode({'code': code})}"


def batch_address(batch: str) -> str:
    """Return the address of a batch."""
    return f"{ADDRESS}/batch?{urlencode({'batch': batch})}"


offer("stock_address", code_address)


def stock_of_desk(seen: Seen, *, guarded: bool = False) -> StockShop:
    """Return the shop as it was seen, opened for its stock."""
    return StockShop(seen.opened.shop, goods_of(seen.catalog), guarded=guarded)


# The room


def show(desk: Desk, request: Request, *, typed: Mapping[str, str] | None = None, fault: str = "") -> Response:
    """Return the page; `typed` and `fault` are what could not be taken of its forms, and why."""
    seen = desk.shop_state.look()
    stock = stock_of_desk(seen)
    asked = " ".join(request.query_params.get("q", "").split())[:200]
    rows = tuple(row for row in code_rows(stock) if _is_asked(row, asked))
    states = tuple(reversed(batches(stock.moves)))
    at, pages = page_of(request, "page", len(rows), PAGE), -(-len(rows) // PAGE)
    at_batch, batch_pages = page_of(request, "batches", len(states), _BATCHES), -(-len(states) // _BATCHES)
    known = stock.shop.stock or Stock()
    in_sheet = sheet_stock(stock.shop.items, stock.shop.packaging)
    return page(
        desk,
        request,
        "shelf",
        template="stock",
        fault=fault,
        typed=typed or {},
        asked=asked,
        rows=rows[(at - 1) * PAGE : at * PAGE],
        at=at,
        pages=pages,
        to=f"{ADDRESS}?{urlencode({'q': asked})}&page=" if asked else f"{ADDRESS}?page=",
        batches=[batch_row(each, stock) for each in states[(at_batch - 1) * _BATCHES : at_batch * _BATCHES]],
        at_batch=at_batch,
        batch_pages=batch_pages,
        counts=counts_of(known.variances, stock) if known.variances else None,
        startable=sum(code not in known.figures for code in in_sheet),
        started=bool(known.figures),
        eve=(seen.day - datetime.timedelta(1)).isoformat(),
        today=seen.day.isoformat(),
        problems=stock_problems(desk, seen),
        stopping=stopping(seen.opened),
        status=422 if fault else 200,
        **choices_of(stock),
    )


def choices_of(stock: StockShop) -> dict[str, object]:
    """Return what the forms offer: codes with their names, places, kinds."""
    goods = stock.goods
    return {
        "goods": [(code, _called(code, goods)) for code in goods.parts],
        "places": [channel.name for channel in stock.shop.channels],
        "kinds": BY_HAND,
    }


def code_rows(stock: StockShop) -> Iterator[CodeRow]:
    """Yield every piece and pack with its figures, then what was counted and is no longer in the shop."""
    figures = (stock.shop.stock or Stock()).figures
    in_sheet = sheet_stock(stock.shop.items, stock.shop.packaging)
    codes = [code for code in stock.goods.parts if code not in stock.goods.sets]
    language = stock.shop.settings.language
    for code in dict.fromkeys((*codes, *figures)):
        figure = figures.get(code)
        sheet = figure.sheet if figure is not None else in_sheet.get(code)
        day = date_text(figure.counted_on, language, style="medium") if figure is not None else ""
        yield CodeRow(code, name_of(code, stock), figure, sheet, counted_on=day)


def name_of(code: str, stock: StockShop) -> str:
    """Return what a code is called: an item as its sheet says, a box, its fill and the card as the page does."""
    return _called(code, stock.goods) or say("stock.gone")


def _called(code: str, goods: Goods) -> str:
    part, _, box = ("card", "", "") if code == MESSAGE_CARD else code.partition(" ")
    is_pack = " " in code and code in goods.names  # no code of the shop holds a space
    return say(f"stock.pack.{part}", box=box) if is_pack else goods.names.get(code, "")


def _is_asked(row: CodeRow, asked: str) -> bool:
    text = f"{row.code} {row.name}".casefold()
    return all(word in text for word in asked.casefold().split())


def stock_problems(desk: Desk, seen: Seen) -> tuple[Problem, ...]:
    """Return what is told of the movements, as far as it is known."""
    problems = known_problems(seen, desk.shop_state.full())
    return tuple(each for each in problems if each.place.file == MOVEMENTS)


def batch_row(state: BatchState, stock: StockShop) -> BatchRow:
    """Return a batch in words: its days, places, and what it did, sets counted once."""
    language, names = stock.shop.settings.language, {each.key: each.name for each in stock.shop.channels}
    days = sorted({move.day for move in state.standing})
    first, last = (date_text(day, language, style="medium") for day in (days[0], days[-1]))
    places = dict.fromkeys(names.get(move.place, move.place) for move in state.standing if move.place)
    by_kind: dict[MoveKind, list[StockMove]] = {}
    for move in state.standing:
        by_kind.setdefault(move.kind, []).append(move)
    did = [
        say("stock.codes_counted", count=len(lines))
        if kind == "counted"
        else did_text(kind, sum(sets_moved(lines, stock.goods).values()))
        for kind, lines in by_kind.items()
    ]
    span = first if first == last else say("stock.span", first=first, last=last)
    return BatchRow(state, span, ", ".join(places), did=", ".join(did))


def did_text(kind: MoveKind, count: int) -> str:
    """Return so many of a kind in words: "14 sold"."""
    return say(f"stock.did.{kind.replace(' ', '_')}", count=count)


def counts_of(variances: Iterable[CountVariance], stock: StockShop) -> Counts:
    """Return counts that differ with their worth at cost, the last first, and their sums."""
    counts, shop = tuple(variances), stock.shop
    costs = {item.code: item.cost.amount for item in shop.items}
    worths = count_worth(counts, costs)

    def money(amount: Decimal) -> str:
        return money_text(amount, shop.settings.currency, shop.settings.language)

    rows = [
        CountRow(
            each,
            name_of(each.code, stock),
            date_text(each.day, shop.settings.language, style="medium"),
            money(costs[each.code] * abs(each.difference)) if costs.get(each.code) else "",
        )
        for each in sorted(counts, key=lambda each: each.day, reverse=True)
    ]
    share = ""
    if worths.shrinkage:
        says = "stock.share" if worths.shrinkage > 0 else "stock.share_over"
        share = say(says, share=number_text(abs(worths.shrinkage) * 100, shop.settings.language, digits=1))
    return Counts(tuple(rows), money(worths.missing), money(worths.over), share)


# One code, one batch


def show_code(
    desk: Desk, request: Request, *, code: str = "", typed: Mapping[str, str] | None = None, fault: str = ""
) -> Response:
    """Return every line of a code, the last first, with the stock after each."""
    seen = desk.shop_state.look()
    stock, code = stock_of_desk(seen), code or request.query_params.get("code", "")
    code = stock.goods.find(code) or code
    row = next((each for each in code_rows(stock) if each.code == code), None)
    if row is None:
        return page(desk, request, "shelf", template="nothing", status=404)
    lines = [move for move in stock.moves if stock.shop.old_codes(move.code) == code]
    moved = tuple(running(lines))[::-1]
    at = page_of(request, "page", len(moved), PAGE)
    on_page = moved[(at - 1) * PAGE : at * PAGE]
    return page(
        desk,
        request,
        "shelf",
        template="stock_code",
        fault=fault,
        typed=typed or {},
        row=row,
        item=next((each.code for each in stock.shop.items if each.code == code), ""),
        sums=[did_text(kind, number) for kind, number in (row.figure.sums if row.figure else ())],
        lines=[move_row(move, stock, after) for move, after in on_page],
        count=len(moved),
        at=at,
        pages=-(-len(moved) // PAGE),
        today=seen.day.isoformat(),
        status=422 if fault else 200,
        **choices_of(stock),
    )


def move_row(move: StockMove, stock: StockShop, after: int | None = None) -> MoveRow:
    """Return a line as it is shown."""
    names = {each.key: each.name for each in stock.shop.channels}
    kind = say(f"stock.kind.{move.kind.replace(' ', '_')}")
    return MoveRow(
        move,
        day=date_text(move.day, stock.shop.settings.language, style="medium"),
        what=say("stock.not", kind=kind) if move.takes_back else kind,
        place=names.get(move.place, move.place),
        name=name_of(stock.shop.old_codes(move.code), stock),
        after=after,
    )


def changes_of(added: Added, stock: StockShop) -> Iterator[Before]:
    """Yield what a batch changes, code by code."""
    by_code: dict[str, list[StockMove]] = {}
    in_sheet = sheet_stock(stock.shop.items, stock.shop.packaging)
    for move in added.moves:
        by_code.setdefault(stock.shop.old_codes(move.code), []).append(move)
    for code, moves in by_code.items():
        did = [did_text(kind, number) for kind, number in sums_by_kind(moves).items()]
        did += [move_row(move, stock).what for move in moves if move.kind == "counted"]
        figures = added.before.figures.get(code), added.after.figures.get(code)
        yield Before(code, name_of(code, stock), ", ".join(did), *figures, sheet=in_sheet.get(code))


def digest_of_added(added: Added, stock: StockShop) -> str:
    """Return a digest of what would be added and of what it would change: what is written is what was looked at."""
    figures = [(each.code, each.before, each.after) for each in changes_of(added, stock)]
    return hashlib.sha256(repr((added.moves, figures, len(stock.moves))).encode()).hexdigest()


def show_batch(desk: Desk, request: Request, *, batch: str = "", moved: bool = False) -> Response:
    """Return what a batch did, and what it would be to take it back."""
    seen, name = desk.shop_state.look(), batch or request.query_params.get("batch", "")
    stock = stock_of_desk(seen)
    state = next((each for each in batches(stock.moves) if each.batch == name), None)
    if state is None:
        return page(desk, request, "shelf", template="nothing", status=404)
    back = undo(stock, name, look=True)
    at = page_of(request, "page", len(state.standing), PAGE)
    return page(
        desk,
        request,
        "shelf",
        template="stock_batch",
        row=batch_row(state, stock),
        lines=[move_row(move, stock) for move in state.standing[(at - 1) * PAGE : at * PAGE]],
        at=at,
        pages=-(-len(state.standing) // PAGE),
        to=f"{batch_address(name)}&page=",
        changes=tuple(changes_of(back, stock)),
        shown=digest_of_added(back, stock),
        moved=moved,
        counted=any(move.kind == "counted" for move in state.standing),
        status=409 if moved else 200,
    )


def take_back(desk: Desk, request: Request, form: FormData) -> Response:
    """Take a batch back by lines that reverse it, as its page showed it."""
    seen, name = desk.shop_state.look(), text_of(form, "batch")
    stock = stock_of_desk(seen, guarded=True)
    back = undo(stock, name, look=True)
    if any(move.kind in _OF_ORDERS for move in back.moves):
        raise FieldError(say("stock.of_order"))
    if digest_of_added(back, stock) != text_of(form, "shown"):
        return show_batch(desk, request, batch=name, moved=True)
    try:
        done = undo(stock, name)
    except MovedOnError:
        return show_batch(desk, request, batch=name, moved=True)
    return went_well(desk, ADDRESS, say("stock.taken_back", count=len(done.moves)))


def start(desk: Desk, request: Request, form: FormData) -> Response:
    """Count all that the sheet has a number for, as of an evening, the one before unless it is named."""
    seen = desk.shop_state.look()
    day = day_named(text_of(form, "day")) or seen.day - datetime.timedelta(1)
    if day > seen.day:
        return show(desk, request, fault=say("stock.to_come", day=day))
    if stopping(seen.opened):
        return show(desk, request)
    done = start_stock(stock_of_desk(seen, guarded=True), day)
    return went_well(desk, ADDRESS, say("stock.started_now", count=len(done.moves)))


def day_named(text: str) -> datetime.date | None:
    """Return the day that a field of a form names, None where it names none."""
    with suppress(ValueError):
        return in_our_time(datetime.date.fromisoformat(text))
    return None


# What runs short


@dataclass(frozen=True, slots=True)
class ShortRow:
    """A piece or pack that runs short: how many are free, and why that is too few."""

    name: str
    code: str
    address: str
    why: str


def running_short(seen: Seen) -> tuple[ShortRow, ...]:
    """Return what is free below what sells in two weeks, or below what open orders need."""
    shop, goods = seen.opened.shop, goods_of(seen.catalog)
    if shop.stock is None:
        return ()
    short = short_pieces(shop.stock, shop.movements.moves, seen.day, shop.old_codes)
    return tuple(
        ShortRow(
            _called(each.figure.code, goods),
            each.figure.code,
            code_address(each.figure.code),
            say("stock.lacks", count=-each.figure.free)
            if each.figure.free < 0
            else say("stock.sells", free=each.figure.free, sells=-(-each.sells // 1)),
        )
        for each in short
        if each.figure.code in goods.parts
    )
