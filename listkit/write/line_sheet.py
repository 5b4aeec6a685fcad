"""wholesale/line-sheet-….pdf: what a shop that buys from us orders from, with pictures, numbers, prices, days, terms.

Its name tells season, day of issue and version; the version is a short code of all that it states. The owner's own
layout beats ours.
"""

import json
from collections.abc import Iterator
from dataclasses import asdict
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any, Final

from listkit.compute.given_out import PreviousSheet, SheetMove, moves_since
from listkit.listing.listings import Listings
from listkit.listing.papers import papers_of
from listkit.listing.photos import SheetPhoto
from listkit.listing.sheet import Document, SheetVoice
from listkit.listing.words import fill
from listkit.model.photo import Cut
from listkit.model.shop import Shop
from listkit.picture.encode import ENCODERS, CropJob, fitted
from listkit.problem import FieldError
from listkit.save.job import File, Job, key_of
from listkit.units.table import printed_signs
from listkit.write.barcodes import TEMPLATE as BARCODE
from listkit.write.barcodes import qr_code, svg_of, symbols_of
from listkit.write.context import WriteContext
from listkit.write.photo_crops import cut_crops, verify_crop
from listkit.write.print import Layout, ink_of, lang_of, print_pdf, printer, verify_pdf

FOLDER: Final = "wholesale/pictures"
LOGO: Final = "logo.png"
_QUALITY: Final = 82
_LOGO_SIDE: Final = 700
LAYOUTS: Final = ("print/line_sheet.typ", "print/common.typ")
_WORDS: Final = (
    "new", "version", "choice", "code", "line", "picture", "gtin", "case_gtin", "wholesale", "retail", "moved", "order",
    "barcodes", "case",
)  # fmt: skip
_QR_ROOM: Final = Decimal(18)  # mm, beside how to order
_MOST_MOVED: Final = 12  # told in one place; every one is marked where it stands
_PAPER: Final = {"A4": "a4", "letter": "us-letter"}
# Where pages are letters: CLDR, supplemental data, paperSize; from memory.
_LETTER: Final = frozenset(("BZ", "CA", "CL", "CO", "CR", "GT", "MX", "NI", "PA", "PH", "PR", "SV", "US", "VE"))


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield the pictures and the sheet; nothing without terms for shops."""
    papers, shop = papers_of(listings), listings.catalog.shop
    document = papers.document
    if document is None:
        return
    pictures = tuple(picture_jobs(papers.photos, shop, context))
    yield from pictures
    files = tuple(file for job in pictures for file in job.files)
    layout = layout_of(document, shop, papers.photos, context.previous)
    file = File(
        f"wholesale/line-sheet-{document.text.name}.pdf",
        key_of(context.version, printer(), layout, tuple(file.key for file in files)),
        codes_of(document),
        tuple(str(line.wholesale) for line in document.sheet.lines),
        channel="wholesale",
        verify=verify_pdf,
    )
    names = tuple(file.path.rpartition("/")[2] for file in files)
    yield Job(print_sheet, (layout, names), (file,), last=True)


def picture_jobs(photos: tuple[SheetPhoto, ...], shop: Shop, context: WriteContext) -> Iterator[Job]:
    """Yield a job for the logo, then one for each picture of the sheet, none twice.

    They lie beside the sheet as small squares, so that a photo is opened again only when it changes.
    """
    if shop.logo is not None:
        wide, high = shop.logo.width, shop.logo.height
        cut = Cut(0, 0, wide, high, *fitted((wide, high), _LOGO_SIDE))
        yield _picture(shop, (shop.settings.logo, shop.logo.sha256), LOGO, CropJob("", cut, format="png"), context)
    for one in {one.name: one for one in photos}.values():
        facts = one.photo.facts
        crop = CropJob("", one.cut, quality=_QUALITY, largest_kb=one.kilobytes)
        yield _picture(shop, (one.photo.file, facts.sha256), one.name, crop, context)


def _picture(shop: Shop, photo: tuple[str, str], name: str, crop: CropJob, context: WriteContext) -> Job:
    """Return the job of one picture; `photo` is a file and its SHA-256 when it was measured."""
    path, sha256 = photo
    key = key_of(context.version, ENCODERS, sha256, crop)
    file = File(f"{FOLDER}/{name}", key, verify=verify_crop, channel="wholesale")
    return Job(cut_crops, (shop.root / path, sha256), (file,), heavy=True, parts=(crop,))


def print_sheet(layout: Layout, pictures: tuple[str, ...], paths: tuple[Path, ...]) -> None:
    """Print the sheet with the pictures that lie beside it: a recipe."""
    beside = paths[0].parent / FOLDER.rpartition("/")[2]
    print_pdf(paths[0], layout, tuple((name, beside / name) for name in pictures))


def codes_of(document: Document) -> tuple[str, ...]:
    """Return the codes that a document of the sheet speaks of, each once, in order."""
    found = []
    for entry in document.sheet.entries:
        found.append(entry.code)
        for line in entry.lines:
            found += [line.code, *(piece.item.code for piece in line.pieces)]
    return tuple(dict.fromkeys(found))


def layout_of(
    document: Document, shop: Shop, photos: tuple[SheetPhoto, ...], previous: PreviousSheet | None = None
) -> Layout:
    """Return the layout with all that it shows; `previous` is the sheet that this one replaces."""
    facts = {
        **page_facts(document, shop, document.voice.own.sheet.line_sheet, logo=shop.logo is not None),
        **_sheet_facts(document, shop),
        **_since(document, previous),
        "groups": _groups(document, photos, previous),
    }
    return layout_with(shop, LAYOUTS, facts, document)


def layout_with(
    shop: Shop, paths: tuple[str, ...], facts: dict[str, Any], document: Document, *, day: date | None = None
) -> Layout:
    """Return the layouts of the shop at these paths with the facts they show, dated as the sheet, or with `day`."""
    texts = tuple((path, shop.templates[path]) for path in paths)
    return Layout(texts, json.dumps(facts, ensure_ascii=False, sort_keys=True), day or document.text.issued)


def page_facts(document: Document, shop: Shop, title: str, *, logo: bool) -> dict[str, Any]:
    """Return what every page of ours is set with: see common.typ."""
    text, voice = document.text, document.voice
    running = (title, *(says for _, says in text.head[:1]), f"{voice.own.sheet.version} {text.version}")
    return {
        **head_facts(shop, title, language=voice.language, contact=text.contact, page=voice.own.sheet.page),
        "logo": logo,
        "running": " · ".join(running),
        "version": text.version,
        "units": list(printed_signs()),
    }


def head_facts(shop: Shop, title: str, *, language: str, contact: tuple[str, ...], page: str) -> dict[str, Any]:
    """Return what the head and foot of a page are set with, without a logo.

    The paper is the one of the terms for other shops, else the country's own.
    """
    usual = "letter" if shop.settings.country in _LETTER else "A4"
    return {
        "title": title,
        "shop": shop.settings.name,
        **lang_of(language),
        "paper": _PAPER[shop.wholesale.paper if shop.wholesale else usual],
        "ink": ink_of(shop.settings.accent),
        "logo": False,
        "logo-alt": shop.settings.name,
        "contact": [{"says": says, "link": _link(says, shop)} for says in contact],
        "page": page,
        "running": title,
    }


def _link(says: str, shop: Shop) -> str:
    """Return where a part of the contact leads to when it is clicked, "" for nowhere."""
    if says == shop.settings.email:
        return f"mailto:{says}"
    website = shop.settings.website
    return website if says and website.removeprefix("https://").removesuffix("/") == says else ""


def _sheet_facts(document: Document, shop: Shop) -> dict[str, Any]:
    text, own = document.text, document.voice.own.sheet
    return {
        "words": {**{name: getattr(own, name) for name in _WORDS}, "terms": document.voice.own.terms.terms},
        "head": text.head,
        "tiers": [fill(own.tier, count=str(tier.start)) for tier in document.sheet.tiers],
        "terms": text.terms,
        "notes": text.notes,
        "order": fill(own.order_to, address=text.order_to) if text.order_to else "",
        "qr": _order_code(document, shop),
        "barcodes": list(_barcodes(document, shop)) if document.sheet.terms.barcodes else [],
    }


def _order_code(document: Document, shop: Shop) -> dict[str, Any] | None:
    """Return the QR code of the shop's website, where orders are placed; None without one that a code can hold."""
    website = shop.settings.website
    try:
        code = qr_code(website, _QR_ROOM) if website and document.text.order_to else None
    except FieldError:
        return None
    return {"svg": code.svg, "side": float(code.side), "alt": website} if code else None


