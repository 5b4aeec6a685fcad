"""All sets in one table, the thinnest first: the price table an owner asks for before anything else."""

from decimal import Decimal

from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.compute.sales import sale_on
from listkit.present.table import count, percent, weight_text


def thin_first(catalog: Catalog) -> tuple[SetFacts, ...]:
    """Return the sets, those whose wholesale price covers the full cost least first."""
    return tuple(sorted(catalog.sets, key=lambda one: (_cover(_thinnest(one)), one.code)))


def all_rows(catalog: Catalog) -> list[list[str]]:
    """Return a heading and a row a set; what is kept is that of its thinnest variant."""
    channels = catalog.shop.channels
    heading = ["code", "name", "price", "full cost", "wholesale", "wholesale ÷ cost"]
    for channel in channels:
        heading += [f"kept, {channel.name}", "margin"]
    rows = [[*heading, "gift weight", "can be made"]]
    return rows + [_row(one, catalog) for one in thin_first(catalog)]


def _row(facts: SetFacts, catalog: Catalog) -> list[str]:
    thin = _thinnest(facts)
    row = [
        facts.code,
        facts.name,
        _span([v.price.amount for v in facts.variants]),
        _span([v.full_cost.amount for v in facts.variants]),
        _span([v.wholesale.amount for v in facts.variants]),
        f"{_cover(thin):.2f}",
    ]
    for channel in catalog.shop.channels:
        sale = sale_on(channel, thin, facts, catalog.shop)
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
