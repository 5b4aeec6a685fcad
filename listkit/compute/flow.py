"""Which pieces run short when several takers draw on the same items: an exact search for the scarce ones.

Each taker asks for so many pieces of any of some items. Whether there is a mixture that suffices for all is a question
of flow from items to takers, and where there is none, the least cut names the scarce items: those whose takers have
nothing else to take (Ford and Fulkerson, "Maximal flow through a network", Canadian Journal of Mathematics 8, 1956;
levels after Dinic, 1970).
"""

from collections import defaultdict, deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise

Options = frozenset[str]


@dataclass(frozen=True, slots=True)
class Demand:
    """What one set takes: so many pieces of any of these items."""

    set_code: str
    options: Options
    pieces: int


@dataclass(frozen=True, slots=True)
class Shortage:
    """Items that are promised too often together: who takes them, how many they could use, how many are there."""

    items: tuple[str, ...]
    set_codes: tuple[str, ...]
    needed: int
    there: int


def shortages(demands: Iterable[Demand], on_hand: Mapping[str, int]) -> list[Shortage]:
    """Return every group of items that is short, in the order of `on_hand`; all options are in `on_hand`."""
    demands = list(demands)
    needed: dict[Options, int] = defaultdict(int)
    for demand in demands:
        needed[demand.options] += demand.pieces
    scarce = Flow(needed, on_hand).short_of()
    order = {code: at for at, code in enumerate(on_hand)}
    found = []
    for group in _joined(scarce):
        takers = [demand for demand in demands if demand.options <= group]
        items = tuple(sorted(group, key=order.__getitem__))
        set_codes = tuple(dict.fromkeys(demand.set_code for demand in takers))
        there = sum(on_hand[code] for code in items)
        found.append(Shortage(items, set_codes, sum(demand.pieces for demand in takers), there))
    return sorted(found, key=lambda one: order[one.items[0]])


def _joined(groups: Iterable[Options]) -> list[Options]:
    """Return groups with a common item as one."""
    parent: dict[str, str] = {}

    def root(code: str) -> str:
        while parent.setdefault(code, code) != code:
            parent[code] = parent[parent[code]]
            code = parent[code]
        return code

    for group in groups:
        first = min(group)
        for code in group:
            parent[root(code)] = root(first)
    together: dict[str, set[str]] = defaultdict(set)
    for code in list(parent):
        together[root(code)].add(code)
    return [frozenset(codes) for codes in together.values()]


class Flow:
    """A greatest flow of pieces from items to those who take them."""

    def __init__(self, needed: Mapping[Options, int], on_hand: Mapping[str, int]) -> None:
        self.open = dict(needed)  # pieces still asked for
        self.left = dict(on_hand)  # pieces not given yet
        self.given: dict[str, dict[Options, int]] = defaultdict(dict)
        self.options = {group: sorted(group) for group in needed}
        self.begin: dict[Options, int] = {}  # of each taker's items the first that may be a step further

    def short_of(self) -> list[Options]:
        """Return the takers that cannot be served, and those whose pieces are all they could take instead."""
        while True:
            levels, self.begin = self._levels(), {}
            if not any(code in levels and self.left[code] for code in self.left):
                return [group for group in self.open if group in levels]
            for group in [group for group, pieces in self.open.items() if pieces]:
                self._serve(group, levels)

    def _levels(self) -> dict[Options | str, int]:
        """Return how many steps each taker and item is away from one that is not served."""
        levels: dict[Options | str, int] = {group: 0 for group, pieces in self.open.items() if pieces}
        queue: deque[Options | str] = deque(levels)
        while queue:
            node = queue.popleft()
            nexts = [g for g, n in self.given[node].items() if n] if isinstance(node, str) else self.options[node]
            for other in nexts:
                if other not in levels:
                    levels[other] = levels[node] + 1
                    queue.append(other)
        return levels

    def _serve(self, group: Options, levels: dict[Options | str, int]) -> None:
        """Give a taker what it asks for along shortest ways; ways that lead nowhere are closed as they are met."""
        while self.open[group]:
            way = self._way(group, levels)
            if way is None:
                return
            steps = [(taker, code, other) for (taker, code), (other, _) in pairwise(way)]
            last_taker, last = way[-1]
            pieces = min([self.open[group], self.left[last], *(self.given[code][other] for _, code, other in steps)])
            self.open[group] -= pieces
            self.left[last] -= pieces
            for taker, code, other in steps:
                self.given[code][taker] = self.given[code].get(taker, 0) + pieces
                self.given[code][other] -= pieces
            self.given[last][last_taker] = self.given[last].get(last_taker, 0) + pieces

    def _next(self, taker: Options, levels: dict[Options | str, int]) -> str | None:
        """Return the first item that is a step further; what was none with these levels is not looked at again."""
        options, at = self.options[taker], self.begin.get(taker, 0)
        while at < len(options) and levels.get(options[at]) != levels[taker] + 1:
            at += 1
        self.begin[taker] = at
        return options[at] if at < len(options) else None

    def _way(self, group: Options, levels: dict[Options | str, int]) -> list[tuple[Options, str]] | None:
        """Return takers and items, each item given to the taker before it, the last with pieces left."""
        way: list[tuple[Options, str]] = []
        taker = group
        while True:
            code = self._next(taker, levels)
            if code is None:
                levels[taker] = -2
                if not way:
                    return None
                taker, _ = way.pop()
                continue
            if self.left[code]:
                return [*way, (taker, code)]
            other = next((g for g, n in self.given[code].items() if n and levels.get(g) == levels[code] + 1), None)
            if other is None:
                levels[code] = -2
                continue
            way.append((taker, code))
            taker = other
