"""The exact search: do these blocks fit in this room, axis-parallel, and where does each lie?

Works in whole units of any size, on two axes (footprints side by side) or three. Any two blocks lie apart along
some axis. The search decides for one pair after the other, the hardest first, along which; it gives up a branch
as soon as blocks that must all lie apart along an axis are longer together than the room, or have no order there.
It ends with a layout whenever one exists and otherwise has tried everything, so its "no" is a proof; only
`most_steps` cuts it short, and then it says so. The same question gives the same answer: no clock, no chance.

How blocks lie is decided in two ways that take turns, each time with more steps: as late as may be, or at once
with a slower bound that sees more. Where one needs thousands of steps, the other mostly needs a few; nobody can
tell beforehand which.

The idea of deciding apart-or-not first and the order later is that of packing classes: S. P. Fekete, J. Schepers,
"A combinatorial characterization of higher-dimensional orthogonal packing", Mathematics of Operations Research
29(2), 2004; here blocks may also be turned.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import prod

from listkit.compute.box.bounds import Line, Pair, heaviest, holds, line_up, may_fit, may_fit_scaled, reachable
from listkit.compute.box.pieces import Block, Outcome, Size, Spot

# One node of the exact search: what is decided about each block and pair, and which blocks are alike in it.

Poses = tuple[Size, ...]


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
        return State(
            [list(axis) for axis in self.size],
            [list(axis) for axis in self.apart],
            [list(axis) for axis in self.barred],
            list(self.poses),
            self.pairs,
            list(self.starts),
        )

    def part(self, pair: Pair, axis: int) -> None:
        """Decide that two blocks lie apart along an axis."""
        one, other = pair
        self.apart[axis][one] |= 1 << other
        self.apart[axis][other] |= 1 << one

    def bar(self, pair: Pair, axis: int) -> None:
        """Remember that two blocks apart along an axis were tried in vain."""
        one, other = pair
        self.barred[axis][one] |= 1 << other
        self.barred[axis][other] |= 1 << one

    def narrow(self, index: int, poses: Poses) -> bool:
        """Leave a block these poses; return whether a least size grew."""
        self.poses[index] = poses
        grown = False
        for axis, size in enumerate(self.size):
            least = min(pose[axis] for pose in poses)
            if least > size[index]:
                size[index] = least
                grown = True
        return grown

    def clear(self, pair: Pair, axis: int) -> bool:
        """Whether two blocks lie apart along the axis as the starts are now."""
        one, other = pair
        starts, size = self.starts[axis], self.size[axis]
        return starts[one] + size[one] <= starts[other] or starts[other] + size[other] <= starts[one]

    def undecided(self, fewer_than: int) -> int | None:
        """Return the block with the fewest poses left, if more than one and fewer than that."""
        best = None
        for index, poses in enumerate(self.poses):
            if 1 < len(poses) < fewer_than:
                best, fewer_than = index, len(poses)
        return best


@dataclass(frozen=True, slots=True)
class Rules:
    """What holds in every node: the room, the line of each axis, and every block's twins (a bit each, itself too)."""

    room: Size
    lines: tuple[Line, ...]
    twins: tuple[int, ...]

    @property
    def alike(self) -> bool:
        """Whether any two blocks are twins."""
        return any(twins & (twins - 1) for twins in self.twins)


def rules_of(blocks: list[Block], poses: list[Poses], room: Size) -> Rules:
    """Return the rules for blocks with these fitting poses."""
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
    return Rules(room, tuple(lines), twins)


def root_of(poses: list[Poses], rules: Rules) -> State:
    """Return the state in which nothing is decided."""
    count, axes = range(len(poses)), range(len(rules.room))
    size = [[min(pose[axis] for pose in poses[index]) for index in count] for axis in axes]
    pairs = [(index, other) for index in count for other in range(index)]
    starts = [list(line.low) for line in rules.lines]
    state = State(size, [[0 for _ in count] for _ in axes], [[0 for _ in count] for _ in axes], poses, pairs, starts)
    for axis, line in enumerate(rules.lines):
        for one, other in line.forbidden:
            if one != other and (other, one) in line.forbidden:
                state.bar((one, other), axis)
    return state


