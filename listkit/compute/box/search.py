"""The exact search: do these blocks fit in this room, axis-parallel, and where does each lie?

Works in whole units, on two axes (footprints side by side) or three. Any two blocks lie apart along some axis: the
search decides for one pair after the other, the hardest first, along which, and their order later. These are packing
classes: S. P. Fekete, J. Schepers, "A combinatorial characterization of higher-dimensional orthogonal packing",
Mathematics of Operations Research 29(2), 2004; here blocks may also be turned. How they lie is decided in two ways
that take turns, as late as may be, or at once with a bound that sees more: where one needs thousands of steps, the
other mostly needs a few, and which one cannot be known beforehand.

A "no" is a proof, for everything was tried, unless `most_steps` cut the search short, and the outcome says so. The
same question gives the same answer: no clock, no chance.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache, reduce
from itertools import accumulate
from math import prod
from operator import mul, or_
from typing import Final

from listkit.compute.box import ENDLESS, Block, Effort, Outcome, SpentError, Spot, Vector
from listkit.compute.box.order import Axis, Pair, heaviest, holds, line_up

Poses = tuple[Vector, ...]  # the sizes that one block may take

# Proofs that blocks do not fit: by the lengths that rows of them can have at all, and by rounded lengths.
#
# Sums of sides are the bits of one whole number: bit n is set when some row is n long. Lengths are changed so that
# every layout stays possible, then volumes compared; "conservative scales" and "dual feasible functions" of
# S. P. Fekete, J. Schepers, "A general framework for bounds for higher-dimensional orthogonal packing problems",
# Mathematical Methods of Operations Research 60(2), 2004.

_PARTS: Final = (1, 2, 3, 4)  # a room is thought to be divided into one part more than these
_WHOLE: Final = 12  # every scale counts in twelfths of a unit, so that all parts are whole
_MOST_SCALES: Final = 6  # an axis, those that take up most


def reachable(poses: Sequence[Poses], room: Vector) -> Vector:
    """Return the room less what no row of blocks can use: a layout pushed together ends at a sum of sides."""
    rows = (_rows({pose[axis] for pose in each} for each in poses) for axis in range(len(room)))
    return tuple(map(_longest, rows, room))


def may_fit(poses: Sequence[Poses], room: Vector) -> bool:
    """Whether the blocks' volumes still fit by all combinations of scales, one an axis.

    A side of 73 in a room of 134, where the others leave 44 of the remaining 61 usable at best, takes up 90. Blocks
    longer than 50 never lie beside each other in a room of 100: each may count as 100. Such roundings are tried for
    halves, thirds, quarters and fifths of the room, and for ends cut off.
    """
    volumes = [(1,) * sum(map(len, poses))]  # of every pose of every block, once for each combination
    for axis, side in enumerate(room):
        lengths = tuple(tuple(sorted({pose[axis] for pose in each})) for each in poses)
        keys = [(index, length) for index, each in enumerate(lengths) for length in each]
        place_of = {key: place for place, key in enumerate(keys)}
        picks = [place_of[index, pose[axis]] for index, each in enumerate(poses) for pose in each]
        sides = [tuple(scale[pick] for pick in picks) for scale in _scales(lengths, side)]
        volumes = [tuple(map(mul, volume, along)) for volume in volumes for along in sides]
    ends = list(accumulate(map(len, poses)))
    spans = list(zip([0, *ends], ends, strict=False))
    most = prod(_WHOLE * side for side in room)
    return all(sum(min(volume[start:end]) for start, end in spans) <= most for volume in volumes)


@lru_cache(maxsize=1 << 13)
def _scales(lengths: tuple[Vector, ...], side: int) -> tuple[tuple[int, ...], ...]:
    """Return what lengths may be counted as along an axis, none where another is at least as much everywhere."""
    grown = _grown([set(each) for each in lengths], side)
    base = [grown[index][length] for index, each in enumerate(lengths) for length in each]
    kept: list[tuple[int, ...]] = []
    for scale in _roundings(base, side):
        if not any(all(map(int.__le__, scale, rival)) for rival in kept):
            kept = [rival for rival in kept if not all(map(int.__le__, rival, scale))] + [scale]
    return tuple(sorted(kept, key=sum, reverse=True)[:_MOST_SCALES])


def _roundings(lengths: list[int], side: int) -> Iterator[tuple[int, ...]]:
    """Yield the lengths themselves, then rounded to parts of the room, then long ones as all of it, short ones as none.

    The second and third are the functions u and U of Fekete and Schepers, who show that every layout stays possible.
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
        rest = _rows(set(each.values()) for at, each in enumerate(grown) if at != index)
        for length in grown[index]:
            grown[index][length] = side - _longest(rest, side - length)
    return grown


