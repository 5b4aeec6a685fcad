"""Weights of the closed gift and of its parcel, exact in grams."""

from decimal import Decimal

from listkit.compute.catalog import WeightFacts
from listkit.compute.freight import chargeable_weight, volumetric_weight
from listkit.model.packaging import Card, Carton, GiftBox
from listkit.model.settings import Freight
from listkit.units.length import Size
from listkit.units.weight import NO_WEIGHT, Weight


def packing_weight(box: GiftBox | None, card: Card | None) -> Weight:
    """Return what box, fill and card weigh together."""
    weight = NO_WEIGHT
    if box is not None:
        weight += box.weight + (box.fill.weight if box.fill else NO_WEIGHT)
    return weight + card.weight if card is not None else weight


def weight_facts(gift: Weight, carton: Carton | None, freight: Freight) -> WeightFacts:
    """Return the parcel's weights for a gift of this weight; without a carton only the gift's is known."""
    if carton is None:
        return WeightFacts(gift, None, None, None)
    parcel = gift + carton.weight
    volumetric = volumetric_weight(carton.outside, freight.divisor, sides=freight.sides)
    return WeightFacts(gift, parcel, volumetric, chargeable_weight(parcel, volumetric, freight.step))


def fill_share(pieces_volume: Decimal, inside: Size) -> Decimal:
    """Return the share of the inside that the pieces' bounding blocks take; volumes in mm³."""
    return pieces_volume / inside.volume
