"""Tables that are not as one would wish, as a place's sample and as an owner's sheet: drafted or told, within 2 s."""

import csv
import io
import shutil
import time
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final

import pytest
import xlsxwriter  # type: ignore[import-untyped]

from listkit.actions.learn import learn_channel
from listkit.actions.own_sheet import make_shop_around, understand_sheet
from listkit.cli import main
from listkit.problem import FieldError

MOST_SECONDS: Final = 2
LONGEST_CELL: Final = (
    "x" * 32_767
)  # the most that a workbook's cell holds (ECMA-376 leaves it to programs; from memory)
TEXT: Final = " ".join(["word"] * 6_553)

Rows = Sequence[Sequence[str | float]]
SAMPLE: Final[Rows] = (
    ("Item number", "Title", "Price", "Barcode", "Picture 1"),
    ("A-1", "Box", "7.50", "9520000010010", "https://a.example/1.jpg"),
    ("A-2", "Tin", "8.50", "9520000010027", "https://a.example/2.jpg"),
)
SAMPLE_FIELDS: Final = ("sku", "name", "price", "gtin", "image_1")
SHEET: Final[Rows] = (
    ("Code", "Product", "Type", "Price", "Cost", "Weight (g)", "Size (mm)", "Stock", "Barcode"),
    ("A-1", "Rose bar", "bar soap", "7.50", "1.80", "110", "86 x 58 x 28", "40", "9520000010010"),
    ("A-2", "Mint bar", "bar soap", "8.50", "2.10", "120", "86 x 58 x 28", "30", "9520000010027"),
    ("A-3", "Oat bar", "bar soap", "8.50", "2.20", "130", "86 x 58 x 28", "30", "9520000010034"),
)
SHEET_FIELDS: Final = ("code", "name", "form", "retail", "cost", "weight", "size", "on hand", "gtin")
WIDE: Final = tuple(f"Blorb {at} of {at * 7}" for at in range(390))


def table(rows: Rows, codec: str = "utf-8") -> bytes:
    file = io.StringIO(newline="")
    csv.writer(file).writerows(rows)
    return file.getvalue().encode(codec)


def book(rows: Rows, looks: Mapping[str, str] | None = None) -> bytes:
    """Return a workbook; `looks` are formats of the numbers below a heading."""
    target = io.BytesIO()
    with xlsxwriter.Workbook(target) as workbook:
        sheet = workbook.add_worksheet()
        for line, row in enumerate(rows):
            for at, value in enumerate(row):
                look = workbook.add_format({"num_format": (looks or {}).get(str(rows[0][at]), "General")})
                sheet.write(line, at, value, look)
    return target.getvalue()


def figures(rows: Rows, *headings: str) -> Rows:
    """Return the rows with the cells below these headings as numbers, not as texts."""
    places = {rows[0].index(heading) for heading in headings}
    below = [[float(value) if at in places else value for at, value in enumerate(row)] for row in rows[1:]]
    return (rows[0], *below)


def beside(rows: Rows, headings: Sequence[str], *cells: str) -> Rows:
    return ((*rows[0], *headings), *((*row, *cells) for row in rows[1:]))


def under(rows: Rows) -> Rows:
    """Return the rows with a header of five: a title, nothing, groups, the headings, and what goes into each."""
    width = len(rows[0])
    return (("Our fair",), (), ("Listing", "", "Numbers"), rows[0], ("required",) * width, *rows[1:])


