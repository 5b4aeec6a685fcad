"""Ingredients: an item's own list as it is written, a set's by product, what all of them hold, what people ask for.

An item's text is its label's list (INCI), highest first, commas between. Nothing is reworded: a variant's
declaration is the items' own texts, one a product. `origins_of` tells what people ask for (nuts, bees, milk,
wool, cereals) by names in the list; it informs and is no declaration that the rest is free of them.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from listkit.compute.allergens import USUAL, Allergen, folded_ingredient
from listkit.model.item import Item

_OPEN: Final = {"(": ")", "[": "]", "{": "}"}
# Names of ingredients by where they come from, as they stand in lists of ingredients (INCI); whole words.
# Nuts: sweet almond, macadamia, hazelnut, walnut, argan, peanut, coconut, shea, cashew, Brazil nut, pistachio,
# pecan. The US Food and Drug Administration's "Allergens in Cosmetics" has no class for them: informative only.
# The other rows are common practice, no source.
ORIGINS: Final = {
    "nuts": (
        "prunus amygdalus", "prunus dulcis", "almond", "macadamia", "corylus", "juglans", "argania", "arachis",
        "butyrospermum", "shea", "cocos nucifera", "cocoate", "almondate", "sheabutterate", "anacardium",
        "bertholletia", "pistacia vera", "carya illinoinensis",
    ),
    "bees": ("cera alba", "cera flava", "mel", "propolis", "royal jelly", "honey", "beeswax"),
    "milk": ("milk", "lac", "caprae lac", "casein", "sodium caseinate", "whey", "colostrum", "yogurt"),
    "wool": ("lanolin", "lanolin alcohol", "adeps lanae"),
    "cereals": ("avena", "triticum", "secale", "hordeum", "wheat", "oat"),
}  # fmt: skip
_MILK_OF_PLANTS: Final = re.compile(r"cocos|coconut|avena|oat|almond|amygdalus|oryza|glycine|soy")
_WORDS: Final = {
    key: re.compile(r"\b(?:" + "|".join(re.escape(name) for name in names) + r")\b") for key, names in ORIGINS.items()
}


@dataclass(frozen=True, slots=True)
class ProductIngredients:
    """One product's ingredients: `text` as the owner wrote it, `names` one by one in that order."""

    item: Item
    text: str
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Origin:
    """Something people ask for ("nuts", "bees", "milk", "wool", "cereals") and the items that hold it."""

    key: str
    items: tuple[Item, ...]


@lru_cache(maxsize=4096)
def split_ingredients(text: str) -> tuple[str, ...]:
    """Return the ingredients of a list one by one; a comma within brackets divides nothing."""
    parts, depth = [""], 0
    for sign in text:
        depth = max(depth + (sign in _OPEN) - (sign in _OPEN.values()), 0)
        if sign in ",;\n" and not depth:
            parts.append("")
        else:
            parts[-1] += sign
    named = (" ".join(part.split()).strip(" .") for part in parts)
    return tuple(part for part in named if part)


def unbalanced(text: str) -> str:
    """Return the bracket of a list that has no other half, "" where all are in pairs."""
    waiting: list[str] = []
    for sign in text:
        if sign in _OPEN:
            waiting.append(sign)
        elif sign in _OPEN.values() and (not waiting or _OPEN[waiting.pop()] != sign):
            return sign
    return waiting[-1] if waiting else ""


def by_product(items: Iterable[Item]) -> tuple[ProductIngredients, ...]:
    """Return the ingredients of a set: a row a product, each item once, those without a list left out."""
    rows = {item.code: item for item in items if item.ingredients}
    return tuple(
        ProductIngredients(item, item.ingredients, split_ingredients(item.ingredients)) for item in rows.values()
    )


@lru_cache(maxsize=4096)
def folded_ingredients(text: str) -> tuple[str, ...]:
    """Return the ingredients of a list as they are compared."""
    return tuple(folded_ingredient(name) for name in split_ingredients(text))


def named_allergens(item: Item, known: Mapping[str, Allergen] = USUAL) -> tuple[str, ...]:
    """Return the fragrance allergens that an item's list names, in its order; `known` are those looked for, by name."""
    return tuple(dict.fromkeys(known[name].name for name in folded_ingredients(item.ingredients) if name in known))


def shared_allergens(items: Iterable[Item], known: Mapping[str, Allergen] = USUAL) -> tuple[str, ...]:
    """Return the allergens that every product with a list of ingredients names; none for fewer than two."""
    rows = [named_allergens(row.item, known) for row in by_product(items)]
    if len(rows) < 2:
        return ()
    return tuple(name for name in rows[0] if all(name in row for row in rows[1:]))


def origins_of(items: Iterable[Item]) -> tuple[Origin, ...]:
    """Return what people ask for, in the order of ORIGINS, with the items that hold it."""
    rows = by_product(items)
    found = (Origin(key, tuple(row.item for row in rows if key in origins_in(row.text))) for key in ORIGINS)
    return tuple(origin for origin in found if origin.items)


@lru_cache(maxsize=4096)
def origins_in(text: str) -> frozenset[str]:
    """Return the keys of ORIGINS that something in a list of ingredients comes from."""
    names = [name.replace("-", " ") for name in folded_ingredients(text)]
    return frozenset(key for key in ORIGINS if any(_comes_from(name, key) for name in names))


def _comes_from(name: str, key: str) -> bool:
    return bool(_WORDS[key].search(name)) and not (key == "milk" and _MILK_OF_PLANTS.search(name))
