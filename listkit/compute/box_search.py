"""The exact search: do these blocks fit in this room, axis-parallel, and where does each lie?

Works in whole units of any size, on two axes (footprints side by side) or three. Any two blocks lie apart along
some axis. The search decides for one pair after the other, the hardest first, along which; it gives up a branch
as soon as blocks that must all lie apart along an axis are longer together than the room, or have no order there.
It ends with a layout whenever one exists and otherwise has tried everything, so its "no" is a proof; only
`most_steps` cuts it short, and then it says so. The same question gives the same answer: no clock, no chance.

The idea of deciding apart-or-not first and the order later is that of packing classes: S. P. Fekete, J. Schepers,
"A combinatorial characterization of higher-dimensional orthogonal packing", Mathematics of Operations Research
29(2), 2004; here blocks may also be turned.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import reduce
from math import prod
from operator import or_

from listkit.compute.box_order import Line, heaviest, holds, line_up

Size = tuple[int, ...]  # one whole number an axis
Pair = tuple[int, int]
_ANY = 1 << 30  # more than the poses a block can have


@dataclass(frozen=True, slots=True)
class Block:
    """What has to be placed: the sizes it may take, the preferred first, and its rules.

    `margin` keeps it off both walls of each axis. On the last of three axes no `heavy` block may lie above a
    `fragile` one whose footprint it overlaps.
    """

    poses: tuple[Size, ...]
    margin: Size = ()
    fragile: bool = False
    heavy: bool = False


@dataclass(frozen=True, slots=True)
class Spot:
    """Where one block lies: its corner nearest the origin and the size it takes there."""

    corner: Size
    size: Size


@dataclass(frozen=True, slots=True)
class Outcome:
    """The spots in block order, or None. Without spots, `sure` says that everything was tried."""

    spots: tuple[Spot, ...] | None
    sure: bool


@dataclass(slots=True)
class _State:
    """One node of the search, never shared between branches. Sets of blocks are a bit each."""

    size: list[list[int]]  # per axis and block: the least size among the poses left
    apart: list[list[int]]  # per axis and block: from whom it must lie apart
    barred: list[list[int]]  # per axis and block: from whom it need not be tried apart
    poses: list[tuple[Size, ...]]
    pairs: list[Pair]  # not known to lie apart yet
    starts: list[list[int]]  # per axis: starts that suit `apart`, were it for this axis alone

    def copy(self) -> "_State":
        return _State(
            [list(axis) for axis in self.size],
            [list(axis) for axis in self.apart],
            [list(axis) for axis in self.barred],
            list(self.poses),
            self.pairs,
            list(self.starts),
        )


@dataclass(frozen=True, slots=True)
class _Rules:
    """What holds in every node: the room, the line of each axis, and every block's twins (a bit each, itself too)."""

    room: Size
    lines: tuple[Line, ...]
    twins: tuple[int, ...]


def place(blocks: tuple[Block, ...], room: Size, *, most_steps: int | None = None) -> Outcome:
    """Place every block in `room`, or find that it cannot be done.

    Without `most_steps` the answer is always sure. Up to eight blocks that mostly takes milliseconds; a few
    tight rooms for many alike blocks take seconds. A pose has as many numbers as the room.
    """
    room = _reachable(blocks, room)
    fitting = [tuple(pose for pose in block.poses if _inside(pose, block, room)) for block in blocks]
    if not all(fitting) or sum(min(map(prod, poses)) for poses in fitting) > prod(room):
        return Outcome(None, sure=True)
    ranked = sorted(range(len(blocks)), key=lambda index: (-prod(fitting[index][0]), fitting[index], index))
    ordered = [blocks[index] for index in ranked]
    poses = [fitting[index] for index in ranked]
    tree = _Tree(_rules(ordered, poses, room), most_steps)
    final = tree.descend(_root(poses, tree.rules))
    if final is None:
        return Outcome(None, sure=not tree.cut_short)
    spots = dict(zip(ranked, _spots(final), strict=True))
    return Outcome(tuple(spots[index] for index in range(len(blocks))), sure=True)


def _inside(pose: Size, block: Block, room: Size) -> bool:
    margin = block.margin or (0,) * len(room)
    return all(length + 2 * edge <= side for length, edge, side in zip(pose, margin, room, strict=True))


