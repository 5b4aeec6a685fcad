"""A place as it is recorded: its rows, and what the owner's files say, from which a later change can be explained.

A fact is text as one would read it aloud ("7.50", "119 g", "yes"), or a list of such. What stands at
its default is left out. No file is opened.
"""

import hashlib
import json
from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import date
from decimal import Decimal
from enum import Enum
from itertools import chain
from typing import Any, Final, TypeAlias

from pydantic import BaseModel

from listkit.compute.allotment import allotted_to
from listkit.compute.catalog import Catalog, SetFacts
from listkit.compute.costs import all_cost_facts
from listkit.compute.seasons import Phase
from listkit.compute.wholesale import build_sheet
from listkit.fields import FIELDS
from listkit.ledger.lines import canonical
from listkit.ledger.movements import MADE_OF, MOVED
from listkit.ledger.store import Lines, Snapshot
from listkit.listing.listings import LeftOut, Listing
from listkit.listing.rows import FeedColumn, feed_columns, row_offers
from listkit.listing.sheet import version_code
from listkit.model.channel import Channel
from listkit.model.fields import Ending, Ratio, WholesaleRule
from listkit.model.gift_set import Fixed, Slot
from listkit.model.item import Item, ShopSingles, Singles
from listkit.model.photo import FocusBox
from listkit.model.shop import Photo, SetFolder, Shop
from listkit.pipeline import SHEET, Listed
from listkit.units.length import Length, Size
from listkit.units.money import Money
from listkit.units.net import NetContent
from listkit.units.quantity import share_text
from listkit.units.weight import Divisor, Weight
from listkit.write.csv_feed import PRICE_HEADINGS
from listkit.write.record import records, wholesale_records

REDUCTION: Final = "reduction "
DAY: Final = "day "
ALLOTTED: Final = "allotted "
_MADE: Final = ("batch_size", "yield_", "cure", "hours_a_batch", "ready_after")
_CALENDAR: Final = ("photograph", "last_post", "take_down")
AS_USUAL: Final = "as usual"
_TOLD_ELSEWHERE: Final = ("old_codes", "story", "sales", *_MADE, *_CALENDAR)
"""Old codes only say what is the same thing; the story of an item is one of the listing that tells it. From how a thing
is made only its cost follows, which says so itself, and from the days of the calendar nothing does.

How a place's sales are read changes no row of it.
"""
_CAME_LATER: Final = ("wholesale_step",)
"""Keys that older records do not have: not recorded where they are not stated, so that nothing differs for them."""
_NOT_TOLD: Final = ("items", "checks", "shots", "changes", "reductions", "announcing", "making", "workshop")
"""Tables of shop.toml that no row follows from; of reductions, what is in force is told set by set."""


Known: TypeAlias = dict[int, str]
"""Lines of items and sets by their identity, so that places which share them do not write them each anew."""


def item_lines(items: Collection[Item], shop: Shop, known: Known) -> Lines:
    """Return what the sheet says of these items, what moved of each so far, and what their costs follow from.

    Their lines are added to `known`.
    """
    figures = shop.stock.figures if shop.stock else {}
    made_of = all_cost_facts(shop) if any(id(item) not in known for item in items) else {}
    for item in items:
        if id(item) not in known:
            figure = figures.get(item.code)
            moved = {MOVED: [f"{kind} {number}" for kind, number in figure.sums]} if figure and figure.sums else {}
            follows = {MADE_OF: list(made_of[item.code])} if item.code in made_of else {}
            known[id(item)] = canonical(model_facts(item) | moved | follows)
    return tuple((item.code, known[id(item)]) for item in items)


def set_lines(sets: Collection[SetFacts], known: Known) -> Lines:
    """Return what set.toml, stories and photos say of these sets; their lines are added to `known`."""
    for facts in sets:
        if id(facts) not in known:
            known[id(facts)] = canonical(_set_facts(facts))
    return tuple((facts.code, known[id(facts)]) for facts in sets)


def _set_facts(computed: SetFacts) -> dict[str, Any]:
    source = computed.source
    if source.is_single:  # all else of it are its item and the rules
        return {"item": computed.code, **_stories(source), "photos": [_photo(photo) for photo in source.photos]}
    facts = model_facts(source.gift_set)
    facts.pop("reductions", None)
    facts |= _stories(source)
    facts["photos"] = [_photo(photo) for photo in source.photos]
    facts["contents"] = [line for entry in source.gift_set.contents for line in _entry(entry)]
    return facts


def _stories(source: SetFolder) -> dict[str, str]:
    return {f"story {story.language}".strip(): _digest(story.text) for story in source.stories}


def _entry(entry: Fixed | Slot) -> Iterator[str]:
    """Yield an entry of the contents, a line an option, so that one more is seen as one more."""
    times = f"{entry.quantity} × " if entry.quantity > 1 else ""
    if isinstance(entry, Fixed):
        yield f"{times}{entry.item}"
        return
    for option in entry.choose:
        said = f' "{option.says}"' if option.says else ""
        part = f" as {option.part}" if option.part else ""
        yield f"{entry.slot}: {times}{option.item}{said}{part}"
    if entry.default:
        yield f"{entry.slot}: {entry.default} first"


