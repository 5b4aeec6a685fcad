"""Checks of ingredients: lists that can be read, allergens that are to be named, the order, and what says nothing.

They recall rules that are usual; the ones in force where the goods are sold decide, and where it matters a licensed
professional, such as a cosmetic safety assessor.
"""

import re
from collections.abc import Iterator
from decimal import Decimal
from typing import Final

from listkit.check.alike import listed
from listkit.check.context import CheckContext
from listkit.check.places import item_place, offered
from listkit.compute.allergens import LEAVE_ON_LIMIT, NAMED_IN, RINSE_OFF_LIMIT, all_allergens, by_name
from listkit.compute.catalog import SetFacts
from listkit.compute.caution_rules import FLAMES, SCENTS_A_ROOM, THINGS
from listkit.compute.composition import (
    AllergenShare,
    composition,
    is_in_order,
    out_of_order,
    rinsed_off,
    to_be_named,
    unlisted,
)
from listkit.compute.ingredients import named_allergens, unbalanced
from listkit.listing.listings import Listings
from listkit.model.fields import Status
from listkit.model.item import Item
from listkit.model.shop import Shop
from listkit.problem import Level, Problem
from listkit.units.quantity import share_text

_THINGS: Final = re.compile(
    "|".join(
        rf"\b{re.escape(word.removeprefix('='))}" + (r"\b" if word.startswith("=") else "")
        for word in (*THINGS, *FLAMES, *SCENTS_A_ROOM)
    )
)


def ingredients_brackets(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A bracket without its other half hides where an ingredient ends."""
    shop = listings.catalog.shop
    for item in _on_sale(shop):
        if bracket := unbalanced(item.ingredients):
            message = f'in the ingredients of {item.code} "{bracket}" has no other half.'
            hint = "Close the bracket, or take it out."
            yield Problem(item_place(shop, item, "ingredients"), "ingredients-brackets", message, hint)


def allergen_unnamed(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """By ingredients.csv there is more of a fragrance allergen than may go unnamed. Told once an item."""
    shop = listings.catalog.shop
    made_of = composition(shop.ingredients, all_allergens(shop))
    names = by_name(made_of.known)
    asked = {shop.settings.country, *(channel.country for channel in shop.channels)} & NAMED_IN
    for item in _on_sale(shop):
        named = named_allergens(item, names)
        lacking = [one for one in to_be_named(item, made_of) if one.allergen.name not in named]
        if lacking:
            limit = RINSE_OFF_LIMIT if rinsed_off(item) else LEAVE_ON_LIMIT
            what = "is rinsed off" if rinsed_off(item) else "stays on the skin"
            message = (
                f"{item.code} holds {listed([_told(one) for one in lacking])}, and its ingredients do not say so. "
                f"The limit for what {what} is {share_text(limit)}."
            )
            missing = listed([one.allergen.name for one in lacking])
            hint = f"Write {missing} among them (Regulation (EC) 1223/2009, Article 19 and Annex III)."
            level = None if asked else Level.LOOK_AT
            place = item_place(shop, item, "ingredients")
            yield Problem(place, "allergen-unnamed", message, hint, own_level=level)


def _told(one: AllergenShare) -> str:
    sources = [source for source in one.sources if source]
    return f"{share_text(one.share)} {one.allergen.name}" + (f" from {listed(sources)}" if sources else "")


def ingredient_unlisted(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """What ingredients.csv puts into an item stands in its list. Told once an item."""
    shop = listings.catalog.shop
    made_of = composition(shop.ingredients, all_allergens(shop))
    for item in (one for one in _on_sale(shop) if one.ingredients):
        if lacking := unlisted(item, made_of):
            names = listed([f'"{name}"' for name in lacking])
            message = f"ingredients.csv has {names} in {item.code}, its list has not."
            hint = "Write it in both alike, by its INCI name."
            yield Problem(item_place(shop, item, "ingredients"), "ingredient-unlisted", message, hint)


def ingredient_order(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """The list of an item goes by weight as far as percentages are known. Told once an item, of the first two."""
    shop = listings.catalog.shop
    made_of, country = composition(shop.ingredients), shop.settings.country
    free = "what is under 1 %" if is_in_order(Decimal("0.01"), country) else "what is 1 % or less"
    source = "21 CFR 701.3(f)" if country == "US" else "Regulation (EC) 1223/2009, Article 19(1)(g)"
    for item in _on_sale(shop):
        if pair := out_of_order(item, made_of, country):
            message = f'in {item.code} "{pair[0]}" stands before "{pair[1]}", of which there is more.'
            hint = f"Write what there is most of first; {free} may follow in any order ({source})."
            yield Problem(item_place(shop, item, "ingredients"), "ingredient-order", message, hint)


def ingredients_missing(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Something for the skin says what it is made of. A set that says nothing at all is told once, else each item."""
    shop = listings.catalog.shop
    silent: dict[str, Item] = {}
    for facts in offered(listings.catalog):
        if _says_nothing(facts):
            item = _for_the_skin(facts)[0]
            message = f"nothing in {facts.name} has ingredients or cautions, so its texts and labels have none."
            hint = "Write them in the items' rows; buyers and, for cosmetics, the law ask for them."
            yield Problem(item_place(shop, item, "ingredients"), "ingredients-missing", message, hint)
        else:
            silent |= {one.code: one for one in _for_the_skin(facts) if not one.ingredients and not one.cautions}
    for item in silent.values():
        message = f"{item.code} {item.name} has neither ingredients nor cautions."
        hint = "Write its ingredients as its label lists them (INCI), highest first."
        yield Problem(item_place(shop, item, "ingredients"), "ingredients-missing", message, hint)


def _says_nothing(facts: SetFacts) -> bool:
    return bool(_for_the_skin(facts)) and not any(item.ingredients or item.cautions for item in facts.items)


def _for_the_skin(facts: SetFacts) -> list[Item]:
    return [item for item in facts.items if not _THINGS.search(f"{item.form} {item.name}".casefold())]


def _on_sale(shop: Shop) -> Iterator[Item]:
    return (item for item in shop.items if item.status is not Status.CLOSED)
