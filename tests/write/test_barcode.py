"""Barcodes against sizes that GS1 prints, a library that draws them, and a reader of the printed page."""

import shutil
import subprocess
from decimal import Decimal
from itertools import groupby, pairwise
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import zxingcpp
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from listkit.units.identifiers import gtin_check_digit
from listkit.write.barcodes import Symbol, case_symbol, modules_of, svg_of, symbol
from listkit.write.print import Layout, print_pdf

ROOT = Path(__file__).parents[2]
DRAWING = (ROOT / "templates/print/barcode.svg").read_text(encoding="utf-8")
POPPLER = shutil.which("pdftoppm")
D = Decimal
PEER = {8: zxingcpp.BarcodeFormat.EAN8, 12: zxingcpp.BarcodeFormat.UPCA, 13: zxingcpp.BarcodeFormat.EAN13}


def gtins(*lengths: int) -> st.SearchStrategy[str]:
    return (
        st.sampled_from(lengths)
        .flatmap(lambda length: st.text("0123456789", min_size=length - 1, max_size=length - 1))
        .map(lambda body: body + gtin_check_digit(body))
    )


def drawn_by_peer(number: str, kind: zxingcpp.BarcodeFormat) -> str:
    """One row of pixels of the library's own drawing, a pixel a module."""
    row = np.array(zxingcpp.create_barcode(number, kind).to_image())[0]
    return "".join("1" if level < 128 else "0" for level in row)


@given(gtins(8, 12, 13))
def test_bars_and_quiet_zones_are_those_that_another_library_draws(number: str) -> None:
    made = symbol(number)
    left = made.bars[0].x / made.module
    right = (made.width - made.bars[-1].x - made.bars[-1].width) / made.module
    assert "0" * int(left) + modules_of(number) + "0" * int(right) == drawn_by_peer(number, PEER[len(number)])


@given(gtins(14))
def test_the_wide_and_narrow_of_a_case_symbol_are_those_that_another_library_draws(number: str) -> None:
    """It draws wide elements three modules wide, we two and a half: GS1 allows 2.25 to 3."""
    peer = drawn_by_peer(number, zxingcpp.BarcodeFormat.ITF).strip("0")
    wide = [len(list(run)) == 3 for _, run in groupby(peer)]
    bars = case_symbol(number).bars[2:]
    edges = [edge for bar in bars for edge in (bar.x, bar.x + bar.width)]
    widths = [right - left for left, right in pairwise(edges)]
    assert [width > bars[0].width for width in widths] == wide


@pytest.mark.parametrize(
    ("magnification", "module", "width", "high", "quiet"),
    [
        ("0.8", "0.264", "29.83", "18.28", ("2.90", "1.85")),
        ("1", "0.330", "37.29", "22.85", ("3.63", "2.31")),
        ("2", "0.660", "74.58", "45.70", ("7.26", "4.62")),
    ],
)
def test_an_ean_13_has_the_sizes_of_gs1(
    magnification: str, module: str, width: str, high: str, quiet: tuple[str, str]
) -> None:
    """GS1 Sweden, size guide: X, bar height and the width of 113 modules; GS1 Ireland, EAN-13: 11X and 7X are quiet."""
    made = symbol("9520123456788", D(magnification))
    last = made.bars[-1]
    assert made.module == D(module)
    assert round(made.width, 2) == D(width)
    assert min(bar.height for bar in made.bars) == D(high)
    assert (round(made.bars[0].x, 2), round(made.width - last.x - last.width, 2)) == tuple(map(D, quiet))


def test_the_whole_height_of_an_ean_13_is_that_of_gs1() -> None:
    """GS1 General Specifications, nominal EAN-13: 25.93 mm with its digits; from memory."""
    assert round(symbol("9520123456788").height, 2) == D("25.93")


def test_upc_a_is_quiet_for_nine_modules_on_both_sides() -> None:
    """GS1 Sweden, size guide."""
    made = symbol("061414100007")
    assert made.bars[0].x == made.width - made.bars[-1].x - made.bars[-1].width == 9 * D("0.33")


