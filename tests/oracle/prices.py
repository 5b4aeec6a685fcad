"""Prices, taxes and costs of a variant, what a channel leaves of it, and what shops pay."""

from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor

from tests.oracle.reading import GRAMS, MILLILITRES, Item, Shop, Table, measure, share, up_to_step
from tests.oracle.sending import cheapest_postage, packed_in
from tests.oracle.variants import Variant, variants_of

# Prices


def ended(amount: Fraction, ending: str, digits: int) -> Fraction:
    """Return the lowest price from `amount` on that ends so.

    >>> ended(Fraction("12.96"), ".95", 2), ended(Fraction(1001), "980", 0)
    (Fraction(259, 20), Fraction(1980, 1))
    """
    if ending == "keep":
        return amount
    if ending.startswith("steps of "):
        return up_to_step(amount, Fraction(ending.removeprefix("steps of ")))
    last = Fraction(f"0{ending}" if ending.startswith(".") else ending)
    turn = Fraction(10 ** len(ending.partition(".")[0]))
    return last + up_to_step(max(amount - last, Fraction(0)), turn)


def lowered(price: Fraction, reduction: Table, digits: int) -> Fraction:
    """Return a price less a share, in whole minor units from below, or the next lower one that ends so; else itself."""
    if "by" in reduction:
        return Fraction(floor(price * (1 - share(reduction["by"])) * 10**digits), 10**digits)
    ending = reduction["ending"]
    turn = Fraction(10 ** len(ending.partition(".")[0]))
    last = Fraction(f"0{ending}")
    turns = ceil((price - last) / turn) - 1
    return last + turns * turn if turns >= 0 else price


@dataclass(frozen=True)
class Priced:
    """A price and how it comes about: label, amount, running sum."""

    steps: tuple[tuple[str, Fraction, Fraction], ...]
    own: Fraction


def _own_price(variant: Variant, shop: Shop) -> Priced:
    table = variant.table
    items = sum((quantity * item.retail for item, quantity in variant.pieces), Fraction(0))
    usual = shop.prices.get("uplift") if table["box"] != "none" else None
    uplift = shop.amount(table.get("uplift", usual))
    ending = str(table.get("ending", shop.prices.get("ending", "keep")))
    price = ended(items + uplift, ending, shop.digits)
    steps = (("items", items, items), ("uplift", uplift, items + uplift), ("ending", price - items - uplift, price))
    return Priced(steps, price)


def price_of(variant: Variant, shop: Shop) -> Fraction:
    """Return what a buyer pays."""
    return priced(variant, shop).steps[-1][2]


def priced(variant: Variant, shop: Shop) -> Priced:
    """Return a variant's price with its steps; where all cost as much as the dearest, a step more."""
    mine = _own_price(variant, shop)
    if variant.table.get("option_prices", shop.prices.get("option_prices", "own")) != "dearest":
        return mine
    dearest = max(_own_price(other, shop).own for other in variants_of(variant.table, shop))
    if dearest == mine.own:
        return mine
    return Priced((*mine.steps, ("dearest option", dearest - mine.own, dearest)), mine.own)


# Tax


def taxed_shares(pieces: tuple[tuple[Item, int], ...], shop: Shop, here: str | None) -> dict[Fraction, Fraction]:
    """Return tax rate = the share of the price that it is included in; shares go by the pieces' own prices.

    An item's own tax stands for the shop's, and a channel's, as that of another country, for both.
    """
    usual = share(shop.prices.get("tax"))
    worth: dict[Fraction, Fraction] = {}
    for item, quantity in pieces:
        rate = share(here) if here is not None else usual if item.tax is None else item.tax
        worth[rate] = worth.get(rate, Fraction(0)) + quantity * item.retail
    total = sum(worth.values())
    return {rate: amount / total for rate, amount in worth.items()}


def before_tax(price: Fraction, shares: dict[Fraction, Fraction]) -> Fraction:
    """Return a price less the tax included in it, exact."""
    return sum((price * part / (1 + rate) for rate, part in shares.items()), Fraction(0))


# Costs


def packing_cost(variant: Variant, shop: Shop) -> Fraction:
    """Return box, fill, card and minutes, exact."""
    box = packed_in(variant.table, shop)
    if box is None:
        return Fraction(0)
    card = shop.packaging.get("card")
    cost = shop.amount(box["cost"]) + shop.amount(box.get("fill", {}).get("cost"))
    if card and variant.table.get("card", True):
        cost += shop.amount(card["cost"])
    return cost + Fraction(str(box.get("minutes", 0))) * shop.amount(shop.prices.get("wage")) / 60


