"""Price cards in words: what one card tells a buyer at the stall or on a shelf.

A price is seen without asking: the name, the price, what is inside with its sizes, what may be chosen.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from listkit.compute.catalog import Catalog, Piece, SetFacts, Variant
from listkit.listing.declared import unit_price_of, unit_prices_text
from listkit.listing.listings import Listings, ShownSlot
from listkit.listing.offers import buyable, shown_slots
from listkit.listing.print_words import LabelVoice, voice_in
from listkit.listing.sentences import fill
from listkit.listing.titles import content_lines
from listkit.listing.words import piece_text, size_text
from listkit.model.fields import Status
from listkit.model.labels import Cards
from listkit.units.money import Money


@dataclass(frozen=True, slots=True)
class CardText:
    """One card. `lines` are what is inside, with whether it was chosen; `options` what may be chosen, by slot.

    `price` is "from £27.00" where options differ, `amount` the amount in it. `unit_price` is "" where none is told.
    """

    code: str
    name: str
    price: str
    amount: str
    options: tuple[str, ...]
    lines: tuple[tuple[str, bool], ...]
    unit_price: str
    gtin: str
    number: str
    codes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CardPaper:
    """All cards of a shop: how they are asked for, what they are written with, and their texts."""

    cards: Cards
    voice: LabelVoice
    texts: tuple[CardText, ...]


def card_paper(listings: Listings) -> CardPaper | None:
    """Return the price cards; None without [cards], without words for them, or with nothing that is sold."""
    shop = listings.catalog.shop
    cards = shop.settings.cards
    voice = voice_in(shop, shop.settings.language)[0] if cards else None
    if cards is None or voice is None:
        return None
    texts = card_texts(replace(listings, catalog=_as_sold(listings)), cards, voice)
    return CardPaper(cards, voice, texts) if texts else None


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
    sets, singles = (
        tuple(replace(each, variants=tuple(same.get(one.code, one) for one in each.variants)) for each in facts)
        for facts in (listings.catalog.sets, listings.catalog.singles)
    )
    return replace(listings.catalog, sets=sets, singles=singles)


@dataclass(frozen=True, slots=True)
class _Sold:
    """A set as it is sold: the variants that can be bought, all where none can, and its slots with these alone."""

    facts: SetFacts
    variants: tuple[Variant, ...]
    slots: tuple[ShownSlot, ...]

    def on_one_card(self, each: str | None) -> bool:
        """Whether all options are on one card: as asked for, else where several cost the same."""
        prices = {variant.prices.price for variant in self.variants}
        alike = len(self.variants) > 1 and len(prices) == 1
        return each == "set" or (each is None and alike)


def card_texts(listings: Listings, cards: Cards, voice: LabelVoice) -> tuple[CardText, ...]:
    """Return a card for every variant that can be bought, or for all of a set together, in the order of the sets."""
    texts = []
    for sold in (sold for sold in _sold(listings, cards.channel) if sold.variants):
        if sold.on_one_card(cards.each):
            texts.append(_of_set(sold, cards, voice))
        else:
            texts += [_of_variant(sold.facts, variant, cards, voice) for variant in sold.variants]
    return tuple(texts)


def _sold(listings: Listings, channel: str) -> Iterator[_Sold]:
    """Yield the sets with their variants: as a channel's listings show and price them; else all, as usual."""
    currency = listings.catalog.shop.settings.currency
    if not channel:
        for facts in listings.catalog.listed:
            stocked = tuple((each, each.can_make) for each in facts.variants if each.status is not Status.CLOSED)
            bought = buyable(stocked)
            yield _Sold(facts, bought, shown_slots(facts, tuple((each, None) for each in bought), currency))
        return
    for listing in listings:
        if channel in (listing.channel.key, listing.channel.name):
            bought = tuple(offer.variant for offer in listing.buyable)
            slots = shown_slots(listing.facts, tuple((each, None) for each in bought), currency)
            yield _Sold(listing.facts, bought, slots)


def _of_variant(facts: SetFacts, variant: Variant, cards: Cards, voice: LabelVoice) -> CardText:
    chosen = {choice.item.code for choice in variant.choices}
    return CardText(
        code=variant.code,
        name=facts.name,
        price=voice.money(variant.prices.price),
        amount=voice.money(variant.prices.price),
        options=(),
        lines=tuple(
            (text, piece.item.code in chosen) for piece in variant.pieces if (text := _line(facts, piece, voice))
        ),
        unit_price=unit_price_of(voice.words, variant, cards.unit_price),
        gtin=variant.gtin,
        number=fill(voice.card.code, code=variant.code),
        codes=(variant.code,),
    )


def _line(facts: SetFacts, piece: Piece, voice: LabelVoice) -> str:
    """Return a piece in words; of one that is sold alone, which has the name of the card, its size."""
    return size_text(piece.item, voice.language) if facts.is_single else piece_text(voice.words, piece)


def _of_set(sold: _Sold, cards: Cards, voice: LabelVoice) -> CardText:
    prices = sorted({each.price for each in sold.variants}, key=lambda price: price.amount)
    price, alone = voice.money(prices[0]), sold.facts.is_single
    inside = content_lines(voice.words, sold.facts, sold.slots)
    return CardText(
        code=sold.facts.code,
        name=sold.facts.name,
        price=price if len(prices) == 1 else fill(voice.card.start_price, price=price),
        amount=price,
        options=tuple(_options(slot, voice) for slot in sold.slots),
        lines=tuple((text, False) for line in inside if (text := line.size if alone else line.text)),
        unit_price=unit_prices_text(voice.words, sold.variants, cards.unit_price),
        gtin=sold.variants[0].gtin if len(sold.variants) == 1 else "",
        number=fill(voice.card.code, code=sold.facts.code),
        codes=(sold.facts.code, *(variant.code for variant in sold.variants)),
    )


def _options(slot: ShownSlot, voice: LabelVoice) -> str:
    """Return a slot with its options, each with its price where they differ."""
    told = [
        fill(voice.card.priced, option=one.says, price=voice.money(one.price)) if one.price else one.says
        for one in slot.options
    ]
    return fill(voice.card.options, slot=slot.name, options=", ".join(told))
