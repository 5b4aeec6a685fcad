"""What a season came to: what went of its sets and where, what each set left, and what is left on the shelf.

The year around a season's days is its own: shops are sent goods before it begins, and some come back when it is over.
So each movement of a set belongs to one run of the season. What something leaves is judged by what was scarce: what is
kept of one, divided by what one takes of it (contribution per limiting factor; common teaching, from memory).
"""

import datetime
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from listkit.compute.catalog import SetFacts, Variant
from listkit.compute.movements import Goods, sets_moved, standing
from listkit.model.movements import MESSAGE_CARD, SIGNS, MoveKind, StockMove, pack_code
from listkit.model.settings import Season
from listkit.model.shop import Shop

NOTHING: Final = Decimal(0)
_HALF_YEAR: Final = datetime.timedelta(182)
_WENT: Final[dict[MoveKind, int]] = {"sold": 1, "sent": 1, "came back": -1}
_SCARCE: Final = Fraction(1, 10)  # of what went: less than that is left of what was scarce. Common practice, no source


# Days


def year_around(season: Season) -> tuple[datetime.date, datetime.date]:
    """Return the first and last day of the year that has the season in its middle.

    >>> season = Season(name="winter", on_sale=datetime.date(2026, 12, 1), off_sale=datetime.date(2026, 12, 31))
    >>> [str(day) for day in year_around(season)]
    ['2026-06-17', '2027-06-16']
    """
    first = season.on_sale + (season.off_sale - season.on_sale) / 2 - _HALF_YEAR
    return first, years_later(first, 1) - datetime.timedelta(1)


def years_later(day: datetime.date, years: int) -> datetime.date:
    """Return the same day of another year; 29 February is 28 where there is none.

    >>> str(years_later(datetime.date(2028, 2, 29), 1))
    '2029-02-28'
    """
    return months_later(day, 12 * years)


