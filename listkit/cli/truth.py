"""Today's truth of a shop: what each channel would show if it were built now. Nothing is checked or written.

`wholesale` is a place of its own beside the channels: its rows are the lines of the line sheet, a set
with all its variants.
"""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from listkit.cli.listed import listed
from listkit.cli.said import item_lines, reduction_lines, rule_lines, set_lines
from listkit.cli.sheets import sheet_rules
from listkit.compute.catalog import Catalog
from listkit.fields import FIELDS
from listkit.ledger.store import Lines, Snapshot
from listkit.listing.listings import Listing, Listings
from listkit.listing.rows import FeedColumn, feed_columns, row_offers
from listkit.model.channel import Channel
from listkit.model.shop import Shop
from listkit.problem import FieldError, Problem
from listkit.read.photos import PhotoMemory
from listkit.read.shop import read_shop
from listkit.save.made import read_made
from listkit.write.csv_feed import PRICE_HEADINGS
from listkit.write.record import records, wholesale_records

WHOLESALE: Final = "wholesale"


@dataclass(frozen=True, slots=True)
class Truth:
    """A shop and its listings; `problems` are those of reading and listing, which leave sets out."""

    shop: Shop
    listings: Listings
    problems: tuple[Problem, ...] = ()

    @property
    def catalog(self) -> Catalog:
        """All sets, computed."""
        return self.listings.catalog

    @property
    def places(self) -> tuple[str, ...]:
        """The keys of all channels, and wholesale where there are terms for it."""
        keys = tuple(channel.key for channel in self.shop.channels)
        return (*keys, WHOLESALE) if self.shop.wholesale is not None and WHOLESALE not in keys else keys

    def channel(self, key: str) -> Channel | None:
        """Return a channel by its key, None for wholesale."""
        return next((one for one in self.shop.channels if one.key == key), None)

    def own(self, key: str) -> tuple[Listing, ...]:
        """Return a channel's listings."""
        return tuple(one for one in self.listings if one.channel.key == key)

    def name(self, key: str) -> str:
        """Return what people call the place."""
        channel = self.channel(key)
        return channel.name if channel else "Wholesale"


def read_truth(folder: Path, out: Path, today: datetime.date) -> Truth:
    """Read, compute and list the shop in `folder`; photos measured before are remembered in `out`."""
    shop, problems = read_shop(folder, photo_facts=PhotoMemory(read_made(out).photos))
    return truth_of(shop, today, tuple(problems))


def truth_of(shop: Shop, today: datetime.date, problems: tuple[Problem, ...] = ()) -> Truth:
    """Return the truth of a shop that has been read, with the reductions of that day."""
    listings, unread = listed(shop, today)
    return Truth(shop, listings, (*problems, *unread, *listings.problems))


def find_place(truth: Truth, wanted: str) -> str:
    """Return the key that a key or name means.

    Raises:
        FieldError: there is no such channel.
    """
    for key in truth.places:
        if wanted in (key, truth.name(key)):
            return key
    raise FieldError(f'There is no channel "{wanted}".', f"There are: {', '.join(truth.places) or 'none'}.")


def snapshot_of(truth: Truth, key: str, files: Lines = ()) -> Snapshot:
    """Return what is recorded of a place, its rows made one by one as they are asked for."""
    channel, own = truth.channel(key), truth.own(key)
    sets = {listing.facts.code: listing.facts for listing in own}
    headings: tuple[str, ...] = ()
    if channel is not None:
        headings = tuple(column.heading for column in own_columns(channel, own))
    else:
        sets = {one.code: one for one in truth.catalog.sets}
    used = {item.code: item for one in sets.values() for item in one.items}
    if channel is None:
        used = {item.code: item for item in truth.shop.items}
    more = sheet_rules(truth.catalog) if channel is None else reduction_lines(own)
    rules = (*rule_lines(truth.shop, channel, headings), *more)
    return Snapshot(rows_of(truth, key), item_lines(used.values()), set_lines(sets.values()), rules, files)


def rows_of(truth: Truth, key: str) -> Iterator[tuple[str, str]]:
    """Yield code and line of every row, as record.jsonl has them."""
    channel = truth.channel(key)
    if channel is None:
        yield from wholesale_records(truth.catalog)
        return
    own = truth.own(key)
    yield from zip(codes_of_rows(own, channel.rows), records(own, channel.rows), strict=True)


def codes_of_rows(own: tuple[Listing, ...], rows: str) -> Iterator[str]:
    """Yield the code of every row."""
    return (offer.variant.code for listing in own for offer in row_offers(listing, rows))


def own_columns(channel: Channel, own: tuple[Listing, ...]) -> tuple[FeedColumn, ...]:
    """Return the columns of the table that the channel takes: its feed's, else its price list's."""
    if not is_price_list(channel):
        return feed_columns(channel, own)
    currency = own[0].currency if own else ""
    headings = {name: f"price ({currency})" if name == "price" else name for name in PRICE_HEADINGS}
    return tuple(FeedColumn(headings[name], FIELDS[field]) for name, field in PRICE_HEADINGS.items())


def is_price_list(channel: Channel) -> bool:
    """Whether the price list is the channel's only table."""
    return "feed" not in channel.make and "price list" in channel.make and not channel.columns
