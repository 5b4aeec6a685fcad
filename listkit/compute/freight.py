"""What freight counts: volumetric and chargeable weight, girth, and the limits of a small packet.

Exact until the one rounding that practice asks for, always up, with exact multiples left as they are. Divisors,
steps and limits differ between carriers and change; they are settings here, and the owner checks them against
the rate card in force.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from itertools import groupby
from typing import Final, Literal

from listkit.compute.box.fit import verdict_in
from listkit.compute.catalog import SetFacts, Variant, WeightFacts
from listkit.model.fields import Status
from listkit.model.packaging import Card, Carton, GiftBox, Rate
from listkit.model.settings import Freight, Packet
from listkit.model.shop import Shop
from listkit.units.length import Length, Size
from listkit.units.money import Money
from listkit.units.weight import NO_WEIGHT, Weight

CENTIMETRE: Final = Length(Decimal(10))
SIDES: Final = {"as measured": "", "half up": ROUND_HALF_UP, "up": ROUND_CEILING}


@dataclass(frozen=True, slots=True)
class PacketLimits:
    """The largest small packet: sides together, the longest alone, what measuring may be off by, and the weight."""

    together: Length
    longest: Length
    tolerance: Length
    weight: Weight


# Universal Postal Union letter post, as national posts publish it: L + W + H ≤ 900 mm, longest ≤ 600 mm, ± 2 mm, 2 kg.
SMALL_PACKET: Final = PacketLimits(
    Length(Decimal(900)), Length(Decimal(600)), Length(Decimal(2)), Weight(Decimal(2000))
)


@dataclass(frozen=True, slots=True)
class Excess:
    """A limit passed: "sides together", "longest side" or "weight", by how many mm or g.

    `tolerated` when measuring alone may account for it.
    """

    limit: str
    over: Decimal
    tolerated: bool


def volumetric_weight(
    size: Size, divisor: Decimal, *, sides: str = "as measured", whole: Length = CENTIMETRE
) -> Weight:
    """Return the weight that freight makes of a volume: cm³ ÷ `divisor` in kg, unrounded.

    Args:
        size: outside of the carton.
        divisor: cubic centimetres a kilogram, above zero.
        sides: "as measured", or each side first rounded "half up" or "up" to a multiple of `whole`.
        whole: the unit that sides are rounded to; a centimetre, or an inch where inches are used.

    Raises:
        ValueError: a divisor not above zero, or another word for `sides`.
    """
    if divisor <= 0:
        raise ValueError(f"the divisor must be above zero, not {divisor}")
    if sides not in SIDES:
        raise ValueError(f"sides are taken {', '.join(SIDES)}, not {sides!r}")
    length, width, height = (_rounded(side, SIDES[sides], whole.mm) for side in size.sides)
    return Weight(length * width * height / divisor)  # mm³ to cm³ and kg to g are both a thousand


def chargeable_weight(actual: Weight, volumetric: Weight, step: Weight) -> Weight:
    """Return the greater of the two, up to the next whole `step`; exact multiples are not bumped."""
    return max(actual, volumetric).up_to(step)


def girth(size: Size) -> Length:
    """Return the way round across the longest side: twice the two shorter sides."""
    shortest, middle, _ = sorted(size.sides)
    return Length(2 * (shortest + middle))


def length_and_girth(size: Size) -> Length:
    """Return the longest side and the girth together, which parcel rates limit."""
    return Length(max(size.sides) + girth(size).mm)


def packet_excess(size: Size, weight: Weight, limits: PacketLimits = SMALL_PACKET) -> tuple[Excess, ...]:
    """Return every limit of a small packet that this one passes; none when it may go as one."""
    return tuple(_excess(size, weight, limits))


def _excess(size: Size, weight: Weight, limits: PacketLimits) -> Iterator[Excess]:
    together = sum(size.sides) - limits.together.mm
    longest = max(size.sides) - limits.longest.mm
    heavier = weight.grams - limits.weight.grams
    if together > 0:
        yield Excess("sides together", together, tolerated=together <= limits.tolerance.mm)
    if longest > 0:
        yield Excess("longest side", longest, tolerated=longest <= limits.tolerance.mm)
    if heavier > 0:
        yield Excess("weight", heavier, tolerated=False)


def _rounded(side: Decimal, rounding: str, whole: Decimal) -> Decimal:
    return (side / whole).to_integral_value(rounding) * whole if rounding else side


# Postage: what sending a variant costs by the owner's own rates, and how far it lies above the step below.
#
# A service of small packets counts the parcel's own weight and takes only what keeps to the packet's limits; every
# other counts the chargeable weight. Exact; nothing is rounded but what freight rounded already.


@dataclass(frozen=True, slots=True)
class Postage:
    """What one service asks: the step that takes the parcel, the weight that counts.

    `lighter` is by how much less weight it would go one step cheaper, and `saves` what that saves; None on a
    service's lowest step, or where the step below costs no less. `by_volume` when only a smaller carton would help.
    """

    service: str
    zone: str
    packet: bool
    counted: Weight
    up_to: Weight
    price: Money
    by_volume: bool
    lighter: Weight | None = None
    saves: Money | None = None


def limits_of(packet: Packet) -> PacketLimits:
    """Return the shop's limits of a small packet."""
    return PacketLimits(packet.together, packet.longest, packet.tolerance, packet.weight)


