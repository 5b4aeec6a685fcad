"""Checks of stock and dates: what is closed, promised twice, out of its season, or does not keep long enough."""

import datetime
from collections import defaultdict
from collections.abc import Iterator
from decimal import Decimal
from operator import itemgetter
from typing import Final

from listkit.check.alike import listed
from listkit.check.places import (
    SHOP,
    WHOLESALE,
    CheckContext,
    item_place,
    line_codes,
    offered,
    offered_alone_too,
    offered_variants,
    pack_place,
    set_place,
)
from listkit.check.prices import stated_reductions
from listkit.compute.allotment import hold_of
from listkit.compute.catalog import Catalog, SetFacts
from listkit.compute.flow import Demand, Shortage, shortages
from listkit.compute.seasons import Phase, phase_of
from listkit.compute.stock import can_make
from listkit.listing.listings import Listing, Listings
from listkit.model.fields import SetStatus, Status
from listkit.model.gift_set import Slot
from listkit.model.settings import Season
from listkit.problem import Place, Problem

_MOST_SHORT: Final = 12
"""Groups of items that one message names with their figures."""
_FEW: Final = 4
_PACK: Final = "\0"  # before the name of a pack: no item is called so


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
    whatever mixture suits the others best; and k of its box, fill and card. Items that are short are told together, at
    the shortest of them; boxes, fills and cards likewise. Sets that are closed, drafts, and those whose season is over
    take nothing; each set counts once, however many channels show it, and nothing is held back. Where pieces are
    allotted it is what the places were given and cannot have.
    """
    catalog = listings.catalog
    if catalog.allotted is not None:
        yield from _given_twice(catalog)
        return
    if _nothing_counted(catalog):
        return
    names = {facts.code: facts.name for facts in catalog.sets}
    packs = {f"{_PACK}{pack.name}": pack for facts in catalog.sets for pack in facts.packs}
    shorts = sorted(short_of_pieces(catalog, context.today), key=lambda short: Decimal(short.there) / short.needed)
    items = {item.code: item for item in catalog.shop.items}
    of_packs = [short for short in shorts if short.items[0] in packs]
    for together in (each for each in ([short for short in shorts if short not in of_packs], of_packs) if each):
        first, *others = together
        pack = packs.get(first.items[0])
        what = [listed([packs[code].name if code in packs else code for code in short.items]) for short in together]
        sets = listed([names[code] for code in first.set_codes])
        count = f"{len(first.set_codes)} sets" if len(first.set_codes) > 1 else "1 set"
        are = "are" if first.there != 1 else "is"
        message = f"{what[0]}: {count} could use {first.needed}, {first.there} {are} there ({sets})."
        also = [f"{name} ({each.needed} for {each.there})" for name, each in zip(what[1:], others, strict=True)]
        message += f" Short too: {listed(also, _MOST_SHORT)}." if also else ""
        more = f"{first.needed - first.there} more" if not others else "more"
        hint = f"{'Get' if pack else 'Make'} {more}, or hold back more."
        shop = catalog.shop
        place = pack_place(shop, pack) if pack else item_place(shop, items[first.items[0]], "on_hand")
        yield Problem(place, "stock-promised-twice", message, hint)


def short_of_pieces(catalog: Catalog, today: datetime.date) -> list[Shortage]:
    """Return the groups of items and of packs that would be short if every set sold out; a pack goes by its name."""
    counted = {item.code: item.on_hand for item in catalog.shop.items if item.on_hand is not None}
    packs = {f"{_PACK}{pack.name}": pack.on_hand for facts in catalog.sets for pack in facts.packs}
    counted |= {name: on_hand for name, on_hand in packs.items() if on_hand is not None}
    taken = (demand for facts in offered(catalog) if not _takes_nothing(facts, today) for demand in _demands(facts))
    return shortages((demand for demand in taken if demand.options <= counted.keys()), counted)


def _nothing_counted(catalog: Catalog) -> bool:
    """Whether nobody knows what there is, since no line of movements.csv can be read."""
    movements = catalog.shop.movements
    return movements.in_part and not movements.moves


def _given_twice(catalog: Catalog) -> Iterator[Problem]:
    """Tell of the numbers that the pieces there are do not suffice for, which places show as far as they last."""
    short, lacking = catalog.allotted.short if catalog.allotted else (), catalog.shop.left_out
    unsure = lacking.every or lacking.items or lacking.channels or lacking.boxes_unread
    if not short or unsure or _nothing_counted(catalog):
        return
    names = {channel.key: channel.name for channel in catalog.shop.channels}
    each = [f"{missing} of {row.code} at {names.get(row.place, row.place)}" for row, missing in short]
    total = sum(missing for _, missing in short)
    message = f"{total} more are given out than there are: {listed(each, _MOST_SHORT)}. The places show that much less."
    hint = "Type listkit allot, which shares out what there is now."
    yield Problem(catalog.shop.allotment.place(short[0][0].line), "stock-promised-twice", message, hint)


def held_back_whole(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Channels hold back as much as can be made of anything, and so show all of it as sold out; told once a figure."""
    catalog = listings.catalog
    settings = catalog.shop.settings
    made = [one.can_make for facts in offered_alone_too(catalog) for one in offered_variants(facts) if one.can_make]
    if not made or catalog.allotted is not None:
        return
    most, shown = max(made), {listing.channel.key for listing in listings if listing.offers}  # else it is feed-empty
    held: dict[Place, tuple[int, list[str]]] = {}
    for channel in catalog.shop.channels:
        hold = hold_of(channel, settings)
        own = Place(f"channels/{channel.key}.toml", key=("hold_back",))
        place = Place(SHOP, key=("stock", "hold_back")) if channel.hold_back is None else own
        if hold >= most and channel.key in shown:
            held.setdefault(place, (hold, []))[1].append(channel.name)
    for place, (hold, names) in held.items():
        message = (
            f"{hold} of everything {'is' if hold == 1 else 'are'} held back, and {most} is the most that there can "
        )
        message += f"be of anything: all that is counted is sold out at {listed(names)}."
        yield Problem(place, "held-back-whole", message, f"Hold back less than {most}.")


