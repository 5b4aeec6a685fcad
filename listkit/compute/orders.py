"""An order in figures: what each line costs on its version of the sheet, what is short of cases, minimums and stock.

Pure, and by the same rules as the formulas of the order form: prices by all that is ordered of an entry, cases over the
entry where they may be mixed, one display set to a set that is ordered. A display set of several things is free from
the worth of all other lines that it states.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from itertools import accumulate
from typing import Final

from listkit.compute.catalog import Pack
from listkit.compute.given_out import LinePrices, PriceBook
from listkit.compute.wholesale import Sheet, SheetEntry, SheetGroup, SheetLine
from listkit.model.item import Item
from listkit.model.movements import pack_code
from listkit.model.wholesale import OrderForm, Tier
from listkit.units.money import Money


@dataclass(frozen=True, slots=True)
class OrderLine:
    """So many of one code; `line` is None for a display set. `each` and `total` are in the currency of the sheet."""

    code: str
    group: SheetGroup
    entry: SheetEntry
    line: SheetLine | None
    quantity: int
    each: Money
    total: Money

    @property
    def at_no_cost(self) -> "OrderLine":
        """The line as a gift."""
        return replace(self, each=self.each * 0, total=self.total * 0)


@dataclass(frozen=True, slots=True)
class Short:
    """What is missing of cases or a minimum: `codes` are counted together."""

    codes: tuple[str, ...]
    ordered: int
    missing: int
    of: int
    case: bool


@dataclass(frozen=True, slots=True)
class Lacking:
    """More pieces of an item are ordered than are on hand; or more boxes, fills or cards."""

    of: Item | Pack
    ordered: int
    on_hand: int


@dataclass(frozen=True, slots=True)
class Order:
    """All that can be confirmed, in the order of the sheet; `strange` are codes that the sheet has not.

    `held` is what is put by for it already, by the codes of movements, and so on hand for nobody else.
    """

    version: str
    lines: tuple[OrderLine, ...]
    strange: tuple[str, ...]
    total: Money
    held: tuple[tuple[str, int], ...] = ()

    @property
    def pieces(self) -> int:
        """How many are ordered, display sets left out."""
        return sum(line.quantity for line in self.lines if line.line is not None)

    @property
    def sets(self) -> int:
        """How many sets are ordered."""
        return sum(line.quantity for line in self.lines if line.line is not None and line.entry.is_set)


def by_codes(form: OrderForm, sheet: Sheet) -> OrderForm:
    """Return the form with our codes where it names lines by their GTINs, which the sheet states too."""
    codes = {line.gtin: line.code for entry in sheet.entries for line in entry.lines if line.gtin}
    return replace(form, rows=tuple(replace(row, code=codes.get(row.code, row.code)) for row in form.rows))


def quantities_of(form: OrderForm) -> dict[str, int]:
    """Return how many of each code are wanted; what is no number is left out, what stands twice is added up."""
    wanted: Counter[str] = Counter()
    for row in form.rows:
        if row.quantity is not None:
            wanted[row.code] += row.quantity
    return dict(wanted)


def build_order(sheet: Sheet, book: PriceBook, wanted: Mapping[str, int], displays: Mapping[str, str]) -> Order:
    """Return the order at the prices of a version.

    Args:
        sheet: today's sheet: what can be ordered, and how many at a time.
        book: the prices of the version that was ordered by.
        wanted: how many of each code.
        displays: the code of each entry's display set, by the entry's code.
    """
    prices = dict(book.prices)
    lines: list[OrderLine] = []
    free_from = sheet.terms.display.free_from if sheet.terms.display else None
    sets = sum(wanted.get(line.code, 0) for entry in sheet.entries if entry.is_set for line in entry.lines)
    goods, summed = Decimal(0), 0  # the worth of the lines so far, and how many of them are in it
    for group in sheet.groups:
        for entry in group.entries:
            goods += sum((one.total.amount for one in lines[summed:] if not one.entry.holds), Decimal(0))
            summed = len(lines)
            free = entry.free_from is not None and goods >= entry.free_from.amount
            lines += (one.at_no_cost if free else one for one in _entry_lines(group, entry, prices, wanted))
            code = displays.get(entry.code, "")
            if (number := wanted.get(code, 0)) and entry.display is not None and code in prices:
                amount = Decimal(0) if free_from is not None and sets >= free_from else prices[code].wholesale
                each = Money(amount, sheet.currency).rounded(ROUND_HALF_UP)
                lines.append(OrderLine(code, group, entry, line=None, quantity=number, each=each, total=each * number))
    known = {line.code for line in lines}
    strange = tuple(code for code in wanted if code not in known)
    return Order(book.version, tuple(lines), strange, _total(lines, sheet.currency))


def _total(lines: Iterable[OrderLine], currency: str) -> Money:
    return Money(sum((one.total.amount for one in lines), Decimal(0)), currency).rounded(ROUND_HALF_UP)


def book_of(sheet: Sheet, version: str, displays: Mapping[str, str]) -> PriceBook:
    """Return the prices that a sheet has now; `displays` are the codes of display sets by their entries'."""
    starts = tuple(tier.start for tier in sheet.tiers)
    prices: list[tuple[str, LinePrices]] = []
    for entry in sheet.entries:
        for line in entry.lines:
            lower = tuple(zip(starts, (price.amount for price in line.tiers), strict=True))
            prices.append((line.code, LinePrices(line.wholesale.amount, lower)))
        if entry.display is not None:
            prices.append((displays[entry.code], LinePrices(entry.display.amount)))
    return PriceBook(version, sheet.terms.valid_until, tuple(prices))


