"""Round pieces close together: a search that takes standing cylinders and balls as the circles they are.

Where bounding boxes do not fit, jars may still nestle into each other's corners. From many fixed starts every
two pieces that overlap are pushed apart until nothing overlaps; what is found is then checked in whole numbers.
It may miss a layout that exists, so it never proves that there is none. No clock, no chance: the starts are an
evenly spread sequence.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from math import inf, isqrt, pi, prod, sqrt

from listkit.compute.box import Block, Spot, Vector
from listkit.compute.box.search import place

_STARTS = 48
_FEW = 8  # starts after which the rest is left out unless the nearest overlap is below
_HOPELESS = 0.03  # of the shortest side
_SWEEPS = 400
_LOOK = 30  # sweeps after which a start is given up unless its overlaps have shrunk to
_SHRUNK = 0.8
_AIR = 2.0  # units kept between pieces, so that rounding to whole units is safe
_PRIMES = (2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71, 73, 79, 83, 89, 97)
_MOST_STEPS = 2000


@dataclass(frozen=True, slots=True)
class Outline:
    """One way a piece may lie: its bounding sides, and its diameter if it is a circle from above or a ball."""

    size: Vector
    disc: int = 0
    ball: int = 0


@dataclass(frozen=True, slots=True)
class Nest:
    """The question: each piece's forms, the room, and who must not lie above whom (on the third axis)."""

    forms: tuple[tuple[Outline, ...], ...]
    room: Vector
    forbidden: frozenset[tuple[int, int]] = frozenset()  # (below, above)


def nestle(nest: Nest) -> tuple[Spot, ...] | None:
    """Return spots in which no true shapes overlap, or None when none were found.

    Sides are whole units, best a thousandth of a millimetre; two axes look at circles from above.
    """
    fitting = (tuple(form for form in forms if _goes_in(form, nest.room)) for forms in nest.forms)
    nest = replace(nest, forms=tuple(fitting))
    if not all(nest.forms) or _too_much(nest):
        return None
    inner = _inner_blocks(nest)
    outcome = place(inner, nest.room, most_steps=_MOST_STEPS)
    if outcome.spots is None and outcome.sure:
        return None
    nearest = inf
    for number, (forms, centres) in enumerate(_starts(nest, outcome.spots)):
        overlap = _push_apart(nest, forms, centres)
        if overlap <= _AIR / 2:
            spots = _whole(nest, forms, centres)
            if sound(nest, forms, spots):
                return spots
        nearest = min(nearest, overlap)
        if number == _FEW and nearest > _HOPELESS * min(nest.room):
            return None
    return None


def _goes_in(form: Outline, room: Vector) -> bool:
    return all(side <= most for side, most in zip(form.size, room, strict=True))


def _too_much(nest: Nest) -> bool:
    """Whether the true shapes have more area (volume) than the room."""
    return sum(min(_content(form) for form in forms) for forms in nest.forms) > prod(nest.room)


def _content(form: Outline) -> float:
    if form.ball:
        return prod(form.size) * pi / 6
    return prod(form.size) * (pi / 4 if form.disc else 1)


def _inner_blocks(nest: Nest) -> tuple[Block, ...]:
    """Return the largest blocks inside the true shapes: where not even these fit, nothing does."""
    blocks = []
    for index, forms in enumerate(nest.forms):
        margins = [_margin(form) for form in forms]
        margin = margins[0] if len(set(margins)) == 1 else (0,) * len(nest.room)
        fragile = any(below == index for below, _ in nest.forbidden)
        heavy = any(above == index for _, above in nest.forbidden)
        blocks.append(Block(tuple(map(_inner, forms)), margin, fragile, heavy))
    return tuple(blocks)


