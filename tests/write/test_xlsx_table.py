"""Tests of tables as workbooks, read again by readers of others."""

import datetime
import zipfile
from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listkit.problem import FieldError
from listkit.write.xlsx_feed import SheetColumn, SheetForm, Type, sheet_fault, value_of, write_sheet

Row = tuple[str, ...]
TEXT = SheetForm("feed", (SheetColumn(), SheetColumn()), header=False)
TYPED = SheetForm(
    "feed",
    (SheetColumn(), SheetColumn(Type.NUMBER, "0.00"), SheetColumn(Type.DAY, "dd\\.mm\\.yyyy")),
    header=True,
)
ROWS: list[Row] = [("Code", "Price", "Until"), ("00123", "29.00", "2027-05-10"), ("9520000010010", "", "")]
# What XML 1.0, section 2.2, has characters for, and control signs, which a workbook escapes (ECMA-376, ST_Xstring).
WIDE = st.text(st.characters(exclude_characters="\ufffe\uffff", exclude_categories=["Cs"]), max_size=12)
ODD = st.sampled_from(["_x0041_", "_x005F_", "a\r\nb", "\r", " a ", "=1+2", "'", "00123", "9520000010010", "1E5", ""])


def written(path: Path, rows: list[Row], form: SheetForm) -> Path:
    write_sheet(path, rows, form)
    return path


def test_codes_keep_their_zeros_and_figures_and_days_are_what_they_are(tmp_path: Path) -> None:
    sheet = openpyxl.load_workbook(written(tmp_path / "a.xlsx", ROWS, TYPED)).active
    assert [[cell.value for cell in row] for row in sheet.iter_rows(max_col=2)] == [
        ["Code", "Price"],
        ["00123", 29],
        ["9520000010010", None],
    ]
    assert (sheet["C2"].value.date(), sheet["C3"].value) == (datetime.date(2027, 5, 10), None)
    assert [cell.number_format for cell in sheet[2]] == ["@", "0.00", "dd\\.mm\\.yyyy"]
    assert [cell.data_type for cell in sheet[2]] == ["s", "n", "d"]


def test_a_text_that_begins_like_a_formula_is_a_text(tmp_path: Path) -> None:
    sheet = openpyxl.load_workbook(written(tmp_path / "a.xlsx", [("=1+2", "@a")], TEXT)).active
    assert [cell.data_type for cell in sheet[1]] == ["s", "s"]


def test_the_same_rows_are_the_same_bytes_whenever_they_are_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = written(tmp_path / "a.xlsx", ROWS, TYPED).read_bytes()
    monkeypatch.setenv("TZ", "Pacific/Auckland")
    assert written(tmp_path / "b.xlsx", ROWS, TYPED).read_bytes() == first
    with zipfile.ZipFile(tmp_path / "a.xlsx") as parts:
        assert {part.date_time for part in parts.infolist()} == {(1980, 1, 31, 0, 0, 0)}
        assert b"2000-01-01T00:00:00Z" in parts.read("docProps/core.xml")


@settings(max_examples=20, deadline=None)
@given(rows=st.lists(st.tuples(WIDE | ODD, WIDE | ODD), max_size=4))
def test_any_text_in_any_cell_comes_back(tmp_path_factory: pytest.TempPathFactory, rows: list[Row]) -> None:
    path = written(tmp_path_factory.mktemp("any") / "a.xlsx", rows, TEXT)
    assert sheet_fault(path, rows, TEXT) == ""


@pytest.mark.parametrize(("at", "other"), [((1, 0), "123"), ((1, 1), "29.01"), ((1, 2), "2027-05-11"), ((0, 0), "Cod")])
def test_a_changed_cell_is_told_with_its_row(tmp_path: Path, at: tuple[int, int], other: str) -> None:
    changed = [list(row) for row in ROWS]
    changed[at[0]][at[1]] = other
    path = written(tmp_path / "a.xlsx", [tuple(row) for row in changed], TYPED)
    assert sheet_fault(path, ROWS, TYPED) == f"row {at[0] + 1} is not the one that was asked for."


def test_a_code_that_became_a_number_is_told(tmp_path: Path) -> None:
    as_number = SheetForm("feed", (SheetColumn(Type.NUMBER, "0"), *TYPED.columns[1:]), header=True)
    path = written(tmp_path / "a.xlsx", ROWS, as_number)
    assert sheet_fault(path, ROWS, TYPED) == "row 2 is not the one that was asked for."


@pytest.mark.parametrize(("rows", "told"), [(ROWS[:2], "it ends before row 3."), ([*ROWS, ROWS[2]], "row 4 was not")])
def test_a_row_too_few_or_too_many_is_told(tmp_path: Path, rows: list[Row], told: str) -> None:
    assert sheet_fault(written(tmp_path / "a.xlsx", rows, TYPED), ROWS, TYPED).startswith(told)


