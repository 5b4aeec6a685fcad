"""Lines: what shops may order, with the figures that wholesale prices are held against."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from listkit.check.places import SHOP, item_place, line_codes, offered, offered_variants, set_place
from listkit.compute.catalog import Catalog, Piece, SetFacts, Variant
from listkit.compute.prices import item_wholesale, wholesale
from listkit.model.fields import WholesaleRule
from listkit.model.item import Item
from listkit.model.settings import Prices
from listkit.problem import Place
from listkit.units.money import Money


@dataclass(frozen=True, slots=True)
class Line:
    """An item, or a variant of a set: its prices, its full cost, and what it is made of."""

    code: str
    wholesale: Decimal
    cost: Decimal
    before_tax: Decimal
    currency: str
    pieces: tuple[Piece, ...]
    prices: Prices


@dataclass(frozen=True, slots=True)
class Lines:
    """The variants of one set, or one item: the rule of their wholesale prices, where it stands, where to mend them."""

    lines: tuple[Line, ...]
    rule: WholesaleRule
    rule_place: Place
    place: Place


def all_lines(catalog: Catalog) -> Iterator[Lines]:
    """Yield the lines of wholesale.toml, those of one set together; without that file all sets that are offered."""
    if catalog.shop.wholesale is None:
        yield from (_set_lines(catalog, facts) for facts in offered(catalog))
        return
    sets = {facts.code: facts for facts in catalog.sets}
    items = {item.code: item for item in catalog.shop.items}
    for code in line_codes(catalog):
        if code in sets:
            yield _set_lines(catalog, sets[code])
        elif code in items:
            yield _item_line(catalog, items[code])


def price_by(line: Line, rule: WholesaleRule) -> Decimal:
    """Return what a line would cost a shop by another rule, rounded half up as every wholesale price."""
    sum_of_items = Decimal(0)
    if rule.kind == "sum":
        share, tax = line.prices.wholesale, line.prices.tax
        items = sum(item_wholesale(p.item.retail, share, tax).amount * p.quantity for p in line.pieces)
        own = sum(p.item.cost.amount * p.quantity for p in line.pieces)
        sum_of_items = items + line.cost - own
    return Money(wholesale(rule, line.before_tax, line.cost, sum_of_items), line.currency).rounded(ROUND_HALF_UP).amount


def _set_lines(catalog: Catalog, facts: SetFacts) -> Lines:
    prices, own = catalog.shop.settings.prices, facts.source.gift_set.wholesale
    rule = own or prices.set_wholesale
    place = set_place(facts, "wholesale")
    by_shop = own is None and rule.kind == "share"
    rule_place = Place(SHOP, key=("prices", "set_wholesale")) if by_shop else place
    return Lines(tuple(_variant_line(one, prices) for one in offered_variants(facts)), rule, rule_place, place)


def _variant_line(one: Variant, prices: Prices) -> Line:
    money = one.wholesale
    return Line(one.code, money.amount, one.exact_cost, one.prices.before_tax, money.currency, one.pieces, prices)


def _item_line(catalog: Catalog, item: Item) -> Lines:
    prices = catalog.shop.settings.prices
    money = item_wholesale(item.retail, prices.wholesale, prices.tax)
    before_tax = item.retail.amount / (1 + prices.tax)
    line = Line(item.code, money.amount, item.cost.amount, before_tax, money.currency, (Piece(item),), prices)
    rule = WholesaleRule("share", prices.wholesale)
    return Lines((line,), rule, Place(SHOP, key=("prices", "wholesale")), item_place(catalog.shop, item, "retail"))
