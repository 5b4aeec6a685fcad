"""Tests of JSON as text: the canonical form of RFC 8785, and a reader that lets nothing pass."""

import json
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.write.json_text import canonical, document_fault, number, read_strictly, readable

rfc8785 = pytest.importorskip("rfc8785", reason="rfc8785 is not installed: canonical JSON is not compared")

TEXT = st.text(st.characters(exclude_categories=["Cs"]))
NAMES = st.text(st.characters(codec="ascii"))
FIGURES = st.integers(-(2**53) + 1, 2**53 - 1) | st.decimals(0, 10**9, places=3).map(lambda one: number(one, 3))
VALUES = st.recursive(
    st.none() | st.booleans() | TEXT | FIGURES,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(NAMES, inner, max_size=4),
    max_leaves=12,
)


@given(VALUES)
def test_the_canonical_form_is_that_of_rfc_8785(value: object) -> None:
    """RFC 8785 by the package rfc8785, for all that we put in: ASCII names, figures of a scale or ruler, any text."""
    assert canonical(value).encode() == rfc8785.dumps(value)


def test_signs_are_escaped_as_rfc_8785_3_2_2_2_says() -> None:
    assert canonical('\b\t\n\f\r"\\/\x0f\x7f€\u2028') == '"\\b\\t\\n\\f\\r\\"\\\\/\\u000f\x7f€\u2028"'


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [("507", 1, "507"), ("507.0", 1, "507"), ("507.05", 1, "507.1"), ("0.36125", 4, "0.3613"), ("1000", 1, "1000")],
)
def test_a_number_has_no_digit_more_than_asked_for(value: str, places: int, text: str) -> None:
    assert json.dumps(number(Decimal(value), places)) == text


@given(st.decimals(0, 10**9, places=6), st.integers(0, 4))
def test_a_number_reads_back_as_the_decimal_it_was(value: Decimal, places: int) -> None:
    found = Decimal(json.dumps(number(value, places)))
    assert abs(found - value) * 2 <= Decimal(1).scaleb(-places)
    assert found == round(found, places)


@pytest.mark.parametrize(
    "text", ['{"a": 1, "a": 1}', "NaN", "-Infinity", '{"a": 1} x', "", '{"a": [{"b": 1, "b": 2}]}']
)
def test_what_is_no_json_or_has_a_name_twice_is_refused(text: str) -> None:
    """RFC 8259, section 4: names within an object should be unique; section 6: no NaN."""
    with pytest.raises(ValueError, match=r"twice|no number|Expecting|Extra data"):
        read_strictly(text)


def test_a_document_is_compared_with_what_it_should_hold(tmp_path: Path) -> None:
    path = tmp_path / "a.json"
    path.write_text(readable({"a": "é"}), encoding="utf-8", newline="")
    assert document_fault(path, {"a": "é"}) == ""
    assert document_fault(path, {"a": "e"}) == "it does not hold what was asked for."
    path.write_text('{"a": "é"}', encoding="utf-8")
    assert document_fault(path, {"a": "é"}) == "it is not written as it should be."
    path.write_bytes(b'{"a": "\xff"}')
    assert document_fault(path, {"a": "é"}).startswith("it is no JSON: ")
