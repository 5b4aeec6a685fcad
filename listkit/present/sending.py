"""What sending costs: small packet or not, postage by the owner's rates, what would bring it a step down, cases."""

from decimal import ROUND_HALF_UP, Decimal
from math import ceil
from typing import Any, Final

from listkit.compute.case import Cased, CaseFacts, case_facts
from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.compute.freight import Postage, Way, cheapest, length_and_girth, packet_faults, postage, ways_down
from listkit.compute.sales import sale_on
from listkit.model.channel import Channel
from listkit.model.packaging import GiftBox
from listkit.present.table import percent, plain_number, table, weight_text
from listkit.units.money import Money
from listkit.units.shown import Measures
from listkit.units.weight import Weight

_MOST_GROUPS: Final = 4  # of boxes that stand alike, told one by one


def sending_text(facts: SetFacts, variant: Variant, catalog: Catalog) -> str:
    """Return what sending one variant costs, as lines; "" for a set that is sent without carton."""
    lines: list[str] = []
    if variant.carton:
        lines.append(f"small packet           {_packet(variant, catalog)}")
        around = catalog.shop.settings.measures.length(length_and_girth(variant.carton.outside).mm)
        lines.append(f"length and girth       {around}")
    asked = _postages(variant, catalog)
    if asked:
        lines += ["", _postage_table(asked, catalog.shop.settings.measures)]
        lines += [words for each in asked if (words := _step_down(facts, variant, each, catalog))]
        lines += _free(variant, facts, asked, catalog)
    return "\n".join(lines)


def sending_rows(variants: tuple[Variant, ...], catalog: Catalog) -> list[list[str]]:
    """Return as rows, a cell a variant, whether it goes as a small packet, and the cheapest service to each zone."""
    rows = []
    if any(variant.carton for variant in variants):
        packets = (_packet(variant, catalog).partition(":")[0] for variant in variants)
        rows.append(["small packet", *packets])
    asked = [{each.zone: each for each in cheapest(_postages(one, catalog))} for one in variants]
    for zone in dict.fromkeys(zone for best in asked for zone in best):
        says = [f"{best[zone].service} {best[zone].price}" if zone in best else "" for best in asked]
        rows.append([f"postage {zone}".rstrip(), *says])
    return rows


def sending_lines(facts: SetFacts, variants: tuple[Variant, ...], catalog: Catalog) -> list[str]:
    """Return what would bring parcels a step down, and what free postage costs; what several share is told once."""
    said: dict[str, list[str]] = {}
    for variant in variants:
        asked = _postages(variant, catalog)
        lines = [words for each in asked if (words := _step_down(facts, variant, each, catalog))]
        for line in [*lines, *(_free(variant, facts, asked, catalog) if asked else [])]:
            said.setdefault(line, []).append(variant.code)
    every = len(variants)
    return [line if len(codes) == every else f"{', '.join(codes)}: {line}" for line, codes in said.items()]


def sending_json(facts: SetFacts, variant: Variant, catalog: Catalog) -> dict[str, Any]:
    """Return the same for scripts; "small_packet" and "length_and_girth", in mm, are null without a carton."""
    excess = packet_faults(variant.weights, variant.carton, catalog.shop.settings.freight.packet)
    return {
        "small_packet": None if excess is None else all(fault.tolerated for fault in excess),
        "length_and_girth": plain_number(length_and_girth(variant.carton.outside).mm if variant.carton else None),
        "postage": [
            {
                "service": each.service,
                "zone": each.zone,
                "counted": plain_number(each.counted.grams),
                "up_to": plain_number(each.up_to.grams),
                "price": str(each.price),
                "lighter": plain_number(each.lighter.grams if each.lighter else None),
                "saves": str(each.saves) if each.saves else None,
            }
            for each in _postages(variant, catalog)
        ],
    }


def cases_text(facts: SetFacts, variants: tuple[Variant, ...], catalog: Catalog) -> str:
    """Return how many closed boxes go into each case, how they stand, and what it weighs."""
    cases = catalog.shop.packaging.cases
    if not cases:
        return ""
    wanted = catalog.shop.wholesale.case_pack.sets if catalog.shop.wholesale else None
    lines = []
    for box, inside in _in_boxes(facts, variants):
        prefix = f"box {box.code}, " if len(facts.boxes) > 1 else ""
        if box.outside is None:
            lines.append(f"cases: box {box.code} states no outside, so nobody can say how many go into one.")
        full = [case for each in cases if (case := case_facts(box, each, inside)) is not None]
        lines += [prefix + _case(case, wanted, catalog.shop.settings.measures) for case in full]
    return "\n".join(lines)


def _in_boxes(facts: SetFacts, variants: tuple[Variant, ...]) -> list[tuple[GiftBox, tuple[Variant, ...]]]:
    """Return each box of the set with those of the variants that lie in it; a box without any is left out."""
    by_box = [(box, tuple(each for each in variants if each.box is box)) for box in facts.boxes]
    return [(box, inside) for box, inside in by_box if inside]


def cases_json(facts: SetFacts, variants: tuple[Variant, ...], catalog: Catalog) -> list[dict[str, Any]]:
    """Return the same for scripts: how many stand along, across and up, and the sides turned so, in mm."""
    in_boxes = _in_boxes(facts, variants)
    cases_of_set = [
        (box, case_facts(box, each, inside)) for box, inside in in_boxes for each in catalog.shop.packaging.cases
    ]
    return [
        {
            "code": case.case.code,
            "box": box.code,
            "holds": case.cased.count,
            "stands": [
                {
                    "along": group.along,
                    "across": group.across,
                    "up": group.up,
                    "sides": [plain_number(side) for side in group.sides.sides],
                }
                for group in case.cased.stands
            ],
            "weight": plain_number(case.weight.grams),
        }
        for box, case in cases_of_set
        if case is not None
    ]


