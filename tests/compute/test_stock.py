"""How many can be made, against counting by hand.

No source beyond counting.
"""

from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listkit.compute import stock
from listkit.compute.catalog import Piece
from listkit.compute.stock import can_make, can_make_of_set, published
from listkit.model.fields import Status
from tests.compute.packing_peer import ORTOOLS_MISSING
from tests.small_shop import BOX_S, CARD, facts, gift_set, item

if not ORTOOLS_MISSING:
    from ortools.sat.python import cp_model


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


def test_box_fill_and_card_limit_a_set_and_each_of_its_variants() -> None:
    fill = {"weight": "10 g", "cost": "0.10"}
    for counts in ((7, None, None), (90, 7, None), (90, 90, 7)):
        box, filled, card = counts
        packaging = {
            "box": [{**BOX_S, "on_hand": box, "fill": {**fill, "on_hand": filled}}],
            "card": {**CARD, "on_hand": card},
        }
        made = facts([item("A", on_hand=50)], gift_set([{"item": "A"}]), packaging=packaging)
        assert (made.can_make, made.variants[0].can_make) == (7, 7)


def test_a_set_draws_on_all_options_of_its_slot() -> None:
    """Three jars of 9, 31 and 18 make 58 sets where bars and balms last longer."""
    jars = (piece("S03", 9), piece("U01", 31), piece("U02", 18))
    assert can_make_of_set((piece("B01", 64), piece("L01", 120)), (jars,), ()) == 58


def test_two_slots_share_what_they_both_offer() -> None:
    both = (piece("A", 5), piece("B", 1))
    assert can_make_of_set((), (both, both), ()) == 3
    assert can_make_of_set((), ((piece("A", 5),), both), ()) == 3  # A once a set, then what is left of A and B


def test_one_slot_that_runs_out_limits_all() -> None:
    assert can_make_of_set((), ((piece("A", 2),), (piece("B", 90),)), ()) == 2
    assert can_make_of_set((), (), ()) is None


@pytest.mark.parametrize(("makeable", "back", "stock"), [(31, 2, 29), (1, 2, 0), (None, 2, None), (5, 0, 5)])
def test_a_channel_publishes_what_is_left_after_holding_back(
    makeable: int | None, back: int, stock: int | None
) -> None:
    assert published(makeable, back) == stock


@given(
    st.lists(st.integers(0, 5), min_size=3, max_size=3),
    st.lists(st.lists(st.integers(0, 2), min_size=1, max_size=3, unique=True), min_size=1, max_size=2),
    st.lists(st.integers(1, 3), min_size=2, max_size=2),
)
def test_the_number_of_sets_is_what_trying_every_way_finds(
    have: list[int], slots: list[list[int]], quantities: list[int]
) -> None:
    """Against exhaustive trial: the most sets that can be filled one after another, by any order of choices."""
    options = (tuple(piece(str(i), have[i], many) for i in slot) for slot, many in zip(slots, quantities, strict=False))
    assert can_make_of_set((), tuple(options), ()) == most_by_trial(tuple(have), slots, quantities)


def most_by_trial(have: tuple[int, ...], slots: list[list[int]], quantities: list[int]) -> int:
    reached, made = {have}, 0
    while True:
        after = set()
        for left in reached:
            for chosen in product(*slots):
                now = list(left)
                for i, many in zip(chosen, quantities, strict=False):
                    now[i] -= many
                if min(now) >= 0:
                    after.add(tuple(now))
        if not after:
            return made
        reached, made = after, made + 1


CODES = "ABCD"
ITEMS = st.lists(st.integers(0, 30) | st.none(), min_size=len(CODES), max_size=len(CODES))
SLOTS = st.lists(st.tuples(st.sets(st.sampled_from(CODES), min_size=1), st.integers(1, 4)), min_size=1, max_size=3)


def slots_of(have: list[int | None], slots: list[tuple[set[str], int]]) -> tuple[tuple[Piece, ...], ...]:
    """Return the options of each slot, `have` of A, B and so on."""
    on_hand = dict(zip(CODES, have, strict=True))
    return tuple(tuple(piece(code, on_hand[code], quantity) for code in sorted(codes)) for codes, quantity in slots)