def _entry_lines(
    group: SheetGroup, entry: SheetEntry, prices: Mapping[str, LinePrices], wanted: Mapping[str, int]
) -> Iterator[OrderLine]:
    """Yield the lines of one entry that are wanted, each at the price that all of them together reach."""
    together = sum(wanted.get(line.code, 0) for line in entry.lines)
    for line in entry.lines:
        if (number := wanted.get(line.code, 0)) and line.code in prices:
            each = Money(prices[line.code].each(together), line.wholesale.currency)
            yield OrderLine(
                code=line.code,
                group=group,
                entry=entry,
                line=line,
                quantity=number,
                each=each,
                total=(each * number).rounded(ROUND_HALF_UP),
            )


def shorts(order: Order) -> Iterator[Short]:
    """Yield what is missing of minimums and cases, an entry or a line at a time, as it is packed."""
    by_entry: dict[str, list[OrderLine]] = {}
    for one in order.lines:
        if one.line is not None:
            by_entry.setdefault(one.entry.code, []).append(one)
    for lines in by_entry.values():
        packs = lines[0].entry.packs
        counted = [lines] if packs.together else [[one] for one in lines]
        for together in counted:
            ordered, codes = sum(one.quantity for one in together), tuple(one.code for one in together)
            if packs.least and ordered < packs.least:
                yield Short(codes, ordered, packs.least - ordered, packs.least, case=False)
            if packs.case and (rest := ordered % packs.case):
                yield Short(codes, ordered, packs.case - rest, packs.case, case=True)


def odd_displays(order: Order) -> Iterator[OrderLine]:
    """Yield display sets that there are too many of: one goes with each set that is ordered."""
    ordered = {one.entry.code for one in order.lines if one.line is not None}
    for one in order.lines:
        if one.line is None and (one.quantity > 1 or one.entry.code not in ordered):
            yield one


def with_own_displays(order: Order) -> Order:
    """Return the order with one display set at most to each set that is ordered, and no other; its total follows."""
    ordered = {one.entry.code for one in order.lines if one.line is not None}
    lines = tuple(
        one if one.line is not None else replace(one, quantity=1, total=one.each)
        for one in order.lines
        if one.entry.code in ordered
    )
    return replace(order, lines=lines, total=_total(lines, order.total.currency))


def takes(order: Order) -> Iterator[tuple[Item | Pack, int]]:
    """Yield the items, then the packs, that an order takes, each once with how many.

    Display sets of one set hold dummies, and are boxed all the same; those of several things hold these.
    """
    needed: Counter[str] = Counter()
    items: dict[str, Item] = {}
    packed: Counter[Pack] = Counter()
    for one in order.lines:
        for piece in one.line.pieces if one.line else ():
            needed[piece.item.code] += piece.quantity * one.quantity
            items[piece.item.code] = piece.item
        for pack, number in (one.line or one.entry.lines[0]).packs:  # a display set of one set is boxed as the set is
            packed[pack] += number * one.quantity
    yield from ((items[code], number) for code, number in needed.items())
    yield from packed.items()


def lacking(order: Order) -> Iterator[Lacking]:
    """Yield the items, then the packs, of which more are ordered than are on hand, where that is known."""
    held = dict(order.held)
    for of, number in takes(order):
        code = of.code if isinstance(of, Item) else pack_code(of.part, of.box)
        if of.on_hand is not None and number > (there := of.on_hand + held.get(code, 0)):
            yield Lacking(of, number, there)


