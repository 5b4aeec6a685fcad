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
_DEEPEST: Final = 100  # raw materials within raw materials; none is made so


@dataclass(frozen=True, slots=True)
class AllergenShare:
    """How much of an allergen is in a product, and which raw materials it comes from, "" for the product itself."""

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
        return {allergen: Decimal(1)} if allergen else self.shares.get(_key(row.ingredient), {})


def composition(rows: tuple[IngredientRow, ...], known: tuple[Allergen, ...] = ALLERGENS) -> Composition:
    """Return the rows in the order of the file, by what they belong to; each is gone through once."""
    found: dict[str, list[IngredientRow]] = defaultdict(list)
    for row in rows:
        found[_key(row.item)].append(row)
    made_of = Composition({name: tuple(of) for name, of in found.items()}, known, {})
    for name in made_of.rows:
        _add_up(made_of, name, (name,))
    return made_of


def _add_up(made_of: Composition, name: str, above: tuple[str, ...]) -> None:
    """Add the allergens of what `name` is made of, raw materials first; what would hold itself is passed over there."""
    if name in made_of.shares or len(above) > _DEEPEST:
        return
    total: Shares = defaultdict(Decimal)
    for row in made_of.rows.get(name, ()):
        below = _key(row.ingredient)
        if below in above:
            continue
        _add_up(made_of, below, (*above, below))
        for allergen, share in made_of.within(row).items():
            total[allergen] += row.percent * share
    made_of.shares[name] = dict(total)


def allergen_shares(item: Item, made_of: Composition) -> tuple[AllergenShare, ...]:
    """Return the fragrance allergens in an item, each summed over all it comes from, in the order of the known."""
    shares: Shares = defaultdict(Decimal)
    sources: dict[Allergen, dict[str, None]] = defaultdict(dict)
    for row in made_of.of(item.code):
        if _key(row.ingredient) == _key(item.code):
            continue
        itself = allergen_of(row.ingredient, row.cas, made_of.known) is not None
        for allergen, share in made_of.within(row).items():
            shares[allergen] += row.percent * share
            sources[allergen]["" if itself else row.ingredient] = None
    return tuple(AllergenShare(one, shares[one], tuple(sources[one])) for one in made_of.known if one in shares)


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
