"""CSV of anybody: a separator that is stated, cells of any length in several threads, rows that are broken."""

import csv
import io
import threading

import pytest

from listkit.actions.learn import understand_sample
from listkit.bounded_csv import broken_row, long_cells, stated_separator
from listkit.read.sheet import read_sheet

LETTER_OR_QUOTE = ('"', "a", "1", " ", "\n", "\r", "_")


@pytest.mark.parametrize("sign", LETTER_OR_QUOTE)
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_what_separates_no_cells_is_no_separator_that_is_stated(sign: str, end: str) -> None:
    """From Python 3.13 on csv.reader refuses a quotation mark and line ends with a ValueError."""
    text = f"sep={sign}{end}code,name{end}A-1,Bar{end}"
    assert stated_separator(text) == ("", text)
    table, _ = read_sheet("items.csv", text.encode(), lambda rows: (max(len(row.cells) for row in rows),))
    assert table is not None
    assert [cell.text for cell in table.rows[-1].cells] == ["A-1", "Bar"]
    assert understand_sample("sample.csv", text.encode()).sample.headings == ("code", "name")


def test_any_other_sign_is_taken_at_its_word() -> None:
    for sign in ",;\t|^:~":
        assert stated_separator(f"SEP={sign}\r\na{sign}b") == (sign, f"a{sign}b")
    assert stated_separator("sep=;") == (";", "")
    assert stated_separator("sep=;;\na;b") == ("", "sep=;;\na;b")


def test_cells_are_as_long_as_anybody_asks_for_meanwhile_and_then_as_before() -> None:
    before = csv.field_size_limit()
    entered, leave = threading.Event(), threading.Event()

    def another() -> None:
        with long_cells(before * 2):
            entered.set()
            leave.wait(10)

    thread = threading.Thread(target=another)
    with long_cells(before * 4):
        thread.start()
        entered.wait(10)
        assert csv.field_size_limit() == before * 4
    assert csv.field_size_limit() == before * 2
    leave.set()
    thread.join()
    assert csv.field_size_limit() == before


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('"a', "a quotation mark is not closed"),
        ('"a"b', "text stands behind a closing quotation mark"),
        ("x" * 200_000, "a cell is longer than any text of a shop, or its quotation mark is not closed"),
    ],
)
def test_what_is_wrong_with_a_row_is_told_in_plain_words(text: str, told: str) -> None:
    with pytest.raises(csv.Error) as fault:
        list(csv.reader(io.StringIO(text), strict=True))
    message, hint = broken_row(str(fault.value))
    assert (message, hint.endswith(".")) == (told, True)
