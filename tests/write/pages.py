"""What other programs read in a page: words and where they stand, how high letters are drawn, barcodes."""

import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path

import numpy as np
import zxingcpp
from PIL import Image

POPPLER = shutil.which("pdftotext") is not None and shutil.which("pdftoppm") is not None
QPDF = shutil.which("qpdf")
NO_POPPLER = "poppler is not installed (Debian: poppler-utils)"
_WORD = re.compile(r'<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">([^<]*)</word>')
_POINT = 25.4 / 72  # mm


@dataclass(frozen=True)
class Word:
    """One word on a page, its box in mm from the page's top left corner."""

    page: int
    text: str
    left: float
    top: float
    right: float
    bottom: float


def words_of(pdf: Path) -> list[Word]:
    """Every word of a PDF, as poppler finds it."""
    told = subprocess.run(["pdftotext", "-bbox", str(pdf), "-"], capture_output=True, text=True, check=True).stdout
    found = []
    for page, text in enumerate(told.split("<page ")[1:], 1):
        for left, top, right, bottom, word in _WORD.findall(text):
            found.append(Word(page, word, *(float(side) * _POINT for side in (left, top, right, bottom))))
    return found


def text_of(pdf: Path) -> str:
    """All words of a PDF with one space between them."""
    told = subprocess.run(["pdftotext", str(pdf), "-"], capture_output=True, text=True, check=True).stdout
    return " ".join(told.split())


def pages_of(pdf: Path, folder: Path, dpi: int) -> Iterator[Image.Image]:
    """Every page in grey, as poppler draws it."""
    subprocess.run(["pdftoppm", "-r", str(dpi), "-gray", str(pdf), str(folder / "page")], check=True)
    for path in sorted(folder.glob("page-*.pgm")):
        with Image.open(path) as page:
            yield page.convert("L")


def drawn_height(pdf: Path, word: Word, folder: Path, dpi: int = 1200) -> float:
    """How high a word is drawn, in mm: the longest run of dark rows, since other lines reach into its box."""
    x, y = (int(side / 25.4 * dpi) for side in (word.left, word.top))
    wide, high = (int((end - start) / 25.4 * dpi) for start, end in ((word.left, word.right), (word.top, word.bottom)))
    area = ["-x", str(x), "-y", str(y), "-W", str(wide), "-H", str(high)]
    pages = ["-f", str(word.page), "-l", str(word.page)]
    name = str(folder / "word")
    subprocess.run(["pdftoppm", "-r", str(dpi), "-gray", "-singlefile", *pages, *area, str(pdf), name], check=True)
    with Image.open(folder / "word.pgm") as drawn:
        dark = [bool(row.any()) for row in np.asarray(drawn) < 128]
    runs = [len(list(run)) for is_dark, run in groupby(dark) if is_dark]
    return max(runs) / dpi * 25.4


def barcodes_of(pdf: Path, folder: Path, dpi: int = 300) -> list[str]:
    """The numbers that a reader finds on the pages of a PDF, in no order."""
    return [one.text for page in pages_of(pdf, folder, dpi) for one in zxingcpp.read_barcodes(page)]
