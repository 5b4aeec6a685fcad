"""Orders of stockists that are on record: who each is of, what becomes of it, and the log of all.

Nothing of a form is read here; `orders.py` confirms.
"""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import Final

from listkit.actions.stock import Added
from listkit.actions.stock_orders import OrderedGoods, OrderStep, move_order
from listkit.ledger.orders import KeptOrder, OrderState, add_step, orders
from listkit.ledger.store import LEDGER
from listkit.model.wholesale import OrderForm, Stockist
from listkit.pipeline import open_settings
from listkit.problem import BlockedError, FieldError
from listkit.read.folder import find_files
from listkit.read.tables import read_stockists
from listkit.units.money import Money

_NAMED: Final = 6  # of many stockists


@dataclass(frozen=True, slots=True)
class Buyer:
    """Who orders: the stockist's code, "" for a shop that stockists.csv has not; its name, "" where nothing says it."""

    code: str
    name: str

    @property
    def key(self) -> str:
        """What the ledger calls it."""
        return self.code or self.name


class Buyers:
    """The stockists of a shop, each found by its code, name or address; made once for all orders that are looked at."""

    def __init__(self, stockists: tuple[Stockist, ...]) -> None:
        self._stockists = stockists
        self._by_name = {name: each for each in reversed(stockists) for name in _names_of(each)}

    def of_form(self, form: OrderForm, stated: str) -> Buyer:
        """Return who orders: the stockist whose code is stated, or whose name or address the form has."""
        if not stated:
            return self._named(form.says("shop"), form.says("email"))
        chosen = next(
            (each for each in self._stockists if stated.casefold() in (each.code.casefold(), each.name.casefold())),
            None,
        )
        if chosen is None:
            known = ", ".join(each.code for each in self._stockists[:_NAMED]) or "nobody yet"
            raise FieldError(f'there is no stockist "{stated[:60]}".', f"In stockists.csv there is {known}.")
        return Buyer(chosen.code, chosen.name)

    def of_order(self, order: KeptOrder) -> Buyer:
        """Return who an order on record is of, as stockists.csv calls it today."""
        return self._named(str(order.facts.get("shop", "")), order.buyer)

    def have_ordered(self, order: KeptOrder, buyer: Buyer) -> bool:
        """Whether an order on record is of a buyer."""
        return self.of_order(order).key.casefold() == buyer.key.casefold()

    def _named(self, *names: str) -> Buyer:
        """Return the first stockist in the table that has one of the names, else a buyer of the first name."""
        folded = {" ".join(name.split()).casefold() for name in names} - {""}
        found = {self._by_name[name].code: self._by_name[name] for name in folded if name in self._by_name}
        if not found:
            return Buyer("", " ".join(names[0].split()))
        first = next(each for each in self._stockists if each.code in found) if len(found) > 1 else found.popitem()[1]
        return Buyer(first.code, first.name)


def _names_of(stockist: Stockist) -> frozenset[str]:
    return frozenset(name.casefold() for name in (stockist.code, stockist.name, stockist.email))


# What becomes of an order


class OtherStepError(FieldError):
    """Something else became of an order since it was looked at."""


def send_order(folder: Path, number: int, day: datetime.date, *, steps: int | None = None) -> KeptOrder:
    """Note that an order was sent on a day; return it as it is then.

    `steps` is how much had become of it when it was looked at, where somebody did.

    Raises:
        FieldError: there is no such order, it is sent or cancelled already, or the ledger cannot be used.
        OtherStepError: more or less became of it by now.
    """
    return _followed(folder, number, OrderState.SENT, day, steps)


def cancel_order(folder: Path, number: int, day: datetime.date, *, steps: int | None = None) -> KeptOrder:
    """Note that an order was cancelled on a day; `steps`, and raises, as `send_order`."""
    return _followed(folder, number, OrderState.CANCELLED, day, steps)


def reopen_order(folder: Path, number: int, day: datetime.date, *, steps: int | None = None) -> KeptOrder:
    """Take back that an order was sent or cancelled.

    `steps`, and raises, as `send_order`, and where its number is taken by now.
    """
    return _followed(folder, number, OrderState.CONFIRMED, day, steps)


