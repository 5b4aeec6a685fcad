"""Workbooks that are no small ones are read in a process with limits: nothing in them can end the program.

What strangers upload is unpacked and parsed within bounds of its own (OWASP, File Upload Cheat Sheet: "ZIP bombs",
"run the file through ... in a sandbox"); ECMA-376 part 1, 18.3.1 and 18.4 set no bounds for elements and shared texts.
"""

import io
import subprocess
import time
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter  # type: ignore[import-untyped]

from listkit import bounds
from listkit.actions.own_sheet import read_own_sheet
from listkit.limited import BOUNDS_PROCESSES, Limits, run_limited
from listkit.problem import FieldError
from listkit.read import sheet
from listkit.read.sheet import (
    Sheets,
    Wanted,
    sheets_as_json,
    sheets_from_json,
    sheets_here,
    workbook_rows,
    workbook_sheets,
)
from listkit.read.workbook_parts import WHOLE, Measure, Parts
from tests.shops import ods, ods_row, xlsx, zipped

pytestmark = pytest.mark.skipif(not BOUNDS_PROCESSES, reason="this system bounds no process by itself")
HEADINGS = ["Code", "Name", "Retail", "Cost", "Weight (g)", "Size (mm)"]
_R = b'xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"'
TOO_MUCH = "the workbook takes more time or memory than any sheet needs."


def with_part(content: bytes, part: str, change: Callable[[bytes], bytes]) -> bytes:
    """Return a workbook with one of its parts changed, packed small."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    parts[part] = change(parts[part])
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        for name, text in parts.items():
            archive.writestr(name, text)
    return target.getvalue()


def told(content: bytes) -> str:
    with pytest.raises(FieldError) as caught:
        workbook_rows(content)
    assert caught.value.hint
    return caught.value.message


@pytest.fixture
def started(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Return a list that gets a word for each process that is started."""
    begun: list[str] = []
    start = subprocess.Popen

    def counted(*args: Any, **more: Any) -> Any:
        begun.append("one")
        return start(*args, **more)

    monkeypatch.setattr(subprocess, "Popen", counted)
    return begun


def test_a_workbook_as_owners_have_them_starts_no_process(started: list[str]) -> None:
    rows = workbook_rows(xlsx([HEADINGS, *([f"B-{at}", "Bar", 6.5, 1.7, 100, "80 x 55 x 25"] for at in range(300))]))
    assert (len(rows), started) == (301, [])


def test_a_large_one_has_the_same_rows_from_its_own_process(started: list[str]) -> None:
    """Dates, shares, truth values, formulas and numbers come back as they are read here."""
    kinds: list[object] = ["a", "", None, 1.5, 10**16, True, "2027-03-01", "1e5", "é\u202f€", "=1+1"]
    content = xlsx([kinds, *([f"B-{at}", at / 7, "x" * 50, at] for at in range(16_000))])
    rows = workbook_rows(content)
    assert started == ["one"]
    assert [("Items", rows)] == sheets_here(content, Wanted(), WHOLE)
    assert rows[0].cells[4].turned == "a number with digits lost"


def test_what_is_wrong_with_one_sheet_or_all_is_told_as_it_is_here() -> None:
    sheets: Sheets = [("a", workbook_rows(xlsx([["b", 1.5]]))), ("c", FieldError("it is damaged.", "Save it."))]
    back = sheets_from_json(sheets_as_json(sheets))
    assert back[0] == sheets[0]
    assert str(back[1][1]) == str(sheets[1][1])
    large = xlsx([["b"], *(["x" * 100] for _ in range(20_000))])
    with pytest.raises(FieldError, match='there is no sheet "prices"') as caught:
        workbook_rows(large, "prices")
    assert caught.value.hint == 'Its sheets are "Items".'


