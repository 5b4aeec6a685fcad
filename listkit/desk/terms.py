"""Terms for shops: wholesale.toml as a form, and beside it line sheet, price list and order form page by page.

The pages are made by the layout process that makes the PDFs, of the shop as its files are, so that they show a change
at once. They are pictures to look at; what is sent is the tagged PDF, or the workbook, that a build makes.
"""

import hashlib
import io
import threading
from collections import OrderedDict
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from listkit.compute.box.searches import Searches
from listkit.compute.catalog import Catalog
from listkit.compute.given_out import NOTHING_GIVEN_OUT, SheetHistory
from listkit.desk import changes, saving
from listkit.desk.changes import Outcome, Wrong
from listkit.desk.edits import Role, Target
from listkit.desk.fields import edits_of
from listkit.desk.file_form import (
    NOTHING_TYPED,
    Typed,
    by_field,
    form_of,
    list_edits,
    names_in,
    nearest,
    sent_in,
    texts_of,
    wrong_by_field,
)
from listkit.desk.page import Desk, in_full, page, say, text_of
from listkit.desk.pictures import drawn_cut
from listkit.desk.state import Seen, known_problems
from listkit.desk.today import is_behind
from listkit.listing.order_form import form_of as order_form_of
from listkit.listing.photos import sheet_photos
from listkit.listing.sheet import Document, document_of
from listkit.model.fields import SetStatus
from listkit.model.wholesale import Wholesale
from listkit.picture.encode import fitted
from listkit.picture.open import colours_of, read_bytes, read_picture
from listkit.pipeline import WHOLESALE as OF_SHOPS
from listkit.pipeline import sheet_history
from listkit.problem import FieldError
from listkit.read.folder import WHOLESALE
from listkit.save.manifest import read_manifest
from listkit.shipped import shipped_templates
from listkit.write.line_sheet import LOGO, layout_of
from listkit.write.order_form import Put, cells_of, widths_of
from listkit.write.print import Layout, facts_text, page_pictures
from listkit.write.wholesale_list import price_list_layout

TARGET: Final = Target(Role.WHOLESALE)
ADDRESS: Final = "/shops/terms"
PAPERS: Final = ("line-sheet", "price-list", "order-form")
_PPI: Final = 80  # wider than the pages lie on a screen; each page more costs 0.04 s of a processor
_LARGE_PPI: Final = 150  # of a page that is read
_KEPT: Final = 6  # papers whose pages are kept, of some 100 kB a page
_LOGO_SIDE: Final = 350
_MM_A_LETTER: Final = 2
Pictures = tuple[tuple[str, bytes], ...]


class Paper:
    """A paper and its pages, each size made when it is first asked for, and once though several ask."""

    def __init__(self, layout: Layout, pictures: Pictures) -> None:
        self._laid = layout, pictures
        self._lock = threading.Lock()
        self._made: dict[int, tuple[bytes, ...]] = {}

    def pages(self, ppi: int = _PPI) -> tuple[bytes, ...]:
        """Return its pages, of so many pixels an inch; raises FieldError where the layout has a fault."""
        if ppi not in self._made:  # who asks for a size that is made does not wait for another
            with self._lock:
                if ppi not in self._made:
                    self._made[ppi] = page_pictures(*self._laid, ppi=ppi)
        return self._made[ppi]


class PagePictures:
    """The last few papers by a digest of all that they are made of; any thread may ask, and waits for its own alone."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._kept: OrderedDict[str, Paper] = OrderedDict()
        self._begun: dict[str, Paper] = {}

    def of(self, layout: Layout, pictures: Pictures) -> tuple[str, int]:
        """Make the pages where they are not there yet; return their digest, and how many there are.

        Raises:
            FieldError: the layout has a fault.
        """
        digest = hashlib.sha256(repr((layout, pictures)).encode()).hexdigest()[:24]
        with self._lock:
            paper = self._kept.get(digest) or self._begun.setdefault(digest, Paper(layout, pictures))
        try:
            count = len(paper.pages())
        except BaseException:
            with self._lock:
                self._begun.pop(digest, None)
            raise
        with self._lock:
            self._begun.pop(digest, None)
            self._kept.setdefault(digest, paper)
            self._kept.move_to_end(digest)
            while len(self._kept) > _KEPT:
                self._kept.popitem(last=False)
        return digest, count

    def count(self, digest: str) -> int:
        """Return how many pages a paper has; 0 where it is no longer kept."""
        with self._lock:
            paper = self._kept.get(digest)
        return len(paper.pages()) if paper else 0

    def page(self, digest: str, number: int, *, large: bool = False) -> bytes | None:
        """Return a page, counted from 1; None where it is no longer kept. Large ones are made when one is asked for."""
        with self._lock:
            paper = self._kept.get(digest)
        pages = paper.pages(_LARGE_PPI if large else _PPI) if paper else ()
        return pages[number - 1] if 0 < number <= len(pages) else None


_PAGES: Final = PagePictures()


@dataclass(frozen=True, slots=True)
class Shown:
    """A paper as the page shows it: its name, the address of each page's picture; `fault` where it cannot be made."""

    paper: str
    version: str = ""
    pages: tuple[str, ...] = ()
    fault: str = ""


