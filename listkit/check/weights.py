"""Checks of weights: everything weighs something, no piece less than what is in it, and a parcel can be weighed."""

from collections import defaultdict
from collections.abc import Iterator

from listkit.check.alike import listed
from listkit.check.context import CheckContext
from listkit.check.places import PACKAGING, item_place, offered
from listkit.listing.listings import Listings
from listkit.model.fields import Status
from listkit.problem import Place, Problem
from listkit.units.net import Measure


def weight_missing(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A weight of 0 is one that nobody has taken: of items, boxes and cartons."""
    shop = listings.catalog.shop
    for item in shop.items:
        if not item.weight.grams and item.status is not Status.CLOSED:
            place = item_place(shop, item, "weight")
            yield Problem(place, "weight-missing", f"{item.code} weighs 0 g.", "Weigh one piece, filled and closed.")
    for at, box in enumerate(shop.packaging.boxes):
        if not box.weight.grams:
            place = Place(PACKAGING, key=("box", at, "weight"))
            yield Problem(place, "weight-missing", f"box {box.code} weighs 0 g.", "Weigh an empty one.")
        if box.carton and not box.carton.weight.grams:
            place = Place(PACKAGING, key=("box", at, "carton", "weight"))
            yield Problem(place, "weight-missing", f"the carton of box {box.code} weighs 0 g.", "Weigh an empty one.")


def weight_below_net(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Gross is never less than net; only masses are compared, since a millilitre weighs what it likes."""
    shop = listings.catalog.shop
    for item in shop.items:
        net, grams = item.net, item.weight.grams
        if net is not None and net.measure is Measure.MASS and 0 < grams < net.total:
            message = f"{item.code} weighs {grams.normalize():f} g, less than the {net.text} in it."
            hint = "Weigh one piece, filled and closed, or mend its net content."
            yield Problem(item_place(shop, item, "weight"), "weight-below-net", message, hint)


def carton_missing(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a box, naming the sets whose parcels have no weight for it."""
    sets: dict[str, list[str]] = defaultdict(list)
    for facts in offered(listings.catalog):
        if facts.box is not None and facts.carton is None:
            sets[facts.box.code].append(facts.name)
    for at, box in enumerate(listings.catalog.shop.packaging.boxes):
        if box.code in sets:
            message = f"box {box.code} has no carton, so there is no parcel weight for {listed(sets[box.code])}."
            hint = 'Add carton = { outside = "190 x 150 x 100 mm", weight = "88 g" } with your own figures.'
            yield Problem(Place(PACKAGING, key=("box", at)), "carton-missing", message, hint)
