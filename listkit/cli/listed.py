"""Lists a shop as of a day: its reductions in force, compared with what the ledger knows of the prices before.

The ledger is read only while a reduction is in force; where it cannot be read, that is told, and nothing
is announced.
"""

import datetime
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from listkit.compute.build import build_catalog
from listkit.compute.catalog import Catalog, Variant
from listkit.compute.reductions import InForce, reduced_variants, reductions_in_force
from listkit.ledger.history import PricePoint, channel_prices, lawful_reduction
from listkit.ledger.store import LEDGER
from listkit.listing.build import build_listings
from listkit.listing.listings import Listings, OnDay, PriorPrice
from listkit.model.shop import Shop
from listkit.problem import FieldError, Level, Place, Problem
from listkit.units.money import Money

History = Mapping[str, Sequence[PricePoint]]


def listed(shop: Shop, day: datetime.date) -> tuple[Listings, tuple[Problem, ...]]:
    """Return the listings of a shop as of a day, and what keeps its reductions from being announced."""
    catalog = build_catalog(shop)
    on, problems = on_day(catalog, day)
    return build_listings(catalog, on), problems


def on_day(catalog: Catalog, day: datetime.date) -> tuple[OnDay, tuple[Problem, ...]]:
    """Return the day with what its reductions may be compared with; nothing where the ledger cannot be read."""
    stated = catalog.shop.settings.announcing
    in_force = tuple(reductions_in_force(catalog, day)) if stated.announce else ()
    problems: tuple[Problem, ...] = ()
    try:
        known = {key: _history(catalog.shop.root, key) for key in dict.fromkeys(one.channel for one in in_force)}
    except FieldError as fault:
        problems, known = (ledger_unread(fault),), {}
    priors = tuple(prior for one in in_force for prior in _priors(one, catalog, known.get(one.channel)))
    return OnDay(day, priors, stated.announce, stated.prior_days), problems


def ledger_unread(fault: FieldError) -> Problem:
    """Return the problem of a ledger that cannot be read."""
    return Problem(Place(LEDGER), "ledger-unread", fault.message.removeprefix(f"{LEDGER}: "), fault.hint, Level.LOOK_AT)


def _history(root: Path, channel: str) -> History:
    ledger = root / LEDGER
    return channel_prices(ledger, channel) if ledger.exists() or ledger.is_symlink() else {}


def _priors(one: InForce, catalog: Catalog, history: History | None) -> Iterator[PriorPrice]:
    """Yield what each lowered variant of a set may be compared with on a channel; no history: it cannot be read."""
    settings = catalog.shop.settings
    for lowered in reduced_variants(one.facts.variants, one.ruling.reduction, tax=settings.prices.tax):
        if lowered.usual is not None and history is None:
            yield PriorPrice(one.channel, lowered.code, None, "the ledger cannot be read.")
        elif lowered.usual is not None and history is not None:
            yield _prior(one, lowered, catalog, history.get(lowered.code, ()))


def _prior(one: InForce, lowered: Variant, catalog: Catalog, points: Sequence[PricePoint]) -> PriorPrice:
    stated, currency = catalog.shop.settings.announcing, catalog.shop.settings.currency
    found = lawful_reduction(points, one.began, lowered.price.amount, stated.prior_days, stated.known_days)
    lowest = Money(found.prior, currency) if found.prior is not None and found.share else None
    return PriorPrice(one.channel, lowered.code, lowest, found.reason)
