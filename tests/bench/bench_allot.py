"""How fast pieces are shared out; python -m tests.bench.bench_allot. CPU seconds of three questions each.

Aims: 40 items, 20 sets of 6 variants at 5 places proved best in 2 s; 200 sets of 50 variants at 4 places within 1 % in
20 s. Beside them what the first answer alone takes, without its order and what ten more would keep.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass

from listkit.cli import collect_rarely
from listkit.compute.allotment import Refusal, Sharing, share_out
from listkit.compute.solver import first_in_order, solve
from tests.compute.sharings import sharing

REPEATS = 3


@dataclass(frozen=True, slots=True)
class Size:
    """How large a made-up question is."""

    items: int
    sets: int
    variants: int
    places: int
    wishes: int = 0


SMALL = Size(items=40, sets=20, variants=6, places=5)
SIZES = (SMALL, Size(40, 20, 6, 5, wishes=20), Size(items=200, sets=200, variants=50, places=4), Size(60, 200, 50, 4))


def seconds_of(what: Callable[[], object]) -> float:
    """Return the CPU seconds that something takes."""
    started = time.process_time()
    what()
    return time.process_time() - started


def line(size: Size) -> str:
    """Share out three questions of a size; return what it took, the least of the three and the most."""

    def question(seed: int) -> Sharing:
        return sharing(
            seed, items=size.items, sets=size.sets, variants=size.variants, places=size.places, wishes=size.wishes
        )

    took, first, ordered, ends = list[float](), list[float](), list[bool](), list[str]()
    for seed in range(REPEATS):
        asked = question(seed)
        started = time.process_time()
        answer = share_out(asked, 2)
        took.append(time.process_time() - started)
        again = question(seed)
        first.append(seconds_of(lambda again=again: solve(again.programme, again.effort)))  # type: ignore[misc]
        if isinstance(answer, Refusal):
            ends.append("refused")
            continue
        ends.append("best" if answer.is_best else f"within {answer.gap:.4%}")
        best = solve(again.programme, again.effort)
        if best is not None and best.is_best:
            ordered.append(first_in_order(again.programme, best, again.effort).ordered)
    count = len(question(0).columns)
    order = f"; order settled in {sum(ordered)} of {len(ordered)}" if ordered else ""
    spent = f"{min(took):.2f} to {max(took):.2f} s (first answer {max(first):.2f})"
    return f"{size}: {count} numbers, {spent}; {', '.join(ends)}{order}"


if __name__ == "__main__":
    collect_rarely()
    for each in SIZES:
        print(line(each), flush=True)
