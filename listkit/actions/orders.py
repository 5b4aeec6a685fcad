"""An order: a filled form read, held against its line sheet, confirmed, and followed until it is sent or cancelled.

The confirmation and the pick list go into out/wholesale/orders/, each written beside its place, read back, then put
there; a build neither makes nor removes them. What was confirmed is in the ledger, and so is what became of it.
"""

import datetime
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType
from typing import Final

from listkit.actions.order_book import Buyer, Buyers, goods_of_order
from listkit.actions.stock_orders import held_for, move_order
from listkit.check.orders import OrderCase, check_order, is_first, is_refused, no_version
from listkit.check.thresholds import read_thresholds
from listkit.check.wholesale import version_of
from listkit.compute.given_out import LinePrices, PriceBook, SheetHistory, tier_prices
from listkit.compute.orders import (
    Order,
    book_of,
    build_order,
    by_codes,
    lacking,
    odd_displays,
    quantities_of,
    shorts,
    takes,
    with_own_displays,
)
from listkit.compute.wholesale import Sheet
from listkit.ledger.history import currency_at
from listkit.ledger.orders import KeptOrder, OrderState, add_order, orders, unmoved
from listkit.ledger.store import LEDGER
from listkit.listing.cells import money_digits
from listkit.listing.photos import slug_of
from listkit.listing.print_words import PrintWords
from listkit.listing.sheet import Document, display_code, document_of
from listkit.model.codes import OldCodes
from listkit.model.item import Item
from listkit.model.shop import Shop
from listkit.model.wholesale import FormHeadings, OrderForm, Stockist
from listkit.pipeline import WHOLESALE, Listed, given_out_rows, sheet_history
from listkit.problem import FieldError, Level, Place, Problem, must_fix
from listkit.read.order_file import read_order
from listkit.read.source import Given
from listkit.save.asked import asked_files, asked_folder
from listkit.save.job import digest_of
from listkit.units.money import amount_of
from listkit.write.line_sheet import FOLDER as PICTURES
from listkit.write.line_sheet import LOGO
from listkit.write.order_pages import Confirmed, confirmation_layout, line_name, pick_list_layout
from listkit.write.print import Layout, print_pdf, verify_pdf

ORDERS: Final = "wholesale/orders"
_PAGES: Final = ("confirmation", "pick-list")
_LONGEST_NAME: Final = 100
_NAMED: Final = 6  # of many codes that differ, and of stockists
_BUYER: Final = ("shop", "address", "email", "phone", "order_number", "deliver_by", "notes", "first_order")


@dataclass(frozen=True, slots=True)
class CheckedOrder:
    """An order with its problems, at the levels that the owner set, and the line sheet that it is held against.

    `asked` is what the form asks for, by today's codes; a quantity that is no number as it stands there. `known` are
    all orders of the ledger, `twins` those of this buyer with the same number, or without one of the same content.
    """

    case: OrderCase
    document: Document
    problems: tuple[Problem, ...]
    buyer: Buyer
    asked: Mapping[str, int | str]
    known: tuple[KeptOrder, ...] = ()
    twins: tuple[KeptOrder, ...] = ()
    alike: frozenset[int] = frozenset()
    """The numbers of those twins that have the same content."""
    granted: Mapping[str, int] = field(default_factory=dict)
    """So many of a code are confirmed, whatever the form asks for."""

    @property
    def kept(self) -> KeptOrder | None:
        """The order as it is on record, None where it is none yet; without a number it is a new one once sent."""
        open_states = (OrderState.CONFIRMED, OrderState.SENT) if self.reference else (OrderState.CONFIRMED,)
        return next((order for order in reversed(self.twins) if order.state in open_states), None)

    @property
    def reference(self) -> str:
        """The buyer's own number, "" for none."""
        return " ".join(self.case.form.says("order_number").split())

    @property
    def clashes(self) -> bool:
        """Whether another order is on record under its number."""
        return self.kept is not None and self.kept.number not in self.alike

    @property
    def stopped(self) -> bool:
        """Whether it does not agree with its sheet, or with what is on record."""
        return must_fix(self.problems)

    @property
    def refused(self) -> bool:
        """Whether it is not confirmed, not even when the rest of it is let pass."""
        return self.clashes or is_refused(self.case)

    @property
    def confirmed(self) -> Order:
        """The order as it is confirmed: displays under their own codes."""
        return with_own_displays(self.case.order)

    def confirms(self, *, anyway: bool) -> bool:
        """Whether it is confirmed; `anyway` lets pass what does not agree."""
        return not self.clashes and (not self.stopped or (anyway and bool(self.case.order.lines) and not self.refused))


