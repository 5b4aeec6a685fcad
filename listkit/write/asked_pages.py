"""Pages that are printed when somebody asks: so many of each label or card, packing cards, cards with buyers' words.

Only layouts and what they show; where they are written to is for the command. A text is laid out once, however often
it is printed, and a file holds as many sheets as stay in memory.
"""

import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from listkit.compute.box.fit import verdict_in
from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.compute.labels import sheet_plan
from listkit.listing.labels import LabelPaper
from listkit.listing.listings import Listing, Listings
from listkit.listing.papers import papers_of
from listkit.listing.print_words import LabelVoice
from listkit.listing.sentences import fill
from listkit.listing.texts import care_lines
from listkit.listing.words import size_text
from listkit.model.fields import Status
from listkit.model.item import Item
from listkit.model.labels import CardWish, Laid
from listkit.model.shop import Shop
from listkit.write.barcodes import qr_code
from listkit.write.box_drawing import OnCard, drawing
from listkit.write.labels import (
    MOST_LAID,
    SHARED,
    Logo,
    cards_layout,
    file_of,
    labels_layout,
    logo_of,
    sheet_facts,
)
from listkit.write.print import Layout, layout_with, shop_facts

INSERTS: Final = ("print/insert_cards.typ", SHARED)
MESSAGES: Final = ("print/message_cards.typ", SHARED)
PACKING: Final = ("print/packing_cards.typ", "print/common.typ")
_MOST_COPIES: Final = 1_000  # of few texts in one file, faces counted
_PAGES: Final = 100  # packing cards in one file
_INSET_MM: Final = 10  # both insets of an insert card
_QR_SHARE: Final = Decimal("0.45")  # of an insert card's width, at most
_WRITTEN_RIGHT_TO_LEFT: Final = frozenset({"R", "AL"})  # Unicode Standard Annex 9


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of label or card: its file's name and title, how it lies, its codes, the layout of some of them."""

    stem: str
    title: str
    what: str
    codes: tuple[str, ...]
    layout: Callable[[tuple[int, ...], dict[str, Any]], Layout]
    laid: Laid
    faces: int = 1
    logo: Logo | None = None


@dataclass(frozen=True, slots=True)
class Pages:
    """One file: its name below the folder, its layout, and whether it is of labels or cards ("" for whole pages)."""

    name: str
    layout: Layout
    what: str = ""
    logo: Logo | None = None


def label_kinds(listings: Listings) -> tuple[Kind, ...]:
    """Return the outside labels, a kind for each size; () where the shop has none."""
    return tuple(_labels_kind(paper, listings.catalog.shop) for paper in papers_of(listings).labels)


def _labels_kind(paper: LabelPaper, shop: Shop) -> Kind:
    def layout(places: tuple[int, ...], sheet: dict[str, Any]) -> Layout:
        return labels_layout(tuple(paper.texts[at] for at in places), paper.labels, shop, sheet)

    codes = tuple(text.code for text in paper.texts)
    stem, title = file_of(paper)
    logo = logo_of(shop) if paper.labels.logo else None
    return Kind(stem, title, "label", codes, layout, laid=paper.labels, faces=paper.labels.faces, logo=logo)


def cards_kind(listings: Listings) -> Kind | None:
    """Return the price cards; None where the shop has none."""
    paper, shop = papers_of(listings).cards, listings.catalog.shop
    if paper is None:
        return None

    def layout(places: tuple[int, ...], sheet: dict[str, Any]) -> Layout:
        return cards_layout(tuple(paper.texts[at] for at in places), paper.cards, shop, sheet)

    codes = tuple(text.code for text in paper.texts)
    return Kind("price-cards", paper.voice.sheet.cards, "card", codes, layout, laid=paper.cards)


def inserts_kind(listings: Listings, voice: LabelVoice) -> Kind | None:
    """Return the insert cards, one a set; None without sets.

    Raises:
        FieldError: the address of a set's page is none, or too long for a QR code on the card.
    """
    shop = listings.catalog.shop
    laid = shop.settings.inserts
    pages = _page_addresses(listings, laid.channel)
    room = min(laid.size.height - _INSET_MM, laid.size.width * _QR_SHARE)
    cards = [_insert(facts, pages.get(facts.code, ""), room, shop, voice) for facts in listings.catalog.sets]
    if not cards:
        return None

    def layout(places: tuple[int, ...], sheet: dict[str, Any]) -> Layout:
        asked = voice.asked
        words = {**sheet["words"], "batch": asked.batch, "scan": asked.scan, "address": asked.address}
        return layout_with(shop, INSERTS, {**sheet, "words": words, "cards": [cards[at] for at in places]})

    codes = tuple(card["code"] for card in cards)
    return Kind("insert-cards", voice.asked.inserts, "card", codes, layout, laid=laid)


