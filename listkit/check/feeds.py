"""Checks of feeds: columns that are not what they seem, templates that fail on a row, signs that an encoding has not.

They look at the very cells that will be written.
"""

from collections.abc import Iterator

from listkit.check.context import CheckContext
from listkit.listing.cells import unwritable
from listkit.listing.columns import FeedColumn, column_place, column_problems, feed_columns
from listkit.listing.listings import Listing, Listings
from listkit.listing.rows import feed_rows, row_offers
from listkit.model.channel import Channel
from listkit.problem import FieldError, Place, Problem

Listed = tuple[Listing, ...]


def feed_faults(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A feed's columns name facts that are there, and every cell can be written."""
    for channel, own in listings.by_channel():
        if "feed" in channel.make:
            yield from _column_faults(channel, own)


def _column_faults(channel: Channel, own: Listed) -> Iterator[Problem]:
    found = tuple(column_problems(channel, own))
    yield from found
    if any(problem.code == "template-fault" for problem in found):
        return
    columns = feed_columns(channel, own)
    faults = [_template_fault(channel, own, index, column) for index, column in enumerate(columns) if column.template]
    yield from filter(None, faults)
    if not any(faults) and channel.feed == "csv" and channel.dialect.encoding == "windows-1252":
        yield from _unwritable_cells(channel, own, columns)


def _template_fault(channel: Channel, own: Listed, index: int, column: FeedColumn) -> Problem | None:
    """Return the first row on which a template fails."""
    done = 0
    try:
        for _ in feed_rows(channel, own, (column,)):
            done += 1
    except FieldError as fault:
        message = f'in column "{column.heading}", row {_row_codes(channel, own)[done]}, {fault.message}'
        return Problem(column_place(channel, index), "template-fault", message, fault.hint)
    return None


def _unwritable_cells(channel: Channel, own: Listed, columns: tuple[FeedColumn, ...]) -> Iterator[Problem]:
    """Yield the first cell of each column that holds a sign which the encoding has not."""
    place = Place(f"channels/{channel.key}.toml", key=("dialect", "encoding"))
    told: set[int] = set()
    for number, row in enumerate(feed_rows(channel, own, columns)):
        if not unwritable("".join(row), channel.dialect.encoding):
            continue
        for at, cell in enumerate(row):
            if at not in told and (sign := unwritable(cell, channel.dialect.encoding)):
                told.add(at)
                where = f'column "{columns[at].heading}", row {_row_codes(channel, own)[number]}'
                message = f'{where}: {channel.dialect.encoding} has no "{sign}" (U+{ord(sign):04X}).'
                yield Problem(place, "character-forbidden", message, 'Write encoding = "utf-8", or other words.')


def _row_codes(channel: Channel, own: Listed) -> tuple[str, ...]:
    return tuple(offer.variant.code for listing in own for offer in row_offers(listing, channel.rows))