def check_form(
    listed: Listed,
    given: Given,
    version: str = "",
    *,
    stockist: str = "",
    granted: Mapping[str, int] = MappingProxyType({}),
) -> CheckedOrder | tuple[Problem, ...]:
    """Read a filled form and hold it against its line sheet; return the problems alone where it cannot be.

    Args:
        listed: the shop.
        given: the form.
        version: the line sheet ordered by, where the form does not state it.
        stockist: the code of the stockist who sent it, where the form does not say.
        granted: how many of a code that is asked for are to be confirmed, where not as many as the form asks.

    Raises:
        FieldError: there is no line sheet, no such stockist, or the ledger cannot be used.
    """
    shop, document = listed.shop, document_of(listed.catalog)
    if document is None:
        raise FieldError("there is no line sheet to order by.", "Write wholesale.toml; see the README.")
    form, problems = _read_form(given, document.voice.own)
    if form is None:
        return tuple(problems)
    form, renamed = _in_todays_codes(by_codes(form, document.sheet), shop.old_codes)
    wanted = quantities_of(form)
    granted = {code: count for code, count in granted.items() if code in wanted and count != wanted[code]}
    case = _order_case(listed, document.sheet, form, version, granted=granted)
    if isinstance(case, Problem):
        return (*problems, *renamed, case)
    buyer = Buyers(shop.stockists).of_form(form, stockist)
    asked: dict[str, int | str] = {row.code: row.said for row in form.rows if row.quantity is None}
    asked |= wanted
    known = orders(shop.root / LEDGER)
    checked = CheckedOrder(case, document, (), buyer=buyer, asked=asked, known=known, granted=granted)
    checked = _with_twins(checked, shop, stated=bool(version or form.sheet))
    if checked.kept is not None and not checked.clashes:
        held = held_for(shop, goods_of_order(checked.kept))
        checked = replace(checked, case=replace(case, order=replace(case.order, held=held)))
        case = checked.case
    answers = (document.voice.own.form.yes, document.voice.own.form.no)
    first = is_first(form, answers, shop.stockists)
    if first is None and buyer.key and _earlier(checked, shop.stockists):
        first = False
    checked = replace(checked, case=replace(case, first=first))
    problems += [*renamed, *check_order(checked.case, shop), *_twice(checked)]
    return replace(checked, problems=tuple(read_thresholds(shop.settings)[0].judged(problems)))


def _read_form(given: Given, wording: PrintWords) -> tuple[OrderForm | None, list[Problem]]:
    form, sheet = wording.form, wording.sheet
    buyer = tuple((name, getattr(form, name)) for name in _BUYER)
    headings = FormHeadings(
        code=sheet.code,
        quantity=form.quantity,
        wholesale=sheet.wholesale,
        retail=sheet.retail,
        sheet=form.sheet,
        buyer=buyer,
    )
    return read_order(given.name, given.content, headings)


def _in_todays_codes(form: OrderForm, old_codes: OldCodes) -> tuple[OrderForm, list[Problem]]:
    """Return a form in today's codes, and a remark for each old one, display sets' among them."""
    now = _todays(old_codes)
    old_rows = {row.code: row for row in reversed(form.rows) if row.code in now}
    remarks = [
        Problem(row.place, "old-code", f"{code} is {now[code]} now.", "It is confirmed under that code.", Level.LOOK_AT)
        for code, row in sorted(old_rows.items())
    ]
    return replace(form, rows=tuple(replace(row, code=now.get(row.code, row.code)) for row in form.rows)), remarks


def _todays(old_codes: OldCodes) -> dict[str, str]:
    """Return what each old code is today, those of display sets among them."""
    now = dict(old_codes.now)
    return now | {display_code(old): display_code(new) for old, new in now.items()}


