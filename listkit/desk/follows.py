"""What follows from a change before it is saved: on every place, on every sheet, and in what is kept."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from listkit.actions.changes import ChannelChanges, changes_between
from listkit.actions.what_if import ItemEdit, supposed_shop
from listkit.compute.box.searches import Searches
from listkit.compute.build import build_catalog
from listkit.compute.catalog import Catalog, SetFacts
from listkit.compute.sales import sale_on
from listkit.desk.page import price_text, say
from listkit.listing.formats import money_text
from listkit.model.channel import Channel
from listkit.model.item import Item
from listkit.model.shop import Shop
from listkit.pipeline import Listed, list_catalog
from listkit.present.changes import Section, sections_together
from listkit.problem import FieldError
from listkit.units.money import Money
from listkit.units.quantity import parse_share

Pair = tuple[str, str]
"""What it is now, and what it would be."""


@dataclass(frozen=True, slots=True)
class SetThen:
    """A set whose price or what is kept of it would move; `kept` is by place the least of any variant.

    Without places it is what is left when one is sold by hand, whose place is "".
    """

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


_BY: Final = re.compile(r"([+\-\u2212\u2013])\s*(.+)")
_NUMBER: Final = re.compile(r"\d[\d.,]*")


def moved_price(text: str, before: str, currency: str) -> str:
    """Return a price that is so much more or less than before, as it was typed: "+1.50", "-0.20", "+5 %".

    It is written as the one before was; what has no sign is the price itself.

    >>> moved_price("+1.50", "12.00", "GBP"), moved_price("-5 %", "£6,50", "GBP"), moved_price("8", "6.50", "GBP")
    ('13.50', '£6,18', '8')

    Raises:
        FieldError: there is no price that it could be added to, it cannot be read, or less than nothing would be left.
    """
    typed = _BY.fullmatch(text.strip())
    if typed is None:
        return text
    comma = "," in before and "." not in before
    try:
        was = Money.parse(before.replace(",", ".") if comma else before, currency).amount
    except FieldError:
        raise FieldError(say("follows.no_price", typed=text), say("follows.whole_price")) from None
    by = typed[2].strip()
    if by.endswith("%"):
        step = was * parse_share(by)
    else:
        step = Money.parse(by.replace(",", ".") if "." not in by else by, currency).amount
    now = Money(was + step if typed[1] == "+" else was - step, currency).rounded(ROUND_HALF_UP)
    if now.amount < 0:
        raise FieldError(say("follows.below_nothing", typed=text, price=before), say("follows.whole_price"))
    figure = str(Decimal(now.amount)).replace(".", "," if comma else ".")
    return _NUMBER.sub(figure, before, count=1)


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
        ) or (("", (_kept(_BY_HAND, facts, now.shop), _kept(_BY_HAND, after, then.shop))),)
        if price[0] != price[1] or any(before != later for _, (before, later) in kept):
            yield SetThen(facts.name, facts.code, price, kept)


_BY_HAND: Final = Channel(key="by-hand", name="-", make=())
"""A place that takes nothing of a sale, for a shop that has none yet."""


def _kept(channel: Channel, facts: SetFacts, shop: Shop) -> str:
    least = min(sale_on(channel, each, facts, shop).kept.amount for each in facts.variants)
    return money_text(least, shop.settings.currency, shop.settings.language)
