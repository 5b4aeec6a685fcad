"""Cells read as one would type them, and say what a spreadsheet made of them."""

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.read.sheet import Row, column_letters, typed_cell, workbook_cell


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (7.5, "7.5"),
        (18.0, "18"),
        (0.1 + 0.2, "0.3"),
        (7.499999999999999, "7.5"),
        (9520000010010.0, "9520000010010"),
        (1e-5, "0.00001"),
        (True, "true"),
        ("  OH-B01 ", "OH-B01"),
        (None, ""),
        (datetime.datetime.fromisoformat("2027-03-01"), "2027-03-01"),
        (datetime.timedelta(hours=36), "1 day, 12:00:00"),
    ],
)
def test_the_values_of_a_workbook_read_as_typed(value: object, text: str) -> None:
    assert workbook_cell(value).text == text


@pytest.mark.parametrize(
    "value", [datetime.date(2027, 3, 1), datetime.time(7), True, 1.5, 1e22, float("nan"), float("inf")]
)
def test_what_is_no_text_any_more_says_so(value: object) -> None:
    assert workbook_cell(value).turned


@pytest.mark.parametrize("text", ["9.52E+12", "1E5", "1e5", "01/03/2027", "2027-03-01", "1-Mar", "Mar-27", "3.1.27"])
def test_codes_that_a_spreadsheet_has_mangled_are_known_by_their_form(text: str) -> None:
    assert typed_cell(text).turned


@pytest.mark.parametrize("text", ["OH-B01", "E5", "12", "9520000010010", "MAR-1", "A1E5", "1-2", "7.50", ""])
def test_sound_codes_are_not_suspected(text: str) -> None:
    assert typed_cell(text).turned == ""


@given(st.floats(min_value=0, max_value=99999, allow_subnormal=False).map(lambda value: round(value, 2)))
def test_a_price_of_two_digits_comes_out_of_a_workbook_unchanged(price: float) -> None:
    text = workbook_cell(price).text
    assert float(text) == price
    assert len(text.partition(".")[2]) <= 2


@given(st.one_of(st.floats(), st.integers(), st.text(), st.dates(), st.datetimes(), st.times(), st.timedeltas()))
def test_any_value_becomes_a_text(value: object) -> None:
    assert isinstance(workbook_cell(value).text, str)


def test_columns_have_letters() -> None:
    assert [column_letters(index) for index in (0, 25, 26, 701, 702, 16383)] == ["A", "Z", "AA", "ZZ", "AAA", "XFD"]


def test_a_row_is_blank_without_text_and_empty_beyond_its_end() -> None:
    assert Row(1, (typed_cell(" "),)).blank
    assert Row(1, (typed_cell("a"),)).text(5) == ""
