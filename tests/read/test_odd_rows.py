"""What in a sheet is unlike its rows."""

import doctest

import pytest

from listkit.read import odd_rows
from listkit.read.odd_rows import has_decimal_commas, is_section, with_a_cell_more
from listkit.read.sheet import Cell, Row
from listkit.read.workbook_parts import FAILED


def row(*texts: str) -> Row:
    return Row(4, tuple(map(Cell, texts)))


def test_the_examples_hold() -> None:
    assert doctest.testmod(odd_rows)[0] == 0


def test_a_text_alone_is_a_heading_and_a_code_alone_an_unfinished_row() -> None:
    assert [is_section(row(*texts)) for texts in (("Soaps", ""), ("", "* with tax"), ("B-7", ""), ("Oat", "7"))] == [
        True, True, False, False,
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("texts", "agree"),
    [
        (("6,50", "7,25"), True),
        (("6,50", "7"), False),
        (("6,50 €", "12,9 €", ""), True),
        (("6,50", "7.25", "8,10"), False),
        (("1,250", "2,300"), False),
        (("1,250.00", "6,50", "7,25"), False),
        (("8 x 5,5 x 2,5", "8 x 5,5 x 3"), True),
    ],
)
def test_commas_are_decimal_where_the_whole_column_agrees(texts: tuple[str, ...], agree: bool) -> None:
    assert has_decimal_commas(texts) is agree


def test_a_cell_may_be_missing_only_where_the_row_is_one_too_short() -> None:
    assert [place for place, _ in with_a_cell_more(row("A", "B", "C", ""), 4)] == [1, 2]
    assert list(with_a_cell_more(row("A", "B", "C", "D"), 4)) == []
    assert list(with_a_cell_more(row("A", "B"), 4)) == []


def test_an_empty_row_is_no_heading_and_one_of_errors_alone_stands_aside() -> None:
    errors = Row(1, (Cell("#N/A", FAILED), Cell("#REF!", FAILED)))
    assert [is_section(each) for each in (row("", ""), errors)] == [False, True]
