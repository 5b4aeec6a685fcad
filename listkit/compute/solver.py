"""The most that can be had within limits, in whole numbers: solved with HiGHS, checked by our own integers.

A programme has numbers from 0 up to a highest each, a gain for each of them, and limits: a weighted sum is at most so
much. Everything in it is a whole number, so that an answer is checked exactly before anybody uses it. What HiGHS may
spend is counted in nodes and runs, never in seconds, with one thread and one seed: the same programme gets the same
answer. Its library is loaded here alone, and only when something is solved.
"""

import importlib
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import floor
from typing import Any, Final

from listkit.problem import BlockedError, one_line

_FINE: Final = 1_000  # parts of a gain, in which the worth of a limit is rounded before it proves anything
_LARGEST_WEIGHT: Final = 1_000_000  # in the order of numbers, so that one step of a sum is seen among doubles
_NEAR: Final = 1e-6  # a double that is so little below a whole number means it
_HALF: Final = 0.5  # sums of whole numbers that differ by less do not differ
_COUNTED: Final = 2**53  # up to which a double has every whole number
LAST_STAYS: Final = "The last allotment stays as it is."


@dataclass(frozen=True, slots=True)
class Limit:
    """A weighted sum of numbers is at most so much: `takes` has the place and weight of each, also below 0."""

    takes: tuple[tuple[int, int], ...]
    most: int


@dataclass(frozen=True)
class Programme:
    """What each number gains, how high it may be, and the limits of all."""

    gains: tuple[int, ...]
    highest: tuple[int, ...]
    limits: tuple[Limit, ...]

    @cached_property
    def using(self) -> list[list[tuple[int, int]]]:
        """Of each number the limits that it falls under, by their places, with its weight in them."""
        using: list[list[tuple[int, int]]] = [[] for _ in self.gains]
        for row, limit in enumerate(self.limits):
            for at, weight in limit.takes:
                using[at].append((row, weight))
        return using

    @property
    def parts(self) -> Iterator[tuple[list[int], list[int]]]:
        """Yield the places of numbers that limits join, and of these limits: nothing joins one part to another."""
        of = list(range(len(self.gains)))

        def first(at: int) -> int:
            while of[at] != at:
                of[at] = at = of[of[at]]
            return at

        for limit in self.limits:
            joined = {first(at) for at, _ in limit.takes}
            for at in joined:
                of[at] = min(joined)
        columns, rows = defaultdict[int, list[int]](list), defaultdict[int, list[int]](list)
        for at in range(len(of)):
            columns[first(at)].append(at)
        for row, limit in enumerate(self.limits):
            if limit.takes:
                rows[first(limit.takes[0][0])].append(row)
        yield from ((ats, rows[at]) for at, ats in columns.items())

    @property
    def largest_sum(self) -> int:
        """The most that gains, or one of the limits, may come to; what limits allow included."""
        gains = sum(abs(each) * most for each, most in zip(self.gains, self.highest, strict=True))
        sums = (sum(abs(weight) * self.highest[at] for at, weight in limit.takes) for limit in self.limits)
        return max(gains, *self.highest, *sums, *(abs(limit.most) for limit in self.limits))

    def gain(self, numbers: Sequence[int]) -> int:
        """Return what numbers gain together."""
        return sum(each * number for each, number in zip(self.gains, numbers, strict=True))

    def allows(self, numbers: Sequence[int]) -> bool:
        """Whether numbers keep every limit, by whole-number arithmetic."""
        within = all(0 <= number <= most for number, most in zip(numbers, self.highest, strict=True))
        return within and all(
            sum(weight * numbers[at] for at, weight in limit.takes) <= limit.most for limit in self.limits
        )


@dataclass(frozen=True, slots=True)
class Effort:
    """What may be spent: nodes of a search, the share of the gain that may stay open, runs that settle the order.

    `terms` are those that all these runs may be given together, each number and each weight of a limit one.
    """

    nodes: int = 5_000
    gap: float = 0.0
    runs: int = 400
    terms: int = 1_500_000


@dataclass(frozen=True, slots=True)
class Answer:
    """Numbers that keep every limit, what they gain, and the most that any could gain, as far as that is known."""

    numbers: tuple[int, ...]
    gain: int
    bound: int
    ordered: bool = False

    @property
    def is_best(self) -> bool:
        """Whether it is proved that no numbers gain more."""
        return self.bound == self.gain


