"""What the law asks a set to say, in words: net contents, cautions, prices per unit, notes on ingredients.

All numbers are computed; the words around them are those of templates/words/<language>.toml, and the sentences of
cautions those of templates/cautions/<language>.toml. A declaration of net contents has its lines, its total last, and
all of it in one text: "2 bar soaps, 3.2 oz (90 g) each; 1 lip balm, 0.15 oz (4.2 g)".
"""

import tomllib
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property, lru_cache

from listkit.bounded_toml import parse_bounded
from listkit.compute.allergens import Allergen
from listkit.compute.catalog import Variant
from listkit.compute.cautions import entries_of
from listkit.compute.declaration import Declaration, Group, Kind, Quantity
from listkit.compute.ingredients import by_product, origins_of, shared_allergens
from listkit.compute.materials import NUTS
from listkit.compute.prices import UnitPrice, unit_price
from listkit.listing.formats import number_text
from listkit.listing.sentences import fill
from listkit.listing.words import Words, capital, contained, many, not_toml, small, uncounted
from listkit.model.item import Item
from listkit.model.labels import UnitPricing
from listkit.problem import Place, Problem
from listkit.units.declared import Figure
from listkit.units.net import Measure
from listkit.units.spoken import money_digits_text


@dataclass(frozen=True, slots=True)
class Declared:
    """A declaration in words: a line a group, then the total ("" where none is asked for), and both in one text."""

    lines: tuple[str, ...]
    total: str
    text: str


def declared(wording: Words, made: Declaration) -> Declared:
    """Return a declaration in words: of a single piece the bare quantity, of a package a line a group."""
    lines = tuple(filter(None, (_group_line(wording, made, group) for group in made.groups)))
    total = ""
    if made.total:
        what, size = _noun(wording, made.groups[0].item, made.count), quantity_text(wording, made.total)
        total = fill(wording.net.total, count=str(made.count), what=what, size=size)
    end = "" if made.kind is Kind.SINGLE else wording.net.end
    body = wording.net.between.join(lines) + end
    text = f"{body}{' ' if end else wording.net.between}{total}{end}" if total else body
    return Declared(lines, total, text)


def _group_line(wording: Words, made: Declaration, group: Group) -> str:
    size = quantity_text(wording, group.quantity) if group.quantity else ""
    if made.count == 1 and size:
        return size
    sentence = wording.net.bare if not size else wording.net.one if group.count == 1 else wording.net.many
    return fill(sentence, count=str(group.count), what=_noun(wording, group.item, group.count), size=size)


def _noun(wording: Words, item: Item, count: int) -> str:
    """Return what a group is, behind its number: "bar soaps", "pouch of bath salts"; by name where it has no form."""
    if not item.form:
        return wording.naming.within(item)
    form = small(wording, item.form)
    known = wording.form(form)
    # Behind a number an article goes: "un sachet de sels" is "sachet de sels" there.
    stated = known.one.partition(" ")[2] if count == 1 else known.many
    if stated and stated != form:
        return stated
    if item.container and uncounted(wording, form):
        container = item.container if count == 1 else many(wording, item.container)
        return contained(wording, container, form)
    return form if count == 1 else many(wording, form)


def quantity_text(wording: Words, quantity: Quantity) -> str:
    """Return a quantity as it is printed: "110 g (3.88 oz)", "4 × 25 g"."""
    text = figure_text(wording, quantity.figures[0])
    if len(quantity.figures) > 1:
        text = fill(wording.net.both, first=text, second=figure_text(wording, quantity.figures[1]))
    if quantity.times > 1:
        text = fill(wording.net.times, count=str(quantity.times), size=text)
    marks = {Measure.MASS: wording.net.mass, Measure.VOLUME: wording.net.volume, Measure.SIZE: wording.net.size}
    return fill(marks.get(quantity.measure, "{size}"), size=text)