def interchangeable(state: State, rules: Rules, index: int) -> list[int]:
    """Return the block and those twins that could change names with it without changing the state."""
    twins = rules.twins[index]
    if twins == 1 << index:
        return [index]
    return [
        twin for twin in range(len(state.poses)) if twins >> twin & 1 and (twin == index or _same(state, index, twin))
    ]


def _same(state: State, index: int, twin: int) -> bool:
    others = ~(1 << index | 1 << twin)
    return state.poses[index] == state.poses[twin] and all(
        mask[index] & others == mask[twin] & others for masks in (state.apart, state.barred) for mask in masks
    )


def name_free(state: State, rules: Rules) -> tuple[bytes, tuple[Poses, ...]]:
    """Return what is decided, written so that states which differ only in twins' names mostly read the same.

    Equal writings are the same state up to names, always. Twins are put in order by what lies apart from them;
    where that ties, two writings may differ for one state, which only costs a search that could have been saved.
    """
    count = range(len(state.poses))
    ways = [[0 for _ in count] for _ in count]
    for axis, apart in enumerate(state.apart):
        for index in count:
            for other in count:
                if apart[index] >> other & 1:
                    ways[index][other] |= 1 << axis
    marks = [hash((twins, state.poses[index])) for index, twins in enumerate(rules.twins)]
    for _ in range(2):
        around = [sorted((way, marks[other]) for other, way in enumerate(ways[index]) if way) for index in count]
        marks = [hash((marks[index], tuple(around[index]))) for index in count]
    order = sorted(count, key=lambda index: (rules.twins[index], marks[index]))
    return bytes(ways[index][other] for index in order for other in order), tuple(state.poses[index] for index in order)


_ANY = 1 << 30  # more than the poses a block can have
_ENDLESS = 1 << 62
_FIRST_TURN, _LONGER = 1000, 8  # steps of the first turn, and how many times as many the next ones have


def place(blocks: tuple[Block, ...], room: Size, *, most_steps: int | None = None) -> Outcome:
    """Place every block in `room`, or find that it cannot be done.

    Without `most_steps` the answer is always sure. Up to eight blocks that mostly takes milliseconds; a few
    tight rooms for many alike blocks take a second or two. A pose has as many numbers as the room.
    """
    plain = not any(block.margin for block in blocks)
    room = reachable([block.poses for block in blocks], room) if plain else room
    fitting = [tuple(pose for pose in block.poses if _inside(pose, block, room)) for block in blocks]
    if not all(fitting) or sum(min(map(prod, poses)) for poses in fitting) > prod(room):
        return Outcome(None, sure=True)
    ranked = sorted(range(len(blocks)), key=lambda index: (-prod(fitting[index][0]), fitting[index], index))
    poses = [fitting[index] for index in ranked]
    rules = rules_of([blocks[index] for index in ranked], poses, room)
    final, sure = _take_turns(poses, rules, _ENDLESS if most_steps is None else most_steps, bounded=plain)
    if final is None:
        return Outcome(None, sure)
    spots = dict(zip(ranked, _spots(final), strict=True))
    return Outcome(tuple(spots[index] for index in range(len(blocks))), sure=True)


def _take_turns(poses: list[Poses], rules: Rules, most_steps: int, *, bounded: bool) -> tuple[State | None, bool]:
    """Search in both ways by turns until one ends; all turns together take no more steps than `most_steps`."""
    left, turn = most_steps, _FIRST_TURN
    while left > 0:
        for poses_first in (False, True):
            tree = _Tree(rules, min(turn, left), bounded=bounded, poses_first=poses_first)
            final = tree.descend(root_of(poses, rules))
            if not tree.cut_short:
                return final, True
            left -= min(turn, left)
        turn *= _LONGER
    return None, False