def _postages(variant: Variant, catalog: Catalog) -> tuple[Postage, ...]:
    return postage(variant.weights, variant.carton, catalog.shop.rates, catalog.shop.settings.freight.packet)


def _packet(variant: Variant, catalog: Catalog) -> str:
    faults = packet_faults(variant.weights, variant.carton, catalog.shop.settings.freight.packet) or ()
    measures = catalog.shop.settings.measures
    told = []
    for each in faults:
        over = measures.weight(Weight(each.over)) if each.limit == "weight" else measures.length(each.over)
        told.append(f"{each.limit} {over} over")
    if not all(fault.tolerated for fault in faults):
        return f"no: {', '.join(told)}"
    return f"yes, if measured well: {', '.join(told)}" if told else "yes"


def _postage_table(asked: tuple[Postage, ...], measures: Measures) -> str:
    best = cheapest(asked)
    rows = [["postage", "zone", "counts", "up to", "price", ""]]
    rows += [
        [
            each.service,
            each.zone,
            weight_text(each.counted, measures),
            weight_text(each.up_to, measures),
            str(each.price),
            "cheapest" if each in best else "",
        ]
        for each in asked
    ]
    return table(rows, left=2)


def _step_down(facts: SetFacts, variant: Variant, above: Postage, catalog: Catalog) -> str:
    """Return what would bring a parcel down that lies just above a step; "" for all others."""
    shop = catalog.shop
    if above.lighter is None or above.saves is None or above.lighter > shop.settings.freight.near:
        return ""
    ways = [_way(way) for way in ways_down(facts, variant, above, shop, catalog.searches)]
    more = " by volume: only a smaller carton helps" if above.by_volume else ""
    where = f"{above.service}, {above.zone}" if above.zone else above.service
    lighter = shop.settings.measures.weight(above.lighter, rounded=True, least=True)
    said = (
        f"{where}: {lighter} lighter{more} would ship one step cheaper ({shop.settings.spoken.money(above.saves)} less)"
    )
    return f"{said}; {', or '.join(ways)} would do it." if ways else f"{said}; nothing in the shop alone would do it."


def _way(way: Way) -> str:
    if way.kind == "item":
        return f"{way.code} instead of {way.instead_of}"
    return "leaving out the card" if way.kind == "card" else f"{way.kind} {way.code}"


def _free(variant: Variant, facts: SetFacts, asked: tuple[Postage, ...], catalog: Catalog) -> list[str]:
    """Return what free postage costs, by the cheapest service of each zone; nothing where none is promised."""
    start, share = catalog.shop.settings.freight.free_above, catalog.shop.settings.freight.free_share
    if start is None:
        return [f"Postage is free for {percent(share)} of orders, whatever they come to."] if share else []
    promised = catalog.shop.settings.spoken.money(start)
    if variant.prices.price < start:
        needed = (
            f", {ceil(start.amount / variant.prices.price.amount)} together do" if variant.prices.price.amount else ""
        )
        some = f"; {percent(share)} of such orders go free all the same" if share else ""
        return [f"Postage is free from {promised}: one alone does not reach it{needed}{some}."]
    return [_free_in(each, variant, facts, start, catalog) for each in cheapest(asked)]


def _free_in(each: Postage, variant: Variant, facts: SetFacts, start: Money, catalog: Catalog) -> str:
    price = variant.prices.price.amount
    share = f", {percent(each.price.amount / price)}" if price else ""  # a shop may give something away
    sales = [(channel.name, sale_on(channel, variant, facts, catalog.shop)) for channel in _by_post(catalog)]
    money = catalog.shop.settings.spoken.money
    left = ", ".join(f"{money(sale.kept + sale.postage - each.price)} on {name}" for name, sale in sales)
    to = f" to {each.zone}" if each.zone else ""
    kept = f"; kept then: {left}" if left else ""
    return f"Postage is free from {money(start)}:{to} that costs {money(each.price)} of it{share}{kept}."


def _by_post(catalog: Catalog) -> tuple[Channel, ...]:
    """Return the channels whose buyers are sent parcels: they see texts or photos first. A stall has a till only."""
    return tuple(channel for channel in catalog.shop.channels if {"listings", "photos"} & set(channel.make))


def _case(facts: CaseFacts, wanted: int | None, measures: Measures) -> str:
    cased = facts.cased
    if not cased.count:
        return f"case {facts.case.code}: not one goes in"
    full = f"{(facts.weight.grams / 1000).quantize(Decimal('0.1'), ROUND_HALF_UP)} kg"
    if measures.customary:
        full = measures.weight(facts.weight, rounded=True)
    pack = ""
    if wanted:
        pack = f"; a case pack of {wanted} {'goes in' if cased.count >= wanted else 'does not go in'}"
    return f"case {facts.case.code}: {cased.count} boxes, {_stands(cased, measures)}; {full} full{pack}"


def _stands(cased: Cased, measures: Measures) -> str:
    told = [
        f"{group.along} along × {group.across} across × {group.up} up ({measures.sides(group.sides.sides)})"
        for group in cased.stands[:_MOST_GROUPS]
    ]
    more = len(cased.stands) - len(told)
    return " + ".join(told) + (f" + {more} more groups" if more else "")
