"""What to take to a market: as much as sold there on like days, else evenly by set, of what is free at home.

Like days are the last four at the same place on the same day of the week, or the last four there. Common practice, no
source: the most that one of them sold is taken, one at least of what is on the price list, and four a set where nothing
sold there yet. Crates hold at most 12 kg and 40 litres; common practice, no source.
"""

import datetime
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from listkit.compute.catalog import SetFacts, Variant
from listkit.compute.movements import Goods, sets_moved, standing
from listkit.model.movements import StockMove
from listkit.problem import FieldError
from listkit.units.weight import Weight

LIKE_DAYS: Final = 4
EVEN: Final = 4
CRATE_GRAMS: Final = Decimal(12_000)
CRATE_MM3: Final = Decimal(40_000_000)


@dataclass(frozen=True, slots=True)
class OnSale:
    """One code that the place sells on the day, and how many it may sell at most, None where nobody counts."""

    facts: SetFacts
    variant: Variant
    most: int | None

    @property
    def code(self) -> str:
        """The code of the variant, or of the single piece."""
        return self.variant.code

    @property
    def alone(self) -> str:
        """The item that it is, without a box and one piece of it; "" for all else."""
        pieces = self.variant.pieces
        return pieces[0].item.code if self.variant.box is None and len(pieces) == 1 and pieces[0].quantity == 1 else ""


@dataclass(frozen=True, slots=True)
class TakeLine:
    """So many of one code to take; `sold` is the most that a like day sold of it, `wanted` what was asked for.

    `crates` are the numbers of the crates that it lies in.
    """

    on_sale: OnSale
    take: int
    wanted: int
    sold: int | None
    crates: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class MarketPlan:
    """All that goes to the market: lines, and what goes with them."""

    lines: tuple[TakeLine, ...]
    like_days: tuple[datetime.date, ...]
    boxes: tuple[tuple[str, int], ...]
    cards: int
    crates: tuple[Weight, ...]

    @property
    def sets(self) -> int:
        """How many packed sets are taken."""
        return sum(line.take for line in self.lines if not line.on_sale.facts.is_single)

    @property
    def pieces(self) -> int:
        """How many single pieces are taken."""
        return sum(line.take for line in self.lines if line.on_sale.facts.is_single)

    @property
    def scents(self) -> tuple[str, ...]:
        """The scents of all that is taken, each once: of each goes a tester."""
        items = (piece.item for line in self.lines if line.take for piece in line.on_sale.variant.pieces)
        return tuple(dict.fromkeys(item.scent for item in items if item.scent))


def like_days(moves: Iterable[StockMove], place: str, day: datetime.date) -> tuple[datetime.date, ...]:
    """Return the days before, on which something sold at a place, that this one will be like; the latest last."""
    sold = {move.day for move in standing(moves) if move.kind == "sold" and move.place == place and move.day < day}
    alike = sorted(each for each in sold if each.weekday() == day.weekday())
    return tuple((alike or sorted(sold))[-LIKE_DAYS:])


def market_plan(
    on_sale: Sequence[OnSale],
    moves: Sequence[StockMove],
    goods: Goods,
    *,
    place: str,
    day: datetime.date,
    most: int,
    counts: Mapping[str, int] | None = None,
) -> MarketPlan:
    """Return what to take of all that a place sells; `counts` are the owner's own numbers, for those codes alone.

    Raises:
        FieldError: it would be more than `most` together, mostly for a slip of the pen in a sale.
    """
    days = like_days(moves, place, day)
    codes = {each.code for each in on_sale}
    alone = {each.alone: each.code for each in on_sale if each.alone and each.alone not in codes}
    sold = _most_sold(moves, goods, place, days, alone)
    wanted = dict(counts) if counts is not None else _proposed(on_sale, sold, by_days=bool(days))
    taken = _taken(on_sale, wanted, most)
    lines = [
        TakeLine(each, taken[each.code], wanted.get(each.code, 0), sold.get(each.code, 0) if days else None)
        for each in on_sale
        if wanted.get(each.code, 0)
    ]
    boxed = [line for line in lines if line.on_sale.variant.box is not None and line.take]
    boxes: Counter[str] = Counter()
    for line in boxed:
        boxes[line.on_sale.variant.box.code if line.on_sale.variant.box else ""] += line.take
    cards = sum(line.take for line in boxed if line.on_sale.facts.card is not None)
    packed, crates = _in_crates(lines)
    return MarketPlan(packed, days, tuple(sorted(boxes.items())), cards, crates)


