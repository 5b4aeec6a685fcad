"""Who gets which piece: against CP-SAT and counting, what always holds, and wishes that cannot be kept.

The peer is OR-Tools CP-SAT; all else is counted by hand, and how pieces are shared out is common practice, no source.
"""

import itertools
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from pydantic import ValidationError

from listkit.compute.allotment import Refusal, Shared, Sharing, Ware, share_out
from listkit.model.allotment import Allotment
from tests.compute.sharings import sharing

try:
    from ortools.sat.python import cp_model

    ORTOOLS_MISSING = ""
except ImportError:
    ORTOOLS_MISSING = "ortools is not installed (pip install listkit[peers])"

SIZES = ({"items": 4, "sets": 3, "variants": 2, "places": 2}, {"items": 8, "sets": 5, "variants": 3, "places": 3},
         {"items": 12, "sets": 6, "variants": 4, "places": 4})  # fmt: skip


def question(seed: int, **more: int) -> Sharing:
    """Return one of many small questions, every other with wishes."""
    return sharing(seed, **{**SIZES[seed % len(SIZES)], "wishes": 4 * (seed % 2), **more})


def sold(numbers: Mapping[tuple[str, str], int], asked: Sharing) -> Iterable[tuple[Ware, int]]:
    return ((ware, numbers[ware.place, ware.code]) for ware in asked.wares)


def used_by(numbers: Mapping[tuple[str, str], int], asked: Sharing, least_hold: int) -> Counter[str]:
    """Count the pieces that places take which leave so many or more in the store."""
    used: Counter[str] = Counter()
    for ware, number in sold(numbers, asked):
        for code, each in ware.needs if ware.hold >= least_hold else ():
            used[code] += each * number
    return used