@pytest.mark.parametrize(
    ("part", "change"),
    [
        (
            "xl/worksheets/sheet1.xml",
            lambda part: part.replace(b"</sheetData>", b"</sheetData>" + b"<a/>" * 8_000_000),
        ),
        ("xl/worksheets/sheet1.xml", lambda part: part.replace(b"<sheetData>", b"<a>" * 4_000_000)),
        ("xl/workbook.xml", lambda part: part.replace(b"</sheets>", b'<sheet name="a"/>' * 4_000_000 + b"</sheets>")),
    ],
    ids=["elements", "depth", "names"],
)
def test_what_takes_minutes_or_gigabytes_ends_its_own_process_alone(
    part: str, change: Callable[[bytes], bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Read in the program itself, five times as many took a minute or 2.4 GB; limits are as much smaller here."""
    monkeypatch.setattr(sheet, "_LIMITS", Limits(200_000_000, 1, patience=100))
    content = with_part(xlsx([HEADINGS]), part, change)
    began = time.process_time()
    assert told(content) == TOO_MUCH
    assert time.process_time() - began < 2  # of this process


@pytest.mark.parametrize("wrong", [False, True], ids=["sound", "too much"])
def test_a_large_one_that_is_asked_for_again_is_not_read_again(started: list[str], wrong: bool) -> None:
    """A check opens a table several times: what takes eight seconds each time took forty."""
    content = xlsx([HEADINGS, *([f"B-{at}", "Bar", 6.5, 1.7, 100, wrong] for at in range(16_000))])
    if wrong:
        cells = b"<row>" + b"<c><v>1</v></c>" * 400 + b"</row>"
        content = with_part(
            content, "xl/worksheets/sheet1.xml", lambda part: part.replace(b"</sheetData>", cells * 3_000)
        )
    seen = [told(content) if wrong else workbook_rows(content) for _ in range(3)]
    assert (seen[0] == seen[1] == seen[2], started) == (True, ["one"])


def test_cells_that_name_no_place_are_counted() -> None:
    """Row and reference are optional, the next place is meant (ECMA-376 part 1, 18.3.1.4 and 18.3.1.73)."""
    row = b"<row>" + b"<c><v>1</v></c>" * 6 + b"</row>"

    def with_rows(count: int) -> bytes:
        put = row * count + b"</sheetData>"
        return with_part(xlsx([HEADINGS]), "xl/worksheets/sheet1.xml", lambda part: part.replace(b"</sheetData>", put))

    assert [line.line for line in workbook_rows(with_rows(3))] == [1, 2, 3, 4]
    assert told(with_rows(bounds.TABLE_ROWS)) == f"a sheet has more than {bounds.TABLE_ROWS} rows."


def test_cells_in_one_place_are_counted_each() -> None:
    """They stretch no rectangle, and cost as much as any others."""
    parts, cells = Parts(Measure(unpacked=10**9, cells=1_000, letters=10**9)), '<c r="A1"><v>1</v></c>'
    parts.check("xl/worksheets/sheet1.xml", f"<sheetData>{cells * 600}</sheetData>".encode())
    with pytest.raises(FieldError, match="1000 cells together"):
        parts.check("xl/worksheets/sheet2.xml", f"<sheetData>{cells * 600}</sheetData>".encode())
    with pytest.raises(FieldError, match="so far out"):
        Parts(Measure(10**9, 1_000, 10**9)).check("xl/worksheets/sheet1.xml", f"<a>{cells * 1_001}</a>".encode())


def test_rows_of_an_open_document_are_counted_as_often_as_they_are_repeated() -> None:
    row = ods_row([1.5]).replace("<table:table-row", '<table:table-row table:number-rows-repeated="60000"')
    assert len(workbook_rows(ods(row))) == 60_000
    assert told(ods(row * 2)) == f"a sheet has more than {bounds.TABLE_ROWS} rows."


def test_spaces_of_an_open_document_are_letters() -> None:
    """One mark stands for up to 10,000 (OpenDocument 1.3 part 3, 6.1.3): four million of them took all memory."""
    spaces = ods_row(["a"]).replace("<text:p>a", "<text:p>" + '<text:s text:c="10000"/>' * 6_000)
    assert told(ods(spaces)) == "the workbook unpacks to more text than any sheet needs."


def test_sheets_of_an_open_document_are_counted_together() -> None:
    """The reader lays out all of them, whichever is wanted."""
    row = ods_row([1.5] * 100).replace("<table:table-row", '<table:table-row table:number-rows-repeated="900"')
    next_sheet = '</table:table><table:table table:name="{}">'
    assert len(workbook_rows(ods(row + next_sheet.format("b") + row))) == 900
    many = "".join(next_sheet.format(at) + row for at in range(12))
    assert told(ods(row + many)) == "a cell stands so far out that the sheet is too large to read."


def test_sheets_that_are_the_same_part_are_counted_as_often_as_they_are_read() -> None:
    content = xlsx([[1.5] * 20 for _ in range(6_000)])
    again = b"".join(b'<sheet %s name="S%d" sheetId="%d" r:id="rId1"/>' % (_R, at, at + 5) for at in range(12))
    content = with_part(content, "xl/workbook.xml", lambda part: part.replace(b"</sheets>", again + b"</sheets>"))
    assert len(workbook_rows(content, "S11")) == 6_000
    with pytest.raises(FieldError, match="1000000 cells together"):
        workbook_sheets(content, 30)


def test_a_workbook_of_a_sheet_a_month_is_read_once(tmp_path: Path) -> None:
    """It was unpacked and walked through once a sheet: 12 sheets of 1,000 rows took 3.8 s."""
    path = tmp_path / "stock.xlsx"
    book = xlsxwriter.Workbook(path)
    for month in range(12):
        page = book.add_worksheet(f"Month {month + 1}")
        for at, row in enumerate([HEADINGS, *([f"B-{n}", "Bar", 6.5, 1.7, 100, "80 x 55 x 25"] for n in range(1_000))]):
            page.write_row(at, 0, row)
    book.close()
    began = time.process_time()
    read = read_own_sheet(path)
    assert (read.sheet, len(read.table.rows)) == ("Month 1", 1_001)
    assert time.process_time() - began < 2.5


def test_a_process_that_cannot_go_on_is_told_in_one_sentence(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    content = xlsx([["b"], *(["x" * 100] for _ in range(20_000))])
    monkeypatch.setattr(sheet, "_LIMITS", Limits(bounds.WORKBOOK_MEMORY, bounds.WORKBOOK_SECONDS, patience=0))
    assert told(content) == TOO_MUCH
    monkeypatch.setattr(sheet, "_LIMITS", Limits(bounds.WORKBOOK_MEMORY, bounds.WORKBOOK_SECONDS, patience=60))
    broken = tmp_path / "worker.py"
    broken.write_text("raise ValueError('no reader')", encoding="utf-8")
    monkeypatch.setattr(sheet, "_WORKER", broken)
    assert told(content) == "workbooks cannot be read here: ValueError: no reader."


@pytest.mark.parametrize("name", ["xl/WorkSheets/sheet1.xml", "other/s.xml", "xl\\worksheets\\sheet1.xml"])
def test_a_sheet_that_lies_elsewhere_is_read_within_limits(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """ECMA-376 part 2, 6.2.2.3: names of parts are the same in any case; part 1, 12.3.24: a relation may
    name any part.

    Sheets are walked through where programs put them; a cell in the last corner of another went past that wall.
    """
    monkeypatch.setattr(sheet, "_LIMITS", Limits(400_000_000, 4, patience=100))
    content = xlsx([HEADINGS, ["B-1"]])
    far = with_part(content, "xl/worksheets/sheet1.xml", lambda part: part.replace(b'r="A2"', b'r="XFD1048576"'))
    for workbook, says in ((content, ""), (far, "the workbook")):
        with zipfile.ZipFile(io.BytesIO(workbook)) as archive:
            parts = {each: archive.read(each) for each in archive.namelist()}
        parts[name] = parts.pop("xl/worksheets/sheet1.xml")
        relations = "xl/_rels/workbook.xml.rels"
        if name == "other/s.xml":
            parts[relations] = parts[relations].replace(b"/xl/worksheets/sheet1.xml", b"/other/s.xml")
        if says:
            assert told(zipped(parts)).startswith(says)
        elif "\\" not in name:
            assert len(workbook_rows(zipped(parts))) == 2


@pytest.mark.parametrize(
    "text",
    ["x = b'a' * 900_000_000", "while True: pass", "import os; os.kill(os.getpid(), 6)"],
    ids=["memory", "time", "abort"],
)
def test_a_worker_is_ended_by_its_limits(tmp_path: Path, text: str) -> None:
    worker = tmp_path / "worker.py"
    worker.write_text(text, encoding="utf-8")
    assert run_limited(worker, {}, Limits(500_000_000, 1, patience=60)).took_too_much