def _rows(lengths: Iterable[Iterable[int]]) -> int:
    """Return every length that a row has into which each block goes at most once, with one of its lengths."""
    rows = 1
    for each in lengths:
        rows = reduce(or_, (rows << length for length in each), rows)
    return rows


def _longest(rows: int, most: int) -> int:
    return (rows & (1 << most + 1) - 1).bit_length() - 1


# What is decided at one node of the search, and which blocks are alike in it; `twins` has a bit for each of them.


@dataclass(slots=True)
class State:
    """What is decided so far; never shared between branches. Sets of blocks are a bit each."""

    size: list[list[int]]  # per axis and block: the least size among the poses left
    apart: list[list[int]]  # per axis and block: from whom it must lie apart
    barred: list[list[int]]  # per axis and block: from whom it need not be tried apart
    poses: list[Poses]
    pairs: list[Pair]  # not known to lie apart yet
    starts: list[list[int]]  # per axis: starts that suit `apart`, were it for this axis alone

    def copy(self) -> "State":
        """Return a state to go on from."""
        size, apart, barred = ([list(axis) for axis in each] for each in (self.size, self.apart, self.barred))
        return State(size, apart, barred, poses=list(self.poses), pairs=self.pairs, starts=list(self.starts))

    def narrow(self, index: int, poses: Poses) -> bool:
        """Leave a block these poses; return whether a least size grew."""
        self.poses[index] = poses
        grown = False
        for axis, size in enumerate(self.size):
            least = min(pose[axis] for pose in poses)
            if least > size[index]:
                size[index], grown = least, True
        return grown


def mark(masks: list[int], pair: Pair) -> None:
    """Enter two blocks in each other's mask: they lie apart along an axis, or were tried apart in vain."""
    first, second = pair
    masks[first] |= 1 << second
    masks[second] |= 1 << first


def interchangeable(state: State, twins: int, index: int) -> list[int]:
    """Return the block and those of its twins that could change names with it without changing the state."""
    if twins == 1 << index:
        return [index]
    masks = [axis for each in (state.apart, state.barred) for axis in each]

    def same(twin: int) -> bool:
        rest = ~(1 << index | 1 << twin)
        return state.poses[index] == state.poses[twin] and all(not (m[index] ^ m[twin]) & rest for m in masks)

    return [twin for twin in range(len(state.poses)) if twins >> twin & 1 and (twin == index or same(twin))]


def name_free(state: State, twins: Sequence[int]) -> tuple[bytes, tuple[Poses, ...]]:
    """Return what is decided, written so that states which differ only in twins' names mostly read the same.

    Equal writings are the same state up to names, always. Twins are put in order by what lies apart from them; where
    that ties, one state may have two writings, which only costs a search that could have been saved.
    """
    every = range(len(state.poses))
    ways = [[0 for _ in every] for _ in every]
    for axis, apart in enumerate(state.apart):
        for index in every:
            for mate in every:
                if apart[index] >> mate & 1:
                    ways[index][mate] |= 1 << axis
    marks = [hash((twins[index], state.poses[index])) for index in every]
    for _ in range(2):
        around = [sorted((way, marks[mate]) for mate, way in enumerate(ways[index]) if way) for index in every]
        marks = [hash((marks[index], tuple(around[index]))) for index in every]
    order = sorted(every, key=lambda index: (twins[index], marks[index]))
    return bytes(ways[index][mate] for index in order for mate in order), tuple(state.poses[index] for index in order)


_FIRST_TURN, _LONGER = 1000, 8  # steps of the first turn, and how many times as many the next ones have


