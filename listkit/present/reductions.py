"""What the reductions of a set make of its prices, step by step, and what each channel then leaves."""

import datetime
from typing import Any

from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.compute.reductions import reduced_variants, ruling_on, rulings_of
from listkit.compute.sales import sale_on
from listkit.listing.listings import OnDay
from listkit.model.channel import Channel
from listkit.model.reduction import Reduction
from listkit.model.shop import Shop
from listkit.pipeline import on_day
from listkit.present.table import percent, table
from listkit.units.quantity import share_text
from listkit.units.spoken import Spoken

_UNSOUND = "lowers nothing: listkit check says what is wrong with it"


def reductions_of(facts: SetFacts, catalog: Catalog) -> tuple[Reduction, ...]:
    """Return the reductions that concern a set, its own first."""
    return tuple(one.reduction for one in rulings_of(facts.source, catalog.shop.settings))


def reductions_text(
    facts: SetFacts, variants: tuple[Variant, ...], catalog: Catalog, today: datetime.date
) -> list[str]:
    """Return every reduction that has not ended as lines: the step for each variant, and what may be announced."""
    lines: list[str] = []
    on, problems = on_day(catalog, today)
    for one in reductions_of(facts, catalog):
        if one.until < today:
            continue
        named = [channel for channel in catalog.shop.channels if channel.key in (one.channels or (channel.key,))]
        where = ", ".join(channel.name for channel in named) or "no channel"
        lines += ["", f"{_head(one, catalog.shop.settings.spoken)}, {where}"]
        if not one.sound:
            lines += [f"  {_UNSOUND}"]
            continue
        lowered = reduced_variants(variants, one)
        lines += [f"  {line}".rstrip() for line in _steps(facts, lowered, named, catalog.shop).splitlines()]
        lines += _announced(facts, lowered, named, catalog, on) if one.first <= today else []
    lines += [f"  {one.message} {one.hint}" for one in problems]
    return lines


def _head(reduction: Reduction, spoken: Spoken) -> str:
    how = (
        f"{share_text(reduction.by)} less"
        if reduction.by
        else f"down to {reduction.ending.text}"
        if reduction.ending
        else "reduction"
    )
    name = f"{reduction.name}: " if reduction.name else ""
    return f"{name}{how} from {spoken.day(reduction.first)} until {spoken.day(reduction.until)}"


def _steps(facts: SetFacts, lowered: tuple[Variant, ...], named: list[Channel], shop: Shop) -> str:
    rows = [["", "usual", "reduction", "price", *(f"kept, {one.name}" for one in named), *["margin"] * bool(named)]]
    for each in lowered:
        if each.usual is None:
            rows.append([each.code, str(each.price), "nothing would be left", "", *[""] * (len(rows[0]) - 4)])
            continue
        step, sales = each.prices.steps[-1], [sale_on(one, each, facts, shop) for one in named]
        least = [percent(min(sales, key=lambda sale: sale.exact).margin)] if sales else []
        row = [each.code, str(each.usual_price), str(step.amount), str(step.running)]
        rows.append([*row, *(str(sale.kept) for sale in sales), *least])
    return table(rows)


def _announced(
    facts: SetFacts, lowered: tuple[Variant, ...], named: list[Channel], catalog: Catalog, on: OnDay
) -> list[str]:
    """Return for each channel what the first variant's reduction may be measured against, or why nothing is said."""
    assert on.day is not None
    settings, lines = catalog.shop.settings, []
    known = {(one.channel, one.code): one for one in on.priors}
    for channel in named:
        ruling = ruling_on(rulings_of(facts.source, settings), channel.key, on.day)
        prior = known.get((channel.key, lowered[0].code))
        if ruling is None or prior is None:
            continue
        what = f"announced {prior.reason}" if prior.lowest else f"not announced: {prior.reason}"
        lines.append(f"  {channel.name}, {prior.code}: {what}")
    return [*lines, "  Look up your country's rules before you announce anything."] if lines else []


def reductions_json(facts: SetFacts, variants: tuple[Variant, ...], catalog: Catalog) -> list[dict[str, Any]]:
    """Return every reduction that concerns a set, with the price of each variant; None where nothing would be left."""
    told = []
    for one in reductions_of(facts, catalog):
        lowered = reduced_variants(variants, one) if one.sound else ()
        told.append(
            {
                "name": one.name,
                "from": str(one.first),
                "until": str(one.until),
                "channels": list(one.channels) or [channel.key for channel in catalog.shop.channels],
                "prices": {v.code: str(v.price) if v.usual else None for v in lowered},
            }
        )
    return told
