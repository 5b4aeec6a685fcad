"""Checks of stock and dates: what is closed, promised twice, out of its season, or does not keep long enough."""

import datetime
from collections import defaultdict, deque
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from operator import itemgetter

from listkit.check.alike import listed
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
from listkit.check.prices import stated_reductions
from listkit.compute.catalog import SetFacts
from listkit.compute.seasons import Phase, phase_of
from listkit.compute.stock import can_make
from listkit.listing.listings import Listing, Listings
from listkit.model.fields import Status
from listkit.model.gift_set import Slot
from listkit.model.settings import Season
from listkit.problem import Place, Problem

# Which pieces run short if every set sold out: an exact search for sets of items that are promised too often.
#
# A set that can be made k times uses k·q pieces of each fixed item, and k·q of the options of a slot in any mixture.
# Whether there is a mixture that suffices for all sets is a question of flow from sets to items, and where there is
# none, the least cut names the scarce items: those whose takers have nothing else to take (Ford and Fulkerson,
# "Maximal flow through a network", Canadian Journal of Mathematics 8, 1956; levels after Dinic, 1970).

Options = frozenset[str]


@dataclass(frozen=True, slots=True)
class Demand:
    """What one set takes: so many pieces of any of these items."""

    set_code: str
    options: Options
    pieces: int


@dataclass(frozen=True, slots=True)
class Shortage:
    """Items that are promised too often together: who takes them, how many they could use, how many are there."""

    items: tuple[str, ...]
    set_codes: tuple[str, ...]
    needed: int
    there: int


def shortages(demands: Iterable[Demand], on_hand: Mapping[str, int]) -> list[Shortage]:
    """Return every group of items that is short, in the order of `on_hand`; all options are in `on_hand`."""
    demands = list(demands)
    needed: dict[Options, int] = defaultdict(int)
    for demand in demands:
        needed[demand.options] += demand.pieces
    scarce = _Flow(needed, on_hand).short_of()
    order = {code: at for at, code in enumerate(on_hand)}
    found = []
    for group in _joined(scarce):
        takers = [demand for demand in demands if demand.options <= group]
        items = tuple(sorted(group, key=order.__getitem__))
        set_codes = tuple(dict.fromkeys(demand.set_code for demand in takers))
        there = sum(on_hand[code] for code in items)
        found.append(Shortage(items, set_codes, sum(demand.pieces for demand in takers), there))
    return sorted(found, key=lambda one: order[one.items[0]])


def _joined(groups: Iterable[Options]) -> list[Options]:
    """Return groups with a common item as one."""
    parent: dict[str, str] = {}

    def root(code: str) -> str:
        while parent.setdefault(code, code) != code:
            parent[code] = parent[parent[code]]
            code = parent[code]
        return code

    for group in groups:
        first = min(group)
        for code in group:
            parent[root(code)] = root(first)
    together: dict[str, set[str]] = defaultdict(set)
    for code in list(parent):
        together[root(code)].add(code)
    return [frozenset(codes) for codes in together.values()]


class _Flow:
    """A greatest flow of pieces from items to those who take them."""

    def __init__(self, needed: Mapping[Options, int], on_hand: Mapping[str, int]) -> None:
        self.open = dict(needed)  # pieces still asked for
        self.left = dict(on_hand)  # pieces not given yet
        self.given: dict[str, dict[Options, int]] = defaultdict(dict)
        self.options = {group: sorted(group) for group in needed}

    def short_of(self) -> list[Options]:
        """Return the takers that cannot be served, and those whose pieces are all they could take instead."""
        while True:
            levels = self._levels()
            if not any(code in levels and self.left[code] for code in self.left):
                return [group for group in self.open if group in levels]
            for group in [group for group, pieces in self.open.items() if pieces]:
                self._serve(group, levels)

    def _levels(self) -> dict[Options | str, int]:
        """Return how many steps each taker and item is away from one that is not served."""
        levels: dict[Options | str, int] = {group: 0 for group, pieces in self.open.items() if pieces}
        queue: deque[Options | str] = deque(levels)
        while queue:
            node = queue.popleft()
            nexts = [g for g, n in self.given[node].items() if n] if isinstance(node, str) else self.options[node]
            for other in nexts:
                if other not in levels:
                    levels[other] = levels[node] + 1
                    queue.append(other)
        return levels

    def _serve(self, group: Options, levels: dict[Options | str, int]) -> None:
        """Give a taker what it asks for along shortest ways; ways that lead nowhere are closed as they are met."""
        while self.open[group]:
            way = self._way(group, levels)
            if way is None:
                return
            steps = [(taker, code, other) for (taker, code), (other, _) in pairwise(way)]
            last_taker, last = way[-1]
            pieces = min([self.open[group], self.left[last], *(self.given[code][other] for _, code, other in steps)])
            self.open[group] -= pieces
            self.left[last] -= pieces
            for taker, code, other in steps:
                self.given[code][taker] = self.given[code].get(taker, 0) + pieces
                self.given[code][other] -= pieces
            self.given[last][last_taker] = self.given[last].get(last_taker, 0) + pieces

    def _way(self, group: Options, levels: dict[Options | str, int]) -> list[tuple[Options, str]] | None:
        """Return takers and items, each item given to the taker before it, the last with pieces left."""
        way: list[tuple[Options, str]] = []
        taker = group
        while True:
            code = next((c for c in self.options[taker] if levels.get(c) == levels[taker] + 1), None)
            if code is None:
                levels[taker] = -2
                if not way:
                    return None
                taker, _ = way.pop()
                continue
            if self.left[code]:
                return [*way, (taker, code)]
            other = next((g for g, n in self.given[code].items() if n and levels.get(g) == levels[code] + 1), None)
            if other is None:
                levels[code] = -2
                continue
            way.append((taker, code))
            taker = other


