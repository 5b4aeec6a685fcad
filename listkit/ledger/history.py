"""Every price that a variant had, where and when; and what a reduction may lawfully be measured against.

Only recalled, never certified: which days count, and how perishable or new goods or steps downwards are
treated, differs from country to country. Check the local rules before announcing a reduction.
"""

import datetime
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_DOWN, Decimal
from pathlib import Path
from typing import Final

from listkit.ledger.changes import amount_of
from listkit.ledger.ledger import Record, facts_of, lines_of
from listkit.ledger.opening import WAIT

PRIOR_DAYS: Final = 30  # Directive 98/6/EC, Art. 6a(2), as amended by Directive (EU) 2019/2161
RETAIL: Final = "retail price"
"""Stands for a channel beside the price of an item, which no channel shows by itself; no channel's key has a space."""
_SHARE_STEP: Final = Decimal("0.0001")


@dataclass(frozen=True, slots=True)
class PricePoint:
    """From this day on the price stood on the channel; None: it was taken down."""

    channel: str
    day: datetime.date
    price: Decimal | None
    at: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Reduction:
    """What may be announced: the lowest prior price, and the share by which the new one lies below it, rounded down.

    `share` is 0 where no reduction may be announced; `reason` says why, or what was compared.
    """

    prior: Decimal | None
    share: Decimal
    reason: str


def price_history(path: Path, code: str, *, wait: float = WAIT) -> tuple[PricePoint, ...]:
    """Return every price recorded of a variant or line for shops, and of an item its retail price, oldest first.

    Raises:
        FieldError: the ledger cannot be used.
    """
    rows = lines_of(path, code, "rows", wait=wait)
    shown = [(record, _first(line, ("price", "wholesalePrice"))) for record, line in rows]
    items = lines_of(path, code, "items", wait=wait)  # with every channel that sells it in a set
    retail = [
        (replace(record, channel=RETAIL), _first(line, ("retail",))) for record, line in items if line is not None
    ]
    return (*_steps(shown), *_steps(retail))


def channel_prices(path: Path, channel: str, *, wait: float = WAIT) -> Mapping[str, tuple[PricePoint, ...]]:
    """Return every price that was recorded on a channel, by code, oldest first; none without a ledger.

    Raises:
        FieldError: the ledger cannot be used.
    """
    found: dict[str, list[tuple[Record, Decimal | None]]] = {}
    for record, code, price in facts_of(path, channel, "rows", "price", wait=wait):
        found.setdefault(code, []).append((record, None if price is None else amount_of(price)))
    return {code: _steps(prices) for code, prices in found.items()}


def _first(line: str | None, facts: tuple[str, ...]) -> Decimal | None:
    """Return the first of these amounts that the line has: a line for shops has no price to the public."""
    known = json.loads(line) if line is not None else {}
    return next((amount_of(known[fact]) for fact in facts if fact in known), None)


def _steps(prices: Sequence[tuple[Record, Decimal | None]]) -> tuple[PricePoint, ...]:
    """Return a point wherever the price on a channel is not what it was there."""
    standing: dict[str, Decimal | None] = {}
    points = []
    for record, price in prices:
        if standing.get(record.channel) != price:
            points.append(PricePoint(record.channel, record.day, price, record.at, record.note))
        standing[record.channel] = price
    return tuple(points)


def lowest_prior(history: Sequence[PricePoint], day: datetime.date, days: int = PRIOR_DAYS) -> Decimal | None:
    """Return the lowest price of the `days` days before `day`, None where none is known.

    A price counts on the day that it was set and still on the day that another took its place; a price set on `day`
    itself does not count. Channels are taken together.
    """
    first = day - datetime.timedelta(days)
    lowest: Decimal | None = None
    for channel in {point.channel for point in history}:
        own = sorted((point for point in history if point.channel == channel), key=lambda point: point.day)
        for at, point in enumerate(own):
            until = own[at + 1].day if at + 1 < len(own) else datetime.date.max
            if point.price is not None and point.day < day and until >= first:
                lowest = point.price if lowest is None else min(lowest, point.price)
    return lowest


def lawful_reduction(
    history: Sequence[PricePoint], day: datetime.date, price: Decimal, days: int = PRIOR_DAYS, known: int | None = None
) -> Reduction:
    """Return what may be announced of a price that begins on `day`.

    The prior price is the lowest of at least the 30 days before, and the share is worked out on it alone (Directive
    98/6/EC, Art. 6a; Commission notice 2021/C 526/02; CJEU C-330/23). Goods that were not on sale for so long, and
    steps downwards without a break, have rules of their own in some countries: then pass what holds there. `known` are
    the days for which prices must be on record, `days` unless a country has a rule for new goods.
    """
    known = days if known is None else known
    prior = lowest_prior(history, day, days)
    if prior is None:
        return Reduction(None, Decimal(0), f"no price of the {days} days before is known.")
    since = min(point.day for point in history if point.price is not None)
    if since > day - datetime.timedelta(known):
        return Reduction(prior, Decimal(0), f"prices are known since {since} only, not for {known} days.")
    if price >= prior:
        return Reduction(prior, Decimal(0), f"{price} is not below {prior}, the lowest of the {days} days before.")
    share = ((prior - price) / prior).quantize(_SHARE_STEP, ROUND_DOWN)
    return Reduction(prior, share, f"against {prior}, the lowest of the {days} days before.")
