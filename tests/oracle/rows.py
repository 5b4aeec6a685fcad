"""What a channel's rows state, what a line sheet's lines do, and what an order comes to."""

from collections.abc import Iterator
from fractions import Fraction

from tests.oracle.prices import full_cost, item_wholesale, lowered, price_of, sale, unit_price, wholesale
from tests.oracle.reading import TODAY, Shop, Table, half_up, sides
from tests.oracle.sending import carton_of, fill_share, packed_in, weights
from tests.oracle.stock import can_make, hold_back, most_of_set, stock
from tests.oracle.variants import Variant, variants_of

Figures = dict[str, object]
"""Field = what it says: an amount as text, a measure as a fraction, a count, a word; None for nothing."""


_MANY = 10**9  # more than any count, for what is not counted

# A channel


def shown_price(variant: Variant, channel: Table, shop: Shop) -> Fraction:
    """Return what a channel asks today, lowered where a reduction is in force."""
    price = price_of(variant, shop)
    for each in shop.settings.get("reduction", []):
        if each["from"] <= TODAY <= each["until"] and channel["key"] in each.get("channels", [channel["key"]]):
            return lowered(price, each, shop.digits)
    return price


def offered(table: Table, channel: Table, shop: Shop) -> tuple[Variant, ...]:
    """Return the variants of a set that a channel shows, in their order."""
    every = tuple(variant for variant in variants_of(table, shop) if not variant.closed)
    if channel["sold_out"] == "show":
        return every
    return tuple(variant for variant in every if _left(variant, channel, shop) != 0)


def _left(variant: Variant, channel: Table, shop: Shop) -> int | None:
    return stock(can_make(variant, shop), hold_back(channel, shop))


def channel_rows(channel: Table, shop: Shop) -> Iterator[Figures]:
    """Yield every row of a channel, set by set."""
    for table in shop.sets.values():
        shown = offered(table, channel, shop)
        if not shown:
            continue
        rows = "variant" if channel["feed"] == "json" else channel["rows"]  # feed.json holds variants, and no set's row
        several = any("slot" in entry for entry in table["contents"])
        if rows != "variant":
            yield set_row(table, shown, channel, shop)
        if rows != "listing" and (several or rows == "variant"):
            yield from (variant_row(variant, shown, channel, shop) for variant in shown)


def variant_row(variant: Variant, shown: tuple[Variant, ...], channel: Table, shop: Shop) -> Figures:
    """Return what a variant's own row states."""
    left, asked = _left(variant, channel, shop), shown_price(variant, channel, shop)
    of, sold = weights(variant, shop), sale(variant, channel, shop, asked)
    carton, box = carton_of(variant.table, shop), packed_in(variant.table, shop)
    outside = sides(box["outside"]) if box else (None, None, None)
    parcel = sorted(sides(carton["outside"]), reverse=True) if carton else (None, None, None)
    lowest, highest = _span(shown, channel, shop)
    return {
        "sku": variant.code,
        "inProductGroupWithID": variant.table["code"],
        "price": shop.money(asked),
        "priceCurrency": shop.settings["currency"],
        "lowestPrice": shop.money(lowest),
        "highestPrice": shop.money(highest),
        "includedTax": shop.money(sold.tax),
        "fullCost": shop.money(shop.rounded(full_cost(variant, shop))),
        "kept": shop.money(sold.kept),
        "wholesalePrice": shop.money(wholesale(variant, shop)),
        "suggestedRetail": shop.money(price_of(variant, shop)),
        "availability": "OutOfStock" if left == 0 else "InStock",
        "inStock": left != 0,
        "inventoryLevel": left,
        "canMake": can_make(variant, shop),
        "weight": of.gift,
        "parcelWeight": of.parcel,
        "volumetricWeight": of.volumetric,
        "chargeableWeight": of.chargeable,
        "fillShare": fill_share(variant, shop),
        **dict(zip(("width", "depth", "height"), outside, strict=True)),
        **dict(zip(("parcelLength", "parcelWidth", "parcelHeight"), parcel, strict=True)),
        "pricePerMeasure": unit_price(variant, asked, channel, shop),
        "box": box["code"] if box else None,
        "itemCodes": [item.code for item, _ in variant.pieces],
        "slot": [slot for slot, _, _ in variant.chosen],
    }


def _span(shown: tuple[Variant, ...], channel: Table, shop: Shop) -> tuple[Fraction, Fraction]:
    """Return the lowest and highest price of what can be bought; of all where nothing can."""
    prices = [shown_price(variant, channel, shop) for variant in _buyable(shown, channel, shop)]
    return min(prices), max(prices)


