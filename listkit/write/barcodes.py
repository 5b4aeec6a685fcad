"""wholesale/barcodes/*.svg: the symbol of every number on the line sheet, at the size that wholesale.toml states.

One file a number, called by it, for labels and for buyers' own tills; numbers of cases are drawn as cases print them.
Without a size none is drawn, and without a number neither.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from listkit.job import File, Job, Recipe, key_of
from listkit.listing.listings import Listings
from listkit.units.identifiers import LENGTHS, right_digit
from listkit.write.barcode import TEMPLATE, Symbol, case_symbol, svg_of, symbol
from listkit.write.context import WriteContext
from listkit.write.sheet_text import Document, document_of, full_name

FOLDER: Final = "wholesale/barcodes"


@dataclass(frozen=True, slots=True)
class Labelled:
    """A symbol, with the code and the name of what carries it."""

    code: str
    name: str
    symbol: Symbol


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield a drawing a number; nothing where no size is stated."""
    catalog = listings.catalog
    document = document_of(catalog)
    if document is None:
        return
    template = catalog.shop.templates[TEMPLATE]
    for one in symbols_of(document):
        file = File(
            f"{FOLDER}/{one.symbol.gtin}.svg",
            key_of(context.version, template, one.symbol),
            (one.code,),
            channel="wholesale",
            verify=verify_symbol,
        )
        yield Job(draw_symbol, (one.symbol, template), (file,))


def symbols_of(document: Document) -> Iterator[Labelled]:
    """Yield the symbol of each number in the order of the sheet, none twice; a line's own before its case's."""
    size = document.sheet.terms.barcodes
    if size is None:
        return
    found: dict[str, Labelled] = {}
    for entry in (entry for group in document.text.groups for entry in group.entries):
        for line in entry.lines:
            name = full_name(entry, line)
            if _is_gtin(line.gtin):
                found.setdefault(line.gtin, Labelled(line.code, name, symbol(line.gtin, size)))
            if _is_gtin(line.case_gtin):
                found.setdefault(line.case_gtin, Labelled(line.code, name, case_symbol(line.case_gtin)))
        if _is_gtin(entry.case_gtin):
            found.setdefault(entry.case_gtin, Labelled(entry.code, entry.name, case_symbol(entry.case_gtin)))
    seen: set[str] = set()
    for one in found.values():
        if one.symbol.gtin not in seen:
            seen.add(one.symbol.gtin)
            yield one


def _is_gtin(number: str) -> bool:
    """Whether a number can be drawn; what is none was told by the checks."""
    return len(number) in LENGTHS and number.isascii() and number.isdigit() and right_digit(number)


def draw_symbol(one: Symbol, template: str, paths: tuple[Path, ...]) -> None:
    """Draw the symbol: a recipe."""
    paths[0].write_text(svg_of(one, template), encoding="utf-8", newline="")


def verify_symbol(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when the file is the drawing."""
    same = path.read_bytes().decode("utf-8", "replace") == svg_of(*inputs)
    return "" if same else "it is not the drawing that was asked for."
