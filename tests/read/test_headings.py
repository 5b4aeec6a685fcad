"""Headings are understood as owners write them: our words or theirs, with or without a unit."""

import time

import pytest

from listkit.model.item import Item
from listkit.read.headings import find_headings, known_unit, our_field, read_headings
from listkit.read.sheet import Row, typed_cell

FIELDS = tuple(Item.model_fields)
NEEDED = frozenset({"code", "name", "retail", "cost", "weight", "size"})


def row(*headings: str, line: int = 1) -> Row:
    return Row(line, tuple(map(typed_cell, headings)))


@pytest.mark.parametrize(
    ("heading", "field", "unit"),
    [
        ("code", "code", ""),
        (" Code ", "code", ""),
        ("weight (g)", "weight", "g"),
        ("Weight [oz.]", "weight", "oz."),
        ("Weight in oz", "weight", "oz"),
        ("WEIGHT, kg", "weight", "kg"),
        ("weight g", "weight", "g"),
        ("size mm", "size", "mm"),
        ("shelf_life (months)", "shelf_life", "months"),
        ("Shelf-life months", "shelf_life", "months"),
        ("On hand", "on_hand", ""),
        ("retail (£)", "retail", "£"),
        ("Retail £", "retail", "£"),
        ("cost GBP", "cost", "GBP"),
        ("net (fl oz)", "net", "fl oz"),
        ("Retail\n(£)", "retail", "£"),
    ],
)
def test_a_heading_names_a_field_and_perhaps_its_unit(heading: str, field: str, unit: str) -> None:
    (column,) = read_headings(row(heading), FIELDS, {}).columns
    assert (column.field, column.unit) == (field, unit)


@pytest.mark.parametrize("heading", ["colour", "supplier", "name in French", "cost of goods", "", "date", "VAT"])
def test_other_headings_are_left_alone(heading: str) -> None:
    headings = read_headings(row("name", heading), FIELDS, {})
    assert [column.field for column in headings.columns] == ["name"]
    assert (headings.twice, headings.nearly) == ((), ())


def test_a_column_set_to_nothing_is_left_alone_even_under_a_heading_of_ours() -> None:
    headings = read_headings(row("name", "Status", "Status (new)", "naem"), FIELDS, {"Status": "", "naem": ""})
    assert [(c.field, c.heading) for c in headings.columns] == [("name", "name"), ("status", "Status (new)")]
    assert (headings.twice, headings.nearly) == ((), ())


def test_a_heading_within_two_letters_of_ours_is_nearly_it() -> None:
    headings = read_headings(row("Wieght (g)", "catuions", "retial price"), FIELDS, {})
    assert headings.nearly == (("Wieght (g)", "weight"), ("catuions", "cautions"))


def test_a_remark_in_brackets_does_not_hide_a_field_but_gives_way_to_a_plain_heading() -> None:
    assert [c.field for c in read_headings(row("weight (gross)"), FIELDS, {}).columns] == ["weight"]
    headings = read_headings(row("name (short)", "name"), FIELDS, {})
    assert [(c.field, c.index) for c in headings.columns] == [("name", 1)]


def test_a_field_with_two_columns_is_told_of_the_second() -> None:
    headings = read_headings(row("retail", "cost", "Retail (£)"), FIELDS, {})
    assert [(column.field, column.index) for column in headings.twice] == [("retail", 2)]


def test_the_owners_own_headings_come_first() -> None:
    own = {"Product": "name", "Shop price": "retail", "Grams": "weight (g)", "name": "form", "Our ref.": "code"}
    headings = read_headings(row("PRODUCT", "Shop price (£)", "grams", "Name", "Our ref."), FIELDS, own)
    assert [(c.field, c.unit) for c in headings.columns] == [
        ("name", ""), ("retail", "£"), ("weight", "g"), ("form", ""), ("code", ""),
    ]  # fmt: skip


def test_the_header_is_the_row_that_names_most_of_what_is_needed() -> None:
    rows = [row("My stock list"), row(""), row("name", "notes", line=3), row("code", "name", "cost", line=4), row("A")]
    headings = find_headings(rows, FIELDS, NEEDED, {})
    assert headings is not None
    assert headings.row.line == 4
    assert find_headings([row("a", "b")], FIELDS, NEEDED, {}) is None


def test_our_names_may_carry_their_unit() -> None:
    assert our_field("Weight (g)", FIELDS) == "weight"
    assert our_field("wieght", FIELDS) == ""
    assert known_unit("weight", "Oz.")
    assert not known_unit("weight", "stone")
    assert not known_unit("name", "g")


def test_headings_of_nothing_but_open_brackets_take_no_time() -> None:
    """Each of 1,500 took two thousandths of a second: a sheet's first rows have 15,000 cells."""
    open_ones = row(*("[ " * 145 + f"{at}" for at in range(1_500)))
    before = time.process_time()
    assert read_headings(open_ones, FIELDS, {}, slips=False).columns == ()
    assert time.process_time() - before < 1