def _buyable(shown: tuple[Variant, ...], channel: Table, shop: Shop) -> tuple[Variant, ...]:
    return tuple(variant for variant in shown if _left(variant, channel, shop) != 0) or shown


def set_row(table: Table, shown: tuple[Variant, ...], channel: Table, shop: Shop) -> Figures:
    """Return a set's own row: the figures of its cheapest variant that can be bought, the stock of all together.

    Of equally cheap ones it is the one of which there is most.
    """
    left = [_left(variant, channel, shop) for variant in shown]
    most = {variant.code: _MANY if count is None else count for variant, count in zip(shown, left, strict=True)}
    cheapest = min(
        _buyable(shown, channel, shop), key=lambda variant: (shown_price(variant, channel, shop), -most[variant.code])
    )
    together = _together(table, left, channel, shop)
    mine = variant_row(cheapest, shown, channel, shop)
    several = any("slot" in entry for entry in table["contents"])
    return {
        **mine,
        "sku": table["code"],
        "inventoryLevel": together,
        "figuresOf": cheapest.code if several else None,
    }


def _together(table: Table, left: list[int | None], channel: Table, shop: Shop) -> int | None:
    """Return the sum over the variants, and no more than their parts make at once."""
    whole = stock(most_of_set(table, shop), hold_back(channel, shop))
    if None in left:
        return None
    total = sum(count or 0 for count in left)
    return total if whole is None else min(total, whole)


# Shops that buy


def wholesale_lines(shop: Shop) -> Iterator[Figures]:
    """Yield every line of the line sheet: each variant of a set, each item."""
    terms = shop.wholesale
    if terms is None:
        return
    tiers = [(int(tier["from"]), tier["wholesale"]) for tier in terms.get("tier", [])]
    packs = terms.get("case_pack", {})
    for code in (code for group in terms["group"] for code in group["lines"]):
        if code in shop.items:
            item = shop.items[code]
            yield {
                "sku": code,
                "wholesalePrice": shop.money(item_wholesale(item, shop)),
                "tiers": [(start, shop.money(item_wholesale(item, shop, rule))) for start, rule in tiers],
                "suggestedRetail": shop.money(item.retail),
                "fullCost": shop.money(item.cost),
                "case": packs.get("items"),
                "weight": half_up(item.weight, 1),
                "line": code,
            }
            continue
        table = shop.sets[code]
        every = tuple(variant for variant in variants_of(table, shop) if not variant.closed)
        for variant in every:
            yield {
                "sku": variant.code,
                "wholesalePrice": shop.money(wholesale(variant, shop)),
                "tiers": [(start, shop.money(wholesale(variant, shop, rule))) for start, rule in tiers],
                "suggestedRetail": shop.money(price_of(variant, shop)),
                "fullCost": shop.money(shop.rounded(full_cost(variant, shop))),
                "case": packs.get("sets"),
                "weight": half_up(weights(variant, shop).gift, 1),
                "displayPrice": _display(every, shop) if table["box"] != "none" else None,
                "line": code,
            }


def _display(every: tuple[Variant, ...], shop: Shop) -> str | None:
    terms = (shop.wholesale or {}).get("display")
    if terms is None:
        return None
    if terms["price"] == "free":
        return shop.money(Fraction(0))
    if terms["price"] == "half":
        return shop.money(shop.rounded(min(wholesale(variant, shop) for variant in every) / 2))
    return shop.money(shop.amount(terms["price"]))


def ordered(quantities: dict[str, int], shop: Shop) -> Figures:
    """Return an order's lines and sums: a tier holds from so many of one line on, all its variants together."""
    lines = {str(line["sku"]): line for line in wholesale_lines(shop)}
    of_line: dict[object, int] = {}
    for code, quantity in quantities.items():
        of_line[lines[code]["line"]] = of_line.get(lines[code]["line"], 0) + quantity
    told = []
    for code, quantity in quantities.items():
        each = str(lines[code]["wholesalePrice"])
        tiers = lines[code]["tiers"]
        assert isinstance(tiers, list)
        for start, price in tiers:
            each = price if of_line[lines[code]["line"]] >= start else each
        told.append((code, quantity, each, shop.money(Fraction(each) * quantity)))
    total = sum((Fraction(total) for _, _, _, total in told), Fraction(0))
    return {"lines": told, "pieces": sum(quantities.values()), "total": shop.money(total)}
