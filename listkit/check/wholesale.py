"""Checks of wholesale: prices against cost, against the shop's share and against each other, and the sheet's dates."""

import datetime
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from itertools import combinations

from listkit.check.alike import counted, listed
from listkit.check.context import CheckContext
from listkit.check.lines import Lines, all_lines
from listkit.check.places import WHOLESALE
from listkit.check.thresholds import WHOLESALE_LEAST, threshold_text
from listkit.compute.catalog import Variant
from listkit.compute.wholesale_prices import Line, price_by
from listkit.listing.listings import Listings
from listkit.model.channel import Channel
from listkit.model.fields import WholesaleRule
from listkit.model.item import Item
from listkit.model.wholesale import Window
from listkit.problem import KeyPath, Level, Place, Problem


def wholesale_thin(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Told once a set, naming the thinnest variant; far too thin must be mended. Nothing without terms for shops."""
    if listings.catalog.shop.wholesale is None:
        return
    wanted = context.thresholds["wholesale-thin"]
    least = min(wanted, WHOLESALE_LEAST)
    for group in all_lines(listings.catalog):
        thin = [line for line in group if line.wholesale < wanted * line.cost]
        if not thin:
            continue
        line = min(thin, key=_times)
        times = _times(line)
        more = f" ({len(thin)} of {len(group)} variants are thin)" if len(thin) > 1 else ""
        message = f"{line.code} goes to shops at {line.wholesale}, {times:.2f} times its full cost{more}."
        hint = f"{wanted.normalize():f} times is usual; another wholesale rule, a higher price, or no line for shops."
        problem = Problem(group.place, "wholesale-thin", message, hint)
        yield replace(problem, own_level=Level.MUST_FIX) if times < least else problem


def _times(line: Line) -> Decimal:
    return line.wholesale / line.cost


def tier_thin(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """A lower price for many is looked at as the price for few is, where it must be mended; told once a tier."""
    terms = listings.catalog.shop.wholesale
    if terms is None:
        return
    least = min(context.thresholds["wholesale-thin"], WHOLESALE_LEAST)
    lines = [line for group in all_lines(listings.catalog) for line in group if line.cost > 0]
    for at, tier in enumerate(terms.tiers):
        prices = {line.code: price_by(line, tier.wholesale) for line in lines}
        line = min(lines, key=lambda one: prices[one.code] / one.cost, default=None)
        if line is not None and (times := prices[line.code] / line.cost) < least:
            price = f"{line.code} goes to shops at {prices[line.code]}, {times:.2f} times its full cost"
            message = f"from {tier.start} on {price}."
            place = Place(WHOLESALE, key=("tier", at, "wholesale"))
            yield Problem(place, "tier-thin", message, "Write a higher share, or take the tier out.")


def tier_twice(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Two lower prices from one quantity on: nobody knows which holds."""
    terms = listings.catalog.shop.wholesale
    tiers = terms.tiers if terms else ()
    for at, tier in enumerate(tiers):
        if any(one.start == tier.start for one in tiers[:at]):
            message = f"two tiers begin at {tier.start}."
            yield Problem(Place(WHOLESALE, key=("tier", at, "from")), "tier-twice", message, "Take one of them out.")


def sheet_stale(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Old prices are claimed from a sheet whose day has passed."""
    terms = listings.catalog.shop.wholesale
    if terms and terms.valid_until and terms.valid_until < context.today:
        message = f"the prices held until {terms.valid_until}."
        hint = "Look the prices through, and write a new issued and valid_until."
        yield Problem(Place(WHOLESALE, key=("valid_until",)), "sheet-stale", message, hint)


def sheet_long(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Prices that hold very long hold when costs have risen."""
    terms, most = listings.catalog.shop.wholesale, int(context.thresholds["sheet-long"])
    if terms and terms.issued and terms.valid_until and (days := (terms.valid_until - terms.issued).days) > most:
        last = terms.issued + datetime.timedelta(most)
        message = f"the prices hold {days} days, more than {most}."
        place = Place(WHOLESALE, key=("valid_until",))
        yield Problem(place, "sheet-long", message, f"With {last} they hold {most}.")


def window_order(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Of a window the first pair of days that is out of order."""
    terms = listings.catalog.shop.wholesale
    if terms is None:
        return
    windows: list[tuple[KeyPath, Window]] = [(("window",), terms.window)]
    windows += [(("group", at, "window"), group.window) for at, group in enumerate(terms.groups) if group.window]
    for key, window in windows:
        days = [(name, day) for name in ("order_by", "ships_from", "ships_until") if (day := getattr(window, name))]
        wrong = [(one, other) for one, other in combinations(days, 2) if one[1] > other[1]]
        for (one, first), (other, second) in wrong[:1]:
            message = f"{one} is {first}, after {other} {second}."
            yield Problem(Place(WHOLESALE, key=(*key, one)), "window-order", message, "Mend one of the days.")


def tier_dearer(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Each tier is compared with the price before it, on every line; told once a tier."""
    terms = listings.catalog.shop.wholesale
    if terms is None or not terms.tiers:
        return
    groups = list(all_lines(listings.catalog))
    tiers = sorted(enumerate(terms.tiers), key=lambda tier: tier[1].start)
    before: WholesaleRule | None = None
    for at, tier in tiers:
        for group in groups:
            rule = before or group.rule
            lines = group.alike if rule.kind == tier.wholesale.kind == "share" else group
            line = next((one for one in lines if price_by(one, tier.wholesale) > price_by(one, rule)), None)
            if line is not None:
                low, high = price_by(line, rule), price_by(line, tier.wholesale)
                message = f"from {tier.start} on {line.code} costs {high}, more than {low} for fewer."
                place = Place(WHOLESALE, key=("tier", at, "wholesale"))
                yield Problem(place, "tier-dearer", message, "Write a lower share, or take the tier out.")
                break
        before = tier.wholesale


def shop_margin_low(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """What a shop keeps of the suggested price before tax; told once where one rule of ours is the cause of all.

    Nothing without terms for shops.
    """
    if listings.catalog.shop.wholesale is None:
        return
    least = context.thresholds["shop-margin-low"]
    told: dict[Place, list[tuple[Lines, Line]]] = defaultdict(list)
    for group in all_lines(listings.catalog):
        low = [line for line in group.alike if line.before_tax and _shop_keeps(line) < least]
        if low:
            told[group.rule_place].append((group, min(low, key=_shop_keeps)))
    for place, lows in told.items():
        line = min((line for _, line in lows), key=_shop_keeps)
        more = f" and {counted(len(lows) - 1, 'other line')}" if len(lows) > 1 else ""
        message = f"a shop keeps {_shop_keeps(line) * 100:.1f} % of {line.code}{more}."
        usual = threshold_text("shop-margin-low", least)
        hint = f"{usual} before tax is usual; lower the wholesale price, or raise the retail one."
        yield Problem(place, "shop-margin-low", message, hint)


def _shop_keeps(line: Line) -> Decimal:
    return 1 - line.wholesale / line.before_tax


def gtin_missing(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Asked for by a feed's own column for GTINs, or by gtins = true in wholesale.toml; told once for each."""
    for channel, own in listings.by_channel():
        column = _gtin_column(channel)
        without = [offer.variant.code for listing in own for offer in listing.offers if not offer.variant.gtin]
        if column is not None and without:
            message = f'the column "{channel.columns[column].heading}" stays empty for {listed(without)}.'
            place = Place(f"channels/{channel.key}.toml", key=("column", column))
            yield Problem(place, "gtin-missing", message, "Write their gtin in set.toml; never make one up.")
    terms = listings.catalog.shop.wholesale
    if terms and terms.gtins and (without := list(_lines_without(listings))):
        message = f"the line sheet asks a GTIN of every line, and {listed(without)} have none."
        yield Problem(Place(WHOLESALE, key=("gtins",)), "gtin-missing", message, "Write them; never make one up.")


def _gtin_column(channel: Channel) -> int | None:
    """Return the place of the column that is for GTINs alone."""
    if "feed" not in channel.make:
        return None
    return next((at for at, column in enumerate(channel.columns) if column.value.strip("{} ") == "gtin"), None)


def _lines_without(listings: Listings) -> Iterator[str]:
    things = [thing for group in all_lines(listings.catalog) for thing in group.things]
    yield from (thing.code for thing in things if isinstance(thing, Item) and not thing.gtin)
    yield from (thing.code for thing in things if isinstance(thing, Variant) and not thing.gtin)
