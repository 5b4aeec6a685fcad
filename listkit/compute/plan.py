"""The make list: what is short of the plan and of shop orders, in batches, by the days on which hands work.

Stock goes to what is wanted first. A batch is poured as late as it may be: curing runs through holidays, pouring and
wrapping fall on working days. An item that another is made with is wanted when that one is poured. All is exact;
batches are rounded up, and what is left of one serves what is wanted next.
"""

import datetime
import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from itertools import chain, groupby
from typing import Final

from listkit import bounds
from listkit.compute.catalog import Catalog
from listkit.compute.costs import Recipes, Taken
from listkit.compute.movements import goods_of, sheet_stock, standing
from listkit.compute.season_plan import Advice, SoldAlready, SoldSoFar, advice_of
from listkit.compute.working_days import Week, WorkDays, moved
from listkit.model.fields import Status
from listkit.model.item import Item
from listkit.model.making import Material, PlanRow
from listkit.units.table import UnitKind

LABEL: Final = "label"
"""The material of which every boxed set takes one, where materials.csv has it."""
ORDERS: Final = "shop orders"
PLANNED: Final = bounds.PLANNED


# What is wanted.


@dataclass(frozen=True, slots=True)
class Wanted:
    """A row of the plan: so many of a code at a place by a day; `line` is that of plan.csv, 0 of shop orders."""

    line: int
    code: str
    name: str
    place: str
    by: datetime.date
    quantity: int
    advice: Advice | None = None


@dataclass(frozen=True, slots=True)
class Make:
    """So many batches of one item, to be poured by a day.

    `wanted` are the lines of the plan that it is for. `earliest` is when it can be ready, where it is too late to be so
    by the day; `start_by` is when the first step had to be taken, an order of materials or the pouring.
    """

    code: str
    name: str
    short: int
    batches: int
    pieces: int
    hours: Decimal
    by: datetime.date
    pour_by: datetime.date | None
    ready_on: datetime.date | None
    start_by: datetime.date | None
    wanted: tuple[int, ...]
    late: bool = False
    earliest: datetime.date | None = None


@dataclass(frozen=True, slots=True)
class Coming:
    """Pieces that are poured and not made yet, and the day on which they are ready."""

    code: str
    name: str
    pieces: int
    poured: datetime.date
    ready_on: datetime.date


@dataclass(frozen=True, slots=True)
class Buy:
    """So much of something to get: what is needed and there, in the base unit of its kind; how many packs as bought.

    `counted` says whether anybody says what is there. `price` is what all of it costs, None where that is not known.
    """

    name: str
    kind: UnitKind
    needed: Fraction
    there: Fraction
    by: datetime.date
    days: int | None
    unit: str = ""
    packs: int | None = None
    price: Fraction | None = None
    counted: bool = True

    @property
    def short(self) -> Fraction:
        """What is missing."""
        return self.needed - self.there

    @property
    def order_by(self) -> datetime.date:
        """The day by which it must be ordered."""
        return moved(self.by, -(self.days or 0))


@dataclass(frozen=True, slots=True)
class ClosedDay:
    """A closed day, and what it moves: code of an item, pour by with it, pour by without it."""

    day: datetime.date
    moves: tuple[tuple[str, datetime.date, datetime.date], ...]


@dataclass(frozen=True, slots=True)
class MakePlan:
    """The whole make list; `no_work` is a day for which no working day could be found.

    `sold` is what places have sold already of what rows ask for, which is taken off; `coming` what is poured already;
    `closed_unseen` is the closed day from which on not all that is poured was looked at, None where all was;
    `left_out` are the lines of rows whose goods are left out of the shop, as their cost is not known; `beyond` those
    of rows with which the plan comes to more than is reckoned with.
    """

    wanted: tuple[Wanted, ...] = ()
    makes: tuple[Make, ...] = ()
    buys: tuple[Buy, ...] = ()
    weeks: tuple[Week, ...] = ()
    closed: tuple[ClosedDay, ...] = ()
    closed_unseen: datetime.date | None = None
    past: tuple[int, ...] = ()
    sold: tuple[SoldAlready, ...] = ()
    coming: tuple[Coming, ...] = ()
    left_out: tuple[int, ...] = ()
    beyond: tuple[int, ...] = ()
    no_work: datetime.date | None = None

    @property
    def late(self) -> tuple[Make, ...]:
        """What can no longer be met."""
        return tuple(make for make in self.makes if make.late)


