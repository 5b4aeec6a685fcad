"""Checks of figures that cannot be: weights against sizes, net contents against both. Slips of g for kg, mm for cm.

No setting: the bounds are those of matter, drawn wide. Densities in g/cm³ from NIST's ESTAR data base (composition of
materials): dry air 0.0012, ethyl alcohol 0.79, plate glass 2.40, aluminium 2.70, calcium carbonate (marble) 2.80. How
light a sponge, how airy a whipped butter and how thick the walls of a box may be is common practice, no source.
"""

from collections.abc import Iterator
from decimal import Decimal
from typing import Final

from listkit.check.context import CheckContext
from listkit.check.places import PACKAGING, item_place
from listkit.listing.listings import Listings
from listkit.model.fields import Status
from listkit.model.item import Item
from listkit.model.packaging import Packaging
from listkit.problem import KeyPath, Place, Problem
from listkit.units.length import Size
from listkit.units.net import Measure
from listkit.units.weight import Weight

HEAVIEST: Final = Decimal(3)  # g/cm³ of all that a piece takes up: above stone and glass
LIGHTEST: Final = Decimal("0.01")  # a dry natural sponge or a puff of netting weighs about twice that
AIRIEST: Final = Decimal("0.3")  # g, packaging and all, for each ml of net content; whipped butters weigh 0.5 alone
TARE: Final = 50  # times the net content: more is no packaging; a 5 ml phial in thick glass weighs about thirty times
THINNEST, THICKEST = Decimal(15), Decimal(30000)  # g in each m² of a box's outside: tissue paper, 4 cm of oak
DENSEST_FILL: Final = Decimal("0.5")  # g/cm³ of the whole inside; wood wool has about a tenth of that
CARD: Final = Weight(Decimal(500))  # a card is lighter
_MIXED_UP: Final = "Look at both again: perhaps g and kg, or mm and cm, are mixed up."


def weight_unlikely(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A piece, box, carton, fill or card denser than stone, or lighter than a sponge."""
    shop = listings.catalog.shop
    for item in shop.items:
        if item.status is not Status.CLOSED and (why := _dense(item.weight, item.size)):
            message = f"{item.code} weighs {item.weight.text} and is {item.size.text}: {why}."
            yield Problem(item_place(shop, item, "weight"), "weight-unlikely", message, _MIXED_UP)
    for key, message in _packaging(shop.packaging):
        yield Problem(Place(PACKAGING, key=key), "weight-unlikely", message, _MIXED_UP)


def net_unlikely(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """More inside than the outside has room for, or a net content that the weight has nothing to do with."""
    shop = listings.catalog.shop
    for item in shop.items:
        if item.status is not Status.CLOSED and (why := _net_fault(item)):
            hint = "Look at the net content, the weight and the size again."
            yield Problem(item_place(shop, item, "net"), "net-unlikely", f"{item.code}: {why}.", hint)


def _net_fault(item: Item) -> str:
    """Return what speaks against a net content, "" for nothing; too little weight for a mass is told elsewhere."""
    net, grams, room = item.net, item.weight.grams, _cm3(item.size)
    if net is None or net.measure not in (Measure.MASS, Measure.VOLUME):
        return ""
    if net.measure is Measure.VOLUME and net.total > room:
        return f"{net.text} do not go into {item.size.text}, which is {_plain(room)} ml outside"
    if net.measure is Measure.MASS and net.total > room * HEAVIEST:
        return f"{net.text} in {item.size.text} would be heavier than stone"
    if net.measure is Measure.VOLUME and 0 < grams < net.total * AIRIEST:
        return f"{item.weight.text} is too light for {net.text}, even of something whipped"
    if grams > net.total * TARE and not _dense(item.weight, item.size):
        return f"{item.weight.text} is {_plain(grams / net.total)} times the {net.text} in it"
    return ""


def _packaging(packaging: Packaging) -> Iterator[tuple[KeyPath, str]]:
    """Yield what of the packaging cannot weigh what it says, each with where it says so."""
    for key, what, weight, size in (*_boxes(packaging), *_cases(packaging)):
        if why := _walled(weight, size):
            yield key, f"{what} weighs {weight.text} for {size.text}: {why}."
    for at, box in enumerate(packaging.boxes):
        if box.fill is not None and box.fill.weight.grams > _cm3(box.inside) * DENSEST_FILL:
            message = f"{box.fill.weight.text} of fill in box {box.code} of {box.inside.text} is no fill."
            yield ("box", at, "fill", "weight"), message
    if packaging.card is not None and packaging.card.weight > CARD:
        yield ("card", "weight"), f"the card weighs {packaging.card.weight.text}, more than any card."


def _boxes(packaging: Packaging) -> Iterator[tuple[KeyPath, str, Weight, Size]]:
    for at, box in enumerate(packaging.boxes):
        yield ("box", at, "weight"), f"box {box.code}", box.weight, box.outside or box.inside
        if box.carton is not None:
            key = ("box", at, "carton", "weight")
            yield key, f"the carton of box {box.code}", box.carton.weight, box.carton.outside


def _cases(packaging: Packaging) -> Iterator[tuple[KeyPath, str, Weight, Size]]:
    for at, case in enumerate(packaging.cases):
        yield ("case", at, "weight"), f"case {case.code}", case.weight, case.outside


def _dense(weight: Weight, size: Size) -> str:
    """Return why a piece of this size cannot weigh this; "" where it can, and where nobody has weighed."""
    density = weight.grams / _cm3(size)
    if density > HEAVIEST:
        return f"{_plain(density)} g in each cm³, heavier than stone or glass"
    return f"{_plain(density)} g in each cm³, lighter than a sponge" if 0 < density < LIGHTEST else ""


def _walled(weight: Weight, size: Size) -> str:
    """Return why an empty box of this size cannot weigh this, by the area of its walls."""
    length, width, height = size.sides
    wall = weight.grams / (2 * (length * width + length * height + width * height) / 1_000_000)
    if wall > THICKEST:
        return f"{_plain(wall / 1000)} kg in each m² of its walls, more than planks"
    return f"{_plain(wall)} g in each m² of its walls, less than tissue paper" if 0 < wall < THINNEST else ""


def _cm3(size: Size) -> Decimal:
    length, width, height = size.sides
    return length * width * height / 1000


def _plain(number: Decimal) -> str:
    """Return three digits that count: 155, 8.52, 0.000823."""
    return f"{Decimal(f'{number:.3g}').normalize():f}"
