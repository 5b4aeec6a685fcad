"""Workbooks are read behind guards: what is not what it seems is told, and nothing is unpacked without measure."""

import datetime
import io
import tracemalloc
import zipfile

import openpyxl
import pytest
import xlsxwriter  # type: ignore[import-untyped]
from hypothesis import given, settings
from hypothesis import strategies as st

from listkit import bounds
from listkit.problem import FieldError
from listkit.read.sheet import is_workbook, workbook_rows, workbook_sheets
from listkit.read.workbook_parts import FAILED, UNWORKED
from tests.shops import ods, ods_row, xlsx, zipped

ROWS = [["code", "name"], ["A-1", "Café"]]
PNG = b"\x89PNG\r\n\x1a\n" + b"\0" * 30


def texts(content: bytes, sheet: str = "") -> list[list[str]]:
    return [[cell.text for cell in row.cells] for row in workbook_rows(content, sheet)]


def told(content: bytes, sheet: str = "") -> str:
    with pytest.raises(FieldError) as caught:
        workbook_rows(content, sheet)
    return f"{caught.value.message} {caught.value.hint}"


def repacked(content: bytes, part: str, change: tuple[str, str]) -> bytes:
    """Return a workbook with a text in one of its parts changed."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    before = parts[part].decode()
    assert change[0] in before
    parts[part] = before.replace(*change, 1).encode()
    return zipped(parts)


def test_the_sheets_of_a_workbook_are_named_in_order() -> None:
    assert len(workbook_sheets(xlsx(ROWS), 30)) == 1
    with pytest.raises(FieldError, match="not a workbook"):
        workbook_sheets(b"code,name", 30)


def test_xlsx_and_ods_give_the_same_rows() -> None:
    assert texts(xlsx(ROWS)) == texts(ods("".join(map(ods_row, ROWS)))) == ROWS
    assert is_workbook(xlsx(ROWS))
    assert not is_workbook(b"code,name")


def test_rows_keep_their_number_in_the_sheet() -> None:
    rows = workbook_rows(xlsx([[], [], ["a"]]))
    assert [(row.line, row.blank) for row in rows] == [(1, True), (2, True), (3, False)]


def test_a_sheet_is_found_by_its_name_or_the_names_there_are_told() -> None:
    assert texts(xlsx(ROWS, title="Products"), "Products") == ROWS
    assert told(xlsx(ROWS, title="Products"), "Items") == 'there is no sheet "Items". Its sheets are "Products".'


def test_a_hidden_sheet_is_not_taken_for_the_first() -> None:
    book = openpyxl.Workbook()
    book.active.sheet_state = "hidden"
    book.create_sheet("Shown").append(["code"])
    target = io.BytesIO()
    book.save(target)
    assert texts(target.getvalue()) == [["code"]]


def test_dates_numbers_and_truth_values_come_as_typed() -> None:
    (row,) = workbook_rows(xlsx([[datetime.date(2027, 3, 1), 7.5, True, 18]]))
    assert [(cell.text, bool(cell.turned)) for cell in row.cells] == [
        ("2027-03-01", True), ("7.5", True), ("true", True), ("18", False),
    ]  # fmt: skip


def test_a_number_that_is_shown_in_per_cent_is_a_share_as_it_is_read_there() -> None:
    """ECMA-376 part 1: formats 9 and 10 are "0%" and "0.00%" (18.8.30), a sign in quotes is only shown (18.8.31)."""
    target = io.BytesIO()
    with xlsxwriter.Workbook(target) as book:
        sheet = book.add_worksheet()
        looks = (9, 10, "0.0 %", "[Red]0%;-0%", 0, '0"%"', "0\\%", "#,##0.00")
        for at, look in enumerate(looks):
            sheet.write_number(0, at, 0.055, book.add_format({"num_format": look}))
        percent = book.add_format({"num_format": 9})
        sheet.write_string(1, 0, "0.2", percent)
        sheet.write_formula(1, 1, "=1/5", percent, 0.2)
        sheet.write_blank(1, 2, None, percent)
        sheet.write_number(1, 3, 0.07, percent)
    assert texts(target.getvalue())[0] == ["5.5 %"] * 4 + ["0.055"] * 4
    assert texts(target.getvalue())[1][:4] == ["0.2", "20 %", "", "7 %"]
    stored = workbook_rows(target.getvalue(), as_shown=False)
    assert {cell.text for cell in stored[0].cells} == {"0.055"}


def test_so_is_one_of_an_open_document_also_where_it_is_repeated() -> None:
    """A value of the type "percentage" is stored as a fraction (OpenDocument 1.3; from memory)."""
    percent = (
        '<table:table-cell office:value-type="percentage" office:value="0.2"{}><text:p>20%</text:p></table:table-cell>'
    )
    row = "<table:table-row{}>" + percent.format(' table:number-columns-repeated="2"') + "</table:table-row>"
    content = ods(ods_row(["tax", "more"]) + row.format(' table:number-rows-repeated="2"') + ods_row(["0.2"]))
    assert texts(content) == [["tax", "more"], ["20 %", "20 %"], ["20 %", "20 %"], ["0.2", ""]]


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "it is not a workbook"),
        (PNG, "it is not a workbook"),
        (b"PK\x03\x04" + b"\0" * 40, "the workbook is damaged"),
        (xlsx(ROWS)[:-40], "the workbook is damaged"),
        (zipped({"a.txt": "x"}), "the workbook is damaged"),
        (zipped({"content.xml": "<a>", "mimetype": "x"}), "the workbook is damaged"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "of the old kind (.xls)"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1\0" + "EncryptedPackage".encode("utf-16-le"), "locked with a password"),
        (ods("", manifest="<manifest:encryption-data/>"), "locked with a password"),
    ],
)
def test_what_is_no_workbook_that_can_be_read_is_told(content: bytes, words: str) -> None:
    assert words in told(content)


def test_a_zip_that_unpacks_beyond_measure_is_refused_before_it_is_unpacked() -> None:
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", b" " * 50_000_000)
        for number in range(4):
            archive.writestr(f"xl/worksheets/x{number}.xml", b" " * 40_000_000)
    tracemalloc.start()
    assert "unpacks to more than any sheet needs" in told(target.getvalue())
    assert tracemalloc.get_traced_memory()[1] < 10_000_000  # bytes; unpacked it would be 210 million
    tracemalloc.stop()
    assert len(target.getvalue()) < bounds.UNPACKED_BYTES / 500


def test_a_part_that_lies_about_its_size_is_cut_off_there() -> None:
    """The size in the directory is changed; the reader must not unpack more than that."""
    honest = zipped({"xl/worksheets/sheet1.xml": b"<a>" + b" " * 1_000_000 + b"</a>"})
    lie = honest.replace((1_000_007).to_bytes(4, "little"), (7).to_bytes(4, "little"))
    assert lie != honest
    assert "the workbook is damaged" in told(lie)


def test_a_document_type_and_its_entities_are_refused() -> None:
    bomb = '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
    assert "document type" in told(ods(ods_row(["&b;"]), head=bomb + "<x"))
    with_type = repacked(xlsx(ROWS), "xl/worksheets/sheet1.xml", ("<worksheet", bomb + "<worksheet"))
    assert "document type" in told(with_type)


def test_a_cell_in_the_last_corner_does_not_make_an_enormous_table() -> None:
    """An XLSX sheet ends at XFD1048576, 17 thousand million cells (ECMA-376 leaves it to programs; from memory)."""
    for reference in ("XFD1048576", "xfd1048576", "&#88;FD1048576"):
        far = repacked(xlsx(ROWS), "xl/worksheets/sheet1.xml", ('r="A2"', f'r="{reference}"'))
        assert "so far out" in told(far)
    assert "damaged" in told(repacked(xlsx(ROWS), "xl/worksheets/sheet1.xml", ('r="A2"', 'r="ZZZZ99999999"')))


def test_repeated_cells_of_an_open_document_are_counted() -> None:
    rows = '<table:table-row table:number-rows-repeated="1048576">{}</table:table-row>'
    empty = rows.format('<table:table-cell table:number-columns-repeated="16384"/>')
    assert texts(ods(ods_row(["a"]) + empty)) == [["a"]]
    assert "so far out" in told(ods(empty + ods_row(["a"]) + ods_row(["a"] * 5)))
    many = ods_row(["a" * 1000]).replace("<table:table-row", '<table:table-row table:number-rows-repeated="90000"')
    assert "more text than any sheet needs" in told(ods(many))
    spaces = ods_row(["a"]).replace("<text:p>a", '<text:p><text:s text:c="999999999"/>')
    assert "more text than any sheet needs" in told(ods(spaces))
    assert "damaged" in told(ods(empty.replace("1048576", "99999999999999")))


def test_a_long_text_named_by_many_cells_is_counted_as_often_as_it_is_named() -> None:
    cells = "".join(f'<c r="A{row}" t="s"><v>0</v></c>' for row in range(1, 9000))
    book = zipped({
        "xl/worksheets/sheet1.xml": f"<worksheet>{cells}</worksheet>",
        "xl/sharedStrings.xml": f"<sst><si><t>{'x' * 30_000}</t></si></sst>",
    })  # fmt: skip
    assert len(book) < 50_000
    assert "more text than any sheet needs" in told(book)


@settings(deadline=None, max_examples=50)
@given(st.data())
def test_a_workbook_with_any_bytes_changed_is_read_or_told(data: st.DataObject) -> None:
    """Parts are changed inside the ZIP, so that the changes reach the readers behind it."""
    sound = data.draw(st.sampled_from([xlsx(ROWS), ods("".join(map(ods_row, ROWS)))]))
    with zipfile.ZipFile(io.BytesIO(sound)) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    name = data.draw(st.sampled_from(sorted(parts)))
    at = data.draw(st.integers(0, len(parts[name])))
    parts[name] = parts[name][:at] + data.draw(st.binary(max_size=8)) + parts[name][at + data.draw(st.integers(0, 8)) :]
    try:
        workbook_rows(zipped(parts))
    except FieldError as fault:
        assert fault.message


def test_a_formula_without_its_result_is_told_from_an_empty_cell() -> None:
    """openpyxl writes formulas and works nothing out; every spreadsheet program stores what came of them."""
    (_, row) = workbook_rows(xlsx([["code", "retail", "note"], ["A-1", "=2*3.5", None]]))
    assert [(cell.text, cell.turned == UNWORKED) for cell in row.cells] == [
        ("A-1", False), ("=2*3.5", True), ("", False),
    ]  # fmt: skip
    target = io.BytesIO()
    with xlsxwriter.Workbook(target) as book:
        book.add_worksheet().write_formula("A1", "=2*3.5", None, 7)
    assert texts(target.getvalue()) == [["7"]]


def test_a_formula_whose_result_is_an_empty_text_has_one() -> None:
    """As spreadsheet programs store `=IF(A1="","","kept")`: a text without letters."""
    cells = '<c r="A1" t="str"><f>IF(1,"","a")</f><v></v></c><c r="B1" t="str"><f>""</f><v/></c><c r="C1"><v>7</v></c>'
    with zipfile.ZipFile(io.BytesIO(xlsx([["code"]]))) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    parts["xl/worksheets/sheet1.xml"] = (
        '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
        f'<row r="1">{cells}</row></sheetData></worksheet>'
    ).encode()
    (row,) = workbook_rows(zipped(parts))
    assert [(cell.text, cell.turned == UNWORKED) for cell in row.cells] == [("", False), ("", False), ("7", False)]


def test_an_error_is_told_from_an_empty_cell() -> None:
    """As programs store them: ECMA-376 part 1, 18.18.11 (t="e"); an ODS as LibreOffice 7 saves one, seen there."""
    target = io.BytesIO()
    with xlsxwriter.Workbook(target) as book:
        book.add_worksheet().write_formula("A1", "=NA()", None, "#N/A")
    failed = (
        '<table:table-cell table:formula="of:=1/0" office:value-type="string" office:string-value="">'
        "<text:p>#DIV/0!</text:p></table:table-cell>"
    )
    sheets = target.getvalue(), ods(f"<table:table-row>{failed}</table:table-row>"), xlsx([["#REF!"]])
    cells = [cell for content in sheets for row in workbook_rows(content) for cell in row.cells]
    assert [(cell.text, cell.turned) for cell in cells] == [(text, FAILED) for text in ("#N/A", "#DIV/0!", "#REF!")]


def test_formulas_are_those_of_the_sheet_that_is_read() -> None:
    book = openpyxl.Workbook()
    book.active.append(["code", "cost"])
    book.active.append(["A-1", "=1+1"])
    other = book.create_sheet("Other", 0)
    other.append(["A", "B"])
    other.append(["C", "D"])
    target = io.BytesIO()
    book.save(target)
    assert texts(target.getvalue(), "Other") == [["A", "B"], ["C", "D"]]
    assert texts(target.getvalue(), "Sheet") == [["code", "cost"], ["A-1", "=1+1"]]
