"""The proof: a set as every place will show it, each text held against its limit, and what to tick at the table.

Words are for the owner alone, from templates/proof/<language>.toml in the shop's own language; what buyers read is in
the language of each place. Nothing is made here that a place gets.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from html.parser import HTMLParser
from typing import Final

from listkit.compute.catalog import Piece, SetFacts
from listkit.listing.formats import MEASURES, sides_text
from listkit.listing.listings import Listing, ShownOption
from listkit.listing.print_words import sections_for_owner
from listkit.listing.sentences import fill, with_places
from listkit.listing.titles import entries_of
from listkit.listing.words import Words, piece_text, several, size_text
from listkit.model.gift_set import Fixed
from listkit.model.item import Item
from listkit.model.shop import Shop
from listkit.units.spoken import money_text

FOLDER: Final = "proof"
MOST_OFFERS: Final = 24
"""So many variants of a listing are shown; a place's table has the rest."""
MOST_SHOWN: Final = 40_000
"""Letters of a text that is shown, so that a page stays one; a longer one is in the files of the place alone."""
_BLOCKS: Final = {"h1": "heading", "h2": "heading", "h3": "heading", "h4": "heading", "li": "item", "p": "plain"}
_MORE_BLOCKS: Final = ("ul", "ol", "div", "br", "hr", "table", "tr", "blockquote", "dl", "dt", "dd", "h5", "h6")


@dataclass(frozen=True, slots=True)
class ProofWords:
    """All that the page says itself; `language` is that of its words (BCP 47)."""

    language: str
    lead: str
    pages: str
    sets: str
    only: str
    mend: str
    mend_elsewhere: str
    nothing: str
    must: str
    look: str
    draft: str
    aside: str
    aside_draft: str
    aside_mend: str
    aside_without: str
    table: str
    box: str
    card: str
    names: str
    pictures_right: str
    price_right: str
    copy: str
    copied: str
    selected: str
    name: str
    text: str
    pasted: str
    unseen: str
    keywords: str
    price: str
    choices: str
    pictures: str
    no_pictures: str
    code: str
    choice: str
    stock: str
    kept: str
    uncounted: str
    sold_out: str
    usual: str
    characters: str
    bytes: str
    utf_16: str
    words: str
    title: str = with_places("shop", spared=("shop",))
    page: str = with_places("number", "count", spared=("count",))
    more: str = with_places("count")
    one_of: str = with_places("slot", "options")
    box_size: str = with_places("size")
    absent: str = with_places("places")
    pictures_of: str = with_places("place")
    variants: str = with_places("count")
    more_variants: str = with_places("count")
    size: str = with_places("size", "unit")
    size_of: str = with_places("size", "limit", "unit")
    over: str = with_places("count")


def proof_words(shop: Shop) -> ProofWords:
    """Return the words in the shop's language, in English where it has none.

    Raises:
        FieldError: the owner's own file of them has a fault.
    """
    sections = sections_for_owner(shop.templates, FOLDER, shop.settings.language, ((FOLDER, ProofWords),))
    phrases: ProofWords = sections[FOLDER]
    return phrases


@dataclass(frozen=True, slots=True)
class TextLine:
    """A line of a text as a place shows it; `kind` is "heading", "item" or "plain"."""

    kind: str
    text: str


@dataclass(frozen=True, slots=True)
class CopyField:
    """A text to be copied into a page of a place; `size` says how long it is, `over` by how much too long, else "".

    `unseen` says so where it is too long to be shown, and then there is no text.
    """

    text: str
    size: str
    over: str
    unseen: str = ""


@dataclass(frozen=True, slots=True)
class ProofOption:
    """An option as the place shows it; `note` says that it is the usual one or sold out."""

    says: str
    price: str
    note: str


@dataclass(frozen=True, slots=True)
class ProofSlot:
    """A choice of the place, and its options."""

    name: str
    options: tuple[ProofOption, ...]


