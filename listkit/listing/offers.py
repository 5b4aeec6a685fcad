"""Offers: each variant as a channel shows it.

What several variants share is made once: a piece's line, an item's ingredients and cautions, the
beginning of the names. So a hundred thousand offers take a second or two.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from listkit.compute.catalog import SetFacts, Variant
from listkit.compute.prices import kept
from listkit.listing.cautions import Cautions
from listkit.listing.listings import Offer, ShownSlot
from listkit.listing.nouns import item_name, size_text
from listkit.listing.options import Stocked
from listkit.listing.photos import Shown, images_of
from listkit.listing.titles import choice_names, cut_words
from listkit.listing.words import Words, fill
from listkit.model.channel import Channel
from listkit.model.fields import Status
from listkit.model.item import Item

Told = tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...], tuple[str, ...]]
"""Contents, ingredients, cautions and net contents of one variant, in words."""


@dataclass(frozen=True, slots=True)
class Naming:
    """What stands before and after the choices in a variant's name, and what is said of each choice."""

    before: str
    after: str
    choices: tuple[dict[str, str], ...]
    limit: int | None

    def name(self, variant: Variant) -> str:
        """Return one variant's name."""
        told = [names[choice.item.code] for names, choice in zip(self.choices, variant.choices, strict=True)]
        name = f"{self.before}{', '.join(told)}{self.after}"
        return name if self.limit is None else cut_words(name, self.limit)


def naming(facts: SetFacts, slots: tuple[ShownSlot, ...], around: tuple[str, str], limit: int | None) -> Naming:
    """Return how the variants of a set are named; for a set without slots `around` is its title."""
    stated = bool(facts.source.gift_set.title)
    return Naming(*around, tuple(choice_names(facts, slot) for slot in slots), None if stated else limit)


def told_of(words: Words, cautions: Cautions) -> Callable[[Variant], Told]:
    """Return what gives the words for what is in a variant; each piece and item is told once."""
    pieces: dict[tuple[str, int], tuple[str, str]] = {}
    items: dict[str, tuple[str, tuple[str, ...]]] = {}

    def told(variant: Variant) -> Told:
        lines: list[str] = []
        nets: list[str] = []
        ingredients: list[str] = []
        sentences: list[str] = []
        for piece in variant.pieces:
            code = piece.item.code
            line = pieces.get((code, piece.quantity))
            if line is None:
                line = pieces[code, piece.quantity] = _lines(words, piece.item, piece.quantity)
            known = items.get(code)
            if known is None:
                known = items[code] = _ingredients(piece.item), cautions.of(piece.item)
            lines.append(line[0])
            nets.append(line[1])
            ingredients.append(known[0])
            sentences.extend(known[1])
        return tuple(lines), _once(ingredients), _once(sentences), tuple(nets)

    return told


def offers_of(
    variants: tuple[Stocked, ...], channel: Channel, names: Naming, photos: tuple[Shown, ...], told: tuple[Told, ...]
) -> Iterator[Offer]:
    """Yield an offer for each variant; `told` in their order."""
    fee, fixed_fee = channel.fee, channel.fixed_fee
    for (variant, stock), (contents, ingredients, cautions, nets) in zip(variants, told, strict=True):
        prices = variant.prices
        yield Offer(
            variant,
            names.name(variant),
            tuple([choice.says for choice in variant.choices]),
            stock,
            availability(variant, stock),
            images_of(variant, photos),
            kept(prices.price, prices.before_tax, variant.exact_cost, fee, fixed_fee),
            contents,
            ingredients,
            cautions,
            nets,
        )


def availability(variant: Variant, stock: int | None) -> str:
    """Return a name of schema.org's ItemAvailability (release 30); last chance is limited."""
    if stock == 0:
        return "OutOfStock"
    last = variant.status is Status.LAST_CHANCE or any(_is_last(piece.item) for piece in variant.pieces)
    return "LimitedAvailability" if last else "InStock"


def _is_last(item: Item) -> bool:
    return item.status is Status.LAST_CHANCE


def _lines(words: Words, item: Item, quantity: int) -> tuple[str, str]:
    """Return a piece's line of the contents with its quantity, and its net contents."""
    size = size_text(item, words.language)
    name = f"{item_name(item)}, {size}" if size else item_name(item)
    line = fill(words.sentences.several, count=str(quantity), what=name)
    many = fill(words.sentences.several, count=str(quantity), what=size) if size and quantity > 1 else size
    return line, many


def _ingredients(item: Item) -> str:
    return f"{item_name(item)}: {item.ingredients}" if item.ingredients else ""


def _once(texts: list[str]) -> tuple[str, ...]:
    return tuple([text for text in dict.fromkeys(texts) if text])
