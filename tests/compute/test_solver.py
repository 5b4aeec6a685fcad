"""The most within limits, against worked examples of others, and against counting everything."""

import importlib
import itertools
import random
import sys
from collections.abc import Sequence
from typing import Any

import pytest

from listkit.compute import solver
from listkit.compute.solver import Answer, Effort, Limit, Programme, culprits, first_in_order, solve, worths
from listkit.problem import BlockedError

EFFORT = Effort()


def programme(gains: tuple[int, ...], highest: tuple[int, ...], *limits: tuple[int, ...]) -> Programme:
    """Return a programme; each limit has the weights of all numbers, then the most."""
    return Programme(gains, highest, tuple(Limit(tuple(enumerate(limit[:-1])), limit[-1]) for limit in limits))


def settled(asked: Programme) -> Answer:
    best = solve(asked, EFFORT)
    assert best is not None
    assert best.is_best
    return first_in_order(asked, best, EFFORT)


# Product mix. Each source is named with what it gives: the optimum itself, or the question alone; then the optimum was
# searched over all whole numbers.
MIXES = {
    # Postek, Zocca, Gromicho, Kantor, "Hands-On Mathematical Optimization with Python", ch. 1: optimum and revenue
    "production planning": (programme((40, 30), (40, 80), (1, 1, 80), (2, 1, 100)), (20, 60), 2_600),
    # public exercises: the questions alone; hours that are halves are doubled
    "desks and tables": (programme((3, 4), (10, 10), (5, 2, 40), (3, 3, 30), (1, 2, 16)), (4, 6), 36),
    "woodworker": (programme((70, 120), (12, 12), (80, 80, 960), (4, 8, 64)), (8, 4), 1_040),
    "coffee tables and bookcases": (programme((9, 12), (10, 10), (1, 1, 10), (1, 2, 12)), (8, 2), 96),
    # a public question whose printed answer rounds 262.5 up, which takes more hours than there are
    "benches and tables": (programme((9, 20), (300, 100), (4, 6, 1_200), (10, 35, 3_500)), (262, 25), 2_858),
}
# One scarce thing: by what a piece keeps of each hour, pound or minute.
SCARCE = {
    # "Accounting for Managers", open textbook, section 6.5: what each keeps an hour, and the hours
    "kayaks": (programme((400, 150), (320, 320), (4, 1, 320)), (0, 320), 48_000),
    # a managerial textbook: the plan and its sum
    "drilling": (programme((300, 600), (60, 100), (1, 3, 120)), (60, 20), 30_000),
    # Accountingverse, "Product combination", a free lesson: what each keeps an hour, the demand, the first step
    "combination": (programme((10, 12, 6), (2_000, 4_000, 3_000), (5, 8, 2, 20_000)), (2_000, 500, 3_000), 44_000),
    # a public answer to an exam: the plan
    "pounds": (programme((24, 50), (150, 150), (8, 10, 1_200)), (0, 120), 6_000),
    # public exercises: the questions alone
    "mixing": (programme((27, 39, 30), (1_500, 3_000, 4_000), (6, 4, 5, 36_000)), (666, 3_000, 4_000), 254_982),
    "wood carving": (programme((12, 23, 48), (800, 800, 800), (1, 6, 2, 1_810)), (210, 0, 800), 40_920),
    # what each shirt keeps an hour is printed as 10, 12 and 5
    "shirts": (programme((3, 6, 5), (2_000, 2_000, 2_000), (3, 5, 10, 6_000)), (0, 1_200, 0), 7_200),
    # a public table that misprints what each keeps a minute; by the right figures the first goes before
    "misprinted minutes": (programme((40, 25), (80, 80), (30, 20, 3_900)), (80, 75), 5_075),
}


@pytest.mark.parametrize(("asked", "numbers", "gain"), [*MIXES.values(), *SCARCE.values()], ids=[*MIXES, *SCARCE])
def test_worked_examples_have_their_optimum(asked: Programme, numbers: tuple[int, ...], gain: int) -> None:
    answer = settled(asked)
    assert (answer.numbers, answer.gain, answer.ordered) == (numbers, gain, True)


