"""The header found below titles, above rows, with its units below it."""

from hypothesis import given
from hypothesis import strategies as st

from listkit.learn.header import find_header

HEADER = ("Code", "Product", "Shop price", "Cost", "Weight", "Size")
ROW = ("B1", "Oat bar", "6.00", "1.60", "108 g", "80 x 55 x 25 mm")


def test_the_header_is_found_below_a_title_and_blank_rows() -> None:
    found = find_header((("Spring stock list",), (), ("", "as of March"), HEADER, ROW))
    assert found is not None
    assert (found.index, found.headings, found.first) == (3, HEADER, 4)


def test_of_two_header_rows_the_one_that_names_more_counts() -> None:
    groups = ("Product", "", "Prices", "", "Post", "")
    found = find_header((groups, HEADER, ROW))
    assert found is not None
    assert found.index == 1


def test_units_in_a_row_of_their_own_belong_to_the_headings_above() -> None:
    found = find_header((HEADER, ("", "", "(£)", "(£)", "g", "mm"), ROW))
    assert found is not None
    assert found.with_units == ("Code", "Product", "Shop price (£)", "Cost (£)", "Weight (g)", "Size (mm)")
    assert found.first == 2


def test_rows_without_a_header_have_none() -> None:
    assert find_header((ROW, ("B2", "Hop bar", "6.00", "1.60", "108 g", "80 x 55 x 25 mm"))) is None
    assert find_header(()) is None
    assert find_header(((), ("",))) is None


def test_a_heading_over_two_lines_comes_back_in_one() -> None:
    found = find_header((("Item\ncode", "Shop \n price"), ("a", "1")))
    assert found is not None
    assert found.headings == ("Item code", "Shop price")


@given(st.lists(st.lists(st.text(max_size=12), max_size=5), max_size=40))
def test_any_rows_have_a_header_or_none(rows: list[list[str]]) -> None:
    found = find_header(rows)
    assert found is None or found.headings == tuple(" ".join(cell.split()) for cell in rows[found.index])


def test_a_row_of_units_may_say_that_pieces_are_counted() -> None:
    header = find_header([("Code", "Price", "Stock", "Weight"), ("", "GBP", "pcs", "g"), ("A-1", "6.50", "3", "119")])
    assert header is not None
    assert header.with_units == ("Code", "Price (GBP)", "Stock", "Weight (g)")
    assert header.first == 2
