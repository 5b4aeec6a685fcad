"""Checks of wholesale: prices against cost, against the shop's share and against each other, and the sheet's dates."""

import datetime
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import combinations, islice
from typing import Final

from listkit.check.alike import counted, listed
from listkit.check.codes import only_piece
from listkit.check.places import (
    SHOP,
    WHOLESALE,
    CheckContext,
    item_place,
    line_codes,
    offered,
    offered_variants,
    set_place,
)
from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.compute.wholesale import (
    GivenOut,
    Line,
    SheetEntry,
    SheetHistory,
    SheetLine,
    build_sheet,
    line_of,
    moves_since,
    price_by,
)
from listkit.listing.listings import Listing, Listings
from listkit.model.channel import Channel
from listkit.model.fields import WholesaleRule
from listkit.model.item import Item
from listkit.model.settings import Prices
from listkit.model.wholesale import Stockist, Window
from listkit.problem import KeyPath, Level, Place, Problem
from listkit.units.money import Money
from listkit.units.share import share_text

# Lines: what shops may order, with the figures that wholesale prices are held against.

LEAST_TIMES_COST: Final = Decimal("1.2")
"""Times the full cost below which a wholesale price must be mended; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Lines:
    """The variants of one set, or one item: the rule of their wholesale prices, where it stands, where to mend them."""

    things: tuple[Variant | Item, ...]
    rule: WholesaleRule
    rule_place: Place
    place: Place
    prices: Prices

    def __iter__(self) -> Iterator[Line]:
        return (line_of(thing, self.prices) for thing in self.things)

    def __len__(self) -> int:
        return len(self.things)

    @property
    def alike(self) -> tuple[Line, ...]:
        """Lines that stand for all: where the rule is a share of the price, any one does."""
        return tuple(islice(self, 1)) if self.rule.kind == "share" else tuple(self)


def all_lines(catalog: Catalog) -> Iterator[Lines]:
    """Yield the lines of wholesale.toml, those of one set together; without its groups all sets that are offered."""
    if catalog.shop.wholesale is None or not catalog.shop.wholesale.groups:
        yield from (_set_lines(catalog, facts) for facts in offered(catalog))
        return
    sets = {facts.code: facts for facts in catalog.sets}
    items = {item.code: item for item in catalog.shop.items}
    for code in line_codes(catalog):
        if code in sets:
            yield _set_lines(catalog, sets[code])
        elif code in items:
            yield _item_line(catalog, items[code])


def _set_lines(catalog: Catalog, facts: SetFacts) -> Lines:
    prices, own = catalog.shop.settings.prices, facts.source.gift_set.wholesale
    rule = own or prices.set_wholesale
    place = set_place(facts, "wholesale")
    by_shop = own is None and rule.kind == "share"
    rule_place = Place(SHOP, key=("prices", "set_wholesale")) if by_shop else place
    return Lines(tuple(offered_variants(facts)), rule, rule_place, place, prices)


def _item_line(catalog: Catalog, item: Item) -> Lines:
    prices = catalog.shop.settings.prices
    rule = WholesaleRule("share", prices.wholesale)
    rule_place = Place(SHOP, key=("prices", "wholesale"))
    return Lines((item,), rule, rule_place, item_place(catalog.shop, item, "retail"), prices)


def wholesale_thin(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Told once a set, naming the thinnest variant; far too thin must be mended. Nothing without terms for shops."""
    if listings.catalog.shop.wholesale is None:
        return
    wanted = context.figures["wholesale-thin"]
    least = min(wanted, LEAST_TIMES_COST)
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
    least = min(context.figures["wholesale-thin"], LEAST_TIMES_COST)
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
    terms, most = listings.catalog.shop.wholesale, int(context.figures["sheet-long"])
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
    least = context.figures["shop-margin-low"]
    told: dict[Place, list[tuple[Lines, Line]]] = defaultdict(list)
    for group in all_lines(listings.catalog):
        low = [line for line in group.alike if line.before_tax and _shop_keeps(line) < least]
        if low:
            told[group.rule_place].append((group, min(low, key=_shop_keeps)))
    for place, lows in told.items():
        line = min((line for _, line in lows), key=_shop_keeps)
        more = f" and {counted(len(lows) - 1, 'other line')}" if len(lows) > 1 else ""
        message = f"a shop keeps {_shop_keeps(line) * 100:.1f} % of {line.code}{more}."
        usual = share_text(least)
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


# Checks of line sheets in other hands: who holds a stale one, and what the sheet says that is no longer so.

STOCKISTS = "stockists.csv"