def solve(programme: Programme, effort: Effort) -> Answer | None:
    """Return numbers that gain most, or as much as the effort reaches; None where nothing keeps all limits.

    Raises:
        BlockedError: there is no solver, it stopped before it had any numbers, those that it had keep no limits, or
            sums are too large for it.
    """
    if not programme.gains:
        return Answer((), 0, 0, ordered=True) if programme.allows(()) else None
    if programme.largest_sum >= _COUNTED:
        message = f"sums of all that there is come to more than {_COUNTED:,}, beyond which the solver cannot count."
        raise BlockedError(message, f"Look for a slip of the pen in counts, prices and weights of wishes. {LAST_STAYS}")
    if effort.gap and (rounded := _rounded(programme, effort)) is not None:
        return rounded
    run = _run_all(programme, effort)
    if run is None:
        return None
    if not programme.allows(run.numbers):
        raise BlockedError("the solver's answer does not hold when it is checked.", LAST_STAYS)
    gain = programme.gain(run.numbers)
    return Answer(run.numbers, gain, max(gain, run.bound))


def first_in_order(programme: Programme, best: Answer, effort: Effort) -> Answer:
    """Return of all numbers that gain as much those whose first number is the highest, then the second, and so on.

    Numbers that no limit joins are put in order apart: where all together gain the most, those of each part do. Where
    the runs of the effort do not suffice the rest of the order is left as the solver gives it.
    """
    numbers, terms, ordered = list(best.numbers), effort.terms, True
    for columns, rows in programme.parts:
        place = {at: number for number, at in enumerate(columns)}
        limits = (programme.limits[row] for row in rows)
        part = Programme(
            tuple(programme.gains[at] for at in columns),
            tuple(programme.highest[at] for at in columns),
            tuple(Limit(tuple((place[at], weight) for at, weight in each.takes), each.most) for each in limits),
        )
        rest = _Rest(part, [numbers[at] for at in columns])
        terms = rest.order(replace(effort, terms=terms))
        ordered = ordered and not rest.left
        for at, number in zip(columns, rest.numbers, strict=True):
            numbers[at] = number
    return Answer(tuple(numbers), best.gain, best.bound, ordered=ordered)


