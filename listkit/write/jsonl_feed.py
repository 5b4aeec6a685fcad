"""feed.jsonl: a data file's rows as JSON Lines, one object a row under the channel's headings, else our names.

Values are facts as in record.jsonl (money as text, weights and lengths as numbers, in the unit of the column or
dialect), not cells; templates, words and what a column maps are text. What is not known is left out of its object.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from listkit.listing.columns import feed_files
from listkit.listing.listings import Listing, Listings
from listkit.listing.rows import feed_columns, feed_prices, feed_sources
from listkit.model.channel import Channel
from listkit.save.job import File, Job, Recipe
from listkit.write.context import WriteContext, codes_of, stream_key
from listkit.write.json_text import lines_fault, write_lines
from listkit.write.record import objects

Listed = tuple[Listing, ...]


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield every data file that a channel takes as JSON Lines."""
    for channel, own in listings.by_channel():
        for one in feed_files(channel):
            if one.channel.feed == "jsonl":
                file = File(
                    one.path,
                    stream_key(lines(one.channel, own), context.version),
                    codes_of(own),
                    feed_prices(one.channel, own, feed_columns(one.channel, own)),
                    channel=channel.key,
                    verify=verify_feed,
                )
                yield Job(write_feed, (one.channel, own), (file,))


def lines(channel: Channel, listed: Listed) -> Iterator[str]:
    """Yield one object a row."""
    columns = feed_columns(channel, listed)
    return objects(feed_sources(channel, listed, columns), columns)


def write_feed(channel: Channel, listed: Listed, paths: tuple[Path, ...]) -> None:
    """Write the feed: a recipe."""
    write_lines(paths[0], lines(channel, listed))


def verify_feed(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when every line is one JSON object with the values computed afresh, else the first difference."""
    return lines_fault(path, lines(*inputs))
