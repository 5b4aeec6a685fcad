"""price-list.csv: what a stall needs on one sheet, a row a variant in the order of the listings.

Written in the channel's dialect and read again like a feed.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from listkit.fields import FIELDS
from listkit.listing.listings import Listing, Listings
from listkit.listing.rows import FeedColumn, Row, dialect_cells, prices_of, rows_of
from listkit.model.channel import Channel
from listkit.save.job import File, Job, Recipe
from listkit.write.context import WriteContext, codes_of, stream_key
from listkit.write.csv_feed import Form, table_fault, with_header, write_table

HEADINGS: Final = {
    "code": "sku",
    "name": "title",
    "options": "choice",
    "price": "price",
    "sizes": "netContents",
    "gtin": "gtin",
}
Listed = tuple[Listing, ...]


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield the price list of every channel that asks for one."""
    currency = listings.catalog.shop.settings.currency
    for channel, own in listings.by_channel():
        if "price list" in channel.make:
            file = File(
                f"{channel.key}/price-list.csv",
                stream_key(table(channel, own, currency), context.version, Form.of(channel.dialect)),
                codes_of(own),
                prices_of(own, "variant"),
                channel=channel.key,
                guarded=channel.dialect.guard_formulas,
                verify=verify_list,
            )
            yield Job(write_list, (channel, own, currency), (file,))


def table(channel: Channel, own: Listed, currency: str) -> Iterator[Row]:
    """Yield the header, which names the currency once for all, and a row a variant."""
    columns = tuple(FeedColumn(heading, FIELDS[name]) for heading, name in HEADINGS.items())
    headings = tuple(f"price ({currency})" if heading == "price" else heading for heading in HEADINGS)
    rows = rows_of(own, columns, dialect_cells(channel.dialect), rows="variant")
    return with_header(headings, rows, channel.dialect)


def write_list(channel: Channel, own: Listed, currency: str, paths: tuple[Path, ...]) -> None:
    """Write the price list: a recipe."""
    write_table(paths[0], table(channel, own, currency), Form.of(channel.dialect))


def verify_list(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when the file reads as the rows it should hold, else the first difference."""
    channel, own, currency = inputs
    return table_fault(path, table(channel, own, currency), Form.of(channel.dialect))
