"""What would bring a parcel one step down: another option, another item of its kind, another box, no card.

Each way is reckoned anew with all that changes with it; only ways that lead down to the step are given.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from listkit.compute.catalog import SetFacts, Variant, WeightFacts
from listkit.compute.packing import verdict_in
from listkit.compute.postage import Postage
from listkit.compute.weights import packing_weight, weight_facts
from listkit.model.fields import Status
from listkit.model.shop import Shop
from listkit.units.weight import NO_WEIGHT, Weight

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
