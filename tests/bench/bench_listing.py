"""Benchmark: how long it takes to list a large shop; prints figures, asserts nothing.

Run it with: python -m tests.bench.bench_listing [NUMBER OF SETS ...]
"""

import sys
import time
import tracemalloc

from listkit.compute.build import build_catalog
from listkit.compute.catalog import Catalog
from listkit.listing.build import build_listings
from tests.bench.synthetic import synthetic_shop


def best_seconds(catalog: Catalog, repeats: int = 3) -> tuple[float, int]:
    """Return the fastest of `repeats` listings in CPU seconds, and how many offers there were."""
    seconds, offers = float("inf"), 0
    for _ in range(repeats):
        start = time.process_time()
        listings = build_listings(catalog)
        seconds = min(seconds, time.process_time() - start)
        offers = sum(len(listing.offers) for listing in listings)
    return seconds, offers


def main(sizes: tuple[int, ...]) -> None:
    """Print a line for each number of sets."""
    before = 0.0
    for sets in sizes:
        catalog = build_catalog(synthetic_shop(sets))
        seconds, offers = best_seconds(catalog)
        growth = f", ×{seconds / before:.1f}" if before else ""
        print(
            f"{sets} sets, {offers} offers: {seconds:.2f} CPU seconds, {offers / seconds:,.0f} offers a second, "
            f"{seconds / offers * 1e6:.1f} µs an offer{growth}"
        )
        before = seconds
    tracemalloc.start()
    kept = build_listings(catalog)
    print(f"listings of {len(kept.listings)} sets take {tracemalloc.get_traced_memory()[0] / 1e6:.0f} MB")


if __name__ == "__main__":
    main(tuple(int(size) for size in sys.argv[1:]) or (200, 2000))
