"""The order form as a workbook: what is open, what is asked of a cell, how it prints."""

from dataclasses import replace
from math import ceil
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.utils import get_column_letter

from listkit.listing.listings import Listings
from listkit.listing.order_form import FormText, form_of
from listkit.listing.sheet import document_of
from listkit.problem import FieldError
from listkit.units.colour import contrast
from listkit.write.order_form import layout_of, write_form_sheet
from tests.write.sheets import LONG, hard


def opened(folder: Path, **terms: Any) -> tuple[Any, Any]:
    """The sheet as another library reads it, and the form's layout."""
    of = hard(display={"price": "half"}, **terms)
    document = document_of(of.catalog)
    assert document is not None
    form = form_of(document, of.catalog.shop)
    write_form_sheet(folder / "form.xlsx", form)
    return openpyxl.load_workbook(folder / "form.xlsx").active, layout_of(form)


def test_only_quantities_and_the_buyers_own_cells_can_be_written_in(tmp_path: Path) -> None:
    sheet, layout = opened(tmp_path)
    assert sheet.protection.sheet
    free = {cell.coordinate for row in sheet.iter_rows() for cell in row if not cell.protection.locked}
    quantities = {f"{layout.quantity}{row}" for row in layout.rows}
    assert quantities <= free
    assert all(cell[0] in "BC" for cell in free - quantities)


def test_a_quantity_cell_asks_for_whole_numbers_and_a_display_for_one_at_most(tmp_path: Path) -> None:
    sheet, layout = opened(tmp_path)
    rules = {str(rule.sqref): rule for rule in sheet.data_validations.dataValidation}
    first = rules[f"{layout.quantity}{layout.rows[0]}"]
    assert (first.type, first.operator or "between", first.formula1, first.formula2) == (
        "whole", "between", "0", "999999",
    )  # fmt: skip
    assert rules[f"{layout.quantity}{layout.rows[40]}"].formula2 == "1"


@pytest.mark.parametrize(("paper", "number"), [("A4", "9"), ("letter", "1")])
def test_it_prints_one_page_wide_with_its_headings_on_every_page(paper: str, number: str, tmp_path: Path) -> None:
    """ECMA-376, ST paper sizes: 1 is Letter, 9 is A4."""
    sheet, _ = opened(tmp_path, paper=paper)
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert (sheet.page_setup.fitToWidth or 1, sheet.page_setup.fitToHeight) == (1, 0)
    assert str(sheet.page_setup.paperSize) == number
    assert sheet.print_title_rows
    assert (sheet.oddFooter.right.size, sheet.oddFooter.right.text[:11]) == (8, "2027-01-15-")


def test_a_form_of_a_few_dozen_lines_prints_on_one_page(demo: Listings, tmp_path: Path) -> None:
    document = document_of(demo.catalog)
    assert document is not None
    write_form_sheet(tmp_path / "form.xlsx", form_of(document, demo.catalog.shop))
    sheet = openpyxl.load_workbook(tmp_path / "form.xlsx").active
    assert (sheet.page_setup.fitToWidth or 1, sheet.page_setup.fitToHeight or 1) == (1, 1)
    assert sheet.page_setup.orientation in (None, "portrait")


@pytest.mark.parametrize("paper", ["A4", "letter"])
@pytest.mark.parametrize("tiers", [0, 3, 30])
def test_nothing_on_paper_is_smaller_than_7_5_points(paper: str, tiers: int, tmp_path: Path) -> None:
    """A column takes 7 pixels a character and 5 more at 96 an inch: ECMA-376, 18.3.1.13, for a font with such figures.

    ISO 216 and ANSI say how large sheets are.
    """
    sheet, layout = opened(tmp_path, paper=paper, tier=[{"from": 10 + at, "wholesale": "40 %"} for at in range(tiers)])
    columns = [sheet.column_dimensions[letter] for letter in map(get_column_letter, range(1, 60))]
    last = sheet[f"{layout.total}1"].column
    pixels = sum(7 * one.width + 5 for one in columns[:last] if not one.hidden)
    upright = sheet.page_setup.orientation in (None, "portrait")
    inches = {"A4": (210, 297), "letter": (215.9, 279.4)}[paper][0 if upright else 1] / 25.4
    room = inches - sheet.page_margins.left - sheet.page_margins.right
    share = (sheet.page_setup.fitToWidth or 1) * room / (pixels / 96)
    assert 10 * min(1, share) >= 7.45


