"""Symbols drawn: wholesale/barcodes/*.svg of every number on the line sheet, and QR codes of addresses on papers.

One file a number, called by it, for labels and for buyers' own tills; numbers of cases are drawn as cases print them.
Without a size none is drawn, and without a number neither.
"""

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any, Final

import segno

from listkit.compute.barcodes import Symbol, case_symbol, is_gtin, symbol
from listkit.listing.listings import Listings
from listkit.listing.papers import papers_of
from listkit.listing.sheet import Document, full_name
from listkit.listing.templates import Formats, Kind, compile_template
from listkit.problem import FieldError
from listkit.save.job import File, Job, Recipe, key_of
from listkit.units.money import NO_CURRENCY
from listkit.write.context import WriteContext

_ADDRESS: Final = re.compile(r"https?://[^\s/?#.]+\.[^\s]+")
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


QUIET_MODULES: Final = 4  # around a QR code: ISO/IEC 18004:2015, 6.3.8
LEAST_MODULE: Final = Decimal("0.4")  # mm; smaller, a telephone may not read it: common practice, no source
USUAL_MODULE: Final = Decimal("0.6")  # mm


@dataclass(frozen=True, slots=True)
class QrCode:
    """A QR code with its quiet zone: its SVG, as wide and high as `side` millimetres, and what it says."""

    says: str
    side: Decimal
    svg: str


def qr_code(says: str, room: Decimal) -> QrCode:
    """Return the QR code (ISO/IEC 18004) of an address, its modules as large as usual or as `room` in mm allows.

    Raises:
        FieldError: it is no address of a page, or the code would be too fine for its room.
    """
    if not _ADDRESS.fullmatch(says):
        raise FieldError(f'"{says[:60]}" is no address of a page.', "Write one that begins with https://.")
    try:
        made = segno.make(says, error="m", micro=False)
    except segno.DataOverflowError:
        raise FieldError(
            f"an address of {len(says)} letters is too long for a QR code.", "Take a shorter one."
        ) from None
    modules = int(made.symbol_size(border=QUIET_MODULES)[0])
    module = min(USUAL_MODULE, room / modules)
    if module < LEAST_MODULE:
        message = f"the QR code of {says[:60]} needs {modules * LEAST_MODULE:f} mm, and there are {room:f}."
        raise FieldError(message, "Take a shorter address, or a larger size.")
    drawn = io.BytesIO()
    made.save(drawn, kind="svg", border=QUIET_MODULES, xmldecl=False, svgns=True, omitsize=True, dark="#000")
    return QrCode(says, module * modules, drawn.getvalue().decode())


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
