"""Values in messages: quoted so that their own quotes and unseen signs do not mislead."""

import ast
from pathlib import Path

import pytest
from pydantic import TypeAdapter, ValidationError

import listkit
from listkit.model.fields import Code
from listkit.present.changes import Section, as_text
from listkit.present.table import table
from listkit.problem import FieldError, Place, quoted
from listkit.units.money import Money

ROOMS = ("units", "model", "compute", "cli")


def test_a_value_with_quotes_stands_in_single_ones() -> None:
    with pytest.raises(ValidationError, match="'\"OH-B01\"' is not a code"):
        TypeAdapter(Code).validate_python('"OH-B01"')
    with pytest.raises(FieldError, match=r"'\"4\.50\"' is not"):
        Money.parse('"4.50"', "GBP")


@pytest.mark.parametrize("sign", "\u200b\u2060\ufeff\u061c\u200e\u200f\u202e\u2066\u2028\x1b\x85")
def test_a_sign_that_nobody_sees_is_shown(sign: str) -> None:
    assert sign not in quoted(f"OH{sign}-B01")
    assert len(quoted(f"OH{sign}-B01")) == len('"OH?-B01"')


@pytest.mark.parametrize("room", ROOMS)
def test_no_message_puts_quotes_around_a_value_by_itself(room: str) -> None:
    found = []
    for path in sorted(Path(listkit.__file__).with_name(room).rglob("*.py")):
        for text in (node for node in ast.walk(ast.parse(path.read_text("utf-8"))) if isinstance(node, ast.JoinedStr)):
            for before, value, after in zip(text.values, text.values[1:], text.values[2:], strict=False):
                if isinstance(value, ast.FormattedValue) and _ends(before, '"') and _begins(after, '"'):
                    found.append(f"{path.name}:{value.lineno}")
    assert found == []


def _ends(part: ast.expr, mark: str) -> bool:
    return isinstance(part, ast.Constant) and str(part.value).endswith(mark)


def _begins(part: ast.expr, mark: str) -> bool:
    return isinstance(part, ast.Constant) and str(part.value).startswith(mark)


def test_a_row_is_named_so_that_unseen_signs_in_its_code_are_seen() -> None:
    assert str(Place("items.csv", row="OH\u200b-B01\u202e", column="c\x1bode")) == (
        "items.csv, row OH\ufffd-B01\ufffd, column c␛ode"
    )


def test_a_table_on_a_screen_or_in_a_pipe_shows_unseen_signs() -> None:
    assert table([["code", "name"], ["OH\u202e-B01", "So\u200bap"]]).splitlines()[1] == "OH\ufffd-B01  So\ufffdap"
    assert "OH\ufffd-B01" in as_text([Section("New", ("OH\u202e-B01 is new.",))])
