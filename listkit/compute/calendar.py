"""The days of a shop's year, from its own files: pouring and ready, pictures, line sheet, seasons, reductions."""

import datetime
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final, Literal, get_args

from listkit.compute.plan import MakePlan
from listkit.compute.working_days import moved
from listkit.model.shop import Shop

DayKind = Literal[
    "buy", "pour", "ready", "photograph", "sheet", "order_by", "ships", "on_sale", "last_post", "prior", "off_sale",
    "take_down",
]  # fmt: skip
KINDS: Final[tuple[DayKind, ...]] = get_args(DayKind)


@dataclass(frozen=True, slots=True)
class YearDay:
    """One day, or a span until another with it: its kind, the code of what it is of, what that is called.

    `number` counts those of one kind and code, from 1; `count` are pieces or batches, as text.
    """

    kind: DayKind
    code: str
    name: str
    day: datetime.date
    until: datetime.date | None = None
    count: str = ""
    number: int = 1


def year_days(shop: Shop, plan: MakePlan, today: datetime.date) -> tuple[YearDay, ...]:
    """Return all days from `today` on, in their order."""
    days = (*_made(plan), *_seasons(shop), *_shops(shop), *_reductions(shop))
    seen: Counter[tuple[str, str]] = Counter()
    numbered = []
    for each in sorted(days, key=lambda day: (day.day, KINDS.index(day.kind), day.code)):
        if (each.until or each.day) >= today:
            seen[each.kind, each.code] += 1
            numbered.append(replace(each, number=seen[each.kind, each.code]))
    return tuple(numbered)


def _made(plan: MakePlan) -> Iterator[YearDay]:
    for make in plan.makes:
        if make.pour_by is not None and not make.late:
            yield YearDay("pour", make.code, make.name, make.pour_by, count=str(make.batches))
            if make.ready_on is not None:
                yield YearDay("ready", make.code, make.name, make.ready_on, count=str(make.pieces))
    for buy in plan.buys:
        if buy.days is not None:
            yield YearDay("buy", buy.name, buy.name, buy.order_by)


def _seasons(shop: Shop) -> Iterator[YearDay]:
    for season in shop.settings.seasons:
        kinds: tuple[tuple[DayKind, datetime.date | None], ...] = (
            ("photograph", season.photograph),
            ("on_sale", season.on_sale),
            ("last_post", season.last_post),
            ("off_sale", season.off_sale),
            ("take_down", season.take_down),
        )
        for kind, day in kinds:
            if day is not None:
                yield YearDay(kind, season.name, season.name, day)


def _shops(shop: Shop) -> Iterator[YearDay]:
    """Yield the days that shops go by: of the line sheet, and of each group with a window of its own."""
    terms = shop.wholesale
    if terms is None:
        return
    if terms.issued is not None:
        yield YearDay("sheet", "wholesale", "", terms.issued)
    windows = [("wholesale", "", terms.window)]
    windows += [(group.title, group.title, group.window) for group in terms.groups if group.window is not None]
    for code, name, window in windows:
        if window.order_by is not None:
            yield YearDay("order_by", code, name, window.order_by)
        if window.ships_from is not None:
            yield YearDay("ships", code, name, window.ships_from, until=window.ships_until)


def _reductions(shop: Shop) -> Iterator[YearDay]:
    """Yield the day from which on prices count as those before a reduction."""
    before = shop.settings.announcing.prior_days
    for at, reduction in enumerate(shop.settings.reductions, 1):
        name = reduction.name or str(at)
        yield YearDay("prior", name, name, moved(reduction.first, -before), count=str(before))
    for folder in shop.sets:
        for at, of_set in enumerate(folder.gift_set.reductions, 1):
            code, name = f"{folder.gift_set.code} {of_set.name or at}", folder.gift_set.name
            yield YearDay("prior", code, name, moved(of_set.first, -before), count=str(before))
