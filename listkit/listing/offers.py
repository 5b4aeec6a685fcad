"""Offers: which variants a channel shows, its slots and options, and each variant with its texts and figures.

A closed variant is never offered. A sold-out one stays with stock 0, or is left out where the channel hides it; an
option is sold out when all variants with it are. What several variants share is made once: a piece's line, an item's
ingredients and cautions, the beginning of the names. So a hundred thousand offers take a second or two.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache
from operator import itemgetter
from typing import Final, NamedTuple

from listkit.compute.allergens import Allergen
from listkit.compute.allotment import allotted_to, hold_of
from listkit.compute.catalog import Catalog, Piece, SetFacts, Variant
from listkit.compute.declaration import Rules, declaration
from listkit.compute.ingredients import USUAL_ALLERGENS, named_allergens
from listkit.compute.sales import Sale
from listkit.compute.seasons import Phase
from listkit.compute.stock import published
from listkit.listing.declared import declared
from listkit.listing.formats import Measure
from listkit.listing.listings import PRE_ORDER, Offer, ShownOption, ShownReduction, ShownSlot
from listkit.listing.photos import Shown, images_on
from listkit.listing.sentences import fill
from listkit.listing.titles import cut_words, names_of
from listkit.listing.translate import Language
from listkit.listing.words import Words, size_text
from listkit.model.channel import Channel
from listkit.model.fields import Status
from listkit.model.gift_set import Slot
from listkit.model.item import Item
from listkit.units.money import Money

Stocked = tuple[Variant, int | None]
"""A variant and how many the channel may sell of it; None when nothing in it is counted."""


def sellable(makeable: int | None, channel: Channel, catalog: Catalog, codes: Iterable[str]) -> int | None:
    """Return how many the channel may sell of what so many can be made of; None where nothing counts.

    `codes` are those of the variants that are meant: where pieces are allotted, it is no more than their numbers.
    """
    stock = published(makeable, hold_of(channel, catalog.shop.settings))
    given = allotted_to(channel.key, codes, catalog)
    return stock if stock is None or given is None else min(stock, given)


def offered(facts: SetFacts, channel: Channel, catalog: Catalog) -> tuple[Stocked, ...]:
    """Return the variants that the channel shows, in the order of the set, with their stock."""
    hide = channel.sold_out == "hide"
    stocked = [
        (variant, sellable(variant.can_make, channel, catalog, (variant.code,)))
        for variant in facts.variants
        if variant.status is not Status.CLOSED
    ]
    return tuple((variant, stock) for variant, stock in stocked if not (hide and stock == 0))


def taken(channel: Channel, facts: SetFacts, variants: tuple[Stocked, ...]) -> tuple[Stocked, ...]:
    """Return the variants of a set that a channel takes, by its `sets` and `leave_out`; single pieces are no sets.

    It may leave a variant out by its code, by one of its items, or by the set's code with an option's part.
    """
    gone, code = _codes(channel.leave_out), facts.code
    if (channel.sets and code not in _codes(channel.sets) and not facts.is_single) or code in gone:
        return ()
    contents = facts.source.gift_set.contents
    if any(entry.item in gone for entry in contents if not isinstance(entry, Slot)):
        return ()
    options = [
        (at, option.item, option.code_part)
        for at, slot in enumerate(facts.source.gift_set.slots)
        for option in slot.choose
        if gone and (option.item in gone or f"{code}-{option.code_part}" in gone)
    ]
    slots = sorted({at for at, *_ in options})  # of which something is left out: of a hundred others no choice is asked
    items = gone.intersection(item for _, item, _ in options)
    parts = {part for _, _, part in options if f"{code}-{part}" in gone}

    def goes(variant: Variant) -> bool:
        if variant.code in gone:
            return True
        for at in slots:
            choice = variant.choices[at]
            if choice.item.code in items or choice.part in parts:
                return True
        return False

    return tuple([stocked for stocked in variants if not goes(stocked[0])]) if gone else variants


_known: Final[dict[int, tuple[tuple[str, ...], frozenset[str]]]] = {}
_MOST_KNOWN: Final = 100


def _codes(listed: tuple[str, ...]) -> frozenset[str]:
    """Return the codes of a channel's list, looked through once: it may be long, and is asked for with every set."""
    known = _known.get(id(listed))
    if known is None or known[0] is not listed:
        if len(_known) >= _MOST_KNOWN:
            _known.clear()
        known = _known[id(listed)] = (listed, frozenset(listed))
    return known[1]


def buyable(variants: tuple[Stocked, ...]) -> tuple[Variant, ...]:
    """Return the variants that set prices: those that can be bought, or all where none can."""
    return tuple(variant for variant, stock in variants if stock != 0) or tuple(variant for variant, _ in variants)


_MOST_PRICES, _MOST_NAMES = 3, 4  # that a text names one by one; more are a range


