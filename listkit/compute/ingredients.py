"""Ingredients: an item's own list as it is written, a set's by product, what all of them hold, what people ask for.

An item's text is its label's list (INCI), highest first, commas between. Nothing is reworded: a variant's
declaration is the items' own texts, one a product. `origins_of` tells what people ask for (nuts, bees, milk,
wool, cereals) by names in the list; it informs and is no declaration that the rest is free of them.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Final

from listkit.compute.allergens import (
    ALLERGENS,
    LIST_2023,
    NEWER,
    REMARKS,
    Allergen,
    candidates,
    compared_name,
    is_called,
)
from listkit.compute.kinds import BATHS, FIZZ, SALTS, SCRUBS, SOAPS, as_pattern
from listkit.compute.materials import BEES, CEREALS, MILK, NUTS, WOOL, folded_name, kinds_of, split_ingredients
from listkit.model.item import IngredientRow, Item
from listkit.model.labels import OwnAllergen
from listkit.model.shop import Shop

# The limits are those of Regulation (EC) 1223/2009, Article 19(1)(g) with Annex III: a fragrance allergen is named when
# there is more than 0.001 % in what stays on the skin, 0.01 % in what is rinsed off. The lists, and where each holds,
# are compute/allergens.py; the rules in force where one sells decide.

LEAVE_ON_LIMIT: Final = Decimal("0.00001")
RINSE_OFF_LIMIT: Final = Decimal("0.0001")


def folded_ingredient(name: str) -> str:
    """Return an ingredient's name as it is compared: small letters, without remarks in brackets and asterisks."""
    return " ".join(REMARKS.sub(" ", name).casefold().split())


def by_name(known: Iterable[Allergen]) -> Mapping[str, Allergen]:
    """Return allergens by their names as they are compared, to look many ingredients up in.

    Oils of the longer list are left out: in a list of ingredients they are called by their own names.
    """
    return {folded_ingredient(each.name): each for each in known if not (each.stems and each.since == LIST_2023)}


USUAL_ALLERGENS: Final = by_name((*ALLERGENS, *NEWER))
"""Those of both lists."""


def all_allergens(shop: Shop) -> tuple[Allergen, ...]:
    """Return the allergens that a shop looks for: ours of both lists, and those that its owner adds."""
    return _with_added(shop.settings.allergens)[0]


def allergens_by_name(shop: Shop) -> Mapping[str, Allergen]:
    """Return the same by their names as they are compared; see `by_name`."""
    return _with_added(shop.settings.allergens)[1]


@lru_cache(maxsize=64)
def _with_added(stated: tuple[OwnAllergen, ...]) -> tuple[tuple[Allergen, ...], Mapping[str, Allergen]]:
    added = (Allergen(each.name, (each.cas,) if each.cas else ()) for each in stated)
    ours = {compared_name(each.name) for each in (*ALLERGENS, *NEWER)}
    known = (*ALLERGENS, *NEWER, *(each for each in added if compared_name(each.name) not in ours))
    return known, by_name(known)


def must_be_named(share: Decimal, *, rinse_off: bool) -> bool:
    """Whether so much of an allergen in the product is named: more than the limit, not the limit itself."""
    return share > (RINSE_OFF_LIMIT if rinse_off else LEAVE_ON_LIMIT)


def allergen_of(name: str, cas: str, known: tuple[Allergen, ...] = ALLERGENS) -> Allergen | None:
    """Return which allergen an ingredient is: by its CAS number where it has one, else by its name.

    A number of two entries without a name that decides is none.
    """
    found = candidates(name, cas, known)
    return found[0] if len(found) == 1 else None


def names_allergen(item: Item, allergen: Allergen) -> bool:
    """Whether an item's list names an allergen, an oil or extract also by the plant's full name."""
    return any(is_called(name, allergen) for name in split_ingredients(item.ingredients))


_OPEN: Final = {"(": ")", "[": "]", "{": "}"}
ORIGINS: Final = (NUTS, BEES, MILK, WOOL, CEREALS)
"""What people ask for, in the order in which it is told; compute/materials.py knows what comes of what."""


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