def allotment_old(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Nothing is allotted yet, or something has changed since that no number of it knows; told once."""
    catalog = listings.catalog
    shop, allotted = catalog.shop, catalog.allotted
    if shop.settings.allotment is None:
        return
    if allotted is None:
        message = "nothing is allotted yet: each place shows all that can be made."
        yield Problem(Place(SHOP, key=("allotment",)), "allotment-old", message, "Type listkit allot, then build.")
        return
    known = (row for row in allotted.unknown if row.place not in shop.left_out.channels)
    lost = [row for row in known if not shop.left_out.may_hold(shop.old_codes(row.code))]
    after = min((row.after for row in shop.allotment.rows), default=0)
    made: dict[str, int] = defaultdict(int)
    for move in shop.movements.moves:
        if move.line > after and move.kind in ("made", "came back"):
            made[shop.old_codes(move.code)] += move.change
    news = list(dict.fromkeys(_without_number(listings, context))) if shop.allotment.whole else []
    told = [f"{listed(news, _FEW)} {'has' if len(news) == 1 else 'have'} no number at any place"] if news else []
    of_lost = listed([f"{row.code} for {row.place}" for row in lost], _FEW)
    told += [f"nothing is there of {of_lost}"] if lost else []
    made_words = [f"{number} of {code}" for code, number in made.items() if number > 0]
    if made_words and (shop.allotment.whole or shop.allotment.rows):
        told.append(f"{listed(made_words, _FEW)} came in that no place was given")
    if told:
        place = shop.allotment.place(lost[0].line if lost else 0)
        message = f"it is from before: {'; '.join(told)}."
        yield Problem(place, "allotment-old", message, "Type listkit allot, which shares out what there is now.")


def _without_number(listings: Listings, context: CheckContext) -> Iterator[str]:
    """Yield the codes that are counted, can be made and may be shown, and that no row of the allotment is about."""
    catalog = listings.catalog
    shop = catalog.shop
    known = {shop.old_codes(row.code) for row in shop.allotment.rows}
    shown = {offer.variant.code for listing in listings for offer in listing.offers}
    listing_sets = {listing.facts.code for listing in listings} | {each.facts.code for each in listings.left_out}
    for facts in offered_alone_too(catalog):
        for variant in offered_variants(facts) if not _takes_nothing(facts, context.today) else ():
            may_show = variant.code in shown or facts.code not in listing_sets
            if may_show and variant.can_make and variant.code not in known:
                yield variant.code


def _demands(facts: SetFacts) -> Iterator[Demand]:
    """Yield what a set takes if it sells out: of slots only what is sold, and of box, fill and card one each."""
    makes = facts.can_make
    if not makes:
        return
    sold = {(choice.slot, choice.item.code) for variant in offered_variants(facts) for choice in variant.choices}
    for entry in facts.source.gift_set.contents:
        options = (
            [entry.item]
            if not isinstance(entry, Slot)
            else [option.item for option in entry.choose if (entry.slot, option.item) in sold]
        )
        yield Demand(facts.code, frozenset(options), makes * entry.quantity)
    for pack in facts.packs:
        yield Demand(facts.code, frozenset((f"{_PACK}{pack.name}",)), makes)


def stock_shared(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Each variant is shown with all that can be made of it alone; what all share is then shown once a variant.

    Told once, of the set whose variants show most against what can be made of it, naming the others like it.
    """
    shown: dict[str, tuple[Decimal, Listing]] = {}
    for listing in listings:
        makes = listing.facts.can_make
        if makes and not _takes_nothing(listing.facts, context.today):
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
    """Return the code of what is in every variant, or the pack, that limits the set; "" when something else does."""
    every = [{piece.item.code: piece for piece in one.pieces} for one in offered_variants(facts)]
    common = [piece for code, piece in every[0].items() if all(code in pieces for pieces in every)]
    limits = [piece.item.code for piece in common if can_make((piece,)) == facts.can_make]
    limits += [pack.name for pack in facts.packs if pack.on_hand == facts.can_make]
    return next(iter(limits), "")


def _takes_nothing(facts: SetFacts, today: datetime.date) -> bool:
    """Whether nothing is sold of a set: its season is over, or it is not finished."""
    if facts.source.gift_set.status is SetStatus.DRAFT:
        return True
    return facts.season is not None and facts.season.off_sale < today


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
        ended = listings.catalog.shop.settings.spoken.day(season.off_sale)
        message = f'the season "{season.name}" ended on {ended}; {names} can no longer be bought.'
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
        begins = listings.catalog.shop.settings.spoken.day(season.on_sale)
        message = f'the season "{season.name}" begins on {begins}; {", and ".join(how)}.'
        place = Place(SHOP, key=("season", at, "on_sale"))
        yield Problem(place, "season-not-yet", message, "Build on that day, and send what is made then.")


def dates_in_order(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A season and a reduction begin before they end, and a sheet is issued before its prices end."""
    shop, day = listings.catalog.shop, listings.catalog.shop.settings.spoken.day
    for at, season in enumerate(shop.settings.seasons):
        if season.off_sale < season.on_sale:
            first, last = day(season.on_sale), day(season.off_sale)
            message = f'the season "{season.name}" ends on {last}, before it begins on {first}.'
            place = Place(SHOP, key=("season", at, "off_sale"))
            yield Problem(place, "dates-in-order", message, "Mend one of the days.")
    for reduction, place_of in stated_reductions(listings.catalog):
        if reduction.until < reduction.first:
            label = reduction.label_in(shop.settings.spoken)
            message = f"{label} ends on {day(reduction.until)}, before it begins on {day(reduction.first)}."
            yield Problem(place_of("until"), "dates-in-order", message, "Mend one of the days.")
    terms = shop.wholesale
    if terms and terms.issued and terms.valid_until and terms.valid_until < terms.issued:
        message = f"the prices end on {day(terms.valid_until)}, before the sheet is issued on {day(terms.issued)}."
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
