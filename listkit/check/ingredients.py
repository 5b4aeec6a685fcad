"""Checks of ingredients: lists that can be read, their order, slips of the pen, and what a label calls things.

They recall rules that are usual; the ones in force where the goods are sold decide, and where it matters a licensed
professional, such as a cosmetic safety assessor.
"""

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from decimal import Decimal
from functools import cache, lru_cache
from typing import Final

from listkit import bounds
from listkit.check.alike import LONG, SHORTEST, distance, is_slip, letters_of, listed
from listkit.check.cautions import on_sale
from listkit.check.places import LIKE_EU, CheckContext, item_place, not_looked_for, offered_alone_too
from listkit.compute.allergens import FORBIDDEN, candidates, is_called
from listkit.compute.cautions import is_for_the_skin
from listkit.compute.ingredients import (
    Composition,
    all_allergens,
    composition,
    folded_ingredient,
    is_in_order,
    out_of_order,
    unbalanced,
    unlisted,
)
from listkit.compute.materials import (
    ESSENTIAL,
    FOAMING,
    NUTS,
    PERFUME,
    SPIRIT,
    folded_name,
    kinds_of,
    label_names,
    latin_names,
    split_ingredients,
    usual_names,
)
from listkit.listing.listings import Listings
from listkit.model.item import Item
from listkit.model.shop import Shop
from listkit.problem import Level, Place, Problem

_SHOWN: Final = 4
"""Codes that a message names; the others are counted."""
_LONGEST: Final = 60
"""Letters of a sentence that a message shows."""


