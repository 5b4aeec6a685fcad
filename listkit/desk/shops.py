"""Shops: orders of stockists from a dropped form to the day it is sent, who holds which line sheet, and the log.

A form that was dropped stays in memory until the desk ends, the last few of them, and is checked anew whenever its page
is looked at. What is confirmed, sent or cancelled goes into the ledger by the functions of the commands.
"""

import datetime
import hashlib
import threading
from collections import OrderedDict
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final
from urllib.parse import urlencode

from starlette.datastructures import FormData, QueryParams
from starlette.requests import Request
from starlette.responses import Response

from listkit import bounds
from listkit.actions.order_book import (
    Buyers,
    OrderLog,
    OtherStepError,
    ShopTotal,
    cancel_order,
    log_of,
    reopen_order,
    send_order,
)
from listkit.actions.orders import ORDERS, CheckedOrder, check_form, confirm_order
from listkit.check.wholesale import version_of
from listkit.compute.given_out import SheetHistory
from listkit.compute.orders import Short, shorts
from listkit.desk import changes, saving
from listkit.desk.edits import Edit, Role, Target
from listkit.desk.guard import FileOnDisk
from listkit.desk.page import Desk, in_full, page, say, text_of, went_well
from listkit.desk.sent import number_in, sent_file
from listkit.desk.state import Seen
from listkit.desk.tables import AddRow, PutCell
from listkit.desk.terms import known_sheets
from listkit.ledger.orders import KeptOrder, OrderState, orders
from listkit.ledger.store import LEDGER
from listkit.model.wholesale import Stockist
from listkit.pipeline import Listed, list_shop
from listkit.present.orders import ago
from listkit.problem import FieldError, Problem, in_our_time, must_fix
from listkit.read.source import Given
from listkit.units.spoken import date_text, money_text

STOCKISTS: Final = Target(Role.STOCKISTS)
ADDRESS: Final = "/shops"
_FIELDS: Final = ("code", "name", "email", "address", "area")
"""What a new stockist is asked for."""
_MOST_DROPPED: Final = 8
_GRANT: Final = "grant/"
"""Before a code: how many of it are confirmed."""
_DIGITS: Final = 7  # of such a number, and one more
_LONGEST_NAME: Final = 120
_MOST_EARLIER: Final = 100  # orders that the page lists; the command lists all


class Dropped:
    """The forms that were dropped, the last few, each by a digest of what it is."""

    def __init__(self) -> None:
        self._forms: OrderedDict[str, Given] = OrderedDict()
        self._lock = threading.Lock()  # several pages of the desk leave theirs here

    def keep(self, given: Given) -> str:
        """Keep a form; return what it is asked for by."""
        key = hashlib.sha256(given.name.encode() + b"\0" + given.content).hexdigest()[:20]
        with self._lock:
            self._forms[key] = given
            self._forms.move_to_end(key)
            while len(self._forms) > _MOST_DROPPED or (len(self._forms) > 1 and self._bytes() > bounds.WAITING_BYTES):
                self._forms.popitem(last=False)
        return key

    def _bytes(self) -> int:
        return sum(len(each.content) for each in self._forms.values())

    def get(self, key: str) -> Given | None:
        """Return a form, None where it is no longer kept."""
        return self._forms.get(key)


_DROPPED: Final = Dropped()


@dataclass(frozen=True, slots=True)
class StockistRow:
    """A stockist as the page lists it: the version it holds, whether that is known, and what is told of it."""

    stockist: Stockist
    version: str
    held: str
    known: bool
    choices: tuple[tuple[str, str], ...]
    ordered: str
    last: str


@dataclass(frozen=True, slots=True)
class OrderRow:
    """An order as the page lists it."""

    order: KeptOrder
    shop: str
    day: str
    since: str
    total: str

    @property
    def address(self) -> str:
        """Where its own page is."""
        return order_address(self.order.number)


def order_address(number: int) -> str:
    """Return the address of an order on record."""
    return f"{ADDRESS}/orders/{number}"


def show(desk: Desk, request: Request, *, fault: str = "", typed: Mapping[str, str] | None = None) -> Response:
    """Return the room; `fault` is why a form could not be taken, or a stockist not be written."""
    state = desk.shop_state
    file = changes.see(state.folder, STOCKISTS)  # before the look: what is shown is never older than the digest
    seen = state.look()
    shop = seen.opened.shop
    history, unread = known_sheets(seen)
    log, closed = _log(seen)
    rows = tuple(_order_row(order, buyer.name, seen) for order, buyer in log.orders)
    known = {each.buyer.code: each for each in log.shops}
    return page(
        desk,
        request,
        "shops",
        fault=fault,
        unread=closed or unread,
        has_terms=shop.wholesale is not None,
        ever=bool(rows),
        to_send=tuple(row for row in rows if row.order.state is OrderState.CONFIRMED),
        earlier=tuple(row for row in rows if row.order.state is not OrderState.CONFIRMED)[:_MOST_EARLIER],
        stockists=tuple(_stockist_row(each, known[each.code], history, seen) for each in shop.stockists),
        others=tuple((each, _last(each, seen)) for each in log.shops if not each.buyer.code),
        history=history,
        sheet_day=_given_out_on(history, seen),
        file=file,
        target=STOCKISTS,
        blanks=_FIELDS,
        typed=typed or {},
        money=lambda money: money_text(money.amount, money.currency, shop.settings.language),
        status=422 if fault else 200,
    )


