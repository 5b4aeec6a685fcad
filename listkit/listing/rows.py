"""Rows of a feed: exactly the cells that will be written.

A channel's rows are its variants, its sets, or each set and then its variants; a set's own row has its
code, its title and its lowest price. Rows are made one at a time, so a large shop takes no
more memory than a small one: cells that hold for a whole listing are made once for all its variants.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from operator import attrgetter, itemgetter
from typing import Any, Final, cast

from listkit.fields import Field, Kind
from listkit.listing.cells import Cell, cell_of, money_digits, plain_cell, text_cell
from listkit.listing.columns import FeedColumn, fact, feed_columns, is_by_offer
from listkit.listing.listings import Listing, Offer
from listkit.listing.titles import fold
from listkit.model.channel import Channel, Dialect
from listkit.units.money import Money
from listkit.units.weight import Weight

# The order of rows: as the sets lie in the shop, or by fields that the channel sorts by.
#
# Rows of one listing stay together where cells stand once a listing or the set has a row of its own; its first row
# then
# says where the listing comes. What is not known comes last, and equal rows keep their order.

Rows = tuple[Listing, tuple[Offer, ...]]
"""A listing and the offers that are its rows, one after the other."""
_Row = tuple[Listing, Offer]
_Key = Callable[[_Row], tuple[bool, Any]]


def sorted_rows(rows: Iterable[Rows], sort: tuple[str, ...], *, together: bool) -> Iterator[Rows]:
    """Yield the rows sorted by fields, "-price" from high to low; without `together` each by itself.

    `together` keeps a listing's rows beside each other, a row of the whole set first.

    Raises:
        FieldError: there is no such field; the check of feeds tells so earlier.
    """
    keys = [_key(name) for name in sort]
    if not keys:
        yield from rows
    elif together:
        listings = [(listing, _sorted_offers(listing, offers, keys)) for listing, offers in rows if offers]
        for key, high_first in reversed(keys):
            listings.sort(key=lambda one: key((one[0], _leading(one))), reverse=high_first)
        yield from listings
    else:
        single = [(listing, offer) for listing, offers in rows for offer in offers]
        for key, high_first in reversed(keys):
            single.sort(key=key, reverse=high_first)
        yield from ((listing, (offer,)) for listing, offer in single)


def _sorted_offers(listing: Listing, offers: tuple[Offer, ...], keys: list[tuple[_Key, bool]]) -> tuple[Offer, ...]:
    whole = offers[:1] if _is_whole(listing, offers[0]) and len(offers) > 1 else ()
    rows = [(listing, offer) for offer in offers[len(whole) :]]
    for key, high_first in reversed(keys):
        rows.sort(key=key, reverse=high_first)
    return (*whole, *[offer for _, offer in rows])


def _leading(rows: Rows) -> Offer:
    """Return the offer that decides where a listing comes: the first of its variants."""
    listing, offers = rows
    return offers[1] if len(offers) > 1 and _is_whole(listing, offers[0]) else offers[0]


def _is_whole(listing: Listing, offer: Offer) -> bool:
    return bool(listing.slots) and not offer.choices


def _key(name: str) -> tuple[_Key, bool]:
    """Return what a row is sorted by, and whether from high to low; a known value always before an unknown one."""
    high_first = name.startswith("-")
    field, number = fact(name.removeprefix("-"))
    of_offer = field.source.startswith("offer.")
    get = attrgetter(field.source.partition(".")[2])

    def key(row: _Row) -> tuple[bool, Any]:
        value = get(row[1] if of_offer else row[0])
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
]

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
    """Yield a row an offer, its cells written by `cell`; cells of `once` columns are empty in later rows."""
    plan = _plan(columns, cell)
    for listing, offers in sources:
        fixed = (*[make(listing) for make in plan.fixed], "") if offers else ()
        drawn = [draw(listing) for draw in plan.drawn]
        pick = plan.first
        for offer in offers:
            own = [write(value) for write, value in zip(plan.writes, plan.values(offer), strict=True)]
            yield pick((*fixed, *own, *[draw(offer) for draw in drawn]))
            pick = plan.later


def row_offers(listing: Listing, rows: str) -> tuple[Offer, ...]:
    """Return what the listing has rows for, under the channel's word for it; nothing for a listing without offers.

    A set without choices is one row either way: its variant is the set.
    """
    if rows == "variant" or not listing.slots or not listing.offers:
        return listing.offers
    whole = whole_set(listing)
    return (replace(whole, choices=_all_options(listing)),) if rows == "listing" else (whole, *listing.offers)


def _all_options(listing: Listing) -> tuple[str, ...]:
    """Return for each slot all its options in one: what the buyer may choose, where the set is one row."""
    return tuple("; ".join(option.says for option in slot.options) for slot in listing.slots)


def whole_set(listing: Listing) -> Offer:
    """Return the set as one offer: its code, title and photos, nothing chosen, no GTIN.

    The figures are those of its cheapest variant. In stock is as many as of the variant that most can be sold of: so
    many of the set can be sold for certain.
    """
    cheapest = min(listing.offers, key=lambda offer: offer.variant.prices.price.amount)
    most = max(listing.offers, key=lambda offer: float("inf") if offer.stock is None else offer.stock)
    return replace(
        cheapest,
        variant=replace(cheapest.variant, code=listing.facts.code, gtin="", choices=()),
        name=listing.title,
        choices=(),
        images=tuple(photo.pictures[0].address for photo in listing.photos if photo.pictures),
        stock=most.stock,
        availability=most.availability,
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
            members, between = _mapped(str, column), BETWEEN.get(column.field.name, "; ")
            finish = text_cell(dialect)
            return lambda values: finish(between.join([members(value) for value in values]))
        if column.mapped:
            return _mapped_cell(column, dialect)
        return cell_of(column.kind, dialect, column.unit)

    return cell


def _mapped(cell: Cell, column: FeedColumn) -> Cell:
    """Return the cell that says in the channel's words what it has a word of its own for."""
    theirs = column.mapped or {}
    return (lambda value: theirs.get(text := cell(value), text)) if theirs else cell