@dataclass(frozen=True, slots=True)
class ProofOffer:
    """A variant: amounts as they read, and bare for programs ("24.00")."""

    code: str
    choice: str
    price: str
    amount: str
    kept: str
    kept_amount: str
    stock: str


@dataclass(frozen=True, slots=True)
class PlaceProof:
    """A set as one place will show it. `lines` are those of a text in HTML, none of one that is read as it is typed.

    Texts and keywords are None where the place takes neither table nor listings.
    """

    key: str
    name: str
    language: str
    title: CopyField
    text: CopyField | None
    keywords: CopyField | None
    lines: tuple[TextLine, ...]
    price: str
    slots: tuple[ProofSlot, ...]
    offers: tuple[ProofOffer, ...]
    more_offers: str
    offer_count: str


@dataclass(frozen=True, slots=True)
class SetProof:
    """A set: what to tick with its box on the table, which places do not show it, and each that does."""

    code: str
    name: str
    folder: str
    season: str
    ticks: tuple[str, ...]
    absent: str
    places: tuple[PlaceProof, ...]


def set_proof(
    facts: SetFacts, listings: tuple[Listing, ...], shop: Shop, *, wording: Words | None, phrases: ProofWords
) -> SetProof:
    """Return the proof of a set.

    Args:
        facts: the set, in the shop's own language.
        listings: its listings, in the order of the places.
        shop: the shop it is of.
        wording: the words of the shop's own language, None where it has none.
        phrases: the words of the page.
    """
    shown = {listing.channel.key for listing in listings}
    absent = [channel.name for channel in shop.channels if channel.key not in shown]
    return SetProof(
        code=facts.code,
        name=facts.name,
        folder=facts.source.folder,
        season=facts.season.name if facts.season else "",
        ticks=tuple(_ticks(facts, shop, wording, phrases)) if wording else (),
        absent=fill(phrases.absent, places=", ".join(absent)) if absent else "",
        places=tuple(_place(listing, phrases) for listing in listings),
    )


def _ticks(facts: SetFacts, shop: Shop, wording: Words, phrases: ProofWords) -> Iterator[str]:
    """Yield what should be in the box, in the order of the contents, then the box, the card, and what to look at."""
    items = {item.code: item for item in facts.items}
    for entry in entries_of(facts):
        if isinstance(entry, Fixed):
            yield piece_text(wording, Piece(items[entry.item], entry.quantity))
        else:
            options = tuple(_option_tick(wording, items[each.item], entry.quantity) for each in entry.choose)
            yield fill(phrases.one_of, slot=entry.slot, options=wording.one_of(options))
    for box in facts.boxes:
        sides = box.outside.sides if box.outside else None
        yield (
            fill(phrases.box_size, size=sides_text(sides, wording.language, wording.measure)) if sides else phrases.box
        )
    if facts.card is not None:
        yield phrases.card
    yield from (phrases.names, phrases.pictures_right, phrases.price_right)


def _option_tick(wording: Words, item: Item, quantity: int) -> str:
    """Return an option with its size behind it in brackets: commas part the options already."""
    size = size_text(item, wording.language)
    name = wording.naming.of(item)
    return several(wording, quantity, f"{name} ({size})" if size else name)


def _place(listing: Listing, phrases: ProofWords) -> PlaceProof:
    channel, limits = listing.channel, listing.channel.limits
    texts = bool({"feed", "listings"}.intersection(channel.make))
    spans = dict.fromkeys((listing.cheapest, listing.dearest))
    more = len(listing.offers) - MOST_OFFERS
    return PlaceProof(
        key=channel.key,
        name=channel.name,
        language=listing.language,
        title=_measured(listing.title, limits.title, limits.count, phrases),
        text=_measured(listing.description, limits.description, limits.count, phrases) if texts else None,
        keywords=_keywords(listing, phrases) if texts and listing.keywords else None,
        lines=lines_of(listing.description[:MOST_SHOWN]) if texts and channel.text == "html" else (),
        price=" – ".join(money_text(each.amount, each.currency, listing.language) for each in spans),
        slots=tuple(
            ProofSlot(slot.name, tuple(_option(option, listing, phrases) for option in slot.options))
            for slot in listing.slots
        ),
        offers=tuple(_offers(listing, phrases)),
        more_offers=fill(phrases.more_variants, count=str(more)) if more > 0 else "",
        offer_count=fill(phrases.variants, count=str(len(listing.offers))),
    )


