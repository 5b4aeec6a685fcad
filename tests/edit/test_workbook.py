"""Cells of a workbook: our reader sees that cell changed and nothing else, openpyxl reads it, other parts stay.

Workbooks are those of openpyxl and xlsxwriter, and sheets written by hand as ECMA-376 (Part 1, 18.3) allows them.
"""

import io
import re
import time
import tracemalloc
import warnings
import zipfile
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import openpyxl
import pytest
import xlsxwriter  # type: ignore[import-untyped]
from hypothesis import given
from hypothesis import strategies as st
from openpyxl.utils.escape import unescape

from listkit import bounds
from listkit.edit.workbook import with_workbook_cells
from listkit.problem import FieldError
from listkit.read.sheet import workbook_rows
from tests.shops import ods, ods_row, xlsx, zipped

ROWS: list[list[object]] = [
    ["code", "name", "retail"],
    ["B01", "Bar", 7.5],
    ["B02", None, 9],
    [],
    ["B03", "Jar & Lid", 10],
]
SHEET = "xl/worksheets/sheet1.xml"


def parts_of(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def texts(content: bytes, sheet: str = "") -> list[list[str]]:
    return [[cell.text for cell in row.cells] for row in workbook_rows(content, sheet)]


def with_part(content: bytes, part: str, old: str, new: str) -> bytes:
    parts = parts_of(content)
    assert old.encode() in parts[part], parts[part]
    return zipped({**parts, part: parts[part].replace(old.encode(), new.encode(), 1)})


def by_xlsxwriter(fill: Callable[[Any], None]) -> bytes:
    target = io.BytesIO()
    with xlsxwriter.Workbook(target) as book:
        fill(book)
    return target.getvalue()


def two_sheets(*formulas: str, own: str = "") -> Callable[[Any], None]:
    """Return what fills a workbook with a sheet of items and one of sums, whose stored results are 41, 42 ..."""

    def fill(book: Any) -> None:
        items, sums = book.add_worksheet("Items"), book.add_worksheet("Sums")
        price = book.add_format({"num_format": "0.00", "bold": True})
        for number, row in enumerate(ROWS):
            for column, value in enumerate(row):
                items.write(number, column, value, price if column == 2 and number else None)
        for number, formula in enumerate(formulas):
            sums.write_formula(number, 0, formula, value=41 + number)
        if own:
            items.write_formula(7, 3, own, value=99)

    return fill


def refused(content: bytes, number: int = 2, column: int = 2) -> str:
    with pytest.raises(FieldError) as fault:
        with_workbook_cells(content, "", number, {column: "x"})
    return f"{fault.value.message} {fault.value.hint}"


@pytest.mark.parametrize("content", [xlsx(ROWS), by_xlsxwriter(two_sheets("=1+1", "=A1*2"))])
@given(
    place=st.tuples(st.integers(1, 8), st.integers(0, 5)),
    value=st.one_of(
        st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=8).map(str.strip),
        st.decimals(0, 9999, places=2).map(lambda number: number.normalize()),
        st.sampled_from(["a\nb", "<&>\"']]>", "_x0041_", "=1+1", "0012", ""]),
    ),
)
def test_the_view_before_and_after_differs_in_that_cell_alone(
    content: bytes, place: tuple[int, int], value: str | Decimal
) -> None:
    number, column = place
    changed = with_workbook_cells(content, "", number, {column: value})
    before, after = parts_of(content), parts_of(changed)
    assert {name: part for name, part in after.items() if name != SHEET} == {
        name: part for name, part in before.items() if name != SHEET
    }
    wanted = [row + [""] * (6 - len(row)) for row in texts(content)]
    wanted += [[""] * 6 for _ in range(number - len(wanted))]
    wanted[number - 1][column] = f"{value:f}" if isinstance(value, Decimal) else value
    read = [row + [""] * (6 - len(row)) for row in texts(changed)]
    read += [[""] * 6 for _ in range(len(wanted) - len(read))]
    assert read == wanted
    cell = openpyxl.load_workbook(io.BytesIO(changed)).worksheets[0].cell(number, column + 1)
    if isinstance(value, Decimal):
        assert cell.value == float(value)
    elif not value.startswith("="):  # openpyxl takes such a text for a formula; it is stored as a text
        assert unescape(str(cell.value or "")) == value  # of _x0041_, as spreadsheets show it