def months_later(day: datetime.date, months: int) -> datetime.date:
    """Return the same day some months later, the last of the month where that has no such day.

    >>> str(months_later(datetime.date(2026, 8, 31), 30)), str(months_later(datetime.date(2026, 1, 31), 1))
    ('2029-02-28', '2026-02-28')
    """
    month = day.year * 12 + day.month - 1 + months
    first = datetime.date(month // 12, month % 12 + 1, 1)
    after = datetime.date((month + 1) // 12, (month + 1) % 12 + 1, 1)
    return min(first + datetime.timedelta(day.day - 1), after - datetime.timedelta(1))


# What went


@dataclass(frozen=True, slots=True)
class Gone:
    """So many of a variant that went on a day, less than none where they came back; `note` names a shop's order."""

    code: str
    place: str
    day: datetime.date
    note: str
    number: int


def gone_of(moves: Sequence[StockMove], goods: Goods, codes: frozenset[str]) -> tuple[Gone, ...]:
    """Return what went of these variants, by place, day and order; moves are by today's codes."""
    groups: defaultdict[tuple[datetime.date, str, MoveKind, str], list[StockMove]] = defaultdict(list)
    for move in moves:
        if move.set in codes and move.kind in _WENT:
            groups[move.day, move.place, move.kind, move.note].append(move)
    return tuple(
        Gone(code, place, day, note, _WENT[kind] * number)
        for (day, place, kind, note), alike in sorted(groups.items(), key=lambda group: group[0])
        for code, number in sets_moved(alike, goods).items()
    )


def pieces_gone(moves: Iterable[StockMove], first: datetime.date, last: datetime.date) -> Counter[str]:
    """Return how many of each code left in these days, whatever for; what came back is taken off."""
    left: Counter[str] = Counter()
    for move in moves:
        if first <= move.day <= last and (SIGNS.get(move.kind, 0) < 0 or move.kind == "came back"):
            left[move.code] -= move.change
    return left


def scarcest(codes: Iterable[str], free: Mapping[str, int], left: Mapping[str, int]) -> str:
    """Return the code of which least is free against what went, "" where more than a tenth is left of each.

    >>> scarcest(["A", "B"], {"A": 1, "B": 30}, {"A": 40, "B": 40})
    'A'
    """
    went = [code for code in codes if code in free and left.get(code, 0) > 0]
    shares = [(Fraction(max(0, free[code]), left[code]), code) for code in went]
    share, code = min(shares, default=(_SCARCE, ""))
    return code if share < _SCARCE else ""


# What was worth making


@dataclass(frozen=True, slots=True)
class Use:
    """A way to use something scarce: what is kept of one, how much one takes, how many are asked for at most."""

    name: str
    kept: Decimal
    takes: Decimal
    most: int | None = None

    @property
    def per(self) -> Fraction | None:
        """What is kept for each unit of what is scarce; None where it takes none of it."""
        return Fraction(self.kept) / Fraction(self.takes) if self.takes else None


def best_first(uses: Iterable[Use]) -> tuple[Use, ...]:
    """Return the uses by what each unit of what is scarce leaves; those that take none of it last.

    >>> [use.name for use in best_first([Use("A", Decimal(10), Decimal("2.5")), Use("B", Decimal(6), Decimal(1))])]
    ['B', 'A']
    """
    return tuple(sorted(uses, key=lambda use: (use.per is None, -(use.per or 0), -use.kept, use.name)))


def shared_out(uses: Iterable[Use], there: Decimal) -> tuple[tuple[Use, int], ...]:
    """Return how many of each to make of what is there, the best first, in whole numbers and no more than is asked.

    What leaves nothing, or takes nothing of it, is left out: it is no question of what is scarce.

    >>> made = shared_out([Use("A", Decimal(24), Decimal(8)), Use("B", Decimal(50), Decimal(10))], Decimal(1200))
    >>> [(use.name, number) for use, number in made]
    [('B', 120)]
    """
    made = []
    for use in best_first(uses):
        if use.takes > 0 and use.kept > 0:
            number = int(there // use.takes)
            number = number if use.most is None else min(number, use.most)
            there -= number * use.takes
            made += [(use, number)] if number else []
    return tuple(made)


@dataclass(frozen=True, slots=True)
class Sold:
    """What went of a variant, with what one brought and left; `known` says that the ledger has that price."""

    gone: Gone
    price: Decimal
    kept: Decimal
    known: bool


@dataclass(frozen=True, slots=True)
class PlaceWorth:
    """What a place took: how many, the money that came in, what was kept of it."""

    place: str
    number: int
    takings: Decimal
    kept: Decimal


@dataclass(frozen=True, slots=True)
class ScarceUse:
    """Of a set's variants that took of what was scarce: how many went, pieces of it in them, what was kept of them."""

    number: int = 0
    pieces: int = 0
    kept: Decimal = NOTHING


@dataclass(frozen=True, slots=True)
class SetWorth:
    """What a set was worth making: how many went, takings, what was kept, minutes of packing, what was scarce in it.

    `by_place` has the most kept first.
    """

    facts: SetFacts
    number: int
    takings: Decimal
    kept: Decimal
    minutes: Decimal
    scarce: ScarceUse
    by_place: tuple[PlaceWorth, ...]

    @property
    def each(self) -> Decimal | None:
        """What was kept of one."""
        return self.kept / self.number if self.number else None

    @property
    def per_hour(self) -> Decimal | None:
        """What was kept for each hour of packing, None where packing takes no time."""
        return self.kept * 60 / self.minutes if self.minutes else None

    @property
    def per_scarce(self) -> Decimal | None:
        """What was kept for each piece of what was scarce, None where it took none."""
        return self.scarce.kept / self.scarce.pieces if self.scarce.pieces else None

    @property
    def code(self) -> str:
        """The code of the set."""
        return self.facts.code


def set_worth(facts: SetFacts, sold: Iterable[Sold], goods: Goods, scarce: str) -> SetWorth:
    """Return what a set was worth; `sold` are of its variants, `scarce` is the code of what was scarce, "" for none."""
    variants: Mapping[str, Variant] = {variant.code: variant for variant in facts.variants}
    places: dict[str, tuple[int, Decimal, Decimal]] = {}
    minutes, using = NOTHING, ScarceUse()
    for each in sold:
        number, box = each.gone.number, variants[each.gone.code].box
        before = places.get(each.gone.place, (0, NOTHING, NOTHING))
        brought, kept = before[1] + number * each.price, before[2] + number * each.kept
        places[each.gone.place] = before[0] + number, brought, kept
        minutes += box.minutes * number if box else NOTHING
        if pieces := number * dict(goods.parts[each.gone.code]).get(scarce, 0):
            using = ScarceUse(using.number + number, using.pieces + pieces, using.kept + number * each.kept)
    by_place = [PlaceWorth(place, *sums) for place, sums in places.items()]
    return SetWorth(
        facts=facts,
        number=sum(each.number for each in by_place),
        takings=sum((each.takings for each in by_place), NOTHING),
        kept=sum((each.kept for each in by_place), NOTHING),
        minutes=minutes,
        scarce=using,
        by_place=tuple(sorted(by_place, key=lambda each: (-each.kept, each.place))),
    )


def ranked(worths: Sequence[SetWorth], scarce: str) -> tuple[SetWorth, ...]:
    """Return the sets, those worth most first: by each piece of what was scarce, else by each hour of packing."""
    by_code = {each.code: each for each in worths}
    uses = [
        Use(each.code, each.scarce.kept, Decimal(each.scarce.pieces))
        if scarce
        else Use(each.code, each.kept, each.minutes)
        for each in worths
    ]
    sold = [use for use in best_first(uses) if by_code[use.name].number]
    return (*(by_code[use.name] for use in sold), *(each for each in worths if not each.number))


# What is left: what it cost, and how long it keeps


def costs_of(shop: Shop) -> dict[str, Decimal]:
    """Return what one of each code costs, packs by their codes in movements."""
    costs = {item.code: item.cost.amount for item in shop.items}
    for box in shop.packaging.boxes:
        costs[pack_code("box", box.code)] = box.cost.amount
        costs[pack_code("fill", box.code)] = box.fill.cost.amount if box.fill else NOTHING
    costs[MESSAGE_CARD] = shop.packaging.card.cost.amount if shop.packaging.card else NOTHING
    return costs


@dataclass(frozen=True, slots=True)
class Keeps:
    """Until when something keeps: `until` is None where nobody can know, and `why` then says what is missing.

    `at_most` says that the oldest of it was there before anything was written down, so that it is older than that.
    """

    until: datetime.date | None = None
    at_most: bool = False
    why: str = ""


def keeps_until(moves: Iterable[StockMove], number: int, months: int | None, counted_on: datetime.date | None) -> Keeps:
    """Return until when the oldest of what is left keeps: the oldest goes first, so it is of the last that were made.

    Args:
        moves: all of the one code.
        number: how many are left.
        months: how long one keeps from making.
        counted_on: the first count, by which time the rest was there.
    """
    if months is None:
        return Keeps(why="the sheet has no shelf life for it")
    made = sorted((move.day, move.quantity) for move in standing(moves) if move.kind == "made")
    for day, quantity in reversed(made):
        number -= quantity
        if number <= 0:
            return Keeps(months_later(day, months))
    if counted_on is None:
        return Keeps(why="no line of movements.csv says when it was made")
    return Keeps(months_later(counted_on, months), at_most=True)
