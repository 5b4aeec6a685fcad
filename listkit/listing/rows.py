"""Rows of a feed: exactly the cells that will be written.

A channel's rows are its variants, its sets, or each set and then its variants; a set's own row has its
code, its title and its lowest price. They come as the sets lie in the shop, or sorted by fields that the channel
names. Rows are made one at a time, so a large shop takes no more memory than a small one: cells that hold for a
whole listing are made once for all its variants.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from decimal import Decimal
from itertools import chain, repeat
from typing import Any, Final, TypeVar, cast

from listkit.fields import Fact, ListingField, OfferField
from listkit.listing.cells import WORDED, Cell, all_guarded, cell_of, guarded, money_digits, plain_cell, text_cell
from listkit.listing.columns import FeedColumn, fact, feed_columns
from listkit.listing.listings import Listing, Offer
from listkit.listing.templates import Template
from listkit.listing.titles import fold
from listkit.model.channel import Channel, Dialect
from listkit.units.money import Money
from listkit.units.weight import Weight

__all__ = [
    "FeedColumn",
    "Row",
    "dialect_cells",
    "feed_columns",
    "feed_prices",
    "feed_rows",
    "feed_sources",
    "prices_of",
    "row_offers",
    "rows_from",
    "rows_of",
    "sorted_rows",
    "unsorted",
    "whole_set",
]

Source = TypeVar("Source")
Offers = tuple[Offer, ...]
Rows = tuple[Listing, Offers]
"""A listing and the offers that are its rows, one after the other."""
_Row = tuple[Listing, Offer]
_Key = Callable[[_Row], tuple[bool, Any]]
_Strip = Callable[[Offers], Iterable[str]]
"""Returns the cells of one column, an offer each."""
_STRIP: Final = 512  # offers at a time, so that a large set takes no more memory than a small one
Row = tuple[str, ...]
CellOf = Callable[[FeedColumn], Cell]
"""Returns what writes the values of a column, for one syntax."""
PRICES: Final = frozenset({"price", "lowestPrice", "highestPrice", "suggestedRetail"})
# What stands between the members of a family in one cell, "; " where they may hold commas. Our own choice.
BETWEEN: Final = {"keywords": ", ", "itemCodes": ", ", "cautions": " "}


def feed_rows(channel: Channel, listings: tuple[Listing, ...], columns: tuple[FeedColumn, ...]) -> Iterator[Row]:
    """Yield the rows of the channel's listings in its dialect and order, without the header.

    Raises:
        FieldError: a template fails on a row; the check of feeds tells so earlier.
    """
    return rows_from(feed_sources(channel, listings, columns), columns, dialect_cells(channel.dialect))


def feed_sources(channel: Channel, listings: tuple[Listing, ...], columns: tuple[FeedColumn, ...]) -> Iterator[Rows]:
    """Yield what the channel's rows are of, in their order."""
    together = channel.rows == "listing, then variants" or any(column.once for column in columns)
    return sorted_rows(unsorted(listings, channel.rows), channel.sort, together=together)


def unsorted(listings: tuple[Listing, ...], rows: str) -> Iterator[Rows]:
    """Yield each listing with the offers that are its rows, as the sets lie in the shop."""
    return ((listing, row_offers(listing, rows)) for listing in listings)


def rows_of(
    listings: tuple[Listing, ...], columns: tuple[FeedColumn, ...], cell: CellOf, *, rows: str
) -> Iterator[Row]:
    """Yield a row an offer (see `row_offers`), as the sets lie in the shop; see `rows_from`."""
    return rows_from(unsorted(listings, rows), columns, cell)


def rows_from(sources: Iterable[Rows], columns: tuple[FeedColumn, ...], cell: CellOf) -> Iterator[Row]:
    """Yield a row an offer, its cells written by `cell`; cells of `once` columns are empty in later rows.

    Cells are made a column at a time, for a strip of offers, which costs less than a row at a time.
    """
    drawings = tuple(_drawing(column, cell(column)) for column in columns)
    for listing, offers in sources:
        drawn = [draw(listing) for draw in drawings] if offers else []
        for start in range(0, len(offers), _STRIP):
            strip = offers[start : start + _STRIP]
            yield from zip(*[cells(strip) for cells in drawn], strict=True) if drawn else repeat((), len(strip))


def row_offers(listing: Listing, rows: str) -> tuple[Offer, ...]:
    """Return what the listing has rows for, under the channel's word for it; nothing for a listing without offers.

    A set without choices is one row either way: its variant is the set.
    """
    if rows == "variant" or not listing.slots or not listing.offers:
        return listing.offers
    whole = whole_set(listing)
    if rows != "listing":
        return whole, *listing.offers
    all_options = tuple("; ".join(option.says for option in slot.options) for slot in listing.slots)
    return (replace(whole, choices=all_options),)


