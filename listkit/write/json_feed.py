"""feed.json: JSON-LD in the schema.org vocabulary (release 30), an OfferCatalog of ProductGroups, with a JSON Schema.

Each variant says what is in the box: a ProductCollection includes so many of each Product. A set that is one piece
without a box is a Product itself. Prices are text with the currency's digits, weights and lengths
numbers in grams and millimetres, named by their UN/CEFACT codes. A line holds one set, so that a large shop
is written and read again one set at a time.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import zip_longest
from pathlib import Path
from typing import Any, Final

from listkit.job import File, Job, Recipe, key_of
from listkit.listing.listings import Listing, Listings
from listkit.listing.rows import prices_of
from listkit.listing.sorting import sorted_rows
from listkit.model.channel import Channel
from listkit.write.context import WriteContext
from listkit.write.feed_schema import FEED_SCHEMA
from listkit.write.json_text import Json, document_fault, in_order, read_strictly, readable
from listkit.write.keys import codes_of, stream_key
from listkit.write.product_group import product_group

Listed = tuple[Listing, ...]
END: Final = "]}"


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield feed.json and feed.schema.json for every channel that takes a JSON feed."""
    for channel, own in listings.by_channel():
        if "feed" in channel.make and channel.feed == "json":
            shop = listings.catalog.shop.settings.name
            feed = File(
                f"{channel.key}/feed.json",
                stream_key(offer_catalog(channel, own, shop), context.version),
                codes_of(own),
                prices_of(own, "variant"),
                channel=channel.key,
                verify=verify_catalog,
            )
            schema_key = key_of(context.version, readable(FEED_SCHEMA))
            schema = File(f"{channel.key}/feed.schema.json", schema_key, channel=channel.key, verify=verify_schema)
            yield Job(write_catalog, (channel, own, shop), (feed,))
            yield Job(write_schema, (), (schema,))


def offer_catalog(channel: Channel, own: Listed, shop: str) -> Iterator[str]:
    """Yield the lines of the catalog: what it is, a line a set in the channel's order, its end."""
    rows = ((listing, listing.offers) for listing in own if listing.offers)
    shown = tuple(
        listing if offers is listing.offers else replace(listing, offers=offers)
        for listing, offers in sorted_rows(rows, channel.sort, together=True)
    )
    yield _opening(channel, shown, shop)
    for number, listing in enumerate(shown, 1):
        yield in_order(product_group(listing)) + ("," if number < len(shown) else "")
    yield END


def _opening(channel: Channel, shown: Listed, shop: str) -> str:
    head: Json = {
        "@context": "https://schema.org",
        "@type": "OfferCatalog",
        "name": f"{shop}: {channel.name}",
        "numberOfItems": len(shown),
        "itemListElement": [],
    }
    return in_order(head).removesuffix(END)


def write_catalog(channel: Channel, own: Listed, shop: str, paths: tuple[Path, ...]) -> None:
    """Write the feed, a set at a time: a recipe."""
    with paths[0].open("w", encoding="utf-8", newline="") as file:
        for line in offer_catalog(channel, own, shop):
            file.write(line + "\n")


def verify_catalog(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when every line is JSON without a name twice, and holds what is computed afresh."""
    try:
        with path.open(encoding="utf-8", newline="\n") as file:
            for number, (found, wanted) in enumerate(zip_longest(file, offer_catalog(*inputs)), 1):
                if found is None or wanted is None:
                    return f"line {number} is {'missing' if found is None else 'too many'}."
                if fault := _line_fault(found, wanted):
                    return f"line {number} {fault}"
    except ValueError as fault:
        return f"it is no JSON: {fault}."
    return ""


def _line_fault(found: str, wanted: str) -> str:
    """Return what is wrong with a line: each is a document of its own, but for the brackets that span all lines."""
    if found != wanted + "\n":
        return "does not hold what was asked for."
    text = wanted + END if wanted.endswith("[") else wanted.removesuffix(",")
    if wanted != END and not isinstance(read_strictly(text), dict):
        return "is no object."
    return ""


def write_schema(paths: tuple[Path, ...]) -> None:
    """Write the JSON Schema: a recipe."""
    paths[0].write_text(readable(FEED_SCHEMA), encoding="utf-8", newline="")


def verify_schema(path: Path, _recipe: Recipe, _inputs: tuple[object, ...]) -> str:
    """Return "" when the file holds the JSON Schema, else what is wrong."""
    return document_fault(path, FEED_SCHEMA)