def place(
    blocks: tuple[Block, ...], room: Vector, *, most_steps: int = ENDLESS, effort: Effort | None = None
) -> Outcome:
    """Place every block in `room`, or find that it cannot be done.

    Without `most_steps` and `effort` the answer is always sure. Up to eight blocks that mostly takes milliseconds, a
    second or two in a few tight rooms for many alike blocks.
    """
    plain = not any(block.margin for block in blocks)
    room = reachable([block.poses for block in blocks], room) if plain else room
    fitting = []
    for block in blocks:
        most = [side - 2 * edge for side, edge in zip(room, block.margin or (0,) * len(room), strict=True)]
        fitting.append(tuple(pose for pose in block.poses if all(map(int.__le__, pose, most))))
    if not all(fitting) or sum(min(map(prod, poses)) for poses in fitting) > prod(room):
        return Outcome(None, sure=True)
    ranked = sorted(range(len(blocks)), key=lambda index: (-prod(fitting[index][0]), fitting[index], index))
    tree = Tree([blocks[index] for index in ranked], [fitting[index] for index in ranked], room)
    tree.effort = effort or Effort(ENDLESS)
    left, turn = most_steps, _FIRST_TURN
    while left > 0:
        for poses_first in (False, True):
            tree.begin(min(turn, left), poses_first=poses_first)
            try:
                final = tree.descend(tree.root())
            except SpentError:
                return Outcome(None, sure=False)
            if final is not None:
                corners = zip(*final.starts, strict=True)
                spots = (Spot(corner, poses[0]) for corner, poses in zip(corners, final.poses, strict=True))
                spot_of = dict(zip(ranked, spots, strict=True))
                return Outcome(tuple(spot_of[index] for index in range(len(blocks))), sure=True)
            if not tree.cut_short:
                return Outcome(None, sure=True)
            left -= min(turn, left)
        turn *= _LONGER
    return Outcome(None, sure=False)