def most_by_peer(
    fixed: tuple[Piece, ...], slots: tuple[tuple[Piece, ...], ...], packs: int | None, closed: set[tuple[str, ...]]
) -> int | None:
    """Return the most sets by OR-Tools CP-SAT: so many of each variant, of no item more than is on hand."""
    model = cp_model.CpModel()
    beyond = 1000
    uses: dict[str, list[Any]] = {}
    on_hand: dict[str, int] = {}
    made = []
    for chosen in product(*slots):
        if tuple(each.item.code for each in chosen) in closed:
            continue
        number = model.new_int_var(0, beyond, "")
        made.append(number)
        for each in (*fixed, *chosen):
            if each.item.on_hand is not None:
                on_hand[each.item.code] = each.item.on_hand
                uses.setdefault(each.item.code, []).append(number * each.quantity)
    for code, taken in uses.items():
        model.add(sum(taken) <= on_hand[code])
    model.add(sum(made) <= (beyond if packs is None else packs))
    model.maximize(sum(made))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model) == cp_model.OPTIMAL
    most = round(solver.objective_value)
    return None if most == beyond else most


@pytest.mark.skipif(bool(ORTOOLS_MISSING), reason=ORTOOLS_MISSING)
@settings(max_examples=500, deadline=None)
@given(ITEMS, st.lists(st.sampled_from(CODES), max_size=2), SLOTS, st.integers(0, 40) | st.none())
def test_the_number_of_sets_is_what_a_solver_finds(
    have: list[int | None], always: list[str], slots: list[tuple[set[str], int]], packs: int | None
) -> None:
    """Against CP-SAT, slots that take unlike quantities of the same items among them."""
    on_hand, options = dict(zip(CODES, have, strict=True)), slots_of(have, slots)
    fixed = tuple(piece(code, on_hand[code]) for code in always)
    assert can_make_of_set(fixed, options, (packs,)) == most_by_peer(fixed, options, packs, set())


@pytest.mark.skipif(bool(ORTOOLS_MISSING), reason=ORTOOLS_MISSING)
@settings(max_examples=300, deadline=None)
@given(ITEMS, SLOTS, st.integers(0, 40) | st.none(), st.data())
def test_what_is_closed_is_left_out(
    have: list[int | None], slots: list[tuple[set[str], int]], packs: int | None, data: st.DataObject
) -> None:
    """Against CP-SAT: never more than there is, and exact where whole options, or pairs of two slots, are closed."""
    options = slots_of(have, slots)
    every = [tuple(each.item.code for each in chosen) for chosen in product(*options)]
    closed = data.draw(st.sets(st.sampled_from(every), min_size=1))
    found = can_make_of_set((), options, (packs,), closed=[*closed], sold=[c for c in every if c not in closed])
    most = most_by_peer((), options, packs, closed)
    apart = sum(len(codes) for codes, _ in slots) == len(set().union(*(codes for codes, _ in slots)))
    if len(slots) == 1 or (len(slots) == 2 and apart):
        assert found == most
    else:
        assert most is None or (found is not None and found <= most)


@pytest.mark.parametrize("last", [("A0", "B2", "C0"), ("A2", "B2", "C2")])
def test_trying_ends_where_no_more_can_be_made(monkeypatch: pytest.MonkeyPatch, last: tuple[str, ...]) -> None:
    """By hand: a million of each of twelve options make four million sets, one of each letter and number at a time."""
    options = tuple(tuple(piece(f"{slot}{number}", 1_000_000) for number in range(4)) for slot in "ABC")
    every = [tuple(each.item.code for each in chosen) for chosen in product(*options)]
    closed = [("A0", "B0", "C0"), ("A1", "B1", "C1"), last]
    steps = 0
    step = stock._Trial._try

    def counted(self: stock._Trial, at: int, left: tuple[int, ...], made: int, never_more: int) -> None:
        nonlocal steps
        steps += 1
        step(self, at, left, made, never_more)

    monkeypatch.setattr(stock._Trial, "_try", counted)
    made = can_make_of_set((), options, (), closed=closed, sold=[codes for codes in every if codes not in closed])
    assert made == 4_000_000
    assert steps < 1_000


def test_a_whole_option_that_is_closed_is_left_out_exactly() -> None:
    """Jars of 9, 31 and 18 make 58; without the 31 it is 27."""
    bar = gift_set(
        [{"item": "B"}, {"slot": "Jar", "choose": ["S", "U", "V"]}],
        variant=[{"options": {"Jar": "U"}, "status": "closed"}],
    )
    items = [item("B", on_hand=64), item("S", on_hand=9), item("U", on_hand=31), item("V", on_hand=18)]
    assert facts(items, bar).can_make == 27
    assert facts(items, bar.model_copy(update={"variants": ()})).can_make == 58
    assert facts(items, bar.model_copy(update={"status": Status.CLOSED})).can_make == 58  # as a whole, not for lack


def test_slots_of_unlike_quantity_share_an_item_to_the_last_piece() -> None:
    """By hand: 7 of A and 2 of B; two at a time three times from A, singles 1 of A and 2 of B: three sets."""
    both = ((piece("A", 7, 2),), (piece("A", 7), piece("B", 2)))
    assert can_make_of_set((), both, ()) == 3
    assert can_make_of_set((), ((piece("A", 7, 2), piece("B", 2, 2)), (piece("A", 7), piece("B", 2))), ()) == 3


