"""The exact search against cases whose answer is known, an independent exact solver, and its own promises."""

import random
from collections.abc import Sequence
from math import ceil, prod

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.box import Block, Outcome, Vector
from listkit.compute.box.search import place
from tests.compute.packing_check import crushed, is_sound
from tests.compute.packing_instances import Instance, Lrand48, blocks_of, cut_tightly, drawn, published_class
from tests.compute.packing_peer import ORTOOLS_MISSING, peer_fits

needs_peer = pytest.mark.skipif(bool(ORTOOLS_MISSING), reason=ORTOOLS_MISSING or "there")


def fixed(*sides: Vector) -> tuple[Block, ...]:
    return tuple(Block((each,)) for each in sides)


def answer(blocks: tuple[Block, ...], room: Vector) -> bool:
    """Return whether all fit, having looked at the layout."""
    outcome = place(blocks, room)
    assert outcome.sure
    if outcome.spots is None:
        return False
    assert is_sound(blocks, room, outcome.spots)
    assert not crushed(blocks, outcome.spots)
    return True


@pytest.mark.parametrize(
    ("sides", "room", "fits"),
    [
        (((5, 5, 5),) * 8, (10, 10, 10), True),
        (((5, 5, 5),) * 9, (10, 10, 10), False),
        (((11, 1, 1),), (10, 10, 10), False),  # axis-parallel: a diagonal does not count
        (((5, 3, 2),) * 6, (10, 6, 3), True),
        (((3, 5, 7),), (7, 3, 5), True),
        (((51, 51, 51),) * 2, (100, 100, 100), False),  # though they fill a quarter of it
        (((51, 51),) * 2, (100, 102), True),
        (((1, 2, 2),) * 6, (3, 3, 3), True),
    ],
)
def test_small_cases_with_a_known_answer(sides: tuple[Vector, ...], room: Vector, fits: bool) -> None:
    """By hand, all turns allowed; the last is the Slothouber-Graatsma puzzle, which has one solution up to turning.

    Eight cubes of 51 need eight rooms of 100 though their volume would fill but two: Martello, Pisinger, Vigo (2000).
    """
    assert answer(blocks_of(*sides), room) is fits


def test_a_pinwheel_is_found_though_no_straight_cut_goes_through_it() -> None:
    """Four pieces of 2 x 1 around one of 1 x 1, not to be turned: the smallest layout that is not guillotine."""
    assert answer(fixed((2, 1), (1, 2), (2, 1), (1, 2), (1, 1)), (3, 3))


def test_three_interlocked_bars_and_two_cubes_fill_a_cube() -> None:
    """One bar along each axis, each over the next: no piece can be put in last from one corner."""
    assert answer(fixed((2, 1, 1), (1, 2, 1), (1, 1, 2), (1, 1, 1), (1, 1, 1)), (2, 2, 2))


def test_without_turning_a_block_stays_as_it_is() -> None:
    assert not answer(fixed((3, 5, 7)), (7, 3, 5))


def test_a_margin_keeps_a_block_off_both_walls() -> None:
    assert answer((Block(((8, 8),), (1, 1)),), (10, 10))
    assert not answer((Block(((8, 8),), (1, 1)),), (10, 9))


FRAGILE, HEAVY = Block(((4, 4, 2),), fragile=True), Block(((4, 4, 2),), heavy=True)


def test_nothing_heavy_lies_above_something_fragile() -> None:
    outcome = place((FRAGILE, HEAVY), (4, 4, 4))
    assert outcome.spots is not None
    fragile, heavy = outcome.spots
    assert heavy.corner[2] < fragile.corner[2]


def test_a_fragile_block_between_two_heavy_ones_has_no_place() -> None:
    """Two heavy ones below need a height of 4, the fragile one 2 more; beside each other there is no room."""
    assert answer((FRAGILE, HEAVY, HEAVY), (4, 4, 6))
    tall = Block(((4, 4, 2),), fragile=True, heavy=True)
    assert not answer((tall, tall), (4, 4, 4))
    assert answer((tall, tall), (8, 4, 4))


def test_a_search_cut_short_says_that_it_is_not_sure() -> None:
    instance = cut_tightly(random.Random(3), 8, 3)
    assert place(instance.blocks, instance.room, most_steps=1) == Outcome(None, sure=False)


@pytest.mark.parametrize(
    ("kinds", "room", "fits"),
    [
        (((34, 82, 65),) * 5 + ((18, 45, 64),) * 3, (117, 117, 93), False),
        (((47, 41, 40),) * 3 + ((38, 66, 30),) * 5, (89, 115, 88), False),
        (((58, 85, 88),) * 6 + ((74, 45, 35),) * 2, (163, 149, 170), True),
        (((17, 59, 66),) * 3 + ((34, 84, 70),) * 5, (109, 130, 104), False),
        (((77, 39),) * 5 + ((80, 59),) * 3, (140, 229), False),
    ],
)
def test_many_alike_pieces_in_a_tight_room_take_thousands_of_steps_and_not_hundreds_of_thousands(
    kinds: tuple[Vector, ...], room: Vector, fits: bool
) -> None:
    """With a plain bound, and how each lies decided as late as may be, the first two need 650,000 and 800,000."""
    outcome = place(blocks_of(*kinds), room, most_steps=20_000)
    assert outcome.sure
    assert (outcome.spots is not None) is fits


@needs_peer
def test_the_verdict_on_many_alike_pieces_in_a_tight_room_is_that_of_the_peer() -> None:
    blocks = blocks_of(*((34, 82, 65),) * 5, *((18, 45, 64),) * 3)
    assert not peer_fits(blocks, (117, 117, 93))


