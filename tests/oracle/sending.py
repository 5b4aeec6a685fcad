"""Boxes, weights and postage of a variant."""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import combinations, permutations
from math import ceil, floor

from tests.oracle.reading import GRAMS, MILLIMETRES, Item, Shop, Table, grams, sides, up_to_step
from tests.oracle.variants import Variant, variants_of

Plan = tuple[tuple[tuple[Fraction, Fraction], ...], ...]
"""For each piece the ways it may lie, seen from above."""


# Boxes


def packed_in(table: Table, shop: Shop) -> Table | None:
    """Return the set's box; for "smallest" the smallest inside that takes the pieces of every variant."""
    code = table["box"]
    if code == "none":
        return None
    if code != "smallest":
        named: Table = next(box for box in shop.packaging["box"] if box["code"] == code)
        return named
    return _smallest(table, shop)


def _smallest(table: Table, shop: Shop) -> Table | None:
    every = variants_of(table, shop)
    boxes: list[Table] = shop.packaging["box"]
    for box in sorted(boxes, key=lambda box: (_volume(sides(box["inside"])), box["code"])):
        if all(carries(each.pieces, box) and fits(each.pieces, box, shop) for each in every):
            return box
    return None


def carries(pieces: Iterable[tuple[Item, int]], box: Table) -> bool:
    """Whether the pieces are not too heavy for a box."""
    limit = box.get("most_weight")
    return limit is None or sum(quantity * item.weight for item, quantity in pieces) <= grams(limit)


def fits(pieces: Iterable[tuple[Item, int]], box: Table, shop: Shop) -> bool:
    """Whether the pieces lie side by side in a box, none above another.

    Exact for up to four pieces: four rectangles that lie apart can always be parted by straight cuts, as five may not.
    """
    single = [item for item, quantity in pieces for _ in range(quantity)]
    spare = clearance(shop)
    length, width, height = (side - spare for side in sides(box["inside"]))
    plan = tuple(tuple(sorted(_ways(item, height))) for item in single)
    return all(plan) and _cut_apart(plan, length, width)


def clearance(shop: Shop) -> Fraction:
    """Return what is taken once from each inner side."""
    stated = shop.settings.get("packing", {}).get("clearance")
    return sides(f"0 x 0 x {stated}")[2] if stated else Fraction(3)


def _ways(item: Item, height: Fraction) -> set[tuple[Fraction, Fraction]]:
    turned = permutations(item.size)
    return {(a, b) for a, b, up in turned if up <= height and (up == item.size[2] or not item.upright)}