def _reachable(blocks: tuple[Block, ...], room: Size) -> Size:
    """Return the room less what no row of blocks can use: a layout pushed together ends at a sum of sides."""
    if any(block.margin for block in blocks):
        return room
    sides = []
    for axis, side in enumerate(room):
        sums = 1  # a bit for every length that some row of blocks has
        for block in blocks:
            sums = reduce(or_, (sums << length for length in {pose[axis] for pose in block.poses}), sums)
        sides.append((sums & (1 << side + 1) - 1).bit_length() - 1)
    return tuple(sides)


def _rules(blocks: list[Block], poses: list[tuple[Size, ...]], room: Size) -> _Rules:
    count = range(len(blocks))
    risky = frozenset(
        (below, above) for below in count for above in count if blocks[below].fragile and blocks[above].heavy
    )
    lines = []
    for axis, side in enumerate(room):
        edges = [block.margin[axis] if block.margin else 0 for block in blocks]
        lines.append(Line(tuple(edges), tuple(side - edge for edge in edges), risky if axis == 2 else frozenset()))
    keys = [(poses[index], block.margin, block.fragile, block.heavy) for index, block in enumerate(blocks)]
    twins = tuple(sum(1 << other for other in count if keys[other] == keys[index]) for index in count)
    return _Rules(room, tuple(lines), twins)


def _root(poses: list[tuple[Size, ...]], rules: _Rules) -> _State:
    count, axes = range(len(poses)), range(len(rules.room))
    size = [[min(pose[axis] for pose in poses[index]) for index in count] for axis in axes]
    barred = [[0 for _ in count] for _ in axes]
    for axis, line in enumerate(rules.lines):
        for one, other in line.forbidden:
            if one != other and (other, one) in line.forbidden:
                barred[axis][one] |= 1 << other
    pairs = [(index, other) for index in count for other in range(index)]
    starts = [list(line.low) for line in rules.lines]
    return _State(size, [[0 for _ in count] for _ in axes], barred, poses, pairs, starts)


