"""One node of the exact search: what is decided about each block and pair, and which blocks are alike in it."""

from dataclasses import dataclass

from listkit.compute.box_blocks import Block, Size
from listkit.compute.box_order import Line, Pair

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