def whole_set(listing: Listing) -> Offer:
    """Return the set as one offer: its code, title and photos, nothing chosen, no GTIN.

    All figures but its stock are those of one variant, which it names: the cheapest that can be bought, of equals the
    one that most can be sold of. Its stock is the sum over all variants, but no more than their shared parts make;
    unknown where one of them is not counted.
    """
    cheapest = min(
        listing.buyable,
        key=lambda offer: (offer.price.amount, float("-inf") if offer.stock is None else -offer.stock),
    )
    counts = [offer.stock for offer in listing.offers]
    known = [count for count in counts if count is not None]
    total = sum(known) if listing.most is None else min(sum(known), listing.most)
    return replace(
        cheapest,
        variant=replace(cheapest.variant, code=listing.facts.code, gtin="", choices=()),
        name=listing.title,
        choices=(),
        images=tuple(photo.main.address for photo in listing.photos if photo.main),
        stock=total if len(known) == len(counts) else None,
        figures_of=cheapest.variant.code,
    )


def prices_of(listings: tuple[Listing, ...], rows: str) -> tuple[str, ...]:
    """Return the price of every row as text, as the sets lie in the shop."""
    return _prices(unsorted(listings, rows))


def feed_prices(channel: Channel, listings: tuple[Listing, ...], columns: tuple[FeedColumn, ...]) -> tuple[str, ...]:
    """Return the price of every row as text, in row order; "" for each where no column tells a price."""
    prices = _prices(feed_sources(channel, listings, columns))
    return prices if any(map(_tells_price, columns)) else ("",) * len(prices)


def _prices(sources: Iterable[Rows]) -> tuple[str, ...]:
    return tuple([money_digits(offer.variant.prices.price) for _, offers in sources for offer in offers])


def _tells_price(column: FeedColumn) -> bool:
    names = column.template.names if column.template else (column.field.name,) if column.field else ()
    return not PRICES.isdisjoint(names)


def dialect_cells(dialect: Dialect) -> CellOf:
    """Return what writes cells in the dialect."""

    def cell(column: FeedColumn) -> Cell:
        if column.whole_family and column.field:
            theirs, between = column.theirs, BETWEEN.get(column.field.name, "; ")
            finish = text_cell(dialect)
            if not theirs:
                return lambda values: finish(between.join(values))
            return lambda values: finish(between.join([theirs.get(str(value), str(value)) for value in values]))
        if column.mapped:
            return _mapped_cell(column, dialect)
        return cell_of(column.kind, dialect, column.unit)

    return cell


def _mapped_cell(column: FeedColumn, dialect: Dialect) -> Cell:
    """Return what writes a column with words of the channel's; those are text, and figures without one stay figures."""
    plain, theirs = plain_cell(column.kind, dialect, column.unit), column.theirs
    finish = text_cell(dialect)
    unmapped = finish if column.kind in WORDED else str

    def cell(value: Any) -> str:  # noqa: ANN401 (a fact of any kind)
        text = plain(value)
        return finish(theirs[text]) if text in theirs else unmapped(text)

    return cell


def sorted_rows(rows: Iterable[Rows], sort: tuple[str, ...], *, together: bool) -> Iterator[Rows]:
    """Yield the rows sorted by fields, "-price" from high to low; without `together` each by itself.

    `together` keeps a listing's rows beside each other, a row of the whole set first; its first variant says where
    the listing comes. What is not known comes last, and equal rows keep their order.

    Raises:
        FieldError: there is no such field; the check of feeds tells so earlier.
    """
    keys = [_sort_key(name) for name in sort]
    if not keys:
        yield from rows
    elif together:
        listings = [(listing, _sorted_offers(listing, offers, keys)) for listing, offers in rows if offers]
        for key, high_first in reversed(keys):
            listings.sort(key=lambda row: key((row[0], row[1][1 if _whole_set_first(*row) else 0])), reverse=high_first)
        yield from listings
    else:
        single = [(listing, offer) for listing, offers in rows for offer in offers]
        for key, high_first in reversed(keys):
            single.sort(key=key, reverse=high_first)
        yield from ((listing, (offer,)) for listing, offer in single)


def _sorted_offers(listing: Listing, offers: tuple[Offer, ...], keys: list[tuple[_Key, bool]]) -> tuple[Offer, ...]:
    whole = offers[:1] if _whole_set_first(listing, offers) else ()
    rows = [(listing, offer) for offer in offers[len(whole) :]]
    for key, high_first in reversed(keys):
        rows.sort(key=key, reverse=high_first)
    return (*whole, *[offer for _, offer in rows])


def _whole_set_first(listing: Listing, offers: tuple[Offer, ...]) -> bool:
    """Whether the first row is of the whole set, and variants follow."""
    return len(offers) > 1 and bool(listing.slots) and not offers[0].choices