class _Rest:
    """What is still open while numbers are put in order: those that are not settled, and what is left of each limit."""

    def __init__(self, programme: Programme, numbers: list[int]) -> None:
        self.programme, self.numbers, self.gain = programme, numbers, programme.gain(numbers)
        self.best = self.gain
        self.ranges = ranges = _open_ranges(programme, self.gain)
        self.most = [limit.most for limit in programme.limits]
        self.using = programme.using
        self.plain = [all(weight > 0 for _, weight in limit.takes) for limit in programme.limits]
        self.left = list(range(len(numbers)))
        self.settle([at for at in self.left if ranges[at][0] == ranges[at][1]])

    def order(self, effort: Effort) -> int:
        """Put the numbers in order as far as the effort goes; return how many terms are left of it."""
        terms = effort.terms
        for _ in range(effort.runs):
            rows = self.rows() if self.left and terms > 0 else []
            terms -= len(self.left) + sum(len(takes) for takes, _ in rows)
            if not rows or terms < 0:
                break
            block, weights = _block(self.left, self.ranges)
            asked = (*weights, *((0,) * (len(self.left) - len(block))))
            run = _run(asked, tuple(self.ranges[at] for at in self.left), rows, effort)
            trial = list(self.numbers)
            for at, number in zip(self.left, run.numbers if run else (), strict=False):
                trial[at] = number
            if run is None or not self.programme.allows(trial) or self.programme.gain(trial) != self.best:
                break
            self.numbers = trial
            self.settle(block)
        return max(0, terms)

    def settle(self, ats: Sequence[int]) -> None:
        """Leave these numbers as they are now, and those that nothing is left for."""
        while ats:
            for at in ats:
                self.gain -= self.programme.gains[at] * self.numbers[at]
                for row, weight in self.using[at]:
                    self.most[row] -= weight * self.numbers[at]
            gone = set(ats)
            self.left = [at for at in self.left if at not in gone]
            for at in self.left:
                low, high = self.ranges[at]
                room = min(
                    (self.most[row] // weight for row, weight in self.using[at] if self.plain[row]), default=high
                )
                self.ranges[at] = low, max(low, min(high, room))
            ats = [at for at in self.left if self.ranges[at][0] == self.ranges[at][1]]

    def rows(self) -> list[tuple[tuple[tuple[int, int], ...], int]]:
        """Return the limits of what is open, and that it gains what is still to be gained."""
        place = {at: number for number, at in enumerate(self.left)}
        rows = [
            (takes, most)
            for limit, most in zip(self.programme.limits, self.most, strict=True)
            if (takes := tuple((place[at], weight) for at, weight in limit.takes if at in place))
        ]
        return [*rows, (tuple((place[at], -self.programme.gains[at]) for at in self.left), -self.gain)]


def worths(programme: Programme) -> tuple[int, ...]:
    """Return what one more of each limit would gain if numbers need not be whole, in thousandths; never below 0."""
    run = _run_all(programme, Effort(), whole=False) if programme.gains else None
    return run.worths if run else (0,) * len(programme.limits)


def culprits(programme: Programme, suspects: Sequence[int], effort: Effort) -> tuple[int, ...]:
    """Return the fewest of some limits, by their places, that cannot all be kept with the others; () where they can.

    Taking any one of them away makes the rest possible. They are halved again and again, as in U. Junker, "QuickXplain:
    preferred explanations and relaxations for over-constrained problems", AAAI 2004.
    """
    always = [at for at in range(len(programme.limits)) if at not in set(suspects)]

    def possible(more: Sequence[int]) -> bool:
        limits = tuple(programme.limits[at] for at in (*always, *more))
        return solve(Programme((0,) * len(programme.gains), programme.highest, limits), effort) is not None

    def of(kept: list[int], suspected: list[int], *, changed: bool) -> list[int]:
        if changed and not possible(kept):
            return []
        if len(suspected) == 1:
            return suspected
        half = len(suspected) // 2
        first, second = suspected[:half], suspected[half:]
        of_second = of([*kept, *first], second, changed=bool(first))
        return [*of([*kept, *of_second], first, changed=bool(of_second)), *of_second]

    if not suspects or possible(suspects):
        return ()
    return tuple(of([], list(suspects), changed=True))


def _open_ranges(programme: Programme, gain: int) -> list[tuple[int, int]]:
    """Return between which numbers each may be where all together gain so much.

    A number whose gain is below what it takes of the limits by their worths cannot be high, nor one whose gain is
    above it low: each step away from that costs something of what is left up to the bound.
    """
    bound, net = _bound(programme, worths(programme))
    spare = bound - _FINE * gain
    ranges = []
    for each, high in zip(net, programme.highest, strict=True):
        if each < 0:
            ranges.append((0, min(high, spare // -each)))
        else:
            ranges.append((max(0, high - spare // each) if each else 0, high))
    return ranges


def _bound(programme: Programme, dual: Sequence[int]) -> tuple[int, list[int]]:
    """Return the most that can be gained, in thousandths, and what each number gains beyond what it takes.

    By weak duality this holds for any worths of the limits, so that what the solver gives, rounded, proves it in whole
    numbers.
    """
    net = [_FINE * each for each in programme.gains]
    for worth, limit in zip(dual, programme.limits, strict=True):
        for at, weight in limit.takes:
            net[at] -= worth * weight
    most = sum(worth * limit.most for worth, limit in zip(dual, programme.limits, strict=True))
    return most + sum(max(0, each) * high for each, high in zip(net, programme.highest, strict=True)), net


def _rounded(programme: Programme, effort: Effort) -> Answer | None:
    """Return the best fractions rounded down and filled up, where that keeps all limits and is within the gap."""
    run = _run_all(programme, effort, whole=False)
    if run is None:
        return None
    numbers = list(run.numbers)
    left = [limit.most - sum(weight * numbers[at] for at, weight in limit.takes) for limit in programme.limits]

    def fill(at: int, wanted: int) -> None:
        rooms = [left[row] // weight for row, weight in programme.using[at] if weight > 0]
        more = max(0, min([wanted, programme.highest[at] - numbers[at], *rooms]))
        numbers[at] += more
        for row, weight in programme.using[at]:
            left[row] -= weight * more

    for row, limit in enumerate(programme.limits):
        for at, weight in limit.takes if left[row] < 0 else ():
            if weight < 0 and left[row] < 0:
                fill(at, -(left[row] // -weight))
    for at in sorted(range(len(numbers)), key=lambda at: (-programme.gains[at], at)):
        if programme.gains[at] > 0:
            fill(at, programme.highest[at])
    bound, gain = _bound(programme, run.worths)[0] // _FINE, programme.gain(numbers)
    if not programme.allows(numbers) or bound - gain > effort.gap * gain:
        return None
    return Answer(tuple(numbers), gain, max(gain, bound))


def _block(left: Sequence[int], ranges: Sequence[tuple[int, int]]) -> tuple[Sequence[int], tuple[int, ...]]:
    """Return the first numbers that one run can put in order, and their weights: each outweighs all behind it."""
    sizes, product = list[int](), 1
    for at in left:
        size = ranges[at][1] - ranges[at][0] + 1
        if sizes and product * size > _LARGEST_WEIGHT:
            break
        sizes.append(size)
        product *= size
    weights, weight = list[int](), 1
    for size in reversed(sizes):
        weights.append(weight)
        weight *= size
    return left[: len(sizes)], tuple(reversed(weights))


# What HiGHS does.


@dataclass(frozen=True, slots=True)
class _Run:
    """What a run came to: whole numbers, the most that is possible, and the worths of limits in thousandths."""

    numbers: tuple[int, ...]
    bound: int
    worths: tuple[int, ...]


def _library() -> Any:  # noqa: ANN401 - a module that need not be there
    try:
        return importlib.import_module("highspy"), importlib.import_module("highspy._core")
    except ModuleNotFoundError:
        message = "the solver that shares pieces out, highspy, is not installed for this Python."
        raise BlockedError(message, f'Type "python -m pip install highspy", then try again. {LAST_STAYS}') from None
    except ImportError as fault:  # there is too little memory, or a library of its own is missing
        message = f"the solver that shares pieces out, highspy, cannot be loaded: {one_line(str(fault))}."
        raise BlockedError(message, f"Close other programs, or install it anew. {LAST_STAYS}") from None


def _run_all(programme: Programme, effort: Effort, *, whole: bool = True) -> _Run | None:
    """Let HiGHS solve a programme with all its numbers open; None where nothing is possible."""
    columns = tuple((0, most) for most in programme.highest)
    rows = [(limit.takes, limit.most) for limit in programme.limits]
    return _run(programme.gains, columns, rows, effort, whole=whole)


def _run(
    gains: Sequence[int],
    columns: Sequence[tuple[int, int]],
    rows: Sequence[tuple[tuple[tuple[int, int], ...], int]],
    effort: Effort,
    *,
    whole: bool = True,
) -> _Run | None:
    """Let HiGHS solve; None where nothing is possible.

    Raises:
        BlockedError: it is not installed, or stopped before it had any numbers.
    """
    public, core = _library()
    solver = core._Highs()  # the class above it greets on standard output as it is made
    options = {
        "output_flag": False, "threads": 1, "parallel": "off", "random_seed": 0, "mip_max_nodes": effort.nodes,
        "mip_rel_gap": effort.gap, "mip_abs_gap": _HALF,
    }  # fmt: skip
    for name, value in options.items():
        solver.setOptionValue(name, value)
    model = public.HighsLp()
    model.num_col_, model.num_row_ = len(columns), len(rows)
    model.col_cost_ = [-float(gain) for gain in gains]
    model.col_lower_ = [float(low) for low, _ in columns]
    model.col_upper_ = [float(high) for _, high in columns]
    model.row_lower_ = [-public.kHighsInf] * len(rows)
    model.row_upper_ = [float(most) for _, most in rows]
    if whole:
        model.integrality_ = [public.HighsVarType.kInteger] * len(columns)
    matrix = model.a_matrix_
    matrix.format_ = public.MatrixFormat.kRowwise
    matrix.start_, matrix.index_, matrix.value_ = (list(part) for part in _compressed([takes for takes, _ in rows]))
    solver.passModel(model)
    solver.run()
    state, info = solver.getModelStatus(), solver.getInfo()
    if state == public.HighsModelStatus.kInfeasible:
        return None
    if info.primal_solution_status != public.SolutionStatus.kSolutionStatusFeasible:
        raise BlockedError(f"the solver stopped before it had an answer ({effort.nodes} steps).", LAST_STAYS)
    solution = solver.getSolution()
    return _Run(
        numbers=tuple(round(value) if whole else max(0, floor(value + _NEAR)) for value in solution.col_value),
        bound=floor(-info.mip_dual_bound + _NEAR) if whole else 0,
        worths=tuple(max(0, round(-value * _FINE)) for value in solution.row_dual),
    )


def _compressed(rows: Sequence[Sequence[tuple[int, int]]]) -> Iterator[Sequence[float]]:
    """Yield where each row begins, the columns in it, and their weights."""
    starts = [0]
    for row in rows:
        starts.append(starts[-1] + len(row))
    yield starts
    yield [at for row in rows for at, _ in row]
    yield [float(weight) for row in rows for _, weight in row]