@dataclass(frozen=True, slots=True)
class _Need:
    """So many pieces of something by a day, for a line of the plan."""

    by: datetime.date
    pieces: int
    line: int


Needs = dict[str, list[_Need]]


def _sure(pieces: Fraction) -> Fraction:
    """Return how many pieces of a batch are counted on: whole ones, and where less than one turns out good that part.

    >>> _sure(Fraction(114, 5)), _sure(Fraction(1, 2))
    (Fraction(22, 1), Fraction(1, 2))
    """
    return Fraction(math.floor(pieces)) if pieces >= 1 else pieces


def make_plan(catalog: Catalog, today: datetime.date) -> MakePlan:
    """Return the make list of a shop on a day; rows whose day has passed are `past`."""
    return _Planning(catalog, today).plan()


def _asked(row: PlanRow) -> int:
    """Return how many a row asks for, 0 where it does not say."""
    advice = advice_of(row)
    return row.how_many if row.how_many is not None else (advice.quantity if advice else None) or 0


class _Planning:
    """Gathers needs, then goes through items, those that others are made with last."""

    def __init__(self, catalog: Catalog, today: datetime.date) -> None:
        shop = catalog.shop
        self.shop, self.goods, self.today = shop, goods_of(catalog), today
        self.variants = {variant.code: variant for facts in catalog.sets for variant in facts.variants}
        self.moved: dict[tuple[str, str], list[tuple[datetime.date, int]]] = defaultdict(list)
        for move in standing(shop.movements.moves) if shop.making else ():
            self.moved[move.kind, shop.old_codes(move.code)].append((move.day, move.quantity))
        self.in_sheet = sheet_stock(shop.items, shop.packaging)
        self.so_far = SoldSoFar(catalog, self.goods, today)
        self.sold: dict[int, SoldAlready] = {}
        self.coming: dict[str, list[Coming]] = {}
        self.closed_unseen: datetime.date | None = None
        self.days = WorkDays(shop.settings.workshop)
        self.recipes = Recipes(shop)
        self.items = self.recipes.items
        self.materials = {name: row for name, (_, row) in self.recipes.materials.items()}
        self.needs: Needs = defaultdict(list)
        self.hours: dict[datetime.date, Fraction] = defaultdict(Fraction)
        self.no_work: datetime.date | None = None

    def plan(self) -> MakePlan:
        coming = [(line, row) for line, row in self.shop.making.plan if row.by_when >= self.today]
        rows = list(self._within(coming))
        self._take_off(rows)
        wanted = [each for line, row in rows for each in self._wanted(line, row)]
        for each in wanted:
            self._need(each)
        wanted += self._orders()
        self.coming = {item.code: list(self._coming(item)) for item in self.shop.items}
        makes = [make for item in self._in_order() for make in self._makes(item)]
        buys, waits = self._buys(makes)
        makes = [self._judged(make, waits[at]) for at, make in enumerate(makes)]
        poured = sorted(chain.from_iterable(self.coming.values()), key=lambda part: (part.ready_on, part.code))
        return MakePlan(
            wanted=tuple(wanted),
            makes=tuple(sorted(makes, key=lambda make: (make.pour_by or make.by, make.code))),
            buys=tuple(sorted(buys, key=lambda buy: (buy.order_by, buy.name))),
            weeks=tuple(self.days.weeks(self.hours)),
            closed=tuple(self._closed(makes)),
            closed_unseen=self.closed_unseen,
            past=tuple(line for line, row in self.shop.making.plan if row.by_when < self.today),
            sold=tuple(self.sold[line] for line in sorted(self.sold)),
            coming=tuple(poured),
            left_out=tuple(line for line, row in rows if not self._codes(row.set_or_item)),
            beyond=tuple(line for line, _ in coming[len(rows) :]),
            no_work=self.no_work,
        )

    def _within(self, coming: Sequence[tuple[int, PlanRow]]) -> Iterator[tuple[int, PlanRow]]:
        """Yield the rows that are reckoned with: so many codes, and pieces by day; ten times as many pieces in all."""
        codes, parts, by_day = 0, 0, set[tuple[str, datetime.date]]()
        for line, row in coming:
            of_row = self._codes(row.set_or_item)
            codes += len(of_row)
            parts += sum(len(self.goods.parts.get(code, ())) for code in of_row)
            if max(codes, parts // 10) <= PLANNED:
                by_day |= {(piece, row.by_when) for code in of_row for piece, _ in self.goods.parts.get(code, ())}
            if max(codes, parts // 10, len(by_day)) > PLANNED:
                return
            yield line, row

    def _take_off(self, rows: Sequence[tuple[int, PlanRow]]) -> None:
        """Note what places have sold already, the rows that are wanted first before all."""
        for line, row in sorted(rows, key=lambda each: each[1].by_when):
            sold = self.so_far.take(line, row, self._codes(row.set_or_item), _asked(row))
            if sold is not None:
                self.sold[line] = sold

    def _wanted(self, line: int, row: PlanRow) -> Iterator[Wanted]:
        """Yield what a row asks for: of a set with choices so many of each variant, evenly."""
        advice, codes = advice_of(row), self._codes(row.set_or_item)
        quantity = self.sold[line].wanted if line in self.sold else _asked(row)
        for at, code in enumerate(codes):
            share = quantity // len(codes) + (at < quantity % len(codes))
            if share:
                name = self.goods.names.get(code, code)
                said = advice if not at else None
                yield Wanted(line, code, name, row.place, by=row.by_when, quantity=share, advice=said)

    def _codes(self, code: str) -> tuple[str, ...]:
        if code in self.goods.parts:
            return (code,)
        group = self.goods.groups.get(code, ())
        return tuple(each for each in group if self.variants[each].status is not Status.CLOSED) or group

    def _need(self, wanted: Wanted) -> None:
        """Add what a row needs: pieces, boxes and cards by the day on which they are packed."""
        variant, by = self.variants.get(wanted.code), wanted.by
        if variant is not None and variant.box is not None:
            by = self._worked(by)
            minutes = variant.box.minutes * wanted.quantity
            self.hours[by] += Fraction(minutes) / 60
            if LABEL in self.materials:
                self.needs[LABEL].append(_Need(by, wanted.quantity, wanted.line))
        for code, number in self.goods.parts.get(wanted.code, ()):
            self.needs[code].append(_Need(by, number * wanted.quantity, wanted.line))

    def _worked(self, day: datetime.date) -> datetime.date:
        """Return the last working day until a day; that day itself where there is none."""
        worked = self.days.last(day)
        self.no_work = self.no_work or (day if worked is None else None)
        return worked or day

    def _orders(self) -> list[Wanted]:
        """Return what shops ordered and is not there: by the day from which it is sent."""
        figures = self.shop.stock.figures.values() if self.shop.stock else ()
        window = self.shop.wholesale.window if self.shop.wholesale else None
        days = (window.ships_from, window.ships_until) if window else ()
        by = next((day for day in days if day is not None and day >= self.today), self.today)
        wanted = []
        for figure in figures:
            if figure.reserved > 0 and figure.free < 0:
                name = self.goods.names.get(figure.code, figure.code)
                wanted.append(Wanted(0, figure.code, name, ORDERS, by=by, quantity=figure.reserved))
                self.needs[figure.code].append(_Need(by, figure.reserved, 0))
        return wanted

    def _there(self, code: str) -> int | None:
        """Return how many pieces there are of an item or a pack; None where nobody counts them.

        What shops reserved is taken off, unless it is short and so is wanted itself.
        """
        figure = self.shop.stock.figures.get(code) if self.shop.stock else None
        if figure is not None:
            return max(0, figure.on_hand if figure.reserved > 0 and figure.free < 0 else figure.free)
        return self.in_sheet.get(code)

    # what is made

    def _in_order(self) -> list[Item]:
        """Return the items that may have to be made, each before those that it is made with."""
        order: dict[str, None] = {}

        def visit(code: str, way: tuple[str, ...]) -> None:
            if code in order or code in way:
                return
            for taken in self.recipes.leaves(code):
                if taken.material is None:
                    visit(taken.name, (*way, code))
            order[code] = None

        for item in self.shop.items:
            visit(item.code, ())
        return [self.items[code] for code in reversed(order)]

    def _coming(self, item: Item) -> Iterator[Coming]:
        """Yield what is poured and not made yet; nothing of a batch once something is made on its ready day or later.

        What was made before is of those poured first.
        """
        poured, made = (sorted(self.moved[kind, item.code]) for kind in ("poured", "made"))
        way, last = self.recipes.way_of(item), max(made, default=(datetime.date.min, 0))[0]
        early = sum(number for day, number in made if poured and day >= poured[0][0])
        for day, number in poured:
            finished = min(number, early)
            early -= finished
            ready_on = self.days.ready(day, way)
            if ready_on is not None and ready_on > last and number > finished:
                ready_on = max(ready_on, self.today)
                yield Coming(item.code, self.goods.names[item.code], number - finished, day, ready_on)

    def _makes(self, item: Item) -> Iterator[Make]:
        """Yield the batches of an item, a day at a time, and add what they need of other items."""
        needs = sorted(self.needs.get(item.code, ()), key=lambda need: need.by)
        way = self.recipes.way_of(item)
        good = _sure(way.pieces) if way.batch else Fraction(0)
        left, coming = self._there(item.code) or 0, self.coming[item.code]
        for by, on_the_day in groupby(needs, key=lambda need: need.by):
            of_day = list(on_the_day)
            left += sum(part.pieces for part in coming if part.ready_on <= by)
            coming = [part for part in coming if part.ready_on > by]
            left -= sum(need.pieces for need in of_day)
            if left >= 0 or not good:
                continue
            batches = math.ceil(-left / good)
            made = math.floor(batches * good)
            short, left = -left, left + made
            pour_by = self.days.pour_by(by, way)
            self.no_work = self.no_work or (by if pour_by is None else None)
            ready_on = self.days.ready(pour_by, way) if pour_by else None
            hours = way.hours * batches
            if pour_by is not None:
                self.hours[pour_by] += Fraction(hours)
            make = Make(
                code=item.code, name=self.goods.names[item.code], short=short, batches=batches, pieces=made,
                hours=hours, by=by, pour_by=pour_by, ready_on=ready_on, start_by=pour_by,
                wanted=tuple(sorted({need.line for need in of_day})),
            )  # fmt: skip
            for taken in self._takes(make):
                if taken.material is None:
                    pieces = math.ceil(taken.size)
                    self.needs[taken.name].append(_Need(pour_by or by, pieces, of_day[0].line))
            yield make

    def _takes(self, make: Make) -> Iterator[Taken]:
        """Yield what batches take of materials and other items, the item's own packaging with them."""
        yield from self.recipes.leaves(make.code, Fraction(make.batches))
        packed = self.recipes.container(self.items[make.code])
        if packed is not None:
            yield Taken(packed[1].material, UnitKind.COUNT, Fraction(make.pieces), packed[1])

    # what is bought

    def _buys(self, makes: Sequence[Make]) -> tuple[list[Buy], list[int]]:
        """Return what to get, and of each of `makes` the most days that something for it takes to come."""
        waits, buys = [0] * len(makes), list[Buy]()
        uses: dict[str, list[tuple[datetime.date, int, Fraction]]] = defaultdict(list)
        for at, make in enumerate(makes):
            for taken in self._takes(make):
                if taken.material is not None:
                    uses[taken.name].append((make.pour_by or make.by, at, taken.size))
        made = {make.code for make in makes}
        for code, needs in self.needs.items():
            if code not in made and (code not in self.items or not self.recipes.way_of(self.items[code]).batch):
                uses[code] += [(need.by, -1, Fraction(need.pieces)) for need in needs]
        for name, parts in uses.items():
            buy, waiting = self._buy(name, sorted(parts))
            buys += [buy] if buy is not None else []
            for at in waiting:
                waits[at] = max(waits[at], buy.days or 0 if buy else 0)
        return buys, waits

    def _buy(self, name: str, parts: list[tuple[datetime.date, int, Fraction]]) -> tuple[Buy | None, list[int]]:
        """Return what to get of one thing, None where all is there; and which makes wait for it."""
        material = self.materials.get(name)
        stated = self._stated(name, material)
        left = there = stated or Fraction(0)
        first: datetime.date | None = None
        waiting = []
        for by, at, size in parts:
            left -= size
            if left < 0:
                first = first or by
                waiting += [at] if at >= 0 else []
        if first is None or (material is not None and material.price is not None and not material.price.amount):
            return None, []  # all is there, or it is had for nothing, as water is
        needed = sum((size for _, _, size in parts), Fraction(0))
        buy = Buy(
            name=self.goods.names.get(name, name), kind=material.unit.kind if material else UnitKind.COUNT,
            needed=needed, there=there, by=first, days=material.days_to_get if material else None,
            counted=stated is not None,
        )  # fmt: skip
        if material is None:
            return buy, waiting
        whole = material.unit.kind is UnitKind.COUNT or material.unit.text[:1].isdigit()
        packs = math.ceil(buy.short / Fraction(material.unit.size)) if whole else None
        amount = packs if packs is not None else buy.short / Fraction(material.unit.size)
        price = Fraction(material.price.amount) * amount if material.price is not None else None
        return replace(buy, unit=material.unit.text, packs=packs, price=price), waiting

    def _stated(self, name: str, material: Material | None) -> Fraction | None:
        """Return what is there or on its way, in the base unit; None where nobody says.

        Boxes and cards go by packaging.toml.
        """
        there = self._there(name)
        if there is not None or material is None:
            return None if there is None else Fraction(there)
        stated = [amount for amount in (material.on_hand, material.on_its_way) if amount is not None]
        sizes = (Fraction(each.size) * (Fraction(material.unit.size) if each.bare else 1) for each in stated)
        return sum(sizes, Fraction(0)) if stated else None

    # whether it can be met

    def _judged(self, make: Make, wait: int) -> Make:
        """Return a make with the day by which its first step is due, and whether that has passed."""
        if make.pour_by is None:
            return make
        start_by = moved(make.pour_by, -wait)
        if start_by >= self.today:
            return replace(make, start_by=start_by)
        poured = self.days.first(moved(self.today, wait))
        way = self.recipes.way_of(self.items[make.code])
        earliest = self.days.ready(poured, way) if poured is not None else None
        return replace(make, start_by=start_by, late=True, earliest=earliest)

    def _closed(self, makes: Sequence[Make]) -> Iterator[ClosedDay]:
        """Yield the closed days that move a pouring, and where to; of very many that might the first ones."""
        left = bounds.CLOSED_MOVES
        for day in sorted(self.days.closed):
            if day < self.today or day.weekday() not in self.days.weekdays:
                continue
            within = [make for make in makes if make.pour_by is not None and make.pour_by < day <= make.by]
            if len(within) > left and self.closed_unseen is None:
                self.closed_unseen = day
            within = within[:left]
            left -= len(within)
            without = WorkDays(self.shop.settings.workshop, frozenset((day,))) if within else self.days
            moves = []
            for make in within:
                pour_by = without.pour_by(make.by, self.recipes.way_of(self.items[make.code]))
                if make.pour_by is not None and pour_by is not None and pour_by != make.pour_by:
                    moves.append((make.code, make.pour_by, pour_by))
            if moves:
                yield ClosedDay(day, tuple(sorted(moves)))