def _most_sold(
    moves: Sequence[StockMove], goods: Goods, place: str, days: Sequence[datetime.date], alone: Mapping[str, str]
) -> dict[str, int]:
    """Return the most that one of the days sold of each code, what came back taken off.

    An item that the place sells as a set of one, as a bar of a choice of bars, counts as that: `alone` has its code.
    """
    most: dict[str, int] = {}
    there = [move for move in standing(moves) if move.place == place and move.kind in ("sold", "came back")]
    for day in days:
        of_day = [move for move in there if move.day == day]
        sold = Counter(sets_moved((move for move in of_day if move.kind == "sold"), goods))
        sold.subtract(sets_moved((move for move in of_day if move.kind == "came back"), goods))
        of_code: Counter[str] = Counter()
        for code, number in sold.items():
            of_code[alone.get(code, code)] += number
        for code, number in of_code.items():
            most[code] = max(most.get(code, 0), number)
    return most


def _proposed(on_sale: Sequence[OnSale], sold: Mapping[str, int], *, by_days: bool) -> dict[str, int]:
    if by_days:
        return {each.code: max(1, sold.get(each.code, 0)) for each in on_sale}
    of_set: dict[str, list[OnSale]] = {}
    for each in on_sale:
        of_set.setdefault(each.facts.code, []).append(each)
    wanted: dict[str, int] = {}
    for variants in of_set.values():
        there = [each for each in variants if each.most != 0] or variants
        for at, each in enumerate(there):
            wanted[each.code] = EVEN // len(there) + (at < EVEN % len(there))
    return wanted


def _taken(on_sale: Sequence[OnSale], wanted: Mapping[str, int], most: int) -> Counter[str]:
    """Return how many of each can be taken: one of each in turn, as long as pieces, boxes and cards are there."""
    left: dict[str, int] = {}
    needs: dict[str, Counter[str]] = {}
    for each in on_sale:
        needs[each.code] = Counter()
        packs = [(f"box {each.variant.box.code}", each.variant.box.on_hand)] if each.variant.box else []
        pieces = [(piece.item.code, piece.item.on_hand, piece.quantity) for piece in each.variant.pieces]
        for code, on_hand, quantity in (*pieces, *((code, on_hand, 1) for code, on_hand in packs)):
            if on_hand is not None:
                left[code] = on_hand
                needs[each.code][code] += quantity
    alone = {
        code: min([wanted.get(code, 0), *(left[each] // n for each, n in its.items())]) for code, its in needs.items()
    }
    if (together := sum(alone.values())) > most:
        code = max(alone, key=alone.__getitem__)
        message = f"{together} would be taken, {alone[code]} of {code} among them, and at most {most} can be."
        raise FieldError(message, "Mend what movements.csv says was sold there, or write your own numbers.")
    taken: Counter[str] = Counter()
    waiting = [each for each in on_sale if wanted.get(each.code, 0)]
    while waiting:
        going = []
        for each in waiting:
            enough = all(left[code] >= number for code, number in needs[each.code].items())
            if enough and (each.most is None or taken[each.code] < each.most):
                taken[each.code] += 1
                for code, number in needs[each.code].items():
                    left[code] -= number
                if taken[each.code] < wanted[each.code]:
                    going.append(each)
        waiting = going
    return taken


def _in_crates(lines: Sequence[TakeLine]) -> tuple[tuple[TakeLine, ...], tuple[Weight, ...]]:
    """Return the lines with the crates that they lie in, filled one after the other, and the weight of each crate."""
    crates: list[tuple[Decimal, Decimal]] = []
    packed = []
    for line in lines:
        grams, volume = line.on_sale.variant.weights.gift.grams, _volume(line.on_sale.variant)
        numbers = []
        for _ in range(line.take):
            full = crates and (crates[-1][0] + grams > CRATE_GRAMS or crates[-1][1] + volume > CRATE_MM3)
            if full or not crates:
                crates.append((Decimal(0), Decimal(0)))
            crates[-1] = (crates[-1][0] + grams, crates[-1][1] + volume)
            numbers.append(len(crates))
        packed.append(TakeLine(line.on_sale, line.take, line.wanted, line.sold, crates=tuple(dict.fromkeys(numbers))))
    return tuple(packed), tuple(Weight(grams) for grams, _ in crates)


def _volume(variant: Variant) -> Decimal:
    """Return what a packed set or a piece takes of a crate."""
    if variant.box is not None:
        return (variant.box.outside or variant.box.inside).volume
    return sum((piece.item.size.volume * piece.quantity for piece in variant.pieces), Decimal(0))