def _given_out_on(history: SheetHistory, seen: Seen) -> str:
    given = history.find(history.current)
    return date_text(given.recorded, seen.opened.shop.settings.language) if given else ""


def _log(seen: Seen) -> tuple[OrderLog, str]:
    """Return the log of orders, and why it cannot be read, "" where it can."""
    shop = seen.opened.shop
    try:
        known, fault = orders(shop.root / LEDGER), ""
    except FieldError as unread:
        known, fault = (), in_full(unread)
    return log_of(known, shop.stockists, shop.settings.currency), fault


def _order_row(order: KeptOrder, name: str, seen: Seen) -> OrderRow:
    language = seen.opened.shop.settings.language
    return OrderRow(
        order,
        shop=name or say("shops.nobody"),
        day=date_text(order.day, language),
        since=date_text(order.since, language),
        total=money_text(Decimal(order.facts["total"]), order.facts["currency"], language),
    )


def _last(total: ShopTotal, seen: Seen) -> str:
    return ago(total.last, seen.day) if total.last else say("shops.none_yet")


def _stockist_row(stockist: Stockist, total: ShopTotal, history: SheetHistory, seen: Seen) -> StockistRow:
    version = version_of(stockist.sheet)
    given = history.find(version) if version else None
    language = seen.opened.shop.settings.language
    if not version:
        held = say("shops.holds_none")
    elif version == history.current:
        held = say("shops.holds_current")
    elif given is not None:
        held = say("shops.holds_old", day=date_text(given.recorded, language), current=history.current)
    else:
        held = say("shops.holds_unknown", version=version)
    choices = {"": say("shops.no_sheet"), history.current: say("shops.current", version=history.current)}
    choices |= {each.version: each.version for each in reversed(history.given_out) if each.version != history.current}
    choices |= {version: version} if version not in choices else {}
    return StockistRow(
        stockist,
        version,
        held,
        known=not version or version == history.current or given is not None,
        choices=tuple((code, says) for code, says in choices.items() if code or not history.current or says),
        ordered=", ".join(money_text(each.amount, each.currency, language) for each in total.totals)
        if total.orders
        else "",
        last=_last(total, seen),
    )


# Stockists


def change_stockists(desk: Desk, request: Request, form: FormData) -> Response:
    """Write which sheet each stockist holds, where that differs, or one more stockist."""
    shop = desk.shop_state.look().opened.shop
    typed = {name: text_of(form, f"new/{name}") for name in _FIELDS}
    if text_of(form, "do") == "add":
        cells = {name: text for name, text in typed.items() if text}
        if not typed["code"] or not typed["name"]:
            return show(desk, request, fault=say("shops.new_missing"), typed=typed)
        edits, note = [Edit(STOCKISTS, AddRow(cells))], say("shops.added", name=typed["name"])
    else:
        edits = [
            Edit(STOCKISTS, PutCell(each.code, "sheet", wanted))
            for each in shop.stockists
            if f"sheet/{each.code}" in form
            and (wanted := text_of(form, f"sheet/{each.code}")) not in (version_of(each.sheet), each.sheet)
        ]
        note = say("shops.saved") if edits else ""

    def refused(outcome: changes.Outcome) -> Response:
        fault = in_full(*outcome.wrong)
        return show(desk, request, fault=fault, typed=typed)

    saved = saving.Saved(f"{ADDRESS}#stockists", note, wrong=refused)
    return saving.save(desk, request, form, edits=edits, saved=saved)


# An order that came in


def receive(desk: Desk, request: Request, form: FormData) -> Response:
    """Take a form that was dropped, and show what is in it."""
    sent = sent_file(form, "form")
    if sent is None:
        return show(desk, request, fault=say("shops.no_form"))
    return went_well(desk, f"{ADDRESS}/order/{_DROPPED.keep(sent)}")