MONEY: Final = {"Price": "[$£-809]#,##0.00", "Cost": '_-"£"* #,##0.00_-'}
PLAIN: Final = ("Price", "Cost", "Weight (g)", "Stock", "Barcode")
DRAFTED: Final = {
    "a header of five rows": (table(under(SAMPLE)), table(under(SHEET))),
    "400 columns": (table(beside(SAMPLE, WIDE, *["x"] * 390)), table(beside(SHEET, WIDE, *["x"] * 390))),
    "UTF-16": (table(SAMPLE, "utf-16"), table(SHEET, "utf-16")),
    "the longest cells": (
        table(beside(SAMPLE, ["Blorb"], LONGEST_CELL)),
        table(beside(SHEET, ["Blorb"], LONGEST_CELL[1:])),
    ),
    "the longest cells of a workbook": (
        book(beside(SAMPLE, ["Blorb"], LONGEST_CELL)),
        book(beside(SHEET, ["Blorb"], LONGEST_CELL)),
    ),
    "cells of thousands of words": (table(beside(SAMPLE, ["Blorb"], TEXT)), table(beside(SHEET, ["Blorb"], TEXT))),
    "numbers stored as text": (book(SAMPLE), book(SHEET)),
    "numbers": (book(figures(SAMPLE, "Price", "Barcode")), book(figures(SHEET, *PLAIN))),
    "numbers shown as money": (book(figures(SAMPLE, "Price"), MONEY), book(figures(SHEET, *PLAIN), MONEY)),
    "a column in per cent": (
        book(beside(figures(SAMPLE, "Price"), ["Blorb"], "0.2"), {"Blorb": "0%"}),
        book(beside(figures(SHEET, *PLAIN), ["Blorb"], "0.2"), {"Blorb": "0.0%"}),
    ),
    "no row": (table(SAMPLE[:1]), None),
    "one row": (table(SAMPLE[:2]), None),
}


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("bad") / "shop"
    assert main(["new", str(folder)]) == 0
    return folder


def learnt(shop: Path, content: bytes) -> list[str | None]:
    """Return the fields of a sample's columns that are sure; its channel is put away again."""
    path = shop.parent / "sample"
    path.write_bytes(content)
    channel = learn_channel(shop, "Try", path)
    channel.path.unlink()
    return [match.field if match.sure else None for match in channel.matches]


@pytest.mark.parametrize("name", DRAFTED)
def test_a_sample_is_drafted(shop: Path, name: str) -> None:
    begun = time.process_time()
    fields = learnt(shop, DRAFTED[name][0])
    assert time.process_time() - begun < MOST_SECONDS
    assert tuple(fields[:5]) == SAMPLE_FIELDS
    assert not any(fields[5:])


@pytest.mark.parametrize("name", [name for name, (_, sheet) in DRAFTED.items() if sheet])
def test_a_sheet_is_understood(shop: Path, name: str) -> None:
    content = DRAFTED[name][1]
    assert content is not None
    begun = time.process_time()
    read = understand_sheet("stock.xlsx" if content.startswith(b"PK") else "stock.csv", content)
    around = shop.parent / "around"
    make_shop_around(read, around)
    shutil.rmtree(around)
    assert time.process_time() - begun < MOST_SECONDS
    assert tuple(match.field for match in read.matches[:9]) == SHEET_FIELDS
    assert not any(match.sure for match in read.matches[9:])


@pytest.mark.parametrize("rows", [SHEET[:1], SHEET[:2]], ids=["no row", "one row"])
def test_a_sheet_with_hardly_a_row_leaves_prices_open(rows: Rows) -> None:
    read = understand_sheet("stock.csv", table(rows))
    assert tuple(match.field for match in read.matches) == SHEET_FIELDS
    assert {match.field for match in read.matches if not match.sure} >= {"retail", "cost"}


def test_of_two_headings_alike_neither_is_sure(shop: Path) -> None:
    sample = beside(SAMPLE, ["Price"], "9.00")
    assert learnt(shop, table(sample)) == ["sku", "name", None, "gtin", "image_1", None]
    read = understand_sheet("stock.csv", table(beside(SHEET, ["Price"], "9.00")))
    assert not any(match.sure for match in read.matches if match.heading.text == "Price")


LONG: Final = tuple("zorkelblatt schnurrpfeiferei " * 6 + str(at) for at in range(400))


@pytest.mark.parametrize(
    "content",
    [
        table((LONG, *[["gurgel " * 20] * 400] * 50)),
        table((LONG, *[["12 x gurgel 7 mm x " * 3] * 400] * 50)),
        table((("Price", LONGEST_CELL), ("7.50", "a"))),
        table(SAMPLE, "utf-16-be"),
        table(SAMPLE, "utf-16")[:-1],
        table(SAMPLE, "utf-32"),
    ],
    ids=["400 long headings", "sizes that are none", "the longest heading", "no mark", "broken off", "UTF-32"],
)
def test_what_cannot_be_understood_is_told(shop: Path, content: bytes) -> None:
    begun = time.process_time()
    with pytest.raises(FieldError) as fault:
        learnt(shop, content)
    assert fault.value.hint
    try:
        understand_sheet("stock.csv", content)
    except FieldError as told:
        assert told.hint
    assert time.process_time() - begun < 2 * MOST_SECONDS