def _inside(pose: Size, block: Block, room: Size) -> bool:
    margin = block.margin or (0,) * len(room)
    return all(length + 2 * edge <= side for length, edge, side in zip(pose, margin, room, strict=True))


class _Tree:
    """Depth-first search below one root; counts its steps so that it can be cut short."""

    def __init__(self, rules: Rules, most_steps: int, *, bounded: bool, poses_first: bool) -> None:
        self.rules = rules
        self.bounded = bounded
        self.poses_first = poses_first
        self.axes = range(len(rules.room))
        self.left = most_steps
        self.cut_short = False
        self.alike = rules.alike
        self.in_vain: set[object] = set()  # states without a layout, whatever their twins are called

    def descend(self, state: State, *, turned: bool = True) -> State | None:
        """Return a state in which every pair lies apart, or None; `turned` when poses were decided just before."""
        if self.left == 0:
            self.cut_short = True
            return None
        self.left -= 1
        found = self._settle(state)
        if found is None or not self._line_up(state) or (turned and self._too_large(state)):
            return None
        pair, options = found
        index = state.undecided(_ANY if self.poses_first or not options else len(options))
        if index is None and not options:
            return state
        name = name_free(state, self.rules) if self.alike else None
        if name in self.in_vain:
            return None
        branches = self._turns(state, index) if index is not None else self._separations(state, pair, options)
        for branch in branches:
            final = self.descend(branch, turned=index is not None)
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
            hardest, fewest = (0, 0), list[int]()
            still_open: list[Pair] = []
            forced = False
            for pair in state.pairs:
                options = [axis for axis in self.axes if self._may_part(state, pair, axis)]
                if not options:
                    return None
                if len(options) == 1:
                    state.part(pair, options[0])
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
        one, other = pair
        size, apart = state.size[axis], state.apart[axis]
        left = self.rules.room[axis] - size[one] - size[other]
        if left < 0 or state.barred[axis][one] >> other & 1:
            return False
        others = apart[one] & apart[other]
        return not others or heaviest(others, apart, size, left) <= left

    def _drop_poses(self, state: State) -> bool | None:
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
                grown |= state.narrow(index, left)
        return grown

    def _line_up(self, state: State) -> bool:
        """Whether every axis, taken alone, has an order; remembers the starts, which mostly suit the next node too."""
        for axis, line in enumerate(self.rules.lines):
            size, apart = state.size[axis], state.apart[axis]
            if not holds(line, state.starts[axis], size, apart):
                starts = line_up(line, size, apart)
                if starts is None:
                    return False
                state.starts[axis] = starts
        return True

    def _too_large(self, state: State) -> bool:
        if not self.bounded:
            return False
        room = self.rules.room
        return not (may_fit(state.poses, room) and (not self.poses_first or may_fit_scaled(state.poses, room)))

    def _turns(self, state: State, index: int) -> Iterator[State]:
        """Branch on a block's pose. What failed for it fails for every twin that nothing tells apart from it yet."""
        twins = interchangeable(state, self.rules, index)
        poses = state.poses[index]
        for number, pose in enumerate(poses):
            branch = state.copy()
            for twin in twins:
                branch.narrow(twin, poses[number:])
            branch.narrow(index, (pose,))
            yield branch

    def _separations(self, state: State, pair: Pair, options: list[int]) -> Iterator[State]:
        """Branch on the axis along which the pair lies apart, first where it does already by chance."""
        ones, others = (interchangeable(state, self.rules, index) for index in pair)
        images = [(one, other) for one in ones for other in others if one != other]
        state.pairs = [open_pair for open_pair in state.pairs if open_pair != pair]
        for axis in sorted(options, key=lambda axis: not state.clear(pair, axis)):
            branch = state.copy()
            branch.part(pair, axis)
            yield branch
            for image in images:
                state.bar(image, axis)


def _spots(state: State) -> list[Spot]:
    return [Spot(tuple(starts[index] for starts in state.starts), poses[0]) for index, poses in enumerate(state.poses)]
