"""How a careful hand lays pieces out.

Footprints in rows where that works, spread evenly, the dearest near the middle; else what the searches find, moved
apart. All in whole units. Every choice has an order of preference, so the same pieces always lie the same way.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from itertools import combinations, islice, permutations, product
from math import inf
from typing import TypeVar

from listkit.compute.box import Spot, Vector

Footprint = tuple[int, int]
T = TypeVar("T")
MOST_IN_ROWS = 8  # beyond, the ways to share pieces among rows are too many to look at each
_MOST_SHARINGS = 1500
_MOST_ORDERS = 600
_SWEEPS = 80
_GRAIN = 1024
_AIRY = 0.04  # gaps below this share of the shorter side look crowded


@dataclass(frozen=True, slots=True)
class FloorRow:
    """Pieces side by side, with the sides they take; `rough` is floor lost to unlike widths."""

    pieces: tuple[int, ...]
    turned: tuple[Footprint, ...]
    length: int
    width: int
    rough: int


def in_rows(footprints: tuple[Footprint, ...], floor: Footprint, dearest: int | None) -> tuple[Spot, ...] | None:
    """Return the most pleasing layout in straight rows, along the length or the width; None if there is none."""
    if len(footprints) > MOST_IN_ROWS:
        return None
    along = _best_rows(footprints, floor, dearest)
    across = _best_rows(tuple(_turn(footprint) for footprint in footprints), _turn(floor), dearest)
    if across is not None:
        across = across[0], tuple(Spot(_turn(spot.corner), _turn(spot.size)) for spot in across[1])
    layouts = [layout for layout in (along, across) if layout is not None]
    return min(layouts, key=lambda layout: layout[0])[1] if layouts else None


def _turn(sides: Vector) -> Footprint:
    return sides[1], sides[0]


def _best_rows(
    footprints: tuple[Footprint, ...], floor: Footprint, dearest: int | None
) -> tuple[float, tuple[Spot, ...]] | None:
    count = len(footprints)
    options = [_row_options(footprints, members, floor) for members in range(1 << count)]
    best: tuple[float, tuple[FloorRow, ...]] = (inf, ())
    for rows in islice(_sharings((1 << count) - 1, options, floor[1]), _MOST_SHARINGS):
        ordered = _as_laid(rows, dearest)
        unease = _unease(_positions(ordered, floor), floor, dearest)
        best = min(best, (unease, ordered), key=lambda entry: entry[0])
    if not best[1]:
        return None
    orders = islice(_orders(best[1]), _MOST_ORDERS)
    layouts = (_positions(rows, floor) for rows in orders)
    return min(((_unease(spots, floor, dearest), spots) for spots in layouts), key=lambda entry: entry[0])


def _row_options(footprints: tuple[Footprint, ...], members: int, floor: Footprint) -> tuple[FloorRow, ...]:
    """Return the neatest and the narrowest row of these pieces (a bit each), if they go in a row at all."""
    pieces = tuple(index for index in range(len(footprints)) if members >> index & 1)
    if sum(min(footprints[index]) for index in pieces) > floor[0]:
        return ()
    ways = [{footprints[index], _turn(footprints[index])} for index in pieces]
    rows = []
    for turned in product(*map(sorted, ways)):
        length, width = sum(sides[0] for sides in turned), max((sides[1] for sides in turned), default=0)
        if length <= floor[0] and width <= floor[1]:
            rough = sum(sides[0] * (width - sides[1]) for sides in turned)
            rows.append(FloorRow(pieces, turned, length, width, rough))
    if not rows:
        return ()
    neatest = min(rows, key=lambda row: (row.rough, row.width, row.length))
    narrowest = min(rows, key=lambda row: (row.width, row.length))
    return (neatest,) if neatest == narrowest else (neatest, narrowest)


def _sharings(left: int, options: list[tuple[FloorRow, ...]], width: int) -> Iterator[tuple[FloorRow, ...]]:
    """Yield every way to share the pieces `left` among rows that together are no wider than `width`."""
    if not left:
        yield ()
        return
    first = left & -left
    others = rest = left ^ first
    while True:
        for row in options[first | rest]:
            if row.width <= width:
                for more in _sharings(others ^ rest, options, width - row.width):
                    yield (row, *more)
        if not rest:
            return
        rest = (rest - 1) & others


def _as_laid(rows: tuple[FloorRow, ...], dearest: int | None) -> tuple[FloorRow, ...]:
    """Put the dearest in the middle of its row and that row in the middle, the rest by size around it."""

    def rank(row: FloorRow, place: int) -> tuple[bool, int, int]:
        length, width = row.turned[place]
        return row.pieces[place] != dearest, -length * width, place

    inner = []
    for row in rows:
        ranked = sorted(range(len(row.pieces)), key=partial(rank, row))
        inner.append(_row_in(row, tuple(_around(ranked))))
    inner.sort(key=lambda row: (dearest not in row.pieces, -row.length * row.width, row.pieces))
    return tuple(_around(inner))


def _around(ranked: list[T]) -> list[T]:
    """Return the first in the middle, the others to its right and left by turns."""
    return ranked[2::2][::-1] + ranked[:1] + ranked[1::2]


def _row_in(row: FloorRow, places: tuple[int, ...]) -> FloorRow:
    pieces = tuple(row.pieces[place] for place in places)
    return FloorRow(pieces, tuple(row.turned[place] for place in places), row.length, row.width, row.rough)


def _orders(rows: tuple[FloorRow, ...]) -> Iterator[tuple[FloorRow, ...]]:
    """Yield the rows in every order with their pieces in every order, as they are first."""
    for ordered in permutations(rows):
        ways = (islice(permutations(range(len(row.pieces))), _MOST_ORDERS) for row in ordered)
        yield from product(*([_row_in(row, places) for places in way] for row, way in zip(ordered, ways, strict=True)))


def _positions(rows: tuple[FloorRow, ...], floor: Footprint) -> tuple[Spot, ...]:
    """Lay rows with even gaps between them and within each, every piece on its row's middle line."""
    spots: dict[int, Spot] = {}
    between = (floor[1] - sum(row.width for row in rows)) / (len(rows) + 1)
    y = between
    for row in rows:
        gap = (floor[0] - row.length) / (len(row.pieces) + 1)
        x = gap
        for index, (length, width) in zip(row.pieces, row.turned, strict=True):
            spots[index] = Spot((int(x), int(y + (row.width - width) / 2)), (length, width))
            x += length + gap
        y += row.width + between
    return tuple(spots[index] for index in sorted(spots))