def test_a_cell_keeps_its_looks_and_a_new_one_has_those_of_the_cell_above() -> None:
    content = by_xlsxwriter(two_sheets("=1+1"))
    changed = with_workbook_cells(content, "Items", 2, {2: Decimal("8.25")})
    changed = with_workbook_cells(changed, "Items", 6, {0: "B04", 2: Decimal(11)})
    sheet = openpyxl.load_workbook(io.BytesIO(changed))["Items"]
    assert [(cell.value, cell.number_format, cell.font.b) for cell in (sheet["C2"], sheet["C6"])] == [
        (8.25, "0.00", True), (11, "0.00", True)
    ]  # fmt: skip
    assert sheet["A6"].value == "B04"


def test_results_of_formulas_elsewhere_stay_stored() -> None:
    content = by_xlsxwriter(two_sheets("=1+1", "=A1*2", "=SUM(Sums!A1:A2)"))
    changed = with_workbook_cells(content, "Items", 2, {2: Decimal(8)})
    sums = openpyxl.load_workbook(io.BytesIO(changed), data_only=True)["Sums"]
    assert [sums.cell(number, 1).value for number in (1, 2, 3)] == [41, 42, 43]


def test_a_cell_with_a_formula_is_left_to_the_owner() -> None:
    content = by_xlsxwriter(two_sheets(own="=TODAY()"))
    assert refused(content, 8, 3) == (
        "it holds a formula, so D8 cannot be changed here. Change D8 in your own program."
    )
    assert texts(with_workbook_cells(content, "", 2, {1: "New"}))[1][1] == "New"
    shared = with_part(xlsx(ROWS), SHEET, "<v>9</v>", '<f t="array" ref="A2:C3">{1}</f><v>9</v>')
    assert "holds a formula" in refused(shared, 2, 0)


@pytest.mark.parametrize(
    "formula",
    [
        "=Items!C2", "='Items'!C2*2", "=SUM(Items!C:C)", "=items!c2", '=INDIRECT("Items!C2")', "=SUM(Items:Sums!A1)",
        "=Prices", "=Table1[retail]",
    ],
)  # fmt: skip
def test_a_formula_of_another_sheet_that_may_go_by_this_one_forbids_it(formula: str) -> None:
    def fill(book: Any) -> None:
        two_sheets(formula)(book)
        book.define_name("Prices", "=Items!$C$2:$C$5")

    assert 'a formula goes by what the sheet "Items" holds' in refused(by_xlsxwriter(fill))


@pytest.mark.parametrize("formula", ["=C2*2", "=SUM(C:C)", "=SUM(2:2)", "=$C$2", "=LOOKUP(1,A1:A9)"])
def test_a_formula_of_the_sheet_itself_forbids_it(formula: str) -> None:
    assert 'a formula goes by what the sheet "Items" holds' in refused(by_xlsxwriter(two_sheets(own=formula)))


def test_a_protected_or_signed_workbook_and_joined_cells_are_left_to_the_owner() -> None:
    def protected(book: Any) -> None:
        two_sheets()(book)
        book.worksheets()[0].protect()

    def joined(book: Any) -> None:
        two_sheets()(book)
        book.worksheets()[0].merge_range("B7:C8", "both")

    assert "the sheet is protected" in refused(by_xlsxwriter(protected))
    assert "it is joined with others" in refused(by_xlsxwriter(joined), 7, 2)
    assert texts(with_workbook_cells(by_xlsxwriter(joined), "", 7, {1: "x"}))[6][1] == "x"
    assert "or signed" in refused(zipped({**parts_of(xlsx(ROWS)), "_xmlsignatures/sig1.xml": "<x/>"}))


@pytest.mark.parametrize(
    "data",
    [
        "<sheetData/>",
        '<sheetData><row r="2"/><row r="5"></row></sheetData>',
        '<sheetData><row><c t="inlineStr"><is><t>A</t></is></c></row><row/><row r="3"><c r="C3"/></row></sheetData>',
        '<sheetData><row r="2"><c r="A2"/><c r="B2"/></row><row r="3"><c r="A3"><v>1</v></c></row></sheetData>',
        '<sheetData><row r="2"><c r="B2"/></row></sheetData>',
        '<sheetData ><row r="2" spans="1:1" x="12>5"><c r="A2" s=\'0\'><v>1</v></c ></row ></sheetData >',
        '<sheetData><!-- <c r="B2"/> --><row r="2"><c r="C2"/></row></sheetData>',
    ],
)
def test_sheets_may_be_written_in_many_ways(data: str) -> None:
    parts = parts_of(xlsx([]))
    sheet = parts[SHEET].decode()
    written = re.sub(r"<sheetData ?/>|<sheetData></sheetData>", lambda _: data, sheet)
    assert data in written
    content = zipped({**parts, SHEET: written})
    before = {(at, column): text for at, row in enumerate(texts(content)) for column, text in enumerate(row) if text}
    changed = with_workbook_cells(content, "", 2, {1: "new"})
    after = {(at, column): text for at, row in enumerate(texts(changed)) for column, text in enumerate(row) if text}
    assert after == {**before, (1, 1): "new"}
    assert openpyxl.load_workbook(io.BytesIO(changed)).worksheets[0]["B2"].value == "new"


