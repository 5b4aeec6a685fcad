"""wholesale/line-sheet-….pdf: what a shop that buys from us orders from, with pictures, numbers, prices, days, terms.

Its name tells season, day of issue and version; the version is a short code of all that it states. The owner's own
layout beats ours.
"""

from collections.abc import Iterator
from dataclasses import asdict
from decimal import Decimal
from pathlib import Path
from typing import Any, Final

from listkit.compute.given_out import PreviousSheet, SheetMove, moves_since
from listkit.listing.listings import Listings
from listkit.listing.papers import papers_of
from listkit.listing.photos import LEAD, SheetPhoto
from listkit.listing.sentences import fill
from listkit.listing.sheet import Document, full_name
from listkit.model.photo import Cut
from listkit.model.shop import Shop
from listkit.picture.encode import ENCODERS, CropJob, fitted
from listkit.problem import FieldError
from listkit.save.job import File, Job, key_of
from listkit.write.barcodes import TEMPLATE as BARCODE
from listkit.write.barcodes import qr_code, svg_of, symbols_of
from listkit.write.context import WriteContext
from listkit.write.photo_crops import cut_crops, verify_crop
from listkit.write.print import Layout, head_facts, layout_with, print_pdf, printer, verify_pdf

FOLDER: Final = "wholesale/pictures"
LOGO: Final = "logo.png"
_QUALITY: Final = 82
_LOGO_SIDE: Final = 700
LAYOUTS: Final = {
    "quiet": ("print/line_sheet.typ", "print/line_sheet_parts.typ", "print/common.typ"),
    "bold": ("print/line_sheet_bold.typ", "print/line_sheet_parts.typ", "print/common.typ"),
}
_WORDS: Final = (
    "new", "version", "choice", "code", "line", "picture", "gtin", "case_gtin", "wholesale", "retail", "moved", "order",
    "barcodes", "case", "case_price", "quantity", "price", "before", "now", "first_order", "continued",
)  # fmt: skip
_QR_ROOM: Final = Decimal(18)  # mm, beside how to order
_MOST_MOVED: Final = 12  # told in one place; every one is marked where it stands
_CODES_A_ROW: Final = 30  # a row is not parted between pages, and the compiler puts no more than 512 boxes in a cell


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield the pictures and the sheet; nothing without terms for shops."""
    papers, shop = papers_of(listings), listings.catalog.shop
    document = papers.document
    if document is None:
        return
    photos = (papers.lead, *papers.photos) if papers.lead else papers.photos
    pictures = tuple(picture_jobs(photos, shop, context))
    yield from pictures
    files = tuple(file for job in pictures for file in job.files)
    layout = layout_of(document, shop, photos, context.previous)
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
    """Return the layout with all that it shows; `previous` is the sheet that this one replaces.

    A photo that leads the sheet comes first.
    """
    lead = next((photo for photo in photos if photo.name == LEAD), None)
    facts = {
        **page_facts(document, shop, document.voice.own.sheet.line_sheet, logo=shop.logo is not None),
        **_sheet_facts(document, shop),
        **_since(document, previous),
        "lead": _lead(document, lead),
        "groups": _groups(document, tuple(photo for photo in photos if photo is not lead), previous),
    }
    return layout_with(shop, LAYOUTS[document.sheet.terms.design], facts, day=document.text.issued)


def page_facts(document: Document, shop: Shop, title: str, *, logo: bool) -> dict[str, Any]:
    """Return what every page of ours is set with: see common.typ."""
    text, voice = document.text, document.voice
    running = (title, *(says for _, says in text.head[:1]), f"{voice.own.sheet.version} {text.version}")
    head = head_facts(shop, title, language=voice.language, contact=text.contact, page=voice.own.sheet.page)
    numbers = (shop.settings.tax_number, shop.settings.company_number)
    return {
        **head,
        "postal": " · ".join(part for part in (head["postal"], *numbers) if part),
        "logo": logo,
        "running": " · ".join(running),
        "version": text.version,
    }


def _sheet_facts(document: Document, shop: Shop) -> dict[str, Any]:
    text, own = document.text, document.voice.own.sheet
    return {
        "words": {
            **{name: getattr(own, name) for name in _WORDS},
            "terms": document.voice.own.terms.terms,
            "sum": document.voice.own.order.sum,
        },
        "head": text.head,
        "tiers": [fill(own.tier, count=str(tier.start)) for tier in document.sheet.tiers],
        "terms": text.terms,
        "notes": text.notes,
        "first_order": None if text.first_order is None else asdict(text.first_order),
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


def _lead(document: Document, lead: SheetPhoto | None) -> dict[str, str] | None:
    """Return the picture that leads the sheet, with the name and the theme of its set; None without one."""
    entries = (entry for group in document.text.groups for entry in group.entries if lead and entry.code == lead.code)
    entry = next(entries, None)
    if lead is None or entry is None:
        return None
    return {"picture": lead.name, "alt": lead.alt, "name": entry.name, "theme": entry.theme}


def _since(document: Document, previous: PreviousSheet | None) -> dict[str, Any]:
    """Return which sheet this one replaces, and a table of what moved since."""
    if previous is None or previous.version == document.text.version:
        return {"replaces": "", "moved": [], "moved_more": ""}
    alike, own = _alike(moves_since(document.sheet, previous)), document.voice.own.sheet
    return {
        "replaces": fill(own.replaces, version=previous.version),
        "moved": _moved(document, alike[:_MOST_MOVED]),
        "moved_more": fill(own.moved_more, count=str(len(alike) - _MOST_MOVED)) if len(alike) > _MOST_MOVED else "",
    }


def _alike(moves: tuple[SheetMove, ...]) -> list[list[SheetMove]]:
    """Return the moves by what moved, from which price to which."""
    alike: dict[tuple[object, ...], list[SheetMove]] = {}
    for move in moves:
        priced = move.old is not None or move.new is not None
        alike.setdefault((move.what, move.start, move.old, move.new) if priced else (move.what,), []).append(move)
    return list(alike.values())


def _moved(document: Document, alike: list[list[SheetMove]]) -> list[dict[str, str]]:
    """Return a row for lines that moved alike: their codes and names, which price, what it was and what it is.

    Very many of them take several rows.
    """
    own, money = document.voice.own.sheet, document.voice.money
    pairs = [(entry, line) for group in document.text.groups for entry in group.entries for line in entry.lines]
    entry_names = {code: entry.name for entry, line in pairs for code in (line.code, entry.code)}
    names = entry_names | {line.code: full_name(entry, line) for entry, line in pairs}
    whats = {
        "new": own.new,
        "gone": own.gone,
        "wholesale": own.wholesale,
        "retail": own.retail,
        "display": own.display_set,
    }
    return [
        {
            "codes": ", ".join(move.code for move in group),
            "names": _names(group, names, entry_names),
            "what": whats.get(group[0].what) or fill(own.tier, count=str(group[0].start)),
            "was": money(group[0].old) if group[0].old is not None else "",
            "now": money(group[0].new) if group[0].new is not None else "",
        }
        for moves in alike
        for group in (moves[at : at + _CODES_A_ROW] for at in range(0, len(moves), _CODES_A_ROW))
    ]


def _names(moves: list[SheetMove], names: dict[str, str], entry_names: dict[str, str]) -> str:
    """Return what lines are called: one in full, several by the sets and items that they are of, each once."""
    if len(moves) == 1:
        return names.get(moves[0].code, moves[0].name)
    return "; ".join(dict.fromkeys(entry_names.get(move.code, move.name) for move in moves if move.code or move.name))


def _groups(document: Document, photos: tuple[SheetPhoto, ...], previous: PreviousSheet | None) -> list[dict[str, Any]]:
    """Return the groups with their pictures, and marks on the lines that moved since a sheet."""
    shown: dict[str, list[dict[str, str]]] = {}
    for one in photos:
        seen_in = fill(document.voice.own.sheet.seen_in, name=one.lent_by) if one.lent_by else ""
        shown.setdefault(one.code, []).append({"name": one.name, "alt": one.alt, "seen_in": seen_in})
    marks: dict[str, dict[str, str]] = {}
    if previous is not None and previous.version != document.text.version:
        for move in moves_since(document.sheet, previous):
            old = fill(document.voice.own.sheet.was, amount=document.voice.money(move.old)) if move.old else ""
            marks.setdefault(move.code, {})[move.what] = old
    cases = {
        line.code: (str(entry.packs.case), document.voice.money(line.wholesale * entry.packs.case))
        for entry in document.sheet.entries
        if entry.packs.case
        for line in entry.lines
    }
    in_columns = {fill(document.voice.own.sheet.case_of, count=case) for case, _ in cases.values()}
    groups = [asdict(group) for group in document.text.groups]
    for entry in (entry for group in groups for entry in group["entries"]):
        entry["facts"] = [fact for fact in entry["facts"] if fact not in in_columns]
        entry["pictures"] = shown.get(entry["code"], [])
        own = [marks.get(line["code"], {}) for line in entry["lines"]]
        for line in entry["lines"]:
            line["case"], line["case_price"] = cases.get(line["code"], ("", ""))
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