def _sort_key(name: str) -> tuple[_Key, bool]:
    """Return what a row is sorted by, and whether from high to low; a known value always before an unknown one."""
    high_first = name.startswith("-")
    field, number = fact(name.removeprefix("-"))

    def key(row: _Row) -> tuple[bool, Any]:
        value: Any = field.get(row[1]) if isinstance(field, OfferField) else field.get(row[0])
        if number:
            value = value[number - 1] if len(value) >= number else ""
        known = value not in (None, "", ())
        return known is high_first, _comparable(value) if known else 0

    return key, high_first


def _comparable(value: object) -> object:
    """Return what stands for a value in comparisons: letters without case and marks first, then as written."""
    if isinstance(value, str):
        return fold(value), value
    if isinstance(value, tuple):
        return tuple(_comparable(part) for part in value)
    if isinstance(value, Money):
        return value.amount
    return value.grams if isinstance(value, Weight) else cast("Decimal | int", value)


def _drawing(column: FeedColumn, write: Cell) -> Callable[[Listing], _Strip]:
    """Return what draws up a column for one listing after the other; what holds for a whole listing is made once."""
    if not column.by_offer:
        cells = _fixed(_fixed_cell(column, write))
    elif column.template is not None:
        cells = _templated(column.template, write)
    else:
        assert isinstance(column.field, OfferField)
        cells = _alike(_plain(column.field.get, write, column.number))
    return _once(cells) if column.once else cells


def _alike(strip: _Strip) -> Callable[[Listing], _Strip]:
    """Return what draws up the same for every listing."""
    return lambda _: strip


def _fixed(cell: Callable[[Listing], str]) -> Callable[[Listing], _Strip]:
    def draw(listing: Listing) -> _Strip:
        text = cell(listing)
        return lambda offers: repeat(text, len(offers))

    return draw


def _once(draw: Callable[[Listing], _Strip]) -> Callable[[Listing], _Strip]:
    """Return what draws up the listing's first cell and leaves the others empty."""

    def first_alone(listing: Listing) -> _Strip:
        cells, written = draw(listing), False

        def strip(offers: Offers) -> Iterable[str]:
            nonlocal written
            first = [] if written else list(cells(offers[:1]))
            written = True
            return chain(first, repeat("", len(offers) - len(first)))

        return strip

    return first_alone


def _plain(get: Callable[[Offer], Any], write: Cell, number: int) -> _Strip:
    """Return what writes the cells of a field; with a number one member of a family, "" where there are not so many.

    Texts that need nothing done to them pass no function: those that are kept as they are, and those that are made safe
    where none of a strip begins like a formula.
    """
    if number:
        at = number - 1
        return lambda offers: [write(all_[at]) if len(all_) >= number else "" for all_ in map(get, offers)]
    if write is str:
        return lambda offers: map(get, offers)
    if write is guarded:
        return lambda offers: all_guarded(list(map(get, offers)))
    return lambda offers: map(write, map(get, offers))


def _fixed_cell(column: FeedColumn, write: Cell) -> Callable[[Listing], str]:
    """Return what writes a cell that holds for a whole listing."""
    if column.template is not None:
        template, (names, _) = column.template, _getters(column.template.names)
        return lambda listing: write(template.render({name: get(listing) for name, get in names}))
    if not isinstance(column.field, ListingField):
        return lambda _: write(column.words)
    get, write = column.field.get, _member(write, column.number)
    return lambda listing: write(get(listing))


def _templated(template: Template, write: Cell) -> Callable[[Listing], _Strip]:
    """Return what draws up a template; the listing's own facts are read once."""
    by_listing, by_offer = _getters(template.names)

    def draw(listing: Listing) -> _Strip:
        names = {name: get(listing) for name, get in by_listing}

        def cell(offer: Offer) -> str:
            for name, get in by_offer:
                names[name] = get(offer)
            return write(template.render(names))

        return lambda offers: map(cell, offers)

    return draw


_Getters = list[tuple[str, Callable[[Source], object]]]


def _getters(names: tuple[str, ...]) -> tuple[_Getters[Listing], _Getters[Offer]]:
    """Return the names of a template with what reads their values: of a listing, and of an offer."""
    by_listing: _Getters[Listing] = []
    by_offer: _Getters[Offer] = []
    for name in names:
        field, number = fact(name)
        if isinstance(field, OfferField):
            by_offer.append((name, _reading(field, number)))
        else:
            by_listing.append((name, _reading(field, number)))
    return by_listing, by_offer


def _reading(field: Fact[Source], number: int) -> Callable[[Source], object]:
    """Return what reads a fact, or one member of a family: "" where there are not so many."""
    get = cast("Callable[[Source], tuple[object, ...]]", field.get)
    return (lambda source: values[number - 1] if len(values := get(source)) >= number else "") if number else field.get


def _member(write: Cell, number: int) -> Cell:
    """Return what writes one member of a family; an empty cell where there are not so many."""
    if not number:
        return write
    return lambda values: write(values[number - 1]) if len(values) >= number else ""