def test_prefixes_of_names_are_kept() -> None:
    parts = parts_of(xlsx([["a", "b"]]))
    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    row = '<x:row r="1"><x:c r="A1"><x:v>1</x:v></x:c></x:row>'
    sheet = f'<x:worksheet xmlns:x="{main}"><x:sheetData>{row}</x:sheetData></x:worksheet>'
    changed = with_workbook_cells(zipped({**parts, SHEET: sheet}), "", 1, {1: "new"})
    assert texts(changed) == [["1", "new"]]


# Workbooks of strangers: the walls of reading come first.


def bomb() -> bytes:
    return zipped({**parts_of(xlsx(ROWS)), "xl/media/big.xml": b"<x>" + b" " * (bounds.UNPACKED_BYTES + 1) + b"</x>"})


def twice() -> bytes:
    target = io.BytesIO(xlsx(ROWS))
    with zipfile.ZipFile(target, "a") as packed, warnings.catch_warnings(action="ignore"):
        packed.writestr(SHEET, b"<worksheet/>")
    return target.getvalue()


def with_picture(flags: int, packing: int) -> bytes:
    """Return a workbook with a picture that says of itself in both its heads how it is packed (APPNOTE.TXT, 4.4)."""
    target = bytearray(zipped({**parts_of(xlsx(ROWS)), "xl/media/image1.png": b"picture"}))
    for sign, at in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        head = target.rindex(sign, 0, target.rindex(b"xl/media") if sign[2] == 1 else target.index(b"xl/media"))
        target[head + at : head + at + 4] = flags.to_bytes(2, "little") + packing.to_bytes(2, "little")
    return bytes(target)


@pytest.mark.parametrize(
    "content",
    [
        lambda: with_picture(1, 8), lambda: with_picture(0, 99), lambda: with_picture(0, 14),
        b"", b"PK\x03\x04", b"code;name\n", bomb, twice, lambda: ods(ods_row(["code", "name"])),
        lambda: with_part(xlsx(ROWS), SHEET, "<worksheet", '<!DOCTYPE x [<!ENTITY a "aa">]><worksheet'),
        lambda: zipped({**parts_of(xlsx(ROWS)), SHEET: parts_of(xlsx(ROWS))[SHEET].decode().encode("utf-16")}),
        lambda: with_part(xlsx(ROWS), SHEET, "</sheetData>", ""),
        lambda: with_part(xlsx(ROWS), "xl/_rels/workbook.xml.rels", "worksheets/sheet1.xml", "worksheets/gone.xml"),
        lambda: xlsx(ROWS)[:-40],
    ],
)  # fmt: skip
@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_what_is_no_sound_workbook_is_told(content: bytes | Callable[[], bytes]) -> None:
    with pytest.raises(FieldError):
        with_workbook_cells(content if isinstance(content, bytes) else content(), "", 2, {1: "x"})


@pytest.mark.parametrize("value", ["\0", "a\x07", "\ud800", "\ufffe", "x" * 40_000])
def test_what_no_cell_can_hold_is_told(value: str) -> None:
    with pytest.raises(FieldError, match="cannot hold this text"):
        with_workbook_cells(xlsx(ROWS), "", 2, {1: value})


def test_a_long_text_of_a_formula_and_many_cells_cost_no_more_than_they_are_large() -> None:
    many = "".join(f'<row r="{number}"><c r="A{number}"/></row>' for number in range(10, 50_000))
    content = with_part(xlsx(ROWS), SHEET, "</sheetData>", f"{many}</sheetData>")
    content = with_part(content, SHEET, "<v>9</v>", f"<f>{'1+' * 500_000}1</f><v>9</v>")
    tracemalloc.start()
    with_workbook_cells(content, "", 2, {1: "x"})
    assert tracemalloc.get_traced_memory()[1] < 30_000_000
    tracemalloc.stop()


@pytest.mark.parametrize("formula", ["a" * 400_000, f"'{':' * 400_000}'"])
def test_a_long_name_in_a_formula_of_another_sheet_is_walked_along_once(formula: str) -> None:
    """It took 0.45 s for 20,000 letters, and four times as much for twice as many."""
    content = with_part(by_xlsxwriter(two_sheets("1+1")), "xl/worksheets/sheet2.xml", "<f>1+1</f>", f"<f>{formula}</f>")
    began = time.process_time()
    assert with_workbook_cells(content, "Items", 2, {1: "x"})
    assert time.process_time() - began < 3