def test_both_ways_to_search_together_take_no_more_steps_than_they_may() -> None:
    """The first two turns have 1000 steps each: 1500 end within the second; these pieces need eight thousand."""
    sides = ((27, 72, 69), (43, 33, 71), (76, 40, 57), (39, 69, 65), (79, 21, 42), (64, 32, 77), (54, 60, 71))
    blocks, room = blocks_of(*sides, (21, 83, 45)), (136, 116, 79)
    assert place(blocks, room, most_steps=1500) == Outcome(None, sure=False)
    assert place(blocks, room, most_steps=0) == Outcome(None, sure=False)
    assert place(blocks, room, most_steps=20_000) == Outcome(None, sure=True)


def test_nothing_fits_anywhere() -> None:
    assert place((), (1, 1)) == Outcome((), sure=True)


def agree_with_peer(instances: Sequence[Instance]) -> int:
    """Compare verdicts one by one and return how many fit."""
    fitting = 0
    for instance in instances:
        fits = answer(instance.blocks, instance.room)
        assert fits == peer_fits(instance.blocks, instance.room), instance
        fitting += fits
    return fitting


@needs_peer
@pytest.mark.parametrize("count", [60, pytest.param(500, marks=pytest.mark.long)])
def test_the_verdict_is_that_of_an_independent_exact_solver(count: int) -> None:
    """OR-Tools CP-SAT on the same two to seven pieces, flat and in space; both answers must occur often."""
    fitting = agree_with_peer(list(drawn("peer", count)))
    assert count // 4 < fitting < count * 3 // 4


@needs_peer
@pytest.mark.long
def test_the_verdict_on_up_to_eight_pieces_is_that_of_the_peer() -> None:
    assert agree_with_peer(list(drawn("eight", 1000, most=8))) > 250


@pytest.mark.parametrize("count", [150, pytest.param(1000, marks=pytest.mark.long)])
def test_pieces_cut_from_a_room_always_go_back_into_it(count: int) -> None:
    """Guillotine cuts into three to eight pieces without any waste: they fit by construction."""
    rng = random.Random("cut")
    for number in range(count):
        instance = cut_tightly(rng, 3 + number % 6, 2 + number % 2)
        assert answer(instance.blocks, instance.room), instance


def test_the_generator_draws_the_numbers_of_lrand48() -> None:
    """POSIX lrand48 after srand48(1), as a C library gives them."""
    stream = Lrand48(1)
    assert [stream.draw() for _ in range(3)] == [89400484, 976015093, 1792756325]


@pytest.mark.parametrize(
    ("number", "side", "first", "volume", "bound"),
    [
        (1, 100, ((13, 92, 84), (75, 76, 21), (26, 28, 36)), 2010861, 3),
        (4, 100, ((81, 60, 62), (75, 76, 21), (26, 28, 36)), 2936975, 3),
        (5, 100, ((13, 47, 39),), 1313496, 2),
        (6, 10, ((6, 3, 7), (9, 3, 5), (6, 1, 5)), 1587, 2),
        (7, 40, ((16, 28, 27), (19, 33, 10)), 73087, 2),
        (8, 100, ((86, 63, 47), (39, 13, 65)), 1123737, 2),
    ],
)
def test_the_published_classes_are_drawn_as_described(
    number: int, side: int, first: tuple[Vector, ...], volume: int, bound: int
) -> None:
    """Martello, Pisinger, Vigo, Operations Research 48(2), 2000: ten items, first replicate; volume bound of rooms."""
    items = published_class(number, 10, 1)
    assert items[: len(first)] == first
    assert sum(map(prod, items)) == volume
    assert ceil(volume / side**3) == bound


@needs_peer
@pytest.mark.parametrize("number", [1, 4, 5, 6, 7, 8])
@pytest.mark.parametrize("turned", [False, True])
def test_items_of_the_published_classes_get_the_verdict_of_the_peer(number: int, turned: bool) -> None:
    side = {6: 10, 7: 40}.get(number, 100)
    for replicate in range(1, 6):
        items = published_class(number, 10, replicate)
        for count in (3, 5, 7):
            blocks = blocks_of(*items[:count]) if turned else fixed(*items[:count])
            assert answer(blocks, (side,) * 3) == peer_fits(blocks, (side,) * 3)


def small_sides(axes: int) -> st.SearchStrategy[tuple[Vector, ...]]:
    return st.lists(st.tuples(*[st.integers(1, 9)] * axes), min_size=1, max_size=6).map(tuple)


@given(sides=small_sides(3), room=st.tuples(*[st.integers(4, 14)] * 3), more=st.tuples(*[st.integers(0, 3)] * 3))
def test_a_larger_room_never_turns_fits_into_does_not(sides: tuple[Vector, ...], room: Vector, more: Vector) -> None:
    larger = tuple(side + extra for side, extra in zip(room, more, strict=True))
    assert answer(blocks_of(*sides), larger) or not answer(blocks_of(*sides), room)


@given(sides=small_sides(2), room=st.tuples(*[st.integers(4, 20)] * 2), seed=st.randoms(use_true_random=False))
def test_the_order_of_the_blocks_does_not_change_the_verdict(
    sides: tuple[Vector, ...], room: Vector, seed: random.Random
) -> None:
    mixed = tuple(seed.sample(sides, len(sides)))
    assert answer(blocks_of(*sides), room) == answer(blocks_of(*mixed), room)
