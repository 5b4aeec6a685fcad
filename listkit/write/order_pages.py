"""An order as two pages: the confirmation that its shop gets, and the pick list for the own shelves.

Only layouts and what they show; where they are written to is for the command.
"""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Any, Final

from listkit.compute.orders import Lacking, Order, OrderLine, Short, takes
from listkit.listing.sentences import fill
from listkit.listing.sheet import Document, window_told
from listkit.listing.words import size_text
from listkit.model.item import Item
from listkit.model.shop import Shop
from listkit.model.wholesale import FormRow, OrderForm
from listkit.units.money import Money, amount_of
from listkit.write.line_sheet import page_facts
from listkit.write.print import Layout, layout_with

CONFIRMATION: Final = ("print/confirmation.typ", "print/common.typ")
PICK_LIST: Final = ("print/pick_list.typ", "print/common.typ")
_BUYER: Final = ("shop", "address", "email", "phone")


@dataclass(frozen=True, slots=True)
class Confirmed:
    """An order with the form that it came in, the day, and what in the form was not as it is confirmed."""

    order: Order
    form: OrderForm
    day: datetime.date
    left_out: tuple[FormRow, ...] = ()
    other_prices: tuple[tuple[str, str], ...] = ()  # code and what the form said
    other_counts: tuple[tuple[str, str, str], ...] = ()  # code, how many were ordered, how many are confirmed
    displays: tuple[OrderLine, ...] = ()  # more of them than go with the order
    shorts: tuple[Short, ...] = ()  # confirmed all the same
    later: tuple[Lacking, ...] = ()  # beyond the stock
    number: int = 0  # our own
    address: str = ""  # of the shop, where its form has none


def confirmation_layout(confirmation: Confirmed, document: Document, shop: Shop, *, logo: bool) -> Layout:
    """Return the confirmation with all that it shows."""
    voice, own = document.voice, document.voice.own
    facts = {
        **_page(confirmation, document, shop, title=own.order.confirmation, logo=logo),
        "words": {
            **{name: getattr(own.sheet, name) for name in ("code", "line")},
            **{name: getattr(own.form, name) for name in ("quantity", "total", "pieces", "notes")},
            **{name: getattr(own.order, name) for name in ("price", "sum", "anyway")},
            "terms": own.terms.terms,
        },
        "buyer": _buyer(confirmation),
        "notes_of_buyer": confirmation.form.says("notes"),
        "groups": [_group(lines, document) for lines in _by_group(confirmation.order)],
        "sum": voice.money(confirmation.order.total),
        "below": list(_carriage(confirmation.order, document)),
        "pieces": str(confirmation.order.pieces),
        "anyway": list(_anyway(confirmation, document)),
        "terms": document.text.terms,
        "notes": document.text.notes,
    }
    return layout_with(shop, CONFIRMATION, facts, day=confirmation.day)


def pick_list_layout(confirmation: Confirmed, document: Document, shop: Shop) -> Layout:
    """Return the pick list: every line with a box to tick, then the pieces that all of it takes."""
    own = document.voice.own
    facts = {
        **_page(confirmation, document, shop, title=own.order.pick_list, logo=False),
        "words": {
            **{name: getattr(own.sheet, name) for name in ("code", "line", "gtin", "case")},
            **{name: getattr(own.form, name) for name in ("quantity", "notes")},
            **{name: getattr(own.order, name) for name in ("picked", "takes", "on_hand", "pieces", "batch")},
            "deliver_to": own.order.deliver_to,
        },
        "buyer": _buyer(confirmation),
        "notes_of_buyer": confirmation.form.says("notes"),
        "groups": [_picked(lines, document) for lines in _by_group(confirmation.order)],
        "pieces": list(_pieces(confirmation.order, document)),
    }
    return layout_with(shop, PICK_LIST, facts, day=confirmation.day)


def _buyer(confirmation: Confirmed) -> list[str]:
    """Return who ordered and where it goes, its name first; the address is ours where the form has none."""
    says = {name: confirmation.form.says(name) for name in _BUYER}
    says["address"] = says["address"] or confirmation.address
    return [part for part in says.values() if part]


def _carriage(order: Order, document: Document) -> Iterator[tuple[str, str]]:
    """Yield what sending costs, and with it the whole, as far as the terms say it in figures; else their words."""
    terms, voice = document.sheet.terms, document.voice
    own, free = voice.own, terms.carriage_free
    if free and order.total.amount >= free.amount:
        yield own.terms.carriage, own.sheet.free
    elif (charge := amount_of(terms.carriage)) is not None:
        carriage = Money(charge, order.total.currency)
        yield own.terms.carriage, voice.money(carriage)
        yield own.order.together, voice.money(order.total + carriage)
    elif stated := terms.carriage or dict(document.text.terms).get(own.terms.carriage):
        yield own.terms.carriage, stated


