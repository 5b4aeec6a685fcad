"""A sheet read in slices gives the same cells as read at once, wherever it is cut, in the same memory however long."""

import io
import subprocess
import sys
import zipfile
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from python_calamine import CalamineWorkbook

from listkit.write.xlsx_feed import SheetColumn, SheetForm, damaged_part, sheet_parts, sheet_rows, write_sheet

FORM = SheetForm("feed", (SheetColumn(), SheetColumn()), header=False)
SHEET = "xl/worksheets/sheet1.xml"


def written(path: Path, rows: list[tuple[str, str]]) -> Path:
    path.unlink(missing_ok=True)
    write_sheet(path, rows, FORM)
    return path


def filled(rows: list[tuple[object, ...]]) -> dict[tuple[int, int], object]:
    """What stands where, without empty cells."""
    return {(at, column): cell for at, row in enumerate(rows) for column, cell in enumerate(row) if cell != ""}


def test_wherever_a_sheet_is_cut_the_same_cells_come_out_as_from_the_whole(tmp_path: Path) -> None:
    rows = [("", ""), ("A </row> & <sheetData>", ""), ("", ""), ("", "x"), ("", ""), *[(f"{n}", "") for n in range(40)]]
    path = written(tmp_path / "a.xlsx", rows)
    whole = CalamineWorkbook.from_path(path).get_sheet_by_index(0).to_python(skip_empty_area=False)
    for size in (1, 7, 100, 401, 1000, 5000, 10_000_000):
        assert filled(list(sheet_rows(path, size))) == filled([tuple(row) for row in whole]), size


@settings(max_examples=12, deadline=None)
@given(rows=st.lists(st.tuples(st.text("a<>&/row \n", max_size=9), st.text("é😀", max_size=3)), max_size=12))
def test_any_rows_come_back_in_slices_of_any_size(
    tmp_path_factory: pytest.TempPathFactory, rows: list[tuple[str, str]]
) -> None:
    path = written(tmp_path_factory.getbasetemp() / "any.xlsx", rows)
    for size in (300, 900):
        assert filled(list(sheet_rows(path, size))) == filled(list(rows))


def test_a_sheet_without_rows_is_read_as_it_is() -> None:
    assert list(sheet_parts(io.BytesIO(b"<worksheet><sheetData/></worksheet>"), 10)) == [
        b"<worksheet><sheetData/></worksheet>"
    ]


def test_a_row_longer_than_a_slice_is_not_cut_within() -> None:
    sheet = b"<w><sheetData><row>" + b"x" * 50 + b"</row><row>y</row></sheetData></w>"
    parts = list(sheet_parts(io.BytesIO(sheet), 20))
    assert all(part.startswith(b"<w><sheetData><row>") and part.count(b"<row>") == part.count(b"</row>")
               for part in parts[:-1])  # fmt: skip
    assert b"".join(part.removeprefix(b"<w><sheetData>").removesuffix(b"</sheetData></worksheet>")
                    for part in parts) == sheet.removeprefix(b"<w><sheetData>")  # fmt: skip


def test_a_row_that_stands_behind_a_later_one_is_told(tmp_path: Path) -> None:
    path = written(tmp_path / "a.xlsx", [(f"{number}", "") for number in range(60)])
    with zipfile.ZipFile(path) as parts:
        contents = {name: parts.read(name) for name in parts.namelist()}
    head, _, rest = contents[SHEET].partition(b'<row r="30">')
    first = head.partition(b"<sheetData>")[0] + b"<sheetData>"
    contents[SHEET] = (
        first
        + b'<row r="30">'
        + rest.partition(b"</sheetData>")[0]
        + head.removeprefix(first)
        + (b"</sheetData>" + rest.partition(b"</sheetData>")[2])
    )
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as parts:
        for name, content in contents.items():
            parts.writestr(name, content)
    with pytest.raises(ValueError, match="stands behind row"):
        list(sheet_rows(path, 500))


def test_more_sheets_than_one_are_told(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    book = openpyxl.Workbook()
    book.create_sheet("second")
    book.save(path)
    with pytest.raises(ValueError, match="it has 2 sheets"):
        list(sheet_rows(path))


def test_packed_bytes_without_their_end_mark_are_damaged_though_zipfile_takes_them(tmp_path: Path) -> None:
    path = written(tmp_path / "a.xlsx", [("a", "b")])
    with zipfile.ZipFile(path) as parts:
        part = parts.getinfo(SHEET)
    content = bytearray(path.read_bytes())
    content[part.header_offset + 30 + len(SHEET)] ^= 1  # BFINAL, the first bit of RFC 1951's blocks
    path.write_bytes(content)
    with zipfile.ZipFile(path) as parts:
        assert parts.testzip() is None
    assert damaged_part(path) == SHEET


MEASURE = """
import sys
from pathlib import Path
from listkit.write.xlsx_feed import sheet_rows
def most(): return int(Path("/proc/self/status").read_text().split("VmHWM:")[1].split()[0])
begin = most()
for _ in sheet_rows(Path(sys.argv[1]), 200_000): pass
print(most() - begin)
"""


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="only Linux tells the most memory held in /proc")
def test_ten_times_the_rows_take_no_more_memory(tmp_path: Path) -> None:
    """The reader's own memory is not Python's; the kernel tells it. Read at once, the longer one takes 12 MB more."""
    kilobytes = []
    for rows in (5_000, 50_000):
        cells = [(f"code {number}", "a text of some length " * 4) for number in range(rows)]
        path = written(tmp_path / f"{rows}.xlsx", cells)
        run = subprocess.run([sys.executable, "-c", MEASURE, str(path)], check=True, capture_output=True, text=True)
        kilobytes.append(int(run.stdout))
    assert kilobytes[1] < kilobytes[0] + 3_000, kilobytes
