"""Which GTINs are for use inside alone, against a library that was written by others."""

import pytest
from biip.gtin import Gtin, GtinFormat
from biip.rcn import Rcn
from hypothesis import assume, given
from hypothesis import strategies as st

from listkit.check.codes import internal
from listkit.units.identifiers import gtin_check_digit, in_fourteen


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
