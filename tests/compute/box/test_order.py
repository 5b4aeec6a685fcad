"""Orders along one axis against every permutation of small cases."""

from itertools import permutations

from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.box import ENDLESS, Effort
from listkit.compute.box.order import Axis, heaviest, holds, line_up

Case = tuple[list[int], list[int]]


def shortest(size: list[int], apart: list[int], forbidden: frozenset[tuple[int, int]] = frozenset()) -> int | None:
    """Return the least length of any order, by trying all: each block goes as early as those before it allow."""
    best = None
    for order in permutations(range(len(size))):
        if any(
            apart[first] >> second & 1 and (first, second) in forbidden
            for place, first in enumerate(order)
            for second in order[place + 1 :]
        ):
            continue
        ends: dict[int, int] = {}
        for index in order:
            ends[index] = size[index] + max((ends[before] for before in ends if apart[index] >> before & 1), default=0)
        longest = max(ends.values())
        best = longest if best is None else min(best, longest)
    return best


@st.composite
def cases(draw: st.DrawFn) -> Case:
    size = draw(st.lists(st.integers(1, 9), min_size=1, max_size=5))
    apart = [0] * len(size)
    for one in range(len(size)):
        for other in range(one):
            if draw(st.booleans()):
                apart[one] |= 1 << other
                apart[other] |= 1 << one
    return size, apart


@given(case=cases(), room=st.integers(1, 40))
def test_an_order_is_found_exactly_when_one_is_short_enough(case: Case, room: int) -> None:
    size, apart = case
    line = Axis((0,) * len(size), (room,) * len(size))
    starts = line_up(line, size, apart, Effort(ENDLESS))
    best = shortest(size, apart)
    assert (starts is not None) == (best is not None and best <= room)
    assert starts is None or holds(line, starts, size, apart)


PICKS = st.sets(st.tuples(st.integers(0, 4), st.integers(0, 4)), max_size=5)


@given(case=cases(), room=st.integers(1, 40), picks=PICKS)
def test_forbidden_orders_are_kept(case: Case, room: int, picks: set[tuple[int, int]]) -> None:
    size, apart = case
    forbidden = frozenset(pair for pair in picks if pair[0] != pair[1])
    line = Axis((0,) * len(size), (room,) * len(size), forbidden)
    starts = line_up(line, size, apart, Effort(ENDLESS))
    best = shortest(size, apart, forbidden)
    assert (starts is not None) == (best is not None and best <= room)
    assert starts is None or holds(line, starts, size, apart)


@given(case=cases())
def test_blocks_all_apart_from_each_other_need_the_sum_of_their_sizes(case: Case) -> None:
    """The heaviest such group is never longer than the shortest order of all, and reaches any pair apart."""
    size, apart = case
    everyone = (1 << len(size)) - 1
    need = heaviest(everyone, apart, size, 1000)
    best = shortest(size, apart)
    assert best is not None
    assert max(size) <= need <= best
    pairs = [size[i] + size[j] for i in range(len(size)) for j in range(i) if apart[i] >> j & 1]
    assert need >= max(pairs, default=0)


def test_a_ring_of_five_needs_more_than_any_group_that_is_all_apart() -> None:
    """By hand: neighbours of a ring of five must be apart, three layers are needed though no three are all apart."""
    apart = [sum(1 << other for other in ((index + 1) % 5, (index - 1) % 5)) for index in range(5)]
    assert heaviest(31, apart, [1] * 5, 10) == 2
    assert line_up(Axis((0,) * 5, (2,) * 5), [1] * 5, apart, Effort(ENDLESS)) is None
    assert line_up(Axis((0,) * 5, (3,) * 5), [1] * 5, apart, Effort(ENDLESS)) is not None


def test_windows_of_single_blocks_are_kept() -> None:
    line = Axis((0, 3), (9, 9))
    assert line_up(line, [3, 6], [2, 1], Effort(ENDLESS)) == [0, 3]
    assert line_up(Axis((1, 3), (9, 9)), [3, 6], [2, 1], Effort(ENDLESS)) is None
    assert not holds(line, [0, 4], [3, 6], [2, 1])
