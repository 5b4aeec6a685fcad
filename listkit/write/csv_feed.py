"""feed.csv: the channel's rows under its own headings, in its own dialect, with a Data Package beside it.

So is every other data file that the channel takes as CSV. Before a file takes its place it is read again by the csv
module, strictly in the stated encoding and dialect, and compared cell by cell with rows computed afresh.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from listkit.job import File, Job, Recipe
from listkit.listing.feed_files import FeedFile, feed_files
from listkit.listing.listings import Listing, Listings
from listkit.listing.rows import Row, feed_columns, feed_prices, feed_rows
from listkit.model.channel import Channel
from listkit.write.context import WriteContext
from listkit.write.csv_table import Form, table_fault, with_header, write_table
from listkit.write.data_package import package_job
from listkit.write.keys import codes_of, stream_key

Listed = tuple[Listing, ...]


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield every data file that a channel takes as CSV, and one datapackage.json for them all."""
    for channel, own in listings.by_channel():
        files = tuple(one for one in feed_files(channel) if one.channel.feed == "csv")
        for one in files:
            yield Job(write_feed, (one.channel, own), (_file(one, own, context),))
        if files:
            yield package_job(files, own, context)


def _file(one: FeedFile, own: Listed, context: WriteContext) -> File:
    channel = one.channel
    return File(
        one.path,
        stream_key(table(channel, own), context.version, Form.of(channel.dialect)),
        codes_of(own),
        feed_prices(channel, own, feed_columns(channel, own)),
        channel=channel.key,
        guarded=channel.dialect.guard_formulas,
        verify=verify_feed,
    )


def table(channel: Channel, own: Listed) -> Iterator[Row]:
    """Yield the header, where the dialect has one, and every row."""
    columns = feed_columns(channel, own)
    headings = tuple(column.heading for column in columns)
    return with_header(headings, feed_rows(channel, own, columns), channel.dialect)


def write_feed(channel: Channel, own: Listed, paths: tuple[Path, ...]) -> None:
    """Write the feed: a recipe."""
    write_table(paths[0], table(channel, own), Form.of(channel.dialect))


def verify_feed(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when the file reads as the rows it should hold, else the first difference."""
    channel, own = inputs
    return table_fault(path, table(channel, own), Form.of(channel.dialect))