@pytest.mark.parametrize("on_hand", [14, 140, 1_000_000])
@pytest.mark.parametrize("quantities", [(2, 3, 4, 5), (4, 5, 7), (3, 5, 7), (1, 2, 3, 5), (7, 11, 13, 17)])
def test_one_item_for_slots_of_any_quantities_is_used_to_the_last_piece(
    on_hand: int, quantities: tuple[int, ...]
) -> None:
    """By hand: each set takes the sum of the quantities."""
    slots = tuple((piece("A", on_hand, quantity),) for quantity in quantities)
    assert can_make_of_set((), slots, ()) == on_hand // sum(quantities)


UNLIKE = (
    ([140, 59, 83, None], ("AB", 2), ("ABC", 3), ("BC", 4), ("AC", 5)),
    ([297, 214, 0, None], ("AB", 3), ("B", 5), ("AB", 7)),
    ([290, 28, 251, None], ("BC", 4), ("ABC", 5), ("AC", 7)),
    ([2753, 1846, 2217, None], ("AC", 3), ("AB", 5), ("ABC", 7)),
    ([700, 100, 13, 350], ("ABCD", 1), ("AD", 2), ("BCD", 3), ("ABD", 5)),
    ([47, 31, 29, 53], ("ABCD", 2), ("ABCD", 3), ("ABCD", 4), ("ABCD", 5)),
)


@pytest.mark.skipif(bool(ORTOOLS_MISSING), reason=ORTOOLS_MISSING)
@pytest.mark.parametrize("case", UNLIKE)
def test_several_items_for_slots_of_many_quantities_are_counted_as_a_solver_does(case: Any) -> None:
    """Against CP-SAT, where there are too many ways to try them all."""
    have, *asked = case
    slots = slots_of(have, [(set(codes), quantity) for codes, quantity in asked])
    assert can_make_of_set((), slots, ()) == most_by_peer((), slots, None, set())


@pytest.mark.skipif(bool(ORTOOLS_MISSING), reason=ORTOOLS_MISSING)
@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.integers(0, 300), min_size=4, max_size=4),
    st.lists(st.tuples(st.sets(st.sampled_from(CODES), min_size=1), st.integers(2, 9)), min_size=3, max_size=4),
)
def test_slots_of_many_quantities_never_make_more_than_a_solver_finds(
    have: list[int | None], slots: list[tuple[set[str], int]]
) -> None:
    """Against CP-SAT, which finds more now and then."""
    options = slots_of(have, slots)
    found, most = can_make_of_set((), options, ()), most_by_peer((), options, None, set())
    assert found is not None
    assert most is not None
    assert found <= most


def test_slots_with_very_many_options_are_counted_too() -> None:
    """By hand: each of 1,500 items has 5 pieces; three at a time and one at a time take 4 of them."""
    many = [f"I{number}" for number in range(1500)]
    slots = tuple(tuple(piece(code, 5, quantity) for code in many) for quantity in (3, 1))
    found = can_make_of_set((), slots, ())
    assert found is not None
    assert 750 <= found <= 1500  # 1500 with 3 and 1 of each; fewer where not every way is tried


def test_a_count_of_hundreds_of_millions_is_not_gone_through_piece_by_piece() -> None:
    """Three choices draw on A1, B1 and C1 by turns, the fourth on items of its own: without the first all are used."""
    there = 999_999_999
    slots = tuple(tuple(piece(f"{slot}{at}", there) for at in (1, 2, 3)) for slot in "ABC")
    sold = [("A1", "B1", "C1"), ("A1", "B1", "C2"), ("A2", "B2", "C1"), ("A3", "B3", "C3")]
    every = product(*(tuple(each.item.code for each in slot) for slot in slots))
    closed = [codes for codes in every if codes not in sold]
    assert can_make_of_set((), slots, (), closed=closed, sold=sold) == 3 * there


def test_thousands_of_choices_that_closing_couples_are_tried_within_a_bound() -> None:
    """Of Z, of which there are most, one alone can be had: never as many as there are of all."""
    slots = tuple((*(piece(f"{slot}{at}", 9) for at in range(24)), piece(f"{slot}Z", 400)) for slot in "ABC")
    every = list(product(*(tuple(each.item.code for each in slot) for slot in slots)))
    sold = [codes for codes in every if not any(code.endswith("Z") for code in codes) or codes == ("AZ", "BZ", "C0")]
    there = set(sold)
    assert can_make_of_set((), slots, (), closed=[c for c in every if c not in there], sold=sold) == 24 * 9