def _photo(photo: Photo) -> str:
    parts = (photo.name, photo.facts.sha256[:16], photo.shot, fact_text(photo.focus), photo.alt, " ".join(photo.shows))
    return " | ".join(parts)


def rule_lines(shop: Shop, channel: Channel | None, headings: tuple[str, ...] = ()) -> Lines:
    """Return all other rules that rows follow from: the shop's, its boxes and seasons, the channel, the wording."""
    rules = dict(_shop_rules(shop))
    rules["wording"] = {path: _digest(text) for path, text in shop.templates.texts}
    if channel is not None:
        rules["channel"] = model_facts(channel) | {"headings": list(headings)}
        if channel.zone is not None:
            asked = [rate for rate in shop.rates if rate.zone == channel.zone]
            rules["rates"] = {f"{rate.service} up to {rate.up_to.text}": str(rate.price) for rate in asked}
    return tuple((code, canonical(facts)) for code, facts in rules.items())


def reduction_lines(listings: Iterable[Listing]) -> Lines:
    """Return what reductions make of these listings: none of it follows from the owner's files without the day."""
    return tuple(
        (f"{REDUCTION}{listing.facts.code}", canonical({"prices": _lowered(listing)}))
        for listing in listings
        if listing.reduction is not None or listing.price_turns is not None
    )


def season_lines(catalog: Catalog, listings: Iterable[Listing], left_out: Iterable[LeftOut]) -> Lines:
    """Return which sets of a channel are out of their season on the day; those on sale have no line."""
    shown: Iterator[Listing | LeftOut] = chain(listings, left_out)
    seasons = {facts.code: facts.season.name for facts in catalog.sets if facts.season}
    return tuple(
        (f"{DAY}{each.facts.code}", canonical({"selling": f"{seasons[each.facts.code]}: {each.phase}"}))
        for each in shown
        if each.phase is not Phase.ON_SALE and each.facts.code in seasons
    )


def allotted_lines(catalog: Catalog, listings: Iterable[Listing]) -> Lines:
    """Return how many of each set a channel may sell of what was allotted; nothing where nothing was."""
    given = (
        (listing.facts.code, allotted_to(listing.channel.key, (each.code for each in listing.facts.variants), catalog))
        for listing in listings
    )
    return tuple(
        (f"{ALLOTTED}{code}", canonical({"pieces": str(number)})) for code, number in given if number is not None
    )


def lowered_sets(rules: Mapping[str, str]) -> frozenset[str]:
    """Return the codes of sets that such lines, among others, tell a reduction of."""
    told = {code: json.loads(line).get("prices") for code, line in rules.items() if code.startswith(REDUCTION)}
    lowered = (code for code, says in told.items() if isinstance(says, str) and not says.startswith(AS_USUAL))
    return frozenset(code.removeprefix(REDUCTION) for code in lowered)


def _lowered(listing: Listing) -> str:
    """Return "10 % less until 2026-11-29, announced on 27.00"; what else its prices do is theirs to tell."""
    shown, until = listing.reduction, f"until {fact_text(listing.price_turns)}"
    if shown is None:
        return f"{AS_USUAL} {until}"
    one = shown.ruling.reduction
    how = f"{share_text(one.by)} less" if one.by else f"down to {fact_text(one.ending)}"
    priors = ", ".join(str(announced.prior) for announced in shown.announced)
    return f"{how} {until}{', announced on ' if priors else ''}{priors}"


def _shop_rules(shop: Shop) -> Iterator[tuple[str, dict[str, Any]]]:
    whole: dict[str, Any] = {}
    for name in type(shop.settings).model_fields:
        value = getattr(shop.settings, name)
        if name in _NOT_TOLD:
            continue
        if isinstance(value, ShopSingles):
            yield name, {"items": value.which, "carton": fact_text(value.carton)}
        elif isinstance(value, BaseModel):
            yield name, model_facts(value, all_of_it=True)
        elif name != "seasons":
            whole[name] = fact_text(value)
    yield "shop", {name: text for name, text in whole.items() if text}
    for season in shop.settings.seasons:
        yield f"season {season.name}", model_facts(season)
    for box in shop.packaging.boxes:
        yield f"box {box.code}", model_facts(box)
    if shop.packaging.card is not None:
        yield "card", model_facts(shop.packaging.card)


def model_facts(model: BaseModel, *, all_of_it: bool = False) -> dict[str, Any]:
    """Return a model's facts by their names in Python; with `all_of_it` those at their defaults too."""
    found = {}
    for name, field in type(model).model_fields.items():
        if name in _TOLD_ELSEWHERE:
            continue
        value = getattr(model, name)
        if all_of_it or field.is_required() or value != field.get_default(call_default_factory=True):
            many = isinstance(value, tuple)
            text: Any = [fact_text(one) for one in value] if many else fact_text(value)
            if text or (all_of_it and name not in _CAME_LATER):
                found[name] = text
    return found


