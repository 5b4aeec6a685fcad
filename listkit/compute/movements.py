"""Stock from movements: of each code the last count and what came after it, by days.

A count is one of the evening: what moved on its day is in it. So the order in which the files of a day are added
changes nothing; only of two counts of one day the later line counts. A code that was never counted goes by the sheet.
"""

import datetime
import re
from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from itertools import accumulate, pairwise
from typing import Final

from listkit.compute.catalog import Catalog, SetFacts, Variant, packs_of
from listkit.model.item import Item
from listkit.model.movements import (
    MESSAGE_CARD,
    MOVE_KINDS,
    RESERVES,
    SIGNS,
    BatchState,
    CountVariance,
    MoveKind,
    Stock,
    StockFigure,
    StockMove,
    pack_code,
)
from listkit.model.packaging import GiftBox, Packaging
from listkit.model.shop import Shop

_BATCH: Final = re.compile(r"([1-9]\d{0,6})-[0-9a-f]{8}")


@dataclass(slots=True)
class _Tally:
    """What moved of one code, while it is gathered: counts by their place in the file, all else by days.

    `alike` are the places of the counts that are equal.
    """

    counts: dict[int, StockMove] = field(default_factory=dict)
    alike: defaultdict[StockMove, list[int]] = field(default_factory=lambda: defaultdict(list))
    by_day: Counter[datetime.date] = field(default_factory=Counter)
    sums: Counter[MoveKind] = field(default_factory=Counter)
    others: list[tuple[int, StockMove]] = field(default_factory=list)
    reserved: int = 0

    @property
    def in_order(self) -> list[tuple[datetime.date, StockMove]]:
        """The counts by their days, of one day by their places."""
        order = sorted((move.day, at) for at, move in self.counts.items())
        return [(day, self.counts[at]) for day, at in order]


def stock_of(moves: Sequence[StockMove], now: Callable[[str], str] = str) -> Stock:
    """Return the stock that follows from the lines; `now` gives today's code of an older one."""
    tallies: defaultdict[str, _Tally] = defaultdict(_Tally)
    for at, move in enumerate(moves):
        tally = tallies[now(move.code)]
        if move.kind == "counted":
            _count(tally, at, move)
            continue
        sign = -1 if move.takes_back else 1
        tally.sums[move.kind] += sign * move.quantity
        tally.others.append((at, move))
        tally.reserved += sign * RESERVES.get(move.kind, 0) * move.quantity
        if change := SIGNS.get(move.kind, 0):
            tally.by_day[move.day] += sign * change * move.quantity
    counted = {code: tally for code, tally in tallies.items() if tally.counts}
    return Stock(
        figures={code: _figure(code, tally) for code, tally in counted.items()},
        uncounted=tuple(code for code, tally in tallies.items() if code not in counted and any(tally.sums.values())),
        late=tuple(move for tally in counted.values() for move in _late(tally)),
        variances=tuple(variance for code, tally in counted.items() for variance in _variances(code, tally)),
    )


def _count(tally: _Tally, at: int, move: StockMove) -> None:
    """Add a count; one that takes a count back removes the last that is equal to it."""
    if not move.takes_back:
        tally.counts[at] = move
        tally.alike[move].append(at)
    elif equal := tally.alike.get(replace(move, takes_back=False)):
        del tally.counts[equal.pop()]


def _figure(code: str, tally: _Tally) -> StockFigure:
    day, count = tally.in_order[-1]
    sums = tuple((kind, tally.sums[kind]) for kind in MOVE_KINDS if tally.sums[kind])
    on_hand = count.quantity + sum(change for moved_on, change in tally.by_day.items() if moved_on > day)
    return StockFigure(
        code=code, counted=count.quantity, counted_on=day, on_hand=on_hand, reserved=tally.reserved, sums=sums
    )


def _variances(code: str, tally: _Tally) -> Iterator[CountVariance]:
    """Yield each count but the first against what the books had on its evening, where they differ."""
    days = sorted(tally.by_day)
    until = [*accumulate((tally.by_day[day] for day in days), initial=0)]
    for (before, first), (day, second) in pairwise(tally.in_order):
        book = first.quantity + until[bisect_right(days, day)] - until[bisect_right(days, before)]
        if book != second.quantity:
            yield CountVariance(code, day, book, second.quantity)


def _late(tally: _Tally) -> Iterator[StockMove]:
    """Yield the lines that stand, were added after the last count, and are of its day or before."""
    day, counted_at = max((move.day, at) for at, move in tally.counts.items())
    late = [move for at, move in tally.others if at > counted_at and move.day <= day and move.kind in SIGNS]
    yield from standing(late)


