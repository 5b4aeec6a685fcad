"""Checks before anything is laid or sent: round pieces are round, and some rate takes each parcel."""

from collections.abc import Iterator

from listkit.check.alike import listed
from listkit.check.context import CheckContext
from listkit.check.places import item_place, offered, offered_variants
from listkit.compute.box_pose import true_round
from listkit.compute.postage import postage
from listkit.listing.listings import Listings
from listkit.model.fields import Shape, Status
from listkit.problem import Place, Problem

RATES = "rates.csv"


def shape_wrong(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A cylinder whose length is not its width, or a ball with unlike sides, is measured or named wrongly."""
    shop = listings.catalog.shop
    for item in shop.items:
        if item.shape is Shape.BOX or true_round(item) or item.status is Status.CLOSED:
            continue
        sides = " × ".join(f"{side.normalize():f}" for side in item.size.sides)
        alike = "length and width" if item.shape is Shape.CYLINDER else "all three sides"
        message = f"{item.code} is a {item.shape.value} of {sides} mm."
        hint = f'Measure {alike} again: they are alike. Or write "box" as its shape.'
        yield Problem(item_place(shop, item, "size"), "shape-wrong", message, hint)


def rate_missing(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a zone, naming the variants that no service there takes."""
    shop = listings.catalog.shop
    packet = shop.settings.freight.packet
    for zone in dict.fromkeys(rate.zone for rate in shop.rates):
        rates = tuple(rate for rate in shop.rates if rate.zone == zone)
        without = [
            one.code
            for facts in offered(listings.catalog)
            for one in offered_variants(facts)
            if one.weights.parcel is not None and not postage(one.weights, facts.carton, rates, packet)
        ]
        if without:
            where = f' to "{zone}"' if zone else ""
            message = f"no service{where} takes {listed(without)}."
            yield Problem(Place(RATES), "rate-missing", message, "Add the steps up to their weight.")
