"""What items are made of, by ingredients.csv: fragrance allergens summed over raw materials, and the order of a list.

A row belongs to an item, or to a raw material that rows of items name; so 3 % of a perfume with 0.2 % citral is
0.006 % citral. What the same allergen comes to from several raw materials is added before it is held against the
limits. Exact; nothing is rounded.
"""

import re
from collections import defaultdict
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from listkit.compute.allergens import ALLERGENS, Allergen, allergen_of, folded_ingredient, must_be_named
from listkit.compute.caution_rules import BATHS, FIZZ, SALTS, SCRUBS, SOAPS
from listkit.compute.ingredients import split_ingredients
from listkit.model.ingredient_row import IngredientRow
from listkit.model.item import Item

# Words of forms that are rinsed off, as the rules for cautions write them; from memory. What is none of them stays on
# the skin, for which the limit is the stricter one.
RINSED_OFF: Final = (
    *(*SOAPS, *SCRUBS, *BATHS, *FIZZ, *SALTS),
    *("wash", "cleanser", "conditioner", "rinse", "après-shampooing", "gel douche", "nettoyant", "spülung"),
)
_PERFUME: Final = frozenset({"parfum", "fragrance", "perfume", "aroma", "flavor", "flavour"})
_COLOUR: Final = re.compile(r"(ci )?\d{5}\b")
ONE_PER_CENT: Final = Decimal("0.01")
# Where what is exactly 1 % may stand in any order: 21 CFR 701.3(f)(2), "1 percent or less"; Canada's Cosmetic
# Regulations likewise (from memory). Elsewhere only below 1 %: Regulation (EC) 1223/2009, Article 19(1)(g).
_ONE_IS_FREE: Final = frozenset({"US", "CA"})
_DEEPEST: Final = 6


@dataclass(frozen=True, slots=True)
class AllergenShare:
    """How much of an allergen is in a product, and which raw materials it comes from, "" for the product itself."""

    allergen: Allergen
    share: Decimal
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Composition:
    """All rows of ingredients.csv, by what they belong to, folded."""

    rows: dict[str, tuple[IngredientRow, ...]]

    def of(self, name: str) -> tuple[IngredientRow, ...]:
        """Return the rows of an item, by its code, or of a raw material, by its name."""
        return self.rows.get(_key(name), ())


def composition(rows: tuple[IngredientRow, ...]) -> Composition:
    """Return the rows in the order of the file, by what they belong to."""
    found: dict[str, list[IngredientRow]] = defaultdict(list)
    for row in rows:
        found[_key(row.item)].append(row)
    return Composition({name: tuple(of) for name, of in found.items()})


def allergen_shares(
    item: Item, made_of: Composition, known: tuple[Allergen, ...] = ALLERGENS
) -> tuple[AllergenShare, ...]:
    """Return the fragrance allergens in an item, each summed over all it comes from, in the order of `known`."""
    shares: dict[Allergen, Decimal] = defaultdict(Decimal)
    sources: dict[Allergen, dict[str, None]] = defaultdict(dict)

    def add(name: str, part: Decimal, source: str, above: tuple[str, ...]) -> None:
        for row in made_of.of(name):
            share, within = part * row.percent, _key(row.ingredient)
            allergen = allergen_of(row.ingredient, row.cas, known)
            if allergen is not None:
                shares[allergen] += share
                sources[allergen][source] = None
            elif within not in above and len(above) < _DEEPEST:
                add(row.ingredient, share, source or row.ingredient, (*above, within))

    add(item.code, Decimal(1), "", (_key(item.code),))
    return tuple(AllergenShare(one, shares[one], tuple(sources[one])) for one in known if one in shares)


def _key(name: str) -> str:
    """What raw materials are told apart by: "Parfum (clover)" and "Parfum (linden)" are two."""
    return " ".join(name.casefold().split())


def rinsed_off(item: Item) -> bool:
    """Whether an item is rinsed off: by the owner's word, else by its form; what nobody knows stays on the skin."""
    if item.rinse_off is not None:
        return item.rinse_off
    words = item.form.casefold().replace("-", " ")
    return any(re.search(_as_pattern(word), words) for word in RINSED_OFF)


def _as_pattern(word: str) -> str:
    whole = re.escape(word.removeprefix("="))
    return rf"\b{whole}\b" if word.startswith("=") else rf"\b{whole}"


def to_be_named(
    item: Item, made_of: Composition, known: tuple[Allergen, ...] = ALLERGENS
) -> tuple[AllergenShare, ...]:
    """Return the allergens of which there is more than the limit for what is rinsed off, or stays on the skin."""
    rinse_off = rinsed_off(item)
    return tuple(one for one in allergen_shares(item, made_of, known) if must_be_named(one.share, rinse_off=rinse_off))


def same_ingredient(name: str) -> str:
    """Return what an ingredient is compared by: Parfum, Fragrance and Aroma are one."""
    folded = folded_ingredient(name)
    return "parfum" if folded in _PERFUME else folded


def unlisted(item: Item, made_of: Composition, known: tuple[Allergen, ...] = ALLERGENS) -> tuple[str, ...]:
    """Return the ingredients of an item's rows that its list does not name; allergens are judged by their limits."""
    listed = {same_ingredient(name) for name in split_ingredients(item.ingredients)}
    rows = (row for row in made_of.of(item.code) if row.percent and allergen_of(row.ingredient, row.cas, known) is None)
    return tuple(dict.fromkeys(row.ingredient for row in rows if same_ingredient(row.ingredient) not in listed))


def out_of_order(item: Item, made_of: Composition, country: str) -> tuple[str, str] | None:
    """Return the first two ingredients of a list of which the later should stand before the earlier; None for none.

    Highest first; what is under 1 % (in the United States and Canada 1 % or less) may follow in any order, and so
    may colours, wherever they stand. Only ingredients with a percentage are judged.
    """
    shares: dict[str, Decimal] = defaultdict(Decimal)
    for row in made_of.of(item.code):
        shares[same_ingredient(row.ingredient)] += row.percent
    known = [
        (name, shares[same_ingredient(name)])
        for name in split_ingredients(item.ingredients)
        if same_ingredient(name) in shares and not _COLOUR.match(folded_ingredient(name))
    ]
    for at, (later, share) in enumerate(known):
        if is_in_order(share, country):
            earlier = next((name for name, before in known[:at] if before < share), "")
            if earlier:
                return earlier, later
    return None


def is_in_order(share: Decimal, country: str) -> bool:
    """Whether so much of an ingredient has its place by weight, and may not stand anywhere among the last."""
    return share > ONE_PER_CENT if country in _ONE_IS_FREE else share >= ONE_PER_CENT