def ingredients_brackets(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A bracket without its other half hides where an ingredient ends."""
    shop = listings.catalog.shop
    for item in on_sale(shop):
        if bracket := unbalanced(item.ingredients):
            message = f'in the ingredients of {item.code} "{bracket}" has no other half.'
            hint = "Close the bracket, or take it out."
            yield Problem(item_place(shop, item, "ingredients"), "ingredients-brackets", message, hint)


def ingredient_unlisted(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """What ingredients.csv puts into an item stands in its list. Told once an item."""
    shop = listings.catalog.shop
    made_of = composition(shop.ingredients, all_allergens(shop))
    for item in (item for item in on_sale(shop) if item.ingredients):
        if lacking := unlisted(item, made_of):
            names = listed([f'"{name}"' for name in lacking])
            message = f"ingredients.csv has {names} in {item.code}, its list has not."
            slips = ((name, _slip_of(name, split_ingredients(item.ingredients))) for name in lacking)
            meant = listed([f'did you mean "{near}" by "{name}"' for name, near in slips if near])
            hint = f"{meant[:1].upper()}{meant[1:]}? " if meant else ""
            hint += "Write it in both alike, by its INCI name."
            yield Problem(
                item_place(shop, item, "ingredients"), "ingredient-unlisted", message + _by_number(item, made_of), hint
            )


def _by_number(item: Item, made_of: Composition) -> str:
    """Return what rows of an item are by their CAS numbers, whose names do not tell: what a label calls each."""
    entries = ((row, candidates(row.ingredient, row.cas, made_of.known)) for row in made_of.of(item.code) if row.cas)
    says = (
        f' By its CAS number {row.cas} "{row.ingredient}" is {found[0].with_entry} of Annex III.'
        for row, found in entries
        if len(found) == 1 and found[0].entry and not is_called(row.ingredient, found[0])
    )
    return "".join(dict.fromkeys(says))


def ingredient_order(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """The list of an item goes by weight as far as percentages are known. Told once an item, of the first two."""
    shop = listings.catalog.shop
    made_of, country = composition(shop.ingredients), shop.settings.country
    free = "what is under 1 %" if is_in_order(Decimal("0.01"), country) else "what is 1 % or less"
    source = "21 CFR 701.3(f)" if country == "US" else "Regulation (EC) 1223/2009, Article 19(1)(g)"
    for item in on_sale(shop):
        if pair := out_of_order(item, made_of, country):
            message = f'in {item.code} "{pair[0]}" stands before "{pair[1]}", of which there is more.'
            hint = f"Write what there is most of first; {free} may follow in any order ({source})."
            yield Problem(item_place(shop, item, "ingredients"), "ingredient-order", message, hint)


def ingredients_missing(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Something for the skin says what it is made of. A set that says nothing at all is told once, else each item."""
    shop = listings.catalog.shop
    silent: dict[str, Item] = {}
    for facts in offered_alone_too(listings.catalog):
        for_the_skin = [item for item in facts.items if is_for_the_skin(item)]
        if for_the_skin and not any(item.ingredients or item.cautions for item in facts.items):
            item = for_the_skin[0]
            message = f"nothing in {facts.name} has ingredients or cautions, so its texts and labels have none."
            hint = f"Write them in the items' rows{_column(shop)}; buyers and, for cosmetics, the law ask for them."
            yield Problem(_of_ingredients(shop, item), "ingredients-missing", message, hint)
        else:
            silent |= {item.code: item for item in for_the_skin if not item.ingredients and not item.cautions}
    for item in silent.values():
        message = f"{item.code} {item.name} has neither ingredients nor cautions."
        listed_so = "as its label lists them (INCI), highest first"
        hint = f'Write its ingredients{_column(shop)} {listed_so}; "none" where it has none, as a dish.'
        yield Problem(_of_ingredients(shop, item), "ingredients-missing", message, hint)


def _any_ingredients(shop: Shop) -> bool:
    return any("ingredients" in item.model_fields_set for item in shop.items)


def _column(shop: Shop) -> str:
    """Return where ingredients are written, said only where the sheet shows nowhere."""
    return "" if _any_ingredients(shop) else f', in a column "ingredients" of {shop.items_file}'


def _of_ingredients(shop: Shop, item: Item) -> Place:
    """Return the item's cell; its row where no row of the sheet has ingredients, so that there may be no column."""
    if _any_ingredients(shop):
        return item_place(shop, item, "ingredients")
    return Place(shop.items_file, row=item.code, key=("ingredients",))


_LONGEST_NAME: Final = 9
"""Words of an ingredient's name, without what is in brackets; longer ones are sentences."""
# Words that stand in sentences and in no name of an ingredient, two of which make one.
_OF_SENTENCES: Final = frozenset(
    (
        *("we", "our", "with", "made", "from", "the", "is", "are", "then", "some", "only", "just", "lovingly", "plus"),
        *("see", "label", "box", "packaging", "pack"),
        *("avec", "nous", "notre", "nos", "fait", "mit", "wir", "unser", "unsere", "aus", "und", "con", "nuestro"),
        *("nuestra", "hecho", "nostro", "fatto"),
    )
)


# What stands between two names and is no comma, and before a list: "and", a full stop, "Ingredients:". Colours that may
# be in it are listed behind these words by 21 CFR 701.3(g), from memory.
_JOINED: Final = re.compile(r"\s\(?(?:and|et|und|y|plus)\)?\s", re.IGNORECASE)
_RUN_ON: Final = re.compile(
    r"\w\w\w\.\s+(?=[A-Z])|^(?i:(?!may contain|peut contenir|kann enthalten|puede contener))[^()]*:"
)
_OIL_OR_WATER: Final = re.compile(
    r"\b(?:oils?|butters?|wax|extracts?|water|aqua|huiles?|beurres?|cire|eau|\w*öle?|\w*wachs|wasser|aceites?|mantecas?"
    r"|cera|agua)\b",
    re.IGNORECASE,
)


def _is_prose(name: str) -> bool:
    """Whether an ingredient reads like a sentence, or like several ingredients without a comma between them.

    >>> _is_prose("Sunflower oil and perfume"), _is_prose("Honey and Almond Fragrance Oil")
    (True, False)
    """
    words = folded_ingredient(name).split()
    if len(words) > _LONGEST_NAME or len(_OF_SENTENCES & set(words)) > 1 or _RUN_ON.search(name):
        return True
    *first, last = _JOINED.split(name)
    return bool(first) and (PERFUME not in kinds_of(last) or any(_OIL_OR_WATER.search(part) for part in first))


def ingredients_prose(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A list of ingredients is a list: what reads as a sentence hides what a label must name. Told once an item."""
    shop = listings.catalog.shop
    for item in on_sale(shop):
        if sentence := next(filter(_is_prose, split_ingredients(item.ingredients)), ""):
            shown = sentence if len(sentence) <= _LONGEST else f"{sentence[:_LONGEST].rstrip()}…"
            message = f'the ingredients of {item.code} read like a sentence: "{shown}".'
            hint = "Write them one by one by their INCI names, highest first, commas between; stories go elsewhere."
            yield Problem(item_place(shop, item, "ingredients"), "ingredients-prose", message, hint)


def ingredient_plain(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Once: ingredients of what goes on the skin under the names that makers use, and what a label calls them."""
    shop = listings.catalog.shop
    english = shop.settings.country == "US"
    known = label_names(english=english) if english or shop.settings.country in LIKE_EU else {}
    written: dict[str, str] = {}
    lists: dict[str, Item] = {}
    for item in (item for item in on_sale(shop) if item.ingredients and is_for_the_skin(item)):
        plain = [name for name in split_ingredients(item.ingredients) if folded_name(name) in known]
        written |= {name: known[folded_name(name)] for name in plain}
        lists |= {item.code: item} if plain else {}
    if lists:
        named = listed([f'"{name}"' for name in written])
        instead = [f'"{name}" for "{at}"' for at, name in written.items()]
        law = "by its INCI name: Regulation (EC) 1223/2009, Article 19(1)(g)"
        law = "in English: 21 CFR 701.3(c)" if english else law
        message = f"the ingredients of {listed(list(lists), _SHOWN)} have {named}; a label names each {law}."
        hint = f"Write {listed(instead)}."
        yield Problem(item_place(shop, next(iter(lists.values())), "ingredients"), "ingredient-plain", message, hint)


def ingredient_nearly(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Once a name: one a letter or two from what cautions and allergens are chosen by, or from a usual one."""
    shop = listings.catalog.shop
    allergens = [folded_name(allergen.name) for allergen in (*all_allergens(shop), *FORBIDDEN)]
    known = tuple((letters_of(name.partition(" ")[0]), name) for name in dict.fromkeys((*latin_names(), *allergens)))
    single = frozenset(allergens).difference(latin_names())
    met = set[str]()
    for item in on_sale(shop):
        for name in split_ingredients(item.ingredients):
            folded = folded_name(name)
            if folded in met:
                continue
            if len(met) >= bounds.NEAR_NAMES:
                yield not_looked_for(shop, "ingredients", bounds.NEAR_NAMES)
                return
            met.add(folded)
            message = f'"{name}" in {item.code} is no ingredient that listkit knows, and nearly '
            place = item_place(shop, item, "ingredients")
            if near := _nearest(folded, known, single):
                meant = " ".join((near.title(), *name.split()[len(near.split()) :]))
                hint = f'If it is that, write "{meant}": cautions and allergens are chosen by it.'
                level = None if kinds_of(meant) & _WARNED_OF else Level.LOOK_AT
                yield Problem(place, "ingredient-nearly", f'{message}"{near.title()}".', hint, own_level=level)
            elif folded not in _plain_names() and (meant := _slip_of(name, usual_names())):
                hint = f'Did you mean "{meant}"? A label has the INCI name.'
                level = None if (kinds_of(meant) - kinds_of(name)) & _WARNED_OF else Level.LOOK_AT
                yield Problem(place, "ingredient-nearly", f'{message}"{meant}".', hint, own_level=level)


@cache
def _plain_names() -> frozenset[str]:
    """Return the names that makers write: what a label calls them is told of itself."""
    return frozenset((*label_names(english=False), *label_names(english=True)))


def _slip_of(name: str, known: tuple[str, ...]) -> str:
    """Return the `known` name that another is but for a letter or two that changed places in its words; "" for none."""
    words = _words(name)
    exactly, compared = _compared(known)
    if not words or words in exactly:
        return ""
    first = letters_of(words[0])  # a letter that is wrong changes two at most
    likely = (each for each in compared.get(len(words), ()) if (each[0] ^ first).bit_count() <= 2)
    return next((other for _, there, other in likely if all(map(_is_small_slip, words, there))), "")


@lru_cache(maxsize=64)
def _compared(
    known: tuple[str, ...],
) -> tuple[frozenset[tuple[str, ...]], Mapping[int, list[tuple[int, tuple[str, ...], str]]]]:
    """Return the words of all names, and by their number the letters of the first, the words and the name."""
    by_number = defaultdict[int, list[tuple[int, tuple[str, ...], str]]](list)
    for name in known:
        if words := _words(name):
            by_number[len(words)].append((letters_of(words[0]), words, name))
    return frozenset(map(_words, known)), by_number


@lru_cache(maxsize=4096)
def _words(name: str) -> tuple[str, ...]:
    """Return the words of an ingredient as they are compared, without remarks in brackets."""
    return tuple(folded_name(folded_ingredient(name)).split())


def _is_small_slip(word: str, known: str) -> bool:
    """Whether a word is another, has a letter wrong, or two that changed places."""
    if word == known or len(known) < _SHORTEST_NAMED or known.isdigit():
        return word == known
    swapped = sorted(word) == sorted(known)
    return distance(word, known, 2) <= (2 if swapped else 1 if len(known) > _SHORTEST_NAMED else 0)


_SHORTEST_NAMED: Final = 3
"""Letters of a word of a name in which two may have changed places ("Oli"); of longer ones one may be wrong."""


@lru_cache(maxsize=4096)
def _nearest(folded: str, known: tuple[tuple[int, str], ...], single: frozenset[str]) -> str:
    """Return the `known` name, each behind the letters of its first word, that a name may be a misspelling of.

    "" for none and where a known one is in it. A `single` substance stands alone: "cinnamon oil" is no "cinnamal".
    """
    words, first = len(folded.split()), letters_of(folded.partition(" ")[0])  # two slips change four letters at most
    likely = (latin for letters, latin in known if (letters ^ first).bit_count() <= 4)
    possible = (latin for latin in likely if latin not in single or len(latin.split()) == words)
    near = next((latin for latin in possible if _is_misspelt(folded, latin)), "")
    return "" if near and any(f" {latin} " in f" {folded} " for _, latin in known) else near


_WARNED_OF: Final = frozenset({NUTS, ESSENTIAL, FOAMING, SPIRIT})
"""Kinds of material for which a caution is printed: a slip in their names would leave it out."""
# Other ingredients that are nearly called like one of the table.
_NO_SLIPS: Final = frozenset(("myristic", "myristyl", "citrullus", "menthyl", "cinnamate", "anethole", "arachidyl"))


def _is_misspelt(name: str, latin: str) -> bool:
    """Whether the first words of a name are a known one with a letter wrong, two of a long one."""
    words, beginning = latin.split(), name.split()[: len(latin.split())]
    if beginning == words or len(beginning) != len(words) or len(latin) < LONG - 2 or beginning[0] in _NO_SLIPS:
        return False
    return all(map(_is_slip_or_same, beginning, words))


def _is_slip_or_same(word: str, known: str) -> bool:
    return word == known or (len(known) >= SHORTEST + 1 and is_slip(word, known))
