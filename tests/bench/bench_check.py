"""How long the check takes: python -m tests.bench.bench_check."""

import datetime
import timeit

from listkit.check import check_listings
from listkit.check.places import CheckContext
from listkit.check.rules import CHECKS
from listkit.check.thresholds import read_thresholds
from listkit.compute.build import build_catalog
from listkit.listing.build import build_listings
from listkit.listing.listings import Listings
from tests.bench.synthetic import synthetic_shop

TODAY = datetime.date(2027, 3, 1)


def listed(sets: int, variants: int) -> Listings:
    """Return the listings of a made-up shop."""
    return build_listings(build_catalog(synthetic_shop(sets, variants)))


def best_seconds(listings: Listings, repeats: int = 3) -> float:
    """Return the fastest of `repeats` checks, in seconds."""
    context = CheckContext(TODAY)
    return min(timeit.repeat(lambda: check_listings(listings, context), number=1, repeat=repeats))


def slowest(listings: Listings) -> list[tuple[float, str]]:
    """Return the functions of rules by how long each takes, the slowest first."""
    thresholds, _ = read_thresholds(listings.catalog.shop.settings)
    context = CheckContext(TODAY, thresholds.figures)
    timed = [
        (timeit.timeit(lambda check=check: list(check(listings, context)), number=1), check.__name__)  # type: ignore[misc]
        for check in dict.fromkeys(CHECKS.values())
    ]
    return sorted(timed, reverse=True)


if __name__ == "__main__":
    for sets, variants in ((200, 50), (2000, 50), (100, 1000)):
        listings = listed(sets, variants)
        offers = sum(len(listing.offers) for listing in listings)
        print(f"{sets} sets, {offers} offers: {best_seconds(listings):.2f} s")
        print("   " + ", ".join(f"{name} {seconds:.2f}" for seconds, name in slowest(listings)[:6]))
