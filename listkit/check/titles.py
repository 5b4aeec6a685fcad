"""Checks of titles: no shouting, no emoji, nothing said twice, and a front that says what it is; options that are gone.

Titles and names that the owner writes are looked at; those that listkit makes begin with what they are.
"""

import re
import unicodedata
from collections import Counter
from collections.abc import Iterator
from typing import Final

from listkit.check.alike import folded, listed, words_of
from listkit.check.context import CheckContext
from listkit.check.passages import stories
from listkit.check.places import item_place, offered, set_place
from listkit.compute.build import option_says
from listkit.compute.catalog import SetFacts
from listkit.listing.listings import Listings
from listkit.listing.titles import cut_words
from listkit.model.fields import Status
from listkit.problem import Place, Problem

FRONT: Final = 60
"""Characters of a title that many places show; common practice, no source."""
_LOUD: Final = re.compile(r"(?<![\w-])[^\W\d_a-zà-ÿ]{4,}(?![\w-])")
_TWO_LOUD: Final = re.compile(r"(?<![\w-])[^\W\d_a-zà-ÿ]{2,}[ !]+[^\W\d_a-zà-ÿ]{2,}(?![\w-])")
# Words of selling that a title is no place for, by language; from memory.
_SELLING: Final = frozenset(
    (
        *("sale", "free", "best", "bestseller", "cheap", "bargain", "discount", "offer", "deal", "soldes", "gratuit"),
        *("promo", "promotion", "meilleur", "gratis", "rabatt", "angebot", "gunstig", "billig", "schnappchen"),
    )
)
# What says what a thing is, whatever the shop calls its forms; from memory.
_GOODS: Final = frozenset(
    (
        *("gift", "gifts", "set", "box", "bundle", "kit", "hamper", "collection", "soap", "candle", "balm", "scrub"),
        *("butter", "salts", "coffret", "cadeau", "savon", "bougie", "geschenk", "geschenkset", "seife", "kerze"),
    )
)
_SHORTEST_REPEATED: Final = 4


def title_loud(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A title neither shouts nor sells, and holds no emoji and no word twice. Told once for each text."""
    shop = listings.catalog.shop
    texts: list[tuple[Place, str]] = []
    for facts in offered(listings.catalog):
        gift_set = facts.source.gift_set
        texts += [(set_place(facts, "name"), gift_set.name)]
        texts += [(set_place(facts, "title"), gift_set.title)] if gift_set.title else []
    on_sale = (item for item in shop.items if item.status is not Status.CLOSED)
    texts += [(item_place(shop, item, "name"), item.name) for item in on_sale]
    for place, text in texts:
        what = next(_loud(text), "")
        if what:
            yield Problem(place, "title-loud", f"{what}.", "Say what it is, in plain words; places hide loud titles.")


def _loud(text: str) -> Iterator[str]:
    signs = [sign for sign in text if unicodedata.category(sign) == "So" or sign in "\u200d\ufe0f"]
    if signs:
        yield f'"{signs[0]}" is a picture, no letter'
    if shout := _TWO_LOUD.search(text) or _LOUD.search(text):
        yield f'"{shout[0].strip()}" is in capitals'
    if "!" in text:
        yield 'it has a "!"'
    for word in re.findall(r"(?<![\w-])[^\W\d_]+(?![\w-])", text):
        if folded(word) in _SELLING:
            yield f'"{word}" is a word of selling'
    counts = Counter(folded(word) for word in words_of(text) if len(word) >= _SHORTEST_REPEATED)
    yield from (f'"{word}" stands in it {count} times' for word, count in counts.items() if count > 1)


def title_front(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """The first 60 characters of a stated title say what it is, because more is not shown everywhere."""
    for facts in offered(listings.catalog):
        title = facts.source.gift_set.title
        front = cut_words(title, FRONT)
        if title and not _goods_of(facts).intersection(folded(word) for word in words_of(front)):
            message = f'"{front}" does not say what it is, and more of a title is not shown everywhere.'
            hint = 'Put what it is to the front, as in "gift set" or "bar soap".'
            yield Problem(set_place(facts, "title"), "title-front", message, hint)


def _goods_of(facts: SetFacts) -> frozenset[str]:
    return _GOODS | {folded(word) for item in facts.items for word in words_of(f"{item.form} {item.container}")}


def option_not_offered(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """No story speaks of an option that is closed in every variant."""
    language = listings.catalog.shop.settings.language
    for facts in offered(listings.catalog):
        gone = _gone(facts)
        for passage in stories(facts, language) if gone else ():
            text = folded(passage.text)
            told = [name for name in gone if re.search(rf"(?<!\w){re.escape(folded(name))}(?!\w)", text)]
            if told:
                message = f"it speaks of {listed(told)}, which nobody can choose any more."
                hint = "Take it out, or open a variant with it again."
                at = passage.text.casefold().find(told[0].casefold())
                yield Problem(passage.place(max(0, at)), "option-not-offered", message, hint)


def _gone(facts: SetFacts) -> list[str]:
    """Return the names of options all of whose variants are closed."""
    open_codes = {
        (choice.slot, choice.item.code)
        for one in facts.variants if one.status is not Status.CLOSED for choice in one.choices
    }  # fmt: skip
    items = {item.code: item for item in facts.items}
    found: list[str] = []
    for slot in facts.source.gift_set.slots:
        for option in (one for one in slot.choose if (slot.slot, one.item) not in open_codes):
            item = items[option.item]
            found += [option_says(option, item)] if option.says else [item.name]
    return found
