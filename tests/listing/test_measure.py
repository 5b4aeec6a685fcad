"""Tests of how texts are measured."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.listing.formats import MEASURES, fitting, utf8_bytes, utf16_units


@pytest.mark.parametrize(
    ("text", "characters", "octets", "units"),
    [
        ("A", 1, 1, 1),
        ("\u00e9", 1, 2, 1),
        ("\u65e5\u672c\u8a9e", 3, 9, 3),
        ("\U000233b4", 1, 4, 2),
        ("\u2262\u0391.", 3, 6, 3),
    ],
)
def test_texts_are_as_long_as_the_standards_encode_them(text: str, characters: int, octets: int, units: int) -> None:
    """RFC 3629, section 7 (its examples in UTF-8); RFC 2781, section 2.1 (surrogate pairs above U+FFFF)."""
    assert [MEASURES[count](text) for count in ("characters", "bytes", "utf-16 units")] == [characters, octets, units]


@given(st.text())
def test_lengths_are_those_of_pythons_own_encoders(text: str) -> None:
    assert utf8_bytes(text) == len(text.encode("utf-8"))
    assert utf16_units(text) * 2 == len(text.encode("utf-16-le"))


@given(st.text(max_size=40), st.integers(0, 60), st.sampled_from(sorted(MEASURES)))
def test_what_fits_is_as_much_as_fits(text: str, most: int, count: str) -> None:
    size = MEASURES[count]
    kept = fitting(text, most, size)
    assert size(text[:kept]) <= most
    assert kept == len(text) or size(text[: kept + 1]) > most
