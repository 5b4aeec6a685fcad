"""How long the box search takes, beside OR-Tools CP-SAT on the same instances: python -m tests.bench.bench_box.

Prints figures in processor time, asserts nothing. "Tightly cut" rooms are cut guillotine-wise without waste and
the pieces turned at random; "near the limit" about as many fit as do not.
"""

import random
import statistics
import timeit
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from decimal import Decimal
from functools import partial
from itertools import product
from time import process_time

from listkit.compute.box.arrange import arrange, decide
from listkit.compute.box.fit import BoxPiece, Inside, lay, smallest_box
from listkit.compute.box.search import place
from listkit.compute.box.searches import Searches
from tests.compute.packing_instances import Instance, alike, cut_tightly, near_the_limit
from tests.compute.packing_peer import ORTOOLS_MISSING, peer_fits

INSTANCES = 60
Make = Callable[[random.Random, int, int], Instance]
Variants = tuple[tuple[BoxPiece, ...], ...]
KINDS: tuple[tuple[str, Make, tuple[int, ...]], ...] = (
    ("tightly cut", cut_tightly, (3, 4, 5, 6, 7, 8)),
    ("near the limit", near_the_limit, (6, 8)),
    ("of two kinds", alike, (6, 8)),
)


def seconds(call: Callable[[], object]) -> float:
    """Return the processor time of one call."""
    return timeit.timeit(call, number=1, timer=process_time)


def summary(times: Iterable[float]) -> str:
    """Return median, nine tenths and maximum in milliseconds."""
    ordered = sorted(1000 * time for time in times)
    median, most = statistics.median(ordered), ordered[len(ordered) * 9 // 10]
    return f"ms median {median:6.1f}  9/10 {most:7.1f}  max {ordered[-1]:7.1f}"


def compare(name: str, instances: Sequence[Instance]) -> None:
    """Print our times for a group of instances, and the peer's when it is installed."""
    print(f"{name:34} ours   {summary(seconds(partial(place, one.blocks, one.room)) for one in instances)}")
    if not ORTOOLS_MISSING:
        times = (seconds(partial(peer_fits, one.blocks, one.room)) for one in instances)
        print(f"{'':34} CP-SAT {summary(times)}")


def searches() -> None:
    """Time exact answers on two axes (side by side) and on three (stacked)."""
    if ORTOOLS_MISSING:
        print(f"without comparison: {ORTOOLS_MISSING}")
    for name, make, counts in KINDS:
        for axes, count in product((2, 3), counts):
            rng = random.Random(f"{name} {axes} {count}")
            compare(f"{axes} axes, {count} pieces {name}", [make(rng, count, axes) for _ in range(INSTANCES)])


def drawn_piece(rng: random.Random) -> BoxPiece:
    """Return a jar of one of four sizes or a block of any size."""
    price = Decimal(rng.randint(400, 2000)) / 100
    if rng.random() < 0.4:
        width, height = map(Decimal, rng.choice(((50, 46), (58, 50), (64, 60), (72, 64))))
        return BoxPiece("jar", width, width, height, "cylinder", upright=True, price=price)
    length, width, height = (Decimal(rng.randint(15, 130)) for _ in range(3))
    return BoxPiece("block", length, width, height, price=price)


def drawn_slot(rng: random.Random, count: int) -> list[BoxPiece]:
    """Return options that share a footprint but for the last."""
    first, last = drawn_piece(rng), drawn_piece(rng)
    return [replace(first, code=f"{number}", price=Decimal(number)) for number in range(count - 1)] + [last]


def drawn_set(rng: random.Random) -> Variants:
    """Return 20 variants: one to four fixed pieces, then two slots of five and four options."""
    fixed = tuple(drawn_piece(rng) for _ in range(rng.randint(1, 4)))
    return tuple((*fixed, *chosen) for chosen in product(drawn_slot(rng, 5), drawn_slot(rng, 4)))


def choose_boxes() -> None:
    """Time a shop of 200 sets, 20 variants each, choosing among 12 boxes, then laying every variant out."""
    rng = random.Random("shop")
    sets = [drawn_set(rng) for _ in range(200)]
    boxes = tuple(
        Inside(Decimal(110 + 22 * step), Decimal(82 + 16 * step), Decimal(60 + 8 * step), Decimal(3))
        for step in range(12)
    )
    arrange.cache_clear()
    decide.cache_clear()
    chosen: list[int | None] = []
    choose = partial(smallest_box, insides=boxes, stacked=False, most_on_fragile=None)
    time = seconds(lambda: chosen.extend(choose(variants, searches=Searches()) for variants in sets))
    found, asked = sum(index is not None for index in chosen), decide.cache_info().misses
    print(f"200 sets x 20 variants x 12 boxes: chosen in {time:.2f} s ({found} sets have one, {asked} searches)")
    held = [(variants, boxes[index]) for variants, index in zip(sets, chosen, strict=True) if index is not None]
    time = seconds(lambda: [lay(pieces, inside) for variants, inside in held for pieces in variants])
    print(f"then {20 * len(held)} variants laid out in {time:.2f} s ({arrange.cache_info().misses} layouts)")


if __name__ == "__main__":
    searches()
    choose_boxes()
