"""Along one axis: can blocks that must lie apart be put in an order that keeps all of them within the room?

This is the inner question of the exact search. Which blocks must be apart is given, their order is not; the
answer is exact: starts that keep them apart, or None when no order is short enough.
"""

from dataclasses import dataclass

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