def _order_case(
    listed: Listed, sheet: Sheet, form: OrderForm, version: str, *, granted: Mapping[str, int]
) -> OrderCase | Problem:
    """Return the order with all that it is held against; or the problem that its sheet is none of ours."""
    history = sheet_history(listed.catalog)
    version = version_of(version or form.sheet) or history.current
    book = price_book(listed.shop, sheet, history, version)
    if book is None:
        return no_version(Place(form.file), version, history)
    displays = {entry.code: display_code(entry.code) for entry in sheet.entries}
    wanted = {code: count for code, count in {**quantities_of(form), **granted}.items() if count or code not in granted}
    order = build_order(sheet, book, wanted, displays)
    return OrderCase(
        form, order, sheet, book, history, today=listed.day, first=None, spoken=listed.shop.settings.spoken
    )


# What the ledger knows of it


def _with_twins(checked: CheckedOrder, shop: Shop, *, stated: bool) -> CheckedOrder:
    """Return the order with those on record that are the same, or go by the same number.

    Where no line sheet is `stated`, the order goes by the sheet of today, which was another one when it was confirmed.
    """
    now, buyers = _todays(shop.old_codes), Buyers(shop.stockists)

    def is_alike(order: KeptOrder) -> bool:
        asked = {now.get(code, code): number for code, number in order.facts["asked"].items()}
        return asked == checked.asked and (not stated or order.facts["sheet"] == checked.case.order.version)

    mine = [
        order
        for order in checked.known
        if order.reference.casefold() == checked.reference.casefold() and buyers.have_ordered(order, checked.buyer)
    ]
    alike = frozenset(order.number for order in mine if is_alike(order))
    twins = mine if checked.reference else [order for order in mine if order.number in alike]
    return replace(checked, twins=tuple(twins), alike=alike)


def _earlier(checked: CheckedOrder, stockists: tuple[Stockist, ...]) -> bool:
    """Whether its buyer has another order on record that holds."""
    twin, buyers = checked.kept.number if checked.kept else 0, Buyers(stockists)
    return any(
        order.number != twin and order.state is not OrderState.CANCELLED and buyers.have_ordered(order, checked.buyer)
        for order in checked.known
    )


def _twice(checked: CheckedOrder) -> Iterator[Problem]:
    """Yield what is to be said where the order, or another one of its number, is on record."""
    kept, place, said = checked.kept, checked.case.place, checked.case.spoken.day
    if kept is None:
        sent = [order for order in checked.twins if order.state is OrderState.SENT]
        if sent and not checked.reference:
            message = f"the same was ordered before, and sent on {said(sent[-1].since)}."
            hint = "As it has no number, it is taken for a new order; ask the shop."
            yield Problem(place, "order-twice", message, hint, Level.LOOK_AT)
        return
    since = f", {kept.state.value} on {said(kept.since)}" if kept.state is not OrderState.CONFIRMED else ""
    if checked.clashes:
        message = (
            f"order {checked.reference[:60]} is on record with other contents, confirmed on {said(kept.day)}{since}: "
        )
        message += _unlike(kept.facts["asked"], checked.asked)
        hint = "If this one is meant, cancel that one first. Else ask the shop for another number."
        yield Problem(place, "order-twice", message, hint, Level.MUST_FIX)
        return
    message = f"it is on record already, confirmed on {said(kept.day)}{since}."
    yield Problem(place, "order-twice", message, "Nothing is added to the ledger.", Level.LOOK_AT)


def _unlike(before: Mapping[str, int | str], now: Mapping[str, int | str]) -> str:
    """Return in which quantities two orders differ: "OH-B01 60, not 12"."""
    codes = [code for code in dict.fromkeys((*before, *now)) if before.get(code, 0) != now.get(code, 0)]
    if not codes:
        return "it went by another line sheet."
    parts = [f"{code} {before.get(code, 0)}, not {now.get(code, 0)}" for code in codes[:_NAMED]]
    more = f" and {len(codes) - _NAMED} more" if len(codes) > _NAMED else ""
    return f"{', '.join(parts)}{more}."


