"""wholesale/barcodes/*.svg: the symbol of every number on the line sheet, at the size that wholesale.toml states.

One file a number, called by it, for labels and for buyers' own tills; numbers of cases are drawn as cases print them.
Without a size none is drawn, and without a number neither.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any, Final

from listkit.compute.barcodes import Symbol, case_symbol, is_gtin, symbol
from listkit.listing.listings import Listings
from listkit.listing.papers import papers_of
from listkit.listing.sheet import Document, full_name
from listkit.listing.templates import Formats, Kind, compile_template
from listkit.model.fields import NO_CURRENCY
from listkit.save.job import File, Job, Recipe, key_of
from listkit.write.context import WriteContext

TEMPLATE: Final = "print/barcode.svg"
FOLDER: Final = "wholesale/barcodes"


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A symbol as its template takes it: text, so that figures are written plainly."""

    title: str
    width: str
    height: str
    path: str
    digits: tuple["_DrawnDigit", ...]


@dataclass(frozen=True, slots=True)
class _DrawnDigit:
    text: str
    x: str
    y: str
    size: str


def svg_of(symbol: Symbol, template: str) -> str:
    """Return the symbol as an SVG of its own size in millimetres; `template` is the text of TEMPLATE."""
    path = "".join(
        f"M{_mm(bar.x)} {_mm(bar.y)}h{_mm(bar.width)}v{_mm(bar.height)}h-{_mm(bar.width)}z" for bar in symbol.bars
    )
    digits = tuple(_DrawnDigit(digit.text, _mm(digit.x), _mm(digit.y), _mm(digit.size)) for digit in symbol.digits)
    drawn = _Drawn(f"{symbol.kind} {symbol.gtin}", _mm(symbol.width), _mm(symbol.height), path, digits)
    made = compile_template(template, kind=Kind.HTML, formats=Formats("en", NO_CURRENCY), name=TEMPLATE)
    return made.render({"symbol": drawn})


def _mm(length: Decimal) -> str:
    return f"{length.normalize():f}"


@dataclass(frozen=True, slots=True)
class Labelled:
    """A symbol, with the code and the name of what carries it."""

    code: str
    name: str
    symbol: Symbol


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield a drawing a number; nothing where no size is stated."""
    document = papers_of(listings).document
    if document is None:
        return
    template = listings.catalog.shop.templates[TEMPLATE]
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
            if is_gtin(line.gtin):
                found.setdefault(line.gtin, Labelled(line.code, name, symbol(line.gtin, size)))
            if is_gtin(line.case_gtin):
                found.setdefault(line.case_gtin, Labelled(line.code, name, case_symbol(line.case_gtin)))
        if is_gtin(entry.case_gtin):
            found.setdefault(entry.case_gtin, Labelled(entry.code, entry.name, case_symbol(entry.case_gtin)))
    seen: set[str] = set()
    for one in found.values():
        if one.symbol.gtin not in seen:
            seen.add(one.symbol.gtin)
            yield one


def draw_symbol(symbol: Symbol, template: str, paths: tuple[Path, ...]) -> None:
    """Draw the symbol: a recipe."""
    paths[0].write_text(svg_of(symbol, template), encoding="utf-8", newline="")


def verify_symbol(path: Path, _recipe: Recipe, inputs: tuple[Any, ...]) -> str:
    """Return "" when the file is the drawing."""
    same = path.read_bytes().decode("utf-8", "replace") == svg_of(*inputs)
    return "" if same else "it is not the drawing that was asked for."
