"""What goes off where once a season is over: feeds, the line sheet, shops to tell, and what replaces each code."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

from listkit.actions.order_book import OrderLog
from listkit.compute.catalog import Catalog, SetFacts
from listkit.compute.season_end import year_around
from listkit.compute.seasons import Phase, base_name
from listkit.compute.wholesale import build_sheet
from listkit.ledger.orders import OrderState
from listkit.ledger.store import LEDGER, standing
from listkit.listing.listings import Listing
from listkit.listing.offers import is_left_out
from listkit.model.channel import Channel
from listkit.model.fields import SetStatus, Status
from listkit.model.settings import Season
from listkit.pipeline import WHOLESALE, sheet_history
from listkit.units.spoken import Spoken


@dataclass(frozen=True, slots=True)
class Leaving:
    """A line of the list to send: what to do where, and the codes that it is about."""

    place: str
    what: str
    codes: tuple[str, ...]


def leaving(
    catalog: Catalog, facts: Sequence[SetFacts], season: Season, listings: Sequence[Listing], log: OrderLog
) -> Iterator[Leaving]:
    """Yield what to send to whom once a season is over; `listings` are of its last day."""
    shop, codes = catalog.shop, {variant.code for each in facts for variant in each.variants}
    ledger = shop.root / LEDGER
    for channel in shop.channels:
        known = standing(ledger, channel.key, "rows") if ledger.exists() else {}
        recorded = [shop.old_codes(code) for code in known if shop.old_codes(code) in codes]
        shown = [offer.variant.code for each in listings if each.channel == channel for offer in each.offers]
        if recorded or (shown and channel.make):
            what = _of_feed(channel, season, catalog.shop.settings.spoken, recorded=bool(recorded))
            yield Leaving(channel.name, what, tuple(dict.fromkeys(recorded or shown)))
    sheet_line = _of_sheet(catalog, facts, season)
    yield from sheet_line
    told = tuple(_who_ordered(catalog, tuple(each.code for each in facts), season, log))
    yield from told
    if sheet_line and not told and shop.stockists:
        names = ", ".join(each.name for each in shop.stockists)
        yield Leaving("Stockists", f"none ordered these; tell all who have the sheet: {names}", ())


def _of_feed(channel: Channel, season: Season, spoken: Spoken, *, recorded: bool) -> str:
    """Return what becomes of a channel's files when they are built after the season."""
    file = f"{channel.key}/feed.{channel.feed}" if "feed" in channel.make else f"what is in {channel.key}/"
    last = spoken.day(season.off_sale + timedelta(1))
    if is_left_out(channel, Phase.OVER):
        what = f"build on {last} or later and send {file}: it is without these"
    else:
        what = f"build on {last} or later and send {file}: it has these as sold out"
        what += f' (after = "leave out" in channels/{channel.key}.toml takes them out)'
    return f"{what}; your last record has them" if recorded else what


def _of_sheet(catalog: Catalog, facts: Sequence[SetFacts], season: Season) -> tuple[Leaving, ...]:
    """Return the line of the line sheet: of what it has, or the last one given out that is valid after the season."""
    sheet, ledger = build_sheet(replace(catalog, sets=tuple(facts))), catalog.shop.root / LEDGER
    codes = tuple(entry.code for group in sheet.groups for entry in group.entries if entry.is_set) if sheet else ()
    what = "withdrawn: take these out of wholesale.toml, build, listkit record wholesale"
    versions = sheet_history(catalog).given_out
    given = [each for each in versions if each.valid_until is None or each.valid_until >= season.off_sale]
    if given and not codes:
        rows = {catalog.shop.old_codes(code) for code in standing(ledger, WHOLESALE, "rows")}
        codes = tuple(each.code for each in facts if any(variant.code in rows for variant in each.variants))
        what = "withdrawn: wholesale.toml is without these already; build, listkit record wholesale"
    if given:
        last = given[-1].valid_until
        until = f"is valid until {catalog.shop.settings.spoken.day(last)}" if last else "has no last day"
        what += f"; {given[-1].version}, which shops have, {until}"
    return (Leaving("Line sheet", what, codes),) if codes else ()


def _who_ordered(catalog: Catalog, codes: tuple[str, ...], season: Season, log: OrderLog) -> Iterator[Leaving]:
    """Yield which shops ordered of a season's sets in its year."""
    first, last = year_around(season)
    bought: dict[str, list[str]] = {}
    for order, buyer in log.orders:
        lines = [catalog.shop.old_codes(str(line["code"])) for line in order.facts["lines"]]
        sets = [code for code in codes if any(line == code or line.startswith(f"{code}-") for line in lines)]
        if sets and first <= order.day <= last and order.state is not OrderState.CANCELLED:
            bought.setdefault(buyer.name or buyer.code, []).extend(sets)
    for name, sets in sorted(bought.items()):
        yield Leaving(name, "ordered these: tell them the last day, and what comes next", tuple(dict.fromkeys(sets)))


def replaced(facts: Sequence[SetFacts], catalog: Catalog, season: Season) -> Iterator[tuple[str, str]]:
    """Yield each code that goes with what comes instead: next year's set, else the nearest, else "" for the shop."""
    rest = [each for each in catalog.sets if each.source.gift_set.sold_as is not Status.CLOSED and each not in facts]
    later = [each for each in rest if each.season is None or each.season.off_sale > season.off_sale]
    for each in facts:
        again = [of for of in later if base_name(of.name) == base_name(each.name)]
        shared = {of.code: len({*of.source.gift_set.item_codes} & {*each.source.gift_set.item_codes}) for of in later}
        there_to_buy = [of for of in later if of.source.gift_set.status is not SetStatus.DRAFT]
        near = max(there_to_buy, key=lambda of: (shared[of.code], of.code), default=None)
        instead = again[0] if again else near if near is not None and shared[near.code] else None
        there = (
            {variant.code.removeprefix(instead.code): variant.code for variant in instead.variants}
            if again and instead
            else {}
        )
        for variant in each.variants:
            code = there.get(variant.code.removeprefix(each.code), instead.code if instead else "")
            yield variant.code, code