def short_of(order: Order, least: Money | None) -> Money | None:
    """Return how much the order lies below a least sum; None where it reaches it, or there is none."""
    if least is None or order.total.amount >= least.amount:
        return None
    return Money(least.amount - order.total.amount, least.currency)


@dataclass(frozen=True, slots=True)
class Suggested:
    """Some of an entry in a suggested order: its line, how many, and what one of them costs."""

    entry: SheetEntry
    line: SheetLine
    quantity: int
    each: Money


@dataclass(frozen=True, slots=True)
class SuggestedOrder:
    """A first order that just meets the opening amount: its lines, their worth to us, and what they sell for."""

    lines: tuple[Suggested, ...]
    total: Money
    retail: Money


_MOST_ROUNDS: Final = 20  # of the whole sheet, until a suggested order meets the opening amount


def suggest_order(sheet: Sheet) -> SuggestedOrder | None:
    """Return a first order of full cases, in the order of the sheet, that just meets the opening amount.

    Entry by entry a buyer takes what shows it: each choice once, in full cases and no fewer than the minimum. As soon
    as one of those left reaches the amount, the one that does it for least is the last; then what the amount is met
    without is taken out again, the dearest first. None where there is no opening amount, or where no order meets it.
    """
    if sheet.terms.opening is None or not sheet.terms.opening.amount:
        return None
    least = sheet.terms.opening.amount
    entries = tuple(entry for entry in sheet.entries if not entry.holds)
    times, total = [0] * len(entries), Decimal(0)

    def more(at: int, by: int = 1) -> Decimal:
        """Return what an entry adds when it is taken once more, or once less."""
        before, after = (_worth(entries[at], count, sheet.tiers) for count in (times[at], times[at] + by))
        return after - before

    adds, most = list[Decimal](), list[Decimal]()
    for turn in range(_MOST_ROUNDS * len(entries)):
        at = turn % len(entries)
        if not at:  # each entry from the one whose turn it is on adds as much until it is taken
            adds = [more(each) for each in range(len(entries))]
            most = [*accumulate(reversed(adds), max)][::-1]
        ahead = range(at, len(entries)) if total + most[at] >= least else ()
        enough = [left for left in ahead if total + adds[left] >= least]
        last = min(enough, key=adds.__getitem__, default=at)
        total += adds[last]
        times[last] += 1
        if enough:
            for spared in sorted((at for at, count in enumerate(times) if count), key=lambda at: more(at, -1)):
                while times[spared] and total + more(spared, -1) >= least:
                    total += more(spared, -1)
                    times[spared] -= 1
            return _order_of(tuple((entries[at], count) for at, count in enumerate(times) if count), sheet)
    return None


def _worth(entry: SheetEntry, times: int, tiers: tuple[Tier, ...]) -> Decimal:
    """Return what so many times what shows an entry costs."""
    counts = [count * times for count in _shown(entry)]
    ordered = sum(counts)
    each = (unit_price(line, tiers, ordered).amount for line in entry.lines)
    return sum((price * count for price, count in zip(each, counts, strict=True)), Decimal(0))


def _shown(entry: SheetEntry) -> list[int]:
    """Return how many of each line show an entry: of lines that share a case, each once and the first ones more."""
    case, fewest = entry.packs.case or 1, entry.packs.least or 1
    if not entry.packs.together:
        return [-(-fewest // case) * case] * len(entry.lines)
    every = -(-max(fewest, len(entry.lines)) // case) * case
    whole, over = divmod(every, len(entry.lines))
    return [whole + (at < over) for at in range(len(entry.lines))]


def _order_of(taken: tuple[tuple[SheetEntry, int], ...], sheet: Sheet) -> SuggestedOrder:
    lines = []
    for entry, times in taken:
        counts = [count * times for count in _shown(entry)]
        ordered = sum(counts)
        lines += [
            Suggested(entry, line, count, unit_price(line, sheet.tiers, ordered))
            for line, count in zip(entry.lines, counts, strict=True)
        ]
    nothing = Money(Decimal(0), sheet.currency)
    total = sum((part.each * part.quantity for part in lines), nothing)
    return SuggestedOrder(tuple(lines), total, sum((part.line.retail * part.quantity for part in lines), nothing))


def unit_price(line: SheetLine, tiers: tuple[Tier, ...], quantity: int) -> Money:
    """Return what one costs when so many of its entry are ordered: the highest tier that they reach."""
    price = line.wholesale
    for tier, lower in zip(tiers, line.tiers, strict=True):
        if quantity >= tier.start:
            price = lower
    return price
