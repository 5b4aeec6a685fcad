"""Lines: what shops may order, with the figures that wholesale prices are held against."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from itertools import islice

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

    things: tuple[Variant | Item, ...]
    rule: WholesaleRule
    rule_place: Place
    place: Place
    prices: Prices

    def __iter__(self) -> Iterator[Line]:
        return (_line(thing, self.prices) for thing in self.things)

    def __len__(self) -> int:
        return len(self.things)

    @property
    def alike(self) -> tuple[Line, ...]:
        """Lines that stand for all: where the rule is a share of the price, any one does."""
        return tuple(islice(self, 1)) if self.rule.kind == "share" else tuple(self)


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
    return Lines(tuple(offered_variants(facts)), rule, rule_place, place, prices)


def _item_line(catalog: Catalog, item: Item) -> Lines:
    prices = catalog.shop.settings.prices
    rule = WholesaleRule("share", prices.wholesale)
    rule_place = Place(SHOP, key=("prices", "wholesale"))
    return Lines((item,), rule, rule_place, item_place(catalog.shop, item, "retail"), prices)


def _line(thing: Variant | Item, prices: Prices) -> Line:
    if isinstance(thing, Variant):
        before_tax, money = thing.prices.before_tax, thing.wholesale
        return Line(thing.code, money.amount, thing.exact_cost, before_tax, money.currency, thing.pieces, prices)
    money = item_wholesale(thing.retail, prices.wholesale, prices.tax)
    before_tax = thing.retail.amount / (1 + prices.tax)
    return Line(thing.code, money.amount, thing.cost.amount, before_tax, money.currency, (Piece(thing),), prices)
