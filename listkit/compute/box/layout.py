"""How a careful hand lays pieces out, and which search is asked in which order.

Footprints in rows where that works, spread evenly, the dearest near the middle; else what the searches find, moved
apart. All in whole units. Every choice has an order of preference, so the same pieces always lie the same way.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache, partial
from itertools import combinations, islice, permutations, product
from math import inf, prod
from typing import Literal, TypeVar

from listkit.compute.box import Block, Effort, Outcome, SpentError, Spot, Vector
from listkit.compute.box.circles import Nest, Outline, fill_corners, nestle
from listkit.compute.box.search import place

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


# From pieces in whole units to an arrangement in a room: which search is asked in which order.
#
# First what pleases, then what is exact: neat rows of flat pieces; side by side in any way; with as few pieces
# stood on edge as possible; above one another where that is allowed; and round pieces nestled as true circles.

MOST_EXACT = 8  # pieces; beyond, a search may end without an answer
_MOST_LOOKS = 100_000  # of one search for more pieces than that, about a quarter of a second
_MOST_TO_PLEASE = 10_000  # looks for laying more pieces flat
_MOST_ROUND = 12  # pieces; beyond, true circles are not tried
_MOST_PIECES = 300  # beyond, only their volume is looked at
_FINE = 100  # circles are placed in hundredths of a unit
_ROUND_IS, _BALL_IS = 0.785, 0.523  # of the bounding block; a little less than π/4 and π/6

PieceShape = Literal["box", "cylinder", "ball"]
Proof = Literal["found", "none as boxes", "not found", "not decided"]


@dataclass(frozen=True, slots=True, order=True)
class Solid:
    """A piece in whole units with nothing left but what decides how it may lie."""

    sides: tuple[int, int, int]
    shape: PieceShape
    upright: bool
    fragile: bool = False
    heavy: bool = False
    dearest: bool = False

    @property
    def round_standing(self) -> bool:
        """Whether it is a true circle seen from above while its height is vertical."""
        length, width, height = self.sides
        return length == width and (self.shape == "cylinder" or (self.shape == "ball" and height == width))

    @property
    def ball(self) -> bool:
        """Whether it is a true ball."""
        return self.shape == "ball" and self.round_standing


def poses(solid: Solid, tallest: int) -> tuple[Vector, ...]:
    """Return every way it may lie, no higher than `tallest`: the flattest first, then as the sides were given."""
    length, width, height = solid.sides
    ways = [(length, width, height), (width, length, height)] if solid.upright else list(permutations(solid.sides))
    return tuple(sorted({way: None for way in ways if way[2] <= tallest}, key=lambda way: way[2]))


@dataclass(frozen=True, slots=True)
class Arrangement:
    """The answer, spots in the order of the solids; they count in units of which `grain` make one of the room's.

    `tried` are the ways that were tried in vain, `looks` what laying out cost.
    """

    proof: Proof
    spots: tuple[Spot, ...] = ()
    grain: int = 1
    tried: tuple[str, ...] = ()
    looks: int = 0


@dataclass(frozen=True, slots=True)
class Decision:
    """Whether it can be done and how: on the floor ("side by side"), "stacked", or as "circles"; not yet pleasing.

    `looks` is what that cost, `tried` the ways that were tried; `spent` when the effort ended before a "no" was known.
    """

    way: Literal["side by side", "stacked", "circles", "no"]
    sure: bool = True
    spots: tuple[Spot, ...] = ()
    looks: int = 0
    tried: tuple[str, ...] = ()
    spent: bool = False

    @property
    def proof(self) -> Proof:
        """How it is known."""
        if self.way != "no":
            return "found"
        return "none as boxes" if self.sure else "not decided" if self.spent else "not found"


@lru_cache(maxsize=1 << 14)
def decide(solids: tuple[Solid, ...], room: Vector, stacked: bool, most_looks: int) -> Decision:
    """Return whether `solids` go into `room`; a pure function, remembered, so that alike variants share a search.

    Side by side only footprints count, and the higher a block stands, the smaller its footprint: so the smallest
    footprints decide. The dearest makes no difference here; leave it unmarked.
    """
    if not all(poses(solid, room[2]) for solid in solids) or _too_much(solids, room):
        return Decision("no")
    effort, sure, tried = Effort(most_looks), True, list[str]()
    for way, search in _searches(solids, room, stacked=stacked):
        if effort.left:
            tried.append(way)
            outcome = search(effort)
            if outcome.spots is not None:
                return Decision(way, spots=outcome.spots, looks=most_looks - effort.left)
            sure = outcome.sure if way != "circles" else sure
    sure = sure and effort.left > 0
    return Decision("no", sure, (), most_looks - effort.left, tuple(tried), spent=not sure and not effort.left)


def _too_much(solids: tuple[Solid, ...], room: Vector) -> bool:
    """Whether they have no room by their true volumes: three quarters of a round one's block, half of a ball's."""
    shares = ((_BALL_IS if solid.ball else _ROUND_IS if solid.round_standing else 1.0) for solid in solids)
    volumes = (prod(solid.sides) * share for solid, share in zip(solids, shares, strict=True))
    return min(room) <= 0 or sum(volumes) > prod(room)


Way = Literal["side by side", "stacked", "circles"]


def _searches(
    solids: tuple[Solid, ...], room: Vector, *, stacked: bool
) -> Iterator[tuple[Way, Callable[[Effort], Outcome]]]:
    """Yield the ways to lay them in the order in which they are tried: blocks first, circles where these fail."""
    if len(solids) > _MOST_PIECES:
        yield "side by side", lambda effort: Outcome(None, sure=False)
        return
    ways = [poses(solid, room[2]) for solid in solids]
    yield "side by side", lambda effort: _on_the_floor(tuple(way[-1] for way in ways), room, effort)
    if stacked:
        blocks = tuple(Block(way, (), solid.fragile, solid.heavy) for solid, way in zip(solids, ways, strict=True))
        yield "stacked", lambda effort: _search(blocks, room, effort)
    if len(solids) <= _MOST_ROUND and any(solid.round_standing for solid in solids):
        yield "circles", lambda effort: _nested(solids, room, effort, stacked=stacked)


@lru_cache(maxsize=1 << 14)
def arrange(solids: tuple[Solid, ...], room: Vector, decision: Decision, most_looks: int) -> Arrangement:
    """Return how `solids` lie in `room` after what was decided, laid as a careful hand would; pure and remembered."""
    if not solids:
        return Arrangement("found")
    if decision.way == "side by side":
        allowed = most_looks if len(solids) <= MOST_EXACT else min(most_looks, _MOST_TO_PLEASE)
        effort = Effort(allowed)
        spots = _laid_out(solids, room, decision.spots, effort)
        return Arrangement("found", spots, looks=allowed - effort.left)
    if decision.way == "stacked":
        return Arrangement("found", spread(decision.spots, room))
    if decision.way == "circles":
        return Arrangement("found", decision.spots, _FINE)
    return Arrangement(decision.proof, tried=decision.tried)


def _laid_out(solids: tuple[Solid, ...], room: Vector, spots: tuple[Spot, ...], effort: Effort) -> tuple[Spot, ...]:
    """Return neat rows of flat pieces, or as little stood on edge as possible; `spots` fit with all of it stood."""
    ways = [_standings(solid, room[2]) for solid in solids]
    flat = tuple(way[0] for way in ways)
    neat = _in_rows(solids, flat, room)
    if neat is not None:
        return neat
    least = tuple(way[-1] for way in ways)
    sizes = flat
    if flat != least:
        outcome = _on_the_floor(flat, room, effort, quick=True)
        if outcome.spots is None:
            sizes, spots = _flattest(solids, ways, room, spots, effort)
        spots = outcome.spots or spots
    return _in_rows(solids, sizes, room) or _stood(spread(spots, room[:2]), sizes)


def _standings(solid: Solid, tallest: int) -> tuple[Vector, ...]:
    """Return one pose for each height it may have, the flattest first."""
    by_height = {pose[2]: pose for pose in reversed(poses(solid, tallest))}
    return tuple(by_height[height] for height in sorted(by_height))


def _flattest(
    solids: tuple[Solid, ...],
    ways: list[tuple[Vector, ...]],
    room: Vector,
    spots: tuple[Spot, ...],
    effort: Effort,
) -> tuple[tuple[Vector, ...], tuple[Spot, ...]]:
    """Return sizes and spots with as much lying flat as does, tried piece by piece, the dearest first.

    `spots` fit with all of it stood.
    """
    sizes = tuple(way[-1] for way in ways)
    for index in sorted(range(len(ways)), key=lambda index: (not solids[index].dearest, -prod(ways[index][0][:2]))):
        for size in ways[index][:-1]:
            tried = (*sizes[:index], size, *sizes[index + 1 :])
            outcome = _on_the_floor(tried, room, effort, quick=True)
            if outcome.spots is not None:
                sizes, spots = tried, outcome.spots
                break
    return sizes, spots


def _on_the_floor(sizes: tuple[Vector, ...], room: Vector, effort: Effort, *, quick: bool = False) -> Outcome:
    """Search on two axes, every footprint either way round."""
    turns = (((length, width), (width, length)) for length, width, _ in sizes)
    return _search(tuple(Block(tuple(dict.fromkeys(turn))) for turn in turns), room[:2], effort, quick=quick)


def _search(blocks: tuple[Block, ...], room: Vector, effort: Effort, *, quick: bool = False) -> Outcome:
    """Search exactly for few blocks; corner by corner first for many, and, when `quick`, for these no other way."""
    if sum(min(map(prod, block.poses)) for block in blocks) > prod(room):
        return Outcome(None, sure=True)
    if len(blocks) <= MOST_EXACT:
        return place(blocks, room, effort=effort)
    part = Effort(min(effort.left, _MOST_LOOKS))
    effort.left -= part.left
    try:
        spots = fill_corners(blocks, room, part)
        outcome = Outcome(spots, sure=spots is not None)
        return outcome if spots or quick else place(blocks, room, effort=part)
    except SpentError:
        return Outcome(None, sure=False)
    finally:
        effort.left += part.left


def _in_rows(solids: tuple[Solid, ...], sizes: tuple[Vector, ...], room: Vector) -> tuple[Spot, ...] | None:
    dearest = next((index for index, solid in enumerate(solids) if solid.dearest), None)
    spots = in_rows(tuple((size[0], size[1]) for size in sizes), (room[0], room[1]), dearest)
    return None if spots is None else _stood(spots, sizes)


def _stood(spots: tuple[Spot, ...], sizes: tuple[Vector, ...]) -> tuple[Spot, ...]:
    """Give footprints their height back."""
    return tuple(Spot((*spot.corner, 0), (*spot.size, size[2])) for spot, size in zip(spots, sizes, strict=True))


def _nested(solids: tuple[Solid, ...], room: Vector, effort: Effort, *, stacked: bool) -> Outcome:
    """Try the true circles; what is found is moved to the middle of the room."""
    fine = tuple(side * _FINE for side in room)
    forms = tuple(_forms(solid, room[2], stacked=stacked) for solid in solids)
    forbidden = frozenset(
        (below, above)
        for below, lower in enumerate(solids)
        for above, upper in enumerate(solids)
        if stacked and below != above and lower.fragile and upper.heavy
    )
    try:
        spots = nestle(Nest(forms, fine if stacked else fine[:2], forbidden), effort)
    except SpentError:
        spots = None
    if spots is None:
        return Outcome(None, sure=False)
    if not stacked:  # a footprint's height is the side that it does not show
        heights = (sum(solid.sides) * _FINE - sum(spot.size) for spot, solid in zip(spots, solids, strict=True))
        spots = _stood(spots, tuple((*spot.size, height) for spot, height in zip(spots, heights, strict=True)))
    shift = []
    for axis in (0, 1):
        least = min(spot.corner[axis] for spot in spots)
        shift.append((fine[axis] - max(spot.corner[axis] + spot.size[axis] for spot in spots) - least) // 2)
    moved = (Spot((x + shift[0], y + shift[1], z), spot.size) for spot in spots for x, y, z in (spot.corner,))
    return Outcome(tuple(moved), sure=True)


def _forms(solid: Solid, tallest: int, *, stacked: bool) -> tuple[Outline, ...]:
    """Return circles first; of the straight ways all that may help: none above another, the least footprint."""
    forms = [_form(solid, pose, stacked=stacked) for pose in poses(solid, tallest)]
    if not stacked and forms:
        least = min(prod(form.size) for form in forms)
        forms = [form for form in forms if form.disc or prod(form.size) == least]
    return tuple(sorted(dict.fromkeys(forms), key=lambda form: not (form.disc or form.ball)))


def _form(solid: Solid, pose: Vector, *, stacked: bool) -> Outline:
    size = tuple(side * _FINE for side in (pose if stacked else pose[:2]))
    if solid.ball and stacked:
        return Outline(size, ball=size[0])
    standing = pose[2] == solid.sides[2] and pose[0] == pose[1]
    return Outline(size, disc=size[0] if solid.round_standing and standing else 0)