def item_closed(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once an item, naming the sets that can still be bought with it; a closed set on the line sheet likewise."""
    catalog, lines = listings.catalog, line_codes(listings.catalog)
    users: dict[str, list[str]] = defaultdict(list)
    for facts in offered(catalog):
        if closed := {item.code for item in facts.items if item.status is Status.CLOSED}:
            in_use = {piece.item.code for one in offered_variants(facts) for piece in one.pieces}
            for code in closed & in_use:
                users[code].append(facts.name)
    for item in catalog.shop.items:
        if item.status is Status.CLOSED and (item.code in users or item.code in lines):
            where = [*users[item.code], *(["the line sheet"] if item.code in lines else [])]
            message = f"{item.code} is closed and still in {listed(where)}."
            hint = "Take it out there, or close the variants with it."
            yield Problem(item_place(catalog.shop, item, "status"), "item-closed", message, hint)
    for facts in catalog.sets:
        if facts.source.gift_set.sold_as is Status.CLOSED and facts.code in lines:
            message = f"the set {facts.code} is closed and still on the line sheet."
            yield Problem(Place(WHOLESALE, key=lines[facts.code]), "item-closed", message, "Take the line out.")


def stock_promised_twice(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Every set is shown with all that its parts suffice for; here is what happens if every set sells out.

    A set that can be made k times takes k·q pieces of a fixed item, and k·q pieces of the options of a slot in
    whatever mixture suits the others best. Items that are short together are told together. Sets that are closed or
    whose season is over take nothing; each set counts once, however many channels show it, and nothing is held back.
    """
    catalog = listings.catalog
    names = {facts.code: facts.name for facts in catalog.sets}
    counted = {item.code: item.on_hand for item in catalog.shop.items if item.on_hand is not None}
    taken = (demand for facts in offered(catalog) if not _over(facts, context) for demand in _demands(facts))
    items = {item.code: item for item in catalog.shop.items}
    for short in shortages((demand for demand in taken if demand.options <= counted.keys()), counted):
        sets = listed([names[code] for code in short.set_codes])
        count = f"{len(short.set_codes)} sets" if len(short.set_codes) > 1 else "1 set"
        are = "are" if short.there != 1 else "is"
        message = f"{listed(short.items)}: {count} could use {short.needed}, {short.there} {are} there ({sets})."
        hint = f"Make {short.needed - short.there} more, or hold back more."
        place = item_place(catalog.shop, items[short.items[0]], "on_hand")
        yield Problem(place, "stock-promised-twice", message, hint)


def _demands(facts: SetFacts) -> Iterator[Demand]:
    makes = facts.can_make
    for entry in facts.source.gift_set.contents if makes else ():
        options = [option.item for option in entry.choose] if isinstance(entry, Slot) else [entry.item]
        yield Demand(facts.code, frozenset(options), (makes or 0) * entry.quantity)


def stock_shared(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Each variant is shown with all that can be made of it alone; what all share is then shown once a variant.

    Told once, of the set whose variants show most against what can be made of it, naming the others like it.
    """
    shown: dict[str, tuple[Decimal, Listing]] = {}
    for listing in listings:
        makes = listing.facts.can_make
        if makes and not _over(listing.facts, context):
            times = Decimal(sum(offer.stock or 0 for offer in listing.offers)) / makes
            if times > context.figures["stock-shared"] and times > shown.get(listing.folder, (0, None))[0]:
                shown[listing.folder] = times, listing
    if shown:
        yield _shared(max(shown.values(), key=itemgetter(0))[1], [one for _, one in shown.values()])


def _shared(worst: Listing, alike: list[Listing]) -> Problem:
    facts, total = worst.facts, sum(offer.stock or 0 for offer in worst.offers)
    others = [listing.facts.name for listing in alike if listing is not worst]
    more = f"; {listed(others)} {'is' if len(others) == 1 else 'are'} like it" if others else ""
    enough = f"{_scarce(facts)} is enough for {facts.can_make}" if _scarce(facts) else f"{facts.can_make} can be made"
    count = len(worst.offers)
    message = f"{worst.channel.name} shows {total} of {facts.name} in its {count} variants, and {enough}{more}."
    hint = "Send the stock again after every few sales, or hold more back."
    return Problem(set_place(facts, "code"), "stock-shared", message, hint)


def _scarce(facts: SetFacts) -> str:
    """Return the code of what is in every variant and limits the set; "" when something else does."""
    every = [{piece.item.code: piece for piece in one.pieces} for one in offered_variants(facts)]
    common = [piece for code, piece in every[0].items() if all(code in pieces for pieces in every)]
    limits = (piece.item.code for piece in common if can_make((piece,)) == facts.can_make)
    return next(limits, "")


def _over(facts: SetFacts, context: CheckContext) -> bool:
    return facts.season is not None and facts.season.off_sale < context.today


def _of_season(listings: Listings, day: datetime.date, phase: Phase) -> Iterator[tuple[int, Season, list[SetFacts]]]:
    """Yield every season in this phase that has sets on sale, with its place and these sets."""
    for at, season in enumerate(listings.catalog.shop.settings.seasons):
        sets = [facts for facts in offered(listings.catalog) if facts.season is season]
        if sets and phase_of(season, day) is phase:
            yield at, season, sets


def season_over(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Told once a season."""
    for at, season, sets in _of_season(listings, context.today, Phase.OVER):
        names = listed([facts.name for facts in sets])
        message = f'the season "{season.name}" ended on {season.off_sale}; {names} can no longer be bought.'
        place = Place(SHOP, key=("season", at, "off_sale"))
        yield Problem(place, "season-over", message, 'Write status = "closed" in its sets, or new dates here.')


def season_not_yet(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Told once a season, each set with the channels that show it and take orders for it before."""
    ahead: defaultdict[str, list[str]] = defaultdict(list)
    for channel, shown in listings.by_channel():
        for listing in shown if channel.before == "pre-order" else ():
            ahead[listing.facts.code].append(channel.name)
    for at, season, sets in _of_season(listings, context.today, Phase.NOT_YET):
        alike: defaultdict[tuple[str, ...], list[str]] = defaultdict(list)
        for facts in sets:
            alike[tuple(ahead.get(facts.code, ()))].append(facts.name)
        how = (
            f"{listed(names)} {f'can be ordered before from {listed(where)}' if where else 'cannot be bought before'}"
            for where, names in alike.items()
        )
        message = f'the season "{season.name}" begins on {season.on_sale}; {", and ".join(how)}.'
        place = Place(SHOP, key=("season", at, "on_sale"))
        yield Problem(place, "season-not-yet", message, "Build on that day, and send what is made then.")


def dates_in_order(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A season and a reduction begin before they end, and a sheet is issued before its prices end."""
    shop = listings.catalog.shop
    for at, season in enumerate(shop.settings.seasons):
        if season.off_sale < season.on_sale:
            message = f'the season "{season.name}" ends on {season.off_sale}, before it begins on {season.on_sale}.'
            place = Place(SHOP, key=("season", at, "off_sale"))
            yield Problem(place, "dates-in-order", message, "Mend one of the days.")
    for reduction, place_of in stated_reductions(listings.catalog):
        if reduction.until < reduction.first:
            message = f"{reduction.label} ends on {reduction.until}, before it begins on {reduction.first}."
            yield Problem(place_of("until"), "dates-in-order", message, "Mend one of the days.")
    terms = shop.wholesale
    if terms and terms.issued and terms.valid_until and terms.valid_until < terms.issued:
        message = f"the prices end on {terms.valid_until}, before the sheet is issued on {terms.issued}."
        yield Problem(Place(WHOLESALE, key=("valid_until",)), "dates-in-order", message, "Mend one of the days.")


def shelf_life_short(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Told once an item that is in a set or on the line sheet."""
    least = int(context.figures["shelf-life-short"])
    sold = {item.code for facts in offered(listings.catalog) for item in facts.items}
    sold |= line_codes(listings.catalog).keys()
    for item in listings.catalog.shop.items:
        if item.shelf_life is not None and item.shelf_life < least and item.code in sold:
            months = "1 month" if item.shelf_life == 1 else f"{item.shelf_life} months"
            message = f"{item.code} keeps {months} from making, less than {least}."
            hint = "A gift waits in drawers; sell it on its own, or soon after making."
            yield Problem(item_place(listings.catalog.shop, item, "shelf_life"), "shelf-life-short", message, hint)