def _unease(spots: tuple[Spot, ...], floor: Footprint, dearest: int | None) -> float:
    """Return how far a layout is from what pleases: balanced, airy, straight, the dearest in the middle."""
    area = sum(spot.size[0] * spot.size[1] for spot in spots)
    total = 0.0
    for axis in (0, 1):
        centres = [spot.corner[axis] + spot.size[axis] / 2 for spot in spots]
        weights = [spot.size[0] * spot.size[1] for spot in spots]
        balance = sum(map(float.__mul__, centres, map(float, weights))) / area / floor[axis]
        total += 2 * abs(balance - 0.5)
        if dearest is not None:
            total += abs(centres[dearest] / floor[axis] - 0.5)
    crosswise = sum((spot.size[0] - spot.size[1]) * (floor[0] - floor[1]) < 0 for spot in spots)
    air = _tightest(spots, floor) / min(floor)
    return total - 3 * air + 12 * max(0.0, _AIRY - air) + 0.02 * crosswise


def _tightest(spots: tuple[Spot, ...], floor: Footprint) -> int:
    """Return the smallest gap between two pieces or between a piece and a wall."""
    gaps = [min(spot.corner[axis] for spot in spots) for axis in (0, 1)]
    gaps += [floor[axis] - max(spot.corner[axis] + spot.size[axis] for spot in spots) for axis in (0, 1)]
    gaps += [max(_gap(first, second, axis) for axis in (0, 1)) for first, second in combinations(spots, 2)]
    return min(gaps)


def _gap(first: Spot, second: Spot, axis: int) -> int:
    """Return the free length between two pieces along an axis, below zero where they overlap there."""
    offset = second.corner[axis] - first.corner[axis]
    return max(offset - first.size[axis], -offset - second.size[axis])


def spread(spots: tuple[Spot, ...], room: tuple[int, ...]) -> tuple[Spot, ...]:
    """Move the spots of any sound layout apart until every piece lies midway between its neighbours.

    On three axes nothing hangs: what lies above others comes down upon them, the rest to the bottom.
    """
    orders = _orders_along(spots, room)
    starts = [_midway(spots, axis, orders[axis], room[axis]) for axis in (0, 1)]
    starts += [_pushed_back(spots, axis, orders[axis]) for axis in range(2, len(room))]
    return tuple(Spot(tuple(axis[index] for axis in starts), spot.size) for index, spot in enumerate(spots))


def extent(spots: tuple[Spot, ...], room: tuple[int, ...]) -> tuple[int, ...]:
    """Return the sides that the layout needs when its pieces are pushed together as they lie."""
    orders = _orders_along(spots, room)
    return tuple(
        max(start + spot.size[axis] for start, spot in zip(_pushed_back(spots, axis, orders[axis]), spots, strict=True))
        for axis in range(len(room))
    )


def _orders_along(spots: tuple[Spot, ...], room: tuple[int, ...]) -> list[list[tuple[int, int]]]:
    """Return per axis which piece lies before which; every two are apart along one axis, floor first."""
    orders: list[list[tuple[int, int]]] = [[] for _ in room]
    for pair in combinations(range(len(spots)), 2):
        first, second = (spots[index] for index in pair)
        gaps = [_gap(first, second, axis) for axis in (0, 1)]
        axis = max((0, 1), key=lambda axis: gaps[axis] / room[axis]) if max(gaps) >= 0 else 2
        orders[axis].append(pair if first.corner[axis] < second.corner[axis] else pair[::-1])
    return orders


def _midway(spots: tuple[Spot, ...], axis: int, order: list[tuple[int, int]], side: int) -> list[int]:
    """Whole numbers of a fine grain throughout, so that no rounding ever makes two pieces overlap."""
    starts = [spot.corner[axis] * _GRAIN for spot in spots]
    sizes = [spot.size[axis] * _GRAIN for spot in spots]
    for _ in range(_SWEEPS):
        for index, size in enumerate(sizes):
            low = max((starts[first] + sizes[first] for first, second in order if second == index), default=0)
            high = min((starts[second] for first, second in order if first == index), default=side * _GRAIN)
            starts[index] = (low + high - size) // 2
    return [(start + _GRAIN // 2) // _GRAIN for start in starts]


def _pushed_back(spots: tuple[Spot, ...], axis: int, order: list[tuple[int, int]]) -> list[int]:
    starts = [0] * len(spots)
    for index in sorted(range(len(spots)), key=lambda index: spots[index].corner[axis]):
        before = [first for first, second in order if second == index]
        starts[index] = max((starts[first] + spots[first].size[axis] for first in before), default=0)
    return starts
