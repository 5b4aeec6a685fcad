"""All sets in one table, the thinnest first: the price table an owner asks for before anything else."""

import datetime
from decimal import Decimal

from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.compute.sales import sale_on
from listkit.model.fields import Status
from listkit.present.gift_set import in_force
from listkit.present.table import count, percent, weight_text


def thin_first(catalog: Catalog) -> tuple[SetFacts, ...]:
    """Return the sets, those whose wholesale price covers the full cost least first."""
    return tuple(sorted(catalog.sets, key=lambda one: (_cover(_thinnest(one)), one.code)))


def all_rows(catalog: Catalog, today: datetime.date | None = None) -> list[list[str]]:
    """Return a heading and a row a set; what is kept is that of its thinnest variant.

    Prices are those in force on `today` on any channel, the usual ones with None.
    """
    channels = catalog.shop.channels
    heading = ["code", "name", "price", "full cost", "wholesale", "wholesale ÷ cost"]
    for channel in channels:
        heading += [f"kept, {channel.name}", "margin"]
    rows = [[*heading, "gift weight", "can be made"]]
    return rows + [_row(one, catalog, today) for one in thin_first(catalog)]


def fitting_rows(catalog: Catalog, width: int, today: datetime.date | None = None) -> tuple[list[list[str]], int]:
    """Return the table as far as it goes on `width` columns, and how many columns do not; closed sets are marked.

    What each channel leaves goes first, then what goes to shops, the weight and what can be made.
    """
    rows = all_rows(catalog, today)
    closed = {facts.code for facts in catalog.sets if facts.source.gift_set.sold_as is Status.CLOSED}
    for row in rows:
        row[1] += " (closed)" if row[0] in closed else ""
    most = len(rows[0])
    groups = [[at] for at in (0, 1, 2, 3, 5, most - 1, most - 2, 4)] + [[at, at + 1] for at in range(6, most - 2, 2)]
    widths = [max(len(row[at]) for row in rows) for at in range(most)]
    kept: list[int] = []
    for group in groups:
        if len(kept) > 1 and sum(widths[at] + 2 for at in (*kept, *group)) - 2 > width:
            break
        kept += group
    shown = sorted(kept)
    return [[row[at] for at in shown] for row in rows], most - len(shown)


def _row(facts: SetFacts, catalog: Catalog, today: datetime.date | None) -> list[str]:
    thin = _thinnest(facts)
    there = in_force(facts, facts.variants, catalog.shop, today)
    prices = [each.price.amount for variants in there.values() for each in variants]
    row = [
        facts.code,
        facts.name,
        _span(prices or [v.price.amount for v in facts.variants]),
        _span([v.full_cost.amount for v in facts.variants]),
        _span([v.wholesale.amount for v in facts.variants]),
        f"{_cover(thin):.2f}",
    ]
    for channel in catalog.shop.channels:
        sold = next((each for each in there[channel.key] if each.code == thin.code), thin)
        sale = sale_on(channel, sold, facts, catalog.shop)
        row += [str(sale.kept), percent(sale.margin)]
    weights = sorted((v.weights.gift for v in facts.variants), key=lambda weight: weight.grams)
    least, most = (weight_text(weight, catalog.shop.settings.measures) for weight in (weights[0], weights[-1]))
    span = least if weights[0] == weights[-1] else f"{least.removesuffix(' g')}–{most}"
    return [*row, span, count(facts.can_make)]


def _thinnest(facts: SetFacts) -> Variant:
    return min(facts.variants, key=lambda v: (_cover(v), v.code))


def _cover(variant: Variant) -> Decimal:
    return variant.wholesale.amount / variant.exact_cost if variant.exact_cost else Decimal(0)


def _span(amounts: list[Decimal]) -> str:
    return f"{min(amounts)}" if min(amounts) == max(amounts) else f"{min(amounts)}–{max(amounts)}"