def show(desk: Desk, request: Request, *, typed: Typed = NOTHING_TYPED) -> Response:
    """Return the terms with a paper beside them; `typed` is what could not be saved, and why."""
    state, paper = desk.shop_state, request.query_params.get("paper", "")
    seen, file = state.look(), changes.see(state.folder, TARGET)
    fields, problems = form_of(Wholesale, file.content), known_problems(seen, state.full())
    at = by_field([each for each in problems if each.place.file == WHOLESALE], names_in(fields))
    shown = shown_paper(desk, seen, paper if paper in PAPERS else PAPERS[0])
    built = built_paper(desk, shown)
    history, unread = known_sheets(seen)
    seasons = [(season.name, season.name) for season in seen.opened.shop.settings.seasons]
    return page(
        desk,
        request,
        "shops",
        template="terms",
        file=file,
        target=TARGET,
        fields=fields,
        typed=typed.texts,
        wrong=typed.wrong,
        at=at,
        elsewhere=typed.wrong.get("", ()),
        offers={"seasons": (("", say("terms.no_season")), *seasons)},
        papers=PAPERS,
        shown=shown,
        built=built,
        behind=bool(built) and is_behind(desk, OF_SHOPS),
        history=history,
        unread=unread,
        status=422 if typed.wrong else 200,
    )


def change(desk: Desk, request: Request, form: FormData) -> Response:
    """Save what differs from the file, and what a button did to a list."""
    state = desk.shop_state
    fields = form_of(Wholesale, changes.see(state.folder, TARGET).content)
    if fields is None:
        raise FieldError(say("terms.unread"), "")
    sent, do = sent_in(form), text_of(form, "do")
    anchor = do.partition(" ")[2].partition(" ")[0].partition("/")[0]
    edits = edits_of(TARGET, fields, sent)
    try:
        edits += list_edits(do, TARGET, fields, sent)
    except FieldError as fault:
        wrong = Wrong(None, (), fault.message, fault.hint)
        return show(desk, request, typed=Typed(texts_of(sent), {nearest((anchor,), names_in(fields)): (wrong,)}))

    def refused(outcome: Outcome) -> Response:
        return show(desk, request, typed=Typed(texts_of(sent), wrong_by_field(outcome, fields)))

    paper = text_of(form, "beside")
    address = f"{ADDRESS}?paper={paper}" if paper in PAPERS else ADDRESS
    saved = saving.Saved(
        f"{address}#{anchor}" if anchor else address, say("terms.saved") if edits else "", wrong=refused, by_place=True
    )
    return saving.save(desk, request, form, edits=edits, saved=saved)


# Papers


def known_sheets(seen: Seen) -> tuple[SheetHistory, str]:
    """Return the line sheet's version of today and those that were given out, and why that cannot be known."""
    try:
        return sheet_history(finished(seen)), ""
    except FieldError as fault:
        return NOTHING_GIVEN_OUT, in_full(fault)


def finished(seen: Seen) -> Catalog:
    """Return the shop without its drafts, which no paper shows."""
    drafts = {each.folder for each in seen.opened.shop.folders if each.draft}
    sets = tuple(
        facts
        for facts in seen.catalog.sets
        if facts.source.gift_set.status is not SetStatus.DRAFT and facts.source.folder not in drafts
    )
    shop = replace(seen.opened.shop, sets=tuple(facts.source for facts in sets))
    return Catalog(shop, sets, Searches(), seen.catalog.singles)


def shown_paper(desk: Desk, seen: Seen, paper: str) -> Shown:
    """Return a paper with its pages, made where they are not there yet."""
    try:
        laid = laid_out(seen, paper)
        if laid is None:
            return Shown(paper, fault=say("terms.no_sheet"))
        document, layout, pictures = laid
        digest, count = _PAGES.of(layout, pictures)
    except FieldError as fault:
        return Shown(paper, fault=in_full(fault))
    pages = tuple(f"{ADDRESS}/{digest}/{number}.png" for number in range(1, count + 1))
    return Shown(paper, document.text.version, pages)


