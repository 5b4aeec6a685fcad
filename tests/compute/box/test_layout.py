"""Layouts as a careful hand makes them: straight, even, the dearest in the middle."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.box import Block, Spot
from listkit.compute.box.layout import MOST_IN_ROWS, Footprint, extent, in_rows, spread
from listkit.compute.box.search import place
from tests.compute.packing_check import crushed, is_sound
from tests.compute.packing_instances import drawn


def gaps(spots: tuple[Spot, ...], axis: int, side: int) -> list[int]:
    """Return the free lengths before, between and behind spots that lie in one row."""
    ordered = sorted(spots, key=lambda spot: spot.corner[axis])
    between = [b.corner[axis] - a.corner[axis] - a.size[axis] for a, b in pairwise(ordered)]
    last = ordered[-1]
    return [ordered[0].corner[axis], *between, side - last.corner[axis] - last.size[axis]]


def test_one_piece_lies_in_the_middle() -> None:
    assert in_rows(((60, 40),), (100, 80), None) == (Spot((20, 20), (60, 40)),)


def test_three_in_a_row_have_even_gaps_and_the_dearest_in_the_middle() -> None:
    spots = in_rows(((50, 50), (50, 50), (50, 50)), (190, 60), 0)
    assert spots is not None
    assert gaps(spots, 0, 190) == [10, 10, 10, 10]
    assert spots[0].corner == (70, 5)


def test_four_alike_make_two_rows_of_two() -> None:
    spots = in_rows(((80, 50),) * 4, (200, 140), None)
    assert spots is not None
    assert sorted(spot.corner for spot in spots) == [(13, 13), (13, 76), (106, 13), (106, 76)]


def test_rows_across_are_looked_at_too() -> None:
    """Two thin ones beside one as long as both: rows along the length cannot hold them."""
    spots = in_rows(((40, 96), (50, 44), (50, 44)), (100, 100), None)
    assert spots is not None
    assert is_sound(tuple(Block((size, size[::-1])) for size in ((40, 96), (50, 44), (50, 44))), (100, 100), spots)


def test_no_rows_where_only_a_pinwheel_fits() -> None:
    """By hand: two 25 x 15 fill a length of 40 only one along and one across, and two such rows are 50 wide."""
    footprints = ((25, 15), (15, 25), (25, 15), (15, 25), (10, 10))
    assert in_rows(footprints, (40, 40), None) is None
    assert place(tuple(Block((sides, sides[::-1])) for sides in footprints), (40, 40)).spots is not None


def test_too_many_pieces_are_left_to_the_search() -> None:
    assert in_rows(((1, 1),) * (MOST_IN_ROWS + 1), (100, 100), None) is None


@given(
    footprints=st.lists(st.tuples(st.integers(5, 40), st.integers(5, 40)), min_size=1, max_size=5).map(tuple),
    floor=st.tuples(st.integers(40, 120), st.integers(40, 120)),
)
def test_rows_never_overlap_or_stick_out(footprints: tuple[Footprint, ...], floor: Footprint) -> None:
    spots = in_rows(footprints, floor, 0)
    blocks = tuple(Block((sides, sides[::-1])) for sides in footprints)
    assert spots is None or is_sound(blocks, floor, spots)
    assert in_rows(footprints, floor, 0) == spots


def test_spreading_keeps_every_layout_sound() -> None:
    spreads = 0
    for instance in drawn("spread", 150):
        spots = place(instance.blocks, instance.room).spots
        if spots is not None:
            wide = spread(spots, instance.room)
            assert is_sound(instance.blocks, instance.room, wide), instance
            assert not crushed(instance.blocks, wide), instance
            spreads += 1
    assert spreads > 50


def test_spreading_leaves_even_gaps() -> None:
    row = (Spot((0, 0), (20, 10)), Spot((20, 0), (30, 10)), Spot((50, 0), (10, 10)))
    spaced = gaps(spread(row, (100, 30)), 0, 100)
    assert max(spaced) - min(spaced) <= 1
    assert sum(spaced) == 40


def test_what_lies_above_nothing_comes_down() -> None:
    spots = (Spot((0, 0, 0), (10, 10, 5)), Spot((0, 0, 7), (10, 10, 5)), Spot((20, 0, 7), (10, 10, 5)))
    assert [spot.corner[2] for spot in spread(spots, (40, 10, 20))] == [0, 5, 0]


@pytest.mark.parametrize(
    ("spots", "room", "needed"),
    [
        ((Spot((5, 5), (20, 10)), Spot((40, 5), (30, 15))), (100, 40), (50, 15)),
        ((Spot((0, 0, 0), (10, 10, 5)), Spot((0, 0, 9), (8, 8, 5))), (40, 40, 20), (10, 10, 10)),
    ],
)
def test_the_extent_is_what_the_pieces_need_pushed_together(
    spots: tuple[Spot, ...], room: tuple[int, ...], needed: tuple[int, ...]
) -> None:
    assert extent(spots, room) == needed
