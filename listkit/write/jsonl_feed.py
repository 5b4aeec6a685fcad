"""feed.jsonl: the channel's rows as JSON Lines, one object a row under the channel's headings, else our names.

Values are facts as in record.jsonl (money as text, weights as numbers of grams), not cells of a dialect; templates and
words are text. What is not known is left out of its object.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from listkit.job import File, Job, Recipe
from listkit.listing.listings import Listing, Listings
from listkit.listing.rows import feed_columns, prices_of
from listkit.model.channel import Channel
from listkit.write.context import WriteContext
from listkit.write.json_lines import lines_fault, write_lines
from listkit.write.keys import codes_of, stream_key
from listkit.write.record import objects

Listed = tuple[Listing, ...]


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield feed.jsonl for every channel that takes its feed as JSON Lines."""
    for channel, own in listings.by_channel():
        if "feed" in channel.make and channel.feed == "jsonl":
            file = File(
                f"{channel.key}/feed.jsonl",
                stream_key(lines(channel, own), context.version),
                codes_of(own),
                prices_of(own, channel.rows),
                channel=channel.key,
                verify=verify_feed,
            )
            yield Job(write_feed, (channel, own), (file,))


def lines(channel: Channel, own: Listed) -> Iterator[str]:
    """Yield one object a row."""
    return objects(own, feed_columns(channel, own), rows=channel.rows)


def write_feed(channel: Channel, own: Listed, paths: tuple[Path, ...]) -> None:
    """Write the feed: a recipe."""
    write_lines(paths[0], lines(channel, own))


def verify_feed(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when every line is one JSON object with the values computed afresh, else the first difference."""
    return lines_fault(path, lines(*inputs))
