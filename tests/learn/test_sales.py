"""A place's export of its sales: the column of codes is known by its cells, all else by heading and cells."""

from listkit.learn.sales import SalesDraft, learn_sales

CODES = {"OH-B01", "OHS-1-U01", "OH-L01"}


def learnt(*rows: tuple[str, ...]) -> SalesDraft:
    return learn_sales(rows, CODES.__contains__)


def test_headings_and_cells_together_are_sure() -> None:
    draft = learnt(
        ("Order", "Sold on", "Buyer", "Item no.", "Title", "Units", "Price each", "Postcode"),
        ("1001", "2026-12-05", "A. Buyer", "OH-B01", "Bar", "2", "7.50", "12345"),
        ("1002", "2026-12-06", "B. Buyer", "OHS-1-U01", "Set", "-1", "25.00", "54321"),
    )
    assert draft.sure
    assert draft.columns == (("Item no.", "code"), ("Units", "quantity"), ("Sold on", "day"))
    assert draft.date == "2027-02-28"


def test_a_report_may_begin_with_lines_of_its_own() -> None:
    draft = learnt(
        ("Sales report", ""), ("December", ""), ("Product", "Anzahl"),
        ("OH-B01", "3"), ("OH-L01", "4"), ("POSTAGE", "1"),
    )  # fmt: skip
    assert (draft.header, draft.columns, draft.sure) == (2, (("Product", "code"), ("Anzahl", "quantity")), True)


def test_without_one_sure_column_it_is_asked() -> None:
    draft = learnt(("Ref", "One", "Two"), ("OH-B01", "3", "4"), ("OH-L01", "5", "6"))
    assert not draft.sure
    assert draft.doubts == (("quantity", ("One", "Two")),)
    assert learnt(("Ref", "Units"), ("unknown", "3")).doubts[0] == ("code", ())
    assert learnt().doubts


def test_a_day_that_may_have_its_month_first_is_asked() -> None:
    draft = learnt(("SKU", "Qty", "Date"), ("OH-B01", "3", "05/12/2026"))
    assert draft.doubts == (("day", ("Date",)),)
    draft = learnt(("SKU", "Qty", "Date"), ("OH-B01", "3", "25/12/2026"))
    assert (draft.sure, draft.date) == (True, "28/02/2027")


def test_of_two_columns_that_are_called_alike_none_is_sure() -> None:
    draft = learnt(("SKU", "Units", "units"), ("OH-B01", "7.00", "1"), ("OH-L01", "8.00", "2"))
    assert draft.columns == (("SKU", "code"),)
    assert draft.doubts == (("quantity", ("units", "units")),)


def test_a_number_of_thousands_of_digits_counts_no_pieces() -> None:
    assert learnt(("SKU", "Number"), ("OH-B01", "9" * 5_000)).doubts == (("quantity", ()),)
