"""How many can be made, against counting by hand."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.catalog import Piece
from listkit.compute.stock import can_make, can_make_of_set, published
from tests.small_shop import item


def piece(code: str, on_hand: int | None, quantity: int = 1) -> Piece:
    return Piece(item(code, on_hand=on_hand), quantity)


def test_the_scarcest_item_decides() -> None:
    assert can_make((piece("A", 64), piece("B", 9), piece("C", 120))) == 9
    assert can_make((piece("A", 64, 3),)) == 21


def test_an_item_that_lies_in_it_twice_is_counted_together() -> None:
    assert can_make((piece("A", 5), piece("A", 5))) == 2


def test_what_is_not_counted_does_not_limit() -> None:
    assert can_make((piece("A", None), piece("B", 7))) == 7
    assert can_make((piece("A", None),)) is None
    assert can_make((piece("A", 50),), (12, None)) == 12


def test_a_set_draws_on_all_options_of_its_slot() -> None:
    """Three jars of 9, 31 and 18 make 58 sets where bars and balms last longer."""
    jars = (piece("S03", 9), piece("U01", 31), piece("U02", 18))
    assert can_make_of_set((piece("B01", 64), piece("L01", 120)), (jars,)) == 58


def test_two_slots_share_what_they_both_offer() -> None:
    both = (piece("A", 5), piece("B", 1))
    assert can_make_of_set((), (both, both)) == 3
    assert can_make_of_set((), ((piece("A", 5),), both)) == 3  # A once a set, then what is left of A and B


def test_one_slot_that_runs_out_limits_all() -> None:
    assert can_make_of_set((), ((piece("A", 2),), (piece("B", 90),))) == 2
    assert can_make_of_set((), ()) is None


@pytest.mark.parametrize(("makeable", "back", "stock"), [(31, 2, 29), (1, 2, 0), (None, 2, None), (5, 0, 5)])
def test_a_channel_publishes_what_is_left_after_holding_back(
    makeable: int | None, back: int, stock: int | None
) -> None:
    assert published(makeable, back) == stock


@given(
    st.lists(st.integers(0, 4), min_size=3, max_size=3),
    st.lists(st.lists(st.integers(0, 2), min_size=1, max_size=3, unique=True), min_size=1, max_size=2),
)
def test_the_number_of_sets_is_what_trying_every_way_finds(have: list[int], slots: list[list[int]]) -> None:
    """Against exhaustive trial: the most sets that can be filled one after another, by any order of choices."""
    found = can_make_of_set((), tuple(tuple(piece(str(i), have[i]) for i in slot) for slot in slots))
    assert found == most_by_trial(tuple(have), slots)


def most_by_trial(have: tuple[int, ...], slots: list[list[int]]) -> int:
    reached, made = {have}, 0
    while True:
        after = set()
        for left in reached:
            for chosen in product(*slots):
                now = list(left)
                for i in chosen:
                    now[i] -= 1
                if min(now) >= 0:
                    after.add(tuple(now))
        if not after:
            return made
        reached, made = after, made + 1