def _followed(folder: Path, number: int, state: OrderState, day: datetime.date, steps: int | None) -> KeptOrder:
    known, said = orders(folder / LEDGER), open_settings(folder).spoken.day
    order = next((each for each in known if each.number == number), None)
    if order is None:
        raise FieldError(f"there is no order {number} on record.", "See listkit orders.")
    if steps not in (None, len(order.steps)):
        raise OtherStepError("something else became of this order meanwhile.", "Look at it first.")
    back = state is OrderState.CONFIRMED
    if order.state is state:
        hint = "There is nothing to take back." if back else "Nothing is added to the ledger."
        raise FieldError(f"it is {state.value} already, since {said(order.since)}.", hint)
    if not back and order.state is not OrderState.CONFIRMED:
        hint = "If that was a slip, take it back first: listkit order FORM --undo."
        raise FieldError(f"it was {order.state.value} on {said(order.since)}.", hint)
    if day < order.since:
        message = f"{said(day)} lies before {said(order.since)}, when it was {order.state.value}."
        raise FieldError(message, "Name a later day with --today.")
    if back and order.reference and any(_takes_place(each, order) for each in known):
        message = f"another order goes by {order.reference[:60]} by now."
        raise FieldError(message, "Cancel that one first.")
    moved: list[Added | None] = []

    def move() -> None:  # while nobody else can write into the ledger, and before it: once, however often it is done
        moved.append(move_order(folder, goods_of_order(order), _STEPS[state], day))

    try:
        add_step(folder / LEDGER, number, state, day, known=known, then=move)
    except FieldError as fault:
        if not any(moved):
            raise
        hint = f"{fault.hint} Then do the same again: the stock takes it once.".lstrip()
        raise BlockedError(f"{fault.message} The stock alone has it so far.", hint) from fault
    return replace(order, steps=(*order.steps, (state, day)))


_STEPS: Final[dict[OrderState, OrderStep]] = {
    OrderState.CONFIRMED: "reopened", OrderState.SENT: "sent", OrderState.CANCELLED: "cancelled",
}  # fmt: skip


def goods_of_order(order: KeptOrder) -> OrderedGoods:
    """Return what an order on record asks for, and what that takes off the shelf."""
    lines = tuple((str(line["code"]), int(line["quantity"])) for line in order.facts["lines"])
    takes = order.facts.get("takes") or {}
    taken = {**takes.get("items", {}), **takes.get("packs", {})}
    return OrderedGoods(f"order {order.number}", lines, tuple((code, int(number)) for code, number in taken.items()))


def _takes_place(order: KeptOrder, of: KeptOrder) -> bool:
    """Whether another order that holds has the buyer and number of one."""
    same = (order.buyer.casefold(), order.reference.casefold()) == (of.buyer.casefold(), of.reference.casefold())
    return same and order.number != of.number and order.state is not OrderState.CANCELLED


# The log


@dataclass(frozen=True, slots=True)
class ShopTotal:
    """What one shop has ordered, cancelled orders left out; `last` is the day of its last order, None before one.

    `total` is of the orders in the shop's own currency of today, `others` of those in each other one.
    """

    buyer: Buyer
    orders: int
    open: int
    total: Money
    last: datetime.date | None
    others: tuple[Money, ...] = ()

    @property
    def totals(self) -> tuple[Money, ...]:
        """What the orders come to in each currency that there are any in; 0 in the shop's own where there are none."""
        return (self.total, *self.others) if self.total.amount or not self.others else self.others


@dataclass(frozen=True, slots=True)
class OrderLog:
    """Every order, the latest first, each with who it is of; and totals by shop, who ordered last first."""

    orders: tuple[tuple[KeptOrder, Buyer], ...]
    shops: tuple[ShopTotal, ...]


def order_log(folder: Path) -> OrderLog:
    """Return what is on record of the orders of a shop folder.

    Raises:
        FieldError: the ledger cannot be used.
    """
    currency = open_settings(folder).currency
    stockists, _ = read_stockists(folder, find_files(folder)[0].stockists, currency)
    return log_of(orders(folder / LEDGER), stockists, currency)


def log_of(known: tuple[KeptOrder, ...], stockists: tuple[Stockist, ...], currency: str) -> OrderLog:
    """Return the log of these orders; stockists who have not ordered yet come last, in their own order."""
    by_shop: dict[str, list[KeptOrder]] = {each.code.casefold(): [] for each in stockists}
    buyers = {each.code.casefold(): Buyer(each.code, each.name) for each in stockists}
    of_stockists, listed = Buyers(stockists), []
    for order in known:
        buyer = of_stockists.of_order(order)
        buyers.setdefault(buyer.key.casefold(), buyer)
        by_shop.setdefault(buyer.key.casefold(), [])
        if order.state is not OrderState.CANCELLED:
            by_shop[buyer.key.casefold()].append(order)
        listed.append((order, buyer))
    totals = [_total_of(buyers[key], mine, currency) for key, mine in by_shop.items()]
    totals.sort(key=lambda each: (each.last is None, -each.last.toordinal() if each.last else 0))
    listed.sort(key=lambda each: (each[0].day, each[0].number), reverse=True)
    return OrderLog(tuple(listed), tuple(totals))


def _total_of(buyer: Buyer, mine: Sequence[KeptOrder], currency: str) -> ShopTotal:
    sums = {currency: Decimal(0)}
    for order in mine:
        stated = order.facts["currency"]
        sums[stated] = sums.get(stated, Decimal(0)) + Decimal(order.facts["total"])
    return ShopTotal(
        buyer,
        len(mine),
        sum(order.state is OrderState.CONFIRMED for order in mine),
        Money(sums.pop(currency), currency),
        max((order.day for order in mine), default=None),
        others=tuple(Money(total, stated) for stated, total in sorted(sums.items())),
    )
