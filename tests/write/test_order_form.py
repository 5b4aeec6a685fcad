"""The order form as a file: the same bytes every time, and no other workbook takes its place."""

import zipfile
from pathlib import Path

import openpyxl
import pytest

from listkit.save.job import Job
from listkit.write import order_form
from listkit.write.context import WriteContext
from tests.write.sheets import hard

TERMS = {"case_pack": {"items": 6}, "minimum": {"items": 12}, "display": {"price": "half"}}


@pytest.fixture
def job() -> Job:
    [made] = order_form.write(hard(**TERMS), WriteContext("1"))
    return made


def verdict(job: Job, path: Path) -> str:
    verify = job.files[0].verify
    assert verify is not None
    return verify(path, job.recipe, job.inputs)


def test_the_same_form_has_the_same_bytes_and_reads_as_it_should(job: Job, tmp_path: Path) -> None:
    for name in ("a.xlsx", "b.xlsx"):
        job.recipe(*job.inputs, (tmp_path / name,))
        assert verdict(job, tmp_path / name) == ""
    assert (tmp_path / "a.xlsx").read_bytes() == (tmp_path / "b.xlsx").read_bytes()


def test_a_form_with_another_price_or_without_protection_is_not_the_form(job: Job, tmp_path: Path) -> None:
    path = tmp_path / "form.xlsx"
    job.recipe(*job.inputs, (path,))
    book = openpyxl.load_workbook(path)
    sheet = book.active
    sheet.protection.disable()
    book.save(path)
    assert verdict(job, path) == "its formulas or its protection are not all there."
    job.recipe(*job.inputs, (path,))
    parts = {name: zipfile.ZipFile(path).read(name) for name in zipfile.ZipFile(path).namelist()}
    sheet_xml = "xl/worksheets/sheet1.xml"
    assert b"<v>8.75</v>" in parts[sheet_xml]
    parts[sheet_xml] = parts[sheet_xml].replace(b"<v>8.75</v>", b"<v>8.57</v>", 1)
    with zipfile.ZipFile(path, "w") as target:
        for name, content in parts.items():
            target.writestr(name, content)
    assert "is not as it should be." in verdict(job, path)
