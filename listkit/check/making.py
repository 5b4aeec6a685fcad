"""Checks of how things are made: recipes and what costs follow from them, and a plan that cannot be met."""

from collections.abc import Iterator
from fractions import Fraction
from typing import Final

from listkit.check.alike import listed
from listkit.check.places import SHOP, CheckContext
from listkit.compute.costs import Recipes
from listkit.compute.plan import PLANNED, Make, make_plan
from listkit.compute.season_plan import advice_of
from listkit.listing.listings import Listings
from listkit.model.making import PlanRow, plan_place, recipe_place
from listkit.problem import Place, Problem
from listkit.units.amount import decimal_of
from listkit.units.net import Measure
from listkit.units.spoken import Spoken
from listkit.units.weight import Weight

_NAMED: Final = 5


def cost_faults(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Each fault of a recipe once, whatever costs need it."""
    made = listings.catalog.shop.made
    faults = dict.fromkeys(fault for cost in (made.costs.values() if made else ()) for fault in cost.faults)
    measures = listings.catalog.shop.settings.measures
    for fault in faults:
        yield Problem(fault.place, fault.code, fault.message, measures.example(fault.hint))


def cost_differs(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A cost that is typed stands; its recipe may come to another."""
    shop = listings.catalog.shop
    for item in shop.items if shop.made else ():
        made = shop.made.costs.get(item.code) if shop.made and item.code not in shop.made.follows else None
        if made is not None and made.cost is not None and made.cost != item.cost.amount:
            spoken, apart = shop.settings.spoken, abs(made.cost - item.cost.amount)
            typed, comes_to, by = spoken.money(item.cost), spoken.money(made.cost), spoken.money(apart)
            way = "more" if made.cost > item.cost.amount else "less"
            message = f"{typed} is typed, and its recipe comes to {comes_to}, {by} {way}."
            place = Place(shop.items_file, row=item.code, column="cost", key=("cost",))
            hint = "What is typed counts. Empty the cell, and the cost follows the recipe."
            yield Problem(place, "cost-differs", message, hint)


def yield_over(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A batch gives no more than goes into it, by weight."""
    shop = listings.catalog.shop
    if not shop.making.recipes:
        return
    recipes = Recipes(shop)
    for item in shop.items:
        rows, way = recipes.rows.get(item.code, []), recipes.way_of(item)
        if not rows or not way.batch or item.net is None or item.net.measure is not Measure.MASS:
            continue
        if shop.made and item.code in shop.made.costs and shop.made.costs[item.code].cost is None:
            continue  # not all that goes in is known
        grams = recipes.input_grams(item.code)
        out = way.pieces * Fraction(item.net.total)
        if grams is not None and 0 < grams < out:
            weights = (Weight(decimal_of(exact)) for exact in (grams, out))
            into, given = (shop.settings.measures.weight(weight, rounded=True) for weight in weights)
            message = f"{into} go into a batch of {item.code}, and {given} come out."
            hint = "Mend the batch size, the yield or the amounts; water that nobody pays for is a material of price 0."
            yield Problem(recipe_place(rows[0][0], "amount"), "yield-over", message, hint)


def plan_faults(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """What the make list cannot do: rows without a number, days without work, what comes too late."""
    shop, spoken = listings.catalog.shop, listings.catalog.shop.settings.spoken
    if not shop.making.plan:
        return
    for line, row in shop.making.plan:
        yield from _unclear(line, row)
    plan = make_plan(listings.catalog, context.today)
    if plan.beyond:
        message = "with it the plan comes to more than can be reckoned with; it and the rows behind it are left out."
        counted = (
            f"A row of a set counts for each variant, each piece for each of its days, {PLANNED:,} of either at most"
        )
        hint = f"{counted}: plan what you make soon, or fewer variants."
        yield Problem(plan_place(plan.beyond[0], "set or item"), "plan-unclear", message, hint)
    if plan.no_work is not None:
        message = f"there is no day before {spoken.day(plan.no_work)} on which anybody works."
        hint = "Name days under days, or take days out of closed."
        yield Problem(Place(SHOP, key=("workshop",)), "work-days", message, hint)
    for line in dict.fromkeys(line for make in plan.late for line in make.wanted if line):
        late = [make for make in plan.late if line in make.wanted]
        words = listed([_late(make, spoken) for make in late], _NAMED)
        hint = "Plan fewer, or for a later day."
        yield Problem(plan_place(line, "by when"), "plan-late", f"{words}.", hint)


def _unclear(line: int, row: PlanRow) -> Iterator[Problem]:
    stated = {"sold out": row.sold_out, "left over": row.left_over, "likely": row.likely}
    missing = [name for name, value in stated.items() if value is None]
    advice = advice_of(row)
    if missing and len(missing) < len(stated):
        is_one = len(missing) == 1
        empty = f"{listed(missing)} {'is' if is_one else 'are'} empty"
        hint = "Fill it in, or empty the others." if is_one else "Fill them in, or empty the third."
        message = f"how many to make of {row.set_or_item} follows from three columns, of which {empty}."
        yield Problem(plan_place(line, missing[0]), "plan-unclear", message, hint)
    elif advice is not None and advice.quantity is None:
        lost = "hardly anything" if advice.over else "nothing"
        message = f"{lost} is lost on what is left over of {row.set_or_item}, and any number may be asked for."
        yield Problem(plan_place(line, "left over"), "plan-unclear", message, "Write what one too many costs.")
    elif row.how_many is None and advice is None:
        message = f"it does not say how many of {row.set_or_item}."
        yield Problem(plan_place(line, "how many"), "plan-unclear", message, "Write how many, or take the row out.")


def _late(make: Make, spoken: Spoken) -> str:
    """Return "20 of RR-B1 had to be begun by 4 January 2027, and can be ready on 16 February 2027"."""
    ready = f", and can be ready on {spoken.day(make.earliest)}" if make.earliest else ""
    return f"{make.short} of {make.code} had to be begun by {spoken.day(make.start_by or make.by)}{ready}"