def _inner(form: Outline) -> Vector:
    """Square in a circle, cube in a ball, rounded down."""
    if form.ball:
        return tuple(isqrt(side * side // 3) for side in form.size)
    if form.disc:
        return (*(isqrt(side * side // 2) for side in form.size[:2]), *form.size[2:])
    return form.size


def _margin(form: Outline) -> Vector:
    return tuple((side - inner) // 2 for side, inner in zip(form.size, _inner(form), strict=True))


Centre = list[float]  # one number an axis


def _starts(nest: Nest, inner: tuple[Spot, ...] | None) -> Iterator[tuple[list[Outline], list[Centre]]]:
    """Yield forms and centres to begin from: where the inner blocks lay, then places spread over the room."""
    if inner is not None:
        forms = [
            next(form for form in piece if _inner(form) == spot.size)
            for piece, spot in zip(nest.forms, inner, strict=True)
        ]
        yield forms, [[at + side / 2 for at, side in zip(spot.corner, spot.size, strict=True)] for spot in inner]
    for start in range(1, _STARTS + 1):
        forms = [piece[int(_share(start, index * 4 + 3) * len(piece))] for index, piece in enumerate(nest.forms)]
        yield (
            forms,
            [
                [
                    side / 2 + _share(start, index * 4 + axis) * (room - side)
                    for axis, (side, room) in enumerate(zip(form.size, nest.room, strict=True))
                ]
                for index, form in enumerate(forms)
            ],
        )


def _share(start: int, number: int) -> float:
    """Return a share from 0 to 1: multiples of irrational numbers fill it evenly (Weyl's theorem)."""
    turn, prime = divmod(number, len(_PRIMES))
    return start * sqrt(_PRIMES[prime] + turn / 7) % 1


@dataclass(frozen=True, slots=True)
class _Pair:
    """What decides whether two pieces are apart, all in units, as sums over both."""

    one: int
    other: int
    reach: tuple[float, ...]  # half sides of the bounding blocks
    core: tuple[float, float]  # half sides of what is not round, seen from above
    disc: float  # radii of circles
    ball: float  # radii of balls
    stand: float  # half heights of what is no ball
    upward: bool  # whether the other may lie above the one, and below it
    downward: bool


def _pair(nest: Nest, forms: Sequence[Outline], one: int, other: int) -> _Pair:
    two = (forms[one], forms[other])
    straight = [form for form in two if not form.disc and not form.ball]
    upward, downward = (one, other) not in nest.forbidden, (other, one) not in nest.forbidden
    flat = not (upward and downward)  # a ball above what it must not lie above is looked at from above, too
    ball = 0 if flat else sum(form.ball for form in two) / 2
    return _Pair(
        one,
        other,
        tuple((sides[0] + sides[1]) / 2 for sides in zip(two[0].size, two[1].size, strict=True)),
        (sum(form.size[0] for form in straight) / 2, sum(form.size[1] for form in straight) / 2),
        sum(form.disc or (form.ball if flat else 0) for form in two) / 2,
        ball,
        sum(form.size[2] for form in two if flat or not form.ball) / 2 if len(nest.room) == 3 else 0,
        upward,
        downward,
    )


def _push_apart(nest: Nest, forms: list[Outline], centres: list[Centre]) -> float:
    """Push overlapping pieces apart, sweep after sweep; return how deep the worst overlap still is."""
    pairs = [_pair(nest, forms, *both) for both in combinations(range(len(forms)), 2)]
    bounds = [
        (centre, axis, side / 2, room - side / 2)
        for centre, form in zip(centres, forms, strict=True)
        for axis, (side, room) in enumerate(zip(form.size, nest.room, strict=True))
    ]
    before = deepest = inf
    for sweep in range(1, _SWEEPS + 1):
        deepest = 0.0
        for pair in pairs:
            depth = _part(pair, centres[pair.one], centres[pair.other])
            deepest = max(deepest, depth)
        for centre, axis, low, high in bounds:
            centre[axis] = min(max(centre[axis], low), high)
        if deepest <= _AIR / 2:
            break
        if sweep % _LOOK == 0:
            if deepest > _SHRUNK * before:
                break
            before = deepest
    return deepest


def _part(pair: _Pair, one: Centre, other: Centre) -> float:
    """Move the two apart by the shortest way and return how deep they overlapped."""
    across, along = other[0] - one[0], other[1] - one[1]
    if abs(across) >= pair.reach[0] + _AIR or abs(along) >= pair.reach[1] + _AIR:
        return 0.0
    depth, way = _beside(pair, across, along)
    if len(one) == 3:
        depth, way = min((depth, (*way, 0.0)), *_ways_up(pair, across, along, other[2] - one[2]))
    depth += _AIR
    if depth <= 0:
        return 0.0
    for axis, share in enumerate(way):
        one[axis] -= share * depth / 2
        other[axis] += share * depth / 2
    return depth


def _beside(pair: _Pair, across: float, along: float) -> tuple[float, tuple[float, ...]]:
    """Return how deep two pieces overlap seen from above, and the direction in which the other has to go."""
    right, back = (1.0 if across >= 0 else -1.0), (1.0 if along >= 0 else -1.0)
    over, past = abs(across) - pair.core[0], abs(along) - pair.core[1]
    if (pair.disc or pair.ball) and ((over > 0 and past > 0) or not any(pair.core)):
        away = sqrt(over * over + past * past)
        way = (right * over / away, back * past / away) if away else (1.0, 0.0)
        return pair.disc + pair.ball - away, way
    if pair.reach[0] - abs(across) <= pair.reach[1] - abs(along):
        return pair.reach[0] - abs(across), (right, 0.0)
    return pair.reach[1] - abs(along), (0.0, back)


def _ways_up(
    pair: _Pair, across: float, along: float, height: float
) -> Iterator[tuple[float, tuple[float, float, float]]]:
    """Yield the ways apart that go up or down: straight, and over the rim of what a ball rests on."""
    up = 1.0 if height >= 0 else -1.0
    if pair.upward if height >= 0 else pair.downward:
        yield pair.reach[2] - abs(height), (0.0, 0.0, up)
    elif pair.downward if height >= 0 else pair.upward:
        yield pair.reach[2] + abs(height), (0.0, 0.0, -up)
    over, past = max(abs(across) - pair.core[0], 0.0), max(abs(along) - pair.core[1], 0.0)
    away, above = sqrt(over * over + past * past), abs(height) - pair.stand
    beside = away - pair.disc
    if pair.ball and beside > 0 and above > 0:
        rim = sqrt(beside * beside + above * above)
        lean = beside / rim / away
        right, back = (lean if across >= 0 else -lean), (lean if along >= 0 else -lean)
        yield pair.ball - rim, (right * over, back * past, up * above / rim)


def _whole(nest: Nest, forms: list[Outline], centres: list[Centre]) -> tuple[Spot, ...]:
    """Return the centres as corners in whole units, inside the room."""
    return tuple(
        Spot(
            tuple(
                min(max(round(at - side / 2), 0), room - side)
                for at, side, room in zip(centre, form.size, nest.room, strict=True)
            ),
            form.size,
        )
        for form, centre in zip(forms, centres, strict=True)
    )


def sound(nest: Nest, forms: Sequence[Outline], spots: Sequence[Spot]) -> bool:
    """Whether no two true shapes overlap and nobody lies above whom he must not; in whole numbers."""
    return all(
        _apart(_pair(nest, forms, one, other), spots[one], spots[other])
        for one, other in combinations(range(len(spots)), 2)
    )


def _apart(pair: _Pair, one: Spot, other: Spot) -> bool:
    """Decide in doubled units, where every sum of halves is whole."""
    offset = [
        abs(2 * there + its - 2 * here - own)
        for here, own, there, its in zip(one.corner, one.size, other.corner, other.size, strict=True)
    ]
    if any(offset[axis] >= round(2 * pair.reach[axis]) for axis in (0, 1)):
        return True
    disc, ball, stand = round(2 * pair.disc), round(2 * pair.ball), round(2 * pair.stand)
    part = [max(offset[axis] - round(2 * pair.core[axis]), 0) for axis in (0, 1)]
    away = part[0] ** 2 + part[1] ** 2
    if (disc or ball) and away >= (disc + ball) ** 2:
        return True
    if len(offset) < 3:
        return False
    above = offset[2] - stand
    if above >= ball:
        return pair.upward if one.corner[2] < other.corner[2] else pair.downward
    beyond = away - disc**2 - (ball**2 - above**2)  # disc + sqrt(ball² - above²) away, squared twice
    return above > 0 and beyond >= 0 and beyond**2 >= 4 * disc**2 * (ball**2 - above**2)


# Many pieces: each goes to the lowest, foremost, leftmost corner that those before it have left.
#
# Quick and often right, never a proof: a few orders of the pieces are tried, always the same ones.

_ORDERS: tuple[Callable[[Block], tuple[int, ...]], ...] = (
    lambda block: (-prod(block.poses[0]),),
    lambda block: (-max(block.poses[0]), -prod(block.poses[0])),
    lambda block: (-min(block.poses[0]), -prod(block.poses[0])),
    lambda block: (-block.poses[0][-1], -prod(block.poses[0])),
)


def fill_corners(blocks: tuple[Block, ...], room: Vector) -> tuple[Spot, ...] | None:
    """Return spots in block order when one of the orders fits everything in, else None."""
    if not all(block.poses for block in blocks):
        return None
    for rank in _ORDERS:
        keys = [(not block.heavy, rank(block)) for block in blocks]
        ranked = sorted(range(len(blocks)), key=keys.__getitem__)
        for turn in (False, True):
            spots = _fill([blocks[index] for index in ranked], room, turn=turn)
            if spots is not None:
                found = dict(zip(ranked, spots, strict=True))
                return tuple(found[index] for index in range(len(blocks)))
    return None


def _fill(blocks: list[Block], room: Vector, *, turn: bool) -> list[Spot] | None:
    """Place the blocks in this order, their poses as preferred or the last first."""
    laid: list[tuple[Block, Spot]] = []
    for block in blocks:
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
                if all(_agree(block, spot, other, its) for other, its in laid):
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
            for other in range(axes):
                if other != axis:
                    pushed = list(corner)
                    pushed[other] = _pushed_back(pushed, other, spots)
                    corners.add(tuple(pushed))
    return sorted(corners, key=lambda corner: corner[::-1])


def _pushed_back(corner: list[int], axis: int, spots: list[Spot]) -> int:
    """Return how far back a point can go along an axis before it meets a spot or the wall."""
    in_the_way = (
        spot.corner[axis] + spot.size[axis]
        for spot in spots
        if spot.corner[axis] + spot.size[axis] <= corner[axis]
        and all(
            spot.corner[other] <= at < spot.corner[other] + spot.size[other]
            for other, at in enumerate(corner)
            if other != axis
        )
    )
    return max(in_the_way, default=0)


def _agree(block: Block, spot: Spot, other: Block, its: Spot) -> bool:
    """Whether two spots do not overlap, and nothing heavy lies above something fragile."""
    apart = [
        at + side <= there or there + reach <= at
        for at, side, there, reach in zip(spot.corner, spot.size, its.corner, its.size, strict=True)
    ]
    if any(apart[:2]):
        return True
    if not apart[-1]:
        return False
    upper, lower = (block, other) if spot.corner[-1] > its.corner[-1] else (other, block)
    return not (upper.heavy and lower.fragile)