def figure_text(wording: Words, figure: Figure) -> str:
    """Return a figure with its unit, all its digits kept: "5.0 oz", "118 × 80 mm", "6 pieces"."""
    if not figure.unit:
        return wording.count("piece", int(figure.numbers[0]))
    numbers = (number_text(number, wording.language, digits=_digits(number)) for number in figure.numbers)
    return f"{' × '.join(numbers)} {dict(wording.net.units).get(figure.unit, figure.unit)}"


def _digits(number: Decimal) -> int:
    """Return how many digits a number has behind the point."""
    return len(f"{number:f}".partition(".")[2])


# Cautions: the sentences behind an item's keys, those that its row names and those that the rules add
# (compute/cautions.py). An entry with a space in it is the owner's own sentence. A key without a sentence is left to
# the checks. listkit only recalls what is usual; it certifies nothing.


@dataclass(frozen=True)
class Cautions:
    """One language's sentences by key. `entries` are items by code with the keys and own sentences chosen for them.

    With `own_words` sentences may be the owner's, and nobody knows what they say.
    """

    sentences: tuple[tuple[str, str], ...]
    entries: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    own_words: bool = False

    def of(self, item: Item) -> tuple[str, ...]:
        """Return an item's cautions in words: those it states, in its order, then those that the rules add."""
        return self.worded(self.chosen(item))

    def beside_notes(self, item: Item, noted: Collection[str]) -> tuple[str, ...]:
        """Return the same beside notes on ingredients, which tell of the nuts in those that are `noted`."""
        told = item.code in noted and not self.own_words
        return self.worded(tuple(entry for entry in self.chosen(item) if not (told and entry == "nut-oils")))

    def chosen(self, item: Item) -> tuple[str, ...]:
        """Return the keys and own sentences chosen for an item."""
        return self.entries[item.code] if item.code in self.entries else entries_of(item)

    def worded(self, entries: tuple[str, ...]) -> tuple[str, ...]:
        """Return keys and own sentences in words, each once."""
        sentences = self._worded.get(entries)
        if sentences is None:
            worded = (entry if " " in entry else self._sentence(entry) for entry in entries)
            sentences = self._worded[entries] = tuple(dict.fromkeys(filter(None, worded)))
        return sentences

    def _sentence(self, entry: str) -> str:
        """Return the sentence behind a key, with its number where it has one, as "from-years=3"."""
        key, _, count = entry.partition("=")
        sentence = self._by_key.get(key, "")
        return fill(sentence, count=count) if count else "" if "{count}" in sentence else sentence

    @cached_property
    def _by_key(self) -> dict[str, str]:
        return dict(self.sentences)

    @cached_property
    def _worded(self) -> dict[tuple[str, ...], tuple[str, ...]]:
        return {}


@lru_cache(maxsize=64)
def parse_cautions(texts: tuple[tuple[str, str], ...]) -> tuple[Cautions | None, tuple[Problem, ...]]:
    """Return the cautions of one language, or None and what is wrong with a file.

    Args:
        texts: path below templates/ and text of each file, base first; what a later one says beats an earlier.
    """
    sentences: dict[str, str] = {}
    for path, text in texts:
        try:
            raw = parse_bounded(text)
        except tomllib.TOMLDecodeError as fault:
            return None, (not_toml(path, fault),)
        for key, table in raw.items():
            if not isinstance(table, dict):
                continue
            if not isinstance(table.get("text"), str) or not table["text"].strip():
                message, hint = f'"{key}" has no sentence.', 'Write text = "..." in its table.'
                return None, (Problem(Place(f"templates/{path}", key=(key,)), "template-fault", message, hint),)
            sentences[key] = table["text"]
    return Cautions(tuple(sentences.items())), ()