class _Tree:
    """Depth-first search below one root; counts its steps so that it can be cut short."""

    def __init__(self, rules: _Rules, most_steps: int | None) -> None:
        self.rules = rules
        self.axes = range(len(rules.room))
        self.left = -1 if most_steps is None else most_steps
        self.cut_short = False

    def descend(self, state: _State) -> _State | None:
        """Return a state in which every pair lies apart, or None."""
        if self.left == 0:
            self.cut_short = True
            return None
        self.left -= 1
        found = self._settle(state)
        if found is None or not self._line_up(state):
            return None
        pair, options = found
        index = _undecided(state, len(options) or _ANY)
        if index is None and not options:
            return state
        branches = self._turns(state, index) if index is not None else self._separations(state, pair, options)
        for branch in branches:
            final = self.descend(branch)
            if final is not None or self.cut_short:
                return final
        return None

    def _settle(self, state: _State) -> tuple[Pair, list[int]] | None:
        """Follow all that is forced; return the pair with the fewest axes left (none: all decided), None if stuck."""
        while True:
            grown = self._drop_poses(state)
            if grown is None:
                return None
            hardest, fewest = (0, 0), list[int]()
            still_open: list[Pair] = []
            forced = False
            for pair in state.pairs:
                options = [axis for axis in self.axes if self._may_part(state, pair, axis)]
                if not options:
                    return None
                if len(options) == 1:
                    _part(state, pair, options[0])
                    forced = True
                    continue
                still_open.append(pair)
                if not fewest or len(options) < len(fewest):
                    hardest, fewest = pair, options
            state.pairs = still_open
            if not forced and not grown:
                return hardest, fewest

    def _may_part(self, state: _State, pair: Pair, axis: int) -> bool:
        """Whether the room is long enough for the two and all that must lie apart from both and from each other."""
        one, other = pair
        size, apart = state.size[axis], state.apart[axis]
        left = self.rules.room[axis] - size[one] - size[other]
        if left < 0 or state.barred[axis][one] >> other & 1:
            return False
        others = apart[one] & apart[other]
        return not others or heaviest(others, apart, size, left) <= left

    def _drop_poses(self, state: _State) -> bool | None:
        """Forget poses too long for what lies apart from the block; True when a least size grew, None if all go."""
        grown = False
        for index, poses in enumerate(state.poses):
            if len(poses) == 1:
                continue
            space = []
            for axis in self.axes:
                others = state.apart[axis][index]
                side = self.rules.room[axis]
                space.append(side - heaviest(others, state.apart[axis], state.size[axis], side) if others else side)
            left = tuple(pose for pose in poses if all(map(int.__le__, pose, space)))
            if not left:
                return None
            if len(left) < len(poses):
                grown |= _set_poses(state, index, left)
        return grown

    def _line_up(self, state: _State) -> bool:
        """Whether every axis, taken alone, has an order; remembers the starts, which mostly suit the next node too."""
        for axis, line in enumerate(self.rules.lines):
            size, apart = state.size[axis], state.apart[axis]
            if not holds(line, state.starts[axis], size, apart):
                starts = line_up(line, size, apart)
                if starts is None:
                    return False
                state.starts[axis] = starts
        return True

    def _turns(self, state: _State, index: int) -> Iterator[_State]:
        """Branch on a block's pose. What failed for it fails for every twin that nothing tells apart from it yet."""
        twins = self._interchangeable(state, index)
        poses = state.poses[index]
        for number, pose in enumerate(poses):
            branch = state.copy()
            for twin in twins:
                _set_poses(branch, twin, poses[number:])
            _set_poses(branch, index, (pose,))
            yield branch

    def _separations(self, state: _State, pair: Pair, options: list[int]) -> Iterator[_State]:
        """Branch on the axis along which the pair lies apart, first where it does already by chance."""
        one, other = pair
        images = [
            (twin, its)
            for twin in self._interchangeable(state, one)
            for its in self._interchangeable(state, other)
            if twin != its
        ]
        state.pairs = [open_pair for open_pair in state.pairs if open_pair != pair]
        for axis in sorted(options, key=lambda axis: not _clear(state, pair, axis)):
            branch = state.copy()
            _part(branch, pair, axis)
            yield branch
            for twin, its in images:
                state.barred[axis][twin] |= 1 << its
                state.barred[axis][its] |= 1 << twin

    def _interchangeable(self, state: _State, index: int) -> list[int]:
        """Return the block and those twins that could change names with it without changing the state."""
        twins = self.rules.twins[index]
        if twins == 1 << index:
            return [index]
        return [
            twin
            for twin in range(len(state.poses))
            if twins >> twin & 1 and (twin == index or self._same(state, index, twin))
        ]

    def _same(self, state: _State, index: int, twin: int) -> bool:
        others = ~(1 << index | 1 << twin)
        return state.poses[index] == state.poses[twin] and all(
            masks[axis][index] & others == masks[axis][twin] & others
            for masks in (state.apart, state.barred)
            for axis in self.axes
        )


def _part(state: _State, pair: Pair, axis: int) -> None:
    one, other = pair
    state.apart[axis][one] |= 1 << other
    state.apart[axis][other] |= 1 << one


def _set_poses(state: _State, index: int, poses: tuple[Size, ...]) -> bool:
    """Narrow a block's poses; return whether a least size grew."""
    state.poses[index] = poses
    grown = False
    for axis, size in enumerate(state.size):
        least = min(pose[axis] for pose in poses)
        if least > size[index]:
            size[index] = least
            grown = True
    return grown


def _clear(state: _State, pair: Pair, axis: int) -> bool:
    """Whether the pair lies apart along the axis as the starts are now."""
    one, other = pair
    starts, size = state.starts[axis], state.size[axis]
    return starts[one] + size[one] <= starts[other] or starts[other] + size[other] <= starts[one]


def _undecided(state: _State, fewer_than: int) -> int | None:
    """Return the block with the fewest poses left, if more than one and fewer than that."""
    best = None
    for index, poses in enumerate(state.poses):
        if 1 < len(poses) < fewer_than:
            best, fewer_than = index, len(poses)
    return best


def _spots(state: _State) -> list[Spot]:
    return [
        Spot(tuple(starts[index] for starts in state.starts), poses[0]) for index, poses in enumerate(state.poses)
    ]
