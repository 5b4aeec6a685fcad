"""Checks of reductions: whether they can be carried out, what cannot be announced, and who else sees the price.

listkit reminds of the rules and certifies nothing; which prices may be compared is for the local rules to say.
"""

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from listkit.check.alike import counted, listed
from listkit.check.places import SHOP, CheckContext, line_codes, offered, offered_variants, set_place
from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.compute.reductions import Ruling, reduced_price, rulings_of
from listkit.listing.listings import Listing, Listings, Offer
from listkit.model.reduction import Reduction
from listkit.problem import Place, Problem
from listkit.units.quantity import share_text


@dataclass(frozen=True, slots=True)
class _Stated:
    """A reduction as a file states it, with its place and the sets that it concerns."""

    reduction: Reduction
    place: Callable[[str], Place]
    sets: tuple[SetFacts, ...]


def _stated(catalog: Catalog) -> Iterator[_Stated]:
    """Yield every reduction, the shop's first; of closed sets and those it does not name it says nothing."""
    sets = tuple(offered(catalog))
    rulings = {facts.code: rulings_of(facts.source, catalog.shop.settings) for facts in sets}
    for at, one in enumerate(catalog.shop.settings.reductions):
        concerned = (facts for facts in sets if any(not r.own and r.at == at for r in rulings[facts.code]))
        yield _Stated(one, _placed(Place(SHOP), at), tuple(concerned))
    for facts in sets:
        for at, own in enumerate(facts.source.gift_set.reductions):
            yield _Stated(own, _placed(set_place(facts), at), (facts,))


def stated_reductions(catalog: Catalog) -> Iterator[tuple[Reduction, Callable[[str], Place]]]:
    """Yield every reduction of the shop and of sets on sale, with what gives the place of its keys."""
    return ((one.reduction, one.place) for one in _stated(catalog))


def _placed(file: Place, at: int) -> Callable[[str], Place]:
    return lambda key: Place(file.file, key=("reduction", at, key))


def _place_of(listing: Listing, ruling: Ruling, key: str) -> Place:
    return _placed(listing.place() if ruling.own else Place(SHOP), ruling.at)(key)