@pytest.mark.parametrize("number", ["19520000010017", "39520000010011", "09520000010010"])
def test_cases_of_gs1_greece_have_the_sizes_of_a_case_symbol(number: str) -> None:
    """GS1 Greece, GTIN-14 for cartons; GS1 Sweden: X of 0.495 mm at least, 10X quiet, bars of 31.75 mm."""
    made = case_symbol(number)
    bars = made.bars[2:]
    assert made.module >= D("0.495")
    assert bars[0].x == made.width - bars[-1].x - bars[-1].width == 10 * made.module
    assert {bar.height for bar in bars} == {D("31.75")}


def test_a_mixed_case_with_a_number_of_13_digits_is_filled_up_with_a_zero() -> None:
    """GS1 Greece: 9520000010010 on a mixed carton is 09520000010010."""
    assert case_symbol("9520000010010") == case_symbol("09520000010010")


def test_a_gtin_of_14_digits_that_begins_with_a_zero_is_an_ean_13() -> None:
    assert symbol("09520123456788") == symbol("9520123456788")


@pytest.mark.parametrize("number", ["9520123456789", "952012345678", "", "95201234567x8", "٩٥٢٠١٢٣٤٥٦٧٨٨"])
def test_what_is_no_gtin_is_never_drawn(number: str) -> None:
    with pytest.raises(ValueError, match="no GTIN"):
        symbol(number)


@pytest.mark.parametrize("magnification", ["0.79", "2.01", "0"])
def test_a_symbol_is_never_drawn_too_small_or_too_large(magnification: str) -> None:
    with pytest.raises(ValueError, match="magnification"):
        symbol("9520123456788", D(magnification))


@given(gtins(8, 12, 13, 14))
def test_the_drawing_is_xml_of_the_symbols_own_size_with_all_its_digits(number: str) -> None:
    made = symbol(number)
    root = ET.fromstring(svg_of(made, DRAWING))
    assert root.get("width") == f"{made.width.normalize():f}mm"
    assert "".join(text.text or "" for text in root.iter("{http://www.w3.org/2000/svg}text")) == made.gtin


def on_paper(symbols: list[Symbol], folder: Path) -> Image.Image:
    """The symbols one below the other on a page, as printed with 300 dots an inch."""
    lines = ['#set document(title: "Barcodes")', "#set page(width: 200mm, height: auto, margin: 10mm)"]
    for number, made in enumerate(symbols):
        (folder / f"{number}.svg").write_text(svg_of(made, DRAWING), encoding="utf-8")
        lines.append(f'#image("pictures/{number}.svg", width: {made.width}mm, alt: "{made.gtin}")')
    pictures = tuple((f"{number}.svg", folder / f"{number}.svg") for number in range(len(symbols)))
    print_pdf(folder / "page.pdf", Layout((("print/page.typ", "\n".join(lines)),), "{}"), pictures)
    assert POPPLER is not None
    command = [POPPLER, "-r", "300", "-gray", "-singlefile", str(folder / "page.pdf"), str(folder / "page")]
    subprocess.run(command, check=True, timeout=60)
    return Image.open(folder / "page.pgm")


@pytest.mark.skipif(POPPLER is None, reason="poppler is not installed (Debian: poppler-utils)")
def test_what_is_printed_is_read_and_its_bars_are_as_wide_as_gs1_wants(tmp_path: Path) -> None:
    """300 dots an inch, read by zxing-cpp; the modules measured on the paper lie within 80 % to 200 % of 0.330 mm."""
    numbers = ("9520000010010", "061414100007", "95200002")
    tills = [symbol(number, D(m)) for number in numbers for m in ("0.8", "1", "2")]
    cases = [case_symbol(number) for number in ("19520000010017", "39520000010011", "09520000010010")]
    found = zxingcpp.read_barcodes(on_paper([*tills, *cases], tmp_path))
    read = sorted(found, key=lambda one: one.position.top_left.y)
    assert [one.text.lstrip("0") for one in read] == [made.gtin.lstrip("0") for made in (*tills, *cases)]
    for one, made in zip(read, tills, strict=False):
        dark = one.position.top_right.x - one.position.top_left.x
        module = dark * 25.4 / 300 / len(modules_of(made.gtin))
        assert module == pytest.approx(float(made.module), rel=0.02)
        assert 0.8 * 0.33 * 0.98 <= module <= 2 * 0.33 * 1.02
