"""Nodes of the search: twins, and states that differ only in their names."""

from itertools import permutations

from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.box.pieces import Block, Size
from listkit.compute.box.search import Rules, State, interchangeable, name_free, root_of, rules_of

BAR, JAR = Block(((86, 58), (58, 86))), Block(((72, 72),))


def fresh(*blocks: Block, room: Size = (300, 300)) -> tuple[State, Rules]:
    poses = [block.poses for block in blocks]
    rules = rules_of(list(blocks), poses, room)
    return root_of(poses, rules), rules


def test_twins_are_alike_in_poses_and_rules() -> None:
    _, rules = fresh(BAR, BAR, JAR, Block(JAR.poses, fragile=True))
    assert rules.twins == (0b11, 0b11, 0b100, 0b1000)
    assert rules.alike
    assert not fresh(BAR, JAR)[1].alike


def test_what_is_decided_about_one_twin_tells_it_apart() -> None:
    state, rules = fresh(BAR, BAR, BAR, JAR)
    assert interchangeable(state, rules, 0) == [0, 1, 2]
    state.part((0, 3), 0)
    assert interchangeable(state, rules, 0) == [0]
    assert interchangeable(state, rules, 1) == [1, 2]
    state.narrow(1, (BAR.poses[0],))
    assert interchangeable(state, rules, 1) == [1]


def test_two_fragile_heavy_blocks_are_never_tried_above_each_other() -> None:
    block = Block(((4, 4, 2),), fragile=True, heavy=True)
    state, _ = fresh(block, block, room=(8, 8, 8))
    assert state.barred == [[0, 0], [0, 0], [2, 1]]


def test_narrowing_tells_whether_a_least_size_grew() -> None:
    state, _ = fresh(BAR, JAR)
    assert state.size == [[58, 72], [58, 72]]
    assert state.undecided(9) == 0
    assert state.narrow(0, (BAR.poses[0],))
    assert state.size == [[86, 72], [58, 72]]
    assert state.undecided(9) is None
    assert not state.narrow(0, (BAR.poses[0],))


def test_a_copy_goes_its_own_way() -> None:
    state, _ = fresh(BAR, BAR)
    other = state.copy()
    other.part((0, 1), 1)
    other.bar((0, 1), 0)
    assert state.apart == [[0, 0], [0, 0]]
    assert state.barred == [[0, 0], [0, 0]]


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
def test_equal_writings_are_always_the_same_state_up_to_names(
    first: set[tuple[int, int, int]], second: set[tuple[int, int, int]], turned: set[int]
) -> None:
    same = tuple(range(5))
    if decided(same, first, turned) == decided(same, second, turned):
        assert any(
            matched(first, second, turned, (*bars, *jars))
            for bars in permutations(range(3))
            for jars in permutations((3, 4))
        )


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
