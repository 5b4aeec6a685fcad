"""Round pieces close together: a quick search, which proves nothing.

Standing cylinders and balls are taken as the circles they are. Where bounding boxes do not fit, jars may still nestle
into each other's corners: from many fixed starts every two pieces that overlap are pushed apart until nothing
overlaps; what is found is then checked in whole numbers. It may miss a layout that exists. No clock, no chance: the
starts are an evenly spread sequence.

Nothing floats: what is raised comes down until it rests, and rests on the floor or on others under its middle.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from math import inf, isqrt, pi, prod, sqrt

from listkit.compute.box import Block, Effort, Spot, Vector
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
    """The question: each piece's outlines, the room, and who must not lie above whom (on the third axis).

    `resting` asks for what is raised to be held by others under its middle.
    """

    outlines: tuple[tuple[Outline, ...], ...]
    room: Vector
    forbidden: frozenset[tuple[int, int]] = frozenset()  # (below, above)
    resting: bool = False


def nestle(nest: Nest, effort: Effort) -> tuple[Spot, ...] | None:
    """Return spots in which no true shapes overlap, or None when none were found.

    Sides are whole units, best a thousandth of a millimetre; two axes look at circles from above.

    Raises:
        SpentError: the effort ended first.
    """
    fitting = (tuple(outline for outline in outlines if _goes_in(outline, nest.room)) for outlines in nest.outlines)
    nest = replace(nest, outlines=tuple(fitting))
    if not all(nest.outlines) or _too_much(nest):
        return None
    inner = _inner_blocks(nest)
    outcome = place(inner, nest.room, most_steps=_MOST_STEPS, effort=effort)
    if outcome.spots is None and outcome.sure:
        return None
    nearest = inf
    for number, (outlines, centres) in enumerate(_starts(nest, outcome.spots)):
        overlap = _push_apart(nest, outlines, centres, effort)
        if overlap <= _AIR / 2:
            spots = _whole(nest, outlines, centres)
            if sound(nest, outlines, spots):
                rested = at_rest(nest, outlines, spots) if nest.resting else spots
                if rested is not None:
                    return rested
        nearest = min(nearest, overlap)
        if number == _FEW and nearest > _HOPELESS * min(nest.room):
            return None
    return None


def _goes_in(outline: Outline, room: Vector) -> bool:
    return all(side <= most for side, most in zip(outline.size, room, strict=True))


def _too_much(nest: Nest) -> bool:
    """Whether the true shapes have more area (volume) than the room."""
    return sum(min(_content(outline) for outline in outlines) for outlines in nest.outlines) > prod(nest.room)


def _content(outline: Outline) -> float:
    if outline.ball:
        return prod(outline.size) * pi / 6
    return prod(outline.size) * (pi / 4 if outline.disc else 1)


def _inner_blocks(nest: Nest) -> tuple[Block, ...]:
    """Return the largest blocks inside the true shapes: where not even these fit, nothing does."""
    blocks = []
    for index, outlines in enumerate(nest.outlines):
        margins = [_margin(outline) for outline in outlines]
        margin = margins[0] if len(set(margins)) == 1 else (0,) * len(nest.room)
        fragile = any(below == index for below, _ in nest.forbidden)
        heavy = any(above == index for _, above in nest.forbidden)
        blocks.append(Block(tuple(map(_inner, outlines)), margin, fragile, heavy))
    return tuple(blocks)


def _inner(outline: Outline) -> Vector:
    """Square in a circle, cube in a ball, rounded down."""
    if outline.ball:
        return tuple(isqrt(side * side // 3) for side in outline.size)
    if outline.disc:
        return (*(isqrt(side * side // 2) for side in outline.size[:2]), *outline.size[2:])
    return outline.size


def _margin(outline: Outline) -> Vector:
    return tuple((side - inner) // 2 for side, inner in zip(outline.size, _inner(outline), strict=True))


Centre = list[float]  # one number an axis


def _starts(nest: Nest, inner: tuple[Spot, ...] | None) -> Iterator[tuple[list[Outline], list[Centre]]]:
    """Yield outlines and centres to begin from: where the inner blocks lay, then places spread over the room."""
    if inner is not None:
        outlines = [
            next(outline for outline in piece if _inner(outline) == spot.size)
            for piece, spot in zip(nest.outlines, inner, strict=True)
        ]
        yield outlines, [[at + side / 2 for at, side in zip(spot.corner, spot.size, strict=True)] for spot in inner]
    for start in range(1, _STARTS + 1):
        outlines = [piece[int(_share(start, index * 4 + 3) * len(piece))] for index, piece in enumerate(nest.outlines)]
        yield (
            outlines,
            [
                [
                    side / 2 + _share(start, index * 4 + axis) * (room - side)
                    for axis, (side, room) in enumerate(zip(outline.size, nest.room, strict=True))
                ]
                for index, outline in enumerate(outlines)
            ],
        )


def _share(start: int, number: int) -> float:
    """Return a share from 0 to 1: multiples of irrational numbers fill it evenly (Weyl's theorem)."""
    turn, prime = divmod(number, len(_PRIMES))
    return start * sqrt(_PRIMES[prime] + turn / 7) % 1


@dataclass(frozen=True, slots=True)
class _Meeting:
    """What decides whether two pieces are apart, all in units, as sums over both."""

    first: int
    second: int
    reach: tuple[float, ...]  # half sides of the bounding blocks
    core: tuple[float, float]  # half sides of what is not round, seen from above
    disc: float  # radii of circles
    ball: float  # radii of balls
    stand: float  # half heights of what is no ball
    upward: bool  # whether the second may lie above the first, and below it
    downward: bool


def _meeting(nest: Nest, outlines: Sequence[Outline], first: int, second: int) -> _Meeting:
    two = (outlines[first], outlines[second])
    straight = [outline for outline in two if not outline.disc and not outline.ball]
    upward, downward = (first, second) not in nest.forbidden, (second, first) not in nest.forbidden
    flat = not (upward and downward)  # a ball above what it must not lie above is looked at from above, too
    return _Meeting(
        first=first,
        second=second,
        reach=tuple((sides[0] + sides[1]) / 2 for sides in zip(two[0].size, two[1].size, strict=True)),
        core=(sum(outline.size[0] for outline in straight) / 2, sum(outline.size[1] for outline in straight) / 2),
        disc=sum(outline.disc or (outline.ball if flat else 0) for outline in two) / 2,
        ball=0 if flat else sum(outline.ball for outline in two) / 2,
        stand=sum(o.size[2] for o in two if flat or not o.ball) / 2 if len(nest.room) == 3 else 0,
        upward=upward,
        downward=downward,
    )


def _push_apart(nest: Nest, outlines: list[Outline], centres: list[Centre], effort: Effort) -> float:
    """Push overlapping pieces apart, sweep after sweep; return how deep the worst overlap still is."""
    meetings = [_meeting(nest, outlines, *pair) for pair in combinations(range(len(outlines)), 2)]
    bounds = [
        (centre, axis, side / 2, room - side / 2)
        for centre, outline in zip(centres, outlines, strict=True)
        for axis, (side, room) in enumerate(zip(outline.size, nest.room, strict=True))
    ]
    before = deepest = inf
    for sweep in range(1, _SWEEPS + 1):
        deepest = 0.0
        effort.spend(len(meetings))
        for meeting in meetings:
            depth = _part(meeting, centres[meeting.first], centres[meeting.second])
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


def _part(meeting: _Meeting, first: Centre, second: Centre) -> float:
    """Move the two apart by the shortest way and return how deep they overlapped."""
    across, along = second[0] - first[0], second[1] - first[1]
    if abs(across) >= meeting.reach[0] + _AIR or abs(along) >= meeting.reach[1] + _AIR:
        return 0.0
    depth, way = _beside(meeting, across, along)
    if len(first) == 3:
        depth, way = min([(depth, (*way, 0.0)), *_ways_up(meeting, across, along, second[2] - first[2])])
    depth += _AIR
    if depth <= 0:
        return 0.0
    for axis, share in enumerate(way):
        first[axis] -= share * depth / 2
        second[axis] += share * depth / 2
    return depth


def _beside(meeting: _Meeting, across: float, along: float) -> tuple[float, tuple[float, ...]]:
    """Return how deep two pieces overlap seen from above, and the direction in which the second has to go."""
    right, back = (1.0 if across >= 0 else -1.0), (1.0 if along >= 0 else -1.0)
    over, past = abs(across) - meeting.core[0], abs(along) - meeting.core[1]
    if (meeting.disc or meeting.ball) and ((over > 0 and past > 0) or not any(meeting.core)):
        away = sqrt(over * over + past * past)
        way = (right * over / away, back * past / away) if away else (1.0, 0.0)
        return meeting.disc + meeting.ball - away, way
    if meeting.reach[0] - abs(across) <= meeting.reach[1] - abs(along):
        return meeting.reach[0] - abs(across), (right, 0.0)
    return meeting.reach[1] - abs(along), (0.0, back)


def _ways_up(
    meeting: _Meeting, across: float, along: float, height: float
) -> Iterator[tuple[float, tuple[float, float, float]]]:
    """Yield the ways apart that go up or down: straight, and over the rim of what a ball rests on."""
    up = 1.0 if height >= 0 else -1.0
    if meeting.upward if height >= 0 else meeting.downward:
        yield meeting.reach[2] - abs(height), (0.0, 0.0, up)
    elif meeting.downward if height >= 0 else meeting.upward:
        yield meeting.reach[2] + abs(height), (0.0, 0.0, -up)
    over, past = max(abs(across) - meeting.core[0], 0.0), max(abs(along) - meeting.core[1], 0.0)
    away, above = sqrt(over * over + past * past), abs(height) - meeting.stand
    beside = away - meeting.disc
    if meeting.ball and beside > 0 and above > 0:
        rim = sqrt(beside * beside + above * above)
        lean = beside / rim / away
        right, back = (lean if across >= 0 else -lean), (lean if along >= 0 else -lean)
        yield meeting.ball - rim, (right * over, back * past, up * above / rim)


def _whole(nest: Nest, outlines: list[Outline], centres: list[Centre]) -> tuple[Spot, ...]:
    """Return the centres as corners in whole units, inside the room."""
    return tuple(
        Spot(
            tuple(
                min(max(round(at - side / 2), 0), room - side)
                for at, side, room in zip(centre, outline.size, nest.room, strict=True)
            ),
            outline.size,
        )
        for outline, centre in zip(outlines, centres, strict=True)
    )


def sound(nest: Nest, outlines: Sequence[Outline], spots: Sequence[Spot]) -> bool:
    """Whether no two true shapes overlap and nobody lies above whom he must not; in whole numbers."""
    return all(
        _apart(_meeting(nest, outlines, first, second), spots[first], spots[second])
        for first, second in combinations(range(len(spots)), 2)
    )


def _apart(meeting: _Meeting, first: Spot, second: Spot) -> bool:
    """Decide in doubled units, where every sum of halves is whole."""
    offset = [
        abs(2 * to + its - 2 * at - side)
        for at, side, to, its in zip(first.corner, first.size, second.corner, second.size, strict=True)
    ]
    if any(offset[axis] >= round(2 * meeting.reach[axis]) for axis in (0, 1)):
        return True
    disc, ball, stand = round(2 * meeting.disc), round(2 * meeting.ball), round(2 * meeting.stand)
    part = [max(offset[axis] - round(2 * meeting.core[axis]), 0) for axis in (0, 1)]
    away = part[0] ** 2 + part[1] ** 2
    if (disc or ball) and away >= (disc + ball) ** 2:
        return True
    if len(offset) < 3:
        return False
    above = offset[2] - stand
    if above >= ball:
        return meeting.upward if first.corner[2] < second.corner[2] else meeting.downward
    beyond = away - disc**2 - (ball**2 - above**2)  # disc + sqrt(ball² - above²) away, squared twice
    return above > 0 and beyond >= 0 and beyond**2 >= 4 * disc**2 * (ball**2 - above**2)


# What rests: pieces come down one after the other, the lowest first, each until it meets another or the floor. Walls
# hold nothing up, nor does another's bounding block where the other is round.

_ROUND = ((1.0, 0.0), (sqrt(2 + sqrt(3)) / 2, sqrt(2 - sqrt(3)) / 2), (sqrt(3) / 2, 0.5), (sqrt(0.5), sqrt(0.5)))
"""The unit circle from 0 to 45 degrees in steps of 15; square roots are the same on every machine."""
Point = tuple[float, float]


def at_rest(
    nest: Nest, outlines: Sequence[Outline], spots: Sequence[Spot], *, all_held: bool = True
) -> tuple[Spot, ...] | None:
    """Return the spots after everything has come down; None when a raised piece has nobody under its middle.

    With `all_held` left off only round pieces are asked for that.
    """
    rested = dict[int, Spot]()
    for index in sorted(range(len(spots)), key=lambda index: (spots[index].corner[2], index)):
        spot = spots[index]
        stops = {below: _stop(nest, outlines, (below, rested[below]), (index, spot)) for below in rested}
        low = max((stop for stop in stops.values() if stop <= spot.corner[2]), default=0)
        rested[index] = Spot((*spot.corner[:2], low), spot.size)
        holders = [below for below, stop in stops.items() if stop == low]
        asked = all_held or outlines[index].disc or outlines[index].ball
        if low and asked and not _held(outlines, rested, index, holders):
            return None
    lowered = tuple(rested[index] for index in range(len(spots)))
    return lowered if sound(nest, outlines, lowered) else None


def _stop(nest: Nest, outlines: Sequence[Outline], lower: tuple[int, Spot], upper: tuple[int, Spot]) -> int:
    """Return how low the upper piece comes before it meets the lower one; 0 when it passes."""
    (below, there), (above, spot) = lower, upper
    meeting = replace(_meeting(nest, outlines, below, above), upward=True, downward=True)
    top = there.corner[2] + there.size[2]

    def apart(height: int) -> bool:
        return _apart(meeting, there, Spot((*spot.corner[:2], height), spot.size))

    nearest = there.corner[2] + (there.size[2] - spot.size[2]) // 2
    if apart(nearest) or nearest >= spot.corner[2]:
        return 0
    while nearest + 1 < top:
        middle = (nearest + top) // 2
        nearest, top = (nearest, middle) if apart(middle) else (middle, top)
    return top


def _held(outlines: Sequence[Outline], rested: dict[int, Spot], index: int, holders: list[int]) -> bool:
    """Whether the middle of a piece is over what holds it up, or between."""
    middle = _centre(rested[index])
    points: list[Point] = []
    for holder in holders:
        if outlines[index].ball or outlines[holder].ball:  # they touch in one point
            points.append(_nearest(outlines[holder], rested[holder], middle))
        else:
            points += _clipped(_ring(outlines[index], rested[index]), _ring(outlines[holder], rested[holder]))
    about = [(x - middle[0], y - middle[1]) for x, y in points]
    return bool(about) and not any(
        all(x * v - y * u > 0 or (x * v == y * u and x * u + y * v > 0) for u, v in about) for x, y in about
    )


def _centre(spot: Spot) -> Point:
    return spot.corner[0] + spot.size[0] / 2, spot.corner[1] + spot.size[1] / 2


def _nearest(outline: Outline, spot: Spot, point: Point) -> Point:
    """Return where a ball over `point` touches: the nearest point of a footprint, the middle of a ball."""
    centre = _centre(spot)
    if outline.ball:
        return centre
    across, along = point[0] - centre[0], point[1] - centre[1]
    if outline.disc:
        away = sqrt(across * across + along * along)
        share = min(1.0, outline.disc / 2 / away) if away else 1.0
        return centre[0] + across * share, centre[1] + along * share
    half = (spot.size[0] / 2, spot.size[1] / 2)
    return centre[0] + min(max(across, -half[0]), half[0]), centre[1] + min(max(along, -half[1]), half[1])


def _ring(outline: Outline, spot: Spot) -> list[Point]:
    """Return the corners of a footprint, counterclockwise; of a circle 24 points of it."""
    (x, y), (length, width) = spot.corner[:2], spot.size[:2]
    if not outline.disc:
        return [(x, y), (x + length, y), (x + length, y + width), (x, y + width)]
    eighth = [*_ROUND, *((v, u) for u, v in reversed(_ROUND[:3]))]
    quarters = [(u, v) for u, v in eighth[:-1]]
    ring = list(quarters)
    for _ in range(3):
        quarters = [(-v, u) for u, v in quarters]
        ring += quarters
    centre, radius = _centre(spot), outline.disc / 2
    return [(centre[0] + u * radius, centre[1] + v * radius) for u, v in ring]


def _clipped(ring: list[Point], by: list[Point]) -> list[Point]:
    """Return what two convex rings share (Sutherland and Hodgman, 1974)."""
    for (x, y), (u, v) in zip(by, [*by[1:], by[0]], strict=True):
        inside = [(u - x) * (q - y) - (v - y) * (p - x) for p, q in ring]
        kept: list[Point] = []
        for at, (p, q) in enumerate(ring):
            before, here = inside[at - 1], inside[at]
            if before * here < 0:
                share = before / (before - here)
                kept.append(
                    (ring[at - 1][0] + share * (p - ring[at - 1][0]), ring[at - 1][1] + share * (q - ring[at - 1][1]))
                )
            if here >= 0:
                kept.append((p, q))
        ring = kept
        if not ring:
            break
    return ring
