"""feed.xlsx: a data file's rows as a workbook with one sheet, the cells of the types that they are.

Money, weights and lengths are numbers, shown with the currency's digits; days are dates; all else is text, so that
codes keep their leading zeros. Before it takes its place the file is read again by an independent reader.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from listkit.fields import Kind
from listkit.job import File, Job, Recipe
from listkit.listing.feed_files import FeedFile, feed_files
from listkit.listing.listings import Listing, Listings
from listkit.listing.rows import FeedColumn, Row, feed_columns, feed_prices, feed_rows
from listkit.model.channel import Channel
from listkit.model.fields import NO_CURRENCY
from listkit.units.money import minor_digits
from listkit.write.context import WriteContext
from listkit.write.csv_table import with_header
from listkit.write.keys import codes_of, stream_key
from listkit.write.xlsx_table import LIBRARY, SheetColumn, SheetForm, Type, sheet_fault, write_sheet

Listed = tuple[Listing, ...]
_TEXTS: Final = frozenset({Kind.TEXT, Kind.YES_NO})
_SHOWN_DAYS: Final = (("2027", "yyyy"), ("02", "mm"), ("28", "dd"), (".", "\\."), ("-", "\\-"), ("/", "\\/"))
"""How the parts of 28 February 2027 are named in the number formats of a workbook."""


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield every data file that a channel takes as a workbook."""
    for channel, own in listings.by_channel():
        for one in feed_files(channel):
            if one.channel.feed == "xlsx":
                yield Job(write_feed, (one.channel, own, one.name), (_file(one, own, context),))


def _file(one: FeedFile, own: Listed, context: WriteContext) -> File:
    channel = one.channel
    return File(
        one.path,
        stream_key(table(channel, own), context.version, LIBRARY, sheet_form(channel, own, one.name)),
        codes_of(own),
        feed_prices(channel, own, feed_columns(channel, own)),
        channel=channel.key,
        guarded=channel.dialect.guard_formulas,
        verify=verify_feed,
    )


def table(channel: Channel, own: Listed) -> Iterator[Row]:
    """Yield the header, where the dialect has one, and every row; figures with a point, days in ISO 8601."""
    neutral = {"decimal": ".", "date": "2027-02-28", "encoding": "utf-8"}
    channel = channel.model_copy(update={"dialect": channel.dialect.model_copy(update=neutral)})
    columns = feed_columns(channel, own)
    headings = tuple(column.heading for column in columns)
    return with_header(headings, feed_rows(channel, own, columns), channel.dialect)


def sheet_form(channel: Channel, own: Listed, name: str) -> SheetForm:
    """Return the sheet's form: its name, the types of its columns, whether it has a header."""
    currency = own[0].currency if own else NO_CURRENCY
    columns = tuple(_sheet_column(column, channel, currency) for column in feed_columns(channel, own))
    return SheetForm(name, columns, channel.dialect.header)


def _sheet_column(column: FeedColumn, channel: Channel, currency: str) -> SheetColumn:
    kind = column.kind
    if kind in _TEXTS or column.mapped:
        return SheetColumn()
    if kind is Kind.DATE:
        shown: str = channel.dialect.date
        for part, name in _SHOWN_DAYS:
            shown = shown.replace(part, name)
        return SheetColumn(Type.DAY, shown)
    digits = minor_digits(currency) if kind is Kind.MONEY else 0
    return SheetColumn(Type.NUMBER, f"0.{'0' * digits}" if digits else "0" if kind is Kind.MONEY else "General")


def write_feed(channel: Channel, own: Listed, name: str, paths: tuple[Path, ...]) -> None:
    """Write the workbook: a recipe."""
    write_sheet(paths[0], table(channel, own), sheet_form(channel, own, name))


def verify_feed(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when the workbook reads as the rows it should hold, else the first difference."""
    channel, own, name = inputs
    return sheet_fault(path, table(channel, own), sheet_form(channel, own, name))