def _since(document: Document, previous: PreviousSheet | None) -> dict[str, Any]:
    """Return which sheet this one replaces, and the lines that moved since."""
    if previous is None or previous.version == document.text.version:
        return {"replaces": "", "moved": []}
    moves, own = moves_since(document.sheet, previous), document.voice.own.sheet
    told = [_moved(move, document.voice) for move in moves[:_MOST_MOVED]]
    if len(moves) > _MOST_MOVED:
        told.append(fill(own.moved_more, count=str(len(moves) - _MOST_MOVED)))
    return {"replaces": fill(own.replaces, version=previous.version), "moved": told}


def _moved(move: SheetMove, voice: SheetVoice) -> str:
    own = voice.own.sheet
    if move.old is None or move.new is None:
        return fill(own.moved_new if move.what == "new" else own.moved_gone, code=move.code)
    sentence = own.moved_wholesale if move.what == "wholesale" else own.moved_retail
    return fill(sentence, code=move.code, old=voice.money(move.old), new=voice.money(move.new))


def _groups(document: Document, photos: tuple[SheetPhoto, ...], previous: PreviousSheet | None) -> list[dict[str, Any]]:
    """Return the groups with their pictures, and marks on the lines that moved since a sheet."""
    shown: dict[str, list[dict[str, str]]] = {}
    for one in photos:
        shown.setdefault(one.code, []).append({"name": one.name, "alt": one.alt})
    marks: dict[str, dict[str, str]] = {}
    if previous is not None and previous.version != document.text.version:
        for move in moves_since(document.sheet, previous):
            old = fill(document.voice.own.sheet.was, amount=document.voice.money(move.old)) if move.old else ""
            marks.setdefault(move.code, {})[move.what] = old
    case_prices = {
        line.code: document.voice.money(line.wholesale * entry.packs.case)
        for entry in document.sheet.entries
        if entry.packs.case
        for line in entry.lines
    }
    groups = [asdict(group) for group in document.text.groups]
    for entry in (entry for group in groups for entry in group["entries"]):
        entry["pictures"] = shown.get(entry["code"], [])
        own = [marks.get(line["code"], {}) for line in entry["lines"]]
        for line in entry["lines"]:
            line["case_price"] = case_prices.get(line["code"], "")
        for line, mark in zip(entry["lines"], own, strict=True):
            line |= {"was": mark.get("wholesale", ""), "was_retail": mark.get("retail", ""), "new": "new" in mark}
        if all("new" in mark for mark in own):
            entry["flags"] = (document.voice.own.sheet.new, *entry["flags"])
            entry["lines"] = [{**line, "new": False} for line in entry["lines"]]  # said above them all
    return groups


def _barcodes(document: Document, shop: Shop) -> Iterator[dict[str, Any]]:
    words = document.voice.own.sheet
    for one in symbols_of(document):
        yield {
            "code": one.code,
            "name": one.name,
            "svg": svg_of(one.symbol, shop.templates[BARCODE]),
            "width": float(one.symbol.width),
            "alt": fill(words.barcode_of, name=one.name, kind=one.symbol.kind, number=one.symbol.gtin),
        }
