"""Tests of how a row is named.

Our own wording: no source.
"""

from listkit.check.feeds import row_name
from listkit.listing.rows import unsorted
from tests.write.two_sets import channel, own


def test_a_row_is_named_by_number_code_and_set() -> None:
    listings = own(channel()) * 1000
    assert row_name(5, unsorted(listings, "variant")) == "row 5 (OHS-2, One Bar)"
    assert row_name(1734, unsorted(listings, "variant")) == "row 1,734 (OHS-1-M03-L02, First Nectar)"
    assert row_name(1, unsorted(listings, "listing, then variants")) == "row 1 (OHS-1, First Nectar)"
    assert row_name(9, unsorted((), "variant")) == "row 9"
