"""How a sample is written, found out from its bytes."""

import csv
import io
from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listkit.learn.dialect import TextForm, ValueForm, read_text, values_of
from listkit.problem import FieldError

ROWS: list[tuple[str, ...]] = [
    ("Code", "Name", "Text, long", "Price"),
    ("A-1", "Café “Été”", 'five "good" bars; and\nmore', "12,50"),
    ("A-2", "Zwölf | elf", "", "7,50"),
]
ENCODINGS = (
    ("utf-8", False, "utf-8"),
    ("utf-8", True, "utf-8-sig"),
    ("windows-1252", False, "cp1252"),
    ("utf-16", True, "utf-16"),
    ("utf-16", False, "utf-16-le"),
)


def written(rows: list[tuple[str, ...]], separator: str, quote: str, line_end: str, codec: str) -> bytes:
    """Return rows as Python's csv module and encoders write them."""
    file = io.StringIO(newline="")
    quoting: Any = csv.QUOTE_ALL if quote == "all" else csv.QUOTE_MINIMAL
    csv.writer(file, delimiter=separator, quoting=quoting, lineterminator=line_end).writerows(rows)
    return file.getvalue().encode(codec)


@pytest.mark.parametrize(
    ("separator", "quote", "line_end", "encoding"),
    list(product(",;\t|", ("needed", "all"), ("crlf", "lf"), ENCODINGS)),
)
def test_every_dialect_that_we_write_is_recognized(
    separator: str, quote: str, line_end: str, encoding: tuple[str, bool, str]
) -> None:
    name, mark, codec = encoding
    ends = {"crlf": "\r\n", "lf": "\n"}
    form, rows = read_text(written(ROWS, separator, quote, ends[line_end], codec))
    assert form == TextForm(name, mark, separator, quote, line_end)
    assert rows == tuple(ROWS)


def test_a_header_alone_is_enough() -> None:
    form, rows = read_text(b"Code;Name, short;Price\n")
    assert (form.separator, form.line_end, rows) == (";", "lf", (("Code", "Name, short", "Price"),))


def test_a_separator_that_is_stated_is_taken_at_its_word() -> None:
    form, rows = read_text(b"sep=;\r\na,b;c\r\n")
    assert (form.separator, rows) == (";", (("a,b", "c"),))


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "nothing stands in it."),
        (b"\r\n ;;; \r\n", "nothing stands in it."),
        (b"\xef\xbb\xbf", "nothing stands in it."),
        (b"a,b\x00c", "it holds the sign NUL, which no text has."),
        (b"caf\x81", "byte 4 belongs to no encoding that is known."),
        (b'a,"b\nc', "line 1: a quotation mark is not closed."),
        (b'sep=,\na,b\n1,2\n"c"d,e\n', "line 4: text stands behind a closing quotation mark."),
        (
            b'a,b\n"' + b"x" * 1_000_001,
            "line 2: a cell is longer than any text of a shop, or its quotation mark is not closed.",
        ),
    ],
)
def test_what_is_no_sample_is_told(content: bytes, told: str) -> None:
    with pytest.raises(FieldError) as fault:
        read_text(content)
    assert fault.value.message == told
    assert fault.value.hint


@pytest.mark.parametrize(
    ("cells", "decimal", "date", "sure"),
    [
        (["12,50", "7,50"], ",", "2027-02-28", True),
        (["12.50", "1,200.00"], ".", "2027-02-28", True),
        (["1.200,00", "7,5 €"], ",", "2027-02-28", True),
        (["28.02.2027", "01.03.2027"], ".", "28.02.2027", True),
        (["13/02/2027", "01/03/2027"], ".", "28/02/2027", True),
        (["02/13/2027", "01/03/2027"], ".", "02/28/2027", True),
        (["01/03/2027", "02/03/2027"], ".", "28/02/2027", False),
        (["20270228", "20270301"], ".", "20270228", True),
        (["20270228"], ".", "2027-02-28", True),
        (["2027-02-28T10:00:00Z"], ".", "2027-02-28", True),
        ([], ".", "2027-02-28", True),
    ],
)
def test_numbers_and_days_are_told_by_their_shapes(cells: list[str], decimal: str, date: str, sure: bool) -> None:
    found = values_of([cells], [])
    assert (found.decimal, found.date, found.day_sure) == (decimal, date, sure)


@pytest.mark.parametrize(
    ("cells", "answers"),
    [(["ja", "nein"], ("ja", "nein")), (["TRUE"], ("TRUE", "FALSE")), (["maybe"], ("yes", "no")), ([], ("yes", "no"))],
)
def test_answers_are_told_by_their_words(cells: list[str], answers: tuple[str, str]) -> None:
    found = values_of([], [cells])
    assert (found.yes, found.no) == answers


def test_what_cannot_be_told_is_as_our_own_files_have_it() -> None:
    assert values_of([["", "oat"]], [[""]]) == ValueForm()


@settings(max_examples=50, deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes_give_rows_or_are_told(content: bytes) -> None:
    try:
        _, rows = read_text(content)
    except FieldError as fault:
        assert fault.message
        return
    assert all(any(row) for row in rows)