def peer_optimum(asked: Sharing) -> int | None:
    """Return the most that CP-SAT finds, a number for each ware, None where nothing is possible."""
    model = cp_model.CpModel()
    numbers = {}
    for ware in asked.wares:
        alone = min(asked.have[code] // each for code, each in ware.needs)
        numbers[ware.place, ware.code] = model.new_int_var(0, max(0, alone - ware.hold), "")
    for hold in {ware.hold for ware in asked.wares}:
        for code, there in asked.have.items():
            taken = [
                numbers[ware.place, ware.code] * each
                for ware in asked.wares
                for piece, each in ware.needs
                if piece == code and ware.hold >= hold
            ]
            model.add(sum(taken) <= max(0, there - hold))
    for wish in asked.allotment.wishes:
        of = [
            numbers[w.place, w.code] for w in asked.wares if w.place == wish.place and {w.code, w.unit} & set(wish.of)
        ]
        model.add(sum(of) >= wish.least)
        if wish.most is not None:
            model.add(sum(of) <= wish.most)
    model.maximize(sum(numbers[ware.place, ware.code] * ware.kept for ware in asked.wares))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return round(solver.objective_value) if status == cp_model.OPTIMAL else None


def agrees_with_the_peer(seed: int) -> bool:
    """Check one question; return whether it has an answer."""
    asked = question(seed)
    answer, best = share_out(asked, 2), peer_optimum(asked)
    assert isinstance(answer, Refusal) == (best is None)
    if isinstance(answer, Shared):
        assert answer.is_best
        assert answer.kept == Decimal(best or 0) / 100
    return best is not None


@pytest.mark.skipif(bool(ORTOOLS_MISSING), reason=ORTOOLS_MISSING)
def test_forty_questions_have_the_optimum_of_another_solver() -> None:
    """OR-Tools CP-SAT, from the wares and wishes themselves; some of the wishes cannot be kept."""
    assert 20 < sum(map(agrees_with_the_peer, range(40))) < 40


@pytest.mark.long
@pytest.mark.skipif(bool(ORTOOLS_MISSING), reason=ORTOOLS_MISSING)
def test_three_hundred_questions_have_the_optimum_of_another_solver() -> None:
    """As the forty, of which these are more."""
    assert 150 < sum(map(agrees_with_the_peer, range(1_000, 1_300))) < 300


@pytest.mark.parametrize("seed", range(25))
def test_the_answer_is_the_first_of_the_best_counted_over_all(seed: int) -> None:
    """Counted over all ways for two pieces in three wares: most kept, then the first place and code gets more."""
    kept = [(seed * step) % 5 + 1 for step in (3, 7, 11)]
    needs = ((("A", 1),), (("A", 1), ("B", 1)), (("B", 1),))
    wares = tuple(
        Ware(place=f"P{at % 2}", code=f"C{at}", unit=f"C{at}", needs=each, kept=kept[at])
        for at, each in enumerate(needs)
    )
    wares = tuple(sorted(wares, key=lambda ware: (ware.place, ware.code)))
    asked = Sharing(wares, {"A": 2 + seed % 3, "B": 1 + seed % 4}, Allotment())
    answer = share_out(asked, 0)
    assert isinstance(answer, Shared)

    def suffices(numbers: tuple[int, ...]) -> bool:
        used: Counter[str] = Counter()
        for ware, number in zip(wares, numbers, strict=True):
            used.update({piece: number * each for piece, each in ware.needs})
        return all(used[piece] <= there for piece, there in asked.have.items())

    ways = filter(suffices, itertools.product(range(6), repeat=3))
    best = max(ways, key=lambda each: (sum(ware.kept * n for ware, n in zip(wares, each, strict=True)), each))
    assert tuple(answer.numbers.values()) == best


@pytest.mark.parametrize("seed", range(30))
def test_no_piece_is_promised_twice_and_every_wish_is_kept(seed: int) -> None:
    asked = question(seed)
    answer = share_out(asked, 2)
    if isinstance(answer, Refusal):
        return
    for hold in {ware.hold for ware in asked.wares}:
        used = used_by(answer.numbers, asked, hold)
        assert all(number <= max(0, asked.have[code] - hold) for code, number in used.items())
    for wish in asked.allotment.wishes:
        got = sum(
            n for w, n in sold(answer.numbers, asked) if w.place == wish.place and {w.code, w.unit} & set(wish.of)
        )
        assert got >= wish.least
        assert wish.most is None or got <= wish.most
    assert answer.kept * 100 == sum(ware.kept * number for ware, number in sold(answer.numbers, asked))


@pytest.mark.parametrize("seed", range(12))
def test_taking_a_place_away_never_lowers_what_the_others_could_get(seed: int) -> None:
    asked = question(seed)
    whole = share_out(asked, 2)
    if isinstance(whole, Refusal):
        return
    for gone in {ware.place for ware in asked.wares}:
        wishes = tuple(wish for wish in asked.allotment.wishes if wish.place != gone)
        rest = Sharing(
            tuple(ware for ware in asked.wares if ware.place != gone),
            asked.have,
            asked.allotment.model_copy(update={"wishes": wishes}),
        )
        alone = share_out(rest, 2)
        assert isinstance(alone, Shared)
        had = sum(ware.kept * number for ware, number in sold(whole.numbers, asked) if ware.place != gone)
        assert alone.kept * 100 >= had


@pytest.mark.parametrize("seed", range(6))
def test_adding_a_piece_never_lowers_what_is_kept(seed: int) -> None:
    asked = question(seed)
    before = share_out(asked, 2)
    if isinstance(before, Refusal):
        return
    for code, there in asked.have.items():
        after = share_out(replace(asked, have={**asked.have, code: there + 1}), 2)
        assert isinstance(after, Shared)
        assert after.kept >= before.kept


@pytest.mark.parametrize("seed", range(6))
def test_what_ten_more_would_keep_is_what_they_keep_when_they_are_there(seed: int) -> None:
    asked = question(seed, wishes=0)
    before = share_out(asked, 2)
    assert isinstance(before, Shared)
    assert before.scarce
    for scarce in (each for each in before.scarce if each.worth is not None):
        after = share_out(replace(asked, have={**asked.have, scarce.code: asked.have[scarce.code] + 10}), 2)
        assert isinstance(after, Shared)
        assert after.kept - before.kept == scarce.worth


def test_the_same_question_has_the_same_answer() -> None:
    assert share_out(question(5), 2) == share_out(question(5), 2)


def wishing(*wishes: dict[str, Any]) -> Sharing:
    """Ten bars and three dishes at two places: bars alone, and sets of a bar and a dish in two variants."""
    bar, dish = ("BAR", 1), ("DISH", 1)
    wares = [
        Ware(place=place, code=code, unit=unit, needs=needs, kept=kept)
        for place, more in (("fair", 0), ("stall", 50))
        for code, unit, needs, kept in (
            ("BAR", "BAR", (bar,), 300 + more), ("SET-1", "SET", (bar, dish), 900 + more),
            ("SET-2", "SET", (bar, dish), 880 + more),
        )
    ]  # fmt: skip
    return Sharing(tuple(wares), {"BAR": 10, "DISH": 3}, Allotment.model_validate({"wish": list(wishes)}))


def numbers_of(asked: Sharing) -> dict[str, int]:
    answer = share_out(asked, 2)
    assert isinstance(answer, Shared)
    return {f"{place} {code}": number for (place, code), number in answer.numbers.items() if number}


def test_without_wishes_all_goes_where_most_is_kept() -> None:
    assert numbers_of(wishing()) == {"stall BAR": 7, "stall SET-1": 3}


def test_a_place_gets_at_least_and_at_most_what_is_wished() -> None:
    wishes = {"place": "fair", "of": ["SET"], "least": 1}, {"place": "stall", "of": ["BAR"], "most": 4}
    assert numbers_of(wishing(*wishes)) == {"fair BAR": 3, "fair SET-1": 1, "stall BAR": 4, "stall SET-1": 2}


def test_without_codes_a_wish_is_for_each_as_far_as_it_can_be_made() -> None:
    """Of three dishes no place can have four sets: the fair gets the three that there are, and four bars."""
    assert numbers_of(wishing({"place": "fair", "least": 4})) == {"fair BAR": 4, "fair SET-1": 3, "stall BAR": 3}


def test_wishes_without_codes_give_way_where_pieces_do_not_last_for_all_of_them() -> None:
    """Both places would have two sets of three dishes: three of the four are met, which the stall has more of."""
    answer = share_out(wishing({"of": [], "least": 2}), 2)
    assert isinstance(answer, Shared)
    assert {key: number for key, number in answer.numbers.items() if number and key[1] != "BAR"} == {
        ("fair", "SET-1"): 1, ("stall", "SET-1"): 2,
    }  # fmt: skip
    assert [(claim.place, claim.code, claim.number, got) for claim, got in answer.unmet] == [("fair", "SET", 2, 1)]
    assert answer.is_best


def test_a_wish_that_gives_way_gives_way_to_one_that_does_not() -> None:
    answer = share_out(wishing({"place": "stall", "least": 3}, {"place": "fair", "of": ["SET"], "least": 2}), 2)
    assert isinstance(answer, Shared)
    assert answer.numbers["fair", "SET-1"] == 2
    assert [(claim.place, claim.code, got) for claim, got in answer.unmet] == [("stall", "SET", 1)]


def test_a_weight_below_one_lets_a_place_go_behind() -> None:
    assert numbers_of(wishing({"place": "stall", "weight": "50 %"})) == {"fair BAR": 7, "fair SET-1": 3}


def test_weights_of_any_number_of_wishes_stay_within_what_is_counted_with() -> None:
    """Forty of a hundred times each make 10⁸⁰."""
    assert numbers_of(wishing(*[{"place": "fair", "weight": "10000 %"}] * 40)) == {"fair BAR": 7, "fair SET-1": 3}
    with pytest.raises(ValidationError, match="more than any sale counts"):
        wishing({"place": "fair", "weight": "10001 %"})


def test_those_named_first_get_more_where_both_keep_the_same() -> None:
    wares = tuple(Ware(place=place, code="BAR", unit="BAR", needs=(("BAR", 1),), kept=300) for place in ("b", "a"))
    assert numbers_of(Sharing(wares, {"BAR": 5}, Allotment())) == {"b BAR": 5}
    assert Allotment.model_validate({"first": ["b"]}).in_order(("a", "b", "wholesale")) == ("wholesale", "b", "a")


def test_one_wish_for_more_than_there_is_is_named_with_what_can_be_had() -> None:
    answer = share_out(wishing({"place": "fair", "of": ["SET"], "least": 5}), 2)
    assert isinstance(answer, Refusal)
    assert [(claim.wish, claim.code, claim.number) for claim in answer.claims] == [(0, "SET", 5)]
    assert (answer.short, answer.reachable) == (("DISH",), 3)


def test_of_many_wishes_the_two_that_contradict_each_other_are_named() -> None:
    answer = share_out(
        wishing(
            {"place": "fair", "of": ["BAR"], "least": 2},
            {"place": "fair", "of": ["SET"], "least": 2},
            {"place": "stall", "of": ["BAR"], "most": 9},
            {"place": "stall", "of": ["SET-2"], "least": 2},
        ),
        2,
    )
    assert isinstance(answer, Refusal)
    assert [claim.wish for claim in answer.claims] == [1, 3]
    assert answer.short == ("DISH",)


def test_at_least_five_and_at_most_three_contradict_each_other_whatever_there_is() -> None:
    answer = share_out(wishing({"place": "fair", "of": ["BAR"], "least": 5, "most": 3}), 2)
    assert isinstance(answer, Refusal)
    assert [(claim.key, claim.number) for claim in answer.claims] == [("least", 5), ("most", 3)]
    assert answer.short == ()


def test_what_a_place_holds_back_is_left_for_those_that_hold_back_nothing() -> None:
    """Of five bars the fair may sell three; the stall, which keeps less on each, gets the two that the fair leaves."""
    wares = tuple(
        Ware(place=place, code="BAR", unit="BAR", needs=(("BAR", 1),), kept=kept, hold=hold)
        for place, kept, hold in (("fair", 300, 2), ("stall", 200, 0))
    )
    assert numbers_of(Sharing(wares, {"BAR": 5}, Allotment())) == {"fair BAR": 3, "stall BAR": 2}
