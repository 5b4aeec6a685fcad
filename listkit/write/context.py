"""What every writer is told beside the listings (here, because beside WRITERS it would make a cycle)."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import islice

from listkit.compute.given_out import PreviousSheet
from listkit.listing.listings import Listing
from listkit.problem import Problem
from listkit.save.job import key_of


@dataclass(frozen=True, slots=True)
class OwnersNotes:
    """All problems of the shop, and the names of sets that are not published: drafts, to be mended, left out once.

    `to_mend` are listings of sets to be mended that can be shown as they would be; these are not among the `broken`.
    """

    problems: tuple[Problem, ...] = ()
    to_mend: tuple[Listing, ...] = ()
    drafts: tuple[str, ...] = ()
    broken: tuple[str, ...] = ()
    without: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class WriteContext:
    """`version` is listkit's own: it is part of every key, so a new version makes every file again.

    `previous` is the line sheet that was given out before this one, where one is known. `notes` are what the owner
    is to see beside her goods; without them there is no proof.
    """

    version: str
    previous: PreviousSheet | None = None
    notes: OwnersNotes | None = None


# Keys and codes of files that are written row by row: no file is ever held as a whole.

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
