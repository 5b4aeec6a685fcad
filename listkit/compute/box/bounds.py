"""Quick proofs that blocks do not fit: by the lengths that rows of them can have at all, and by rounded lengths.

Sums of sides are kept as the bits of one whole number: bit n is set when some row is n long. Both proofs change
lengths so that every layout stays possible, then compare volumes; "conservative scales" and "dual feasible
functions" of S. P. Fekete, J. Schepers, "A general framework for bounds for higher-dimensional orthogonal packing
problems", Mathematical Methods of Operations Research 60(2), 2004.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache, reduce
from math import prod
from operator import mul, or_
from typing import Final

from listkit.compute.box.pieces import Size

Poses = tuple[Size, ...]
Lengths = tuple[tuple[int, ...], ...]  # along one axis: those that each block may have
Scale = tuple[int, ...]  # what each of these takes up, block by block
_PARTS: Final = (1, 2, 3, 4)  # into how many parts, and one, a room is thought to be divided
_WHOLE: Final = 12  # every scale counts in twelfths of a unit, so that all parts are whole
_MOST_SCALES: Final = 6  # an axis, those that take up most


def reachable(poses: Sequence[Poses], room: Size) -> Size:
    """Return the room less what no row of blocks can use: a layout pushed together ends at a sum of sides."""
    rows = (_rows({pose[axis] for pose in each} for each in poses) for axis in range(len(room)))
    return tuple(map(_longest, rows, room))


def may_fit(poses: Sequence[Poses], room: Size) -> bool:
    """Whether the blocks' volumes still fit once each is grown by what can never be used beside it; all go in alone.

    A side of 73 in a room of 134, where the others leave 44 of the remaining 61 usable at best, takes up 90. To
    grow block after block so keeps every layout possible, therefore too much volume then proves that there is none.
    """
    grown = [_grown([{pose[axis] for pose in each} for each in poses], side) for axis, side in enumerate(room)]
    least = (
        min(prod(sides[index][length] for sides, length in zip(grown, pose, strict=True)) for pose in each)
        for index, each in enumerate(poses)
    )
    return sum(least) <= prod(room)


def may_fit_scaled(poses: Sequence[Poses], room: Size) -> bool:
    """Whether the blocks' volumes still fit by all combinations of scales, one an axis: slower, and sees far more.

    Of rooms with a side of 100 and blocks longer than 50 there go no two beside each other: then each may count as
    100 as well. Such roundings are tried for halves, thirds, quarters and fifths of the room, and for ends cut off.
    """
    axes = range(len(room))
    scales = [_scales(_lengths_along(poses, axis), room[axis]) for axis in axes]
    counts = [len(each) for each in poses]
    pick = [_picker(poses, axis) for axis in axes]
    volumes: list[Scale] = [(1,) * sum(counts)]
    for axis in axes:
        sides = [tuple(scale[at] for at in pick[axis]) for scale in scales[axis]]
        volumes = [tuple(map(mul, volume, side)) for volume in volumes for side in sides]
    most = prod(_WHOLE * side for side in room)
    return all(_least(volume, counts) <= most for volume in volumes)


def _lengths_along(poses: Sequence[Poses], axis: int) -> Lengths:
    return tuple(tuple(sorted({pose[axis] for pose in each})) for each in poses)


def _picker(poses: Sequence[Poses], axis: int) -> list[int]:
    """Return for every pose of every block where its length stands in a scale."""
    places: list[int] = []
    start = 0
    for each, lengths in zip(poses, _lengths_along(poses, axis), strict=True):
        places += [start + lengths.index(pose[axis]) for pose in each]
        start += len(lengths)
    return places


def _least(volume: Scale, counts: list[int]) -> int:
    """Return the volumes together, each block in the pose that takes up least."""
    total = start = 0
    for count in counts:
        total += min(volume[start : start + count])
        start += count
    return total


@lru_cache(maxsize=1 << 13)
def _scales(lengths: Lengths, side: int) -> tuple[Scale, ...]:
    """Return what lengths may be counted as along an axis, none where another is at least as much everywhere."""
    grown = _grown([set(each) for each in lengths], side)
    base = [grown[index][length] for index, each in enumerate(lengths) for length in each]
    kept: list[Scale] = []
    for scale in _roundings(base, side):
        if not any(all(map(int.__le__, scale, other)) for other in kept):
            kept = [other for other in kept if not all(map(int.__le__, other, scale))] + [scale]
    return tuple(sorted(kept, key=sum, reverse=True)[:_MOST_SCALES])


def _roundings(lengths: list[int], side: int) -> Iterator[Scale]:
    """Yield the lengths themselves, then rounded to parts of the room, then long ones as all of it, short ones as none.

    The second and third are the functions u and U of Fekete and Schepers; that they keep every layout possible is
    theirs to show.
    """
    yield tuple(length * _WHOLE for length in lengths)
    for parts in _PARTS:
        part = side * _WHOLE // parts
        yield tuple(
            length * _WHOLE if length * (parts + 1) % side == 0 else length * (parts + 1) // side * part
            for length in lengths
        )
    for end in sorted({min(length, side - length) for length in lengths} - {0}):
        yield tuple(
            side * _WHOLE if length > side - end else 0 if length < end else length * _WHOLE for length in lengths
        )


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


# Along one axis: can blocks that must lie apart be put in an order that keeps all of them within the room?
#
# This is the inner question of the exact search. Which blocks must be apart is given, their order is not; the
# answer is exact: starts that keep them apart, or None when no order is short enough.

Pair = tuple[int, int]  # the first lies before the second


@dataclass(frozen=True, slots=True)
class Line:
    """One axis of a packing: the least start and the greatest end of each block, and orders that are not allowed."""

    low: tuple[int, ...]
    high: tuple[int, ...]
    forbidden: frozenset[Pair] = frozenset()


def heaviest(members: int, apart: list[int], size: list[int], most: int) -> int:
    """Return the greatest total size of blocks among `members` (a bit each) that must all lie apart from each other.

    They need that much length, whatever their order. Stops as soon as it is over `most`.
    """
    best = 0
    while members:
        bit = members & -members
        index = bit.bit_length() - 1
        members ^= bit
        total = size[index]
        others = members & apart[index]
        if others:
            total += heaviest(others, apart, size, most - total)
        if total > best:
            best = total
            if best > most:
                break
    return best


def holds(line: Line, starts: list[int], size: list[int], apart: list[int]) -> bool:
    """Whether `starts` keep all that must be apart in an allowed order and within the room."""
    for index, start in enumerate(starts):
        end = start + size[index]
        if end > line.high[index]:
            return False
        others = apart[index] >> index + 1
        other = index + 1
        while others:
            if others & 1:
                if end <= starts[other]:
                    order = index, other
                elif starts[other] + size[other] <= start:
                    order = other, index
                else:
                    return False
                if line.forbidden and order in line.forbidden:
                    return False
            others >>= 1
            other += 1
    return True


def line_up(line: Line, size: list[int], apart: list[int]) -> list[int] | None:
    """Return starts that keep apart what must be, or None when no order does."""
    count = len(size)
    if any(line.low[index] + size[index] > line.high[index] for index in range(count)):
        return None
    pairs = [(index, other) for index in range(count) for other in range(index) if apart[index] >> other & 1]
    return _Orders(line, size).settle(list(line.low), list(line.high), [], pairs)


class _Orders:
    """Depth-first search over the order of pairs; earliest starts and latest ends follow each decision."""

    def __init__(self, line: Line, size: list[int]) -> None:
        self.size = size
        self.forbidden = line.forbidden
        self.mirrors = not line.forbidden  # then an order and its reverse stand or fall together

    def settle(self, early: list[int], late: list[int], order: list[Pair], pairs: list[Pair]) -> list[int] | None:
        """Follow what is forced, then try both orders of the largest pair left open."""
        forced = True
        while forced:
            if not self._follow(early, late, order):
                return None
            forced = False
            still_open = []
            for pair in pairs:
                options = self._options(early, late, pair)
                if options is None:
                    continue
                if not options:
                    return None
                if len(options) == 1:
                    order = [*order, options[0]]
                    forced = True
                else:
                    still_open.append(pair)
            pairs = still_open
        if not pairs:
            return early
        return self._branch(early, late, order, pairs)

    def _branch(self, early: list[int], late: list[int], order: list[Pair], pairs: list[Pair]) -> list[int] | None:
        pair = max(pairs, key=lambda pair: self.size[pair[0]] + self.size[pair[1]])
        rest = [other for other in pairs if other != pair]
        mirrored, self.mirrors = self.mirrors, False
        starts = self.settle(list(early), list(late), [*order, pair], rest)
        if starts is not None or mirrored:
            return starts
        return self.settle(list(early), list(late), [*order, pair[::-1]], rest)

    def _options(self, early: list[int], late: list[int], pair: Pair) -> list[Pair] | None:
        """Return the orders still possible; None when the pair is surely apart already."""
        one, other = pair
        if late[one] <= early[other] or late[other] <= early[one]:
            return None
        both = self.size[one] + self.size[other]
        options = []
        if early[one] + both <= late[other] and pair not in self.forbidden:
            options.append(pair)
        if early[other] + both <= late[one] and (other, one) not in self.forbidden:
            options.append((other, one))
        return options

    def _follow(self, early: list[int], late: list[int], order: list[Pair]) -> bool:
        """Push starts up and ends down along `order`; False when a block has no place left."""
        size = self.size
        moved = True
        while moved:
            moved = False
            for first, second in order:
                start = early[first] + size[first]
                if start > early[second]:
                    if start + size[second] > late[second]:
                        return False
                    early[second] = start
                    moved = True
                end = late[second] - size[second]
                if end < late[first]:
                    if early[first] + size[first] > end:
                        return False
                    late[first] = end
                    moved = True
        return True
