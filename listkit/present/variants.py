"""The variants of a set side by side, a column each: what is in force first, then how it comes about, and weights.

One variant alone is told step by step by `present/gift_set.py`. Pure text; the width is an argument.
"""

import datetime
from collections.abc import Callable, Iterator, Sequence
from textwrap import wrap
from typing import Final

from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.compute.reductions import on_channel
from listkit.compute.sales import sale_on
from listkit.model.shop import Shop
from listkit.present.sending import sending_rows
from listkit.present.table import DASH, count, percent, stock_on, table, weight_text

Rows = list[list[str]]
_CHOICE: Final = 18  # letters of what is chosen, on one line


def in_force(
    facts: SetFacts, variants: tuple[Variant, ...], shop: Shop, today: datetime.date | None
) -> dict[str, tuple[Variant, ...]]:
    """Return by channel the variants as they cost there on a day; with None as usual."""
    wanted = {variant.code for variant in variants}
    on_day = {channel.key: on_channel(facts, shop.settings, channel.key, today)[1] for channel in shop.channels}
    return {key: tuple(variant for variant in there if variant.code in wanted) for key, there in on_day.items()}


def variants_text(
    facts: SetFacts, variants: tuple[Variant, ...], catalog: Catalog, *, today: datetime.date | None, width: int
) -> str:
    """Return the variants as one table, in parts below each other where they do not go on `width` columns."""
    rows = _rows(facts, variants, catalog, today)
    label = max(len(row[0]) for row in rows)
    parts: list[list[int]] = [[]]
    room = width - label
    for at in range(1, len(rows[0])):
        needs = 2 + max(len(row[at]) for row in rows)
        if needs > room and parts[-1]:
            parts.append([])
            room = width - label
        parts[-1].append(at)
        room -= needs
    return "\n\n".join(table([[row[0], *(row[at] for at in part)] for row in rows]) for part in parts)


def _rows(facts: SetFacts, variants: tuple[Variant, ...], catalog: Catalog, today: datetime.date | None) -> Rows:
    measures, channels = catalog.shop.settings.measures, catalog.shop.channels

    def of_each(label: str, cell: Callable[[Variant], str]) -> list[str]:
        return [label, *map(cell, variants)]

    stock = [(channel.name, [count(stock_on(channel, each, catalog)) for each in variants]) for channel in channels]
    return [
        of_each("", lambda variant: variant.code),
        *_choices(variants),
        *_prices(facts, variants, catalog, today),
        of_each("gift weight", lambda variant: weight_text(variant.weights.gift, measures)),
        of_each("parcel weight", lambda variant: weight_text(variant.weights.parcel, measures)),
        of_each("weight by volume", lambda variant: weight_text(variant.weights.volumetric, measures)),
        of_each("chargeable weight", lambda variant: weight_text(variant.weights.chargeable, measures)),
        *sending_rows(variants, catalog),
        *([of_each("box", lambda variant: variant.box.code if variant.box else DASH)] if len(facts.boxes) > 1 else []),
        of_each("box filled", lambda variant: percent(variant.fill_share)),
        of_each("GTIN", lambda variant: variant.gtin or DASH),
        of_each("can be made", lambda variant: count(variant.can_make)),
        *_alike("stock", stock),
    ]


def _choices(variants: tuple[Variant, ...]) -> Iterator[list[str]]:
    """Yield what is chosen of each slot, in as many lines as the longest takes."""
    for choices in zip(*(variant.choices for variant in variants), strict=True):
        lines = [wrap(choice.says, _CHOICE) for choice in choices]
        for at in range(max(map(len, lines))):
            yield ["" if at else choices[0].slot, *(said[at] if at < len(said) else "" for said in lines)]


def _prices(facts: SetFacts, variants: tuple[Variant, ...], catalog: Catalog, today: datetime.date | None) -> Rows:
    """Return the prices in force, how the usual ones come about, and what each channel leaves."""
    shop = catalog.shop
    there = in_force(facts, variants, shop, today)
    sold = [(channel.name, [str(each.price) for each in there[channel.key]]) for channel in shop.channels]
    usual = [str(each.price) for each in variants]
    rows = list(_alike("sold at", sold)) or [["sold at", *usual]]
    if any(prices != usual for _, prices in sold):
        rows.append(["usual price", *usual])
    steps = [{step.label: str(step.amount) for step in variant.prices.steps} for variant in variants]
    labels = dict.fromkeys(label for amounts in steps for label in amounts)
    rows += [[f"  {label}", *(amounts.get(label, "") for amounts in steps)] for label in labels]
    rows.append(["full cost", *(str(variant.full_cost) for variant in variants)])
    for channel in shop.channels:
        sales = [sale_on(channel, variant, facts, shop) for variant in there[channel.key]]
        rows.append([f"kept, {channel.name}", *(f"{sale.kept}  {percent(sale.margin):>4}" for sale in sales)])
    rows.append(["wholesale, before tax", *(str(variant.wholesale) for variant in variants)])
    return rows


def _alike(label: str, by_name: Sequence[tuple[str, list[str]]]) -> Iterator[list[str]]:
    """Yield one row where all channels say the same, else a row a channel."""
    cells = [row for _, row in by_name]
    if cells and all(row == cells[0] for row in cells):
        yield [label, *cells[0]]
    else:
        yield from ([f"{label}, {name}", *row] for name, row in by_name)