@lru_cache(maxsize=100_000)
def _cut_apart(plan: Plan, length: Fraction, width: Fraction) -> bool:
    if len(plan) == 1:
        return any(a <= length and b <= width for a, b in plan[0])
    return any(
        _cut(tuple(plan[at] for at in chosen), tuple(plan[at] for at in range(len(plan)) if at not in chosen), room)
        for many in range(1, len(plan) // 2 + 1)
        for chosen in combinations(range(len(plan)), many)
        for room in ((length, width), (width, length))
    )


def _cut(some: Plan, others: Plan, room: tuple[Fraction, Fraction]) -> bool:
    """Whether `some` lie on one side of a cut across the room's first side, in as little of it as they can."""
    least = next((at for at in _spans(some, room[0]) if _cut_apart(_canonical(some), at, room[1])), None)
    return least is not None and _cut_apart(_canonical(others), room[0] - least, room[1])


def _canonical(plan: Plan) -> Plan:
    return tuple(sorted(plan))


def _spans(plan: Plan, most: Fraction) -> list[Fraction]:
    """Return every length that pieces side by side may need, from the shortest on."""
    sums = {Fraction(0)}
    for ways in plan:
        sums |= {known + side for known in sums for way in ways for side in way}
    return sorted(span for span in sums if 0 < span <= most)


def _volume(size: tuple[Fraction, Fraction, Fraction]) -> Fraction:
    return size[0] * size[1] * size[2]


def fill_share(variant: Variant, shop: Shop) -> Fraction | None:
    """Return the bounding volumes of the pieces as a share of the box's inside."""
    box = packed_in(variant.table, shop)
    if box is None:
        return None
    pieces = sum(quantity * _volume(item.size) for item, quantity in variant.pieces)
    return pieces / _volume(sides(box["inside"]))


# Weights


def carton_of(table: Table, shop: Shop) -> Table | None:
    """Return what the set is sent in: its box's carton, without box its own."""
    box = packed_in(table, shop)
    carton: Table | None = (table if box is None else box).get("carton")
    return carton


@dataclass(frozen=True)
class Weights:
    """Grams; None where there is no carton."""

    gift: Fraction
    parcel: Fraction | None = None
    volumetric: Fraction | None = None
    chargeable: Fraction | None = None


def weights(variant: Variant, shop: Shop) -> Weights:
    """Return what a variant weighs closed, on the scales and by volume."""
    gift = sum((quantity * item.weight for item, quantity in variant.pieces), Fraction(0))
    box, card = packed_in(variant.table, shop), shop.packaging.get("card")
    if box is not None:
        gift += grams(box["weight"]) + (grams(box["fill"]["weight"]) if "fill" in box else 0)
        gift += grams(card["weight"]) if card and variant.table.get("card", True) else 0
    carton = carton_of(variant.table, shop)
    if carton is None:
        return Weights(gift)
    parcel, volumetric = gift + grams(carton["weight"]), by_volume(carton["outside"], shop)
    step = grams(shop.freight.get("step", "1 g"))
    return Weights(gift, parcel, volumetric, up_to_step(max(parcel, volumetric), step))


def by_volume(outside: str, shop: Shop) -> Fraction:
    """Return what freight makes of a carton's volume: sides to whole centimetres or inches first, where it says so."""
    divisor = str(shop.freight.get("divisor", "5000"))
    number, _, unit = divisor.partition(" ")
    inches = unit == "in³/lb"
    each = MILLIMETRES["in" if inches else "cm"] ** 3 / Fraction(number) * GRAMS["lb" if inches else "kg"] / 1
    measures = [_rounded_side(side, outside, shop, inches=inches) for side in sides(outside)]
    return measures[0] * measures[1] * measures[2] / MILLIMETRES["in" if inches else "cm"] ** 6 * each


def _rounded_side(side: Fraction, outside: str, shop: Shop, *, inches: bool) -> Fraction:
    rule = shop.freight.get("sides", "as measured")
    usual = "customary" if inches or outside.endswith("in") else "metric"
    unit = MILLIMETRES["in" if shop.freight.get("measure", usual) == "customary" else "cm"]
    if rule == "as measured":
        return side
    return (ceil(side / unit) if rule == "up" else floor(side / unit + Fraction(1, 2))) * unit


# Postage


@dataclass(frozen=True)
class Postage:
    """What one service asks for a parcel, and what the step below would save."""

    service: str
    zone: str
    counted: Fraction
    up_to: Fraction
    price: Fraction
    lighter: Fraction | None
    saves: Fraction | None


def packet_excess(variant: Variant, shop: Shop) -> list[tuple[Fraction, Fraction]] | None:
    """Return by how much a parcel is over each limit of a small packet, and what is tolerated; None without carton."""
    carton, of = carton_of(variant.table, shop), weights(variant, shop)
    if carton is None or of.parcel is None:
        return None
    stated = shop.freight.get("packet", {})
    outside = sides(carton["outside"])
    tolerance = _length(stated.get("tolerance", "2 mm"))
    pairs = (
        (sum(outside) - _length(stated.get("together", "900 mm")), tolerance),
        (max(outside) - _length(stated.get("longest", "600 mm")), tolerance),
        (of.parcel - grams(stated.get("weight", "2 kg")), Fraction(0)),
    )
    return [(Fraction(over), most) for over, most in pairs if over > 0]


def _length(text: str) -> Fraction:
    return sides(f"0 x 0 x {text}")[2]


def is_packet(variant: Variant, shop: Shop) -> bool | None:
    """Whether a parcel is a small packet, measured well."""
    excess = packet_excess(variant, shop)
    return None if excess is None else all(over <= most for over, most in excess)


def length_and_girth(variant: Variant, shop: Shop) -> Fraction | None:
    """Return the longest side and twice the two others."""
    carton = carton_of(variant.table, shop)
    if carton is None:
        return None
    *shorter, longest = sorted(sides(carton["outside"]))
    return longest + 2 * sum(shorter)


def postages(variant: Variant, shop: Shop) -> tuple[Postage, ...]:
    """Return what each service asks, in the order of rates.csv; services that do not take the parcel are left out."""
    of, asked = weights(variant, shop), []
    if of.parcel is None or of.chargeable is None:
        return ()
    for service, zone in dict.fromkeys((rate["service"], rate["zone"]) for rate in shop.rates):
        rows = [rate for rate in shop.rates if (rate["service"], rate["zone"]) == (service, zone)]
        rows.sort(key=lambda rate: grams(rate["up to"]))
        packet = rows[0]["packet"] == "yes"
        if packet and not is_packet(variant, shop):
            continue
        counted = of.parcel if packet else of.chargeable
        reached = [rate for rate in rows if counted <= grams(rate["up to"])]
        if not reached:
            continue
        row, below = reached[0], [rate for rate in rows if counted > grams(rate["up to"])]
        saves = Fraction(row["price"]) - Fraction(below[-1]["price"]) if below else None
        lighter = counted - grams(below[-1]["up to"]) if below else None
        asked.append(Postage(service, zone, counted, grams(row["up to"]), Fraction(row["price"]), lighter, saves))
    return tuple(asked)


def cheapest_postage(variant: Variant, channel: Table, shop: Shop) -> Fraction:
    """Return what the cheapest service to a channel's own zone asks; 0 where none is stated or takes it."""
    if "zone" not in channel:
        return Fraction(0)
    return min((each.price for each in postages(variant, shop) if each.zone == channel["zone"]), default=Fraction(0))
