"""Check of parity: what is said of a variant's price is the same wherever buyers of one country can see it."""

from collections import defaultdict
from collections.abc import Iterator

from listkit.check.alike import listed
from listkit.check.context import CheckContext
from listkit.listing.listings import Listing, Listings
from listkit.problem import Problem
from listkit.units.money import Money


def price_parity(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """One public price a variant and country; told once a set, with the first variant that has two.

    Usual prices are compared: a reduction that only some channels have is told by the check of reductions.
    """
    by_set: dict[tuple[str, str], list[Listing]] = defaultdict(list)
    for listing in listings:
        by_set[listing.folder, listing.country].append(listing)
    for own in by_set.values():
        prices: dict[str, dict[Money, list[str]]] = defaultdict(dict)
        for listing in own:
            for offer in listing.offers:
                prices[offer.variant.code].setdefault(offer.usual_price, []).append(listing.channel.name)
        unlike = [code for code, by_price in prices.items() if len(by_price) > 1]
        if unlike:
            told = [f"{price} on {listed(names)}" for price, names in prices[unlike[0]].items()]
            more = f", and {len(unlike) - 1} more variants differ" if len(unlike) > 1 else ""
            hint = "Buyers compare; let all channels of a country show one price."
            yield Problem(own[0].place("code"), "price-parity", f"{unlike[0]} costs {listed(told)}{more}.", hint)