@dataclass(frozen=True, slots=True)
class Confirmation:
    """An order that is confirmed, as it is on record, and its files below the output folder.

    `new` says whether it was added to the ledger now. There are no files where what can be confirmed by now differs
    from what was: then what was confirmed holds.
    """

    order: KeptOrder
    files: tuple[str, ...]
    new: bool


def confirm_order(checked: CheckedOrder, listed: Listed, out: Path) -> Confirmation:
    """Write the confirmation and the pick list of an order, put its pieces by, add it to the ledger: all, or nothing.

    An order that is on record is not added again; its files are written anew, of the day on which it was confirmed.

    Raises:
        FieldError: another order has its number, its files cannot be made or written, or the ledger cannot be used.
    """
    kept, document, ledger = checked.kept, checked.document, listed.shop.root / LEDGER
    if checked.clashes:
        raise FieldError(*next((each.message, each.hint) for each in _twice(checked)))
    case = replace(checked.case, today=kept.day) if kept else checked.case
    number = kept.number if kept else 1 + max((order.number for order in checked.known), default=0)
    confirmed, logo = replace(_confirmed(checked, case.today), number=number), logo_of(out)
    stockist = next((each for each in listed.shop.stockists if each.code == checked.buyer.code), None)
    confirmed = replace(confirmed, address=stockist.address if stockist else "")
    paths = tuple(kept.facts["files"]) if kept else tuple(f"{ORDERS}/{_stem(case)}-{page}.pdf" for page in _PAGES)
    order = _to_keep(checked, case.today, paths)
    if kept is not None and kept.facts["lines"] != order.facts["lines"]:
        return Confirmation(kept, (), new=False)
    layouts = (
        confirmation_layout(confirmed, document, listed.shop, logo=bool(logo)),
        pick_list_layout(confirmed, document, listed.shop),
    )
    added: list[KeptOrder] = []

    def reserve(order: KeptOrder) -> None:
        if order.state is OrderState.CONFIRMED:
            move_order(listed.shop.root, goods_of_order(order), "ordered", order.day)

    def keep() -> None:
        if kept is not None:
            unmoved(ledger, checked.known, then=lambda: reserve(kept))
        added.append(kept or add_order(ledger, order, checked.known, then=reserve))

    pages = tuple((path.rpartition("/")[2], layout) for path, layout in zip(paths, layouts, strict=True))
    files = write_pages(out, listed.shop.root, pages, logo, then=keep)
    return Confirmation(added[0], tuple(files), new=kept is None)


def _to_keep(checked: CheckedOrder, day: datetime.date, files: tuple[str, ...]) -> KeptOrder:
    """Return an order as the ledger is to have it: no address, and nothing else that is somebody's own."""
    order, taken = checked.confirmed, tuple(takes(checked.confirmed))
    facts = {
        "sheet": order.version,
        "shop": checked.buyer.name,
        "asked": dict(checked.asked),
        "lines": [
            {
                "code": line.code,
                "name": line_name(line, checked.document),
                "quantity": line.quantity,
                "each": money_digits(line.each),
                "total": money_digits(line.total),
            }
            for line in order.lines
        ],
        "takes": {
            "items": {of.code: number for of, number in taken if isinstance(of, Item)},
            "packs": {of.name: number for of, number in taken if not isinstance(of, Item)},
        },
        "pieces": order.pieces,
        "total": money_digits(order.total),
        "currency": order.total.currency,
        "files": list(files),
    }
    return KeptOrder(0, checked.buyer.key, checked.reference, day, facts)


def kept_of(checked: CheckedOrder, wanted: OrderState) -> KeptOrder:
    """Return the order on record that a form is of and that is to become what is `wanted`.

    Raises:
        FieldError: there is none; or it is to be sent, and what is on record under its number has other contents.
    """
    back = wanted is OrderState.CONFIRMED
    states = {OrderState.SENT, OrderState.CANCELLED} if back else {OrderState.CONFIRMED}
    there = [order for order in checked.twins if order.state in states] or list(checked.twins)
    if not there:
        raise FieldError("this order is not on record.", "Confirm it first: listkit order FORM.")
    if wanted is OrderState.SENT and checked.clashes:
        raise FieldError(*next((each.message, each.hint) for each in _twice(checked)))
    return there[-1]


