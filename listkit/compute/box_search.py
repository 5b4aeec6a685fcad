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
from math import prod

from listkit.compute.box_blocks import Block, Outcome, Size, Spot
from listkit.compute.box_bounds import may_fit, may_fit_scaled, reachable
from listkit.compute.box_order import Pair, heaviest, holds, line_up
from listkit.compute.box_state import Poses, Rules, State, interchangeable, name_free, root_of, rules_of

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
