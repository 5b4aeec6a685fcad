"""Each XML part is looked through before a workbook is read."""

import pytest

from listkit.problem import FieldError
from listkit.read.workbook_parts import Measure, Parts

SHEET = '<worksheet xmlns="m"><sheetData>{}</sheetData></worksheet>'
CELL = '<c r="{}" t="s"><v>{}</v></c>'


def test_sound_parts_pass() -> None:
    parts = Parts()
    parts.check("xl/sharedStrings.xml", b"<sst><si><t>abc</t></si></sst>")
    parts.check("xl/worksheets/sheet1.xml", SHEET.format(CELL.format("A1", 0) + CELL.format("B1", "x")).encode())
    parts.check("xl/styles.xml", b"<a/>")
    parts.check_all()


def test_cells_without_a_value_do_not_stretch_the_sheet() -> None:
    """Formatting often reaches the last row; only what holds something counts."""
    parts = Parts()
    parts.check("xl/worksheets/sheet1.xml", SHEET.format('<c r="XFD1048576" s="3"/>').encode())


@pytest.mark.parametrize("name", ["xl/worksheets/a.xml", "content.xml", "xl/styles.xml", "META-INF/manifest.xml"])
def test_any_part_that_is_no_xml_or_has_a_document_type_is_refused(name: str) -> None:
    unknown = (b'<?xml version="1.0" encoding="UTTTF-8"?><a/>', b'<?xml version="1.0" encoding="utf-7"?><a/>')
    for text in (b"", b"<a>", b"\xff\xfe", b"<!DOCTYPE a><a/>", b"<a>&b;</a>", *unknown):
        with pytest.raises(FieldError):
            Parts().check(name, text)


def test_shared_texts_are_summed_over_all_cells_that_name_them() -> None:
    parts = Parts(Measure(unpacked=1_000, cells=1_000, letters=10))
    parts.check("xl/worksheets/sheet1.xml", SHEET.format(CELL.format("A1", 0) * 4).encode())
    parts.check("xl/sharedStrings.xml", b"<sst><si><t>ab</t><t>c</t></si></sst>")
    with pytest.raises(FieldError, match="more text"):
        parts.check_all()
