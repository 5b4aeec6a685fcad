"""What the owner's files say, as plain facts for the ledger: from these a later change can be explained.

A fact is text as one would read it aloud ("7.50", "119 g", "yes"), or a list of such. What stands at
its default is left out. No file is opened.
"""

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from decimal import Decimal
from enum import Enum
from typing import Any, Final

from pydantic import BaseModel

from listkit.compute.catalog import Catalog, SetFacts
from listkit.ledger.store import Lines, canonical
from listkit.listing.listings import Listing
from listkit.model.channel import Channel
from listkit.model.fields import Ending, Ratio, WholesaleRule
from listkit.model.gift_set import Fixed, Slot
from listkit.model.item import Item
from listkit.model.photo import FocusBox
from listkit.model.shop import Photo, Shop
from listkit.units.length import Length, Size
from listkit.units.money import Money
from listkit.units.net import NetContent
from listkit.units.quantity import share_text
from listkit.units.weight import Weight

_REDUCTION: Final = "reduction "
_AS_USUAL: Final = "as usual"
_NOT_TOLD: Final = ("items", "checks", "shots", "changes", "reductions", "announcing")
"""Tables of shop.toml that no row follows from; of reductions, what is in force is told set by set."""


def item_lines(items: Iterable[Item]) -> Lines:
    """Return what the sheet says of these items."""
    return tuple((item.code, canonical(facts_of(item))) for item in items)


def set_lines(sets: Iterable[SetFacts]) -> Lines:
    """Return what set.toml, stories and photos say of these sets."""
    return tuple((one.code, canonical(_set_facts(one))) for one in sets)


def _set_facts(one: SetFacts) -> dict[str, Any]:
    source = one.source
    facts = facts_of(source.gift_set)
    facts.pop("reductions", None)
    facts |= {f"story {story.language}".strip(): _digest(story.text) for story in source.stories}
    facts["photos"] = [_photo(photo) for photo in source.photos]
    facts["contents"] = [line for entry in source.gift_set.contents for line in _entry(entry)]
    return facts


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
    parts = (photo.name, photo.facts.sha256[:16], photo.shot, told(photo.focus), photo.alt, " ".join(photo.shows))
    return " | ".join(parts)


def rule_lines(shop: Shop, channel: Channel | None, headings: tuple[str, ...] = ()) -> Lines:
    """Return all other rules that rows follow from: the shop's, its boxes and seasons, the channel, the wording."""
    rules = dict(_shop_rules(shop))
    rules["wording"] = {path: _digest(text) for path, text in shop.templates.texts}
    if channel is not None:
        rules["channel"] = facts_of(channel) | {"headings": list(headings)}
    return tuple((code, canonical(facts)) for code, facts in rules.items())


def reduction_lines(own: Iterable[Listing]) -> Lines:
    """Return what reductions make of these listings: none of it follows from the owner's files without the day."""
    return tuple(
        (f"{_REDUCTION}{listing.facts.code}", canonical({"prices": _lowered(listing)}))
        for listing in own
        if listing.reduction is not None or listing.price_turns is not None
    )


def lowered_sets(rules: Mapping[str, str]) -> frozenset[str]:
    """Return the codes of sets that such lines, among others, tell a reduction of."""
    told = {code: str(json.loads(line)["prices"]) for code, line in rules.items() if code.startswith(_REDUCTION)}
    return frozenset(code.removeprefix(_REDUCTION) for code, says in told.items() if not says.startswith(_AS_USUAL))


def _lowered(listing: Listing) -> str:
    """Return "10 % less until 2026-11-29, announced on 27.00"; what else its prices do is theirs to tell."""
    shown, until = listing.reduction, f"until {told(listing.price_turns)}"
    if shown is None:
        return f"{_AS_USUAL} {until}"
    one = shown.ruling.reduction
    how = f"{share_text(one.by)} less" if one.by else f"down to {told(one.ending)}"
    priors = ", ".join(str(announced.prior) for announced in shown.announced)
    return f"{how} {until}{', announced on ' if priors else ''}{priors}"


def _shop_rules(shop: Shop) -> Iterator[tuple[str, dict[str, Any]]]:
    whole: dict[str, Any] = {}
    for name in type(shop.settings).model_fields:
        value = getattr(shop.settings, name)
        if name in _NOT_TOLD:
            continue
        if isinstance(value, BaseModel):
            yield name, facts_of(value, all_of_it=True)
        elif name != "seasons":
            whole[name] = told(value)
    yield "shop", {name: text for name, text in whole.items() if text}
    for season in shop.settings.seasons:
        yield f"season {season.name}", facts_of(season)
    for box in shop.packaging.boxes:
        yield f"box {box.code}", facts_of(box)
    if shop.packaging.card is not None:
        yield "card", facts_of(shop.packaging.card)


def facts_of(model: BaseModel, *, all_of_it: bool = False) -> dict[str, Any]:
    """Return a model's facts by their names in Python; with `all_of_it` those at their defaults too."""
    found = {}
    for name, field in type(model).model_fields.items():
        value = getattr(model, name)
        if all_of_it or field.is_required() or value != field.get_default(call_default_factory=True):
            many = isinstance(value, tuple)
            text: Any = [told(one) for one in value] if many else told(value)
            if text or all_of_it:
                found[name] = text
    return found


def told(value: Any) -> str:  # noqa: ANN401 (any value of the owner's files)
    """Return a value as one would read it."""
    if value is None or isinstance(value, bool):
        return "" if value is None else "yes" if value else "no"
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, BaseModel):
        return ", ".join(f"{name} {text}" for name, text in facts_of(value).items())
    if isinstance(value, Mapping):
        return ", ".join(f"{told(key)}: {told(one)}" for key, one in value.items())
    if isinstance(value, (tuple, list)):
        return "; ".join(told(one) for one in value)
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


def contents_of(catalog: Catalog) -> dict[str, tuple[str, ...]]:
    """Return the item codes that each set may hold."""
    return {one.code: tuple(item.code for item in one.items) for one in catalog.sets}