def reduction_unclear(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A share and an ending together could mean two prices, and none of them means no price."""
    for one in _stated(listings.catalog):
        by, ending = one.reduction.by, one.reduction.ending
        if by is not None and ending is not None:
            message = f'{one.reduction.label} says both {share_text(by)} less and the ending "{ending.text}".'
            yield Problem(one.place("ending"), "reduction-unclear", message, "Keep one of the two.")
        elif by is None and ending is None:
            message = f"{one.reduction.label} does not say how much less."
            yield Problem(one.place("from"), "reduction-unclear", message, 'Write by = "15 %", or ending = ".95".')


def reductions_overlap(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Two of one file on one day; a set's own goes before the shop's, so these two may. Once for the later one."""
    by_file: dict[str, list[_Stated]] = defaultdict(list)
    for one in _stated(listings.catalog):
        if one.reduction.sound:
            by_file[one.place("from").file].append(one)
    keys = tuple(channel.key for channel in listings.catalog.shop.channels)
    for stated in by_file.values():
        for at, later in enumerate(stated):
            earlier = next((one for one in stated[:at] if _overlap(one, later, keys)), None)
            if earlier is not None:
                sets = [facts.name for facts in later.sets if facts in earlier.sets]
                first = max(earlier.reduction.first, later.reduction.first)
                message = f"{later.reduction.label} and {earlier.reduction.label} both lower {listed(sets)} on {first}."
                hint = "Let one end before the other begins, or give them other sets or channels."
                yield Problem(later.place("from"), "reductions-overlap", message, hint)


def _overlap(one: _Stated, other: _Stated, keys: tuple[str, ...]) -> bool:
    a, b = one.reduction, other.reduction
    together = a.first <= b.until and b.first <= a.until
    channels = set(a.channels or keys) & set(b.channels or keys)
    return together and bool(channels) and any(facts in one.sets for facts in other.sets)


def reduction_empty(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Told once a reduction that has not ended, with the first price of which nothing would be left."""
    for one in _stated(listings.catalog):
        if one.reduction.sound and one.reduction.until >= context.today:
            variants = (variant for facts in one.sets for variant in offered_variants(facts))
            empty = next((v for v in variants if reduced_price(v.price, one.reduction) is None), None)
            if empty is not None:
                key = "ending" if one.reduction.ending else "by"
                message = f"{one.reduction.label} leaves nothing of {empty.code} at {empty.price}."
                yield Problem(one.place(key), "reduction-empty", message, "Lower it by less, or name its sets.")


def reduction_unannounced(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a reduction that is in force today, with the first listing in which it goes unsaid, and why."""
    silent: dict[Place, list[tuple[Listing, str]]] = defaultdict(list)
    for listing in listings:
        shown = listing.reduction
        if shown is not None and shown.silent:
            silent[_place_of(listing, shown.ruling, "from")].append((listing, shown.silent))
    for place, found in silent.items():
        listing, why = found[0]
        label = listing.reduction.ruling.reduction.label if listing.reduction else ""
        more = f" So it is in {counted(len(found) - 1, 'other listing')}." if len(found) > 1 else ""
        message = f"{label} is not announced in {listing.facts.name} on {listing.channel.name}: {why}{more}"
        hint = "The price is lower all the same. Record whatever you publish; and look up the rules of your country."
        yield Problem(place, "reduction-unannounced", message, hint)


def reduction_apart(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a reduction that is in force today on some channels of a country and not on all."""
    by_set: dict[tuple[str, str], list[Listing]] = defaultdict(list)
    for listing in listings:
        by_set[listing.folder, listing.country].append(listing)
    told: set[Place] = set()
    for own in by_set.values():
        for listing in own:
            place = _place_of(listing, listing.reduction.ruling, "channels") if listing.reduction else None
            dearer = _dearer(listing, own) if place and place not in told else None
            if place and dearer and listing.reduction:
                told.add(place)
                yield _apart(place, listing, dearer, listing.reduction.ruling.reduction)


def _dearer(listing: Listing, own: Sequence[Listing]) -> tuple[Offer, Listing, Offer] | None:
    """Return an offer, and another channel with it that is dearer there because of no reduction, or another."""
    here = {offer.variant.code: offer for offer in listing.offers if offer.variant.usual}
    for other in own:
        for there in other.offers:
            one = here.get(there.variant.code)
            if one is not None and one.price < there.price and one.usual_price == there.usual_price:
                return one, other, there
    return None


def _apart(place: Place, listing: Listing, dearer: tuple[Offer, Listing, Offer], reduction: Reduction) -> Problem:
    here, other, there = dearer
    message = (
        f"until {reduction.until} {here.variant.code} costs {here.price} on {listing.channel.name} "
        f"and {there.price} on {other.channel.name}."
    )
    return Problem(place, "reduction-apart", message, "If that is not meant, name all channels, or take the line out.")


def cheaper_than_stockists(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Told once a reduction, in force or yet to come, of what shops buy from us to sell at the suggested price."""
    lines = line_codes(listings.catalog)
    for one in _stated(listings.catalog):
        if not one.reduction.sound or one.reduction.until < context.today:
            continue
        lowered = [(facts, variant) for facts in one.sets if (variant := _line_in(facts, lines)) is not None]
        price = reduced_price(lowered[0][1].price, one.reduction) if lowered else None
        if price is not None:
            names, first = listed([facts.name for facts, _ in lowered]), lowered[0][1]
            are = "are" if len(lowered) > 1 else "is"
            message = (
                f"{names} {are} cheaper than your stockists from {one.reduction.first} until {one.reduction.until}: "
                f"{first.code} at {price} instead of the suggested {first.price}."
            )
            hint = "Tell them before it begins, or leave it out here; what they ask is theirs to say."
            yield Problem(one.place("from"), "cheaper-than-stockists", message, hint)


def _line_in(facts: SetFacts, lines: dict[str, tuple[str | int, ...]]) -> Variant | None:
    """Return the first variant that shops may sell too: of a set on the line sheet, or a single piece that is on it."""
    for one in offered_variants(facts):
        alone = not facts.source.gift_set.boxed and len(one.pieces) == 1 and one.pieces[0].quantity == 1
        if facts.code in lines or one.code in lines or (alone and one.pieces[0].item.code in lines):
            return one
    return None