def built_paper(desk: Desk, shown: Shown) -> str:
    """Return the address of the file that the last build made of this very paper; "" where there is none."""
    begins = {"line-sheet": "wholesale/line-sheet-", "price-list": "wholesale/price-list.pdf"}
    start = begins.get(shown.paper, "wholesale/order-form.xlsx")
    entries = [each.path for each in read_manifest(desk.shop_state.out) if each.path.startswith("wholesale/")]
    if not shown.version or not any(path.endswith(f"-{shown.version}.pdf") for path in entries):
        return ""
    return next((f"/made/{path}" for path in entries if path.startswith(start)), "")


def laid_out(seen: Seen, paper: str) -> tuple[Document, Layout, Pictures] | None:
    """Return the layout of a paper with its pictures; None where there are no terms, lines or words for one.

    Raises:
        FieldError: the ledger cannot be used, or a picture is another one by now.
    """
    catalog, folder = finished(seen), seen.opened.shop.root
    document = document_of(catalog)
    if document is None:
        return None
    shop = catalog.shop
    if paper == "price-list":
        return document, price_list_layout(document, shop), ()
    if paper == "order-form":
        return document, _form_layout(document, seen), ()
    photos = sheet_photos(document.sheet, catalog, document.voice.words)
    layout = layout_of(document, shop, photos, sheet_history(catalog).previous)
    cuts = {each.name: each for each in photos}.values()
    pictures = [(each.name, drawn_cut(folder, each.photo, each.cut)) for each in cuts]
    if shop.logo is not None:
        pictures.append((LOGO, _logo(folder / shop.settings.logo)))
    return document, layout, tuple(pictures)


def _logo(file: Path) -> bytes:
    """Return the logo as a small PNG."""
    target = io.BytesIO()
    with read_picture(file, read_bytes(file), at_least=_LOGO_SIDE) as original:
        logo = colours_of(original.image.mode, original.profile).srgb(original.image)
        logo.resize(fitted(logo.size, _LOGO_SIDE)).save(target, "PNG")
    return target.getvalue()


def _form_layout(document: Document, seen: Seen) -> Layout:
    """Return the order form's cells as they lie in the workbook, with nothing filled in."""
    form = order_form_of(document, seen.opened.shop)
    widths = widths_of(form)
    cells = [
        {
            "x": put.column,
            "y": put.row,
            "span": _span(put, len(widths)),
            "text": f"{put.shown if put.formula else put.value}",
            "look": put.format,
            "right": put.format in ("money", "count", "quantity", "heading right", "label right", "sum right"),
        }
        for put in cells_of(form)
        if put.column < len(widths)
    ]
    facts = {
        "title": form.title,
        "lang": form.language.partition("-")[0],
        "width": sum(widths) * _MM_A_LETTER,
        "columns": list(widths),
        "cells": cells,
    }
    text = (shipped_templates() / "desk" / "order_form.typ").read_text(encoding="utf-8")
    return Layout((("desk/order_form.typ", text),), facts_text(facts))


def _span(put: Put, columns: int) -> int:
    """Return over how many columns a cell runs: as it is merged, or as its text runs over empty cells beside it."""
    runs_on = put.format in ("title", "group") or (put.format == "plain" and put.column == 0)
    return min(put.to - put.column + 1 if put.to else columns, columns - put.column) if put.to or runs_on else 1


def show_page(desk: Desk, request: Request) -> Response:
    """Return the picture of a page that was made a moment ago."""
    is_large = "large" in request.query_params
    content = _PAGES.page(request.path_params["digest"], request.path_params["number"], large=is_large)
    if content is None:
        return Response(status_code=404)
    return Response(content, media_type="image/png", headers={"cache-control": "private, max-age=86400, immutable"})


def show_large(desk: Desk, request: Request) -> Response:
    """Return a page of a paper large enough to be read, with the ways to the pages beside it and back."""
    digest, number = request.path_params["digest"], request.path_params["number"]
    count, paper = _PAGES.count(digest), request.query_params.get("paper", "")
    if not 0 < number <= count or paper not in PAPERS:
        return page(desk, request, "shops", template="nothing", status=404)
    return page(desk, request, "shops", template="leaf", digest=digest, number=number, count=count, paper=paper)
