"""What `stock add` takes: columns for each kind, or one for all; a stall's tally that must come out even."""

import datetime

import pytest

from listkit.read.tally import HEADINGS, day_in, read_tally
from tests.shops import ods, ods_row, xlsx


def moved(text: str) -> list[tuple[str, tuple[tuple[str, int], ...]]]:
    tally, problems = read_tally("t.csv", text.encode())
    assert problems == []
    return [(row.code, row.moved) for row in tally.rows]


def told(text: str) -> list[str]:
    tally, problems = read_tally("t.csv", text.encode())
    assert tally.known
    return [str(problem) for problem in problems]


def test_a_quantity_is_of_its_kind_and_sold_where_no_kind_is_named() -> None:
    assert moved("code,quantity\nA,3\n") == [("A", (("sold", 3),))]
    assert moved("Code;Kind;Qty\nA;made;12\nB;Came back;1\n") == [("A", (("made", 12),)), ("B", (("came back", 1),))]


def test_a_sale_of_less_than_nothing_came_back_and_nothing_else_may_be_less() -> None:
    assert moved("sku,sold\nA,-2\nB,3\n") == [("A", (("came back", 2),)), ("B", (("sold", 3),))]
    assert told("sku,made\nA,-2\n") == [
        "Must fix · t.csv, row A, column made: -2 made is less than nothing. Only what is sold may be: it came back."
    ]


def test_a_column_for_each_kind_and_rows_without_a_number_say_nothing() -> None:
    assert moved("code,sold,broken,given,counted\nA,3,,1,\nB,,,,\nC,,,,0\n") == [
        ("A", (("sold", 3), ("given", 1))), ("C", (("counted", 0),)),
    ]  # fmt: skip


def test_what_was_taken_along_is_sold_broken_given_a_tester_or_came_back() -> None:
    assert moved("code,taken along,sold,came back\nA,10,4,6\n") == [("A", (("sold", 4),))]
    assert moved("code,taken along,came back\nA,10,10\n") == [("A", ())]
    (row,) = moved("code,taken along,sold,came back,broken,tester\nA,10,,5,1,1\n")
    assert dict(row[1]) == {"sold": 3, "broken": 1, "taken": 1}


@pytest.mark.parametrize(
    ("row", "message"),
    [
        ("10,6,3,", "10 were taken along, and 6 sold and 3 came back make 9."),
        ("5,7,,", "5 were taken along, and 7 sold."),
        ("5,,7,", "5 were taken along, and 7 came back."),
        ("5,2.5,,", '"2.5" is no number of pieces.'),
        ("five,2,,", '"five" is no number of pieces.'),
        ("5,12345678901,,", '"12345678901" is more than anybody has.'),
    ],
)
def test_a_tally_that_does_not_come_out_is_refused(row: str, message: str) -> None:
    (problem,) = told(f"code,taken along,sold,came back,broken\nA,{row}\n")
    assert message in problem


def test_workbooks_are_read_alike() -> None:
    rows: list[list[object]] = [["Saturday"], ["code", "sold", "day"], ["A", 3, datetime.date(2026, 12, 5)]]
    tally, problems = read_tally("t.xlsx", xlsx(rows))
    assert problems == []
    assert [(row.code, row.moved, row.day) for row in tally.rows] == [("A", (("sold", 3),), datetime.date(2026, 12, 5))]
    tally, problems = read_tally("t.ods", ods(ods_row(["code", "sold"]) + ods_row(["A", 3.0])))
    assert [(row.code, row.moved) for row in tally.rows] == [("A", (("sold", 3),))]


@pytest.mark.parametrize("head", ["code,sold,Sold", "code,qty,pieces", "code,quantity,quantity", "code,taken,testers"])
def test_two_columns_of_the_same_numbers_lose_none(head: str) -> None:
    (says,) = told(f"{head}\nA,2,5\nB,3,3\nC,4,\n")
    assert "row A" in says
    assert 'are two columns of the same, and say "2" and "5".' in says
    (says,) = told(f"{head}\nA,,5\nC,4,\n")
    assert 'say "" and "5".' in says


def test_a_column_that_is_called_quantity_is_one_whatever_stands_before_it() -> None:
    assert moved("number,item,code,quantity\n1001,Balm,A,5\n") == [("A", (("sold", 5),))]


def test_an_error_in_a_cell_is_no_empty_one() -> None:
    """Nor is what nobody knows the kind of a sale, or of the place where the others were."""
    says = 'it holds the error "#N/A" and no value.'
    assert [says in each for each in told("code,quantity,kind,place\nB1,2,#N/A,\nB2,3,,#N/A\nB3,#N/A,,\n")] == [
        True
    ] * 3


def test_an_error_is_told_in_the_column_that_it_stands_in() -> None:
    assert "note" in told("code,quantity,note\nB1,2,#N/A\n")[0].partition(":")[0]


def test_days_are_read_as_they_are_said_to_be_written_and_refused_where_they_may_be_either() -> None:
    fifth = datetime.date(2026, 12, 5)
    assert day_in("2026-12-05T14:33:00Z", None) == fifth
    assert day_in("5.12.2026", None) == fifth
    assert day_in("12/05/2026", "02/28/2027") == fifth
    tally, problems = read_tally("t.csv", b"code,sold,day\nA,1,05/12/2026\nA,1,28/11/2026\n")
    assert ([row.day for row in tally.rows], problems) == ([fifth, datetime.date(2026, 11, 28)], [])
    assert told("code,sold,day\nA,1,05/12/2026\nA,1,soon\n") == [
        'Must fix · t.csv, row A, column sold: "05/12/2026" may have the day first or the month. '
        "Take the column out and name the day with --day, or write it as 2026-12-05.",
        'Must fix · t.csv, row A, column sold: "soon" is no day. Write it as 2026-12-05.',
    ]


def test_a_sheet_that_names_neither_code_nor_number_is_not_known() -> None:
    tally, problems = read_tally("t.csv", b"Article,Units shipped\nA,3\n")
    assert (tally.known, tally.cells[0], problems) == (False, ("Article", "Units shipped"), [])
    headings = {"code": ("article",), "quantity": ("Units shipped",)}
    tally, _ = read_tally("t.csv", b"Article,Units shipped\nA,3\n", headings)
    assert tally.rows[0].moved == (("sold", 3),)
    assert set(headings) < set(HEADINGS)


def test_one_that_cannot_be_opened_is_told() -> None:
    for content in (b"", b"PK\x03\x04 no", b"\x00\x01"):
        assert read_tally("t.csv", content)[1]
    assert "no row says" in told("code,sold\n")[0]


def test_a_long_report_of_many_columns_is_read_whole() -> None:
    """A shop's own tables have an end far below what a year of orders has."""
    rows = "".join(f"A-{number},1,{'x' * 120}\n" for number in range(20_000))
    tally, problems = read_tally("t.csv", f"code,sold,note\n{rows}".encode())
    assert (len(tally.rows), problems) == (20_000, [])