def test_what_lacks_is_coloured_and_what_is_ready_too(tmp_path: Path) -> None:
    """The colours are pale, so that black is read on them: WCAG 2.2, success criterion 1.4.3, asks for 4.5."""
    sheet, layout = opened(tmp_path)
    rules = {str(cells.sqref): cells.rules for cells in sheet.conditional_formatting}
    assert f"{layout.missing}{layout.rows[0]}:{layout.missing}{layout.rows[-1]}" in rules
    fills = [rule.dxf.fill.bgColor.rgb[-6:] for own in rules.values() for rule in own]
    assert len(fills) == 3
    assert all(contrast("#000000", f"#{fill}") > 4.5 for fill in fills)


def test_a_row_is_as_high_as_its_longest_name(tmp_path: Path) -> None:
    sheet, layout = opened(tmp_path)
    heights = [sheet.row_dimensions[layout.rows[at]].height for at in (0, 41, 42)]
    assert sheet[f"B{layout.rows[0]}"].value == LONG
    # A line of Arial 10 is 12.75 points, its figures 0.556 em wide and its letters half an em on average (from memory).
    least = ceil(len(LONG) * 0.5 / 0.556 / int(sheet.column_dimensions["B"].width)) * 12.75
    assert heights[0] >= least
    assert heights[1] >= least
    assert heights[2] is None or heights[2] == 12.75


def test_totals_and_what_is_missing_are_formulas(tmp_path: Path) -> None:
    sheet, layout = opened(tmp_path, case_pack={"items": 6})
    assert str(sheet[f"{layout.total}{layout.rows[0]}"].value).startswith("=IF(")
    assert "more make full cases of" in sheet[f"{layout.missing}{layout.rows[41]}"].value
    assert sheet[layout.sum.replace("$", "")].value.startswith("=ROUND(SUM(")


def test_a_letter_that_no_workbook_holds_is_told(tmp_path: Path) -> None:
    with pytest.raises(FieldError, match=r"a workbook has no U\+FFFF"):
        opened(tmp_path, payment="ring\uffffthe bell")


def test_terms_of_any_length_stand_whole_in_rows_that_a_sheet_can_have(tmp_path: Path) -> None:
    """A row is at most 409 points high, in every spreadsheet program: what was longer was cut off in silence."""
    words = [f"word{number}" for number in range(6_000)]
    sheet, _ = opened(tmp_path, payment=" ".join(words), returns="first line\nsecond line\nthird line")
    heights = {row: size.height for row, size in sheet.row_dimensions.items() if size.height}
    assert max(heights.values()) <= 409
    cells = {row[0].row: (row[0].value, row[1].value) for row in sheet.iter_rows(max_col=2)}
    start = next(row for row, (label, _) in cells.items() if label == "Payment")
    told = [cells[start][1]]
    while cells[start + len(told)][0] is None:
        told.append(cells[start + len(told)][1])
    assert " ".join(told).split() == words
    returned = next(row for row, (label, _) in cells.items() if label == "Returns")
    assert heights[returned] == 3 * 12.75


def test_words_of_the_owners_with_quotes_and_commas_leave_the_workbook_whole(tmp_path: Path) -> None:
    """Between quotes of a formula a quote is doubled; a list of answers cannot hold a comma, so there is none then."""
    form = form_with(ready='It can be "sent".', nothing='"nothing"', yes="Yes, the first", no="no")
    write_form_sheet(tmp_path / "form.xlsx", form)
    sheet = openpyxl.load_workbook(tmp_path / "form.xlsx").active
    told = {rule.formula[0] for rules in sheet.conditional_formatting for rule in rules.rules if rule.type == "cellIs"}
    assert told == {'"It can be ""sent""."', '"""nothing"""'}
    assert [rule for rule in sheet.data_validations.dataValidation if rule.type == "list"] == []
    write_form_sheet(tmp_path / "form.xlsx", form_with())
    sheet = openpyxl.load_workbook(tmp_path / "form.xlsx").active
    assert [rule.formula1 for rule in sheet.data_validations.dataValidation if rule.type == "list"] == ['"yes,no"']


def form_with(**words: str) -> FormText:
    of = hard()
    document = document_of(of.catalog)
    assert document is not None
    form = form_of(document, of.catalog.shop)
    return replace(form, words=replace(form.words, **words))
