"""Keys and codes of files that are written row by row: no file is ever held as a whole."""

from collections.abc import Iterable, Iterator
from itertools import islice

from listkit.job import key_of
from listkit.listing.listings import Listing

_BATCH = 256  # rows


def stream_key(rows: Iterable[object], *start: object) -> str:
    """Return a key over `start` and all rows, however many there are; see `key_of`."""
    key, stream = key_of(*start), iter(rows)
    while batch := tuple(islice(stream, _BATCH)):
        key = key_of(key, batch)
    return key


def codes_of(listings: tuple[Listing, ...]) -> tuple[str, ...]:
    """Return the codes of the sets, variants and items that the listings speak of, each once, in order."""
    return tuple(dict.fromkeys(code for listing in listings for code in _codes(listing)))


def _codes(listing: Listing) -> Iterator[str]:
    yield listing.facts.code
    for offer in listing.offers:
        yield offer.variant.code
        for piece in offer.variant.pieces:
            yield piece.item.code