def price_names(variants: Iterable[Variant]) -> dict[Decimal, tuple[str, ...]]:
    """Return the options by which each price of some variants comes, prices ascending; {} where that is not so simple.

    One slot alone decides, and prices and options are few. Options go by their form where no other price has it.
    """
    priced = [(variant.prices.price.amount, variant.choices) for variant in variants]
    for at in range(len(priced[0][1]) if priced else 0):
        by_price: dict[Decimal, dict[str, str]] = {}  # of each price its options, with their forms
        for price, choices in sorted(priced, key=itemgetter(0)):
            by_price.setdefault(price, {})[choices[at].says] = choices[at].item.form
        options = [says for names in by_price.values() for says in names]
        if not 1 < len(by_price) <= _MOST_PRICES or len(set(options)) != len(options):
            continue
        forms = [form for names in by_price.values() for form in set(names.values())]
        in_forms = len(set(forms)) == len(forms) and all(forms)
        named = {
            price: tuple(dict.fromkeys(names.values() if in_forms else names)) for price, names in by_price.items()
        }
        if sum(map(len, named.values())) <= _MOST_NAMES:
            return named
    return {}


@dataclass(slots=True)
class _OptionRange:
    """The lowest and highest price of the offered variants with one option; of what can be bought once any can."""

    lowest: Decimal
    highest: Decimal
    available: bool

    def add(self, price: Decimal, *, available: bool) -> None:
        if available and not self.available:
            self.lowest, self.highest, self.available = price, price, True
        elif available or not self.available:
            self.lowest = min(self.lowest, price)
            self.highest = max(self.highest, price)


def shown_slots(facts: SetFacts, variants: tuple[Stocked, ...], currency: str) -> tuple[ShownSlot, ...]:
    """Return every slot with the options that at least one of `variants` has."""
    ranges: list[dict[tuple[str, str], _OptionRange]] = [{} for _ in facts.source.gift_set.slots]
    for variant, stock in variants:
        price = variant.prices.price.amount
        for of_slot, choice in zip(ranges, variant.choices, strict=True):
            key = choice.item.code, choice.says
            if (known := of_slot.get(key)) is None:
                of_slot[key] = _OptionRange(price, price, stock != 0)
            else:
                known.add(price, available=stock != 0)
    items = {item.code: item for item in facts.items}
    return tuple(
        ShownSlot(slot.slot, tuple(_shown_options(slot, items, of_slot, currency)))
        for slot, of_slot in zip(facts.source.gift_set.slots, ranges, strict=True)
    )


def _shown_options(
    slot: Slot, items: Mapping[str, Item], ranges: Mapping[tuple[str, str], _OptionRange], currency: str
) -> Iterator[ShownOption]:
    """Yield the options of a slot that have a range, in the order of the set; prices only where they differ."""
    prices_differ = len({(known.lowest, known.highest) for known in ranges.values()}) > 1
    read: dict[str, str] = {}  # how the variants say each item
    for code, said in ranges:
        read.setdefault(code, said)
    for option in slot.choose:
        item = items[option.item]
        says = option.says or read.get(option.item, "")
        if (known := ranges.get((option.item, says))) is not None:
            yield ShownOption(
                says,
                item,
                Money(known.lowest, currency) if prices_differ else None,
                default=option.item == (slot.default or slot.choose[0].item),
                sold_out=not known.available,
                from_price=known.lowest != known.highest,
            )


@dataclass(frozen=True, slots=True)
class VariantTexts:
    """What is in one variant, in words."""

    contents: tuple[str, ...]
    ingredients: tuple[str, ...]
    cautions: tuple[str, ...]
    net_contents: tuple[str, ...]
    net_declaration: str
    allergens: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Naming:
    """What stands before and after the choices in a variant's name, and what is said of each choice."""

    before: str
    after: str
    choices: tuple[dict[str, str], ...]
    limit: int | None
    size: Measure = len

    def name(self, variant: Variant) -> str:
        """Return one variant's name."""
        chosen = [names[choice.says] for names, choice in zip(self.choices, variant.choices, strict=True)]
        name = f"{self.before}{', '.join(chosen)}{self.after}"
        return name if self.limit is None else cut_words(name, self.limit, self.size)


def naming(
    wording: Words, facts: SetFacts, slots: tuple[ShownSlot, ...], *, title: str, limit: int | None, size: Measure = len
) -> Naming:
    """Return how the variants of a set are named within `limit`; a set without slots by its title."""
    if not slots:
        return Naming(title, "", (), None, size)
    before, after, choices = names_of(wording, facts, slots, limit, size)
    return Naming(before, after, choices, limit, size)


