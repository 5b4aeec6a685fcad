"""An independent look at a layout: what is wrong with it, measured on the true shapes."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import combinations

from listkit.compute.box import Block, Spot, Vector
from listkit.compute.box.fit import BoxPiece, Inside, Laid, Verdict

HAIR = Decimal("1e-15")  # of what a square root may be off


def faults(pieces: tuple[BoxPiece, ...], inside: Inside, verdict: Verdict, rule: Decimal | None = None) -> list[str]:
    """Return what is wrong with the layout; `rule` is the heaviest that may lie above something fragile."""
    if [laid.code for laid in verdict.layout] != [piece.code for piece in pieces]:
        return ["not the pieces in their order"]
    both = list(zip(pieces, verdict.layout, strict=True))
    found = [fault for piece, laid in both for fault in _alone(piece, laid)]
    found += list(_room(inside, verdict.layout))
    for one, other in combinations(both, 2):
        if not _apart(one, other):
            found.append(f"{one[1]} overlaps {other[1]}")
        for (lower, below), (upper, above) in ((one, other), (other, one)):
            heavy = rule is not None and lower.fragile and upper.weight > rule
            if heavy and above.z > below.z and _plan_gap((lower, below), (upper, above)) < -HAIR:
                found.append(f"{upper.code} lies above fragile {lower.code}")
    return found


def above_another(pieces: tuple[BoxPiece, ...], layout: tuple[Laid, ...]) -> bool:
    """Whether any two footprints overlap, so that one piece hides another."""
    both = zip(pieces, layout, strict=True)
    return any(_plan_gap(one, other) < -HAIR for one, other in combinations(both, 2))


def _alone(piece: BoxPiece, laid: Laid) -> Iterator[str]:
    if sorted((laid.length, laid.width, laid.height)) != sorted((piece.length, piece.width, piece.height)):
        yield f"{piece.code} has other sides"
    if piece.upright and laid.height != piece.height:
        yield f"{piece.code} does not stand"


def _room(inside: Inside, layout: tuple[Laid, ...]) -> Iterator[str]:
    spans = (
        ("length", inside.length, [(laid.x, laid.x + laid.length) for laid in layout]),
        ("width", inside.width, [(laid.y, laid.y + laid.width) for laid in layout]),
        ("height", inside.height, [(laid.z, laid.z + laid.height) for laid in layout]),
    )
    for name, side, ends in spans:
        low, high = min(start for start, _ in ends), max(end for _, end in ends)
        if low < 0 or high > side:
            yield f"outside in {name}"
        if high - low > side - inside.clearance:
            yield f"no clearance left in {name}"


Placed = tuple[BoxPiece, Laid]


def _radius(placed: Placed) -> Decimal | None:
    """Return the radius of a true circle seen from above."""
    piece, laid = placed
    standing = laid.length == laid.width and laid.height == piece.height
    return laid.length / 2 if piece.shape != "box" and standing else None


def _plan_gap(one: Placed, other: Placed) -> Decimal:
    """Return the distance of two footprints, below zero where they overlap; exact for touching ones."""
    straight = [placed[1] for placed in (one, other) if _radius(placed) is None]
    (here, its), (there, their) = [(laid.x + laid.length / 2, laid.y + laid.width / 2) for _, laid in (one, other)]
    over = [
        abs(here - there) - sum((laid.length / 2 for laid in straight), Decimal(0)),
        abs(its - their) - sum((laid.width / 2 for laid in straight), Decimal(0)),
    ]
    radii = (_radius(one) or Decimal(0)) + (_radius(other) or Decimal(0))
    if max(over) < 0:
        return max(over) - radii
    return (max(over[0], Decimal(0)) ** 2 + max(over[1], Decimal(0)) ** 2).sqrt() - radii


def _apart(one: Placed, other: Placed) -> bool:
    lower, upper = sorted((one, other), key=lambda placed: placed[1].z)
    if _plan_gap(one, other) >= -HAIR or lower[1].z + lower[1].height <= upper[1].z:
        return True
    balls = [placed for placed in (one, other) if placed[0].shape == "ball"]
    return bool(balls) and _ball_clear(balls[0], other if balls[0] is one else one)


def _ball_clear(ball: Placed, other: Placed) -> bool:
    """Whether the centre of a ball is at least its radius from the nearest point of the other piece."""
    radius = ball[1].length / 2
    plan = _plan_gap(ball, other) + radius  # from the centre to the edge of the other's footprint
    middle, its = ball[1].z + radius, other[1]
    if other[0].shape == "ball":
        plan += its.length / 2
        return plan**2 + (middle - its.z - its.length / 2) ** 2 >= (radius + its.length / 2) ** 2 - HAIR
    rise = max(its.z - middle, middle - its.z - its.height, Decimal(0))
    return max(plan, Decimal(0)) ** 2 + rise**2 >= radius**2 - HAIR


def is_sound(blocks: Sequence[Block], room: Vector, spots: Sequence[Spot]) -> bool:
    """Whether every spot has a pose of its block, lies inside, and none overlaps another."""
    posed = all(spot.size in block.poses for block, spot in zip(blocks, spots, strict=True))
    inside = all(
        at >= 0 and at + side <= most
        for spot in spots
        for at, side, most in zip(spot.corner, spot.size, room, strict=True)
    )
    clear = all(
        any(
            one.corner[axis] + one.size[axis] <= other.corner[axis]
            or other.corner[axis] + other.size[axis] <= one.corner[axis]
            for axis in range(len(room))
        )
        for one, other in combinations(spots, 2)
    )
    return posed and inside and clear


def crushed(blocks: Sequence[Block], spots: Sequence[Spot]) -> bool:
    """Whether something heavy lies above something fragile whose footprint it overlaps."""
    return any(
        lower.fragile
        and upper.heavy
        and its.corner[-1] > spot.corner[-1]
        and all(
            spot.corner[axis] < its.corner[axis] + its.size[axis]
            and its.corner[axis] < spot.corner[axis] + spot.size[axis]
            for axis in (0, 1)
        )
        for lower, spot in zip(blocks, spots, strict=True)
        for upper, its in zip(blocks, spots, strict=True)
    )
