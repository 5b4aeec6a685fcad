"""How long changes and compare take, and how the ledger grows: python -m tests.bench.bench_ledger.

100,000 variants of a made-up shop. Nothing of reading or computing the shop is in the times of `changes`: its rows
are made before. `compare` reads the export itself. The peer is the csv module reading both tables.
"""

import csv
import datetime
import gc
import sys
import tempfile
import time
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import TypeVar

from listkit.actions.compare import aligned, folded, known_headings, our_rows, shown_columns, their_rows
from listkit.actions.facts import items_of_sets, snapshot_of
from listkit.cli import collect_rarely
from listkit.compute.build import build_catalog
from listkit.ledger.causes import causes
from listkit.ledger.changes import changes
from listkit.ledger.compare import Compared, compare
from listkit.ledger.movements import movements
from listkit.ledger.store import LEDGER, Facts, Snapshot, Stamp, difference, parsed, record
from listkit.listing.build import build_listings
from listkit.model.shop import Shop
from listkit.pipeline import Listed
from listkit.read.export_file import read_export
from listkit.write import csv_feed
from listkit.write.context import WriteContext
from tests.bench.synthetic import synthetic_shop

T = TypeVar("T")
_RECORDS = 50


def timed(work: Callable[[], T]) -> tuple[float, T]:
    """Return CPU seconds and the result."""
    gc.collect()
    began = time.process_time()
    result = work()
    return time.process_time() - began, result


def dearer(shop: Shop, number: int) -> Shop:
    """Return the shop with one item's price raised."""
    items = list(shop.items)
    one = items[number % len(items)]
    raised = one.retail * Decimal("1.10")
    items[number % len(items)] = one.model_copy(update={"retail": raised.rounded("ROUND_HALF_UP")})
    return Shop(**{name: getattr(shop, name) for name in shop.__slots__} | {"items": tuple(items)})


def truth_of(shop: Shop) -> Listed:
    """Compute and list the shop."""
    return Listed(shop, build_listings(build_catalog(shop)), datetime.date(2027, 3, 1))


def held(snapshot: Snapshot) -> Snapshot:
    """Return the snapshot with its lines made."""
    return Snapshot(*(tuple(getattr(snapshot, name)) for name in ("rows", "items", "sets", "rules", "files")))


def stamp(day: int) -> Stamp:
    """Return a time on the day with this number."""
    at = datetime.datetime(2026, 1, 1, tzinfo=datetime.UTC) + datetime.timedelta(day)
    return Stamp(at.isoformat())


def all_changes(ledger: Path, key: str, now: Snapshot, truth: Listed) -> tuple[int, int]:
    """Return how many changes and causes there are against the last record."""
    found = difference(ledger, key, now)
    old, new = parsed(found.old.rows), parsed(found.new.rows)
    differs = changes(old, new)
    moved = movements(Facts(**{n: getattr(found.old, n) for n in ("rows", "items", "sets", "rules")}), found.new)
    why = causes(differs, old, new, moved, items_of_sets(truth.catalog))
    return len(differs.changed), len(why)


def all_compared(export: Path, truth: Listed, key: str) -> Compared:
    """Read an export and hold it against the truth."""
    channel = truth.channel(key)
    assert channel is not None
    headings = known_headings(truth, channel)
    content = export.read_bytes()
    theirs = read_export(export.name, content, lambda row: sum(folded(cell) in headings for cell in row))
    places = aligned(theirs, truth, channel)
    columns = shown_columns(places, channel, facts=False)
    ours = our_rows(places, truth.listings_of(key), channel, facts=False)
    return compare(ours, their_rows(places, theirs, truth.shop.old_codes, {}), columns)


def feed_of(truth: Listed, key: str, folder: Path) -> Path:
    """Write the channel's feed as a CSV."""
    for job in csv_feed.write(truth.listings, WriteContext(version="bench")):
        for file in job.files:
            if file.path == f"{key}/feed.csv":
                path = folder / f"{len(list(folder.iterdir()))}.csv"
                job.recipe(*job.inputs, (path,))
                return path
    raise AssertionError("the made-up channel takes no CSV")


def rows_in(path: Path) -> int:
    """Read a table with the csv module alone."""
    with path.open(encoding="utf-8", newline="") as file:
        return sum(1 for _ in csv.reader(file))


def growth(folder: Path, variants: int = 20_000) -> tuple[int, int]:
    """Return the size of a ledger with one record, and with 50 that each change one row in a hundred."""
    shop = synthetic_shop(variants // 50, 50)
    truth = truth_of(shop)
    key = truth.places[0]
    rows = dict(held(snapshot_of(truth, key)).rows)
    codes = list(rows)
    ledger = folder / LEDGER
    record(ledger, key, Snapshot(tuple(rows.items())), stamp(0))
    first = ledger.stat().st_size
    for number in range(1, _RECORDS):
        for code in codes[number::100]:
            rows[code] = rows[code].replace('"price":"', f'"price":"{number}', 1)
        record(ledger, key, Snapshot(tuple(rows.items())), stamp(number))
    return first, ledger.stat().st_size


def main(sets: int, variants: int) -> None:
    """Print the figures of a shop of so many variants; what is measured is alone in memory, as in a command."""
    shop = synthetic_shop(sets, variants)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        ledger = folder / LEDGER
        (folder / "csv").mkdir()
        old = _published(shop, ledger, folder / "csv")
        for words, changed in (("one item dearer", dearer(shop, 9)), ("two items dearer", dearer(dearer(shop, 3), 9))):
            truth = truth_of(changed)
            took = _changed(words, truth, ledger)
        new = feed_of(truth, truth.places[0], folder / "csv")
        read, _ = timed(lambda: rows_in(old) + rows_in(new))
        compared, found = timed(lambda: all_compared(old, truth, truth.places[0]))
        print(f"compare: {compared:.2f} s (aim 5), {len(found.differences):,} differences in {found.compared:,} cells")
        print(f"reading both with csv: {read:.2f} s; changes {took / read:.1f} times, compare {compared / read:.1f}")


def _changed(words: str, truth: Listed, ledger: Path) -> float:
    """Print how long the changes take, and return it."""
    now = held(snapshot_of(truth, truth.places[0]))
    took, (count, why) = timed(lambda: all_changes(ledger, truth.places[0], now, truth))
    print(f"changes, {words}: {took:.2f} s (aim 3), {count:,} changes in {why} causes")
    return took


def _published(shop: Shop, ledger: Path, folder: Path) -> Path:
    """Record the shop and return its feed."""
    truth = truth_of(shop)
    then = held(snapshot_of(truth, truth.places[0]))
    seconds, _ = timed(lambda: record(ledger, truth.places[0], then, stamp(0)))
    print(f"{len(tuple(then.rows)):,} variants: first record {seconds:.2f} s, {ledger.stat().st_size / 1e6:.0f} MB")
    return feed_of(truth, truth.places[0], folder)


if __name__ == "__main__":
    collect_rarely()  # as the commands do
    main(*(map(int, sys.argv[1:]) if len(sys.argv) > 1 else (2000, 50)))
    with tempfile.TemporaryDirectory() as place:
        one, all_of_them = growth(Path(place))
        print(f"growth: {one / 1e6:.1f} MB after 1 record, {all_of_them / 1e6:.1f} MB after {_RECORDS}, "
              f"{all_of_them / one:.2f} times (aim below 3)")  # fmt: skip
