"""print/price-cards.pdf: a card for every variant or set, for the stall and for shelves.

Made where shop.toml has [cards]. A card that cannot hold its text is told with how much is missing.
"""

from collections.abc import Iterator
from dataclasses import asdict, replace
from typing import Any, Final

from listkit.compute.catalog import Catalog, Variant
from listkit.listing.listings import Listings
from listkit.listing.print_words import voice_in
from listkit.model.labels import Cards
from listkit.model.shop import Shop
from listkit.save.job import File, Job, key_of
from listkit.units.money import Money
from listkit.write.card_text import CardText, card_texts
from listkit.write.context import WriteContext
from listkit.write.label_sheets import barcode_facts, layout_with, parts_of, print_fitting, sheet_facts
from listkit.write.print import Layout, printer, verify_pdf

PATH: Final = "print/price-cards.pdf"
LAYOUT: Final = "print/price_cards.typ"


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield all cards as one file; nothing without [cards]."""
    listings = replace(listings, catalog=_as_sold(listings))
    shop = listings.catalog.shop
    cards = shop.settings.cards
    voice, _ = voice_in(shop, shop.settings.language)
    texts = card_texts(listings, cards, voice) if cards and voice else ()
    if cards is None or voice is None or not texts:
        return
    for part in parts_of(texts, PATH, voice.sheet.cards, cards):
        layout = cards_layout(part.texts, cards, shop, sheet_facts(cards, shop, voice, part.title))
        codes = tuple(dict.fromkeys(code for text in part.texts for code in text.codes))
        file = File(part.path, key_of(context.version, printer(), layout), codes, verify=verify_pdf)
        yield Job(print_fitting, (layout, "card"), (file,))


def _as_sold(listings: Listings) -> Catalog:
    """Return the catalog at the prices of a reduction that all channels have; a card is no single channel's."""
    lowered: dict[str, Variant] = {}
    prices: dict[str, set[Money]] = {}
    for listing in listings if any(one.reduction for one in listings) else ():
        for offer in listing.offers:
            prices.setdefault(offer.variant.code, set()).add(offer.price)
            lowered[offer.variant.code] = offer.variant
    same = {code: one for code, one in lowered.items() if one.usual and len(prices[code]) == 1}
    if not same:
        return listings.catalog
    sets = (
        replace(facts, variants=tuple(same.get(one.code, one) for one in facts.variants))
        for facts in listings.catalog.sets
    )
    return replace(listings.catalog, sets=tuple(sets))


def cards_layout(texts: tuple[CardText, ...], cards: Cards, shop: Shop, sheet: dict[str, Any]) -> Layout:
    """Return the layout with all that it shows."""
    facts = {**sheet, "cards": [_card(text, cards, shop) for text in texts]}
    return layout_with(shop, LAYOUT, facts)


def _card(text: CardText, cards: Cards, shop: Shop) -> dict[str, Any]:
    return {**asdict(text), "barcode": barcode_facts(text.gtin, cards.barcodes, shop)}
