"""Checks of wholesale: prices against cost, against the shop's share and against each other, and the sheet's dates."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from listkit.check.context import CheckContext
from listkit.check.places import item_place, offered, offered_variants, set_place
from listkit.check.thresholds import WHOLESALE_LEAST
from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.compute.prices import item_wholesale
from listkit.listing.listings import Listings
from listkit.model.item import Item
from listkit.problem import Level, Place, Problem


@dataclass(frozen=True, slots=True)
class Line:
    """What a shop may order: an item, or a variant of a set, with its prices and full cost."""

    code: str
    wholesale: Decimal
    cost: Decimal
    before_tax: Decimal
    place: Place


def thin_lines(catalog: Catalog) -> Iterator[tuple[Line, ...]]:
    """Yield the lines of wholesale.toml, those of one set together; without that file all sets."""
    wholesale = catalog.shop.wholesale
    if wholesale is None:
        yield from (lines for facts in offered(catalog) if (lines := _set_lines(facts)))
        return
    sets = {facts.code: facts for facts in catalog.sets}
    items = {item.code: item for item in catalog.shop.items}
    for code in dict.fromkeys(code for group in wholesale.groups for code in group.lines):
        if code in sets:
            yield _set_lines(sets[code])
        elif code in items:
            yield (_item_line(catalog, items[code]),)


def _set_lines(facts: SetFacts) -> tuple[Line, ...]:
    return tuple(_variant_line(facts, one) for one in offered_variants(facts))


def _variant_line(facts: SetFacts, one: Variant) -> Line:
    place = set_place(facts, "wholesale")
    return Line(one.code, one.wholesale.amount, one.exact_cost, one.prices.before_tax, place)


def _item_line(catalog: Catalog, item: Item) -> Line:
    prices = catalog.shop.settings.prices
    amount = item_wholesale(item.retail, prices.wholesale, prices.tax).amount
    before_tax = item.retail.amount / (1 + prices.tax)
    return Line(item.code, amount, item.cost.amount, before_tax, item_place(catalog.shop, item, "retail"))


def wholesale_thin(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Told once a set, naming the thinnest variant; far too thin must be mended."""
    wanted = context.thresholds["wholesale-thin"]
    least = min(wanted, WHOLESALE_LEAST)
    for lines in thin_lines(listings.catalog):
        thin = [line for line in lines if line.wholesale < wanted * line.cost]
        if not thin:
            continue
        line = min(thin, key=lambda line: line.wholesale / line.cost)
        times = line.wholesale / line.cost
        more = f" ({len(thin)} of {len(lines)} variants are thin)" if len(thin) > 1 else ""
        message = f"{line.code} goes to shops at {line.wholesale}, {times:.2f} times its full cost{more}."
        hint = f"{wanted.normalize():f} times is usual; another wholesale rule, a higher price, or no line for shops."
        problem = Problem(line.place, "wholesale-thin", message, hint)
        yield replace(problem, own_level=Level.MUST_FIX) if times < least else problem