def packet_faults(weights: WeightFacts, carton: Carton | None, packet: Packet) -> tuple[Excess, ...] | None:
    """Return what keeps a parcel from being a small packet; None where it has no carton."""
    if carton is None or weights.parcel is None:
        return None
    return packet_excess(carton.outside, weights.parcel, limits_of(packet))


def postage(weights: WeightFacts, carton: Carton | None, rates: Iterable[Rate], packet: Packet) -> tuple[Postage, ...]:
    """Return what each service that takes the parcel asks, in the order of the rates; none without a carton."""
    excess = packet_faults(weights, carton, packet)
    if excess is None:
        return ()
    small = all(one.tolerated for one in excess)
    return tuple(_postages(weights, rates, small=small))


def _postages(weights: WeightFacts, rates: Iterable[Rate], *, small: bool) -> Iterator[Postage]:
    if weights.parcel is None or weights.chargeable is None:
        return
    for _, rows in groupby(rates, key=lambda rate: (rate.service, rate.zone)):
        steps = sorted(rows, key=lambda rate: rate.up_to)
        packet = any(rate.packet for rate in steps)
        counted = weights.parcel if packet else weights.chargeable
        at = next((at for at, rate in enumerate(steps) if counted <= rate.up_to), None)
        begins = steps[0].over is None or steps[0].over < counted
        if at is not None and begins and (small or not packet):
            yield _at_step(steps, at, counted, by_volume=not packet and weights.chargeable > weights.parcel)


def _at_step(steps: list[Rate], at: int, counted: Weight, *, by_volume: bool) -> Postage:
    rate, below = steps[at], steps[at - 1] if at else None
    packet = any(one.packet for one in steps)
    told = Postage(rate.service, rate.zone, packet, counted, rate.up_to, rate.price, by_volume)
    if below is None or below.price >= rate.price:
        return told
    return replace(told, lighter=counted - below.up_to, saves=rate.price - below.price)


def cheapest(postages: Iterable[Postage]) -> tuple[Postage, ...]:
    """Return the cheapest of each zone, in the order of the zones; of equals the first."""
    found: dict[str, Postage] = {}
    for one in postages:
        if one.zone not in found or one.price < found[one.zone].price:
            found[one.zone] = one
    return tuple(found.values())


# Weights of the closed gift and of its parcel, exact in grams.


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


# What would bring a parcel one step down: another option, another item of its kind, another box, no card.
#
# Each way is reckoned anew with all that changes with it; only ways that lead down to the step are given.

_MOST: Final = 3  # ways of one kind


@dataclass(frozen=True, slots=True)
class Way:
    """One way down: another variant, another item instead of one, another box, or the set without its card."""

    kind: Literal["variant", "item", "box", "card"]
    code: str
    instead_of: str = ""


def ways_down(found: SetFacts, one: Variant, above: Postage, shop: Shop) -> tuple[Way, ...]:
    """Return every way that brings `one` down the step that it lies `above`; none where there is no step below."""
    if above.lighter is None:
        return ()
    most = above.counted - above.lighter
    kinds = (_variants(found, one), _items(found, one, shop), _boxes(found, one, shop), _card(found, one, shop))
    return tuple(way for ways in kinds for way in _first(ways, most, above))


def _first(ways: Iterator[tuple[Way, WeightFacts]], most: Weight, above: Postage) -> list[Way]:
    counted = ((way, facts.parcel if above.packet else facts.chargeable) for way, facts in ways)
    return [way for way, weight in counted if weight is not None and weight <= most][:_MOST]


def _variants(found: SetFacts, one: Variant) -> Iterator[tuple[Way, WeightFacts]]:
    for other in found.variants:
        pairs = zip(one.choices, other.choices, strict=True)
        if sum(mine.item.code != its.item.code for mine, its in pairs) == 1:
            yield Way("variant", other.code), other.weights


def _items(found: SetFacts, one: Variant, shop: Shop) -> Iterator[tuple[Way, WeightFacts]]:
    """Yield what the parcel weighs with another item of the same form and size, the least lighter first."""
    own = {item.code for item in found.items}
    for piece in one.pieces:
        item = piece.item
        others = [
            other
            for other in shop.items
            if other.code not in own
            and (other.form, other.size, other.shape) == (item.form, item.size, item.shape)
            and other.weight < item.weight
            and other.status is Status.ON_SALE
        ]
        for other in sorted(others, key=lambda other: (item.weight - other.weight, other.code)):
            gift = one.weights.gift - (item.weight - other.weight) * piece.quantity
            yield Way("item", other.code, item.code), weight_facts(gift, found.carton, shop.settings.freight)


def _boxes(found: SetFacts, one: Variant, shop: Shop) -> Iterator[tuple[Way, WeightFacts]]:
    for box in shop.packaging.boxes:
        if found.box is None or box.code == found.box.code:
            continue
        gift = one.weights.gift - packing_weight(found.box, None) + packing_weight(box, None)
        facts = weight_facts(gift, box.carton, shop.settings.freight)
        stacked = found.source.gift_set.stacked
        if verdict_in(box, one.pieces, shop.settings.packing, stacked=stacked).fits:
            yield Way("box", box.code), facts


def _card(found: SetFacts, one: Variant, shop: Shop) -> Iterator[tuple[Way, WeightFacts]]:
    if found.card is not None and found.card.weight > NO_WEIGHT:
        gift = one.weights.gift - found.card.weight
        yield Way("card", ""), weight_facts(gift, found.carton, shop.settings.freight)
