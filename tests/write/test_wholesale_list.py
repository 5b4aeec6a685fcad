"""The price list: a row a code for a buyer's own system, and one page."""

import csv
import io
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from listkit.listing.listings import Listings
from listkit.save.save import save
from listkit.write import wholesale_list
from listkit.write.context import WriteContext
from tests.write.sheets import gtin, hard

QPDF = shutil.which("qpdf")


def listed(folder: Path, of: Listings) -> list[dict[str, str]]:
    saved = save(wholesale_list.write(of, WriteContext("1")), folder)
    assert saved.failures == ()
    text = (folder / "wholesale/price-list.csv").read_bytes().decode("utf-8")
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_every_code_has_a_row_with_figures_that_any_program_reads(tmp_path: Path) -> None:
    terms: dict[str, Any] = {"window": {"order_by": "2027-02-28"}, "case_pack": {"items": 6}}
    terms["display"] = {"price": "half"}
    rows = listed(tmp_path, hard(**terms))
    assert len(rows) == 40 + 2 + 1
    bar = next(row for row in rows if row["Code"] == "B-1")
    assert (bar["Wholesale before tax (GBP)"], bar["From 24 (GBP)"], bar["Suggested retail (GBP)"]) == (
        "3.75",
        "3.53",
        "7.50",
    )
    assert (bar["GTIN"], bar["Case"], bar["Weight (g)"], bar["Outside (mm)"]) == (
        gtin(1), "6", "119", "86 x 58 x 28",
    )  # fmt: skip
    assert (bar["Keeps (months)"], bar["Order by"]) == ("12", "2027-02-28")
    without = next(row for row in rows if row["Code"] == "B-2")
    assert (without["GTIN"], without["Wholesale before tax (GBP)"]) == ("", "61728.25")
    assert (rows[-1]["Code"], rows[-1]["Wholesale before tax (GBP)"]) == ("SET-1 display", "4.38")


def test_the_page_is_one_even_with_forty_long_names(tmp_path: Path) -> None:
    listed(tmp_path, hard())
    assert len(PdfReader(tmp_path / "wholesale/price-list.pdf").pages) == 1


@pytest.mark.skipif(QPDF is None, reason="qpdf is not installed")
def test_qpdf_finds_no_fault_in_the_page(tmp_path: Path, demo: Listings) -> None:
    listed(tmp_path, demo)
    path = tmp_path / "wholesale/price-list.pdf"
    ended = subprocess.run([str(QPDF), "--check", str(path)], capture_output=True, text=True, check=False)
    assert (ended.returncode, ended.stderr) == (0, "")
