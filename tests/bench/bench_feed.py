"""How fast rows are made and written, beside the bare csv module writing the same rows ready-made.

python -m tests.bench.bench_feed [VARIANTS]
"""

import csv
import gc
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

from listkit.listing.listings import Listing
from listkit.listing.rows import feed_columns, feed_rows
from listkit.model.channel import Channel
from listkit.write import csv_feed, jsonl_feed, record
from listkit.write.json_lines import write_lines
from tests.write.two_sets import channel, own, renamed

TEXT = "<p>The first warm morning at the hives, in one box: a bar, a jar, a balm. " * 8 + "</p>"


def large_shop(variants: int, taking: Channel) -> tuple[Listing, ...]:
    """Return sets of 100 variants each, until there are enough; prices and weights repeat as in a shop."""
    model = own(taking)[0]
    offers = tuple(
        replace(offer, variant=replace(offer.variant, code=f"{offer.variant.code}-{number}"))
        for number in range(25)
        for offer in model.offers
    )
    listing = replace(model, offers=offers, description=TEXT)
    return tuple(renamed(listing, number) for number in range(variants // len(offers)))


def seconds(work: Callable[[], object], repeats: int = 3) -> float:
    """Return the fastest of `repeats` runs."""
    found = []
    for _ in range(repeats):
        gc.collect()
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return min(found)


def bare(rows: list[tuple[str, ...]], path: Path) -> None:
    """Write ready-made rows with nothing but the csv module."""
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)


def drained(rows: Iterator[object]) -> None:
    """Take every row and keep none."""
    for _ in rows:
        pass


def peak(work: Callable[[], object]) -> float:
    """Return the most memory that the work held at a time, in megabytes."""
    tracemalloc.start()
    work()
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return most / 1e6


def template_channel(source: str) -> Channel:
    """Return a channel with one template column."""
    return channel(column=[{"heading": "words", "value": source}])


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    names = [column.heading for column in feed_columns(channel(), own(channel()))]
    plain = channel(column=[{"heading": name, "value": name} for name in (*names, "contents")])
    shop = large_shop(count, plain)
    columns = feed_columns(plain, shop)
    ready = list(feed_rows(plain, shop, columns))
    print(f"{len(ready)} variants, {len(columns)} columns, {sum(map(len, ready[0]))} characters a row")
    with tempfile.TemporaryDirectory() as folder:
        path, inputs = Path(folder, "feed.csv"), (plain, shop)
        alone = seconds(lambda: bare(ready, path))
        ours = seconds(lambda: csv_feed.write_feed(plain, shop, (path,)))
        for what, taken in (
            ("bare csv.writer, rows ready-made", alone),
            ("rows and csv", ours),
            ("rows alone", seconds(lambda: drained(feed_rows(plain, shop, columns)))),
            ("read again and compared", seconds(lambda: csv_feed.verify_feed(path, csv_feed.write_feed, inputs))),
            ("feed.jsonl", seconds(lambda: write_lines(path, jsonl_feed.lines(plain, shop)))),
            ("record.jsonl", seconds(lambda: write_lines(path, record.records(shop, "variant")))),
        ):
            print(f"{what:34} {taken:7.3f} s  {len(ready) / taken:9.0f} rows a second")
        print(f"rows and csv run at {alone / ours:.2f} of the bare writer's speed (at least 0.25 wanted)")
        del ready
        few = shop[: len(shop) // 10]
        for some in (few, shop):
            most = peak(lambda some=some: csv_feed.write_feed(plain, some, (path,)))  # type: ignore[misc]
            print(f"{len(some):5} sets: {most:.2f} MB at most beside the listings")
    for source in ("{{ name }}, {{ theme }}", "{{ sku }}", "{{ price | money }} for {{ weight | weight('oz') }}"):
        made = template_channel(source)
        column = feed_columns(made, shop)
        taken = seconds(lambda made=made, column=column: drained(feed_rows(made, shop, column)))  # type: ignore[misc]
        print(f"template {source!r}: {taken / count * 1e6:.1f} µs a cell")
