"""Orders as they come back: workbooks and CSV, what is in a quantity cell, files that are no form."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.model.wholesale import FormHeadings, OrderForm
from listkit.problem import Problem
from listkit.read.order_file import read_order
from tests.shops import xlsx
from tests.steps import calls

HEADINGS = FormHeadings(
    "Code", "Quantity", "Wholesale", "Suggested retail", "Line sheet", (("shop", "Shop"), ("notes", "Notes"))
)
FORM: list[list[object]] = [
    ["Wholesale order form"],
    ["Shop", "The Sluice Shop", None, "Line sheet", "spring-2027-01-15-CN69X"],
    ["Notes", None, None, "Season", "spring"],
    ["Code", "Item", "Wholesale", "From 24", "Suggested retail", "Quantity", "Total"],
    ["Spring sets   Order by 28 Feb"],
    ["SET-1", "First", 13.5, 12.69, 27, 6, 81],
    ["SET-2", "Second", 16.75, 15.75, 33.5, None, 0],
    ["A-1", "Bar", 3.75, 3.53, 7.5, "12", 45],
    ["Payment", "30 days"],
]


def of_form(rows: list[list[object]]) -> tuple[OrderForm, list[Problem]]:
    form, problems = read_order("form.xlsx", xlsx(rows), HEADINGS)
    assert form is not None
    return form, problems


def test_a_filled_form_gives_its_sheet_its_buyer_and_what_is_ordered() -> None:
    form, problems = of_form(FORM)
    assert problems == []
    assert form.sheet == "spring-2027-01-15-CN69X"
    assert form.buyer == (("shop", "The Sluice Shop"),)
    assert [(row.code, row.quantity, row.prices) for row in form.rows] == [
        ("SET-1", 6, (Decimal("13.5"), Decimal("12.69"))),
        ("A-1", 12, (Decimal("3.75"), Decimal("3.53"))),
    ]


def test_a_label_without_an_answer_does_not_take_the_next_label_for_one() -> None:
    form, _ = of_form([["Shop", None, None, "Line sheet", "CN69X"], *FORM[3:]])
    assert (form.buyer, form.sheet) == ((), "CN69X")


@pytest.mark.parametrize("said", ["six", "-3", 2.5, "2,5", "1e3", "6 pcs", True, "½", "١", "2027-03-01", -1])
def test_what_is_no_whole_number_is_told_at_its_cell_and_kept_as_it_stands(said: object) -> None:
    form, [problem] = of_form([*FORM[:5], ["SET-1", "First", 13.5, 12.69, 27, said]])
    assert (problem.code, problem.place.row, problem.place.column) == ("bad-value", "SET-1", "Quantity")
    assert problem.message.endswith("is no whole number of pieces.")
    assert problem.hint == "Ask the shop how many of SET-1 it wants."
    assert form.rows[0].quantity is None
    assert form.rows[0].said in problem.message


def test_more_than_anybody_sends_is_told() -> None:
    _, [problem] = of_form([*FORM[:5], ["SET-1", "First", 13.5, 12.69, 27, 1_000_000]])
    assert problem.message == '"1000000" is more than 999999.'


def test_a_number_that_falls_into_two_cells_is_no_number_of_pieces() -> None:
    """1,200 and 16,5 without quotes; a cell under a heading of its own is no part of it."""
    form, problems = read_order("order.csv", b"code,quantity\nA-1,1,200\nSET-1,16,5\n", HEADINGS)
    assert form is not None
    assert [(row.said, row.quantity) for row in form.rows] == [("1,200", None), ("16,5", None)]
    assert [one.message for one in problems] == [
        '"1,200" is no whole number of pieces.', '"16,5" is no whole number of pieces.',
    ]  # fmt: skip
    form, problems = read_order("order.csv", b"code,quantity,note\nA-1,6,soon,\n", HEADINGS)
    assert (form.rows[0].quantity if form else None, problems) == (6, [])


def test_two_columns_of_quantities_lose_none() -> None:
    """Of two, as a shop adds one for each of its branches, nobody knows which is meant."""
    form, problems = read_order("o.csv", b"code,quantity,Quantity\nA,2,5\nB,3,3\nC,4,\nD,,6\n", HEADINGS)
    assert form is not None
    assert [(row.code, row.quantity) for row in form.rows] == [("A", None), ("B", 3), ("C", 4), ("D", None)]
    assert [each.message for each in problems] == [
        '"2 and 5" is no whole number of pieces.',
        '"6" is no whole number of pieces.',
    ]


def test_nothing_and_nought_order_nothing() -> None:
    form, problems = of_form([*FORM[:5], ["SET-1", "", 1, 1, 1, 0], ["SET-2", "", 1, 1, 1, "0"], ["A-1", "", 1, 1, 1]])
    assert (form.rows, problems) == ((), [])


CSV = ["code,quantity\nA-1,6\nB,2\n", "Code;Quantity\r\nA-1;6\r\nB;2\r\n", "\ufeffQuantity\tCODE\n6\tA-1\n2\tB"]


@pytest.mark.parametrize("text", CSV)
def test_a_csv_of_codes_and_quantities_is_an_order(text: str) -> None:
    form, problems = read_order("order.csv", text.encode(), HEADINGS)
    assert form is not None
    assert problems == []
    assert [(row.code, row.quantity) for row in form.rows] == [("A-1", 6), ("B", 2)]


@pytest.mark.parametrize(
    ("file", "content", "says"),
    [
        ("photo.jpg", b"\xff\xd8\xff\xe0 and so on", "it is not a workbook."),
        ("form.xlsx", b"PK\x03\x04 cut short", "the workbook is damaged."),
        ("form.xlsx", b"", "it is empty."),
        ("sheet.xlsx", xlsx([["Name", "Price"], ["a", 1]]), 'it is no order form: no row names "Code" and "Quantity".'),
        ("letter.csv", b"Dear all,\nsix of the first set please\n", "it is no order form"),
    ],
)
def test_a_file_that_is_no_form_is_told_as_such(file: str, content: bytes, says: str) -> None:
    form, problems = read_order(file, content, HEADINGS)
    assert form is None
    assert says in problems[-1].message
    assert problems[-1].code == "syntax"


@given(st.text(max_size=200) | st.binary(max_size=200).map(lambda raw: raw.decode("latin-1")))
def test_any_text_is_a_form_or_is_told(text: str) -> None:
    form, problems = read_order("order.csv", ("code,quantity\n" + text).encode("utf-8", "surrogatepass"), HEADINGS)
    assert form is not None or problems
    assert all(one.place.file == "order.csv" and "\n" not in one.message for one in problems)


def test_lines_that_say_that_nothing_is_ordered_are_read_as_empty_and_told_once() -> None:
    nothing = ([code, "Bar", 3.75, 3.53, 7.5, said, 0] for code, said in (("A-1", "-"), ("A-2", "none")))
    rows = [*FORM[:5], *nothing, FORM[7]]
    form, problems = of_form(rows)
    assert [row.code for row in form.rows] == ["A-1"]
    assert [str(problem) for problem in problems] == [
        'Look at · form.xlsx, line 6: 2 lines with "-" or "none" for a quantity are read as empty: A-1 and A-2. '
        "Ask the shop where that is not meant."
    ]


def test_rows_that_say_nothing_take_time_in_step_with_their_number() -> None:
    def steps(rows: int) -> int:
        content = b"code,quantity\n" + b"A-1,-\n" * rows
        return calls(lambda: read_order("o.csv", content, HEADINGS))

    steps(10)
    assert steps(800) < 10 * steps(100)