# Its pages


def _confirmed(checked: CheckedOrder, day: datetime.date) -> Confirmed:
    """Return the order as it is confirmed, with all in which that is not as the form has it."""
    case = checked.case
    changed = {problem.place.row for problem in checked.problems if problem.code == "price-differs"}
    known = {line.code for line in case.order.lines}
    return Confirmed(
        checked.confirmed,
        case.form,
        day,
        left_out=tuple(
            row
            for row in case.form.rows
            if row.quantity is None or (row.code not in known and row.code not in checked.granted)
        ),
        other_counts=tuple((code, f"{checked.asked[code]}", f"{count}") for code, count in checked.granted.items()),
        other_prices=tuple(
            (row.code, f"{row.prices[0]}") for row in case.form.rows if row.code in changed and row.prices
        ),
        displays=tuple(odd_displays(case.order)),
        shorts=tuple(shorts(case.order)),
        later=tuple(lacking(case.order)),
    )


def _stem(case: OrderCase) -> str:
    """Return a name for files that every system takes: the shop and its own number, and some digits of what is ordered.

    Without a number it is the shop and the day, else the form's name. Two orders of one day, or of one number, are
    two, and the same one again is the same.
    """
    shop, number = (slug_of(case.form.says(name)) for name in ("shop", "order_number"))
    name = f"{shop}-{number or case.today.isoformat()}" if shop else slug_of(Path(case.form.file).stem) or "order"
    ordered = digest_of(case.order.version, tuple((line.code, line.quantity) for line in case.order.lines))
    return f"{name[:_LONGEST_NAME]}-{ordered[:6]}"


# The files


def logo_of(out: Path) -> tuple[tuple[str, Path], ...]:
    """Return the logo as the last build made it, if it did."""
    path = out / PICTURES / LOGO
    return ((LOGO, path),) if os.path.isfile(path) and not path.is_symlink() else ()


def write_pages(
    out: Path,
    shop: Path,
    pages: Sequence[tuple[str, Layout]],
    pictures: tuple[tuple[str, Path], ...],
    *,
    then: Callable[[], None] = lambda: None,
) -> list[str]:
    """Print every layout to its name and return the paths below `out`; all are made before the first is put there.

    `then` is called between; where it raises, nothing is put there.

    Raises:
        FieldError: a build is at work, a link leads out of the folder, a layout has a fault, or nothing can be written.
    """
    paths = [f"{ORDERS}/{name}" for name, _ in pages]
    with asked_folder(out, shop, paths) as folder, asked_files(folder, paths) as parts:
        for path, part, (_, layout) in zip(paths, parts, pages, strict=True):
            print_pdf(part, layout, pictures)
            if fault := verify_pdf(part, print_pdf, ()):
                raise FieldError(f"{path} does not read back as it was written: {fault}")
        then()
    return paths


def price_book(shop: Shop, sheet: Sheet, history: SheetHistory, version: str) -> PriceBook | None:
    """Return the prices of a version: today's from the shop, an older one's from the ledger; None for no version.

    Raises:
        FieldError: the ledger cannot be used, or its prices are in a currency that the shop has no more.
    """
    if version == history.current:
        return book_of(sheet, version, {entry.code: display_code(entry.code) for entry in sheet.entries})
    given = history.find(version)
    if given is None:
        return None
    currency = currency_at(shop.root / LEDGER, WHOLESALE, given.number)
    if currency not in ("", sheet.currency):
        message = f"line sheet {version} has prices in {currency}, and the shop has {sheet.currency} now."
        raise FieldError(message, "Ask the shop to order by the sheet of today.")
    prices: dict[str, LinePrices] = {}
    for code, row in given_out_rows(shop.root / LEDGER, given, shop.old_codes).items():
        if (wholesale := amount_of(row.get("wholesalePrice"))) is not None:
            prices[code] = LinePrices(wholesale, tier_prices(row))
        if (display := amount_of(row.get("displayPrice"))) is not None:
            prices.setdefault(display_code(str(row.get("inProductGroupWithID", code))), LinePrices(display))
    return PriceBook(version, given.valid_until, tuple(prices.items()))
