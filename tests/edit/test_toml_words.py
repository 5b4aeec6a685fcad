"""Texts from outside stand safely in our TOML templates."""

import tomllib

import jinja2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.edit.files import filled_in, quoted, remark


@given(st.text())
def test_a_quoted_text_comes_back_from_tomllib(text: str) -> None:
    assert tomllib.loads(f"key = {quoted(text)}\n{quoted(text)} = 1\n")["key"] == text


@given(st.text(), st.text())
def test_a_remark_never_leaves_its_line(text: str, other: str) -> None:
    template = "a = 1 # {{ one | remark }}\nb = {{ two | quoted }}\n"
    assert tomllib.loads(filled_in(template, {"one": text, "two": other}).decode()) == {"a": 1, "b": other}


def test_a_long_remark_is_cut() -> None:
    assert remark("x" * 500) == "x" * 199 + "…"
    assert remark(" a\n\tb\u2028c ") == "a b c"


def test_a_name_that_a_template_has_not_is_a_mistake_of_ours() -> None:
    with pytest.raises(jinja2.UndefinedError):
        filled_in("{{ nobody }}", {})
