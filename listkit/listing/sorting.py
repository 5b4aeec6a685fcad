"""The order of rows: as the sets lie in the shop, or by fields that the channel sorts by.

Rows of one listing stay together where cells stand once a listing or the set has a row of its own; its first row then
says where the listing comes. What is not known comes last, and equal rows keep their order.
"""

from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from operator import attrgetter
from typing import Any, cast

from listkit.listing.feed_files import fact
from listkit.listing.listings import Listing, Offer
from listkit.listing.titles import fold
from listkit.units.money import Money
from listkit.units.weight import Weight

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
