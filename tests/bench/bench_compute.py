"""How fast and in how much memory a large shop is computed; python -m tests.bench.bench_compute [SETS]."""

import resource
import sys
import time

from listkit.cli import collect_rarely
from listkit.compute.build import build_catalog
from tests.bench.synthetic import synthetic_shop

VARIANTS = 50


def best_seconds(sets: int, repeats: int = 3) -> float:
    """Return the least CPU seconds of `repeats` computations of a synthetic shop."""
    shop = synthetic_shop(sets, VARIANTS, seed=7)
    found = []
    for _ in range(repeats):
        started = time.process_time()
        build_catalog(shop)
        found.append(time.process_time() - started)
    return min(found)


def main(sets: int) -> None:
    """Print rate, growth for ten times the work, and peak memory."""
    collect_rarely()  # as the command line does
    small, large = best_seconds(sets // 10), best_seconds(sets)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{sets} sets × {VARIANTS}: {large:.2f} s, {sets * VARIANTS / large:,.0f} variants a second; "
        f"ten times the work in {large / small:.1f} times the time; peak memory {peak:.0f} MB"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000)
