"""How fast rows are made and written, beside the bare csv module writing the same rows ready-made.

python -m tests.bench.bench_feed [VARIANTS]
"""

import csv
import datetime
import gc
import resource
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path

import xlsxwriter  # type: ignore[import-untyped]

from listkit.check.feeds import feed_faults
from listkit.check.places import CheckContext
from listkit.listing.listings import Listing
from listkit.listing.rows import FeedColumn, feed_columns, feed_rows
from listkit.model.channel import Channel
from listkit.write import Writer, csv_feed, json_feed, jsonl_feed, record, xlsx_feed
from listkit.write.context import WriteContext
from listkit.write.json_text import write_lines
from tests.write.two_sets import channel, listings, own, renamed

# The hardest for us: short cells, and nearly all of them each variant's own.
SHORT = (
    *(
        "sku",
        "name",
        "gtin",
        "price",
        "availability",
        "inventoryLevel",
        "weight",
        "parcelWeight",
        "choice_1",
        "choice_2",
    ),
    *("wholesalePrice", "suggestedRetail", "includedTax", "fullCost", "kept", "volumetricWeight", "chargeableWeight"),
    *("fillShare", "canMake", "shelfLife", "image", "itemCodes", "netContents", "priceCurrency", "title"),
)
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
    """Return the fewest CPU seconds of `repeats` runs, which a busy machine does not change much."""
    found = []
    for _ in range(repeats):
        gc.collect()
        start = time.process_time()
        work()
        found.append(time.process_time() - start)
    return min(found)


def bare(rows: list[tuple[str, ...]], path: Path) -> None:
    """Write ready-made rows with nothing but the csv module."""
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)


def jobs_of(write: Writer, shop: tuple[Listing, ...]) -> None:
    """Let a writer say what is to be made: all that an unchanged build does."""
    drained(write(replace(listings(shop[0].channel), listings=shop), WriteContext("1")))


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


def template_cells(made: Channel, shop: tuple[Listing, ...], columns: tuple[FeedColumn, ...]) -> None:
    """Make the cells of a template column."""
    drained(feed_rows(made, shop, columns))


def short_share(count: int) -> float:
    """Return our share of the bare writer's speed on 25 columns of short cells."""
    made = channel(column=[{"heading": name, "value": name} for name in SHORT])
    shop = large_shop(count, made)
    ready = list(feed_rows(made, shop, feed_columns(made, shop)))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "feed.csv")
        return seconds(partial(bare, ready, path)) / seconds(partial(csv_feed.write_feed, made, shop, (path,)))


def check_seconds(made: Channel, shop: tuple[Listing, ...]) -> float:
    """Return how long the check of data files takes for one channel."""
    of = replace(listings(made), listings=tuple(replace(one, channel=made) for one in shop))
    return seconds(partial(drained, feed_faults(of, CheckContext(datetime.date(2027, 3, 1)))), repeats=1)


def ruled_channel() -> Channel:
    """Return a channel with what owners ask of columns: words of its own, lengths, values allowed, an order."""
    columns = [
        {"heading": "code", "value": "sku", "required": True, "longest": 40},
        {"heading": "title", "value": "title", "longest": 96},
        {"heading": "status", "value": "availability", "map": {"InStock": "yes", "SoldOut": "no"}},
        {"heading": "price", "value": "price"},
        {"heading": "weight", "value": "weight", "unit": "oz"},
    ]
    return channel(column=columns, sort=["-price", "sku"])


def resident() -> float:
    """Return the most memory that the program held at a time, in megabytes, the reader's own included."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3


def library_alone(rows: list[tuple[str, ...]], path: Path) -> None:
    """Write ready-made rows with nothing but the library, a row at a time as we do."""
    with xlsxwriter.Workbook(path, {"constant_memory": True}) as book:
        sheet = book.add_worksheet()
        for number, row in enumerate(rows):
            for at, cell in enumerate(row):
                sheet.write_string(number, at, cell)


def workbook(shop: tuple[Listing, ...], folder: str) -> None:
    """Print what the 25 columns cost as a workbook."""
    made = channel(feed="xlsx", column=[{"heading": name, "value": name} for name in SHORT])
    path = Path(folder, "feed.xlsx")
    rows = sum(len(listing.offers) for listing in shop)
    written = seconds(partial(xlsx_feed.write_feed, made, shop, "feed", (path,)), repeats=1)
    ready = list(xlsx_feed.table(made, shop))[1:]
    alone = seconds(partial(library_alone, ready, path.with_name("alone.xlsx")), repeats=1)
    before = resident()
    read = seconds(partial(xlsx_feed.verify_feed, path, xlsx_feed.write_feed, (made, shop, "feed")), repeats=1)
    print(f"{'feed.xlsx, 25 short columns':34} {written:7.3f} s  {rows / written:9.0f} rows a second")
    print(f"{'xlsxwriter alone, all as text':34} {alone:7.3f} s  {rows / alone:9.0f} rows a second")
    print(f"{'read again and compared':34} {read:7.3f} s  {rows / read:9.0f} rows a second")
    print(f"reading it again adds {resident() - before:.0f} MB to the most that the program held before")
    some = shop[: len(shop) // 10]
    held = [peak(partial(xlsx_feed.write_feed, made, few, "feed", (path,))) for few in (some[:20], some)]
    print(f"feed.xlsx of 20 and of {len(some)} sets: {held[0]:.2f} and {held[1]:.2f} MB beside the listings")


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
            ("key of feed.csv, with its prices", seconds(lambda: jobs_of(csv_feed.write, shop))),
            ("feed.json", seconds(lambda: json_feed.write_catalog(plain, shop, "Shop", "photos", (path,)))),
            ("feed.jsonl", seconds(lambda: write_lines(path, jsonl_feed.lines(plain, shop)))),
            ("record.jsonl", seconds(lambda: write_lines(path, record.records(shop, "variant")))),
        ):
            print(f"{what:34} {taken:7.3f} s  {len(ready) / taken:9.0f} rows a second")
        print(f"rows and csv run at {alone / ours:.2f} of the bare writer's speed (at least 0.25 wanted)")
        del ready
        print(
            f"and at {short_share(count):.2f} with {len(SHORT)} columns of short cells, nearly all each variant's own"
        )
        for some in (shop[: len(shop) // 10], shop):
            works = partial(csv_feed.write_feed, plain, some), partial(record.write_record, some, "variant")
            feed, facts = (peak(partial(work, (path,))) for work in works)
            print(
                f"{len(some):5} sets: {feed:.2f} MB for feed.csv, {facts:.2f} MB for record.jsonl, beside the listings"
            )
        workbook(shop, folder)
    ruled = ruled_channel()
    order = seconds(partial(csv_feed.write_feed, ruled, shop, (Path(tempfile.gettempdir(), "ruled.csv"),)), repeats=1)
    print(f"sorted by price, 5 columns: {order:.2f} s; its rules checked: {check_seconds(ruled, shop):.2f} s")
    for source in ("{{ name }}, {{ theme }}", "{{ sku }}", "{{ price | in_currency }} for {{ weight | weight('oz') }}"):
        made = template_channel(source)
        column = feed_columns(made, shop)
        taken = seconds(partial(template_cells, made, shop, column))
        print(f"template {source!r}: {taken / count * 1e6:.1f} µs a cell")
