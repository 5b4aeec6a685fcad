"""Quick proofs that blocks do not fit: by the lengths that rows of them can have at all.

Sums of sides are kept as the bits of one whole number: bit n is set when some row is n long.
"""

from collections.abc import Iterable, Sequence
from functools import reduce
from math import prod
from operator import or_

from listkit.compute.box_blocks import Size

Poses = tuple[Size, ...]


def reachable(poses: Sequence[Poses], room: Size) -> Size:
    """Return the room less what no row of blocks can use: a layout pushed together ends at a sum of sides."""
    rows = (_rows({pose[axis] for pose in each} for each in poses) for axis in range(len(room)))
    return tuple(map(_longest, rows, room))


def may_fit(poses: Sequence[Poses], room: Size) -> bool:
    """Whether the blocks' volumes still fit once each is grown by what can never be used beside it; all go in alone.

    A side of 73 in a room of 134, where the others leave 44 of the remaining 61 usable at best, takes up 90. To
    grow block after block so keeps every layout possible (conservative scales: S. P. Fekete, J. Schepers, "A general
    framework for bounds for higher-dimensional orthogonal packing problems", Mathematical Methods of Operations
    Research 60(2), 2004), therefore too much volume then proves that there is none.
    """
    grown = [_grown([{pose[axis] for pose in each} for each in poses], side) for axis, side in enumerate(room)]
    least = (
        min(prod(sides[index][length] for sides, length in zip(grown, pose, strict=True)) for pose in each)
        for index, each in enumerate(poses)
    )
    return sum(least) <= prod(room)


def _grown(lengths: list[set[int]], side: int) -> list[dict[int, int]]:
    """Return for each block what each of its lengths takes up along one axis, the longest grown first."""
    grown = [{length: length for length in each} for each in lengths]
    for index in sorted(range(len(grown)), key=lambda index: -max(grown[index])):
        others = _rows(set(each.values()) for other, each in enumerate(grown) if other != index)
        for length in grown[index]:
            grown[index][length] = side - _longest(others, side - length)
    return grown


def _rows(lengths: Iterable[Iterable[int]]) -> int:
    """Return every length that a row has into which each block goes at most once, with one of its lengths."""
    rows = 1
    for each in lengths:
        rows = reduce(or_, (rows << length for length in each), rows)
    return rows


def _longest(rows: int, most: int) -> int:
    return (rows & (1 << most + 1) - 1).bit_length() - 1