def test_a_byte_changed_in_the_sheets_own_part_is_told(tmp_path: Path) -> None:
    path = written(tmp_path / "a.xlsx", ROWS, TYPED)
    with zipfile.ZipFile(path) as parts:
        part = parts.getinfo("xl/worksheets/sheet1.xml")
    whole = path.read_bytes()
    start = part.header_offset + 30 + len(part.filename)
    for at in range(start, start + part.compress_size, 7):
        path.unlink()
        path.write_bytes(whole[:at] + bytes([whole[at] ^ 1]) + whole[at + 1 :])
        assert sheet_fault(path, ROWS, TYPED), at


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04", b"no workbook"])
def test_what_is_no_workbook_is_told(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "a.xlsx"
    path.write_bytes(content)
    assert sheet_fault(path, ROWS, TYPED).startswith("it is no workbook")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("a\uffff", "row 1, column 1 of the sheet: a workbook has no U+FFFF."),
        ("x" * 32_768, "row 1, column 1 of the sheet: a cell of a workbook takes 32,767 characters."),
        ("🐝" * 16_384, "row 1, column 1 of the sheet: a cell of a workbook takes 32,767 characters."),
    ],
)
def test_what_a_workbook_cannot_hold_is_never_cut_off_in_silence(tmp_path: Path, text: str, told: str) -> None:
    with pytest.raises(FieldError) as fault:
        written(tmp_path / "a.xlsx", [(text, "")], TEXT)
    assert fault.value.message == told


def test_the_longest_text_that_a_cell_takes_comes_back(tmp_path: Path) -> None:
    rows: list[Row] = [("x" * 32_767, "")]
    assert sheet_fault(written(tmp_path / "a.xlsx", rows, TEXT), rows, TEXT) == ""


def test_a_number_with_more_digits_than_a_workbook_keeps_and_a_day_before_its_time_stay_text() -> None:
    """IEEE 754 binary64 keeps fifteen decimal digits; days of a workbook begin with 1900 (ECMA-376, 18.17.4.1)."""
    assert value_of("1234567890123.45", SheetColumn(Type.NUMBER, "0.00")) == 1234567890123.45
    assert value_of("12345678901234.567", SheetColumn(Type.NUMBER, "0.00")) == "12345678901234.567"
    assert value_of("1899-12-31", SheetColumn(Type.DAY, "yyyy")) == "1899-12-31"


def test_empty_rows_and_columns_at_the_edges_are_rows_all_the_same(tmp_path: Path) -> None:
    rows: list[Row] = [("", ""), ("", "a"), ("", "")]
    path = written(tmp_path / "a.xlsx", rows, TEXT)
    assert sheet_fault(path, rows, TEXT) == ""
    assert sheet_fault(path, rows[1:], TEXT) != ""


def test_writing_leaves_nothing_behind_but_the_file(tmp_path: Path) -> None:
    path = written(tmp_path / "a.xlsx", ROWS, TYPED)
    assert list(tmp_path.iterdir()) == [path]


def test_a_column_is_as_wide_as_what_stands_in_it_within_bounds(tmp_path: Path) -> None:
    head: Row = ("No", "Price", "Until")
    book = openpyxl.load_workbook(
        written(tmp_path / "a.xlsx", [head, ("A long name of a set", "9.00", "2027-05-10")], TYPED)
    )
    widths = [book.active.column_dimensions[letter].width for letter in "ABC"]
    assert widths == [pytest.approx(width, abs=1) for width in (22, 10, 12)]
    for long in ("石鹸" * 20, "x" * 99):
        rows: list[Row] = [head, (long, "", "")]
        book = openpyxl.load_workbook(written(tmp_path / "a.xlsx", rows, TYPED))
        assert book.active.column_dimensions["A"].width == pytest.approx(62, abs=1)
        assert sheet_fault(tmp_path / "a.xlsx", rows, TYPED) == ""


def test_a_sheet_has_a_filter_a_heading_that_stays_and_long_texts_in_several_lines(tmp_path: Path) -> None:
    """openpyxl, which knows nothing of the writer, says how the cells are shown."""
    long, page = "words of a sentence " * 6, "words of a page " * 40
    rows: list[Row] = [("Note", "Price", "Until"), (long, "9.00", ""), ("one\ntwo", "", ""), (page, "", "")]
    sheet = openpyxl.load_workbook(written(tmp_path / "a.xlsx", rows, TYPED)).active
    assert (sheet.auto_filter.ref, sheet.freeze_panes) == ("A1:C4", "A2")
    assert [sheet.cell(row, 1).alignment.wrap_text for row in range(1, 5)] == [None, True, True, None]
    assert [sheet.row_dimensions[row].height for row in (2, 3, 4)] == [45, 30, None]
    assert {sheet.cell(row, column).alignment.vertical for row in (1, 2) for column in (1, 2)} == {"top"}
    assert sheet_fault(tmp_path / "a.xlsx", rows, TYPED) == ""
    bare = replace(TYPED, header=False)
    sheet = openpyxl.load_workbook(written(tmp_path / "b.xlsx", rows[1:], bare)).active
    assert (sheet.auto_filter.ref, sheet.freeze_panes) == (None, None)


@pytest.mark.parametrize(("columns", "pages"), [(3, 1), (25, 6)])
def test_a_sheet_is_printed_on_its_side_with_its_headings_and_no_more_pages_across_than_it_needs(
    tmp_path: Path, columns: int, pages: int
) -> None:
    """openpyxl says how it is printed; at half their size some 280 letters of 11 points go across A4 on its side."""
    form = replace(TYPED, columns=(SheetColumn(),) * columns)
    rows: list[Row] = [("Note",) * columns, *[("x" * 99,) * columns] * 200]
    sheet = openpyxl.load_workbook(written(tmp_path / "a.xlsx", rows, form)).active
    assert (sheet.page_setup.orientation, sheet.sheet_properties.pageSetUpPr.fitToPage) == ("landscape", True)
    assert (sheet.page_setup.fitToWidth or 1, sheet.page_setup.fitToHeight) == (pages, 0)
    assert sheet.print_title_rows == "$1:$1"
    assert sheet_fault(tmp_path / "a.xlsx", rows, form) == ""
