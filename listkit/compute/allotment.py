"""The allotment: which place gets how many of what, so that no piece, box, fill or card is promised twice.

What keeps most goes first, then, of several ways that keep as much, the one that gives the first place and code more.
Goods that take the same, keep the same and fall under the same wishes are one number until the end, so that a set of
fifty scents is as quick as its prices are few. The numbers are kept in a file; what is shown of them today is less
what a place has sold since, and never more than what is there.
"""

from bisect import bisect
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import ROUND_HALF_UP, Decimal
from functools import cached_property
from typing import Final, Literal

from listkit.compute.catalog import Catalog
from listkit.compute.movements import Goods, goods_of, sets_moved, sheet_stock
from listkit.compute.solver import LAST_STAYS, Answer, Effort, Limit, Programme, culprits, first_in_order, solve, worths
from listkit.model.allotment import SHOPS, Allotment, Allotted, AllottedRow, Wish
from listkit.model.channel import Channel
from listkit.model.movements import MoveKind, StockMove
from listkit.model.settings import Settings
from listkit.problem import BlockedError
from listkit.units.table import WIDE

Needs = tuple[tuple[str, int], ...]
"""What one of something takes of all that is counted, by the codes of movements."""
_TENTHS: Final = 100  # parts of a penny or cent in which what is kept counts by weights
_MOST_WEIGHT: Final = Decimal(10) ** 6  # of all wishes for one thing together; the solver counts in doubles
_SETTLED: Final = 5_000  # numbers up to which the best is looked for; of more a hundredth may stay open
_NODES: Final = 5_000_000  # of a search, shared by its numbers
_MORE: Final = 10
_MOST_SCARCE: Final = 5
# Lines that rows name as the last they know of; one beyond goes by an earlier one, and gets less.
_MOST_KNOWN: Final = 20
_TAKEN: Final[dict[str, int]] = {"sold": 1, "came back": -1}


