"""Tables of any kind give the same rows; the separator is found, broken rows are told."""

from collections.abc import Iterable

import pytest

from listkit import bounds
from listkit.read.sheet import Row, of_few_letters, read_sheet
from tests.shops import xlsx


def score(rows: Iterable[Row]) -> tuple[int, ...]:
    """Understand the words code and name."""
    return (max((sum(cell.text in {"code", "name"} for cell in row.cells) for row in rows), default=0),)


def texts(text: str | bytes, file: str = "items.csv") -> list[tuple[int, list[str]]]:
    read, problems = read_sheet(file, text if isinstance(text, bytes) else text.encode(), score)
    assert problems == []
    assert read is not None
    return [(row.line, [cell.text for cell in row.cells]) for row in read.rows]


def told(content: bytes, file: str = "items.csv") -> list[str]:
    return [str(problem) for problem in read_sheet(file, content, score)[1]]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_separator_and_line_end_are_found(separator: str, end: str) -> None:
    text = separator.join(["code", "name"]) + end + separator.join(["A", '"one, two; three"']) + end
    assert texts(text) == [(1, ["code", "name"]), (2, ["A", "one, two; three"])]


def test_a_stated_separator_is_obeyed() -> None:
    assert [texts(text) for text in ("sep=", "sep=;", "sep=\n")] == [[(1, ["sep="])], [], [(1, ["sep="])]]
    assert texts("sep=|\ncode|name\nA|B\n") == [(2, ["code", "name"]), (3, ["A", "B"])]


def test_a_row_stands_where_it_begins_however_many_lines_it_takes() -> None:
    """A cell in quotes may hold line ends and doubled quotes (RFC 4180, section 2, rules 6 and 7)."""
    rows = texts('code,name\n"A","two\nlines ""here"""\n\nB,C\n')
    assert rows == [(1, ["code", "name"]), (2, ["A", 'two\nlines "here"']), (5, ["B", "C"])]


def test_spaces_before_a_quote_do_not_break_the_cell() -> None:
    assert texts('code, name\nA, "B, C"\n')[1] == (2, ["A", "B, C"])


def test_broken_quotes_are_told_on_the_line_where_the_row_begins() -> None:
    assert told(b'code,name\nA,B\nC,"D\nE,F\n') == [
        "Must fix · items.csv, line 3: a quotation mark is not closed; the rows from here on are left out. "
        "Close the quotes, or take them out."
    ]
    assert told(b'code,name\nA,"B"C\n')[0].startswith("Must fix · items.csv, line 2: text stands behind")
    assert "not closed" in told(b'code,name\n"' + b"x" * 200_000)[0]


def test_a_cell_longer_than_any_text_is_told_where_its_row_begins() -> None:
    assert told(b"code,name\nA,B\nC," + b"x" * 200_000 + b"\nD,E\n") == [
        "Must fix · items.csv, line 3: a cell is longer than any text of a shop, or its quotation mark is not closed; "
        "the rows from here on are left out. Shorten it, or close the quotes."
    ]


def test_what_is_no_csv_is_told() -> None:
    assert (
        told(b"")
        == told(b" \n ")
        == ["Must fix · items.csv: it is empty. Write a row of headings, and a row for each."]
    )
    assert "it is a workbook and no CSV" in told(b"PK\x03\x04...")[0]
    assert "the sign NUL" in told(b"\x89PNG\r\n\x1a\n\0\0")[0]
    assert "it is not a workbook" in told(b"code,name\n", "items.xlsx")[0]


def test_a_table_beyond_all_measure_is_read_to_a_bound() -> None:
    rows, problems = read_sheet("items.csv", b"code\nA\n\n\nB\nC\n", score, most=3)
    assert rows is not None
    assert [row.line for row in rows.rows] == [1, 2, 5]
    assert [str(problem) for problem in problems] == [
        "Must fix · items.csv, line 6: it has more than 3 rows; the rows from here on are left out. "
        "Is it the right file?"
    ]
    assert read_sheet("items.csv", b"code\nA\n\n\nB\n\n", score, most=3)[1] == []
    wide, _ = read_sheet("items.csv", b"code" + b"," * 2000 + b"x\n", score)
    assert wide is not None
    assert len(wide.rows[0].cells) == 500


def test_a_table_of_more_letters_than_any_shop_has_is_read_to_a_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bounds, "TABLE_LETTERS", 12)
    whole, none = read_sheet("items.csv", b"code,name\nA,a\nB,a long name\nC,c\n", score)
    rows, problems = of_few_letters(whole, none)
    assert rows is not None
    assert [row.line for row in rows.rows] == [1, 2]
    assert [str(problem) for problem in problems] == [
        "Must fix · items.csv, line 3: it has more than 12 letters; the rows from here on are left out. "
        "Is it the right file?"
    ]


def test_of_a_workbook_as_many_rows_that_hold_something_are_read() -> None:
    """Blank rows between them count nothing, as in a text file."""
    rows = [["code"], [], ["A"], [], [], ["B"], ["C"]]
    read, problems = read_sheet("items.xlsx", xlsx(rows), score, most=3)
    assert read is not None
    assert [row.line for row in read.rows] == [1, 3, 6]
    assert [str(problem) for problem in problems] == [
        "Must fix · items.xlsx, line 7: it has more than 3 rows; the rows from here on are left out. "
        "Is it the right file?"
    ]
    assert read_sheet("items.xlsx", xlsx(rows), score, most=4)[1] == []


def test_millions_of_empty_rows_are_borne() -> None:
    assert texts("code\n" + ",,,\r\n" * 300_000 + "A\n") == [(1, ["code"]), (300_002, ["A"])]