@dataclass(frozen=True, slots=True)
class _Asked:
    """A dropped form, with what was chosen where it does not say: the line sheet and the stockist."""

    key: str
    given: Given
    sheet: str = ""
    stockist: str = ""
    granted: tuple[tuple[str, int], ...] = ()

    @property
    def address(self) -> str:
        given = [(f"{_GRANT}{code}", str(count)) for code, count in self.granted]
        query = [(name, text) for name, text in (("sheet", self.sheet), ("stockist", self.stockist), *given) if text]
        return f"{ADDRESS}/order/{self.key}" + (f"?{urlencode(query)}" if query else "")


def _listed(desk: Desk, seen: Seen) -> Listed:
    state = desk.shop_state
    return list_shop(state.folder, seen.day, state.out, photos=seen.opened.photos)


def show_dropped(desk: Desk, request: Request) -> Response:
    """Return what does not agree in a form that was dropped, and what would be confirmed."""
    asked = _asked(request.path_params["key"], request.query_params)
    if asked is None:
        return page(desk, request, "shops", template="nothing", status=404)
    return _dropped_page(desk, request, asked)


def _asked(key: str, sent: QueryParams | FormData) -> _Asked | None:
    given = _DROPPED.get(key)
    if given is None:
        return None
    sheet, stockist = (" ".join(str(sent.get(name, "")).split())[:_LONGEST_NAME] for name in ("sheet", "stockist"))
    counts = {
        name.removeprefix(_GRANT): int(text)
        for name, text in sent.multi_items()
        if name.startswith(_GRANT) and isinstance(text, str) and text.isdecimal() and len(text) < _DIGITS
    }
    code, _, count = str(sent.get("do", "")).removeprefix("grant ").rpartition(" ")
    if code and count.isdecimal() and len(count) < _DIGITS:
        counts[code] = int(count)
    return _Asked(key, given, version_of(sheet), stockist, tuple(counts.items()))


def _dropped_page(desk: Desk, request: Request, asked: _Asked, *, note: str = "") -> Response:
    seen = desk.shop_state.look()
    listed = _listed(desk, seen)
    checked = check_form(listed, asked.given, asked.sheet, stockist=asked.stockist, granted=dict(asked.granted))
    found = checked if isinstance(checked, CheckedOrder) else None
    problems = found.problems if found else checked
    assert not isinstance(problems, CheckedOrder)
    history, _ = known_sheets(seen)
    kept = found.kept if found else None
    shop, language = seen.opened.shop, seen.opened.shop.settings.language
    return page(
        desk,
        request,
        "shops",
        template="order",
        asked=asked,
        told=note,
        found=found,
        order=found.confirmed if found else None,
        lines=tuple(_lines(found)) if found else (),
        must=tuple(each for each in problems if must_fix([each])),
        look=tuple(each for each in problems if not must_fix([each])),
        left_out=bool(must_fix(listed.problems)),
        kept=_order_row(kept, Buyers(shop.stockists).of_order(kept).name, seen) if kept else None,
        confirms=found is not None and found.confirms(anyway=False),
        anyway=found is not None and found.confirms(anyway=True),
        names_sheet=bool(found and found.case.form.sheet),
        names_shop=bool(found and found.buyer.key and not asked.stockist),
        versions=tuple(dict.fromkeys((history.current, *(each.version for each in reversed(history.given_out))))),
        stockists=shop.stockists,
        shown=_shown(checked),
        granted=_granted_text(checked),
        money=lambda money: money_text(money.amount, money.currency, language),
        today=seen.day.isoformat(),
        status=200 if not note else 409,
    )


def _lines(checked: CheckedOrder) -> Iterator[Mapping[str, Any]]:
    """Yield the lines as they would be confirmed, each with what the form asks where that is another number.

    `instead` are the nearest numbers that make full cases or reach the least, where a line by itself does not.
    """
    alone = {short.codes[0]: short for short in shorts(checked.confirmed) if len(short.codes) == 1}
    for line in checked.confirmed.lines:
        choices = [choice.says for choice in line.line.choices] if line.line else [say("order.display")]
        wanted, short = checked.asked.get(line.code), alone.get(line.code)
        yield {
            "code": line.code,
            "name": ", ".join((line.entry.name, *choices)),
            "quantity": line.quantity,
            "asked": wanted if wanted != line.quantity else None,
            "instead": _instead(short) if short else (),
            "each": line.each,
            "total": line.total,
        }
    for code in (code for code, count in checked.granted.items() if not count):
        yield {"code": code, "name": "", "quantity": 0, "asked": checked.asked[code], "instead": (), "each": None}


def _instead(short: Short) -> tuple[int, ...]:
    """Return the nearest numbers that would do."""
    fewer, more = short.ordered - short.ordered % short.of, short.ordered + short.missing
    return (fewer, more) if short.case and fewer else (more,)


def _granted_text(checked: CheckedOrder | tuple[Problem, ...]) -> str:
    """Return the numbers that were changed, as a page carries them."""
    return (
        " ".join(f"{code}={count}" for code, count in checked.granted.items())
        if isinstance(checked, CheckedOrder)
        else ""
    )


