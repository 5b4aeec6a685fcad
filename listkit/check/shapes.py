"""Checks before anything is laid or sent: round pieces are round, boxes larger outside, some rate takes each parcel."""

from collections.abc import Iterator
from decimal import Decimal

from listkit.check.alike import listed
from listkit.check.context import CheckContext
from listkit.check.places import PACKAGING, item_place, offered, offered_variants
from listkit.compute.box_pose import true_round
from listkit.compute.postage import postage
from listkit.listing.listings import Listings
from listkit.model.fields import Shape, Status
from listkit.problem import KeyPath, Place, Problem
from listkit.units.length import Size

RATES = "rates.csv"


def shape_wrong(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A cylinder whose length is not its width, or a ball with unlike sides, is measured or named wrongly."""
    shop = listings.catalog.shop
    for item in shop.items:
        if item.shape is Shape.BOX or true_round(item) or item.status is Status.CLOSED:
            continue
        alike = "length and width" if item.shape is Shape.CYLINDER else "all three sides"
        message = f"{item.code} is a {item.shape.value} of {item.size.text}."
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


def inside_larger(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A box is larger outside than inside, and goes closed into its carton, turned as it may be."""
    packaging = listings.catalog.shop.packaging
    for at, box in enumerate(packaging.boxes):
        if box.outside is not None:
            yield from _inside_out(f"box {box.code}", box.inside, box.outside, ("box", at))
        if box.carton is not None:
            closed, carton = box.outside or box.inside, box.carton.outside
            if any(map(Decimal.__gt__, sorted(closed.sides), sorted(carton.sides))):
                message = f"box {box.code} of {closed.text} does not go into its carton of {carton.text}."
                hint = "Measure both again; a carton is larger than the closed box in it."
                yield Problem(Place(PACKAGING, key=("box", at, "carton", "outside")), "inside-larger", message, hint)
    for at, case in enumerate(packaging.cases):
        yield from _inside_out(f"case {case.code}", case.inside, case.outside, ("case", at))


def _inside_out(what: str, inside: Size, outside: Size, key: KeyPath) -> Iterator[Problem]:
    larger = [
        f"{name} {within.normalize():f} mm inside and {without.normalize():f} mm outside"
        for name, within, without in zip(("length", "width", "height"), inside.sides, outside.sides, strict=True)
        if within > without
    ]
    if larger:
        hint = "Measure both again, length, width and height in the same order."
        yield Problem(Place(PACKAGING, key=(*key, "outside")), "inside-larger", f"{what}: {listed(larger)}.", hint)
