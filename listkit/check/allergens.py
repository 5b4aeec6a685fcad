"""Checks of fragrance: allergens named where they must be, none that is forbidden, numbers of two entries, what to ask
of suppliers, and how goods that scent a room are classified.

Which list counts goes by the countries and regions that are sold to, and by the day (compute/allergens.py). listkit
recalls; the rules in force where the goods are sold decide.
"""

import datetime
import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from listkit.check.alike import listed
from listkit.check.cautions import on_sale
from listkit.check.places import CheckContext, item_place, sells_like_eu
from listkit.compute.allergens import (
    FORBIDDEN,
    LAST_OF_OLDER,
    LIST_2003,
    LIST_2023,
    NAMED_IN,
    ORAL_ONLY,
    Allergen,
    Usual,
    candidates,
    list_in_force,
    usually_brings,
)
from listkit.compute.cautions import scents_the_air
from listkit.compute.ingredients import (
    LEAVE_ON_LIMIT,
    RINSE_OFF_LIMIT,
    AllergenShare,
    all_allergens,
    composition,
    names_allergen,
    rinsed_off,
    to_be_named,
)
from listkit.compute.materials import ESSENTIAL, kinds_of, split_ingredients
from listkit.listing.listings import Listings
from listkit.model.item import IngredientRow, Item
from listkit.model.shop import Shop
from listkit.problem import Level, Place, Problem
from listkit.units.quantity import share_text

_ROWS = "ingredients.csv"
_LAW = "Regulation (EC) 1223/2009, Article 19 and Annex III"
_WIDENED = "as Regulation (EU) 2023/1545 widened it for goods placed on the market from 1 August 2026"


def _sold_in(shop: Shop) -> frozenset[tuple[str, str]]:
    """Return the countries that are sold to, each with its region, "" for none."""
    settings = shop.settings
    own = (settings.country, settings.region or "")
    places = {
        (channel.country or own[0], channel.region or ("" if channel.country else own[1])) for channel in shop.channels
    }
    return frozenset({own, *places})


