"""TOML texts within bounds: what the standard reader itself cannot bear is refused in its own way."""

import tomllib
from decimal import Decimal

import pytest

from listkit.bounded_toml import BEYOND, TOO_DEEP, parse_bounded


def test_a_plain_document_reads_as_the_standard_reader_reads_it() -> None:
    text = 'name = "a. b. c."\n[one.two]\nlist = [[1, 2], [3.5]]\n'
    assert parse_bounded(text) == tomllib.loads(text)
    assert parse_bounded("a = 24.10", Decimal) == {"a": Decimal("24.10")}


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("a = " + "[" * 5000 + "]" * 5000, BEYOND),
        ("a = " + "[" * 150 + "]" * 150, BEYOND),
        ("a = " + "9" * 5000, BEYOND),
        ("a = 0x" + "f" * 5000, BEYOND),
        ("a = [{ b = [0b" + "1" * 20_000 + "] }]", BEYOND),
        ("[[a]]\n-b = 0o" + "7" * 5000, BEYOND),
        ("[[a]]\n" * 200_000, BEYOND),
        ("a." * 10_000 + "a = 1", TOO_DEEP),
        ("a." * 150 + "a = 1", BEYOND),
        ("[" + "a." * 200 + "a]", TOO_DEEP),
    ],
)
def test_what_would_end_a_program_is_refused_as_no_toml(text: str, told: str) -> None:
    with pytest.raises(tomllib.TOMLDecodeError, match=told):
        parse_bounded(text)


def test_what_is_no_toml_is_told_in_the_readers_own_words() -> None:
    with pytest.raises(tomllib.TOMLDecodeError, match="line 1"):
        parse_bounded("a = \nb = 1")


def test_a_list_of_a_million_is_refused_before_it_is_read(monkeypatch: pytest.MonkeyPatch) -> None:
    """A command reads a file some six times, and went through 900,000 values in 10 s."""
    monkeypatch.setattr(tomllib, "loads", lambda *_, **__: pytest.fail("it was read"))
    with pytest.raises(tomllib.TOMLDecodeError, match=BEYOND):
        parse_bounded("a = [" + "1," * 900_000 + "]")
