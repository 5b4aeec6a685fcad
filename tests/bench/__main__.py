"""All stages of a build in one table, for a made-up shop and one ten times as large: python -m tests.bench [SETS].

CPU seconds, the less of two runs; the most memory the process held; growth for ten times the work. Pictures have no
pixels here, so writers that cut or show them are left to bench_photos; reading and start-up to bench_read and
bench_start.
"""

import datetime
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from listkit.check import check_listings
from listkit.check.context import CheckContext
from listkit.cli import collect_rarely
from listkit.cli.truth import Truth, snapshot_of
from listkit.compute.build import build_catalog
from listkit.job import Job
from listkit.ledger.ledger import Stamp, difference, record
from listkit.listing.build import build_listings
from listkit.listing.listings import Listings
from listkit.save import save
from listkit.write import WRITERS
from listkit.write.context import WriteContext
from tests.bench.synthetic import synthetic_shop
from tests.fuzz.worker import peak_bytes, reset_peak

TODAY = datetime.date(2027, 3, 1)
STAMP = Stamp("2026-11-25T10:30:00+00:00", "", "bench")


@dataclass(frozen=True, slots=True)
class Figure:
    """What one stage took."""

    seconds: float
    peak: int


def measured(work: Callable[[], object]) -> Figure:
    """Return the less of two runs."""
    found = []
    for _ in range(2):
        reset_peak()
        began = time.process_time()
        work()
        found.append(Figure(time.process_time() - began, peak_bytes()))
    return min(found, key=lambda one: one.seconds)


def stages(sets: int) -> Iterator[tuple[str, Figure]]:
    """Yield each stage of a shop of `sets` sets of fifty variants."""
    shop = synthetic_shop(sets)
    yield "compute", measured(lambda: build_catalog(shop))
    catalog = build_catalog(shop)
    yield "listing", measured(lambda: build_listings(catalog))
    listings = build_listings(catalog)
    yield "check", measured(lambda: check_listings(listings, CheckContext(TODAY)))
    jobs: list[Job] = []
    for name in WRITERS:
        own = plain_jobs(name, listings)
        if own:
            yield f"write {name}", measured(lambda own=own: made(own))  # type: ignore[misc]
        jobs += own
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        yield "save, unchanged", measured(lambda: save(jobs, out))
        truth, ledger = Truth(shop, listings), out / "ledger.sqlite3"
        record(ledger, "web_shop", snapshot_of(truth, "web_shop"), STAMP)
        yield "changes, none", measured(lambda: difference(ledger, "web_shop", snapshot_of(truth, "web_shop")))


def plain_jobs(name: str, listings: Listings) -> list[Job]:
    """Return a writer's jobs but those that open pictures."""
    return [job for job in WRITERS[name](listings, WriteContext("1")) if not (job.heavy or job.last)]


def made(jobs: list[Job]) -> None:
    """Run the recipes of jobs, without reading back."""
    with tempfile.TemporaryDirectory() as folder:
        for number, job in enumerate(jobs):
            job.recipe(*job.inputs, tuple(Path(folder, f"{number}-{at}") for at in range(len(job.files))))


def main(sets: int) -> None:
    """Print the table."""
    collect_rarely()  # as the command line does
    small = dict(stages(sets))
    print(f"×1 is {sets} sets of 50 variants\n{'stage':22} {'×1':>9} {'×10':>9} {'growth':>7} {'memory at ×10':>16}")
    for name, large in stages(sets * 10):
        growth = large.seconds / max(small[name].seconds, 1e-6)
        figures = f"{small[name].seconds:7.3f} s {large.seconds:7.3f} s {growth:7.1f}"
        print(f"{name:22} {figures} {large.peak / 1e6:13.0f} MB")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20)