def test_the_production_plan_has_the_revenue_cost_and_material_of_the_book() -> None:
    """The same book: revenue 18,000, cost 15,400, 740 of the material, all hours of both kinds of labour."""
    first, second = settled(MIXES["production planning"][0]).numbers
    material, skilled, unskilled = 10 * first + 9 * second, first + second, 2 * first + second
    assert (material, skilled, unskilled) == (740, 80, 100)
    assert 270 * first + 210 * second == 18_000
    assert 10 * material + 50 * skilled + 40 * unskilled == 15_400


def test_one_more_hour_is_worth_what_the_examples_say() -> None:
    """20 and 10 in the production plan, whose hours add up to all of the profit; up to 540 an hour of mixing."""
    hours = worths(MIXES["production planning"][0])
    assert hours == (20_000, 10_000)
    assert 80 * hours[0] + 100 * hours[1] == 2_600_000
    (half_a_minute,) = worths(SCARCE["mixing"][0])
    assert half_a_minute * 120 == 540_000


def test_a_fraction_is_never_rounded_up() -> None:
    asked = MIXES["benches and tables"][0]
    assert not asked.allows((263, 25))
    assert settled(asked).bound == 2_858


def random_programme(seed: int) -> Programme:
    """A small programme with gains and weights below nothing too, so that some have no answer."""
    chance = random.Random(seed)
    columns = chance.randrange(1, 5)
    gains = tuple(chance.randrange(-2, 7) for _ in range(columns))
    highest = tuple(chance.randrange(5) for _ in range(columns))
    limits = [
        (*(chance.choice((-1, 0, 1, 1, 2, 3)) for _ in range(columns)), chance.randrange(-1, 9))
        for _ in range(chance.randrange(4))
    ]
    return programme(gains, highest, *limits)


@pytest.mark.parametrize("seed", range(120))
def test_the_answer_is_the_first_of_the_best_of_all_there_are(seed: int) -> None:
    """Counted over all: the highest gain, of those that have it the one with the highest numbers from the first on."""
    asked = random_programme(seed)
    there = [each for each in itertools.product(*(range(most + 1) for most in asked.highest)) if asked.allows(each)]
    best = solve(asked, EFFORT)
    assert (best is not None) == bool(there)
    if best is not None:
        first = first_in_order(asked, best, EFFORT)
        assert (first.gain, first.numbers) == max((asked.gain(each), each) for each in there)
        assert first.ordered
        assert first.is_best


def test_with_too_few_runs_the_answer_is_still_a_best_one_and_says_that_the_order_is_open() -> None:
    asked = programme((1, 1, 1, 1), (900, 900, 900, 900), (1, 1, 1, 1, 1_500))
    best = solve(asked, EFFORT)
    assert best is not None
    first = first_in_order(asked, best, Effort(runs=0))
    assert (first.gain, first.ordered) == (1_500, False)
    assert first_in_order(asked, best, EFFORT).numbers == (900, 600, 0, 0)


@pytest.mark.parametrize("seed", range(30))
def test_what_may_stay_open_is_within_its_share_of_the_best(seed: int) -> None:
    chance = random.Random(seed)
    gains = tuple(chance.randrange(50, 900) for _ in range(60))
    rows = [tuple(chance.choice((0, 0, 1, 2)) for _ in gains) for _ in range(8)]
    asked = programme(gains, (40,) * 60, *((*row, chance.randrange(60, 200)) for row in rows))
    best, near = solve(asked, EFFORT), solve(asked, Effort(gap=0.05))
    assert best is not None
    assert near is not None
    assert asked.allows(near.numbers)
    assert near.gain <= best.gain <= near.bound <= near.gain * 1.05


def test_the_fewest_limits_that_contradict_each_other_are_named() -> None:
    """Ten pieces; five wishes for at least so many, of which the second and the fourth alone ask for more than ten."""
    floors = [(1, 1), (2, 6), (3, 2), (4, 5), (0, 1)]
    limits = [Limit(tuple((at, 1) for at in range(5)), 10), *(Limit(((at, -1),), -least) for at, least in floors)]
    asked = Programme((1,) * 5, (10,) * 5, tuple(limits))
    assert solve(asked, EFFORT) is None
    assert set(culprits(asked, range(1, 6), EFFORT)) == {2, 4}
    assert culprits(Programme(asked.gains, asked.highest, asked.limits[:2]), (1,), EFFORT) == ()


