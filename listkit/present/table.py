"""Plain tables on screen: words to the left, numbers to the right, as wide as what stands in them."""

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal

from listkit.compute.catalog import Catalog, Variant
from listkit.listing.offers import sellable
from listkit.model.channel import Channel
from listkit.problem import on_screen
from listkit.units.shown import Measures
from listkit.units.weight import Weight


def table(rows: Sequence[Sequence[str]], *, left: int = 1) -> str:
    """Return rows as aligned lines; the first `left` columns start at the left, the others end at the right."""
    rows = [[on_screen(cell) for cell in row] for row in rows]
    widths = [max(len(row[at]) for row in rows) for at in range(len(rows[0]))]
    return "\n".join(
        "  ".join(
            cell.ljust(width) if at < left else cell.rjust(width)
            for at, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    )


# Figures as they are told: weights, per cent and counts, with a dash for what is not known.

DASH = "–"


def stock_on(channel: Channel, variant: Variant, catalog: Catalog) -> int | None:
    """Return what the channel may publish."""
    return sellable(variant.can_make, channel, catalog, (variant.code,))


def plain_number(exact: Decimal | None) -> int | float | None:
    """Return a JSON number: whole where the exact figure is, None where it is not known."""
    if exact is None:
        return None
    return int(exact) if exact == exact.to_integral_value() else float(exact)


def weight_text(weight: Weight | None, measures: Measures) -> str:
    """Return "507 g" or "1 lb 1.9 oz", to a tenth at most."""
    return DASH if weight is None else measures.weight(weight, rounded=True)


def percent(share: Decimal | None) -> str:
    """Return "36 %", whole, half up."""
    return DASH if share is None else f"{(share * 100).quantize(Decimal(1), ROUND_HALF_UP)} %"


def count(number: int | None) -> str:
    """Return the number, or that nobody counts."""
    return "not counted" if number is None else str(number)
