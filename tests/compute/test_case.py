"""Cases of closed gift boxes against the modules of packaging standards, and against laying by hand."""

import time
from decimal import Decimal
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.case import cased
from listkit.units.length import Length, Size


def size(*sides: int) -> Size:
    return Size(*(Length(Decimal(side)) for side in sides))


@pytest.mark.parametrize(
    ("module", "count"),
    [((600, 400), 4), ((400, 300), 8), ((300, 200), 16), ((600, 200), 8), ((600, 133), 12), ((200, 133), 36)],
)
def test_modular_packages_cover_a_pallet_layer_as_the_standard_says(module: tuple[int, int], count: int) -> None:
    """ISO 3394:2012: sizes derived from the 600 × 400 mm module, on 1200 × 800 mm (from memory)."""
    assert cased(size(*module, 100), size(1200, 800, 100)).count == count


def test_an_upright_box_is_never_laid_on_its_side() -> None:
    """By hand: 100 × 100 × 50 in 100 × 50 × 100 goes in on edge alone."""
    assert cased(size(100, 100, 50), size(100, 50, 100)).count == 0
    assert cased(size(100, 100, 50), size(100, 50, 100), upright=False).count == 1


def test_mixed_rows_hold_what_no_single_grid_does() -> None:
    """By hand: 3 × 2 in 7 × 5: one grid holds 4 or 3; two lying above three standing are 5 (7 ≥ 2 · 3 = 3 · 2)."""
    found = cased(size(3, 2, 1), size(7, 5, 1))
    assert found.count == 5
    assert {(stand.count, int(stand.sides.length.mm)) for stand in found.stands} == {(2, 3), (3, 2)}


def test_a_pinwheel_is_not_looked_for_so_the_count_is_never_too_high() -> None:
    """By hand: four 3 × 2 turned about the middle go into 5 × 5; straight cuts give three."""
    assert cased(size(3, 2, 1), size(5, 5, 1)).count == 3


def test_eight_cubes_fill_a_cube_and_27_fill_a_looser_one() -> None:
    """By hand: cubes of 5 in 10 are 8; cubes of 3 in 10 are 27."""
    assert cased(size(5, 5, 5), size(10, 10, 10), upright=False).count == 8
    assert cased(size(3, 3, 3), size(10, 10, 10), upright=False).count == 27


def test_six_slabs_fill_a_small_carton_exactly() -> None:
    """By hand: six 5 × 3 × 2 fill 10 × 6 × 3, lying on their sides."""
    assert cased(size(5, 3, 2), size(10, 6, 3), upright=False).count == 6


def test_tenths_of_a_millimetre_count() -> None:
    box = Size.parse("100.1 x 100 x 50 mm")
    assert cased(box, size(200, 100, 50)).count == 1
    assert cased(box, Size.parse("200.2 x 100 x 50 mm")).count == 2


def sides() -> st.SearchStrategy[int]:
    return st.integers(2, 9)


@given(box=st.tuples(sides(), sides(), sides()), room=st.tuples(*[st.integers(2, 24)] * 3))
def test_never_more_than_the_volume_nor_fewer_than_the_best_grid(
    box: tuple[int, int, int], room: tuple[int, int, int]
) -> None:
    found = cased(size(*box), size(*room), upright=False)
    volume = box[0] * box[1] * box[2]
    assert found.count * volume <= room[0] * room[1] * room[2]
    grids = [room[0] // way[0] * (room[1] // way[1]) * (room[2] // way[2]) for way in permutations(box)]
    assert found.count >= max(grids)
    assert found.count == sum(stand.count for stand in found.stands)


@given(box=st.tuples(sides(), sides(), sides()), room=st.tuples(*[st.integers(2, 20)] * 3), more=st.integers(1, 5))
def test_a_larger_case_never_holds_fewer(box: tuple[int, int, int], room: tuple[int, int, int], more: int) -> None:
    small, large = size(*room), size(room[0] + more, room[1], room[2])
    assert cased(size(*box), small).count <= cased(size(*box), large).count


def test_very_many_small_boxes_are_counted_in_no_time() -> None:
    began = time.process_time()
    small = Size(*(Length(Decimal(side)) for side in ("1", "1.1", "1.2")))
    room = Size(*(Length(Decimal(10) ** 7),) * 3)
    assert cased(small, room, upright=False).count == 10**7 * 9090909 * 8333333
    assert cased(size(1, 20_000_000, 20_000_000), room, upright=False).count == 0
    assert time.process_time() - began < 1


def test_thin_boxes_that_could_lie_in_very_many_ways_stand_in_one_grid() -> None:
    """Three times nine by hand; ways to part such a case went deeper into each other than a program goes."""
    found = cased(Size.parse("0.1 x 300 x 300 mm"), Size.parse("0.3 x 1000 x 1000 mm"), upright=False)
    assert (found.count, len(found.stands)) == (27, 1)