def fact_text(value: Any) -> str:  # noqa: ANN401 (any value of the owner's files)
    """Return a value as one would read it."""
    if value is None or isinstance(value, bool):
        return "" if value is None else "yes" if value else "no"
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, BaseModel):
        return (
            value.which
            if isinstance(value, Singles)
            else ", ".join(f"{name} {text}" for name, text in model_facts(value).items())
        )
    if isinstance(value, Mapping):
        return ", ".join(f"{fact_text(key)}: {fact_text(one)}" for key, one in value.items())
    if isinstance(value, (tuple, list)):
        return "; ".join(fact_text(one) for one in value)
    write = _WRITE.get(type(value))
    return write(value) if write else str(value)


def _number(value: Decimal) -> str:
    return f"{value.normalize():f}"


def _size(size: Size) -> str:
    return f"{' x '.join(_number(side) for side in size.sides)} mm"


def _rule(rule: WholesaleRule) -> str:
    share = f"{_number(rule.share * 100)} %"
    return {"share": share, "margin": f"margin {share}"}.get(rule.kind, "sum of items")


def _focus(box: FocusBox) -> str:
    return " ".join(_number(side) for side in (box.left, box.top, box.right, box.bottom))


_WRITE: Final[dict[type, Any]] = {
    Money: str,
    Divisor: lambda divisor: divisor.text,
    Weight: lambda weight: f"{_number(weight.grams)} g",
    Length: lambda length: f"{_number(length.mm)} mm",
    Size: _size,
    NetContent: lambda net: net.text,
    Ending: lambda ending: ending.text,
    WholesaleRule: _rule,
    Ratio: str,
    FocusBox: _focus,
    Decimal: _number,
    date: date.isoformat,
}


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:16]


def items_of_sets(catalog: Catalog) -> dict[str, tuple[str, ...]]:
    """Return the item codes that each set may hold."""
    return {one.code: tuple(item.code for item in one.items) for one in catalog.listed}


def sheet_rules(catalog: Catalog) -> Lines:
    """Return what is recorded of the sheet as a whole: version, days, tiers, display; nothing without one."""
    sheet = build_sheet(catalog)
    if sheet is None:
        return ()
    terms = sheet.terms
    facts: dict[str, Any] = {
        "version": version_code(sheet),
        "issued": fact_text(terms.issued),
        "valid_until": fact_text(terms.valid_until),
        "lines": [entry.code for entry in sheet.entries],
        "tiers": [fact_text(tier) for tier in sheet.tiers],
        "display": fact_text(model_facts(terms.display)) if terms.display else "",
        "display_sets": [fact_text(display) for display in terms.display_sets],
    }
    return ((SHEET, canonical({name: value for name, value in facts.items() if value})),)


# A place as it is recorded


def snapshot_of(listed: Listed, key: str, files: Lines = (), *, known: Known | None = None) -> Snapshot:
    """Return what is recorded of a place, its rows made one by one as they are asked for.

    `known` is one for several places of the same listings.
    """
    known = {} if known is None else known
    channel, listings = listed.channel(key), listed.listings_of(key)
    if channel is None:
        sets = {facts.code: facts for facts in listed.catalog.sets}
        items = {item.code: item for item in listed.shop.items}
        rules = (*rule_lines(listed.shop, None), *sheet_rules(listed.catalog))
    else:
        left_out = tuple(each for each in listed.listings.left_out if each.channel == key)
        sets = {each.facts.code: each.as_stated for each in listings}
        sets |= {each.facts.code: each.facts for each in left_out}
        items = {item.code: item for facts in sets.values() for item in facts.items}
        headings = tuple(column.heading for column in table_columns(channel, listings))
        rules = (
            *rule_lines(listed.shop, channel, headings),
            *reduction_lines(listings),
            *season_lines(listed.catalog, listings, left_out),
            *allotted_lines(listed.catalog, listings),
        )
    item_facts, set_facts = item_lines(items.values(), listed.shop, known), set_lines(sets.values(), known)
    return Snapshot(rows_of(listed, key), item_facts, set_facts, rules, files)


def rows_of(listed: Listed, key: str) -> Iterator[tuple[str, str]]:
    """Yield code and line of every row, as record.jsonl has them."""
    channel = listed.channel(key)
    if channel is None:
        yield from wholesale_records(listed.catalog)
        return
    listings = listed.listings_of(key)
    yield from zip(codes_of_rows(listings, channel.row_kind), records(listings, channel.row_kind), strict=True)


def codes_of_rows(listings: tuple[Listing, ...], rows: str) -> Iterator[str]:
    """Yield the code of every row."""
    return (offer.variant.code for listing in listings for offer in row_offers(listing, rows))


def table_columns(channel: Channel, listings: tuple[Listing, ...]) -> tuple[FeedColumn, ...]:
    """Return the columns of the table that the channel takes: its feed's, else its price list's."""
    if not channel.is_price_list:
        return feed_columns(channel, listings)
    currency = listings[0].currency if listings else ""
    headings = {name: f"price ({currency})" if name == "price" else name for name in PRICE_HEADINGS}
    return tuple(FeedColumn(headings[name], FIELDS[field]) for name, field in PRICE_HEADINGS.items())
