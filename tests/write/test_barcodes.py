"""Barcodes as files: one a number, at the size that is stated; none that is made up."""

from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest

from listkit.listing.listings import Listings
from listkit.save.save import save
from listkit.write import barcodes
from listkit.write.barcodes import symbols_of
from listkit.write.context import WriteContext
from listkit.write.sheet_text import document_of
from tests.write.sheets import gtin, hard


def symbols(**terms: Any) -> list[tuple[str, str, str]]:
    document = document_of(hard(**terms).catalog)
    assert document is not None
    return [(one.code, one.symbol.kind, one.symbol.gtin) for one in symbols_of(document)]


def test_only_numbers_that_the_owner_gave_are_drawn() -> None:
    """One of forty variants and one of two items have a number."""
    assert symbols(barcodes="100 %") == [("SET-1-00", "EAN-13", gtin(2)), ("B-1", "EAN-13", gtin(1))]


def test_without_a_size_nothing_is_drawn() -> None:
    assert symbols() == []


@pytest.mark.parametrize("number", ["19520000010017", "39520000010011", "09520000010010"])
def test_the_number_of_a_case_is_drawn_as_cases_print_it(number: str) -> None:
    """GS1 Greece, GTIN-14 for cartons: its three examples."""
    told = symbols(barcodes="80 %", line=[{"code": "B-1", "case_gtin": number}])
    assert ("B-1", "ITF-14", number) in told


def test_a_number_that_two_carry_is_drawn_once() -> None:
    told = symbols(barcodes="80 %", line=[{"code": "B-1", "case_gtin": "19520000010017"},
                                          {"code": "B-2", "case_gtin": "19520000010017"}])  # fmt: skip
    assert sum(number == "19520000010017" for _, _, number in told) == 1


def test_each_file_is_called_by_its_number_and_as_large_as_stated(tmp_path: Path) -> None:
    """GS1 Sweden, size guide: 37.29 mm at 100 %, 74.58 mm at 200 %."""
    for size, width in (("100 %", 37.29), ("200 %", 74.58)):
        of: Listings = hard(barcodes=size)
        saved = save(barcodes.write(of, WriteContext("1")), tmp_path / size.rstrip(" %"))
        assert sorted(saved.made) == [f"wholesale/barcodes/{gtin(1)}.svg", f"wholesale/barcodes/{gtin(2)}.svg"]
        root = ET.parse(tmp_path / size.rstrip(" %") / saved.made[0]).getroot()
        assert float(root.attrib["width"].removesuffix("mm")) == pytest.approx(width, abs=0.005)