def variant_texts(
    language: Language, rules: Rules, allergens: Mapping[str, Allergen] = USUAL_ALLERGENS
) -> Callable[[Variant], VariantTexts]:
    """Return a function from a variant to its texts; it makes what several variants share once.

    `allergens` are those that are looked for, by name.
    """
    wording = language.words
    pieces: dict[tuple[str, int], _PieceTexts] = {}
    declarations: dict[tuple[tuple[str, ...], ...], str] = {}

    @cache
    def joined(rows: tuple[tuple[str, ...], ...]) -> tuple[str, ...]:
        return tuple(dict.fromkeys(text for row in rows for text in row))

    def texts_of(variant: Variant) -> VariantTexts:
        known = []
        for piece in variant.pieces:
            key = piece.item.code, piece.quantity
            if (texts := pieces.get(key)) is None:
                texts = pieces[key] = _piece_texts(language, piece, allergens)
            known.append(texts)
        lines, nets, ingredients, cautions, named, amounts = zip(*known, strict=True)
        if (net_declaration := declarations.get(amounts)) is None:
            net_declaration = language.made(declared(wording, declaration(variant.pieces, rules)).text)
            declarations[amounts] = net_declaration
        return VariantTexts(
            contents=lines,
            ingredients=tuple(dict.fromkeys(filter(None, ingredients))),
            cautions=joined(cautions),
            net_contents=nets,
            net_declaration=net_declaration,
            allergens=joined(named),
        )

    return texts_of


def offers_of(
    variants: tuple[Stocked, ...],
    sale_of: Callable[[Variant], Sale],
    names: Naming,
    photos: tuple[Shown, ...],
    texts: Iterable[tuple[VariantTexts, str]],
    *,
    standing_of: Callable[[Variant, int | None], tuple[int | None, str]],
) -> Iterator[Offer]:
    """Yield an offer for each variant; `texts` in their order, each with what a unit costs.

    `standing_of` gives how many of a variant may be sold in this part of its season, and its availability.
    """
    images = images_on(photos)
    for (variant, pieces), (in_words, unit_price) in zip(variants, texts, strict=True):
        stock, status = standing_of(variant, pieces)
        yield Offer(
            variant=variant,
            name=names.name(variant),
            choices=tuple([choice.says for choice in variant.choices]),
            stock=stock,
            availability=status,
            images=images(variant),
            sale=sale_of(variant),
            contents=in_words.contents,
            ingredients=in_words.ingredients,
            cautions=in_words.cautions,
            net_contents=in_words.net_contents,
            net_declaration=in_words.net_declaration,
            allergens=in_words.allergens,
            unit_price=unit_price,
        )


def with_priors(offers: tuple[Offer, ...], shown: ShownReduction | None) -> tuple[Offer, ...]:
    """Return the offers with the prior price of each whose reduction is announced."""
    priors = {announced.price: announced.prior for announced in shown.announced} if shown else {}
    if not priors:
        return offers
    return tuple(replace(offer, prior=priors.get(offer.price) if offer.variant.usual else None) for offer in offers)


def standing(variant: Variant, stock: int | None, channel: Channel, phase: Phase) -> tuple[int | None, str]:
    """Return how many a channel may sell in this part of the season, and a name of schema.org's ItemAvailability."""
    if phase is Phase.OVER:
        return 0, "SoldOut"
    if phase is Phase.NOT_YET and (channel.before != "pre-order" or stock == 0):
        return 0, "OutOfStock"
    return stock, PRE_ORDER if phase is Phase.NOT_YET else availability(variant, stock)


def is_left_out(channel: Channel, phase: Phase) -> bool:
    """Whether a channel leaves a set out in this part of its season; what is over is sold out, which it may hide."""
    if phase is Phase.OVER:
        return channel.after == "leave out" or channel.sold_out == "hide"
    return phase is Phase.NOT_YET and channel.before == "leave out"


def availability(variant: Variant, stock: int | None) -> str:
    """Return a name of schema.org's ItemAvailability (release 30); last chance is limited."""
    if stock == 0:
        return "OutOfStock"
    last = Status.LAST_CHANCE
    is_last = variant.status is last or any(piece.item.status is last for piece in variant.pieces)
    return "LimitedAvailability" if is_last else "InStock"


class _PieceTexts(NamedTuple):
    """A piece in words: its line of the contents, its net contents, its ingredients, its cautions and allergens.

    `amount` is all that a declaration makes of it: two pieces with the same are declared alike.
    """

    line: str
    net: str
    ingredients: str
    cautions: tuple[str, ...]
    allergens: tuple[str, ...]
    amount: tuple[str, ...]


def _piece_texts(language: Language, piece: Piece, allergens: Mapping[str, Allergen]) -> _PieceTexts:
    wording, item, count = language.words, piece.item, str(piece.quantity)
    name, size = wording.naming.of(item), size_text(item, wording.language)
    several = wording.sentences.several
    return _PieceTexts(
        line=language.made(fill(several, count=count, what=f"{name}, {size}" if size else name)),
        net=language.made(fill(several, count=count, what=size) if size and piece.quantity > 1 else size),
        ingredients=f"{name}: {language.text(item.ingredients)}" if item.ingredients else "",
        cautions=language.cautions.of(item),
        allergens=named_allergens(item, allergens),
        amount=(item.form or item.code, item.container, item.net.text if item.net else "", count),
    )
