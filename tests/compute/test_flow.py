"""The search for scarce items, against counting over every group of items.

Counted by hand over every group; the theorem is Ford and Fulkerson's (1956).
"""

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.flow import Demand, Shortage, shortages

CODES = "ABCDE"


def test_one_item_in_two_sets_is_short_by_the_difference() -> None:
    takes = [Demand("S1", frozenset("A"), 45), Demand("S2", frozenset("A"), 14)]
    assert shortages(takes, {"A": 45}) == [Shortage(("A",), ("S1", "S2"), 59, 45)]


def test_a_choice_that_can_give_way_is_not_short() -> None:
    takes = [Demand("S1", frozenset("AB"), 10), Demand("S2", frozenset("A"), 10)]
    assert shortages(takes, {"A": 10, "B": 10}) == []


def test_only_the_scarce_part_of_what_hangs_together_is_told() -> None:
    takes = [Demand("S1", frozenset("AB"), 5), Demand("S2", frozenset("A"), 8), Demand("S3", frozenset("A"), 7)]
    assert shortages(takes, {"A": 10, "B": 5}) == [Shortage(("A",), ("S2", "S3"), 15, 10)]


@given(
    st.lists(st.tuples(st.sets(st.sampled_from(CODES), min_size=1), st.integers(0, 30)), max_size=6),
    st.tuples(*[st.integers(0, 30)] * len(CODES)),
)
def test_what_is_short_in_all_is_the_worst_group_of_items(
    takes: list[tuple[set[str], int]], have: tuple[int, ...]
) -> None:
    """Hall's theorem in its deficiency form (Ore, Duke Mathematical Journal 22, 1955), counted over all groups."""
    on_hand = dict(zip(CODES, have, strict=True))
    groups = [set(group) for size in range(len(CODES) + 1) for group in combinations(CODES, size)]
    worst = max(sum(n for of, n in takes if of <= group) - sum(on_hand[c] for c in group) for group in groups)
    found = shortages([Demand(f"S{at}", frozenset(of), n) for at, (of, n) in enumerate(takes)], on_hand)
    assert sum(one.needed - one.there for one in found) == worst
    assert all(one.needed > one.there for one in found)
    told = [code for one in found for code in one.items]
    assert len(told) == len(set(told))
