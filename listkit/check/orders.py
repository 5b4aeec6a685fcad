"""Checks of orders: what does not agree in the form that a shop sent, each with what to do.

They are run by the command that reads an order, not by check_listings; their codes are rows of the table all the same.
"""

import datetime
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import zip_longest
from typing import Final

from listkit.check.alike import distance, listed
from listkit.check.places import item_place, pack_place
from listkit.compute.catalog import Pack
from listkit.compute.given_out import PriceBook, SheetHistory
from listkit.compute.orders import Order, Short, lacking, odd_displays, short_of, shorts
from listkit.compute.wholesale import Sheet
from listkit.model.shop import Shop
from listkit.model.wholesale import FormRow, OrderForm, Stockist
from listkit.problem import Level, Place, Problem, times
from listkit.units.spoken import Spoken

_MUST: Final = Level.MUST_FIX
_CHOICES: Final = 2
_FAR: Final = 8
_MOST_NEAR: Final = 200  # wrong codes of one order for which another is looked for
_NEAR: Final = 1  # letters that a code may be off by: codes of real lines are often two apart


@dataclass(frozen=True, slots=True)
class OrderCase:
    """An order with all that it is compared with. `first`: whether it is a shop's first, None where nobody knows."""

    form: OrderForm
    order: Order
    sheet: Sheet
    book: PriceBook
    history: SheetHistory
    today: datetime.date
    first: bool | None
    spoken: Spoken

    @property
    def place(self) -> Place:
        """The form as a whole."""
        return Place(self.form.file)


def check_order(case: OrderCase, shop: Shop) -> Iterator[Problem]:
    """Yield all that does not agree, what must be settled with the buyer and what she need only know."""
    yield from _version(case)
    yield from _codes(case, shop)
    yield from _prices(case)
    places = _places(case.form)
    yield from (_short(places.get(short.codes[0], case.place), short) for short in shorts(case.order))
    yield from _displays(case, places)
    yield from _sums(case)
    yield from _days(case)
    yield from _stock(case, shop)


def no_version(place: Place, version: str, history: SheetHistory) -> Problem:
    """Return the problem of a version that was never given out."""
    known = dict.fromkeys((history.current, *(sheet.version for sheet in reversed(history.given_out))))
    hint = f"Ask which sheet was ordered by; known are {listed(tuple(known))}."
    return Problem(place, "unknown-code", f'there was no line sheet "{version}".', hint)


def is_first(form: OrderForm, answers: tuple[str, str], stockists: tuple[Stockist, ...]) -> bool | None:
    """Return whether it is a first order: as the form says (`answers` are yes and no), else by stockists.csv."""
    said = form.says("first_order").casefold()
    for answer, first in zip(answers, (True, False), strict=True):
        if said == answer.casefold():
            return first
    if said.strip():  # words that are neither: nobody knows
        return None
    names = {form.says("shop").casefold(), form.says("email").casefold()} - {""}
    known = any(names & {shop.name.casefold(), shop.email.casefold()} and shop.since for shop in stockists)
    return False if known else None


def _version(case: OrderCase) -> Iterator[Problem]:
    book, history = case.book, case.history
    if book.valid_until is not None and book.valid_until < case.today:
        message = f"the prices of {book.version} held until {case.spoken.day(book.valid_until)}."
        yield Problem(case.place, "order-late", message, "Send the sheet of today and ask for a new order.", _MUST)
    elif book.version != history.current:
        message = f"it is ordered by {book.version}, and the sheet of today is {history.current}."
        yield Problem(case.place, "order-late", message, "The prices of the older one hold; send the new one too.")


