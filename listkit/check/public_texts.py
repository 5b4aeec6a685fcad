"""Every text that goes before the public, with its place and language: what the search for claims looks through.

Names, titles, themes, stories, keywords, options, words for photos; items; cautions in the owner's own words; wording
and layouts; what is typed into columns of a feed.
"""

from collections.abc import Iterator
from typing import Final

from listkit.check.passages import Passage, passages, typed
from listkit.check.places import item_place, offered
from listkit.compute.catalog import Catalog
from listkit.fields import FIELDS
from listkit.listing.nouns import item_name
from listkit.model.fields import Status
from listkit.model.shop import Shop
from listkit.problem import KeyPath

_WORDING: Final = ("listing/", "words/")
_REMINDERS: Final = "cautions/"


def public_texts(catalog: Catalog) -> Iterator[Passage]:
    """Yield every text of what is offered, in the order of the shop's files."""
    shop = catalog.shop
    language = shop.settings.language
    yield Passage("shop.toml", ("name",), language, shop.settings.name)
    for at, season in enumerate(shop.settings.seasons):
        yield Passage("shop.toml", ("season", at, "name"), language, season.name)
    for facts in offered(catalog):
        yield from passages(facts, language)
    yield from _items(shop)
    yield from _translations(shop)
    yield from _columns(shop)
    yield from _templates(shop)


def reminders(catalog: Catalog) -> Iterator[Passage]:
    """Yield the cautions in the owner's own words; they remind, so only what makes a medicine is looked for."""
    shop = catalog.shop
    for item in (one for one in shop.items if one.status is not Status.CLOSED):
        own = "; ".join(caution for caution in item.cautions if " " in caution)
        if own:
            place = item_place(shop, item, "cautions")
            yield Passage(place.file, place.key, shop.settings.language, own, row=item.code, column=place.column)
    for path, text in shop.templates.texts:
        if path.startswith(_REMINDERS):
            yield Passage(f"templates/{path}", (), _language(path), typed(text), story=True)


def _items(shop: Shop) -> Iterator[Passage]:
    for item in (one for one in shop.items if one.status is not Status.CLOSED):
        for field, text in (("name", item_name(item)), ("scent", item.scent), ("container", item.container)):
            if text:
                place = item_place(shop, item, field)
                yield Passage(place.file, place.key, shop.settings.language, text, row=item.code, column=place.column)


def _translations(shop: Shop) -> Iterator[Passage]:
    """Yield what the goods are called in other languages, where a channel speaks them."""
    for language, words in shop.translations:
        file = f"languages/{language}.toml"
        named: list[tuple[KeyPath, str]] = [(("items", code), name) for code, name in words.items.items()]
        named += [(("scents", own), name) for own, name in words.scents.items()]
        for code, one in words.sets.items():
            texts = {"name": one.name, "title": one.title, "theme": one.theme}
            named += [(("sets", code, key), text) for key, text in texts.items() if text]
            named += [(("sets", code, "keywords", at), keyword) for at, keyword in enumerate(one.keywords)]
        yield from (Passage(file, key, language, typed(text)) for key, text in named)


def _columns(shop: Shop) -> Iterator[Passage]:
    for channel in shop.channels:
        language = channel.language or shop.settings.language
        for at, column in enumerate(channel.columns):
            if column.value not in FIELDS:
                file = f"channels/{channel.key}.toml"
                yield Passage(file, ("column", at, "value"), language, typed(column.value))


def _templates(shop: Shop) -> Iterator[Passage]:
    for path, text in shop.templates.texts:
        if path.startswith(_WORDING):
            language = _language(path) if path.startswith("words/") else shop.settings.language
            yield Passage(f"templates/{path}", (), language, typed(text), story=True)


def _language(path: str) -> str:
    """Return the language that a file of words is called by."""
    return path.rpartition("/")[2].partition(".")[0]
