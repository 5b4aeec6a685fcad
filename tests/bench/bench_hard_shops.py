"""How long shops with hard boxes take: python -m tests.bench.bench_hard_shops. CPU seconds; asserts nothing."""

from time import process_time

from listkit.check.boxes import boxes
from listkit.check.places import CheckContext
from listkit.compute.build import build_catalog
from listkit.listing.listings import Listings
from listkit.present.gift_set import set_text
from tests.bench.hard_shops import HARD
from tests.check.found import TODAY

MOST_SHOWN = 1000  # variants; nobody reads more


def run() -> None:
    """Print for each shop what computing, checking the boxes and showing the set take, and what was found."""
    for name, make in HARD.items():
        of = make()
        started = process_time()
        catalog = build_catalog(of)
        computed = process_time()
        told = list(boxes(Listings(catalog, ()), CheckContext(TODAY)))
        checked = process_time()
        facts, fresh = catalog.sets[0], build_catalog(of) if len(catalog.sets[0].variants) <= MOST_SHOWN else None
        begun = process_time()
        if fresh is not None:
            set_text(fresh.sets[0], fresh.sets[0].variants, fresh)
        shown = f"shown {process_time() - begun:5.2f} s" if fresh else "not shown"
        spent = 100 * (catalog.searches.total - catalog.searches.left) // catalog.searches.total
        box = facts.box.code if facts.box else "none"
        print(f"{name:45} computed {computed - started:6.2f} s  boxes checked {checked - computed:6.2f} s  {shown}")
        print(f"{'':45} box {box}, {spent} % spent, {len(told)} problems: {[str(each)[:150] for each in told[:1]]}")


if __name__ == "__main__":
    run()