@dataclass(frozen=True, slots=True)
class Ware:
    """One code at one place: what one of it takes, and what a sale keeps there, in pennies or cents.

    `unit` is the set or single piece that it is of. `hold` is how many of everything the place leaves in the store.
    """

    place: str
    code: str
    unit: str
    needs: Needs
    kept: int
    hold: int = 0

    def makes(self, have: Mapping[str, int]) -> int:
        """Return how many the place could sell if it were alone."""
        return max(0, min(have[code] // number for code, number in self.needs) - self.hold)


@dataclass(frozen=True, slots=True)
class Claim:
    """What a wish asks of one code at one place: its number in [allotment], and at least or at most so many.

    `gives_way` is whether it names no codes, so that at least so many means as far as pieces last.
    """

    wish: int
    key: Literal["least", "most"]
    place: str
    code: str
    number: int
    gives_way: bool = False


@dataclass(frozen=True, slots=True)
class _Column:
    """Goods that one number stands for, in the order of places and codes, with what each could get."""

    wares: tuple[tuple[Ware, int], ...]
    gain: int
    needs: Needs
    hold: int

    @property
    def highest(self) -> int:
        return sum(most for _, most in self.wares)


@dataclass(frozen=True)
class Sharing:
    """A question of who gets what: goods in the order of places and codes, what there is of all that is counted."""

    wares: tuple[Ware, ...]
    have: Mapping[str, int]
    allotment: Allotment

    @cached_property
    def claims(self) -> tuple[Claim, ...]:
        """What the wishes ask, code by code; where a wish names no codes, no more than can be made of each."""
        return tuple(self._claims())

    def _claims(self) -> Iterator[Claim]:
        for at, wish in enumerate(self.allotment.wishes):
            for place, codes in self.named(wish).items():
                for code in codes:
                    least = wish.least if wish.of else min(wish.least, self.reachable(place, code, wish.least))
                    if least:
                        yield Claim(at, "least", place, code, number=least, gives_way=not wish.of)
                    if wish.most is not None:
                        yield Claim(at, "most", place, code, number=wish.most)

    def named(self, wish: Wish) -> dict[str, tuple[str, ...]]:
        """Return the codes that a wish is about, by place; without codes of its own every set and single piece."""
        wished = None if wish.place is None else self.allotment.counted_at(wish.place)
        named: dict[str, dict[str, None]] = {}
        for ware in self.wares:
            if ware.place == wished or (wished is None and ware.place != SHOPS):
                codes = named.setdefault(ware.place, {})
                codes |= dict.fromkeys([ware.unit] if not wish.of else {ware.code, ware.unit}.intersection(wish.of))
        return {place: tuple(sorted(codes)) for place, codes in named.items() if codes}

    def reachable(self, place: str, code: str, enough: int) -> int:
        """Return how many of a code a place could get if it were alone, or `enough` where there are that many."""
        wares = self.of(place, code)
        alone = max((ware.makes(self.have) for ware in wares), default=0)
        if alone >= enough or len(wares) == 1:
            return min(enough, alone)
        if (place, code) not in self._reached:
            asked = Sharing(tuple(wares), self.have, Allotment()).programme
            answer = solve(replace(asked, gains=(1,) * len(asked.gains)), Effort())
            self._reached[place, code] = answer.gain if answer else 0
        return min(enough, self._reached[place, code])

    @cached_property
    def _reached(self) -> dict[tuple[str, str], int]:
        """How many of a code each place could get if it were alone, as far as that was asked for."""
        return {}

    def of(self, place: str, code: str) -> list[Ware]:
        """Return what a code means at a place: a variant, or all that are of a set."""
        return self._named_wares.get((place, code), [])

    @cached_property
    def _named_wares(self) -> Mapping[tuple[str, str], list[Ware]]:
        named: defaultdict[tuple[str, str], list[Ware]] = defaultdict(list)
        for ware in self.wares:
            for code in dict.fromkeys((ware.code, ware.unit)):
                named[ware.place, code].append(ware)
        return named

    @cached_property
    def scale(self) -> int:
        """In how many parts of a penny or cent gains are counted."""
        return _TENTHS if any(wish.weight != 1 for wish in self.allotment.wishes) else 1

    @cached_property
    def _under(self) -> Mapping[tuple[str, str], tuple[int, ...]]:
        """The claims that each code at each place falls under."""
        under: defaultdict[tuple[str, str], list[int]] = defaultdict(list)
        for number, claim in enumerate(self.claims):
            for ware in self.of(claim.place, claim.code):
                under[ware.place, ware.code].append(number)
        return {key: tuple(numbers) for key, numbers in under.items()}

    def gain(self, ware: Ware) -> int:
        """Return what a sale counts: what it keeps, by the weights of all wishes about it."""
        weighed = ware.kept * self.scale * self._weights.get((ware.place, ware.code), Decimal(1))
        return int(weighed.quantize(Decimal(1), ROUND_HALF_UP, WIDE))

    @cached_property
    def _weights(self) -> Mapping[tuple[str, str], Decimal]:
        weights: dict[tuple[str, str], Decimal] = {}
        for wish in self.allotment.wishes:
            for place, codes in self.named(wish).items() if wish.weight != 1 else ():
                wares = {ware.code for code in codes for ware in self.of(place, code)}
                for key in ((place, code) for code in wares):
                    weights[key] = min(weights.get(key, Decimal(1)) * wish.weight, _MOST_WEIGHT)
        return weights

    @cached_property
    def columns(self) -> tuple[_Column, ...]:
        """The goods, those together that are alike."""
        alike: dict[object, list[tuple[Ware, int]]] = {}
        for ware in self.wares:
            key = ware.needs, self.gain(ware), ware.hold, self._under.get((ware.place, ware.code), ())
            alike.setdefault(key, []).append((ware, ware.makes(self.have)))
        return tuple(
            _Column(tuple(wares), self.gain(wares[0][0]), wares[0][0].needs, wares[0][0].hold)
            for wares in alike.values()
        )

    @cached_property
    def stores(self) -> tuple[tuple[str, int], ...]:
        """What is limited: each code that is counted, once for every number that some place leaves in the store."""
        holds = sorted({column.hold for column in self.columns})
        used = {code for column in self.columns for code, _ in column.needs}
        return tuple((code, hold) for code in self.have if code in used for hold in holds)

    @cached_property
    def programme(self) -> Programme:
        """The question in whole numbers: limits of the stores, then those of the claims."""
        takes: defaultdict[str, list[tuple[int, int, int]]] = defaultdict(list)
        for at, column in enumerate(self.columns):
            for code, number in column.needs:
                takes[code].append((at, number, column.hold))
        limits = [
            Limit(
                tuple((at, number) for at, number, held in takes[code] if held >= hold), max(0, self.have[code] - hold)
            )
            for code, hold in self.stores
        ]
        claimed: list[list[tuple[int, int]]] = [[] for _ in self.claims]
        for at, column in enumerate(self.columns):
            ware = column.wares[0][0]
            for number in self._under.get((ware.place, ware.code), ()):
                claimed[number].append((at, -1 if self.claims[number].key == "least" else 1))
        limits += [
            Limit(tuple(terms), -claim.number if claim.key == "least" else claim.number)
            for claim, terms in zip(self.claims, claimed, strict=True)
        ]
        return Programme(
            tuple(column.gain for column in self.columns),
            tuple(column.highest for column in self.columns),
            tuple(limits),
        )

    @cached_property
    def yielding(self) -> tuple[int, ...]:
        """The limits of claims that give way where pieces do not last for all of them, by their places."""
        before = len(self.stores)
        return tuple(before + at for at, claim in enumerate(self.claims) if claim.gives_way)

    def softened(self, met_so_far: Answer | None = None) -> Programme:
        """Return the question with a number more for each claim that gives way: how many pieces of it are met.

        These alone count, until an answer says how many can be: so many must be then, in each part where that is best.
        """
        programme, columns = self.programme, len(self.columns)
        met = {at: columns + number for number, at in enumerate(self.yielding)}
        limits = [
            Limit((*limit.takes, (met[at], 1)), 0) if at in met else limit for at, limit in enumerate(programme.limits)
        ]
        asked = tuple(-programme.limits[at].most for at in met)
        counting = Programme((*(0,) * columns, *(1,) * len(met)), (*programme.highest, *asked), tuple(limits))
        if met_so_far is None:
            return counting
        parts = (ats for ats, _ in counting.parts) if met_so_far.is_best else [range(len(counting.gains))]
        wished = filter(None, ([at for at in part if at >= columns] for part in parts))
        limits += (Limit(tuple((at, -1) for at in ats), -sum(met_so_far.numbers[at] for at in ats)) for ats in wished)
        return Programme((*programme.gains, *(0,) * len(met)), (*programme.highest, *asked), tuple(limits))

    @cached_property
    def effort(self) -> Effort:
        """What may be spent on an answer, by how many numbers there are."""
        count = max(1, len(self.columns))
        return Effort(max(20, _NODES // (count * 10)), gap=0.0 if count <= _SETTLED else 0.01)


@dataclass(frozen=True, slots=True)
class Scarce:
    """What there is too little of: how much may go to places, and what ten more would keep, None where none knows."""

    code: str
    there: int
    worth: Decimal | None


@dataclass(frozen=True, slots=True)
class Shared:
    """Who gets what: numbers by place and code in their order, what that keeps, and the most that anything could keep.

    Amounts are in the shop's currency, by the weights of the wishes; `most_kept` is equal to `kept` where it is proved.
    `unmet` are the claims that gave way, with what they got.
    """

    numbers: Mapping[tuple[str, str], int]
    kept: Decimal
    most_kept: Decimal
    scarce: tuple[Scarce, ...] = ()
    unmet: tuple[tuple[Claim, int], ...] = ()

    @property
    def is_best(self) -> bool:
        """Whether it is proved that no other way keeps more."""
        return self.kept == self.most_kept

    @property
    def gap(self) -> Decimal:
        """How much more another way may keep at the most, as a share."""
        return (self.most_kept - self.kept) / self.kept if self.kept > 0 else Decimal(0)


@dataclass(frozen=True, slots=True)
class Refusal:
    """Wishes that cannot be kept together, as few as there can be, and the codes that there are too few of for them.

    `reachable` is how many the place could get, where it is one wish alone.
    """

    claims: tuple[Claim, ...]
    short: tuple[str, ...]
    reachable: int = 0


def share_out(sharing: Sharing, digits: int) -> Shared | Refusal:
    """Return who gets what, or the wishes that keep it from being settled; `digits` are those of the currency.

    Raises:
        BlockedError: there is no solver, or it stopped before it had an answer that holds.
    """
    settled = _settled(sharing)
    if settled is None:
        return _refusal(sharing)
    programme, answer = settled
    if answer.is_best:
        answer = first_in_order(programme, answer, sharing.effort)
    numbers = _of_wares(sharing, answer.numbers[: len(sharing.columns)])
    unmet = _prove(sharing, numbers, answer, softened=programme is not sharing.programme)
    unit = Decimal(1).scaleb(-digits) / sharing.scale
    scarce = _scarce(sharing, settled, unit) if answer.is_best else ()
    return Shared(numbers, kept=answer.gain * unit, most_kept=answer.bound * unit, scarce=scarce, unmet=unmet)


def _settled(sharing: Sharing) -> tuple[Programme, Answer] | None:
    """Return an answer with the programme that it is of: where not all claims can be met, those that may give way.

    As many pieces of theirs as can be are met, whatever that keeps.
    """
    answer = solve(sharing.programme, sharing.effort)
    if answer is not None:
        return sharing.programme, answer
    met = solve(sharing.softened(), sharing.effort) if sharing.yielding else None
    if met is None:
        return None
    programme = sharing.softened(met)
    answer = solve(programme, sharing.effort)
    return None if answer is None else (programme, answer)


def _of_wares(sharing: Sharing, numbers: Sequence[int]) -> dict[tuple[str, str], int]:
    """Return the numbers of all goods; of those that one number stands for the first get as many as they can."""
    given: dict[tuple[str, str], int] = {}
    for column, number in zip(sharing.columns, numbers, strict=True):
        left = number
        for ware, most in column.wares:
            given[ware.place, ware.code] = min(left, most)
            left -= min(left, most)
    return {(ware.place, ware.code): given[ware.place, ware.code] for ware in sharing.wares}


def _prove(
    sharing: Sharing, numbers: Mapping[tuple[str, str], int], answer: Answer, *, softened: bool
) -> tuple[tuple[Claim, int], ...]:
    """Go through an answer ware by ware: what is in the store suffices, each wish is kept, and the sum is right.

    Returns:
        The claims that gave way, with what they got; none unless the question was `softened`.

    Raises:
        BlockedError: something of that is not so.
    """
    store = _Store(sharing.have, {ware.hold for ware in sharing.wares})
    total = 0
    for ware in sharing.wares:
        number = numbers[ware.place, ware.code]
        if number > store.room(ware.needs, ware.hold):
            raise BlockedError(f"more of {ware.code} was given out than there is.", LAST_STAYS)
        store.take(ware.needs, ware.hold, number)
        total += number * sharing.gain(ware)
    unmet = []
    for claim in sharing.claims:
        given = sum(numbers[ware.place, ware.code] for ware in sharing.of(claim.place, claim.code))
        if given < claim.number if claim.key == "least" else given > claim.number:
            unmet.append((claim, given))
    if total != answer.gain or any(not (softened and claim.gives_way) for claim, _ in unmet):
        raise BlockedError("the solver's answer does not hold when it is checked.", LAST_STAYS)
    return tuple(unmet)


def _scarce(sharing: Sharing, settled: tuple[Programme, Answer], unit: Decimal) -> tuple[Scarce, ...]:
    """Return what there is too little of, the worthiest first, with what ten more of five would keep."""
    programme, answer = settled
    worth_of: Counter[str] = Counter()
    for (code, _), worth in zip(sharing.stores, worths(programme), strict=False):
        worth_of[code] += worth
    least = min((hold for _, hold in sharing.stores), default=0)
    codes = sorted((code for code in worth_of if worth_of[code]), key=lambda code: (-worth_of[code], code))
    scarce = []
    for number, code in enumerate(codes):
        more = None
        if number < _MOST_SCARCE:
            richer = Sharing(sharing.wares, {**sharing.have, code: sharing.have[code] + _MORE}, sharing.allotment)
            better = _settled(richer)
            more = (better[1].gain - answer.gain) * unit if better and better[1].is_best else None
        scarce.append(Scarce(code, max(0, sharing.have[code] - least), more))
    return tuple(each for each in scarce if each.worth is None or each.worth > 0)


def _refusal(sharing: Sharing) -> Refusal:
    """Return the fewest wishes that cannot be kept together, and what there is too little of for them."""
    programme, stores = sharing.programme, len(sharing.stores)
    firm = [at for at in range(stores, len(programme.limits)) if at not in sharing.yielding]
    limits = tuple(programme.limits[at] for at in (*range(stores), *firm))
    asked = Programme(programme.gains, programme.highest, limits)
    at_fault = [firm[at - stores] for at in culprits(asked, range(stores, len(limits)), sharing.effort)]
    claims = tuple(sharing.claims[at - stores] for at in at_fault)
    limits = (*programme.limits[:stores], *(programme.limits[at] for at in at_fault))
    asked = Programme(programme.gains, programme.highest, limits)
    short = culprits(asked, range(stores), sharing.effort)
    codes = tuple(dict.fromkeys(sharing.stores[at][0] for at in short))
    reachable = sharing.reachable(claims[0].place, claims[0].code, claims[0].number) if len(claims) == 1 else 0
    return Refusal(claims, codes, reachable)


@dataclass
class _Store:
    """What is left of all that is counted while it is given out, apart for places that leave so many in the store."""

    have: Mapping[str, int]
    holds: Iterable[int]
    _used: Counter[tuple[str, int]] = field(default_factory=Counter)

    def room(self, needs: Needs, hold: int) -> int:
        """Return how many of something a place may still get."""
        levels = [level for level in self.holds if level <= hold]
        left = ((self.have[code] - level - self._used[code, level]) // each for code, each in needs for level in levels)
        return max(0, min(left))

    def take(self, needs: Needs, hold: int, number: int) -> None:
        """Give so many of it out."""
        for code, each in needs:
            for level in self.holds:
                if level <= hold:
                    self._used[code, level] += each * number


def hold_of(channel: Channel | None, settings: Settings) -> int:
    """Return how many of everything a channel leaves in the store; None is what is put by for shops."""
    return settings.stock.hold_back if channel is None or channel.hold_back is None else channel.hold_back


def allotted_to(channel: str, codes: Iterable[str], catalog: Catalog) -> int | None:
    """Return how many of some codes together a channel may sell; None where pieces are not allotted."""
    allotment = catalog.shop.settings.allotment
    if catalog.allotted is None or allotment is None:
        return None
    numbers, place = catalog.allotted.numbers, allotment.counted_at(channel)
    return sum(numbers.get((place, code), 0) for code in codes)


def with_allotted(catalog: Catalog) -> Catalog:
    """Return the catalog with what each place may sell today: its numbers less what it has sold since, while it lasts.

    In the order of the rows, so that where there is less than was allotted those that come first keep theirs.
    """
    shop, allotment = catalog.shop, catalog.shop.settings.allotment
    if allotment is None or not shop.allotment.file:
        return catalog
    goods, have = goods_of(catalog), sheet_stock(shop.items, shop.packaging)
    holds = {allotment.counted_at(channel.key): hold_of(channel, shop.settings) for channel in shop.channels}
    holds[SHOPS] = hold_of(None, shop.settings)
    store, numbers = _Store(have, sorted(set(holds.values()))), dict[tuple[str, str], int]()
    short, unknown = list[tuple[AllottedRow, int]](), list[AllottedRow]()
    rows, moves = shop.allotment.rows, shop.movements.moves
    known = sorted({row.after for row in rows})[:_MOST_KNOWN]
    sold = {after: _sold_since(after, moves, goods, allotment) for after in known}
    for row in rows:
        code = shop.old_codes(row.code)
        if row.place not in holds or code not in goods.parts:
            unknown.append(row)
            continue
        needs = counted_needs(goods, code, have)
        left = max(0, row.pieces - max(0, sold[known[bisect(known, row.after) - 1]][row.place, code]))
        number = min(left, store.room(needs, holds[row.place])) if needs else left
        store.take(needs, holds[row.place], number)
        numbers[row.place, code] = number
        if number < left:
            short.append((row, left - number))
    return replace(catalog, allotted=Allotted(numbers, tuple(short), tuple(unknown)))


def counted_needs(goods: Goods, code: str, have: Mapping[str, int]) -> Needs:
    """Return what one of a code takes of all that is counted."""
    return tuple((piece, number) for piece, number in goods.parts.get(code, ()) if piece in have)


def _sold_since(after: int, moves: Sequence[StockMove], goods: Goods, allotment: Allotment) -> Counter[tuple[str, str]]:
    """Return what each place sold in later lines, less what came back; of shops what they ordered."""
    by_place: defaultdict[tuple[str, MoveKind], list[StockMove]] = defaultdict(list)
    for move in moves:
        if move.line > after and (move.kind in _TAKEN or move.kind == "ordered"):
            by_place[move.place, move.kind].append(move)
    sold: Counter[tuple[str, str]] = Counter()
    for (place, kind), lines in by_place.items():
        if (kind == "ordered") == (place == SHOPS):
            for code, number in sets_moved(lines, goods).items():
                sold[allotment.counted_at(place), code] += _TAKEN.get(kind, 1) * number
    return sold