class Tree:
    """Depth-first search below one root for blocks with these fitting poses; counts its steps to be cut short."""

    def __init__(self, blocks: Sequence[Block], poses: Sequence[Poses], room: Vector) -> None:
        every = range(len(blocks))
        risky = frozenset((low, high) for low in every for high in every if blocks[low].fragile and blocks[high].heavy)
        self.room, self.poses, self.axes = room, poses, list[Axis]()
        for number, side in enumerate(room):
            low = tuple(block.margin[number] if block.margin else 0 for block in blocks)
            self.axes.append(Axis(low, tuple(side - edge for edge in low), risky if number == 2 else frozenset()))
        keys = [(poses[index], block.margin, block.fragile, block.heavy) for index, block in enumerate(blocks)]
        self.twins = [sum(1 << at for at in every if keys[at] == key) for key in keys]  # of each block, itself too
        self.alike = len(set(self.twins)) < len(blocks)
        self.bounded = not any(block.margin for block in blocks)
        self.effort = Effort(ENDLESS)

    def begin(self, most_steps: int, *, poses_first: bool) -> None:
        """Search from now on in one of the two ways, as if nothing had been tried."""
        self.left, self.poses_first, self.cut_short = most_steps, poses_first, False
        self.in_vain = set[object]()  # states without a layout, whatever their twins are called

    def root(self) -> State:
        """Return the state in which nothing is decided."""
        every, axes = range(len(self.poses)), range(len(self.room))
        size = [[min(pose[axis] for pose in poses) for poses in self.poses] for axis in axes]
        apart, barred = ([[0 for _ in every] for _ in axes] for _ in range(2))
        for masks, axis in zip(barred, self.axes, strict=True):
            for pair in axis.forbidden:
                if pair[0] != pair[1] and pair[::-1] in axis.forbidden:
                    mark(masks, pair)
        pairs = [(index, before) for index in every for before in range(index)]
        starts = [list(axis.low) for axis in self.axes]
        return State(size, apart, barred, poses=list(self.poses), pairs=pairs, starts=starts)

    def descend(self, state: State, *, turned: bool = True) -> State | None:
        """Return a state in which every pair lies apart, or None; `turned` when poses were decided just before."""
        if self.left == 0:
            self.cut_short = True
            return None
        self.left -= 1
        self.effort.spend(len(state.pairs))
        settled = self._settle(state)
        bounded = turned and self.poses_first and self.bounded
        if settled is None or not self._line_up(state) or (bounded and not may_fit(state.poses, self.room)):
            return None
        pair, options = settled
        fewer = len(options) if options and not self.poses_first else ENDLESS
        turnable = [(len(poses), index) for index, poses in enumerate(state.poses) if 1 < len(poses) < fewer]
        if not turnable and not options:
            return state
        name = name_free(state, self.twins) if self.alike else None
        if name in self.in_vain:
            return None
        branches = self._turns(state, min(turnable)[1]) if turnable else self._separations(state, pair, options)
        for branch in branches:
            final = self.descend(branch, turned=bool(turnable))
            if final is not None or self.cut_short:
                return final
        if name is not None:
            self.in_vain.add(name)
        return None

    def _settle(self, state: State) -> tuple[Pair, list[int]] | None:
        """Follow all that is forced; return the pair with the fewest axes left (none: all decided), None if stuck."""
        while True:
            grown = self._drop_poses(state)
            if grown is None:
                return None
            hardest, fewest, still_open, forced = (0, 0), list[int](), list[Pair](), False
            for pair in state.pairs:
                options = [axis for axis in range(len(self.room)) if self._may_part(state, pair, axis)]
                if not options:
                    return None
                if len(options) == 1:
                    mark(state.apart[options[0]], pair)
                    forced = True
                    continue
                still_open.append(pair)
                if not fewest or len(options) < len(fewest):
                    hardest, fewest = pair, options
            state.pairs = still_open
            if not forced and not grown:
                return hardest, fewest

    def _may_part(self, state: State, pair: Pair, axis: int) -> bool:
        """Whether the room is long enough for the two and all that must lie apart from both and from each other."""
        first, second = pair
        size, apart = state.size[axis], state.apart[axis]
        left = self.room[axis] - size[first] - size[second]
        if left < 0 or state.barred[axis][first] >> second & 1:
            return False
        both = apart[first] & apart[second]
        return not both or heaviest(both, apart, size, left) <= left

    def _drop_poses(self, state: State) -> bool | None:
        """Forget poses too long for what lies apart from the block; True when a least size grew, None if all go."""
        grown = False
        for index, poses in enumerate(state.poses):
            if len(poses) == 1:
                continue
            space = []
            for axis, side in enumerate(self.room):
                mates = state.apart[axis][index]
                space.append(side - heaviest(mates, state.apart[axis], state.size[axis], side) if mates else side)
            left = tuple(pose for pose in poses if all(map(int.__le__, pose, space)))
            if not left:
                return None
            if len(left) < len(poses):
                grown |= state.narrow(index, left)
        return grown

    def _line_up(self, state: State) -> bool:
        """Whether every axis, taken alone, has an order; remembers the starts, which mostly suit the next node too."""
        for number, axis in enumerate(self.axes):
            size, apart = state.size[number], state.apart[number]
            if not holds(axis, state.starts[number], size, apart):
                starts = line_up(axis, size, apart, self.effort)
                if starts is None:
                    return False
                state.starts[number] = starts
        return True

    def _turns(self, state: State, index: int) -> Iterator[State]:
        """Branch on a block's pose. What failed for it fails for every twin that nothing tells apart from it yet."""
        twins = interchangeable(state, self.twins[index], index)
        poses = state.poses[index]
        for number, pose in enumerate(poses):
            branch = state.copy()
            for twin in twins:
                branch.narrow(twin, poses[number:])
            branch.narrow(index, (pose,))
            yield branch

    def _separations(self, state: State, pair: Pair, options: list[int]) -> Iterator[State]:
        """Branch on the axis along which the pair lies apart, first where it does already by chance."""
        twins, mates = (interchangeable(state, self.twins[index], index) for index in pair)
        images = [(twin, mate) for twin in twins for mate in mates if twin != mate]
        state.pairs = [open_pair for open_pair in state.pairs if open_pair != pair]

        def overlap(axis: int) -> bool:
            first, second = sorted(pair, key=state.starts[axis].__getitem__)
            return state.starts[axis][first] + state.size[axis][first] > state.starts[axis][second]

        for axis in sorted(options, key=overlap):
            branch = state.copy()
            mark(branch.apart[axis], pair)
            yield branch
            for image in images:
                mark(state.barred[axis], image)