def named_allergens(item: Item, known: Mapping[str, Allergen] = USUAL_ALLERGENS) -> tuple[str, ...]:
    """Return the fragrance allergens that an item's list names, in its order; `known` are those looked for, by name."""
    return tuple(dict.fromkeys(known[name].name for name in folded_ingredients(item.ingredients) if name in known))


def shared_allergens(items: Iterable[Item], known: Mapping[str, Allergen] = USUAL_ALLERGENS) -> tuple[str, ...]:
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
    return frozenset(kind for name in split_ingredients(text) for kind in kinds_of(name) if kind in ORIGINS)


# What items are made of, by ingredients.csv: fragrance allergens summed over raw materials, and the order of a list.
#
# A row belongs to an item, or to a raw material that rows of items name; so 3 % of a perfume with 0.2 % citral is
# 0.006 % citral. What the same allergen comes to from several raw materials is added before it is held against the
# limits. Exact; nothing is rounded.

# Words of forms that are rinsed off, as the rules for cautions write them; from memory. What is none of them stays on
# the skin, for which the limit is the stricter one.
RINSED_OFF: Final = (
    *(*SOAPS, *SCRUBS, *BATHS, *FIZZ, *SALTS),
    *("wash", "cleanser", "conditioner", "rinse", "après-shampooing", "gel douche", "nettoyant", "spülung"),
)
_RINSED_OFF: Final = re.compile("|".join(map(as_pattern, RINSED_OFF)))
_PERFUME: Final = frozenset({"parfum", "fragrance", "perfume", "aroma", "flavor", "flavour"})
_COLOUR: Final = re.compile(r"(ci )?\d{5}\b")
ONE_PER_CENT: Final = Decimal("0.01")
# Where what is exactly 1 % may stand in any order: 21 CFR 701.3(f)(2), "1 percent or less"; Canada's Cosmetic
# Regulations likewise (from memory). Elsewhere only below 1 %: Regulation (EC) 1223/2009, Article 19(1)(g).
_ONE_IS_FREE: Final = frozenset({"US", "CA"})


@dataclass(frozen=True, slots=True)
class AllergenShare:
    """How much of an allergen is in a product, and which raw materials it comes from, "" for a row of its own name."""

    allergen: Allergen
    share: Decimal
    sources: tuple[str, ...]


Shares = dict[Allergen, Decimal]
"""How much of each allergen is in something."""


@dataclass(frozen=True, slots=True)
class Composition:
    """All rows of ingredients.csv, by what they belong to, folded, and the allergens in each of these.

    `known` are the allergens that are looked for, in the order in which they are told.
    """

    rows: dict[str, tuple[IngredientRow, ...]]
    known: tuple[Allergen, ...]
    shares: dict[str, Shares]

    def of(self, name: str) -> tuple[IngredientRow, ...]:
        """Return the rows of an item, by its code, or of a raw material, by its name."""
        return self.rows.get(_key(name), ())

    def within(self, row: IngredientRow) -> Shares:
        """Return the allergens in what a row names: itself, or what its own rows come to."""
        allergen = allergen_of(row.ingredient, row.cas, self.known)
        inside = self.shares.get(_key(row.ingredient), {})
        if allergen and not allergen.stems:
            return {allergen: Decimal(1)}
        return inside | {allergen: Decimal(1)} if allergen else inside  # an oil, and what is in it


def composition(rows: tuple[IngredientRow, ...], known: tuple[Allergen, ...] = ALLERGENS) -> Composition:
    """Return the rows in the order of the file, by what they belong to; each is gone through once."""
    found: dict[str, list[IngredientRow]] = defaultdict(list)
    for row in rows:
        found[_key(row.item)].append(row)
    made_of = Composition({name: tuple(of) for name, of in found.items()}, known, {})
    for name in made_of.rows:
        if name not in made_of.shares:
            _add_up(made_of, name)
    return made_of