def standing(moves: Iterable[StockMove]) -> Iterator[StockMove]:
    """Yield the lines that none of the others takes back."""
    lines = tuple(moves)
    undone = Counter(replace(move, takes_back=False) for move in lines if move.takes_back)
    for move in lines:
        if not move.takes_back and undone[move]:
            undone[move] -= 1
        elif not move.takes_back:
            yield move


# The shop by these numbers.


def in_stock(shop: Shop) -> Shop:
    """Return the shop with what is free of all that was counted as its stock; the same one without movements."""
    moves = shop.movements.moves
    if not moves or shop.stock is not None:
        return shop
    stock = stock_of(moves, shop.old_codes)
    sheet = sheet_stock(shop.items, shop.packaging)
    figures = {code: replace(figure, sheet=sheet.get(code)) for code, figure in stock.figures.items()}
    stock = replace(stock, figures=figures)
    items = tuple(_with_stock(item, stock.free(item.code)) for item in shop.items)
    return replace(shop, items=items, packaging=_packaging(shop.packaging, stock), stock=stock)


def _with_stock(item: Item, free: int | None) -> Item:
    return item if free is None else item.model_copy(update={"on_hand": max(0, free)})


def _packaging(packaging: Packaging, stock: Stock) -> Packaging:
    boxes, card = tuple(_box(box, stock) for box in packaging.boxes), packaging.card
    if card is not None and (free := stock.free(MESSAGE_CARD)) is not None:
        card = card.model_copy(update={"on_hand": max(0, free)})
    return packaging.model_copy(update={"boxes": boxes, "card": card})


def _box(box: GiftBox, stock: Stock) -> GiftBox:
    boxes, fills = stock.free(pack_code("box", box.code)), stock.free(pack_code("fill", box.code))
    changed: dict[str, object] = {} if boxes is None else {"on_hand": max(0, boxes)}
    if box.fill is not None and fills is not None:
        changed["fill"] = box.fill.model_copy(update={"on_hand": max(0, fills)})
    return box.model_copy(update=changed) if changed else box


def sheet_stock(items: Iterable[Item], packaging: Packaging) -> dict[str, int]:
    """Return what the owner's own files say is on hand, by the codes of movements: items, boxes, fills, the card."""
    stated: dict[str, int | None] = {item.code: item.on_hand for item in items}
    for box in packaging.boxes:
        stated[pack_code("box", box.code)] = box.on_hand
        stated[pack_code("fill", box.code)] = box.fill.on_hand if box.fill else None
    stated[MESSAGE_CARD] = packaging.card.on_hand if packaging.card else None
    return {code: number for code, number in stated.items() if number is not None}


# Batches: the lines that one file brought.


def batch_name(lines: int, digest: str) -> str:
    """Return the name of a batch: how many lines it has, so that a missing one is seen, and the file's short hash.

    >>> batch_name(12, "3f9a2c1b77")
    '12-3f9a2c1b'
    """
    return f"{lines}-{digest[:8]}"


def batches(moves: Iterable[StockMove]) -> tuple[BatchState, ...]:
    """Return the batches of which lines stand, in the order of their last lines; what was taken back is left out."""
    lines: dict[str, list[StockMove]] = {}
    for move in moves:
        if move.batch:
            lines[move.batch] = lines.pop(move.batch, [])
            lines[move.batch].append(move)
    left = ((batch, _BATCH.fullmatch(batch), tuple(standing(own_lines))) for batch, own_lines in lines.items())
    return tuple(BatchState(batch, those, int(match[1]) if match else None) for batch, match, those in left if those)


# What a count that differs is worth.


@dataclass(frozen=True, slots=True)
class CountWorth:
    """Differences of counts at cost: missing and over apart, since they may cancel out; `book` is what should be there.

    `shrinkage` is what is missing as a share of the book value, None where the books had nothing.
    """

    missing: Decimal
    over: Decimal
    book: Decimal

    @property
    def net(self) -> Decimal:
        """Over less missing."""
        return self.over - self.missing

    @property
    def gross(self) -> Decimal:
        """All differences together."""
        return self.over + self.missing

    @property
    def shrinkage(self) -> Decimal | None:
        """What is missing on balance as a share of what should be there."""
        return -self.net / self.book if self.book else None


def count_worth(counts: Iterable[CountVariance], costs: Mapping[str, Decimal]) -> CountWorth:
    """Return what counts differ by; a code without a cost is worth nothing."""
    missing = over = book = Decimal(0)
    for count in counts:
        cost = costs.get(count.code, Decimal(0))
        book += cost * count.book
        missing += cost * max(0, -count.difference)
        over += cost * max(0, count.difference)
    return CountWorth(missing, over, book)


# What a code that somebody writes is: a piece, a packed set, a box.


