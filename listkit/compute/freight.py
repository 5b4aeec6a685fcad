"""What freight counts: volumetric and chargeable weight, girth, and the limits of a small packet.

Exact until the one rounding that practice asks for, always up, with exact multiples left as they are. Divisors,
steps and limits differ between carriers and change; they are settings here, and the owner checks them against
the rate card in force.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from itertools import groupby
from typing import Final, Literal, TypeVar

from listkit.compute.box.fit import judged_in
from listkit.compute.box.searches import Searches
from listkit.compute.catalog import SetFacts, Variant, WeightFacts
from listkit.model.fields import Status
from listkit.model.packaging import Card, Carton, GiftBox, Rate
from listkit.model.settings import Freight, Packet
from listkit.model.shop import Shop
from listkit.units.length import MM_PER_INCH, Length, Size
from listkit.units.money import Money
from listkit.units.weight import NO_WEIGHT, Divisor, Weight

CENTIMETRE: Final = Length(Decimal(10))
INCH: Final = Length(MM_PER_INCH)
_BELOW_ANY: Final = Weight(Decimal(-1))
_Bound = TypeVar("_Bound", int, Decimal)
SIDES: Final = {"as measured": "", "half up": ROUND_HALF_UP, "up": ROUND_CEILING}


@dataclass(frozen=True, slots=True)
class PacketLimits:
    """The largest small packet: sides together, the longest alone, what measuring may be off by, and the weight."""

    together: Length
    longest: Length
    tolerance: Length
    weight: Weight


@dataclass(frozen=True, slots=True)
class Excess:
    """A limit passed: "sides together", "longest side" or "weight", by how many mm or g.

    `tolerated` when measuring alone may account for it.
    """

    limit: str
    over: Decimal
    tolerated: bool


def volumetric_weight(
    size: Size, divisor: Divisor, *, sides: str = "as measured", measure: str | None = None
) -> Weight:
    """Return the weight that freight makes of a volume: cm³ ÷ `divisor` in kg, or in³ ÷ it in lb, unrounded.

    Args:
        size: outside of the carton.
        divisor: above zero.
        sides: "as measured", or each side first rounded "half up" or "up" to a whole centimetre or inch.
        measure: "metric" rounds to centimetres, "customary" to inches; None as the size or the divisor is written.

    Raises:
        ValueError: a divisor not above zero, or another word for `sides`.
    """
    if divisor.number <= 0:
        raise ValueError(f"the divisor must be above zero, not {divisor.number}")
    if sides not in SIDES:
        raise ValueError(f"sides are taken {', '.join(SIDES)}, not {sides!r}")
    customary = size.inches or divisor.inches if measure is None else measure == "customary"
    rounding, step = SIDES[sides], (INCH if customary else CENTIMETRE).mm
    length, width, height = (
        (side / step).to_integral_value(rounding) * step if rounding else side for side in size.sides
    )
    return divisor.weight_of(length * width * height)


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


def packet_excess(size: Size, weight: Weight, limits: PacketLimits) -> tuple[Excess, ...]:
    """Return every limit of a small packet that this one passes; none when it may go as one."""
    together = sum(size.sides) - limits.together.mm
    longest = max(size.sides) - limits.longest.mm
    excess = (
        Excess("sides together", together, tolerated=together <= limits.tolerance.mm),
        Excess("longest side", longest, tolerated=longest <= limits.tolerance.mm),
        Excess("weight", weight.grams - limits.weight.grams, tolerated=False),
    )
    return tuple(each for each in excess if each.over > 0)


# Postage: what sending a variant costs by the owner's own rates, and how far it is above the step below.
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
    small = all(each.tolerated for each in excess)
    return tuple(_postages(weights, rates, small=small))


def _postages(weights: WeightFacts, rates: Iterable[Rate], *, small: bool) -> Iterator[Postage]:
    if weights.parcel is None or weights.chargeable is None:
        return
    for service in services(rates):
        counted = weights.parcel if service.packet else weights.chargeable
        at = bisect_left(service.steps, counted, key=lambda rate: rate.up_to)
        if at < len(service.steps) and service.over < counted and (small or not service.packet):
            by_volume = not service.packet and weights.chargeable > weights.parcel
            yield _at_step(service.steps, at, counted, by_volume=by_volume)


@dataclass(frozen=True, slots=True)
class Service:
    """A service to one zone: its steps, the lowest first, and whether it takes small packets alone."""

    steps: tuple[Rate, ...]
    packet: bool

    @property
    def over(self) -> Weight:
        """The weight that a parcel must be above."""
        return self.steps[0].over or _BELOW_ANY


def services(rates: Iterable[Rate]) -> Iterator[Service]:
    """Yield the services that rates are of, in their order; the steps of each follow each other."""
    for _, rows in groupby(rates, key=lambda rate: (rate.service, rate.zone)):
        steps = tuple(sorted(rows, key=lambda rate: rate.up_to))
        yield Service(steps, any(rate.packet for rate in steps))


class Parcels:
    """Parcels that are held against the rates to one zone after the other, each with its number among all."""

    def __init__(self, parcels: Iterable[tuple[WeightFacts, Carton | None]], packet: Packet) -> None:
        of = [
            (weights.chargeable, weights.parcel, number, all(each.tolerated for each in excess))
            for number, (weights, carton) in enumerate(parcels)
            if weights.chargeable is not None
            and weights.parcel is not None
            and (excess := packet_faults(weights, carton, packet)) is not None
        ]
        self._sorted = sorted(of)
        self._counted = [counted for counted, *_ in self._sorted]
        self.walked = 0  # one by one, of all zones

    def left_by(self, rates: Iterable[Rate]) -> Iterator[int]:
        """Yield the numbers of those that no service takes; only those that a packet would have to take are walked."""
        offered = tuple(services(rates))
        packets = _together((each.over.grams, each.steps[-1].up_to.grams) for each in offered if each.packet)
        begins = [begin for begin, _ in packets]
        taken = _together(
            (bisect_right(self._counted, each.over), bisect_right(self._counted, each.steps[-1].up_to))
            for each in offered
            if not each.packet
        )
        at = 0
        for begin, end in (*taken, (len(self._sorted), 0)):
            self.walked += begin - at
            for _, parcel, number, small in self._sorted[at:begin]:
                before = bisect_left(begins, parcel.grams) - 1 if small else -1
                if before < 0 or parcel.grams > packets[before][1]:
                    yield number
            at = end


def _together(ranges: Iterable[tuple[_Bound, _Bound]]) -> list[tuple[_Bound, _Bound]]:
    """Return ranges in their order, those that touch as one; each is above its first number, up to its second."""
    joined: list[tuple[_Bound, _Bound]] = []
    for begin, end in sorted(ranges):
        if joined and begin <= joined[-1][1]:
            joined[-1] = joined[-1][0], max(joined[-1][1], end)
        elif begin < end:
            joined.append((begin, end))
    return joined


def _at_step(steps: Sequence[Rate], at: int, counted: Weight, *, by_volume: bool) -> Postage:
    """Return what the step asks that takes the weight, and what the step below would save."""
    rate, below = steps[at], steps[at - 1] if at else None
    cheaper = below if below is not None and below.price < rate.price else None
    return Postage(
        service=rate.service,
        zone=rate.zone,
        packet=any(step.packet for step in steps),
        counted=counted,
        up_to=rate.up_to,
        price=rate.price,
        by_volume=by_volume,
        lighter=counted - cheaper.up_to if cheaper else None,
        saves=rate.price - cheaper.price if cheaper else None,
    )


def cheapest(postages: Iterable[Postage]) -> tuple[Postage, ...]:
    """Return the cheapest of each zone, in the order of the zones; of equals the first."""
    by_zone: dict[str, Postage] = {}
    for asked in postages:
        if asked.zone not in by_zone or asked.price < by_zone[asked.zone].price:
            by_zone[asked.zone] = asked
    return tuple(by_zone.values())


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
    volumetric = volumetric_weight(carton.outside, freight.divisor, sides=freight.sides, measure=freight.measure)
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


def ways_down(facts: SetFacts, variant: Variant, above: Postage, shop: Shop, searches: Searches) -> tuple[Way, ...]:
    """Return every way that brings a variant down the step that it is `above`; none where there is no step below."""
    if above.lighter is None:
        return ()
    most = above.counted - above.lighter
    chosen: list[Way] = []
    for ways in (
        _variants(facts, variant),
        _items(facts, variant, shop),
        _boxes(facts, variant, shop, searches),
        _card(facts, variant, shop),
    ):
        counted = ((way, weights.parcel if above.packet else weights.chargeable) for way, weights in ways)
        chosen += [way for way, weight in counted if weight is not None and weight <= most][:_MOST]
    return tuple(chosen)


def _variants(facts: SetFacts, variant: Variant) -> Iterator[tuple[Way, WeightFacts]]:
    """Yield the variants that differ in one choice, and their weights."""
    for rival in facts.variants:
        pairs = zip(variant.choices, rival.choices, strict=True)
        if sum(choice.item.code != its.item.code for choice, its in pairs) == 1:
            yield Way("variant", rival.code), rival.weights


def _items(facts: SetFacts, variant: Variant, shop: Shop) -> Iterator[tuple[Way, WeightFacts]]:
    """Yield what the parcel weighs with another item of the same form and size, the least lighter first."""
    in_set = {item.code for item in facts.items}
    for piece in variant.pieces:
        item = piece.item
        lighter = [
            rival
            for rival in shop.items
            if rival.code not in in_set
            and (rival.form, rival.size, rival.shape) == (item.form, item.size, item.shape)
            and rival.weight < item.weight
            and rival.status is Status.ON_SALE
        ]
        for rival in sorted(lighter, key=lambda rival: (item.weight - rival.weight, rival.code)):
            gift = variant.weights.gift - (item.weight - rival.weight) * piece.quantity
            yield Way("item", rival.code, item.code), weight_facts(gift, variant.carton, shop.settings.freight)


def _boxes(facts: SetFacts, variant: Variant, shop: Shop, searches: Searches) -> Iterator[tuple[Way, WeightFacts]]:
    """Yield the boxes of the shop that hold the variant as well, and its weights in each."""
    for box in shop.packaging.boxes:
        if variant.box is None or box.code == variant.box.code:
            continue
        gift = variant.weights.gift - packing_weight(variant.box, None) + packing_weight(box, None)
        stacked, packing = facts.source.gift_set.stacked, shop.settings.packing
        if judged_in(box, variant.pieces, packing, searches, stacked=stacked).fits:
            yield Way("box", box.code), weight_facts(gift, box.carton, shop.settings.freight)


def _card(facts: SetFacts, variant: Variant, shop: Shop) -> Iterator[tuple[Way, WeightFacts]]:
    """Yield the set without its card, if the card weighs anything."""
    if facts.card is not None and facts.card.weight > NO_WEIGHT:
        gift = variant.weights.gift - facts.card.weight
        yield Way("card", ""), weight_facts(gift, variant.carton, shop.settings.freight)