def test_nothing_to_share_out_is_an_answer() -> None:
    assert solve(Programme((), (), ()), EFFORT) == Answer((), 0, 0, ordered=True)


def test_a_solver_that_is_not_installed_is_named_with_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "highspy", None)
    with pytest.raises(BlockedError, match="highspy, is not installed") as refused:
        solve(MIXES["woodworker"][0], EFFORT)
    assert "pip install highspy" in refused.value.hint


def test_a_solver_that_cannot_be_loaded_is_not_called_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    def load(_: str) -> None:
        raise ImportError("_core.so: failed to map segment from shared object")

    monkeypatch.setattr("listkit.compute.solver.importlib.import_module", load)
    with pytest.raises(BlockedError, match=r"highspy, cannot be loaded: _core\.so: failed to map segment"):
        solve(MIXES["woodworker"][0], EFFORT)


def test_a_solver_that_stops_before_it_has_an_answer_is_told() -> None:
    """A market to be split in exact halves: Cornuejols and Dawande, "A class of hard small 0-1 programs", 1998."""
    chance, limits = random.Random(1), list[Limit]()
    for _ in range(4):
        row = tuple((at, chance.randrange(100)) for at in range(30))
        half = sum(weight for _, weight in row) // 2
        limits += [Limit(row, half), Limit(tuple((at, -weight) for at, weight in row), -half)]
    with pytest.raises(BlockedError, match="stopped before it had an answer"):
        solve(Programme((1,) * 30, (1,) * 30, tuple(limits)), Effort(nodes=3))


def test_nothing_is_printed_and_nothing_is_loaded_before_something_is_solved(capfd: pytest.CaptureFixture[str]) -> None:
    settled(MIXES["woodworker"][0])
    assert capfd.readouterr() == ("", "")
    source = importlib.import_module("listkit.compute.solver")
    assert not hasattr(source, "highspy")


def test_sums_that_no_double_counts_are_told_and_not_handed_over() -> None:
    """Above 2 to the 53rd a double leaves whole numbers out (IEEE 754); the library takes 1e20 for no bound at all."""
    with pytest.raises(BlockedError, match="sums of all that there is come to more than 9,007,199,254,740,992"):
        solve(programme((10**15,), (10,), (1, 10)), EFFORT)
    with pytest.raises(BlockedError, match="cannot count"):
        solve(programme((1,), (10**20,), (1, 10**20)), EFFORT)


def test_numbers_that_nothing_joins_are_put_in_order_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    """All of them in each run would be a product: forty pairs, each with its own limit, are forty small questions."""
    pairs = 40
    limits = tuple(Limit(((2 * at, 1), (2 * at + 1, 1)), 900) for at in range(pairs))
    asked = Programme((5,) * (2 * pairs), (900,) * (2 * pairs), limits)
    best = solve(asked, EFFORT)
    assert best is not None
    sizes = []
    run = solver._run

    def counted(gains: Sequence[int], *of: Any, **more: Any) -> Any:
        sizes.append(len(gains))
        return run(gains, *of, **more)

    monkeypatch.setattr(solver, "_run", counted)
    first = first_in_order(asked, best, EFFORT)
    assert first.ordered
    assert first.numbers == (900, 0) * pairs
    assert max(sizes) == 2


def test_runs_that_settle_the_order_end_by_what_they_are_given() -> None:
    """Beyond that the rest is as the solver gives it: still the best, and said to be in no order."""
    asked = Programme((5,) * 60, (900,) * 60, (Limit(tuple((at, 1) for at in range(60)), 9_000),))
    best = solve(asked, EFFORT)
    assert best is not None
    first = first_in_order(asked, best, Effort(terms=300))
    assert (first.ordered, first.gain) == (False, best.gain)
    assert asked.allows(first.numbers)
    assert first_in_order(asked, best, EFFORT).numbers == (900,) * 10 + (0,) * 50