def stockist_stale(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Told once a version that somebody holds and that no longer counts, naming all who hold it."""
    history = context.sheets
    held: dict[str, list[Stockist]] = defaultdict(list)
    for stockist in listings.catalog.shop.stockists:
        if (version := version_of(stockist.sheet)) and version != history.current:
            held[version].append(stockist)
    for version, holders in held.items() if history.current else ():
        one = history.find(version)
        if one is not None and _stands(one, history, context):
            continue
        place = Place(STOCKISTS, row=holders[0].code, column="sheet")
        who = f"{listed([one.name for one in holders])} {'holds' if len(holders) == 1 else 'hold'} {version}"
        hint = f"Send {history.current}, the one of today, and write that here."
        yield Problem(place, "stockist-stale", f"{who}, {_why(one, history)}.", hint)


def version_of(text: str) -> str:
    """Return the version code in a cell, which may hold the sheet's whole name."""
    return text.strip().upper().removesuffix(".PDF").rpartition("-")[2].strip()


def _stands(one: GivenOut, history: SheetHistory, context: CheckContext) -> bool:
    """Whether a sheet still counts: the last that was given out, its prices not ended, while a newer one is made."""
    ended = one.valid_until is not None and one.valid_until < context.today
    return not ended and one.version == history.given_out[-1].version


def _why(one: GivenOut | None, history: SheetHistory) -> str:
    if one is None:
        return "which is no version that was recorded"
    if one.version == history.given_out[-1].version:
        return f"whose prices held until {one.valid_until}"
    return f"recorded on {one.recorded}, which {history.given_out[-1].version} replaced"


def sheet_older(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Two sheets of one day that name unlike prices cannot be told apart by those who hold them."""
    sheet, previous = build_sheet(listings.catalog), context.sheets.previous
    if sheet is None or previous is None or previous.issued is None or sheet.terms.issued is None:
        return
    moved = [move for move in moves_since(sheet, previous) if move.old is not None]
    if moved and sheet.terms.issued <= previous.issued:
        first = moved[0]
        more = f", and {counted(len(moved) - 1, 'other price')} moved" if len(moved) > 1 else ""
        was = f"{first.code} was {first.old} and is {first.new} now{more}"
        message = f"the sheet is of {sheet.terms.issued}, older than its prices: on {previous.version} {was}."
        later = max(context.today, previous.issued + datetime.timedelta(1))
        hint = f"Write the day of the new one: issued = {later}."
        yield Problem(Place(WHOLESALE, key=("issued",)), "sheet-older", message, hint)


def arrival_short(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Told once an item that a line of the sheet is or holds; what is past its time when it is sent must be mended.

    What is short-lived for anybody is told as such, and not once more.
    """
    anyway = context.figures["shelf-life-short"]
    sheet, least = build_sheet(listings.catalog), int(context.figures["arrival-short"])
    if sheet is None:
        return
    shop, oldest = listings.catalog.shop, sheet.terms.oldest or 0
    pieces = {piece.item.code: piece.item for line in sheet.lines for piece in line.pieces}
    for item in pieces.values():
        if item.shelf_life is None or item.shelf_life - oldest >= least:
            continue
        left = max(0, item.shelf_life - oldest)
        if left and item.shelf_life < anyway:
            continue
        age = f", being up to {counted(oldest, 'month')} old" if oldest else ""
        message = f"{item.code} keeps {counted(left, 'month')} when it reaches a shop{age}; {least} are usual."
        hint = "Send it fresher and say so (oldest in wholesale.toml), or take it off the sheet."
        problem = Problem(item_place(shop, item, "shelf_life"), "arrival-short", message, hint)
        yield replace(problem, own_level=Level.MUST_FIX) if not left else problem


def retail_unlike(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Our own usual prices alone are looked at: what a shop asks is the shop's to say. Told once a line.

    A reduction is told to stockists by its own check.
    """
    sheet = build_sheet(listings.catalog)
    if sheet is None:
        return
    lines = {line.code: (entry, line) for entry in sheet.entries for line in entry.lines}
    told: set[str] = set()
    for listing in listings:
        for code, price in _public(listing) if listing.country == listings.catalog.shop.settings.country else ():
            entry, line = lines.get(code, (None, None))
            if entry is None or line is None or price == line.retail or code in told or _other(entry, listing):
                continue
            told.add(code)
            yield _unlike(listings, listing, entry, (line, price))


def _other(entry: SheetEntry, listing: Listing) -> bool:
    """Whether a set of another folder has the same code, which is told elsewhere."""
    return entry.facts is not None and entry.facts.source.folder != listing.folder


def _public(listing: Listing) -> Iterator[tuple[str, Money]]:
    """Yield what each variant usually costs, and each item that a variant alone is."""
    for offer in listing.offers:
        yield offer.variant.code, offer.usual_price
        if (item := only_piece(listing.facts, offer.variant)) is not None:
            yield item.code, offer.usual_price


def _unlike(listings: Listings, listing: Listing, entry: SheetEntry, priced: tuple[SheetLine, Money]) -> Problem:
    line, price = priced
    message = f"the line sheet suggests {line.retail} for {line.code}, and {listing.channel.name} asks {price}."
    hint = "Buyers compare: let both say one price, or take the line off the sheet."
    item: Item | None = entry.item
    place = item_place(listings.catalog.shop, item, "retail") if item else set_place(listing.facts, "code")
    return Problem(place, "retail-unlike", message, hint)
