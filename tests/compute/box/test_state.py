"""Nodes of the search: twins, and states that differ only in their names."""

from itertools import permutations

from hypothesis import assume, given
from hypothesis import strategies as st

from listkit.compute.box.pieces import Block, Size
from listkit.compute.box.search import Rules, State, interchangeable, name_free, root_of, rules_of

BAR, JAR = Block(((86, 58), (58, 86))), Block(((72, 72),))


def fresh(*blocks: Block, room: Size = (300, 300)) -> tuple[State, Rules]:
    poses = [block.poses for block in blocks]
    rules = rules_of(list(blocks), poses, room)
    return root_of(poses, rules), rules


def test_what_is_decided_about_one_twin_tells_it_apart() -> None:
    state, rules = fresh(BAR, BAR, BAR, JAR)
    assert interchangeable(state, rules, 0) == [0, 1, 2]
    state.part((0, 3), 0)
    assert interchangeable(state, rules, 0) == [0]
    assert interchangeable(state, rules, 1) == [1, 2]
    state.narrow(1, (BAR.poses[0],))
    assert interchangeable(state, rules, 1) == [1]


def decided(order: tuple[int, ...], parts: set[tuple[int, int, int]], turned: set[int]) -> bytes:
    """Return the writing of a state of three bars and two jars in which block n is called order[n]."""
    state, rules = fresh(BAR, BAR, BAR, JAR, JAR)
    for one, other, axis in sorted(parts):
        if one != other:
            state.part((order[one], order[other]), axis)
    for index in sorted(turned):
        state.narrow(order[index], (BAR.poses[0],))
    return name_free(state, rules)[0] + repr(name_free(state, rules)[1]).encode()


PARTS = st.sets(st.tuples(st.integers(0, 4), st.integers(0, 4), st.integers(0, 1)), max_size=6)


@given(first=PARTS, second=PARTS, turned=st.sets(st.integers(0, 2)))
def test_states_that_differ_in_more_than_names_are_never_written_alike(
    first: set[tuple[int, int, int]], second: set[tuple[int, int, int]], turned: set[int]
) -> None:
    names = [(*bars, *jars) for bars in permutations(range(3)) for jars in permutations((3, 4))]
    assume(not any(matched(first, second, turned, order) for order in names))
    same = tuple(range(5))
    assert decided(same, first, turned) != decided(same, second, turned)


def matched(
    first: set[tuple[int, int, int]], second: set[tuple[int, int, int]], turned: set[int], order: tuple[int, ...]
) -> bool:
    def sides(parts: set[tuple[int, int, int]], names: tuple[int, ...]) -> set[tuple[frozenset[int], int]]:
        return {(frozenset({names[one], names[other]}), axis) for one, other, axis in parts if one != other}

    return sides(first, order) == sides(second, tuple(range(5))) and {order[index] for index in turned} == turned


def test_a_chain_of_twins_reads_the_same_whatever_they_are_called() -> None:
    """Bar - bar - jar along one axis: six ways to name the bars, one writing."""
    chain = {(0, 1, 0), (1, 3, 0)}
    assert len({decided((*bars, 3, 4), chain, set()) for bars in permutations(range(3))}) == 1
    assert decided((0, 1, 2, 3, 4), chain, set()) != decided((0, 1, 2, 3, 4), {(0, 1, 0), (1, 3, 1)}, set())