def _page_addresses(listings: Listings, channel: str) -> dict[str, str]:
    """Return the address of each set's page: the channel's, or that of the first channel that states any."""
    found: dict[str, str] = {}
    chosen: list[Listing] = [one for one in listings if one.address]
    if channel:
        chosen = [one for one in chosen if channel in (one.channel.key, one.channel.name)]
    for listing in chosen:
        found.setdefault(listing.facts.code, listing.address)
    return found


def _insert(facts: SetFacts, address: str, room: Decimal, shop: Shop, voice: LabelVoice) -> dict[str, Any]:
    spoken = voice.spoken.facts(facts)
    sold = {piece.item.code for variant in spoken.variants for piece in variant.pieces}
    items = tuple(item for item in spoken.items if item.code in sold)
    code = qr_code(address, room) if address else None
    return {
        "code": facts.code,
        "name": spoken.name,
        "lines": list(shop.settings.inserts.lines or care_lines(voice.words, spoken, items)),
        "qr": {"svg": code.svg, "side": float(code.side), "says": code.says} if code else None,
    }


def sheets_of_all(
    kinds: tuple[Kind, ...], order: tuple[int, ...], used: int, shop: Shop, voice: LabelVoice
) -> Iterator[Pages]:
    """Yield the files in which kinds are laid in this order (places in the codes of all of them), each by itself."""
    before = 0
    for kind in kinds:
        own = tuple(place - before for place in order if 0 <= place - before < len(kind.codes))
        before += len(kind.codes)
        if own:
            yield from sheets_of(kind, own, used, shop, voice)