def full_cost(variant: Variant, shop: Shop) -> Fraction:
    """Return what making and packing it costs, exact."""
    return sum((quantity * item.cost for item, quantity in variant.pieces), packing_cost(variant, shop))


# What a channel leaves


@dataclass(frozen=True)
class Sale:
    """One variant sold on a channel: each amount in whole minor units, the margin exact, of the price before tax."""

    tax: Fraction
    fee: Fraction
    postage: Fraction
    kept: Fraction
    margin: Fraction


def sale(variant: Variant, channel: Table, shop: Shop, price: Fraction | None = None) -> Sale:
    """Return what selling it costs there and what is kept; `price` where it is not the usual one."""
    asked = price_of(variant, shop) if price is None else price
    tax = asked - before_tax(asked, taxed_shares(variant.pieces, shop, channel.get("tax")))
    postage = cheapest_postage(variant, channel, shop)
    free = postage * _free_share(asked, shop)
    base = asked
    if channel.get("fee_on") == "price and postage":
        base += postage - free
    fixed = shop.amount(channel.get("fixed_fee"))
    if channel.get("fixed_fee_per", "order") == "order":
        fixed /= Fraction(str(channel.get("pieces_in_order", 1)))
    fee = max(share(channel.get("fee")) * base + fixed, shop.amount(channel.get("minimum_fee")))
    cost = full_cost(variant, shop)
    taken, paid, given, spent = (shop.rounded(part) for part in (tax, fee, free, cost))
    margin = (asked - tax - fee - free - cost) / (asked - tax)
    return Sale(taken, paid, given, kept=asked - taken - paid - given - spent, margin=margin)


def _free_share(price: Fraction, shop: Shop) -> Fraction:
    """Return the share of orders that are sent free."""
    start = shop.freight.get("free_above")
    if start is None:
        return Fraction(0)
    return Fraction(1) if price >= shop.amount(start) else share(shop.freight.get("free_share"))


def unit_price(variant: Variant, asked: Fraction, channel: Table, shop: Shop) -> Fraction | None:
    """Return what a unit of the goods costs, rounded once; None where a channel asks for none or the goods are unlike.

    Goods are alike that are of one form, and all sold by weight or all by volume.
    """
    units, forms = channel.get("unit_price"), {item.form for item, _ in variant.pieces}
    signs = {item.net.rpartition(" ")[2] for item, _ in variant.pieces}
    if units is None or len(forms) > 1 or len(signs) > 1 or "" in signs:
        return None
    sizes = {**GRAMS, **MILLILITRES}
    net = sum(measure(item.net, sizes) * quantity for item, quantity in variant.pieces)
    unit = units["volume" if signs == {"ml"} else "weight"]
    number, _, name = unit.rpartition(" ") if unit != "fl oz" else ("", "", unit)
    return shop.rounded(asked * Fraction(number or 1) * sizes[name] / net)


# To shops


def item_wholesale(item: Item, shop: Shop, rule: str | None = None) -> Fraction:
    """Return an item's price to shops, rounded."""
    rule = rule or shop.prices.get("wholesale", "50 %")
    if rule.startswith("margin"):
        return shop.rounded(item.cost / (1 - share(rule.removeprefix("margin "))))
    if rule == "sum of items":
        rule = shop.prices.get("wholesale", "50 %")
    net = before_tax(item.retail, taxed_shares(((item, 1),), shop, None))
    return shop.rounded(share(rule) * net)


def wholesale(variant: Variant, shop: Shop, rule: str | None = None) -> Fraction:
    """Return a variant's price to shops, before tax, rounded."""
    rule = rule or variant.table.get("wholesale") or shop.prices.get("set_wholesale", "50 %")
    if rule == "sum of items":
        items = (quantity * item_wholesale(item, shop) for item, quantity in variant.pieces)
        return shop.rounded(sum(items, packing_cost(variant, shop)))
    if rule.startswith("margin"):
        return shop.rounded(full_cost(variant, shop) / (1 - share(rule.removeprefix("margin "))))
    net = before_tax(price_of(variant, shop), taxed_shares(variant.pieces, shop, None))
    return shop.rounded(share(rule) * net)