def allergen_unnamed(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """By ingredients.csv there is more of a fragrance allergen than may go unnamed. Told once an item and list."""
    shop = listings.catalog.shop
    made_of = composition(shop.ingredients, all_allergens(shop))
    for item in on_sale(shop):
        lacking = [share for share in to_be_named(item, made_of) if not names_allergen(item, share.allergen)]
        for since in (LIST_2003, LIST_2023):
            of_list = [share for share in lacking if share.allergen.since == since]
            if of_list and (problem := _unnamed(shop, item, of_list, context.today)):
                yield problem


def _unnamed(shop: Shop, item: Item, lacking: list[AllergenShare], day: datetime.date) -> Problem | None:
    """Return the problem of allergens of one list that an item does not name; None where no country asks for them."""
    since = lacking[0].allergen.since
    lists = [list_in_force(country, region, day) for country, region in _sold_in(shop)]
    unsure = ("GB", "") in _sold_in(shop) and day > LAST_OF_OLDER
    asked = any(each >= since for each in lists)
    if since == LIST_2023 and not (asked or unsure):
        return None
    limit = RINSE_OFF_LIMIT if rinsed_off(item) else LEAVE_ON_LIMIT
    what = "is rinsed off" if rinsed_off(item) else "stays on the skin"
    held = listed([_allergen(share) for share in lacking], len(lacking))
    message = f"{item.code} holds {held}, and its ingredients do not say so. "
    message += f"The limit for what {what} is {share_text(limit)}."
    missing = listed([share.allergen.name for share in lacking], len(lacking))
    law = _LAW if since == LIST_2003 else f"{_LAW}, {_WIDENED}"
    hint = f"Write {missing} among them ({law})."
    if not asked and since == LIST_2023:
        message += " Northern Ireland asks for it, the rest of the United Kingdom does not."
        hint = f'If it is sold in Northern Ireland, write region = "GB-NIR" in shop.toml, and {missing} ({law}).'
    place = item_place(shop, item, "ingredients")
    return Problem(place, "allergen-unnamed", message, hint, own_level=None if asked else Level.LOOK_AT)


def _allergen(share: AllergenShare) -> str:
    """Return "0.05 % Linalool (entry 84) from Lavender Oil"."""
    sources = [source for source in share.sources if source]
    return f"{share_text(share.share)} {share.allergen.with_entry}" + (f" from {listed(sources)}" if sources else "")


_NEVER: Final = (*FORBIDDEN, *ORAL_ONLY)


def ingredient_forbidden(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Two fragrance allergens are forbidden in cosmetics, one is for oral goods only. Told once an item and name."""
    shop = listings.catalog.shop
    asked = {country for country, _ in _sold_in(shop)} & NAMED_IN
    level = None if asked else Level.LOOK_AT
    by_owner: dict[str, list[IngredientRow]] = defaultdict(list)
    for row in shop.ingredients:
        by_owner[row.item.casefold()].append(row)
    for item in on_sale(shop):
        names = [(name, "") for name in split_ingredients(item.ingredients)]
        for name, cas in [*names, *((row.ingredient, row.cas) for row in _all_rows(by_owner, item.code))]:
            found = [*candidates(name, cas, _NEVER), *candidates(name, "", FORBIDDEN)]
            for allergen in found[:1]:
                oral = allergen in ORAL_ONLY
                why = "may be in oral goods only" if oral else "is forbidden in cosmetics"
                law = f"Annex {'III' if oral else 'II'}, entry {allergen.entry}"
                named = "" if name.casefold() == allergen.name.casefold() else f"is {allergen.name}, which "
                message = f'"{name}" in {item.code} {named}{why} (Regulation (EC) 1223/2009, {law}).'
                hint = "Leave it out, and ask the supplier of the perfume for one without it."
                place = item_place(shop, item, "ingredients")
                yield Problem(place, "ingredient-forbidden", message, hint, own_level=level)


def _all_rows(by_owner: Mapping[str, Sequence[IngredientRow]], code: str) -> Iterator[IngredientRow]:
    """Yield the rows of an item and of the raw materials in it, each once; the rows are given by what they are of."""
    waiting, met = [code.casefold()], set[str]()
    while waiting:
        name = waiting.pop()
        if name not in met:
            met.add(name)
            yield from by_owner.get(name, ())
            waiting += [row.ingredient.casefold() for row in by_owner.get(name, ())]


def allergen_twofold(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A CAS number of two entries goes with a name that tells which; that of one with no other's name. Once a row."""
    shop = listings.catalog.shop
    known = all_allergens(shop)
    for row in dict.fromkeys(shop.ingredients):
        found = candidates(row.ingredient, row.cas, known) if row.cas else ()
        message = f'"{row.ingredient}" has the CAS number {row.cas}, which stands for {_entries(found)}'
        place = Place(_ROWS, row=row.item, column="CAS")
        if len(found) > 1:
            hint = "Write the name that its supplier's document has; until then it is counted as neither."
            yield Problem(place, "allergen-twofold", f"{message}: nothing tells which.", hint)
        elif found and (other := _other(row.ingredient, found[0], known)):
            message = f"{message}, and the name of {_entries((other,))}: it is counted by its number."
            hint = "Look into its supplier's document, and mend the name or the number."
            yield Problem(place, "allergen-twofold", message, hint)


def _entries(allergens: Sequence[Allergen]) -> str:
    """Return names with the numbers of their entries in Annex III: '"Citral" (entry 70)'."""
    return listed([f'"{each.name}"' + (f" (entry {each.entry})" if each.entry else "") for each in allergens])


def _other(name: str, allergen: Allergen, known: tuple[Allergen, ...]) -> Allergen | None:
    """Return the allergen that a name is of, where it is not the one of its CAS number; an oil has several names."""
    by_name = candidates(name, "", known)
    return by_name[0] if len(by_name) == 1 and by_name[0] != allergen else None


def allergens_unknown(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Once an essential oil: no figures of it are known, and goods lack some of what it usually brings much of."""
    shop = listings.catalog.shop
    lists = [list_in_force(country, region, context.today) for country, region in _sold_in(shop)]
    every = {each.name: each for each in all_allergens(shop) if each.since <= max(lists)}
    unsure = shop.left_out.percentages
    known = {row.item.casefold() for row in shop.ingredients} | {name.casefold() for name in unsure or ()}
    if unsure is None:  # any may have its rows there
        return
    asking: dict[tuple[Usual, tuple[str, ...]], list[tuple[str, Item]]] = defaultdict(list)
    for item in on_sale(shop) if max(lists) else ():
        for name in split_ingredients(item.ingredients):
            usual = usually_brings(name) if ESSENTIAL in kinds_of(name) and name.casefold() not in known else None
            asked = [each for each in usual.names if each in every] if usual else []
            lacking = tuple(each for each in asked if not names_allergen(item, every[each]))
            if usual and (asked == [*lacking] != [] or set(lacking) & set(usual.much)):
                asking[usual, lacking if len(lacking) < len(asked) else ()].append((name, item))
    for (usual, lacking), rows in asking.items():
        name, first = rows[0]
        holding = list(dict.fromkeys(item.code for _, item in rows))
        codes, names = listed(holding, 4), "names" if len(holding) == 1 else "name"
        message = f'"{name}" usually brings {usual.brings.replace(";", ",")} ({usual.source}); {codes} '
        much = listed([each for each in lacking if each in usual.much])
        message += f"{names} no {much}." if lacking else f"{names} none of it."
        hint = (
            "Ask your supplier for the document with its fragrance allergens, write its rows in ingredients.csv, and "
        )
        hint += "name what is over the limit."
        yield Problem(item_place(shop, first, "ingredients"), "allergens-unknown", message, hint)


# How a row's own sentences say that somebody has looked: a statement of hazard by its number, or the words of EUH208 in
# four languages. Regulation (EC) 1272/2008, Annexes II and III, from memory.
_CLASSIFIED: Final = re.compile(
    r"\bEUH ?\d{3}|\bH[234]\d\d\b|1272/2008|may produce an allergic reaction|peut produire une réaction allergique"
    r"|kann allergische reaktionen hervorrufen|puede provocar una reacción alérgica",
    re.IGNORECASE,
)


def hazard_unlabelled(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Once a scented candle, melt, incense or diffuser: how it is classified, where its label must say so."""
    shop = listings.catalog.shop
    for item in on_sale(shop) if sells_like_eu(shop) else ():
        if scents_the_air(item) and not any(_CLASSIFIED.search(entry) for entry in item.cautions):
            message = (
                f"{item.code} {item.name} scents the air, and its row does not tell how it is classified: in the Union "
                "and the United Kingdom a scented mixture goes by Regulation (EC) 1272/2008 (in Great Britain by its "
                "own version), which may ask for pictograms, a signal word and sentences on its label."
            )
            hint = (
                "Look into the safety data sheet of the scent's supplier, at the share that you use, and write its "
                'sentences into the cell, as "Contains linalool. May produce an allergic reaction."; if it asks for '
                "none, accept this and say so. What the rules where you sell ask for decides."
            )
            yield Problem(item_place(shop, item, "cautions"), "hazard-unlabelled", message, hint)
