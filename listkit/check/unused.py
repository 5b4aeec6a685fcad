"""Checks that what a channel's file says of its data files is used: nothing she wrote is passed over in silence."""

from collections.abc import Iterator

from listkit.check.alike import counted
from listkit.check.context import CheckContext
from listkit.listing.feed_files import channel_place, feed_files
from listkit.listing.listings import Listings
from listkit.model.channel import Channel
from listkit.problem import Problem

_OF_A_FEED = ("columns", "files", "sort")


def key_unused(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a channel: columns and rows that feed.json has none of, or a feed described and none made."""
    for channel in listings.catalog.shop.channels:
        if "feed" not in channel.make:
            yield from _not_made(channel)
        elif channel.feed == "json":
            yield from _not_in_json(channel)


def _not_made(channel: Channel) -> Iterator[Problem]:
    """Yield that a feed is described, at the first key which does so."""
    said = next((key for key in _OF_A_FEED if getattr(channel, key)), None)
    if said is not None:
        shown = {"columns": "[[column]]", "files": "[[file]]"}.get(said, said)
        message = f'{shown} describes a data file, and make has no "feed".'
        place = channel_place(channel, {"columns": "column", "files": "file"}.get(said, said))
        made = ", ".join(f'"{one}"' for one in (*channel.make, "feed"))
        yield Problem(place, "key-unused", message, f"Write make = [{made}], or take it out.")


def _not_in_json(channel: Channel) -> Iterator[Problem]:
    """Yield that feed.json keeps to its own form, unless a table beside it has what is said."""
    beside = [one for one in feed_files(channel) if not one.is_feed]
    used = {where[:2] for one in beside for where in one.columns if where[:1] == ("column",)}
    unused = [at for at in range(len(channel.columns)) if ("column", at) not in used]
    hint = 'Write feed = "jsonl" for rows under your own headings, or "csv"; or take it out.'
    if unused:
        more = f" and {counted(len(unused) - 1, 'more column')} stand" if len(unused) > 1 else " stands"
        first = channel.columns[unused[0]].heading
        message = f'feed.json has the schema.org form and no columns of yours; "{first}"{more} nowhere.'
        yield Problem(channel_place(channel, "column", unused[0], "heading"), "key-unused", message, hint)
    if channel.rows != "variant" and all(entry.rows for entry in channel.files):
        message = f'feed.json holds each set with its variants; rows = "{channel.rows}" changes nothing in it.'
        yield Problem(channel_place(channel, "rows"), "key-unused", message, hint)
