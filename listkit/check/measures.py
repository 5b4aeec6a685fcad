"""Checks of weights and sizes: what cannot be, and what cannot be sent."""

from collections import defaultdict
from collections.abc import Iterator
from decimal import Decimal
from typing import Final

from listkit import bounds
from listkit.check.alike import listed
from listkit.check.places import PACKAGING, SHOP, CheckContext, item_place, offered, offered_alone_too, offered_variants
from listkit.compute.box.fit import true_round
from listkit.compute.catalog import WeightFacts
from listkit.compute.declaration import Rules, declaration_of_item
from listkit.compute.freight import Parcels
from listkit.listing.listings import Listings
from listkit.model.fields import Shape, Status
from listkit.model.item import Item
from listkit.model.packaging import Carton, Packaging
from listkit.problem import KeyPath, Place, Problem, times
from listkit.units.declared import Figure
from listkit.units.length import Size
from listkit.units.net import Measure
from listkit.units.shown import Measures
from listkit.units.weight import NO_WEIGHT, Weight


def weight_missing(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A weight of 0 is one that nobody has taken: of items, boxes and cartons."""
    shop = listings.catalog.shop
    nothing = shop.settings.measures.weight(NO_WEIGHT)
    for item in shop.items:
        if not item.weight.grams and item.status is not Status.CLOSED:
            place = item_place(shop, item, "weight")
            message = f"{item.code} weighs {nothing}."
            yield Problem(place, "weight-missing", message, "Weigh one piece, filled and closed.")
    for at, box in enumerate(shop.packaging.boxes):
        if not box.weight.grams:
            place = Place(PACKAGING, key=("box", at, "weight"))
            yield Problem(place, "weight-missing", f"box {box.code} weighs {nothing}.", "Weigh an empty one.")
        if box.carton and not box.carton.weight.grams:
            place = Place(PACKAGING, key=("box", at, "carton", "weight"))
            message = f"the carton of box {box.code} weighs {nothing}."
            yield Problem(place, "weight-missing", message, "Weigh an empty one.")


def weight_below_net(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Gross is never less than net; only masses are compared, since a millilitre weighs what it likes."""
    shop = listings.catalog.shop
    for item in shop.items:
        net, grams = item.net, item.weight.grams
        if net is not None and net.measure is Measure.MASS and 0 < grams < net.total:
            weight = shop.settings.measures.weight(item.weight)
            message = f"{item.code} weighs {weight}, less than the {net.text} in it."
            hint = "Weigh one piece, filled and closed, or mend its net content."
            yield Problem(item_place(shop, item, "weight"), "weight-below-net", message, hint)


def carton_missing(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a box, naming the sets whose parcels have no weight for it."""
    sets: dict[str, list[str]] = defaultdict(list)
    for facts in offered(listings.catalog):
        for box in facts.boxes:
            if box.carton is None:
                sets[box.code].append(facts.name)
    shop = listings.catalog.shop
    for at, box in enumerate(shop.packaging.boxes):
        if box.code in sets:
            message = f"box {box.code} has no carton, so there is no parcel weight for {listed(sets[box.code])}."
            hint = 'Add carton = { outside = "190 x 150 x 100 mm", weight = "88 g" } with your own figures.'
            hint = shop.settings.measures.example(hint)
            yield Problem(Place(PACKAGING, key=("box", at)), "carton-missing", message, hint)


# Checks of figures that cannot be: weights against sizes, net contents against both. Slips of g for kg, mm for cm.
#
# No setting: the bounds are those of matter, drawn wide. Densities in g/cm³ from NIST's ESTAR data base (composition of
# materials): dry air 0.0012, ethyl alcohol 0.79, plate glass 2.40, aluminium 2.70, calcium carbonate (marble) 2.80. How
# light a sponge, how airy a whipped butter and how thick the walls of a box may be is common practice, no source.

HEAVIEST: Final = Decimal(3)  # g/cm³ of all that a piece takes up: above stone and glass
LIGHTEST: Final = Decimal("0.01")  # a dry natural sponge or a puff of netting weighs about twice that
AIRIEST: Final = Decimal("0.3")  # g, packaging and all, for each ml of net content; whipped butters weigh 0.5 alone
TARE: Final = 50  # times the net content: more is no packaging; a 5 ml phial in thick glass weighs about thirty times
THINNEST, THICKEST = Decimal(15), Decimal(30000)  # g in each m² of a box's outside: tissue paper, 4 cm of oak
DENSEST_FILL: Final = Decimal("0.5")  # g/cm³ of the whole inside; wood wool has about a tenth of that
CARD: Final = Weight(Decimal(500))  # a card is lighter
_MIXED_UP: Final = {
    "metric": "Look at both again: perhaps g and kg, or mm and cm, are mixed up.",
    "customary": "Look at both again: perhaps oz and lb, or in and cm, are mixed up.",
}


def weight_unlikely(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A piece, box, carton, fill or card denser than stone, or lighter than a sponge."""
    shop, measures = listings.catalog.shop, listings.catalog.shop.settings.measures
    hint = _MIXED_UP[measures.system]
    for item in shop.items:
        if item.status is not Status.CLOSED and (why := _dense(item.weight, item.size, measures)):
            weight, size = measures.weight(item.weight), measures.sides(item.size.sides)
            message = f"{item.code} weighs {weight} and is {size}: {why}."
            yield Problem(item_place(shop, item, "weight"), "weight-unlikely", message, hint)
    for key, message in _packaging(shop.packaging, measures):
        yield Problem(Place(PACKAGING, key=key), "weight-unlikely", message, hint)


def net_unlikely(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """More inside than the outside has room for, or a net content that the weight has nothing to do with."""
    shop = listings.catalog.shop
    for item in shop.items:
        if item.status is not Status.CLOSED and (why := _net_fault(item, shop.settings.measures)):
            hint = "Look at the net content, the weight and the size again."
            yield Problem(item_place(shop, item, "net"), "net-unlikely", f"{item.code}: {why}.", hint)


def _net_fault(item: Item, measures: Measures) -> str:
    """Return what speaks against a net content, "" for nothing; too little weight for a mass is told elsewhere."""
    net, grams, room = item.net, item.weight.grams, _cm3(item.size)
    if net is None or net.measure not in (Measure.MASS, Measure.VOLUME):
        return ""
    weight, size = measures.weight(item.weight), measures.sides(item.size.sides)
    if net.measure is Measure.VOLUME and net.total > room:
        return f"{net.text} do not go into {size}, which is {measures.volume(room)} outside"
    if net.measure is Measure.MASS and net.total > room * HEAVIEST:
        return f"{net.text} in {size} would be heavier than stone"
    if net.measure is Measure.VOLUME and 0 < grams < net.total * AIRIEST:
        return f"{weight} is too light for {net.text}, even of something whipped"
    if grams > net.total * TARE and not _dense(item.weight, item.size, measures):
        return f"{weight} is {_plain(grams / net.total)} times the {net.text} in it"
    return ""


def _packaging(packaging: Packaging, measures: Measures) -> Iterator[tuple[KeyPath, str]]:
    """Yield what of the packaging cannot weigh what it says, each with where it says so."""
    hollow: list[tuple[KeyPath, str, Weight, Size]] = []
    for at, box in enumerate(packaging.boxes):
        hollow.append((("box", at, "weight"), f"box {box.code}", box.weight, box.outside or box.inside))
        if box.carton is not None:
            place, what = ("box", at, "carton", "weight"), f"the carton of box {box.code}"
            hollow.append((place, what, box.carton.weight, box.carton.outside))
    for at, case in enumerate(packaging.cases):
        hollow.append((("case", at, "weight"), f"case {case.code}", case.weight, case.outside))
    for key, what, weight, size in hollow:
        if why := _walled(weight, size, measures):
            yield key, f"{what} weighs {measures.weight(weight)} for {measures.sides(size.sides)}: {why}."
    for at, box in enumerate(packaging.boxes):
        if box.fill is not None and box.fill.weight.grams > _cm3(box.inside) * DENSEST_FILL:
            fill, inside = measures.weight(box.fill.weight), measures.sides(box.inside.sides)
            message = f"{fill} of fill in box {box.code} of {inside} is no fill."
            yield ("box", at, "fill", "weight"), message
    if packaging.card is not None and packaging.card.weight > CARD:
        yield ("card", "weight"), f"the card weighs {measures.weight(packaging.card.weight)}, more than any card."


def _dense(weight: Weight, size: Size, measures: Measures) -> str:
    """Return why a piece of this size cannot weigh this; "" where it can, and where nobody has weighed."""
    density = weight.grams / _cm3(size)
    if density > HEAVIEST:
        return f"{measures.density(density)}, heavier than stone or glass"
    return f"{measures.density(density)}, lighter than a sponge" if 0 < density < LIGHTEST else ""


def _walled(weight: Weight, size: Size, measures: Measures) -> str:
    """Return why an empty box of this size cannot weigh this, by the area of its walls."""
    length, width, height = size.sides
    wall = weight.grams / (2 * (length * width + length * height + width * height) / 1_000_000)
    if wall > THICKEST:
        return f"{measures.surface(wall, large=True)} of its walls, more than planks"
    return f"{measures.surface(wall)} of its walls, less than tissue paper" if 0 < wall < THINNEST else ""


def _cm3(size: Size) -> Decimal:
    length, width, height = size.sides
    return length * width * height / 1000


def _plain(number: Decimal) -> str:
    """Return three digits that count.

    >>> _plain(Decimal("8.5177"))
    '8.52'
    """
    return f"{Decimal(f'{number:.3g}').normalize():f}"


# Checks before anything is laid or sent: round pieces are round, boxes larger outside, some rate takes each parcel.

RATES = "rates.csv"


def shape_wrong(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A cylinder whose length is not its width, or a ball with unlike sides, is measured or named wrongly."""
    shop = listings.catalog.shop
    for item in shop.items:
        if item.shape is Shape.BOX or true_round(item) or item.status is Status.CLOSED:
            continue
        alike = "length and width" if item.shape is Shape.CYLINDER else "all three sides"
        message = f"{item.code} is a {item.shape.value} of {shop.settings.measures.sides(item.size.sides)}."
        hint = f'Measure {alike} again: they are alike. Or write "box" as its shape.'
        yield Problem(item_place(shop, item, "size"), "shape-wrong", message, hint)


def rate_missing(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a zone, naming the variants that no service there takes, as long as that is soon said of each zone."""
    shop = listings.catalog.shop
    codes: defaultdict[tuple[WeightFacts, Carton | None], list[tuple[int, str]]] = defaultdict(list)
    offers = (variant for facts in offered_alone_too(listings.catalog) for variant in offered_variants(facts))
    for at, variant in enumerate(offers):
        if variant.weights.parcel is not None:
            codes[variant.weights, variant.carton].append((at, variant.code))
    alike, parcels = tuple(codes.values()), Parcels(codes, shop.settings.freight.packet)  # most weigh as others do
    zones, held = tuple(dict.fromkeys(rate.zone for rate in shop.rates)), 0
    for number, zone in enumerate(zones):
        without = sorted(each for at in parcels.left_by(shop.rates_to(zone)) for each in alike[at])
        if without:
            where = f' to "{zone}"' if zone else ""
            message = f"no service{where} takes {listed([code for _, code in without])}."
            yield Problem(Place(RATES), "rate-missing", message, "Add the steps up to their weight.")
        held += len(without)
        left = len(zones) - number - 1
        if held + parcels.walked > bounds.UNTAKEN and left:
            message = f"what else no service takes is not looked for, with {times(left, 'zone')} left."
            yield Problem(Place(RATES), "rate-missing", message, "Mend what is told of the others, then check again.")
            return


def inside_larger(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A box is larger outside than inside, and goes closed into its carton, turned as it may be."""
    packaging, measures = listings.catalog.shop.packaging, listings.catalog.shop.settings.measures
    for at, box in enumerate(packaging.boxes):
        if box.outside is not None:
            yield from _inside_out(f"box {box.code}", (box.inside, box.outside), ("box", at), measures)
        if box.carton is not None:
            closed, carton = box.outside or box.inside, box.carton.outside
            if any(map(Decimal.__gt__, sorted(closed.sides), sorted(carton.sides))):
                small, large = measures.sides(closed.sides), measures.sides(carton.sides)
                message = f"box {box.code} of {small} does not go into its carton of {large}."
                hint = "Measure both again; a carton is larger than the closed box in it."
                yield Problem(Place(PACKAGING, key=("box", at, "carton", "outside")), "inside-larger", message, hint)
    for at, case in enumerate(packaging.cases):
        yield from _inside_out(f"case {case.code}", (case.inside, case.outside), ("case", at), measures)


def _inside_out(what: str, sizes: tuple[Size, Size], key: KeyPath, measures: Measures) -> Iterator[Problem]:
    """Yield which sides of something are larger inside than outside; `sizes` are both."""
    inside, outside = sizes
    larger = [
        f"{name} {measures.length(within)} inside and {measures.length(without)} outside"
        for name, within, without in zip(("length", "width", "height"), inside.sides, outside.sides, strict=True)
        if within > without
    ]
    if larger:
        hint = "Measure both again, length, width and height in the same order."
        yield Problem(Place(PACKAGING, key=(*key, "outside")), "inside-larger", f"{what}: {listed(larger)}.", hint)


# Checks of declared net contents: a rounded figure never says more than there is.


def net_overstated(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Rounding half up overstates some items (16 CFR 500.19(b) lets a packer round down). Told once."""
    shop = listings.catalog.shop
    if shop.settings.net_contents.rounding != "half up":
        return
    countries = {shop.settings.country, *(channel.country for channel in shop.channels if channel.country)}
    orders = sorted({shop.settings.net_contents.order_in(country) for country in countries})
    raised: dict[str, str] = {}
    for item in (one for one in shop.items if one.net and one.status is not Status.CLOSED):
        for order in orders:
            for up, down in zip(_figures(item, order, "half up"), _figures(item, order, "down"), strict=True):
                if up != down:
                    raised.setdefault(item.code, f"{item.code} {_text(up)} for {_text(down)}")
    if raised:
        message = f'rounding "half up" says more than there is: {listed(list(raised.values()))}.'
        place = Place(SHOP, key=("net_contents", "rounding"))
        yield Problem(place, "net-overstated", message, 'Write "down": a declaration may never overstate.')


def _figures(item: Item, order: str, rounding: str) -> tuple[Figure, ...]:
    rules = Rules(order, "half up" if rounding == "half up" else "down")
    quantity = declaration_of_item(item, rules).groups[0].quantity
    return quantity.figures if quantity else ()


def _text(figure: Figure) -> str:
    return f"{' x '.join(f'{number:f}' for number in figure.numbers)} {figure.unit}"
