"""Checks of wholesale: prices against cost, against the shop's share and against each other, and the sheet's dates."""

import datetime
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import combinations, islice
from typing import Final

from listkit.check.alike import listed
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
from listkit.compute.given_out import moves_since
from listkit.compute.wholesale import Line, held_in, line_of, price_by, things_of
from listkit.listing.listings import Listing, Listings
from listkit.listing.papers import papers_of
from listkit.listing.photos import LEAD_RATIO, LEAD_WIDTH
from listkit.model.channel import Channel
from listkit.model.fields import WholesaleRule
from listkit.model.item import Item
from listkit.model.settings import Prices, Season
from listkit.model.wholesale import ANY_TIME, AS_ORDERED, Stockist, Window
from listkit.problem import KeyPath, Level, Place, Problem, times
from listkit.units.money import Money
from listkit.units.quantity import share_text

# Lines: what shops may order, with the figures that wholesale prices are compared with.

LEAST_TIMES_COST: Final = Decimal("1.2")
"""Times the full cost below which a wholesale price must be mended; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Lines:
    """The variants of one set, or one item: the rule of their wholesale prices, where it is, where to mend them."""

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
        """Lines that are enough to look at: where the rule is a share of the price, any one of them is."""
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
            prices, item = catalog.shop.settings.prices, items[code]
            rule, rule_place = WholesaleRule("share", prices.wholesale), Place(SHOP, key=("prices", "wholesale"))
            yield Lines((item,), rule, rule_place, item_place(catalog.shop, item, "retail"), prices)


def _set_lines(catalog: Catalog, facts: SetFacts) -> Lines:
    prices, stated = catalog.shop.settings.prices, facts.source.gift_set.wholesale
    rule = stated or prices.set_wholesale
    place = set_place(facts, "wholesale")
    by_shop = stated is None and rule.kind == "share"
    rule_place = Place(SHOP, key=("prices", "set_wholesale")) if by_shop else place
    return Lines(tuple(offered_variants(facts)), rule, rule_place, place, prices)


def wholesale_thin(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Told once a set, naming the thinnest variant; far too thin must be mended. Without terms for all sets."""
    wanted = context.figures["wholesale-thin"]
    least = min(wanted, LEAST_TIMES_COST)
    for group in all_lines(listings.catalog):
        thin = [line for line in group if line.wholesale < wanted * line.cost]
        if not thin:
            continue
        line = min(thin, key=_times)
        times = _times(line)
        more = f" ({len(thin)} of {len(group)} variants are thin)" if len(thin) > 1 else ""
        price = listings.catalog.shop.settings.spoken.money(line.wholesale)
        message = f"{line.code} goes to shops at {price}, {times:.2f} times its full cost{more}."
        usual = f"{wanted.normalize():f} times is usual"
        hint = f"{usual}: write another wholesale rule or a higher price, or take it off the line sheet."
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
    thin: dict[str, list[Line]] = {}  # by the kind of rule; no price of a rule falls as its share grows
    found: dict[int, Problem] = {}
    for at, tier in sorted(enumerate(terms.tiers), key=lambda tier: tier[1].wholesale.share):
        kind = tier.wholesale.kind
        priced = [(line, price_by(line, tier.wholesale)) for line in thin.get(kind, lines)]
        priced = [(line, price) for line, price in priced if price / line.cost < least]
        thin[kind] = [line for line, _ in priced]
        if priced:
            line, lowest = min(priced, key=lambda each: each[1] / each[0].cost)
            price = listings.catalog.shop.settings.spoken.money(lowest)
            times = lowest / line.cost
            message = f"from {tier.start} on {line.code} goes to shops at {price}, {times:.2f} times its full cost."
            place = Place(WHOLESALE, key=("tier", at, "wholesale"))
            found[at] = Problem(place, "tier-thin", message, "Write a higher share, or take the tier out.")
    yield from (found[at] for at in sorted(found))


