"""Options: which variants a channel offers, and each slot as its text and feed show it.

A closed variant is never offered. A sold-out one stays with stock 0, or is left out where the
channel hides it; an option is sold out when all variants with it are.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from listkit.compute.build import option_says
from listkit.compute.catalog import SetFacts, Variant
from listkit.compute.stock import published
from listkit.listing.listings import ShownOption, ShownSlot
from listkit.model.channel import Channel
from listkit.model.fields import Status
from listkit.model.gift_set import Option, Slot
from listkit.model.settings import Settings
from listkit.units.money import Money

Stocked = tuple[Variant, int | None]
"""A variant and how many the channel may sell of it; None when nothing in it is counted."""


def offered(facts: SetFacts, channel: Channel, settings: Settings) -> tuple[Stocked, ...]:
    """Return the variants that the channel shows, in the order of the set, with their stock."""
    hold_back = settings.stock.hold_back if channel.hold_back is None else channel.hold_back
    hide = channel.sold_out == "hide"
    stocked = [(one, published(one.can_make, hold_back)) for one in facts.variants if one.status is not Status.CLOSED]
    return tuple(one for one in stocked if not (hide and one[1] == 0))


@dataclass(slots=True)
class _Found:
    """What the offered variants with one option come to."""

    lowest: Decimal
    highest: Decimal
    available: bool

    def add(self, price: Decimal, *, available: bool) -> None:
        self.lowest = min(self.lowest, price)
        self.highest = max(self.highest, price)
        self.available = self.available or available


def shown_slots(facts: SetFacts, variants: tuple[Stocked, ...], currency: str) -> tuple[ShownSlot, ...]:
    """Return every slot with the options that at least one of `variants` has."""
    items = {item.code: item for item in facts.items}
    slots = facts.source.gift_set.slots
    found: list[dict[tuple[str, str], _Found]] = [{} for _ in slots]
    for variant, stock in variants:
        price = variant.prices.price.amount
        for of_slot, choice in zip(found, variant.choices, strict=True):
            key = choice.item.code, choice.says
            if (known := of_slot.get(key)) is None:
                of_slot[key] = _Found(price, price, stock != 0)
            else:
                known.add(price, available=stock != 0)
    return tuple(
        ShownSlot(
            slot.slot,
            tuple(
                ShownOption(
                    says,
                    items[option.item],
                    Money(one.lowest, currency) if _prices_differ(of_slot) else None,
                    default=option.item == (slot.default or slot.choose[0].item),
                    sold_out=not one.available,
                    from_price=one.lowest != one.highest,
                )
                for option, says, one in _found_options(slot, of_slot, facts)
            ),
        )
        for slot, of_slot in zip(slots, found, strict=True)
    )


def _found_options(
    slot: Slot, found: dict[tuple[str, str], _Found], facts: SetFacts
) -> Iterator[tuple[Option, str, _Found]]:
    items = {item.code: item for item in facts.items}
    for option in slot.choose:
        says = option_says(option, items[option.item])
        if (one := found.get((option.item, says))) is not None:
            yield option, says, one


def _prices_differ(found: dict[tuple[str, str], _Found]) -> bool:
    return len({(one.lowest, one.highest) for one in found.values()}) > 1
