"""Postage: what sending a variant costs by the owner's own rates, and how far it lies above the step below.

A service of small packets counts the parcel's own weight and takes only what keeps to the packet's limits; every
other counts the chargeable weight. Exact; nothing is rounded but what freight rounded already.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import groupby

from listkit.compute.catalog import WeightFacts
from listkit.compute.freight import Excess, PacketLimits, packet_excess
from listkit.model.packaging import Carton
from listkit.model.rates import Rate
from listkit.model.settings import Packet
from listkit.units.money import Money
from listkit.units.weight import Weight


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
