"""Tests of the nearest characters that an encoding has."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.listing.cells import nearest


@pytest.mark.parametrize(
    ("text", "instead"),
    [
        ("Café – “5 €” ½ ×", "Café – “5 €” ½ ×"),
        ("Cafe\u0301", "Café"),
        ("Ħobż, Łódź, Škoda", "Hobz, Lódz, Škoda"),
        ("a → b ≤ c", "a -> b <= c"),
        ("no\u2009break\u202fspaces\u200b", "no break\u00a0spaces"),
        ("ﬁn", "fin"),
        ("Мыло", "Mylo"),
        ("bee 🐝", "bee 🐝"),
    ],
)
def test_what_windows_1252_has_not_becomes_what_is_nearest(text: str, instead: str) -> None:
    """The signs of windows-1252 are those of the code page as the WHATWG Encoding Standard indexes it."""
    assert nearest(text, "cp1252") == instead


@given(st.text(alphabet=st.characters(codec="cp1252")))
def test_what_the_encoding_has_is_left_alone(text: str) -> None:
    assert nearest(text, "cp1252") == text


@given(st.text())
def test_only_what_has_no_likeness_is_left_that_the_encoding_has_not(text: str) -> None:
    once = nearest(text, "cp1252")
    assert nearest(once, "cp1252") == once
    for sign in once:
        assert sign.encode("cp1252", "ignore") or nearest(sign, "cp1252") == sign