def _page(confirmation: Confirmed, document: Document, shop: Shop, *, title: str, logo: bool) -> dict[str, Any]:
    own, form, day = document.voice.own, confirmation.form, document.voice.day(confirmation.day, "long")
    head = [(own.order.our_number, str(confirmation.number))] if confirmation.number else []
    head += [(own.order.date, day), (own.form.sheet, confirmation.order.version)]
    named = (("order_number", own.form.order_number), ("deliver_by", own.form.deliver_by))
    head += [(label, says) for name, label in named if (says := form.says(name))]
    running = (title, form.says("shop"), form.says("order_number"), day)
    return {
        **page_facts(document, shop, title, logo=logo),
        "version": confirmation.order.version,
        "running": " · ".join(part for part in running if part),
        "head": head,
        "buyer_word": own.order.buyer,
    }


def _by_group(order: Order) -> Iterator[tuple[OrderLine, ...]]:
    for _, lines in groupby(order.lines, key=lambda line: id(line.group)):
        yield tuple(lines)


def _group(lines: tuple[OrderLine, ...], document: Document) -> dict[str, Any]:
    voice = document.voice

    def money(amount: Money) -> str:
        return voice.money(amount) if amount.amount else voice.own.sheet.free

    rows = [(one.code, line_name(one, document), str(one.quantity), money(one.each), money(one.total)) for one in lines]
    return {**_heading(lines, document), "rows": rows}


def _heading(lines: tuple[OrderLine, ...], document: Document) -> dict[str, Any]:
    group = lines[0].group
    return {"title": group.title, "window": list(window_told(group.window, document.voice))[-1:]}


def _picked(lines: tuple[OrderLine, ...], document: Document) -> dict[str, Any]:
    rows = [
        (one.code, line_name(one, document), one.line.gtin if one.line else "", _cases(one), str(one.quantity))
        for one in lines
    ]
    return {**_heading(lines, document), "rows": rows}


def _cases(line: OrderLine) -> str:
    """Return "4 × 6" where a line makes full cases by itself."""
    case = line.entry.packs.case if line.line else None
    return f"{line.quantity // case} × {case}" if case and line.quantity % case == 0 else ""


def line_name(line: OrderLine, document: Document) -> str:
    """Return what a line is called: the set with what is chosen, the item with its size, the display set."""
    if line.line is None:
        return f"{line.entry.name}, {document.voice.own.sheet.display_set}"
    size = size_text(line.entry.item, document.voice.language) if line.entry.item else ""
    more = (*(choice.says for choice in line.line.choices), *([size] if size else []))
    return ", ".join((line.entry.name, *more))


def _anyway(confirmation: Confirmed, document: Document) -> Iterator[str]:
    own, prices = document.voice.own.order, {line.code: line.each for line in confirmation.order.lines}
    for row in confirmation.left_out:
        yield fill(own.left_out, code=row.code or "–", said=row.said)
    for code, stated in confirmation.other_prices:
        if code in prices:
            yield fill(own.other_price, code=code, price=document.voice.money(prices[code]), stated=stated)
    for code, ordered, granted in confirmation.other_counts:
        yield fill(own.other_count, code=code, ordered=ordered, confirmed=granted)
    confirmed = {line.code: line.quantity for line in confirmation.order.lines}
    for line in confirmation.displays:
        left = str(confirmed.get(line.code, 0))
        yield fill(own.fewer_displays, code=line.code, ordered=str(line.quantity), confirmed=left)
    for short in confirmation.shorts:
        words = own.broken_case if short.case else own.below_least
        yield fill(words, codes=", ".join(short.codes), ordered=str(short.ordered), of=str(short.of))
    for lack in confirmation.later:
        if isinstance(lack.of, Item):  # boxes and cards are ours to get
            name = document.voice.words.naming.of(lack.of)
            yield fill(own.later, name=name, on_hand=str(lack.on_hand), rest=str(lack.ordered - lack.on_hand))


def _pieces(order: Order, document: Document) -> Iterator[tuple[str, ...]]:
    """Yield code, name, number and stock of all that the order takes: items as they come, then boxes, fills, cards."""
    own = document.voice.own.order
    for of, number in takes(order):
        on_hand = "" if of.on_hand is None else str(of.on_hand)
        if isinstance(of, Item):
            name, size = document.voice.words.naming.of(of), size_text(of, document.voice.language)
            yield of.code, f"{name}, {size}" if size else name, str(number), on_hand
        else:
            named = {"box": fill(own.box, code=of.box), "fill": fill(own.fill, code=of.box), "card": own.card}
            yield "", named[of.part], str(number), on_hand
