"""What follows from a change before it is saved: on every place, on every sheet, and in what is kept."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path
from typing import Final

from pydantic import ValidationError
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from listkit.actions.changes import ChannelChanges, changes_between
from listkit.actions.what_if import ItemEdit, supposed_shop
from listkit.compute.box.searches import Searches
from listkit.compute.build import build_catalog
from listkit.compute.catalog import Catalog, SetFacts
from listkit.compute.costs import costed
from listkit.compute.sales import sale_on
from listkit.desk import saving
from listkit.desk.changes import see
from listkit.desk.edits import Edit, Put, Role, Target, edited_all, look
from listkit.desk.page import Desk, Said, page, price_text, say
from listkit.desk.state import Seen
from listkit.desk.wording import language
from listkit.edit.toml import value_at
from listkit.listing.formats import list_text
from listkit.listing.label_fit import tight_of
from listkit.model.channel import Channel
from listkit.model.item import Item
from listkit.model.labels import Labels
from listkit.model.settings import Settings
from listkit.model.shop import Shop
from listkit.pipeline import Listed, list_catalog
from listkit.present.changes import Section, sections_together
from listkit.problem import FieldError, Problem
from listkit.read.source import Source, decoded
from listkit.read.table_file import read_table
from listkit.read.toml_file import parse_toml, validated
from listkit.units.money import MINOR_DIGITS, Money
from listkit.units.quantity import parse_share
from listkit.units.spoken import money_text

Pair = tuple[str, str]
"""What it is now, and what it would be."""
_LABELS: Final = "labels"
_MOST_NAMED: Final = 4  # sets that a sentence names
_FOLLOWED: Final = ("prices", "packing", "stock", "freight")
"""Tables of shop.toml from which prices, boxes and stock follow."""


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
class CostThen:
    """An item whose cost follows from its recipe and would move; "" of one that has none then."""

    name: str
    code: str
    cost: Pair


@dataclass(frozen=True, slots=True)
class Follows:
    """What would differ: sets and pieces, pages by place as `changes` has them, places on which nothing would.

    Of the sections those that begin a page are True. `costs` are items whose cost by its recipe moves.
    """

    sets: tuple[SetThen, ...]
    sections: tuple[tuple[bool, Section], ...]
    same: tuple[str, ...]
    costs: tuple[CostThen, ...] = ()

    @property
    def differs(self) -> bool:
        """Whether anything would be otherwise."""
        return bool(self.sets or self.sections)


@dataclass(frozen=True, slots=True)
class Look:
    """A change that is looked at before it is saved: of what, in which room, and where she goes who does not want it.

    `lines` are the fields that differ, each with what it says now and what it would say. `follows` is None where that
    is not known, and `unknown` says so. `instead` are values that are sent again in place of what was typed, by field.
    """

    room: str
    name: str
    lines: tuple[tuple[str, str, str], ...]
    follows: Follows | None
    back: str
    unknown: str = ""
    instead: Mapping[str, str] = field(default_factory=dict)


def follows_page(desk: Desk, request: Request, form: FormData, look_at: Look) -> Response:
    """Return the page that says what follows from a form before it is saved; its button sends the same form again."""
    return page(
        desk,
        request,
        look_at.room,
        template="follows",
        look=look_at,
        sent=[(name, look_at.instead.get(name, value)) for name, value in saving.sent_again(form)],
        shown=[(saving.shown_name(target), digest) for target, digest in saving.shown_in(form).items()],
        action=request.url.path,
    )


_BY: Final = re.compile(r"([+\-\u2212\u2013])\s*(.+)")
_NUMBER: Final = re.compile(r"\d[\d.,]*")
_THOUSANDS: Final = re.compile(r"\d,\d{3}(?!\d)")
_THOUSANDTHS: Final = 3  # digits of a currency behind its point


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
        was = Money.parse(_pointed(before, currency), currency).amount
    except FieldError:
        raise FieldError(say("follows.no_price", typed=text), say("follows.whole_price")) from None
    by = typed[2].strip()
    step = was * parse_share(by) if by.endswith("%") else Money.parse(_pointed(by, currency), currency).amount
    now = Money(was + step if typed[1] == "+" else was - step, currency).rounded(ROUND_HALF_UP)
    if now.amount < 0:
        raise FieldError(say("follows.below_nothing", typed=text, price=before), say("follows.whole_price"))
    figure = str(Decimal(now.amount)).replace(".", "," if comma else ".")
    return _NUMBER.sub(figure, before, count=1)


def _pointed(text: str, currency: str) -> str:
    """Return a sum with its decimal comma as a point; "1,250" may be a thousand, unless the currency has thousandths.

    >>> _pointed("6,50", "GBP"), _pointed("1,250", "GBP"), _pointed("1,250", "TND")
    ('6.50', '1,250', '1.250')
    """
    may_be_thousands = MINOR_DIGITS.get(currency) != _THOUSANDTHS and _THOUSANDS.search(text)
    return text if "." in text or may_be_thousands else text.replace(",", ".")


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


def follows_box(seen: Seen, code: str, box: str) -> Follows:
    """Return what would follow if a set lay in another box."""
    sets = tuple(
        replace(each, gift_set=each.gift_set.model_copy(update={"box": box})) if each.gift_set.code == code else each
        for each in seen.opened.shop.sets
    )
    return _follows_in(seen, replace(seen.opened.shop, sets=sets))


def follows_settings(seen: Seen, folder: Path, edits: Sequence[Edit]) -> Follows | None:
    """Return what would follow from edits of shop.toml; None where prices do not come of them, or they cannot be."""
    touched, target = {str(edit.key[0]) for edit in edits} & set(_FOLLOWED), Target(Role.SHOP)
    if not touched:
        return None
    files = look(folder)
    file = see(folder, target, files)
    after, faults = edited_all(files, edits, {target: file.path}, {target: file.content})
    source = decoded(file.path, after[target])
    if faults or not isinstance(source, Source):
        return None
    document, _ = parse_toml(source, Settings)
    now = seen.opened.shop.settings
    then, _ = validated(document or {}, Settings, currency=now.currency)
    if then is None:
        return None
    settings = now.model_copy(update={name: getattr(then, name) for name in touched})
    return _follows_in(seen, replace(seen.opened.shop, settings=settings))


def follows_making(seen: Seen, folder: Path, edits: Sequence[Edit]) -> Follows | None:
    """Return what would follow from edits of materials.csv or recipes.csv, whose costs items follow.

    None where that is not known: the edits cannot be made, or a recipe would name what is not there.
    """
    files, target = look(folder), edits[0].target
    file, shop = see(folder, target, files), seen.opened.shop
    after, faults = edited_all(files, edits, {target: file.path}, {target: file.content})
    table, problems = read_table(file.path, after[target], files.form(target.role))
    if faults or problems:
        return None
    rows = tuple(zip(table.row_lines, table.rows, strict=True))
    is_bought = target.role is Role.MATERIALS
    making = replace(shop.making, materials=rows) if is_bought else replace(shop.making, recipes=rows)
    bought, made = [row.material for _, row in making.materials], {row.item for _, row in making.recipes}
    there = {item.code for item in shop.items} | {*bought} | made
    follows = shop.made.follows if shop.made is not None else frozenset()
    if len(bought) > len({*bought}) or not follows <= made or not {row.material for _, row in making.recipes} <= there:
        return None
    return _follows_in(seen, costed(replace(shop, making=making)))


def _follows_in(seen: Seen, shop: Shop) -> Follows:
    """Return what differs between the shop as it is and as it would be."""
    catalog = build_catalog(shop, Searches(), before=seen.catalog)
    return follows_between(list_catalog(seen.catalog, seen.day), list_catalog(catalog, seen.day))


def follows_between(listed: Listed, then: Listed) -> Follows:
    """Return what differs between a shop as it is and as it would be, both listed for one day."""
    places = tuple(changes_between(listed, then, key) for key in listed.places)
    differing = tuple(each for each in places if each.differs)
    return Follows(
        tuple(sets_then(listed.catalog, then.catalog)),
        tuple(_of_then(differing, then.shop)),
        tuple(each.name for each in places if not each.differs),
        tuple(_costs_then(listed.shop, then.shop)),
    )


def _costs_then(now: Shop, then: Shop) -> Iterator[CostThen]:
    """Yield the items whose cost follows from a recipe, and differs."""
    later = {item.code: item.cost for item in then.items}
    for item in now.items:
        cost = later.get(item.code)
        if then.made is not None and item.code in then.made.follows and cost != item.cost:
            pair = (_sum(item.cost, now), _sum(cost, now) if isinstance(cost, Money) else "")
            yield CostThen(item.name, item.code, pair)


def _sum(amount: Money, shop: Shop) -> str:
    return money_text(amount.amount, shop.settings.currency, shop.settings.language)


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
    return _sum(Money(least, shop.settings.currency), shop)


# Labels that cannot hold their text


def tight_words(catalog: Catalog, labels: Labels | None) -> str:
    """Return which sets' texts labels cannot hold, and what size would hold all; "" where these hold them."""
    tight = tight_of(catalog, labels) if labels is not None else None
    if labels is None or tight is None:
        return ""
    measures, names = catalog.shop.settings.measures, {facts.code: facts.name for facts in catalog.sets}
    first, more = tuple(names[code] for code in tight.sets[:_MOST_NAMED]), len(tight.sets) - _MOST_NAMED
    named = list_text(first, language())
    named = say("today.and_more", names=", ".join(first), count=more) if more > 0 else named
    size = measures.sides((labels.size.width, labels.size.height))
    told = say("labels.tight", size=size, names=named)
    if tight.size is None:
        return f"{told} " + say("labels.none_holds")
    return f"{told} " + say("labels.holds", size=measures.sides((tight.size.width, tight.size.height)))


def labels_after(content: bytes, edits: Iterable[Edit]) -> Labels | None:
    """Return the labels that shop.toml asks for once edits are made; None where these leave them or are unsound."""
    now = value_at(content, (_LABELS,))
    table, is_touched = dict(now) if isinstance(now, dict) else {}, False
    for edit in edits:
        if edit.key[:1] == (_LABELS,) and isinstance(edit.action, Put):
            is_touched, value = True, edit.action.value
            if len(edit.key) > 1:
                table[str(edit.key[1])] = value
            elif value is None:
                return None
    try:
        stated = {key: value for key, value in table.items() if value is not None}
        return Labels.model_validate(stated) if is_touched else None
    except ValidationError:
        return None


def in_plain(problem: Problem, catalog: Catalog) -> Problem:
    """Return a problem as it is; of labels that are too small, with the sets' names and a size that holds all."""
    words = tight_words(catalog, catalog.shop.settings.labels) if problem.code == "label-tight" else ""
    return replace(problem, message=Said(words), hint="") if words else problem