def _add_up(made_of: Composition, name: str) -> None:
    """Add the allergens of what `name` is made of, raw materials first; what would hold itself is passed over there."""
    above = {name}
    frames: list[tuple[str, Iterator[IngredientRow], list[IngredientRow]]] = [(name, iter(made_of.rows[name]), [])]
    while frames:
        at, rows, counted = frames[-1]
        row = next(rows, None)
        if row is None:
            total: Shares = defaultdict(Decimal)
            for each in counted:
                for allergen, share in made_of.within(each).items():
                    total[allergen] += each.percent * share
            made_of.shares[at] = dict(total)
            above.discard(at)
            frames.pop()
        elif (below := _key(row.ingredient)) not in above:
            counted.append(row)
            if below not in made_of.shares:
                above.add(below)
                frames.append((below, iter(made_of.rows.get(below, ())), []))


def allergen_shares(item: Item, made_of: Composition) -> tuple[AllergenShare, ...]:
    """Return the fragrance allergens in an item, each summed over all it comes from, in the order of the known."""
    shares: Shares = defaultdict(Decimal)
    sources: dict[Allergen, dict[str, None]] = defaultdict(dict)
    for row in made_of.of(item.code):
        if _key(row.ingredient) == _key(item.code):
            continue
        itself = allergen_of(row.ingredient, row.cas, made_of.known)
        for allergen, share in made_of.within(row).items():
            shares[allergen] += row.percent * share
            of_itself = allergen == itself and is_called(row.ingredient, allergen)
            sources[allergen]["" if of_itself else row.ingredient] = None
    known = made_of.known if shares else ()
    return tuple(AllergenShare(one, shares[one], tuple(sources[one])) for one in known if one in shares)


def _key(name: str) -> str:
    """What raw materials are told apart by: "Parfum (clover)" and "Parfum (linden)" are two."""
    return " ".join(name.casefold().split())


def rinsed_off(item: Item) -> bool:
    """Whether an item is rinsed off: by the owner's word, else by its form; what nobody knows stays on the skin."""
    if item.rinse_off is not None:
        return item.rinse_off
    return bool(_RINSED_OFF.search(folded_name(item.form)))


def to_be_named(item: Item, made_of: Composition) -> tuple[AllergenShare, ...]:
    """Return the allergens of which there is more than the limit for what is rinsed off, or stays on the skin."""
    rinse_off = rinsed_off(item)
    return tuple(one for one in allergen_shares(item, made_of) if must_be_named(one.share, rinse_off=rinse_off))


def same_ingredient(name: str) -> str:
    """Return what an ingredient is compared by: Parfum, Fragrance and Aroma are one."""
    folded = folded_ingredient(name)
    return "parfum" if folded in _PERFUME else folded


def unlisted(item: Item, made_of: Composition) -> tuple[str, ...]:
    """Return the ingredients of an item's rows that its list does not name; allergens are judged by their limits."""
    listed = {same_ingredient(name) for name in split_ingredients(item.ingredients)}
    known = made_of.known
    rows = (row for row in made_of.of(item.code) if row.percent and not _is_substance(row, known))
    return tuple(dict.fromkeys(row.ingredient for row in rows if same_ingredient(row.ingredient) not in listed))


def _is_substance(row: IngredientRow, known: tuple[Allergen, ...]) -> bool:
    """Whether a row is a fragrance allergen and no oil: oils stand in a list like other ingredients."""
    allergen = allergen_of(row.ingredient, row.cas, known)
    return allergen is not None and not allergen.stems


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
    least = Decimal("Infinity")
    for later, share in known:
        if least < share and is_in_order(share, country):
            return next(name for name, before in known if before < share), later
        least = min(least, share)
    return None


def is_in_order(share: Decimal, country: str) -> bool:
    """Whether so much of an ingredient has its place by weight, and may not stand anywhere among the last."""
    return share > ONE_PER_CENT if country in _ONE_IS_FREE else share >= ONE_PER_CENT


def made_with(names: Iterable[str], items: Iterable[Item], rows: Iterable[IngredientRow]) -> frozenset[str]:
    """Return the codes of items that are among `names` or, by ingredients.csv, made of any of them."""
    held, into = {_key(name) for name in names}, defaultdict[str, list[str]](list)
    for row in rows:
        into[_key(row.ingredient)].append(_key(row.item))
    waiting = list(held)
    while waiting:
        more = {item for item in into.get(waiting.pop(), ()) if item not in held}
        held |= more
        waiting += more
    return frozenset(item.code for item in items if _key(item.code) in held)