@dataclass(frozen=True, slots=True)
class Goods:
    """All that can move, by its code, with the pieces and packs that it is made of: of an item itself alone.

    `sets` are the codes of variants, `groups` the variants of each set that has several, `near` what else is
    understood: old codes, GTINs, another case, the bare code of a box.
    """

    parts: Mapping[str, tuple[tuple[str, int], ...]]
    names: Mapping[str, str]
    sets: frozenset[str]
    groups: Mapping[str, tuple[str, ...]]
    near: Mapping[str, str]

    def find(self, text: str) -> str | None:
        """Return the code of the goods that a text names, None where it names none."""
        if text in self.parts:
            return text
        code = self.near.get(text) or self.near.get(text.casefold())
        return code if code in self.parts else None


def goods_of(catalog: Catalog) -> Goods:
    """Return all that can move in a shop."""
    shop = catalog.shop
    parts: dict[str, tuple[tuple[str, int], ...]] = {item.code: ((item.code, 1),) for item in shop.items}
    names = {item.code: shop.naming.of(item) for item in shop.items}
    packs = [pack for box in shop.packaging.boxes for pack in packs_of(box, None)]
    packs += packs_of(None, shop.packaging.card)
    near: dict[str, str] = {}
    for pack in packs:
        code = pack_code(pack.part, pack.box)
        parts[code], names[code] = ((code, 1),), pack.name
        near |= {pack.name: code} | ({pack.box: code} if pack.part == "box" else {})
    sets, groups = set[str](), dict[str, tuple[str, ...]]()
    for facts in catalog.sets:
        for variant in facts.variants:
            parts[variant.code] = _parts(variant, facts)
            names[variant.code] = " · ".join((facts.name, *(choice.says for choice in variant.choices)))
            sets.add(variant.code)
        if facts.code not in parts:
            groups[facts.code] = tuple(variant.code for variant in facts.variants)
    gtins = {item.gtin: item.code for item in shop.items if item.gtin}
    gtins |= {each.gtin: each.code for facts in catalog.sets for each in facts.variants if each.gtin}
    cased = {code.casefold(): code for code in parts}
    return Goods(parts, names, frozenset(sets), groups, {**cased, **near, **gtins, **shop.old_codes.now})


def _parts(variant: Variant, facts: SetFacts) -> tuple[tuple[str, int], ...]:
    """Return what one set takes of each piece and pack."""
    taken: Counter[str] = Counter()
    for piece in variant.pieces:
        taken[piece.item.code] += piece.quantity
    for pack in packs_of(variant.box, facts.card):
        taken[pack_code(pack.part, pack.box)] += 1
    return tuple(taken.items())


def sets_moved(moves: Iterable[StockMove], goods: Goods) -> dict[str, int]:
    """Return how many of each code moved, sets counted once: by the box of each, else by its pieces as it is now."""
    of_set: defaultdict[str, Counter[str]] = defaultdict(Counter)
    moved: Counter[str] = Counter()
    for move in moves:
        sign = -1 if move.takes_back else 1
        (of_set[move.set] if move.set else moved)[move.code] += sign * move.quantity
    for code, pieces in of_set.items():
        boxes = [number for piece, number in pieces.items() if piece.startswith("box ")]
        needs = dict(goods.parts.get(code, ()))
        counts = boxes or [number // needs.get(piece, 1) for piece, number in pieces.items()]
        moved[code] += min(counts)
    return {code: number for code, number in moved.items() if number}


# What runs short.

_LOOKED_BACK: Final = 28  # days; what sells in two weeks is half of what left in them. Common practice, no source
_LEFT: Final[frozenset[MoveKind]] = frozenset({"sold", "sent", "came back"})


@dataclass(frozen=True, slots=True)
class ShortPiece:
    """A code of which less is free than sells in two weeks; where less than nothing is, open orders need more."""

    figure: StockFigure
    sells: Decimal


def short_pieces(
    stock: Stock, moves: Iterable[StockMove], day: datetime.date, now: Callable[[str], str] = str
) -> tuple[ShortPiece, ...]:
    """Return what runs short on a day: what orders lack first, then by how long the rest lasts.

    What was sold and sent in the four weeks up to the day, less what came back, tells what sells in two.
    """
    since, gone = day - datetime.timedelta(_LOOKED_BACK), Counter[str]()
    for move in moves:
        if since < move.day <= day and move.kind in _LEFT:
            gone[now(move.code)] -= move.change
    short = [
        ShortPiece(figure, Decimal(max(0, gone[code])) / 2)
        for code, figure in stock.figures.items()
        if figure.free < 0 or 2 * figure.free < gone[code]
    ]
    return tuple(
        sorted(short, key=lambda each: (min(0, each.figure.free), each.figure.free - each.sells, each.figure.code))
    )