def _shown(checked: CheckedOrder | tuple[Problem, ...]) -> str:
    """Return a digest of what a page shows of an order: what is confirmed is what was looked at."""
    if not isinstance(checked, CheckedOrder):
        return ""
    lines = [(line.code, line.quantity, str(line.total)) for line in checked.confirmed.lines]
    kept = [(order.number, order.state) for order in checked.twins]
    facts = (checked.case.order.version, checked.buyer.key, lines, [str(each) for each in checked.problems], kept)
    return hashlib.sha256(repr(facts).encode()).hexdigest()


def confirm(desk: Desk, request: Request, form: FormData) -> Response:
    """Confirm a dropped order as its page showed it: its papers, and the ledger."""
    asked = _asked(request.path_params["key"], form)
    if asked is None:
        return page(desk, request, "shops", template="nothing", status=404)
    if text_of(form, "do"):  # other numbers, to be looked at first
        return went_well(desk, f"{asked.address}#lines")
    state = desk.shop_state
    listed = _listed(desk, state.look())
    checked = check_form(listed, asked.given, asked.sheet, stockist=asked.stockist, granted=dict(asked.granted))
    if not isinstance(checked, CheckedOrder) or _shown(checked) != text_of(form, "shown"):
        note = "order.other_counts" if text_of(form, "granted") != _granted_text(checked) else "order.moved"
        return _dropped_page(desk, request, asked, note=say(note))
    if not checked.confirms(anyway=text_of(form, "anyway") == "yes"):
        return _dropped_page(desk, request, asked, note=say("order.not_confirmed"))
    confirmation = confirm_order(checked, listed, state.out)
    note = say("order.confirmed") if confirmation.new else say("order.again")
    return went_well(desk, order_address(confirmation.order.number), note)


# Orders on record


def _kept(desk: Desk, number: int) -> KeptOrder | None:
    known = orders(desk.shop_state.folder / LEDGER)
    return next((order for order in known if order.number == number), None)


def show_order(desk: Desk, request: Request, *, moved: bool = False) -> Response:
    """Return an order on record: its lines, its papers, what became of it; `moved`: more than a page had shown."""
    order, seen = _kept(desk, request.path_params["number"]), desk.shop_state.look()
    if order is None:
        return page(desk, request, "shops", template="nothing", status=404)
    shop, language = seen.opened.shop, seen.opened.shop.settings.language
    return page(
        desk,
        request,
        "shops",
        template="kept_order",
        order=order,
        row=_order_row(order, Buyers(shop.stockists).of_order(order).name, seen),
        money=lambda amount: money_text(Decimal(amount), order.facts["currency"], language),
        steps=tuple((state.value, date_text(day, language)) for state, day in order.steps),
        papers=tuple(path for path in order.facts["files"] if (desk.shop_state.out / path).is_file()),
        address=order_address(order.number),
        today=max(seen.day, order.since).isoformat(),
        least=order.since.isoformat(),
        moved=moved,
        status=409 if moved else 200,
    )


_FOLLOW: Final = {"sent": send_order, "cancelled": cancel_order, "back": reopen_order}


def follow(desk: Desk, request: Request, form: FormData) -> Response:
    """Note what became of an order: sent, cancelled, a slip; not where that is not what its page had shown."""
    state, number, what = desk.shop_state, request.path_params["number"], text_of(form, "do")
    if what not in _FOLLOW:
        return page(desk, request, "shops", template="nothing", status=404)
    day = state.look().day
    with suppress(ValueError):
        day = in_our_time(datetime.date.fromisoformat(text_of(form, "day")))
    try:
        order = _FOLLOW[what](state.folder, number, day, steps=number_in(text_of(form, "steps")))
    except OtherStepError:
        return show_order(desk, request, moved=True)
    here = text_of(form, "here")
    address = here if here.startswith(f"{ADDRESS}/") else order_address(order.number)
    return went_well(desk, address, say(f"order.noted.{order.state.value}"))


def order_paper(desk: Desk, request: Request) -> Response:
    """Return the confirmation or the pick list of an order on record, where it still lies in the output folder."""
    order, paper = _kept(desk, request.path_params["number"]), request.path_params["paper"]
    out = desk.shop_state.out
    path = next((path for path in order.facts["files"] if path.endswith(f"-{paper}.pdf")), "") if order else ""
    file = out / path
    inside = path.startswith(f"{ORDERS}/") and path.count("/") == 2 and ".." not in path
    if not inside or not file.is_file() or any(part.is_symlink() for part in (file, file.parent, file.parent.parent)):
        return page(desk, request, "shops", template="nothing", status=404)
    return FileOnDisk(file, media_type="application/pdf", filename=file.name, content_disposition_type="attachment")
