"""Wholesale prices of one line, a variant or an item, by any rule: what checks, sheets and orders go by."""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from listkit.compute.catalog import Piece, Variant
from listkit.compute.prices import item_wholesale, wholesale
from listkit.model.fields import WholesaleRule
from listkit.model.item import Item
from listkit.model.settings import Prices
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


def line_of(thing: Variant | Item, prices: Prices) -> Line:
    """Return the line that a variant or an item is, at its own wholesale price."""
    if isinstance(thing, Variant):
        before_tax, money = thing.prices.before_tax, thing.wholesale
        return Line(thing.code, money.amount, thing.exact_cost, before_tax, money.currency, thing.pieces, prices)
    money = item_wholesale(thing.retail, prices.wholesale, prices.tax)
    before_tax = thing.retail.amount / (1 + prices.tax)
    return Line(thing.code, money.amount, thing.cost.amount, before_tax, money.currency, (Piece(thing),), prices)


def price_by(line: Line, rule: WholesaleRule) -> Decimal:
    """Return what a line would cost a shop by another rule, rounded half up as every wholesale price."""
    sum_of_items = Decimal(0)
    if rule.kind == "sum":
        share, tax = line.prices.wholesale, line.prices.tax
        items = sum(item_wholesale(p.item.retail, share, tax).amount * p.quantity for p in line.pieces)
        own = sum(p.item.cost.amount * p.quantity for p in line.pieces)
        sum_of_items = items + line.cost - own
    return Money(wholesale(rule, line.before_tax, line.cost, sum_of_items), line.currency).rounded(ROUND_HALF_UP).amount