def caution_lines(
    wording: Words, cautions_of: Callable[[Item], tuple[str, ...]], items: tuple[Item, ...]
) -> tuple[str, ...]:
    """Return each caution once: first those of everything, a line each, then a line for what has the same others.

    What these are for is told in forms, or by single items. `cautions_of` gives an item's own in words.
    """
    holds: dict[str, dict[str, Item]] = {}
    for item in items:
        for sentence in cautions_of(item):
            holds.setdefault(sentence, {})[item.code] = item
    every = {item.code for item in items}
    shared: dict[tuple[str, ...], list[str]] = {}
    for sentence, some in holds.items():
        if some.keys() != every:
            shared.setdefault(tuple(some), []).append(sentence)
    lines = [sentence for sentence, some in holds.items() if some.keys() == every]
    for sentences in shared.values():
        holders = tuple(holds[sentences[0]].values())
        names = capital(wording.all_of(in_few_words(wording, holders, items)))
        lines.append(fill(wording.sentences.applies_to, caution=" ".join(sentences), items=names))
    return tuple(lines)


def in_few_words(wording: Words, some: Iterable[Item], items: tuple[Item, ...]) -> tuple[str, ...]:
    """Return `some` of `items` in few words: a form where all of that form are meant, else the item's own name."""
    chosen = tuple(some)
    codes = {item.code for item in chosen}
    split = {item.form for item in items if item.code not in codes} | {""}
    return tuple(
        dict.fromkeys(
            wording.naming.within(item) if item.form in split else small(wording, item.form) for item in chosen
        )
    )


# Unit prices: "£6.82 per 100 g", by the language's formats and templates/words, [net].


def unit_price_text(wording: Words, price: UnitPrice | None) -> str:
    """Return what a unit costs, "" for none."""
    if price is None:
        return ""
    unit = figure_text(wording, price.unit).removeprefix("1 ")
    amount = money_digits_text(price.amount, price.currency, wording.language, digits=_digits(price.amount))
    return fill(wording.net.unit_price, price=amount, unit=unit)


def unit_price_of(wording: Words, variant: Variant, rule: UnitPricing | None) -> str:
    """Return what a unit costs in one variant."""
    return unit_price_text(wording, unit_price(variant.prices.price, variant.pieces, rule)) if rule else ""


def unit_prices_text(wording: Words, variants: tuple[Variant, ...], rule: UnitPricing | None) -> str:
    """Return what a unit costs in a set: one price, or the lowest as "from"; "" where any variant has none."""
    prices = [unit_price(variant.prices.price, variant.pieces, rule) for variant in variants] if rule else []
    known = [price for price in prices if price is not None]
    if not known or len(known) < len(prices) or len({price.unit for price in known}) > 1:
        return ""
    lowest = min(known, key=lambda price: price.amount)
    text = unit_price_text(wording, lowest)
    return text if all(price == lowest for price in known) else fill(wording.sentences.from_price, price=text)


# Notes beneath a set's ingredients: what all of them hold, and what people ask for, by product. Their words are
# [ingredients] in templates/words; an empty one leaves its line out. Notes are read from the lists of ingredients
# alone. They inform, and are no promise that anything else is free of it.


def ingredient_notes(wording: Words, items: tuple[Item, ...], allergens: Mapping[str, Allergen]) -> tuple[str, ...]:
    """Return the notes of a set that may hold `items`, sentences of one paragraph.

    First the fragrance allergens that all share, then what people ask for, those that hold the same in one place.
    """
    listed = tuple(row.item for row in by_product(items))
    shared = shared_allergens(listed, allergens)
    lines = [fill(wording.ingredients.shared, what=wording.all_of(shared))] if shared else []  # as the lists name them
    sentences = dict(wording.ingredients.origins)
    for origin in origins_of(listed):
        some = wording.all_of(in_few_words(wording, origin.items, listed))
        holders = wording.ingredients.all_of_them if len(origin.items) == len(listed) > 1 else some
        lines.append(capital(fill(sentences.get(origin.key, ""), items=holders)))
    return tuple(line for line in lines if line)


def noted_nuts(wording: Words, items: tuple[Item, ...]) -> frozenset[str]:
    """Return the codes of the items whose nuts a note tells of; none where the language has no words for it."""
    if not dict(wording.ingredients.origins).get(NUTS):
        return frozenset()
    origins = origins_of(tuple(row.item for row in by_product(items)))
    return frozenset(item.code for origin in origins if origin.key == NUTS for item in origin.items)