def _codes(case: OrderCase, shop: Shop) -> Iterator[Problem]:
    """Yield codes of the form that the sheet has not, then codes in several rows."""
    places = _places(case.form)
    rows = {row.code: _row_place(row) for row in reversed(case.form.rows)}
    known = {code: None for code, _ in case.book.prices}
    today, ours = {line.code for line in case.sheet.lines}, _OurCodes(shop)
    choices_of: dict[str, list[str]] = {}
    for line in known:
        for front in _fronts(line):
            choices_of.setdefault(front, []).append(line)
    for number, code in enumerate(case.order.strange):
        if code in known:
            message, hint = f"{code} is no longer made.", "Offer something else."
        elif code in today:
            message = f"{code} does not stand on {case.book.version} yet."
            hint = f"Ask for an order by {case.history.current}, which has it."
        elif choices := choices_of.get(code, []):
            message, hint = f"{code} comes in several choices.", f"Ask which is meant: {listed(choices)}."
        elif ours.has(code):
            message = f"{code} is no line of {case.book.version}."
            hint = _instead(code, known, ours) if number < _MOST_NEAR else "Ask what is meant."
        else:
            looked = known if number < _MOST_NEAR else ()
            near = [line for line in looked if distance(code.casefold(), line.casefold(), _NEAR) <= _NEAR]
            message = f'there is no "{code}" on {case.book.version}.' if code else "a quantity stands beside no code."
            hint = f"Ask whether {near[0]} is meant." if near else "Ask what is meant."
        yield Problem(rows[code], "unknown-code", message, hint)
    for code, number in Counter(row.code for row in case.form.rows).items():
        if number > 1:
            message = f"{code} stands in {number} rows; they are added up."
            yield Problem(places[code], "code-twice", message, "Ask whether all are meant.", Level.LOOK_AT)


def _fronts(code: str) -> Iterator[str]:
    """Yield what stands before each stroke of a code, as a set's code does in those of its variants."""
    return (code[:at] for at, sign in enumerate(code) if sign == "-" and at)


class _OurCodes:
    """The codes of a shop's items, and of its sets in their order."""

    def __init__(self, shop: Shop) -> None:
        self.items = frozenset(item.code for item in shop.items)
        self.sets = {source.gift_set.code: at for at, source in enumerate(shop.sets)}

    def set_of(self, code: str) -> str:
        """Return the first set whose variants have codes like this one, "" for none."""
        return min((front for front in _fronts(code) if front in self.sets), key=self.sets.__getitem__, default="")

    def has(self, code: str) -> bool:
        """Whether a code is of an item or a set of the shop, or made like those of a set's variants."""
        return code in self.items or code in self.sets or bool(self.set_of(code))


def _instead(code: str, known: Iterable[str], ours: _OurCodes) -> str:
    """Return what to do about a code of ours that is on no line: the two lines of its set that are most like it."""
    of_set = ours.set_of(code)
    lines = [line for line in known if of_set and (line == of_set or line.startswith(f"{of_set}-"))]
    if not lines:
        return "It is not sold to shops; offer something else."
    near = sorted(lines, key=lambda line: (distance(code, line, _FAR), line))[:_CHOICES]
    return f"Ask which is meant: of {of_set} there {'are' if len(near) > 1 else 'is'} {listed(near)}."


def _places(form: OrderForm) -> dict[str, Place]:
    """Return the place of each code: of several rows with it, the first."""
    return {row.code: row.place for row in reversed(form.rows)}


def _prices(case: OrderCase) -> Iterator[Problem]:
    """Compare every price of the form with its version: a protected cell can be changed all the same."""
    prices = dict(case.book.prices)
    for row in case.form.rows:
        if row.code not in prices:
            continue
        ours = (prices[row.code].wholesale, *(price for _, price in prices[row.code].tiers))
        pairs = zip_longest(row.prices, ours)
        stated, price = next((pair for pair in pairs if pair[0] is not None and pair[0] != pair[1]), (None, None))
        if stated is not None:
            says = "no such price" if price is None else case.spoken.money(price)
            message = f"the form says {case.spoken.money(stated)} for {row.code}; {case.book.version} says {says}."
            hint = "A cell was changed; tell the shop that the sheet's price holds."
            if not case.form.sheet and case.history.given_out:
                hint = "The form names no sheet: say which it was filled in by with --sheet. Else a cell was changed."
            yield Problem(_row_place(row), "price-differs", message, hint)


def _row_place(row: FormRow) -> Place:
    """Return the place of a row whose fault is not its quantity."""
    return Place(row.place.file, row.place.line, row.place.row)


