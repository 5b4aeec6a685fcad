"""Along one axis: can blocks that must lie apart be put in an order that keeps all of them within the room? Exact."""

from dataclasses import dataclass

from listkit.compute.box import Effort

Pair = tuple[int, int]  # two blocks; in an order the first lies before the second


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis of a packing: the least start and the greatest end of each block, and orders that are not allowed."""

    low: tuple[int, ...]
    high: tuple[int, ...]
    forbidden: frozenset[Pair] = frozenset()


def heaviest(members: int, apart: list[int], size: list[int], most: int) -> int:
    """Return the most that `members` (a bit each) all apart from each other take together; stops when over `most`."""
    best = 0
    while members:
        bit = members & -members
        index = bit.bit_length() - 1
        members ^= bit
        total = size[index]
        if rest := members & apart[index]:
            total += heaviest(rest, apart, size, most - total)
        if total > best:
            best = total
            if best > most:
                break
    return best


def holds(axis: Axis, starts: list[int], size: list[int], apart: list[int]) -> bool:
    """Whether `starts` keep all that must be apart in an allowed order and within the room."""
    for index, start in enumerate(starts):
        end = start + size[index]
        if end > axis.high[index]:
            return False
        later, mate = apart[index] >> index + 1, index + 1
        while later:
            if later & 1:
                if end <= starts[mate]:
                    order = index, mate
                elif starts[mate] + size[mate] <= start:
                    order = mate, index
                else:
                    return False
                if axis.forbidden and order in axis.forbidden:
                    return False
            later, mate = later >> 1, mate + 1
    return True


def line_up(axis: Axis, size: list[int], apart: list[int], effort: Effort) -> list[int] | None:
    """Return starts that keep apart what must be, or None when no order does.

    Raises:
        SpentError: the effort ended first.
    """
    count = len(size)
    if any(axis.low[index] + size[index] > axis.high[index] for index in range(count)):
        return None
    pairs = [(index, before) for index in range(count) for before in range(index) if apart[index] >> before & 1]
    return _Orders(axis, size, effort).settle(list(axis.low), list(axis.high), [], pairs)


class _Orders:
    """Depth-first search over the order of pairs; earliest starts and latest ends follow each decision."""

    def __init__(self, axis: Axis, size: list[int], effort: Effort) -> None:
        self.size, self.effort = size, effort
        self.forbidden = axis.forbidden
        self.mirrors = not axis.forbidden  # then an order and its reverse are possible or impossible together

    def settle(self, early: list[int], late: list[int], order: list[Pair], pairs: list[Pair]) -> list[int] | None:
        """Follow what is forced, then try both orders of the largest pair left open."""
        forced = True
        while forced:
            self.effort.spend(len(order) + len(pairs))
            if not self._follow(early, late, order):
                return None
            forced, still_open = False, []
            for pair in pairs:
                ways = self._ways(early, late, pair)
                if ways is None:
                    continue
                if not ways:
                    return None
                if len(ways) == 1:
                    order, forced = [*order, ways[0]], True
                else:
                    still_open.append(pair)
            pairs = still_open
        if not pairs:
            return early
        largest = max(pairs, key=lambda pair: self.size[pair[0]] + self.size[pair[1]])
        rest = [pair for pair in pairs if pair != largest]
        mirrored, self.mirrors = self.mirrors, False
        starts = self.settle(list(early), list(late), [*order, largest], rest)
        if starts is not None or mirrored:
            return starts
        return self.settle(list(early), list(late), [*order, largest[::-1]], rest)

    def _ways(self, early: list[int], late: list[int], pair: Pair) -> list[Pair] | None:
        """Return the orders still possible; None when the pair is surely apart already."""
        first, second = pair
        if late[first] <= early[second] or late[second] <= early[first]:
            return None
        both = self.size[first] + self.size[second]
        ways = []
        if early[first] + both <= late[second] and pair not in self.forbidden:
            ways.append(pair)
        if early[second] + both <= late[first] and (second, first) not in self.forbidden:
            ways.append((second, first))
        return ways

    def _follow(self, early: list[int], late: list[int], order: list[Pair]) -> bool:
        """Push starts up and ends down along `order`; False when a block has no place left."""
        size, moved = self.size, True
        while moved:
            moved = False
            for first, second in order:
                start, end = early[first] + size[first], late[second] - size[second]
                if start > early[second]:
                    if start + size[second] > late[second]:
                        return False
                    early[second], moved = start, True
                if end < late[first]:
                    if early[first] + size[first] > end:
                        return False
                    late[first], moved = end, True
        return True
