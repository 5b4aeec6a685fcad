"""What follows from a change before it is saved: on every place, on every sheet, and in what is kept."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from listkit.actions.changes import ChannelChanges, changes_between
from listkit.actions.what_if import ItemEdit, supposed_shop
from listkit.compute.box.searches import Searches
from listkit.compute.build import build_catalog
from listkit.compute.catalog import Catalog, SetFacts
from listkit.compute.sales import sale_on
from listkit.desk.page import price_text
from listkit.listing.formats import money_text
from listkit.model.channel import Channel
from listkit.model.item import Item
from listkit.model.shop import Shop
from listkit.pipeline import Listed, list_catalog
from listkit.present.changes import Section, sections_together

Pair = tuple[str, str]
"""What it is now, and what it would be."""


@dataclass(frozen=True, slots=True)
class SetThen:
    """A set whose price or what is kept of it would move; `kept` is by place the least of any variant."""

    name: str
    code: str
    price: Pair
    kept: tuple[tuple[str, Pair], ...]


@dataclass(frozen=True, slots=True)
class Follows:
    """What would differ: sets and pieces, pages by place as `changes` has them, places on which nothing would.

    Of the sections those that begin a page are True.
    """

    sets: tuple[SetThen, ...]
    sections: tuple[tuple[bool, Section], ...]
    same: tuple[str, ...]


def follows(listed: Listed, after: Item) -> Follows | None:
    """Return what would follow if an item were as given, None where it is not among the items yet.

    Args:
        listed: the shop as it is.
        after: the item as it would be, by its code.
    """
    before = next((item for item in listed.shop.items if item.code == after.code), None)
    if before is None:
        return None
    edits = [
        ItemEdit(after.code, name, getattr(after, name), "")
        for name in Item.model_fields
        if getattr(after, name) != getattr(before, name)
    ]
    shop = supposed_shop(listed.shop, edits)
    return follows_between(listed, list_catalog(build_catalog(shop, Searches(), before=listed.catalog), listed.day))


def follows_between(listed: Listed, then: Listed) -> Follows:
    """Return what differs between a shop as it is and as it would be, both listed for one day."""
    places = tuple(changes_between(listed, then, key) for key in listed.places)
    differing = tuple(each for each in places if each.differs)
    return Follows(
        tuple(sets_then(listed.catalog, then.catalog)),
        tuple(_of_then(differing, then.shop)),
        tuple(each.name for each in places if not each.differs),
    )


def _of_then(differing: tuple[ChannelChanges, ...], shop: Shop) -> Iterator[tuple[bool, Section]]:
    """Yield the pages of places, without what each was compared with: it is always the shop as it is."""
    heads = {f"What would change on {each.name}" for each in differing}
    for section in sections_together(differing, shop) if differing else ():
        is_head = section.title in heads
        begins = is_head or not (section.lines or section.rows)
        yield begins, replace(section, lines=section.lines[1:]) if is_head else section


def sets_then(now: Catalog, then: Catalog) -> Iterator[SetThen]:
    """Yield the sets and single pieces of which a price, or what is kept, differs between two catalogs."""
    later = {facts.code: facts for facts in then.listed}
    for facts in now.listed:
        after = later.get(facts.code)
        if after is None:
            continue
        price = price_text(facts, now.shop), price_text(after, then.shop)
        kept = tuple(
            (channel.name, (_kept(channel, facts, now.shop), _kept(channel, after, then.shop)))
            for channel in now.shop.channels
        )
        moved = tuple((name, pair) for name, pair in kept if pair[0] != pair[1])
        if price[0] != price[1] or moved:
            yield SetThen(facts.name, facts.code, price, moved)


def _kept(channel: Channel, facts: SetFacts, shop: Shop) -> str:
    least = min(sale_on(channel, each, facts, shop).kept.amount for each in facts.variants)
    return money_text(least, shop.settings.currency, shop.settings.language)
