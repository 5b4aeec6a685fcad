"""Names a row of a data file as an owner finds it: its number below the header, its code, its set."""

from collections.abc import Iterable
from itertools import chain, islice

from listkit.listing.sorting import Rows


def row_name(number: int, sources: Iterable[Rows]) -> str:
    """Return "row 1,734 (OHS-2-U01, Potting Bench)" for the row of that number, counted from 1."""
    rows = chain.from_iterable(((listing, offer) for offer in offers) for listing, offers in sources)
    found = next(islice(rows, number - 1, None), None)
    if found is None:
        return f"row {number:,}"
    listing, offer = found
    return f"row {number:,} ({offer.variant.code}, {listing.facts.name})"
