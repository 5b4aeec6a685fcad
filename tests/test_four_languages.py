"""The whole demo in each language: every text, table and paper that goes out, looked through for English words.

What the shop is in a language is spoken_shops; nothing else in what is looked at is the owner's. Headings of tables for
programs are names of fields in every language, codes and ingredients (INCI) are the same everywhere.
"""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import openpyxl
import pytest
from pypdf import PdfReader

from listkit.cli import main
from tests.listing.test_shipped_languages import ENGLISH, words_of
from tests.spoken_shops import demo_in

DAY: Final = ("--today", "2027-01-20")
SAME: Final = (  # what no language changes: who the shop is, how a barcode is called
    "Ottermarl Hive & Herb", "The Walled Garden, Sedge Lane, Nether Ottermarl", "Company number", "The Thistle Drawer",
)  # fmt: skip
PRINTED: Final = ("packing", "inserts", "market")  # labels and price cards are in every build
FEWEST: Final = 12  # kinds of English words in the English shop's own papers, to know that they would be found


def made(folder: Path, language: str) -> Path:
    """Build the demo in a language, with an order confirmed and papers printed; return its out folder."""
    shop = demo_in(folder / "shop", language)
    main(["build", "--shop", str(shop), *DAY])  # a label that is too small for its text is told, and the rest is made
    order = folder / "order.csv"
    order.write_text("code,quantity\nOHS-1-U01,12\nOH-B01,24\n", encoding="utf-8")
    assert main(["order", str(order), "--shop", str(shop), *DAY]) == 0
    for kind in PRINTED:
        main(["print", kind, "--shop", str(shop), *DAY, *(("--place", "stall") if kind == "market" else ())])
    return shop / "out"


def texts_of(out: Path) -> Iterator[tuple[str, str]]:
    """Yield every text that people read in a build, by its file."""
    for path in sorted(out.rglob("*")):
        name = path.relative_to(out).as_posix()
        if name.startswith("proof") or "/record" in name:
            continue  # the proof tells the checks' words, which are English
        if path.suffix in {".txt", ".html"}:
            yield name, re.sub(r"<style>.*?</style>|<[^>]+>", " ", path.read_text(encoding="utf-8"), flags=re.DOTALL)
        elif path.suffix == ".pdf":
            yield name, " ".join(page.extract_text() for page in PdfReader(path).pages)
        elif path.suffix == ".xlsx":
            for sheet in openpyxl.load_workbook(path):
                cells = (cell.value for row in sheet.iter_rows() for cell in row)
                yield name, " ".join(each for each in cells if isinstance(each, str) and not each.startswith("="))
        elif path.suffix == ".json" and "feed.json" in name:
            yield name, " ".join(strings_in(json.loads(path.read_text(encoding="utf-8"))))


def strings_in(node: Any) -> Iterator[str]:
    """Yield the values of a feed that are told to people."""
    if isinstance(node, dict):
        for key, value in node.items():
            if not key.startswith("@") and key not in {"url", "image", "availability"}:
                yield from strings_in(value)
    elif isinstance(node, list):
        for value in node:
            yield from strings_in(value)
    elif isinstance(node, str):
        yield node


def english_in(out: Path) -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for name, text in texts_of(out):
        plain = " ".join(text.split())
        for same in SAME:
            plain = plain.replace(same, " ")
        if words := words_of(plain) & ENGLISH:
            found[name] = words
    return found


@pytest.mark.parametrize("language", ["fr", "de", "es"])
def test_nothing_that_goes_out_is_english(language: str, tmp_path: Path) -> None:
    out = made(tmp_path, language)
    kinds = {Path(name).suffix for name, _ in texts_of(out)}
    assert kinds == {".txt", ".html", ".pdf", ".xlsx", ".json"}
    assert english_in(out) == {}


def test_english_words_would_be_found(tmp_path: Path) -> None:
    found = english_in(made(tmp_path, "en-GB"))
    assert len(set().union(*found.values())) >= FEWEST
    assert {Path(name).suffix for name in found} == {".txt", ".html", ".pdf", ".xlsx", ".json"}