def tier_twice(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Two lower prices from one quantity on: nobody knows which holds."""
    terms = listings.catalog.shop.wholesale
    tiers = terms.tiers if terms else ()
    for at, tier in enumerate(tiers):
        if any(earlier.start == tier.start for earlier in tiers[:at]):
            message = f"two tiers begin at {tier.start}."
            yield Problem(Place(WHOLESALE, key=("tier", at, "from")), "tier-twice", message, "Take one of them out.")


def sheet_stale(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Old prices are claimed from a sheet whose day has passed."""
    terms = listings.catalog.shop.wholesale
    if terms and terms.valid_until and terms.valid_until < context.today:
        message = f"the prices held until {listings.catalog.shop.settings.spoken.day(terms.valid_until)}."
        hint = "Look the prices through, and write a new issued and valid_until."
        yield Problem(Place(WHOLESALE, key=("valid_until",)), "sheet-stale", message, hint)


def sheet_long(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Prices that hold very long hold when costs have risen."""
    terms, most = listings.catalog.shop.wholesale, int(context.figures["sheet-long"])
    if terms and terms.issued and terms.valid_until and (days := (terms.valid_until - terms.issued).days) > most:
        last = terms.issued + datetime.timedelta(most)
        message = f"the prices hold {days} days, more than {most}."
        place = Place(WHOLESALE, key=("valid_until",))
        yield Problem(place, "sheet-long", message, f"Write {last} at the latest: with it they hold {most}.")


def line_unseen(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once, with every set of the line sheet without a picture, and every item where another item has one."""
    papers, catalog = papers_of(listings), listings.catalog
    if papers.document is None:
        return
    seen = {photo.code for photo in papers.photos if not photo.lent_by}
    lent = {photo.code: photo.lent_by for photo in papers.photos if photo.lent_by}
    entries = tuple(papers.document.sheet.entries)
    items_are_seen = any(entry.code in seen for entry in entries if not entry.is_set)
    entries = tuple(entry for entry in entries if not entry.holds)
    unseen = [entry.code for entry in entries if entry.code not in seen and (entry.is_set or items_are_seen)]
    if not unseen:
        return
    bare, borrowed = ([code for code in unseen if (code in lent) is has] for has in (False, True))
    told = [f"shows no picture of {listed(bare)}"] if bare else []
    told += [f"borrows a set's photo for {listed([f'{code} ({lent[code]})' for code in borrowed])}"] if borrowed else []
    message = f"the line sheet {' and '.join(told)}."
    item = next((entry.code for entry in entries if entry.code in unseen and not entry.is_set), "")
    hint = f'Take a close view of each item alone: shot = "detail" and shows = ["{item}"].' if item else ""
    placed = {code for photo in papers.photos for code, _ in photo.photo.pieces} if borrowed else set()
    if blind := [code for code in borrowed if code not in placed]:
        hint += f' Or say where it is in the set\'s photo: pieces = {{ "{blind[0]}" = [0.1, 0.2, 0.4, 0.5] }}.'
        hint += " These are its left, top, right and bottom as shares."
    key = line_codes(catalog).get(unseen[0], ())
    yield Problem(Place(WHOLESALE, key=key), "line-unseen", message, hint or "Put a photo into its folder.")


def front_unseen(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Of the set that is to lead the line sheet, where it is not on it or none of its photos can."""
    papers = papers_of(listings)
    if papers.document is None or papers.lead is not None or not (code := papers.document.sheet.terms.front):
        return
    place = Place(WHOLESALE, key=("front",))
    entry = next((entry for entry in papers.document.sheet.entries if entry.code == code and entry.is_set), None)
    if entry is None:
        message = f"no set {code} is on the line sheet, so its picture cannot lead it."
        yield Problem(place, "front-unseen", message, "Write the code of a set that is on it, or leave the key out.")
        return
    wide, high = LEAD_RATIO
    message = (
        f"no photo of {code} can lead the line sheet: it takes one of {LEAD_WIDTH} pixels across and more, whose "
        f"focus goes into {wide} by {high}."
    )
    yield Problem(place, "front-unseen", message, "Take one that is wider than high, with room around the box.")


def window_order(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Of a window the first pair of days that is out of order; where orders are sent as they come they may overlap."""
    spoken = listings.catalog.shop.settings.spoken
    for key, window in _windows(listings.catalog):
        days = [(name, day) for name in ("order_by", "ships_from", "ships_until") if (day := getattr(window, name))]
        if window.ships == ANY_TIME and days:
            message = f'it ships "{ANY_TIME}", and {days[0][0]} is {spoken.day(days[0][1])}.'
            yield Problem(Place(WHOLESALE, key=(*key, days[0][0])), "window-order", message, "Take one of the two out.")
            continue
        free = {"order_by", "ships_from"} if window.ships == AS_ORDERED else set[str]()
        pairs = (pair for pair in combinations(days, 2) if {pair[0][0], pair[1][0]} != free)
        wrong = [(early, late) for early, late in pairs if early[1] > late[1]]
        for (name, day), (later_name, later_day) in wrong[:1]:
            message = f"{name} is {spoken.day(day)}, after {later_name} {spoken.day(later_day)}."
            hint = "Mend one of the days."
            if {name, later_name} == {"order_by", "ships_from"}:
                hint = f'Mend one of the days; if each order is sent as it comes, write ships = "{AS_ORDERED}" too.'
            yield Problem(Place(WHOLESALE, key=(*key, name)), "window-order", message, hint)


def _windows(catalog: Catalog) -> Iterator[tuple[KeyPath, Window]]:
    """Yield every window that is stated, with its key: the sheet's own, then those of groups."""
    if (terms := catalog.shop.wholesale) is not None:
        yield ("window",), terms.window
        yield from ((("group", at, "window"), group.window) for at, group in enumerate(terms.groups) if group.window)


def season_window(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Once a group and season: sets that reach shops when their season is over, or long before it."""
    sheet, terms = papers_of(listings).sheet, listings.catalog.shop.wholesale
    if sheet is None or terms is None:
        return
    most, spoken = datetime.timedelta(int(context.figures["season-window"])), listings.catalog.shop.settings.spoken
    stated = {each.title: at for at, each in reversed(tuple(enumerate(terms.groups))) if each.window}
    for group in sheet.groups:
        first, last = group.window.ships_from, group.window.ships_until
        apart: dict[Season, list[str]] = defaultdict(list)
        for entry in group.entries:
            season = entry.facts.season if entry.facts else None
            late = season is not None and first is not None and first > season.off_sale
            if season is not None and (late or (last is not None and last + most < season.on_sale)):
                apart[season].append(entry.code)
        at = stated.get(group.title)
        key: KeyPath = ("window",) if at is None else ("group", at, "window")
        for season, codes in apart.items():
            sent = " ".join(f"{word} {spoken.day(day)}" for word, day in (("from", first), ("until", last)) if day)
            message = (
                f"{listed(codes)} {'is' if len(codes) == 1 else 'are'} sold from {spoken.day(season.on_sale)} to "
                f"{spoken.day(season.off_sale)} ({season.name}), and sent to shops {sent}."
            )
            hint = f'Write days that meet it, window = "{ANY_TIME}" for their group, or take them off the sheet.'
            yield Problem(Place(WHOLESALE, key=key), "season-window", message, hint)


def display_sets(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Each display set has a code of its own and holds what shops can buy; what it lacks keeps it off the sheet."""
    catalog, terms = listings.catalog, listings.catalog.shop.wholesale
    drafts = {each.code for each in catalog.shop.folders if each.draft}
    closed = {facts.code for facts in catalog.sets} | {item.code for item in catalog.shop.items}
    taken = closed | {variant.code for facts in catalog.sets for variant in facts.variants}
    displays = terms.display_sets if terms else ()
    things = things_of(catalog) if displays else {}
    for at, display in enumerate(displays):
        place = Place(WHOLESALE, key=("display_set", at, "code"))
        if display.code in taken:
            message = f'"{display.code}" is a code already.'
            yield Problem(place, "code-twice", message, "Give the display set one of its own.")
        taken |= {display.code}
        if not display.holds:
            yield Problem(place, "display-set", f"{display.name} holds nothing.", "Write holds = { OHS-1 = 1 }.")
        for code in (code for code, held in held_in(display, things).items() if held is None):
            place = Place(WHOLESALE, key=("display_set", at, "holds", code))
            if code in drafts or (code in taken and code != display.code):
                what = "a draft" if code in drafts else "closed"
                message = f"{display.name} holds {code}, which is {what}, so it is not on the line sheet."
                yield Problem(place, "display-set", message, "Put something else in, or take the display set out.")
            elif known := [each.code for facts in catalog.sets if _is_of(facts, code) for each in facts.variants]:
                message = f"{display.name} holds {code}, and there is no such variant."
                yield Problem(place, "display-set", message, f"There are {listed(known)}.")


def _is_of(facts: SetFacts, code: str) -> bool:
    """Whether a code is made like those of a set's variants."""
    return code.startswith(f"{facts.code}-")


def email_missing(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A line sheet names where to send the order."""
    if papers_of(listings).document is not None and not listings.catalog.shop.settings.email:
        message = "the line sheet names no e-mail address to send an order to."
        hint = 'Write it at the top, as in email = "hello@ottermarl.example".'
        yield Problem(Place(SHOP), "email-missing", message, hint)


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
            if rule.kind == tier.wholesale.kind and tier.wholesale.share <= rule.share:
                continue  # no price of a rule grows as its share falls
            lines = group.alike if rule.kind == tier.wholesale.kind == "share" else group
            dearer = (line for line in lines if price_by(line, tier.wholesale) > price_by(line, rule))
            line = next(dearer, None)
            if line is not None:
                low, high = price_by(line, rule), price_by(line, tier.wholesale)
                dear, cheap = map(listings.catalog.shop.settings.spoken.money, (high, low))
                message = f"from {tier.start} on {line.code} costs {dear}, more than {cheap} for fewer."
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
    by_rule: dict[Place, list[Line]] = defaultdict(list)
    for group in all_lines(listings.catalog):
        low = [line for line in group.alike if line.retail and _shop_keeps(line) < least]
        if low:
            by_rule[group.rule_place].append(min(low, key=_shop_keeps))
    for place, lows in by_rule.items():
        line = min(lows, key=_shop_keeps)
        more = f" and {times(len(lows) - 1, 'other line')}" if len(lows) > 1 else ""
        message = f"a shop keeps {_shop_keeps(line) * 100:.1f} % of {line.code}{more}."
        hint = f"{share_text(least)} before tax is usual; lower the wholesale price, or raise the retail one."
        yield Problem(place, "shop-margin-low", message, hint)


def _shop_keeps(line: Line) -> Decimal:
    return Decimal(1) if line.shop_keeps is None else line.shop_keeps


def gtin_missing(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Asked for by a feed's own column for GTINs, or by gtins = true in wholesale.toml; told once for each."""
    for channel, shown in listings.by_channel():
        column = _gtin_column(channel)
        without = [offer.variant.code for listing in shown for offer in listing.offers if not offer.variant.gtin]
        if column is not None and without:
            message = f'the column "{channel.columns[column].heading}" stays empty for {listed(without)}.'
            place = channel.place("column", column)
            yield Problem(place, "gtin-missing", message, "Write their gtin in set.toml; never make one up.")
    terms = listings.catalog.shop.wholesale
    asked = terms is not None and terms.gtins
    things = [thing for group in all_lines(listings.catalog) for thing in group.things] if asked else []
    lacking = [thing for thing in things if not thing.gtin]
    without = [thing.code for kind in (Item, Variant) for thing in lacking if isinstance(thing, kind)]
    if without and asked:
        message = f"the line sheet asks a GTIN of every line, and {listed(without)} have none."
        yield Problem(Place(WHOLESALE, key=("gtins",)), "gtin-missing", message, "Write them; never make one up.")


def _gtin_column(channel: Channel) -> int | None:
    """Return the index of the column that is for GTINs alone, None where the channel's feed has none."""
    if "feed" not in channel.make:
        return None
    return next((at for at, column in enumerate(channel.columns) if column.value.strip("{} ") == "gtin"), None)


# Line sheets in other hands: who holds a stale one, and what the sheet says that is no longer so.

STOCKISTS = "stockists.csv"


def stockist_stale(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Told once a version that somebody holds and that no longer counts, naming all who hold it."""
    history, spoken = context.sheets, listings.catalog.shop.settings.spoken
    held: dict[str, list[Stockist]] = defaultdict(list)
    for stockist in listings.catalog.shop.stockists:
        if (version := version_of(stockist.sheet)) and version != history.current:
            held[version].append(stockist)
    for version, holders in held.items() if history.current else ():
        sheet = history.find(version)
        last = history.given_out[-1].version if history.given_out else ""
        if sheet is None:
            why = "which is no version that was recorded"
        elif sheet.version != last:
            why = f"recorded on {spoken.day(sheet.recorded)}, which {last} replaced"
        elif sheet.valid_until is not None and sheet.valid_until < context.today:
            why = f"whose prices held until {spoken.day(sheet.valid_until)}"
        else:
            continue  # the last one counts while the next is made
        place = Place(STOCKISTS, row=holders[0].code, column="sheet")
        who = f"{listed([holder.name for holder in holders])} {'holds' if len(holders) == 1 else 'hold'} {version}"
        hint = f"Send {history.current}, the one of today, and write that here."
        yield Problem(place, "stockist-stale", f"{who}, {why}.", hint)


def version_of(text: str) -> str:
    """Return the version code in a cell, which may hold the sheet's whole name.

    >>> version_of("line-sheet-cn69x.pdf")
    'CN69X'
    """
    return text.strip().upper().removesuffix(".PDF").rpartition("-")[2].strip()


def sheet_older(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Two sheets of one day that name unlike prices cannot be told apart by those who hold them."""
    sheet, previous = papers_of(listings).sheet, context.sheets.previous
    if sheet is None or previous is None or previous.issued is None or sheet.terms.issued is None:
        return
    moved = [move for move in moves_since(sheet, previous) if move.old is not None and move.new is not None]
    if moved and sheet.terms.issued <= previous.issued:
        first = moved[0]
        more = f", and {times(len(moved) - 1, 'other price')} moved" if len(moved) > 1 else ""
        spoken = listings.catalog.shop.settings.spoken
        prices = [spoken.money(price) for price in (first.old, first.new) if price is not None]
        was = f"{first.code} was {' and is '.join(prices)} now{more}"
        message = (
            f"the sheet is of {spoken.day(sheet.terms.issued)}, older than its prices: on {previous.version} {was}."
        )
        later = max(context.today, previous.issued + datetime.timedelta(1))
        hint = f"Write the day of the new one: issued = {later}."
        yield Problem(Place(WHOLESALE, key=("issued",)), "sheet-older", message, hint)


def arrival_short(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Once an item that is on the sheet or in a line of it; what is past its time when it is sent must be mended.

    What is short-lived for anybody has a problem of its own (shelf-life-short), and none here.
    """
    anyway = context.figures["shelf-life-short"]
    sheet, least = papers_of(listings).sheet, int(context.figures["arrival-short"])
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
        age = f", being up to {times(oldest, 'month')} old" if oldest else ""
        most = "" if sheet.terms.oldest is not None else "at most "  # nobody says how old it is by then
        message = f"{item.code} keeps {most}{times(left, 'month')} when it reaches a shop{age}; {least} are usual."
        hint = "Send it fresher and say so (oldest in wholesale.toml), or take it off the sheet."
        problem = Problem(item_place(shop, item, "shelf_life"), "arrival-short", message, hint)
        yield replace(problem, own_level=Level.MUST_FIX) if not left else problem


def retail_unlike(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Our own usual prices alone are looked at: what a shop asks is the shop's to say. Told once a line.

    A reduction is told to stockists by its own check.
    """
    sheet = papers_of(listings).sheet
    if sheet is None:
        return
    lines = {line.code: (entry, line) for entry in sheet.entries for line in entry.lines}
    shop, seen = listings.catalog.shop, set[str]()
    for listing in (listing for listing in listings if listing.country == shop.settings.country):
        for code, price in _public(listing):
            entry, line = lines.get(code, (None, None))
            if entry is None or line is None or price == line.retail or code in seen:
                continue
            if entry.item is None and (entry.facts is None or entry.facts.source.folder != listing.folder):
                continue  # two sets, or a display and an item, with one code, which is a problem of its own
            seen.add(code)
            suggested, asked = map(shop.settings.spoken.money, (line.retail or price, price))
            message = f"the line sheet suggests {suggested} for {line.code}, and {listing.channel.name} asks {asked}."
            hint = "Buyers compare: let both say one price, or take the line off the sheet."
            item: Item | None = entry.item
            place = item_place(shop, item, "retail") if item else set_place(listing.facts, "code")
            yield Problem(place, "retail-unlike", message, hint)


def _public(listing: Listing) -> Iterator[tuple[str, Money]]:
    """Yield what each variant usually costs, and each item that a variant alone is."""
    for offer in listing.offers:
        yield offer.variant.code, offer.usual_price
        if (item := only_piece(listing.facts, offer.variant)) is not None:
            yield item.code, offer.usual_price
