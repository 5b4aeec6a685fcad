"""The rows of a channel's own table that differ, ready to be imported there, and those to take down by hand."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final

from listkit.cli.change_files import ChangeTable
from listkit.cli.truth import is_price_list, own_columns
from listkit.ledger.causes import Movement
from listkit.ledger.changes import Change, Changes, Rows
from listkit.listing.columns import fact
from listkit.listing.listings import Listing
from listkit.listing.rows import FeedColumn, Row, dialect_cells, row_offers, rows_of
from listkit.model.channel import Channel, Dialect

_WHOLE_FEED: Final = {
    "channel": ("headings", "columns", "dialect", "rows", "make", "feed", "language"),
    "shop": ("language", "currency"),
}
"""Facts with which every row may be written otherwise."""
_TAKE_DOWN: Final = ("code", "name", "price", "address")


def changed_rows(
    channel: Channel, own: tuple[Listing, ...], found: Changes, old: Rows, moved: Iterable[Movement]
) -> ChangeTable:
    """Return the rows that differ in a column of the channel's, new ones among them, in the channel's own cells.

    Where the columns or the dialect changed, every row does. Put over the rows of the last feed, and with the gone
    ones taken down, they give the feed of today.
    """
    columns = own_columns(channel, own)
    whole = any(one.fact in _WHOLE_FEED.get(one.what, ()) for one in moved)
    if is_price_list(channel) and channel.rows != "variant":
        whole = whole or bool(found)
    wanted = None
    if not whole:
        wanted = _differing(channel, own, columns, found)
        if any(column.once for column in columns):  # another row may have become a listing's first
            touched = {str(old[code].get("inProductGroupWithID")) for code in found.gone} | {*found.new}
            wanted |= _rows_of_touched(channel, own, touched)
    return rows_of_codes("changes.csv", channel, own, wanted)


def rows_of_codes(name: str, channel: Channel, own: tuple[Listing, ...], wanted: frozenset[str] | None) -> ChangeTable:
    """Return these rows of the channel's table as it would write them, all with None."""
    columns = own_columns(channel, own)
    headings = tuple(column.heading for column in columns)
    return ChangeTable(name, headings, tuple(_rows(channel, own, columns, wanted)))


def _rows(
    channel: Channel, own: tuple[Listing, ...], columns: tuple[FeedColumn, ...], wanted: frozenset[str] | None
) -> Iterator[Row]:
    kind = "variant" if is_price_list(channel) else channel.rows
    for listing in own:
        codes = [offer.variant.code for offer in row_offers(listing, kind)]
        if wanted is not None and wanted.isdisjoint(codes):
            continue
        rows = rows_of((listing,), columns, dialect_cells(channel.dialect), rows=kind)
        yield from (row for code, row in zip(codes, rows, strict=True) if wanted is None or code in wanted)


def _differing(
    channel: Channel, own: tuple[Listing, ...], columns: tuple[FeedColumn, ...], found: Changes
) -> frozenset[str]:
    """Return the codes whose cells differ: of a column that is filled once, only in a listing's first row."""
    first = {next((offer.variant.code for offer in row_offers(listing, channel.rows)), "") for listing in own}
    always = _shown(column for column in columns if not column.once)
    in_first = _shown(columns)
    changed = (one.code for one in found.changed if _shows(in_first if one.code in first else always, one))
    return frozenset((*found.new, *changed))


def _rows_of_touched(channel: Channel, own: tuple[Listing, ...], touched: set[str]) -> frozenset[str]:
    """Return all codes of the sets that are named themselves or by one of their rows."""
    codes = [[offer.variant.code for offer in row_offers(listing, channel.rows)] for listing in own]
    return frozenset(
        code
        for listing, own_codes in zip(own, codes, strict=True)
        if listing.facts.code in touched or not touched.isdisjoint(own_codes)
        for code in own_codes
    )


def _shown(columns: Iterable[FeedColumn]) -> dict[str, set[int]]:
    """Return the fields behind columns, with the numbers of a family's members, 0 for all of it."""
    shown: dict[str, set[int]] = {}
    for column in columns:
        if column.field is not None:
            shown.setdefault(column.field.name, set()).add(column.number)
        for name in column.template.names if column.template else ():
            shown.setdefault(fact(name)[0].name, set()).add(fact(name)[1])
    return shown


def _shows(shown: Mapping[str, set[int]], change: Change) -> bool:
    numbers = shown.get(change.field, set())
    return 0 in numbers or any(_member(change.old, at) != _member(change.new, at) for at in numbers)


def _member(family: Any, number: int) -> Any:  # noqa: ANN401 (any fact)
    return family[number - 1] if isinstance(family, list) and len(family) >= number else None


def take_down(found: Changes, old: Rows, dialect: Dialect) -> ChangeTable:
    """Return what the channel shows and the shop no longer has: deleted rows delete nothing there."""
    cell = dialect_cells(dialect)(FeedColumn(""))
    rows = tuple(
        (cell(code), *(cell(str(old[code].get(name, ""))) for name in ("name", "price", "url"))) for code in found.gone
    )
    return ChangeTable("take-down.csv", _TAKE_DOWN, rows)
