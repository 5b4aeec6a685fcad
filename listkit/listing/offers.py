"""Offers: each variant as a channel shows it.

What several variants share is made once: a piece's line, an item's ingredients and cautions, the
beginning of the names. So a hundred thousand offers take a second or two.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache

from listkit.compute.build import option_says
from listkit.compute.catalog import Piece, SetFacts, Variant
from listkit.compute.declaration import Rules, declaration
from listkit.compute.ingredients import USUAL_ALLERGENS, Allergen, named_allergens
from listkit.compute.prices import kept
from listkit.compute.stock import published
from listkit.listing.declared import Cautions, declared
from listkit.listing.formats import Measure
from listkit.listing.listings import Offer, ShownOption, ShownReduction, ShownSlot
from listkit.listing.photos import Shown, images_of
from listkit.listing.titles import choice_names, cut_words
from listkit.listing.words import Words, fill, item_name, size_text
from listkit.model.channel import Channel
from listkit.model.fields import Status
from listkit.model.gift_set import Option, Slot
from listkit.model.item import Item
from listkit.model.settings import Settings
from listkit.units.money import Money

# Options: which variants a channel offers, and each slot as its text and feed show it.
#
# A closed variant is never offered. A sold-out one stays with stock 0, or is left out where the
# channel hides it; an option is sold out when all variants with it are.

Stocked = tuple[Variant, int | None]
"""A variant and how many the channel may sell of it; None when nothing in it is counted."""


def offered(facts: SetFacts, channel: Channel, settings: Settings) -> tuple[Stocked, ...]:
    """Return the variants that the channel shows, in the order of the set, with their stock."""
    hold_back = settings.stock.hold_back if channel.hold_back is None else channel.hold_back
    hide = channel.sold_out == "hide"
    stocked = [(one, published(one.can_make, hold_back)) for one in facts.variants if one.status is not Status.CLOSED]
    return tuple(one for one in stocked if not (hide and one[1] == 0))


@dataclass(slots=True)
class _Found:
    """What the offered variants with one option come to."""

    lowest: Decimal
    highest: Decimal
    available: bool

    def add(self, price: Decimal, *, available: bool) -> None:
        self.lowest = min(self.lowest, price)
        self.highest = max(self.highest, price)
        self.available = self.available or available


def shown_slots(facts: SetFacts, variants: tuple[Stocked, ...], currency: str) -> tuple[ShownSlot, ...]:
    """Return every slot with the options that at least one of `variants` has."""
    items = {item.code: item for item in facts.items}
    slots = facts.source.gift_set.slots
    found: list[dict[tuple[str, str], _Found]] = [{} for _ in slots]
    for variant, stock in variants:
        price = variant.prices.price.amount
        for of_slot, choice in zip(found, variant.choices, strict=True):
            key = choice.item.code, choice.says
            if (known := of_slot.get(key)) is None:
                of_slot[key] = _Found(price, price, stock != 0)
            else:
                known.add(price, available=stock != 0)
    return tuple(
        ShownSlot(
            slot.slot,
            tuple(
                ShownOption(
                    says,
                    items[option.item],
                    Money(one.lowest, currency) if _prices_differ(of_slot) else None,
                    default=option.item == (slot.default or slot.choose[0].item),
                    sold_out=not one.available,
                    from_price=one.lowest != one.highest,
                )
                for option, says, one in _found_options(slot, of_slot, facts)
            ),
        )
        for slot, of_slot in zip(slots, found, strict=True)
    )


def _found_options(
    slot: Slot, found: dict[tuple[str, str], _Found], facts: SetFacts
) -> Iterator[tuple[Option, str, _Found]]:
    items = {item.code: item for item in facts.items}
    for option in slot.choose:
        says = option_says(option, items[option.item])
        if (one := found.get((option.item, says))) is not None:
            yield option, says, one


def _prices_differ(found: dict[tuple[str, str], _Found]) -> bool:
    return len({(one.lowest, one.highest) for one in found.values()}) > 1


@dataclass(frozen=True, slots=True)
class Told:
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
        told = [names[choice.says] for names, choice in zip(self.choices, variant.choices, strict=True)]
        name = f"{self.before}{', '.join(told)}{self.after}"
        return name if self.limit is None else cut_words(name, self.limit, self.size)


def naming(
    facts: SetFacts, slots: tuple[ShownSlot, ...], around: tuple[str, str], limit: int | None, size: Measure = len
) -> Naming:
    """Return how the variants of a set are named; for a set without slots `around` is its title."""
    return Naming(*around, tuple(choice_names(facts, slot) for slot in slots), limit if slots else None, size)


def told_of(
    words: Words, cautions: Cautions, rules: Rules, allergens: Mapping[str, Allergen] = USUAL_ALLERGENS
) -> Callable[[Variant], Told]:
    """Return what gives the words for what is in a variant; what several variants share is made once.

    `allergens` are those that are looked for, by name.
    """
    pieces: dict[tuple[str, int], _PieceWords] = {}
    declarations: dict[tuple[tuple[str, ...], ...], str] = {}

    @cache
    def joined(rows: tuple[tuple[str, ...], ...]) -> tuple[str, ...]:
        return tuple(dict.fromkeys(one for row in rows for one in row))

    def told(variant: Variant) -> Told:
        known = []
        for piece in variant.pieces:
            key = piece.item.code, piece.quantity
            one = pieces.get(key)
            if one is None:
                one = pieces[key] = _piece_words(words, cautions, piece, allergens)
            known.append(one)
        amounts = tuple([one.amount for one in known])
        if amounts not in declarations:
            declarations[amounts] = declared(words, declaration(variant.pieces, rules)).text
        return Told(
            tuple([one.line for one in known]),
            tuple(dict.fromkeys([one.ingredients for one in known if one.ingredients])),
            joined(tuple([one.cautions for one in known])),
            tuple([one.net for one in known]),
            declarations[amounts],
            joined(tuple([one.allergens for one in known])),
        )

    return told


def offers_of(
    variants: tuple[Stocked, ...],
    channel: Channel,
    names: Naming,
    photos: tuple[Shown, ...],
    told: Iterable[tuple[Told, str]],
) -> Iterator[Offer]:
    """Yield an offer for each variant; `told` in their order, each with what a unit costs."""
    fee, fixed_fee = channel.fee, channel.fixed_fee
    for (variant, stock), (words, unit_price) in zip(variants, told, strict=True):
        prices = variant.prices
        yield Offer(
            variant,
            names.name(variant),
            tuple([choice.says for choice in variant.choices]),
            stock,
            availability(variant, stock),
            images_of(variant, photos),
            kept(prices.price, prices.before_tax, variant.exact_cost, fee, fixed_fee),
            words.contents,
            words.ingredients,
            words.cautions,
            words.net_contents,
            net_declaration=words.net_declaration,
            allergens=words.allergens,
            unit_price=unit_price,
        )


def with_priors(offers: tuple[Offer, ...], shown: ShownReduction | None) -> tuple[Offer, ...]:
    """Return the offers with the prior price of each whose reduction is announced."""
    known = {one.price: one.prior for one in shown.announced} if shown else {}
    if not known:
        return offers
    return tuple(replace(one, prior=known.get(one.price) if one.variant.usual else None) for one in offers)


def availability(variant: Variant, stock: int | None) -> str:
    """Return a name of schema.org's ItemAvailability (release 30); last chance is limited."""
    if stock == 0:
        return "OutOfStock"
    last = variant.status is Status.LAST_CHANCE or any(_is_last(piece.item) for piece in variant.pieces)
    return "LimitedAvailability" if last else "InStock"


def _is_last(item: Item) -> bool:
    return item.status is Status.LAST_CHANCE


@dataclass(frozen=True, slots=True)
class _PieceWords:
    """A piece in words: its line of the contents, its net contents, its ingredients, its cautions and allergens.

    `amount` is all that a declaration makes of it: two pieces with the same are declared alike.
    """

    line: str
    net: str
    ingredients: str
    cautions: tuple[str, ...]
    allergens: tuple[str, ...]
    amount: tuple[str, ...]


def _piece_words(words: Words, cautions: Cautions, piece: Piece, allergens: Mapping[str, Allergen]) -> _PieceWords:
    item, count = piece.item, str(piece.quantity)
    name, size = item_name(item), size_text(item, words.language)
    line = fill(words.sentences.several, count=count, what=f"{name}, {size}" if size else name)
    net = fill(words.sentences.several, count=count, what=size) if size and piece.quantity > 1 else size
    ingredients = f"{name}: {item.ingredients}" if item.ingredients else ""
    amount = (item.form or item.code, item.container, item.net.text if item.net else "", count)
    return _PieceWords(line, net, ingredients, cautions.of(item), named_allergens(item, allergens), amount)
