"""Quick proofs by length: by hand, and never against a layout that exists."""

import random
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.box import Vector
from listkit.compute.box.search import may_fit, place, reachable
from tests.compute.packing_instances import blocks_of, cut_tightly, drawn
from tests.compute.packing_peer import ORTOOLS_MISSING, peer_fits


def turned(*sides: Vector) -> list[tuple[Vector, ...]]:
    return [block.poses for block in blocks_of(*sides)]


def test_a_room_is_no_longer_than_the_rows_it_can_hold() -> None:
    """By hand: bars of 86 and 58 make 86 + 3 · 58 = 260 and 86 + 58 = 144, nothing from 145 to 170."""
    assert reachable(turned(*[(86, 58)] * 8), (260, 170)) == (260, 144)
    assert reachable(turned((11, 1, 1)), (10, 10, 10)) == (1, 1, 1)


def test_each_block_counts_once_in_a_row() -> None:
    assert reachable(turned((5, 5), (7, 7)), (30, 9)) == (12, 7)


def test_space_that_nothing_can_use_counts_as_used() -> None:
    """By hand: two cubes of 51 in 100 leave 49 that neither fits, so the first takes up the whole room."""
    assert not may_fit(turned((51, 51, 51), (51, 51, 51)), (100, 100, 100))
    assert may_fit(turned((50, 50, 50), (50, 50, 50)), (100, 100, 100))


def test_unlike_sides_that_never_add_up_leave_too_little() -> None:
    """Eight pieces of 88 hundredths of the floor: beside a side of 73 or 74 only 44 of the 134 can be used."""
    assert not may_fit(turned(*[(44, 73)] * 4, *[(42, 74)] * 4), (214, 134))


def test_lengths_over_half_a_third_and_a_quarter_are_counted_as_such() -> None:
    """By hand: of cubes of 51, 34 and 26 there go 1, 8 and 27 into a room of 100, one more is known to be too many."""
    for side, most in ((51, 1), (34, 8), (26, 27)):
        assert may_fit([((side,) * 3,)] * most, (100, 100, 100))
        assert not may_fit([((side,) * 3,)] * (most + 1), (100, 100, 100))


def test_few_alike_pieces_that_fill_two_thirds_of_a_room_are_known_at_once_not_to_fit() -> None:
    """OR-Tools CP-SAT says the same after half a minute."""
    assert not may_fit(turned(*[(47, 41, 40)] * 3, *[(38, 66, 30)] * 5), (89, 115, 88))


@given(
    sides=st.lists(st.tuples(st.integers(1, 12), st.integers(1, 12)), min_size=1, max_size=5),
    side=st.integers(1, 40),
)
def test_the_reachable_length_is_that_of_the_longest_row_by_trying_all(sides: list[Vector], side: int) -> None:
    rows = {0}
    for each in sides:
        rows |= {row + length for row in rows for length in each}
    longest = max(row for row in rows if row <= side)
    poses = [tuple(permutations(each)) for each in sides]
    assert reachable(poses, (side, side)) == (longest, longest)


@pytest.mark.skipif(bool(ORTOOLS_MISSING), reason=ORTOOLS_MISSING or "there")
def test_the_bound_never_contradicts_a_layout_that_the_peer_finds() -> None:
    """OR-Tools CP-SAT; and the bound must rule out some of the rest, or it were for nothing."""
    ruled_out = 0
    for instance in drawn("bounds", 120, most=6):
        poses = [_fitting(block.poses, instance.room) for block in instance.blocks]
        if all(poses) and not may_fit(poses, instance.room):
            assert not peer_fits(instance.blocks, instance.room), instance
            ruled_out += 1
    assert ruled_out > 10


def test_the_bound_never_contradicts_pieces_cut_from_the_room() -> None:
    """As they were cut, and with every way to turn them."""
    rng = random.Random("scales")
    for number in range(150):
        instance = cut_tightly(rng, 3 + number % 6, 2 + number % 2)
        assert may_fit([_fitting(block.poses, instance.room) for block in instance.blocks], instance.room)
        spots = place(instance.blocks, instance.room).spots
        assert spots is not None
        assert may_fit([(spot.size,) for spot in spots], instance.room)


def _fitting(poses: tuple[Vector, ...], room: Vector) -> tuple[Vector, ...]:
    return tuple(pose for pose in poses if all(length <= side for length, side in zip(pose, room, strict=True)))