def _measured(text: str, limit: int | None, count: str, phrases: ProofWords) -> CopyField:
    size = MEASURES[count](text)
    unit = phrases.bytes if count == "bytes" else phrases.characters
    if count == "utf-16 units" and size != len(text):  # elsewhere they are as many as the characters
        unit = phrases.utf_16
    field = _sized(text, size, limit, phrases, unit=unit)
    return field if len(text) <= MOST_SHOWN else replace(field, text="", unseen=phrases.unseen)


def _sized(text: str, size: int, limit: int | None, phrases: ProofWords, *, unit: str) -> CopyField:
    if limit is None:
        return CopyField(text, fill(phrases.size, size=str(size), unit=unit), "")
    over = fill(phrases.over, count=str(size - limit)) if size > limit else ""
    return CopyField(text, fill(phrases.size_of, size=str(size), limit=str(limit), unit=unit), over)


def _keywords(listing: Listing, phrases: ProofWords) -> CopyField:
    limits = listing.channel.limits
    field = _sized(", ".join(listing.keywords), len(listing.keywords), limits.keywords, phrases, unit=phrases.words)
    longest = max((MEASURES[limits.count](keyword) for keyword in listing.keywords), default=0)
    if field.over or limits.keyword is None or longest <= limits.keyword:
        return field
    return CopyField(field.text, field.size, fill(phrases.over, count=str(longest - limits.keyword)))


def _option(option: ShownOption, listing: Listing, phrases: ProofWords) -> ProofOption:
    price = money_text(option.price.amount, option.price.currency, listing.language) if option.price else ""
    return ProofOption(
        option.says, price, phrases.sold_out if option.sold_out else phrases.usual if option.default else ""
    )


def _offers(listing: Listing, phrases: ProofWords) -> Iterator[ProofOffer]:
    for offer in listing.offers[:MOST_OFFERS]:
        price, kept = (money_text(each.amount, each.currency, listing.language) for each in (offer.price, offer.kept))
        yield ProofOffer(
            code=offer.variant.code,
            choice=", ".join(offer.choices),
            price=price,
            amount=str(offer.price),
            kept=kept,
            kept_amount=str(offer.kept),
            stock=phrases.uncounted if offer.stock is None else str(offer.stock),
        )


class _Lines(HTMLParser):
    """Gathers the lines of a text in HTML: no tag of it goes on, only what is read."""

    def __init__(self) -> None:
        super().__init__()
        self.lines: list[TextLine] = []
        self._kind, self._read = "plain", ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Begin a line where a block begins."""
        if tag in _BLOCKS or tag in _MORE_BLOCKS:
            self.end_line()
            self._kind = _BLOCKS.get(tag, "plain")

    def handle_endtag(self, tag: str) -> None:
        """End a line where a block ends."""
        if tag in _BLOCKS or tag in _MORE_BLOCKS:
            self.end_line()
            self._kind = "plain"

    def handle_data(self, data: str) -> None:
        """Keep what is read."""
        self._read += data

    def end_line(self) -> None:
        """Keep the line, unless nothing stands in it."""
        if text := " ".join(self._read.split()):
            self.lines.append(TextLine(self._kind, text))
        self._read = ""


def lines_of(html: str) -> tuple[TextLine, ...]:
    """Return the lines of a text in HTML as they are read.

    >>> [(line.kind, line.text) for line in lines_of("<h3>In it</h3><ul><li>Soap &amp; <b>oil</b></li></ul>")]
    [('heading', 'In it'), ('item', 'Soap & oil')]
    """
    parser = _Lines()
    parser.feed(html)
    parser.close()
    parser.end_line()
    return tuple(parser.lines)
