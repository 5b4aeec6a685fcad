"""One set on screen: the price step by step, what each channel leaves, the weights."""

from listkit.cli.boxes import boxes_text, larger_text, layout_text
from listkit.cli.figures import DASH, count, fee_of, grams, kept_by, percent, stock_on
from listkit.cli.made_with import made_with_text
from listkit.cli.sending import cases_text, sending_text
from listkit.cli.table import table
from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.compute.prices import margin
from listkit.units.money import Money


def set_text(found: SetFacts, variants: tuple[Variant, ...], catalog: Catalog) -> str:
    """Return the set with these of its variants as lines."""
    box = f"box {found.box.code}" if found.box else "no box"
    currency = catalog.shop.settings.currency
    lines = [f"{found.code} {found.name} · {box} · {count(found.can_make)} can be made · amounts in {currency}"]
    for one in variants:
        chosen = ", ".join(f"{choice.slot}: {choice.says}" for choice in one.choices)
        lines += ["", f"{one.code}  {chosen}".rstrip(), _indented(_price_table(one, catalog)), ""]
        lines += [_indented(_weight_table(one))]
        if sending := sending_text(found, one, catalog):
            lines += [_indented(sending)]
        if made := made_with_text(one, catalog.shop):
            lines += [_indented(made)]
    for told in (boxes_text, larger_text, layout_text, cases_text):
        if text := told(found, variants, catalog):
            lines += ["", _indented(text)]
    return "\n".join(lines)


def _price_table(one: Variant, catalog: Catalog) -> str:
    channels = catalog.shop.channels
    rows = [["", "", "price", *(channel.name for channel in channels)]]
    blank = [""] * len(channels)
    rows += [[step.label, str(step.amount), str(step.running), *blank] for step in one.prices.steps]
    whole = [str(one.price)] * len(channels)
    rows += [
        ["sold at", "", str(one.price), *whole],
        ["included tax", "", *([_less(one.prices.tax)] * (1 + len(channels)))],
        ["fee", "", "", *(_less(fee_of(channel, one)) for channel in channels)],
        ["full cost", "", *([_less(one.full_cost)] * (1 + len(channels)))],
    ]
    left = [kept_by(channel, one) for channel in channels]
    rows += [
        ["kept", "", "", *(str(money) for money in left)],
        ["margin", "", "", *(percent(margin(money, one.prices.before_tax)) for money in left)],
        ["stock", "", "", *(count(stock_on(channel, one, catalog)) for channel in channels)],
    ]
    return table(rows)


def _less(money: Money) -> str:
    """Return what goes off; nothing at all without a sign."""
    return f"-{money}" if money.amount else str(money)


def _weight_table(one: Variant) -> str:
    weights = one.weights
    return table(
        [
            ["wholesale, before tax", str(one.wholesale)],
            ["gift weight", grams(weights.gift)],
            ["parcel weight", grams(weights.parcel)],
            ["weight by volume", grams(weights.volumetric)],
            ["chargeable weight", grams(weights.chargeable)],
            ["box filled", percent(one.fill_share)],
            ["GTIN", one.gtin or DASH],
            ["can be made", count(one.can_make)],
        ]
    )


def _indented(text: str) -> str:
    return "\n".join(f"  {line}".rstrip() for line in text.splitlines())