def sheets_of(kind: Kind, order: tuple[int, ...], used: int, shop: Shop, voice: LabelVoice) -> Iterator[Pages]:
    """Yield the files in which a kind is laid in this order (places in its codes), after places that are used up."""
    places = len(sheet_plan(kind.laid).places)
    most = max(_MOST_COPIES // places, 1) * places if len(set(order)) * kind.faces <= MOST_LAID else MOST_LAID
    most = max(most // kind.faces // places, 1) * places
    first = most - -(-used // kind.faces)
    chunks = [order[:first], *(order[at : at + most] for at in range(first, len(order), most))]
    for number, chunk in enumerate(chunks, 1):
        shown = tuple(dict.fromkeys(chunk))
        at = {place: index for index, place in enumerate(shown)}
        sheet = _sheet(kind.laid, shop, voice, _numbered(kind.title, number, chunks))
        sheet |= {"order": [at[place] for place in chunk], "used": used if number == 1 else 0}
        yield Pages(_file(kind.stem, number, chunks), kind.layout(shown, sheet), kind.what, kind.logo)


def _sheet(laid: Laid, shop: Shop, voice: LabelVoice, title: str) -> dict[str, Any]:
    """Return what a layout needs of the sheet, without the page that tests it: a build makes that one."""
    facts = sheet_facts(laid, shop, voice, title)
    return {**facts, "sheet": {**facts["sheet"], "test_page": False}}


def outline_layout(laid: Laid, shop: Shop, voice: LabelVoice, title: str) -> Layout:
    """Return the page that tests how labels or cards lie: each place outlined, and a ruler; nothing is on them."""
    facts = sheet_facts(laid, shop, voice, title)
    facts |= {"sheet": {**facts["sheet"], "test_page": True}, "cards": [], "order": [], "used": 0}
    asked = voice.asked
    words = {**facts["words"], "batch": asked.batch, "scan": asked.scan, "address": asked.address}
    return layout_with(shop, INSERTS, {**facts, "words": words})


def _numbered(title: str, number: int, chunks: list[tuple[Any, ...]]) -> str:
    return f"{title} {number}/{len(chunks)}" if len(chunks) > 1 else title


def _file(stem: str, number: int, chunks: list[tuple[Any, ...]]) -> str:
    return f"{stem}-{number}.pdf" if len(chunks) > 1 else f"{stem}.pdf"


def message_sheets(wishes: tuple[CardWish, ...], used: int, catalog: Catalog, voice: LabelVoice) -> Iterator[Pages]:
    """Yield the files of cards with buyers' words; each card is told apart by the row of its table."""
    shop = catalog.shop
    laid, asked = shop.settings.messages, voice.asked
    names = {code: facts.name for facts in catalog.sets for code in (facts.code, *(one.code for one in facts.variants))}
    places = len(sheet_plan(laid).places)
    most = max(MOST_LAID // places, 1) * places
    chunks = [wishes[: most - used], *(wishes[at : at + most] for at in range(most - used, len(wishes), most))]
    words = {"number": asked.number, "ticks": asked.ticks, "order": asked.order_heading, "set": asked.set}
    for number, chunk in enumerate(chunks, 1):
        sheet = _sheet(laid, shop, voice, _numbered(asked.messages, number, chunks))
        facts = {
            **sheet,
            "words": {**sheet["words"], **words, "recipient": asked.recipient},
            "cards": [_message(wish, names.get(wish.code, "")) for wish in chunk],
            "order": list(range(len(chunk))),
            "used": used if number == 1 else 0,
        }
        yield Pages(_file("message-cards", number, chunks), layout_with(shop, MESSAGES, facts), "message")


def _message(wish: CardWish, name: str) -> dict[str, Any]:
    first = next((kind for sign in wish.words if (kind := unicodedata.bidirectional(sign)) in {"L", "R", "AL"}), "L")
    return {
        "row": wish.place.line,
        "order": wish.order,
        "set": " · ".join(part for part in (wish.code, name) if part),
        "words": shown_words(wish.words),
        "sender": shown_words(wish.sender),
        "recipient": shown_words(wish.recipient),
        "rtl": first in _WRITTEN_RIGHT_TO_LEFT,
    }


def shown_words(text: str) -> str:
    """Return words as they are set: lines end one way, and what has no look of its own is a blank or gone.

    >>> shown_words("Dear Ann,\\r\\nall\\tbest\\u202e")
    'Dear Ann,\\nall best'
    """
    lines = text.replace("\r\n", "\n").replace("\r", "\n").replace("\u2028", "\n").replace("\u2029", "\n").split("\n")
    return "\n".join(_line(line) for line in lines)


def _line(line: str) -> str:
    kept = (
        " " if sign.isspace() else sign
        for sign in line
        if sign == "\t" or unicodedata.category(sign) not in {"Cc", "Cf"}
    )
    return "".join(kept).strip()


def packing_pages(
    catalog: Catalog, order: tuple[str, ...], voice: LabelVoice, *, numbers: tuple[str, ...] = ()
) -> Iterator[Pages]:
    """Yield the files of packing cards for these variants, one a page, with the numbers of their orders if any."""
    shop = catalog.shop
    wanted = set(order)
    cards = {
        variant.code: _packing(facts, variant, catalog, voice)
        for facts in catalog.sets
        for variant in facts.variants
        if variant.code in wanted
    }
    asked = voice.asked
    said = [fill(asked.number, number=number) if number else "" for number in numbers or ("",) * len(order)]
    pages = tuple({**cards[code], "number": number} for code, number in zip(order, said, strict=True))
    chunks = [pages[at : at + _PAGES] for at in range(0, len(pages), _PAGES)]
    for number, chunk in enumerate(chunks, 1):
        facts = {
            **shop_facts(shop, _numbered(asked.packing, number, chunks), voice.language),
            "paper": "us-statement" if shop.settings.measures.customary else "a5",
            "words": {"drawing": asked.drawing},
            "cards": chunk,
        }
        yield Pages(_file("packing-cards", number, chunks), layout_with(shop, PACKING, facts))


def packed_codes(catalog: Catalog) -> tuple[str, ...]:
    """Return the codes of all variants that may be packed, in the order of the sets."""
    return tuple(
        variant.code for facts in catalog.sets for variant in facts.variants if variant.status is not Status.CLOSED
    )


def _packing(facts: SetFacts, variant: Variant, catalog: Catalog, voice: LabelVoice) -> dict[str, Any]:
    """Return one packing card; its pieces go in from the bottom up and from the back, numbered so.

    Without a box nothing is laid in nor closed: the pieces are picked, and weighed as they are.
    """
    settings, asked, box = catalog.shop.settings, voice.asked, variant.box
    items = [piece.item for piece in variant.pieces for _ in range(piece.quantity)]
    rows = list(enumerate(items, 1))
    svg = ""
    if box is not None:
        stacked = facts.source.gift_set.stacked
        verdict = verdict_in(box, variant.pieces, settings.packing, stacked=stacked, searches=catalog.searches)
        if verdict.fits:
            lies = dict(enumerate(verdict.layout, 1))
            rows.sort(key=lambda row: (lies[row[0]].z, -lies[row[0]].y, lies[row[0]].x))
            marks = {number: str(place) for place, (number, _) in enumerate(rows, 1)}
            on_card = OnCard(tuple(marks[number] for number in lies), asked.above, asked.front)
            svg = drawing(facts, variant, verdict, catalog.shop, on_card=on_card)
            svg = svg.replace(_SCREEN_FONT, "Libertinus Serif")
    before = [fill(asked.box, code=box.code)] if box else []
    before += [asked.fill] if box and box.fill else []
    behind = [asked.card] if facts.card else []
    shown = [["", name] for name in before] + [
        [str(mark), _named(item, voice)] for mark, (_, item) in enumerate(rows, 1)
    ]
    shown += [["", name] for name in behind]
    weight = settings.measures.weight(variant.weights.gift, rounded=True)
    return {
        "name": facts.name,
        "code": variant.code,
        "choices": [choice.says for choice in variant.choices],
        "drawing": svg,
        "list": asked.lay_in if box else asked.pick,
        "rows": shown,
        "scales": asked.weight if box else asked.weight_loose,
        "weight": f"{weight} ± {settings.measures.tolerance(settings.packing.scale)}",
    }


_SCREEN_FONT: Final = "Helvetica, Arial, 'Liberation Sans', sans-serif"


def _named(item: Item, voice: LabelVoice) -> str:
    size = size_text(item, voice.language)
    return ", ".join(part for part in (voice.words.naming.of(item), size) if part)
