"""A case of closed gift boxes: how many equal boxes go into a carton, and how they stand.

Exact whole-number arithmetic over every way to part the carton by straight cuts through it, with the box in each
allowed orientation: no such parting holds more. A layout that no straight cuts make (a pinwheel) is not tried. Very
many small boxes, and thin ones that could lie in very many ways, are laid in one grid alone.
"""

from dataclasses import dataclass
from functools import lru_cache
from itertools import permutations, product
from math import prod
from typing import Final

from listkit.compute.box.fit import decimals
from listkit.compute.catalog import Variant
from listkit.model.packaging import Case, GiftBox
from listkit.units.length import Size
from listkit.units.weight import Weight

_MOST_CUT: Final = 120  # boxes in a grid; beyond, a mixed layout gains little and costs long
_MOST_WAYS: Final = 150_000  # rooms that cuts part off, each with its cuts; a second or two
WholeSides = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Stand:
    """Boxes that stand alike: how many along, across and up, and the sides that each turns so, in mm as given."""

    along: int
    across: int
    up: int
    sides: Size

    @property
    def count(self) -> int:
        """How many they are."""
        return self.along * self.across * self.up


@dataclass(frozen=True, slots=True)
class Cased:
    """What goes into a case: how many boxes, and how each group of them stands; none when it is too small."""

    count: int
    stands: tuple[Stand, ...]


@dataclass(frozen=True, slots=True)
class CaseFacts:
    """A case filled with one set: what goes in, and what it weighs full, at most."""

    case: Case
    cased: Cased
    weight: Weight


def cased(box_outside: Size, case_inside: Size, *, upright: bool = True) -> Cased:
    """Return how many equal boxes go into a case, and how they stand.

    Args:
        box_outside: outside of the closed gift box.
        case_inside: inside of the case.
        upright: whether the boxes keep their height vertical, as a box of jars must; else all six orientations.
    """
    digits = decimals(*box_outside.sides, *case_inside.sides)
    room, box = _units(case_inside, digits), _units(box_outside, digits)
    turned = [(0, 1, 2), (1, 0, 2)] if upright else list(permutations(range(3)))
    poses = {tuple(box[axis] for axis in turn): turn for turn in turned}
    kept: tuple[WholeSides, ...] = tuple((pose[0], pose[1], pose[2]) for pose in poses)
    count, stands = _grid(room, kept)
    if 0 < count <= _MOST_CUT and _few_cuts(room, kept):
        _, stands = _fill(_trimmed(room, kept), kept)
    sides = (box_outside.length, box_outside.width, box_outside.height)
    groups = [Stand(*counts, Size(*(sides[axis] for axis in poses[pose]))) for pose, counts in stands]
    groups.sort(key=lambda stand: (-stand.count, stand.sides.sides, stand.along, stand.across))  # the largest first
    return Cased(sum(stand.count for stand in groups), tuple(groups))


def case_facts(box: GiftBox, case: Case, variants: tuple[Variant, ...]) -> CaseFacts | None:
    """Return a case full of the heaviest of `variants`; None when the outside of the box is not stated."""
    if box.outside is None or not variants:
        return None
    inside = cased(box.outside, case.inside, upright=not case.any_way_up)
    heaviest = max(variant.weights.gift for variant in variants)
    return CaseFacts(case, inside, heaviest * inside.count + case.weight)


def _few_cuts(room: WholeSides, poses: tuple[WholeSides, ...]) -> bool:
    """Whether a room has so few cuts that all ways to part it can be looked at; thin boxes may lie at thousands."""
    sides = [_sides_of(axis, poses) for axis in range(3)]
    if any(length // of[0] > _MOST_CUT for length, of in zip(room, sides, strict=True)):
        return False
    cuts = [len(_cuts(length, of)) for length, of in zip(room, sides, strict=True)]
    return prod(number + 1 for number in cuts) * sum(cuts) <= _MOST_WAYS


_Stands = tuple[tuple[WholeSides, WholeSides], ...]


@lru_cache(maxsize=1 << 15)
def _fill(room: WholeSides, poses: tuple[WholeSides, ...]) -> tuple[int, _Stands]:
    """Return the most boxes by straight cuts, in as few groups as may be; one grid where no cut gains anything."""
    count, stands = _grid(room, poses)
    if count == _at_most(room, poses) or count > _MOST_CUT:
        return count, stands
    for axis in range(3):
        for cut in _cuts(room[axis], _sides_of(axis, poses)):
            first, second = (
                _trimmed((*room[:axis], side, *room[axis + 1 :]), poses) for side in (cut, room[axis] - cut)
            )
            if _at_most(first, poses) + _at_most(second, poses) < count:
                continue
            (fewer, these), (more, those) = _fill(first, poses), _fill(second, poses)
            if fewer + more > count or (fewer + more == count and len(these) + len(those) < len(stands)):
                count, stands = fewer + more, these + those
    return count, stands


def _grid(room: WholeSides, poses: tuple[WholeSides, ...]) -> tuple[int, _Stands]:
    """Return the most boxes that stand alike, in one grid."""
    best: tuple[int, _Stands] = (0, ())
    for pose in poses:
        along, across, up = (whole // side for whole, side in zip(room, pose, strict=True))
        if along * across * up > best[0]:
            best = along * across * up, ((pose, (along, across, up)),)
    return best


@lru_cache(maxsize=1 << 12)
def _cuts(length: int, sides: tuple[int, ...]) -> tuple[int, ...]:
    """Return where a cut may lie: sums of sides, up to the middle, since the halves may change places."""
    most = [range(length // 2 // side + 1) for side in sides]
    sums = {sum(times * side for times, side in zip(counts, sides, strict=True)) for counts in product(*most)}
    return tuple(sorted(row for row in sums if 0 < row <= length // 2))


def _trimmed(room: tuple[int, ...], poses: tuple[WholeSides, ...]) -> WholeSides:
    """Return the room less what no row of boxes can reach, so that alike rooms are looked at once."""
    length, width, height = (_reach(side, _sides_of(axis, poses)) for axis, side in enumerate(room))
    return length, width, height


@lru_cache(maxsize=1 << 15)
def _reach(length: int, sides: tuple[int, ...]) -> int:
    """Return the longest row of sides that is no longer than this."""
    first, *rest = sides
    if not rest:
        return length // first * first
    return max(times * first + _reach(length - times * first, tuple(rest)) for times in range(length // first + 1))


def _sides_of(axis: int, poses: tuple[WholeSides, ...]) -> tuple[int, ...]:
    return tuple(sorted({pose[axis] for pose in poses}))


def _at_most(room: WholeSides, poses: tuple[WholeSides, ...]) -> int:
    """Return how many the volume would allow."""
    box = poses[0]
    return room[0] * room[1] * room[2] // (box[0] * box[1] * box[2])


def _units(size: Size, digits: int) -> WholeSides:
    length, width, height = (int(side.scaleb(digits)) for side in size.sides)
    return length, width, height