def _short(place: Place, short: Short) -> Problem:
    """Return the problem of lines that make no full cases, or not the least quantity."""
    what = f"full cases of {short.of}" if short.case else f"the least of {short.of}"
    together = " together" if len(short.codes) > 1 else ""
    message = f"{short.ordered} of {listed(short.codes)}{together} are ordered; {short.missing} more make {what}."
    return Problem(place, "order-packs", message, "Ask for so many more, or fewer.")


def _displays(case: OrderCase, places: Mapping[str, Place]) -> Iterator[Problem]:
    for display in odd_displays(case.order):
        message = f"{display.quantity} of {display.code} {'is' if display.quantity == 1 else 'are'} ordered."
        hint = "One goes with each kind of set that is ordered."
        yield Problem(places[display.code], "order-packs", message, hint)


def _sums(case: OrderCase) -> Iterator[Problem]:
    terms, order = case.sheet.terms, case.order
    if not order.lines:
        yield Problem(case.place, "order-sum", "nothing is ordered.", "Ask whether it is the right file.")
        return
    least = terms.opening if case.first else terms.reorder
    name = "a first order" if case.first else "an order"
    if (short := short_of(order, least)) is not None:
        total, rest, asked = map(case.spoken.money, (order.total, short, least or order.total))
        message = f"it comes to {total}, {rest} short of {asked} for {name}."
        yield Problem(case.place, "order-sum", message, "Ask for more, or let it pass.")
    elif case.first is None and (short := short_of(order, terms.opening)) is not None:
        total, rest, asked = map(case.spoken.money, (order.total, short, terms.opening or order.total))
        message = f"it comes to {total}, {rest} short of {asked} if it is a first order."
        yield Problem(case.place, "order-sum", message, "Ask whether it is; later ones may be smaller.", Level.LOOK_AT)


def _days(case: OrderCase) -> Iterator[Problem]:
    """Yield windows that have closed or open too late, each once."""
    wanted = _day(case.form.says("deliver_by"))
    windows = dict.fromkeys((line.group.window, line.group.title) for line in case.order.lines)
    for window, title in windows:
        name = f'"{title}"' if title else "what is ordered"
        if window.ships_until is not None and window.ships_until < case.today:
            message = f"{name} was sent until {case.spoken.day(window.ships_until)}."
            yield Problem(case.place, "order-late", message, "Ask whether later will do.", _MUST)
        elif window.order_by is not None and window.order_by < case.today:
            message = f"{name} was to be ordered by {case.spoken.day(window.order_by)}."
            yield Problem(case.place, "order-late", message, "See whether it can still be made in time.")
        if wanted is not None and window.ships_from is not None and wanted < window.ships_from:
            by, begin = case.spoken.day(wanted), case.spoken.day(window.ships_from)
            message = f"it is wanted by {by}, and {name} ships from {begin}."
            yield Problem(case.place, "order-late", message, "Ask whether later will do.")


def _day(text: str) -> datetime.date | None:
    """Return the day that a form states as spreadsheets do; a day in words is for its reader."""
    try:
        return datetime.date.fromisoformat(text.strip()[: len("2027-02-28")])
    except ValueError:
        return None


def is_refused(case: OrderCase) -> bool:
    """Whether an order is not confirmed at all, as more is ordered than is on hand and the terms refuse that."""
    return case.sheet.terms.beyond_stock == "refuse" and any(lacking(case.order))


def _stock(case: OrderCase, shop: Shop) -> Iterator[Problem]:
    """Yield what is ordered beyond the stock; it stops the order unless the terms confirm it all the same."""
    level = Level.LOOK_AT if case.sheet.terms.beyond_stock == "confirm" else _MUST
    for lack in lacking(case.order):
        if isinstance(lack.of, Pack):
            message = f"{lack.of.name} is needed {lack.ordered} times, {lack.on_hand} are on hand."
            hint = f"Get {lack.ordered - lack.on_hand} more before it ships."
            yield Problem(pack_place(shop, lack.of), "order-stock", message, hint, level)
            continue
        message = f"{times(lack.ordered, 'piece')} of {lack.of.code} are ordered, {lack.on_hand} are on hand."
        hint = f"Make {lack.ordered - lack.on_hand} more before it ships."
        yield Problem(item_place(shop, lack.of, "on_hand"), "order-stock", message, hint, level)
