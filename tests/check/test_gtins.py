"""Which GTINs are for use inside alone, against a library that was written by others."""

import pytest
from biip.gtin import Gtin, GtinFormat
from biip.rcn import Rcn
from hypothesis import assume, given
from hypothesis import strategies as st

from listkit.check.codes import internal
from listkit.units.identifiers import gtin_check_digit, in_fourteen
from tests.check.found import told
from tests.small_shop import gift_set, item, shop


@given(st.sampled_from(["", "0"]), st.integers(0, 999), st.text("0123456789", min_size=9, max_size=9))
def test_internal_numbers_are_those_that_biip_calls_restricted(zero: str, prefix: int, rest: str) -> None:
    body = f"{prefix:03}{rest}"
    text = zero + body + gtin_check_digit(body)
    assume(not in_fourteen(text).startswith("000000"))  # a GTIN-8 by its zeros, whose prefix stands elsewhere
    assert internal(text) == isinstance(Gtin.parse(text), Rcn)


@pytest.mark.parametrize(("body", "expected"), [("0123456", True), ("2012345", True), ("9638507", False)])
def test_a_gtin_8_is_internal_by_its_own_prefix(body: str, expected: bool) -> None:
    """GS1 General Specifications: RCN-8 begin with 0 or 2; from memory."""
    text = body + gtin_check_digit(body)
    assert Gtin.parse(text).format is GtinFormat.GTIN_8
    assert internal(text) is expected
    assert internal(text.zfill(14)) is expected


def test_a_twelve_digit_number_that_lost_its_zero_is_looked_at_beside_its_neighbours() -> None:
    """0614141000036 and 614141000036 have one check digit: weights count from the right (GS1 7.9, from memory)."""
    neighbours = [item("A-1", gtin="9520000010010"), item("A-2", gtin="9520000010027")]
    contents = [{"item": code} for code in ("A-1", "A-2", "A-3")]
    lost, whole = (item("A-3", gtin=gtin) for gtin in ("614141000036", "0614141000036"))
    assert told("gtin-wrong", shop([*neighbours, lost], [gift_set(contents)])) == [
        "Look at · items.csv, row A-3, column gtin: 614141000036 has 12 digits, and the other 2 GTINs have 13. "
        'If a spreadsheet took its zero, write "0614141000036"; both are the same number.'
    ]
    assert told("gtin-wrong", shop([*neighbours, whole], [gift_set(contents)])) == []
    upcs = [item("A-1", gtin="036000291452"), item("A-2", gtin="012345678905"), lost]
    assert told("gtin-wrong", shop(upcs, [gift_set(contents)])) == []