def _mapped_cell(column: FeedColumn, dialect: Dialect) -> Cell:
    """Return what writes a column with words of the channel's; those are text, and figures without one stay figures."""
    plain, theirs = plain_cell(column.kind, dialect, column.unit), column.mapped or {}
    finish = text_cell(dialect)
    unmapped = finish if column.kind is Kind.TEXT else str

    def cell(value: Any) -> str:  # noqa: ANN401 (a fact of any kind)
        text = plain(value)
        return finish(theirs[text]) if text in theirs else unmapped(text)

    return cell


@dataclass(frozen=True, slots=True)
class _Plan:
    """Columns taken apart: what is made once a listing, what once an offer, and how the cells come into order."""

    fixed: tuple[Callable[[Listing], str], ...]
    values: Callable[[Offer], tuple[Any, ...]]
    writes: tuple[Cell, ...]
    drawn: tuple[Callable[[Listing], Callable[[Offer], str]], ...]
    first: Callable[[Row], Row]
    later: Callable[[Row], Row]


def _plan(columns: tuple[FeedColumn, ...], cell: CellOf) -> _Plan:
    fixed = [column for column in columns if not column.by_offer]
    plain = [column for column in columns if column.by_offer and column.field]
    drawn = [column for column in columns if column.by_offer and column.template]
    order = {id(column): at for at, column in enumerate((*fixed, None, *plain, *drawn))}
    places = [order[id(column)] for column in columns]
    blank = len(fixed)
    return _Plan(
        tuple(_fixed_cell(column, cell(column)) for column in fixed),
        _getter(tuple(cast("Field", column.field).source.removeprefix("offer.") for column in plain)),
        tuple(_member(cell(column), column.number) for column in plain),
        tuple(_drawn_cell(column, cell(column)) for column in drawn),
        _picker(places),
        _picker([blank if column.once else place for column, place in zip(columns, places, strict=True)]),
    )


def _fixed_cell(column: FeedColumn, write: Cell) -> Callable[[Listing], str]:
    """Return what writes a cell that holds for a whole listing."""
    if column.template is not None:
        template, names = column.template, _named(column.template.names)
        return lambda listing: write(template.render({name: get(listing) for name, get in names}))
    if column.field is None:
        return lambda _: write(column.words)
    get, write = attrgetter(column.field.source.removeprefix("listing.")), _member(write, column.number)
    return lambda listing: write(get(listing))


def _drawn_cell(column: FeedColumn, write: Cell) -> Callable[[Listing], Callable[[Offer], str]]:
    """Return what draws up a template for one listing after the other; the listing's own facts are reached for once."""
    assert column.template is not None
    template = column.template
    by_listing = _named(tuple(name for name in template.names if not is_by_offer(fact(name)[0])))
    by_offer = _named(tuple(name for name in template.names if is_by_offer(fact(name)[0])))

    def draw(listing: Listing) -> Callable[[Offer], str]:
        names = {name: get(listing) for name, get in by_listing}

        def cell(offer: Offer) -> str:
            for name, get in by_offer:
                names[name] = get(offer)
            return write(template.render(names))

        return cell

    return draw


def _named(names: tuple[str, ...]) -> tuple[tuple[str, Callable[[Any], object]], ...]:
    """Return each name of a template with what reaches for its value."""
    return tuple((name, _value_of(*fact(name))) for name in names)


def _value_of(field: Field, number: int) -> Callable[[Any], object]:
    get = attrgetter(field.source.partition(".")[2])
    if not number:
        return get
    return lambda source: values[number - 1] if len(values := get(source)) >= number else ""


def _member(write: Cell, number: int) -> Cell:
    """Return what writes one member of a family; an empty cell where there are not so many."""
    if not number:
        return write
    return lambda values: write(values[number - 1]) if len(values) >= number else ""


def _getter(paths: tuple[str, ...]) -> Callable[[Offer], tuple[Any, ...]]:
    """Return what reaches for several values at once; attrgetter gives a lone one bare."""
    if len(paths) > 1:
        return cast("Callable[[Offer], tuple[Any, ...]]", attrgetter(*paths))
    if not paths:
        return lambda _: ()
    get = attrgetter(paths[0])
    return lambda offer: (get(offer),)


def _picker(places: list[int]) -> Callable[[Row], Row]:
    if len(places) > 1:
        return cast("Callable[[Row], Row]", itemgetter(*places))
    return lambda cells: tuple(cells[place] for place in places)
