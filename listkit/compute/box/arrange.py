"""From pieces in whole units to an arrangement in a room: which search is asked in which order.

First what pleases, then what is exact: neat rows of flat pieces; side by side in any way; with as few pieces stood on
edge as possible; above one another where that is allowed; and round pieces nestled as true circles.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import permutations
from math import prod
from typing import Literal

from listkit.compute.box import Block, Effort, Outcome, SpentError, Spot, Vector
from listkit.compute.box.circles import Nest, Outline, at_rest, nestle
from listkit.compute.box.layout import in_rows, spread
from listkit.compute.box.search import place

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
        yield "stacked", lambda effort: _stacked(solids, room, effort)
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
        return Arrangement("found", decision.spots)
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


def _stacked(solids: tuple[Solid, ...], room: Vector, effort: Effort) -> Outcome:
    """Search on three axes; no round piece is left on the corner of a block that is round itself, or on nothing."""
    blocks = (Block(poses(solid, room[2]), (), solid.fragile, solid.heavy) for solid in solids)
    outcome = _search(tuple(blocks), room, effort)
    if outcome.spots is None:
        return outcome
    spots = spread(outcome.spots, room)
    if not any(solid.round_standing for solid in solids):
        return Outcome(spots, sure=True)
    for tried in (spots, outcome.spots):
        outlines = [_outline(solid, spot.size) for solid, spot in zip(solids, tried, strict=True)]
        nest = Nest(tuple((outline,) for outline in outlines), room, _crushing(solids))
        rested = at_rest(nest, outlines, tried, all_held=False)
        if rested is not None:
            return Outcome(rested, sure=True)
    return Outcome(None, sure=False)


def _outline(solid: Solid, size: Vector) -> Outline:
    """Return the true shape of a piece that takes this size."""
    if solid.ball:
        return Outline(size, ball=size[0])
    standing = size[2] == solid.sides[2] and size[0] == size[1]
    return Outline(size, disc=size[0] if solid.round_standing and standing else 0)


def _crushing(solids: tuple[Solid, ...]) -> frozenset[tuple[int, int]]:
    """Return which piece must not have which other above it."""
    every = range(len(solids))
    crushed, heavy = (
        [at for at in every if mark[at]] for mark in ([s.fragile for s in solids], [s.heavy for s in solids])
    )
    return frozenset((low, high) for low in crushed for high in heavy if low != high)


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
    forbidden = _crushing(solids) if stacked else frozenset[tuple[int, int]]()
    try:
        spots = nestle(Nest(forms, fine if stacked else fine[:2], forbidden, resting=stacked), effort)
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
    outline = _outline(solid, pose)
    size = tuple(side * _FINE for side in (pose if stacked else pose[:2]))
    if stacked:
        return Outline(size, outline.disc * _FINE, outline.ball * _FINE)
    return Outline(size, disc=(outline.disc or outline.ball) * _FINE)


# Many pieces: each goes to the lowest, foremost, leftmost corner that those before it have left. Quick and often right,
# never a proof: a few orders of the pieces are tried, always the same ones.


_ORDERS: tuple[Callable[[Block], tuple[int, ...]], ...] = (
    lambda block: (-prod(block.poses[0]),),
    lambda block: (-max(block.poses[0]), -prod(block.poses[0])),
    lambda block: (-min(block.poses[0]), -prod(block.poses[0])),
    lambda block: (-block.poses[0][-1], -prod(block.poses[0])),
)


def fill_corners(blocks: tuple[Block, ...], room: Vector, effort: Effort) -> tuple[Spot, ...] | None:
    """Return spots in block order when one of the orders fits everything in, else None.

    Raises:
        SpentError: the effort ended first.
    """
    if not all(block.poses for block in blocks):
        return None
    for rank in _ORDERS:
        keys = [(not block.heavy, rank(block)) for block in blocks]
        ranked = sorted(range(len(blocks)), key=keys.__getitem__)
        for turn in (False, True):
            spots = _fill([blocks[index] for index in ranked], room, effort, turn=turn)
            if spots is not None:
                spot_of = dict(zip(ranked, spots, strict=True))
                return tuple(spot_of[index] for index in range(len(blocks)))
    return None


def _fill(blocks: list[Block], room: Vector, effort: Effort, *, turn: bool) -> list[Spot] | None:
    """Place the blocks in this order, their poses as preferred or the last first."""
    laid: list[tuple[Block, Spot]] = []
    for block in blocks:
        effort.spend(3 * len(laid) ** 2)  # so many corners, each held against all
        spot = _first_place(block, laid, room, block.poses[::-1] if turn else block.poses)
        if spot is None:
            return None
        laid.append((block, spot))
    return [spot for _, spot in laid]


def _first_place(block: Block, laid: list[tuple[Block, Spot]], room: Vector, poses: tuple[Vector, ...]) -> Spot | None:
    for corner in _corners([spot for _, spot in laid], len(room)):
        for pose in poses:
            if all(at + side <= most for at, side, most in zip(corner, pose, room, strict=True)):
                spot = Spot(corner, pose)
                if all(_agree(block, spot, *there) for there in laid):
                    return spot
    return None


def _corners(spots: list[Spot], axes: int) -> list[Vector]:
    """Return where a corner may go: behind, beside and on every spot, pushed back as far as it is free."""
    corners = {(0,) * axes}
    for spot in spots:
        for axis in range(axes):
            corner = list(spot.corner)
            corner[axis] += spot.size[axis]
            corners.add(tuple(corner))
            for along in range(axes):
                if along != axis:
                    pushed = list(corner)
                    pushed[along] = _pushed_back(pushed, along, spots)
                    corners.add(tuple(pushed))
    return sorted(corners, key=lambda corner: corner[::-1])


def _pushed_back(corner: list[int], axis: int, spots: list[Spot]) -> int:
    """Return how far back a point can go along an axis before it meets a spot or the wall."""
    in_the_way = (
        spot.corner[axis] + spot.size[axis]
        for spot in spots
        if spot.corner[axis] + spot.size[axis] <= corner[axis]
        and all(
            spot.corner[along] <= at < spot.corner[along] + spot.size[along]
            for along, at in enumerate(corner)
            if along != axis
        )
    )
    return max(in_the_way, default=0)


def _agree(block: Block, spot: Spot, laid_block: Block, laid: Spot) -> bool:
    """Whether two spots do not overlap, and nothing heavy lies above something fragile."""
    apart = [
        at + side <= to or to + its <= at
        for at, side, to, its in zip(spot.corner, spot.size, laid.corner, laid.size, strict=True)
    ]
    if any(apart[:2]):
        return True
    if not apart[-1]:
        return False
    upper, lower = (block, laid_block) if spot.corner[-1] > laid.corner[-1] else (laid_block, block)
    return not (upper.heavy and lower.fragile)
