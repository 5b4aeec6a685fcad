"""Checks of words: what is typed against the set, keywords against each other, minis by name."""

from collections import defaultdict
from collections.abc import Iterator
from typing import Final

from listkit.check.alike import LONG_WORD, digits_of, distance, folded, listed, words_of
from listkit.check.context import CheckContext
from listkit.check.places import item_place, offered, set_place
from listkit.check.typed import typed_against
from listkit.compute.build import option_says
from listkit.listing.listings import Listings
from listkit.problem import Problem


def text_disagrees(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """What is typed in a story, theme or title about sizes, counts, prices and items is what the set says."""
    against = typed_against(listings.catalog.shop)
    for facts in offered(listings.catalog):
        yield from against(facts)


def keyword_twins(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A keyword in the plural or spelt otherwise takes the place of another. Told once for each that is too many."""
    language = listings.catalog.shop.settings.language
    for facts in offered(listings.catalog):
        first: dict[str, str] = {}
        words: list[tuple[str, tuple[str, ...]]] = []
        for at, keyword in enumerate(facts.source.gift_set.keywords):
            spoken = folded(keyword, language)
            key = "".join(_singular(_spelt(word)) for word in words_of(spoken))
            other = first.get(key) or next((k for k, w in words if _misspelt(w, words_of(spoken))), None)
            first.setdefault(key, keyword)
            words += [(keyword, words_of(spoken))] if len(words) < _MOST_COMPARED else []
            if other is not None:
                message = f'"{keyword}" and "{other}" are the same to those who look for them.'
                place = set_place(facts, "keywords", at)
                yield Problem(place, "keyword-twins", message, "Take one out, and write another.")


_MOST_COMPARED: Final = 100
"""Keywords of one set that are compared letter by letter."""
# Spellings of one word, from one side of the ocean and the other; from memory.
_SPELLINGS: Final = (("our", "or"), ("ise", "ize"), ("ising", "izing"), ("grey", "gray"), ("jewellery", "jewelry"))
_SPELLINGS_AT_END: Final = {"tre": "ter", "ogue": "og"}
_SHORTEST: Final = 4


def _spelt(word: str) -> str:
    if len(word) <= _SHORTEST:
        return word
    for one, other in _SPELLINGS:
        word = word.replace(one, other)
    for one, other in _SPELLINGS_AT_END.items():
        word = word.removesuffix(one) + other if word.endswith(one) else word
    return word


def _singular(word: str) -> str:
    if len(word) < _SHORTEST or word.endswith("ss"):
        return word
    if word.endswith("ies"):
        return word[:-3] + "y"
    if word.endswith(("shes", "ches", "xes", "sses")):
        return word[:-2]
    return word.removesuffix("s")


def _misspelt(one: tuple[str, ...], other: tuple[str, ...]) -> bool:
    """Whether two keywords differ in one letter of one long word."""
    unlike = [(a, b) for a, b in zip(one, other, strict=False) if a != b]
    if len(one) != len(other) or len(unlike) != 1:
        return False
    a, b = unlike[0]
    return min(len(a), len(b)) > LONG_WORD and digits_of(a) == digits_of(b) and distance(a, b, 1) == 1


# Words that tell a buyer that a thing is small, by language; from memory. They stand at the beginning of a word.
_SMALL: Final = {
    "en": "mini small travel sample little petite taster tiny trial pocket baby",
    "fr": "mini petit voyage échantillon poche découverte",
    "de": "mini klein reise probe probier winzig taschen",
    "es": "mini pequeñ viaje muestra bolsillo",
    "it": "mini piccol viaggio campione tascabile",
    "nl": "mini klein reis proef zak",
}


def mini_not_named(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """An item that has a larger one says so in its name or form, or wherever it can be chosen. Told once an item."""
    shop = listings.catalog.shop
    language = shop.settings.language.partition("-")[0]
    small = tuple(folded(f"{_SMALL['en']} {_SMALL.get(language, '')}").split())
    minis = {item.code: item for item in shop.items if item.larger and not _says(f"{item.name} {item.form}", small)}
    silent: dict[str, list[str]] = defaultdict(list)
    for facts in offered(listings.catalog) if minis else ():
        says = {
            option.item: option_says(option, minis[option.item])
            for slot in facts.source.gift_set.slots
            for option in slot.choose
            if option.item in minis
        }
        there = {item.code for item in facts.items}
        for code in minis:
            if code in there and not _says(says.get(code, ""), small):
                silent[code].append(facts.name)
    for code, names in silent.items():
        message = f"{code} is the mini of {minis[code].larger}, and nothing says so in {listed(sorted(names))}."
        hint = f'Write it in its form, as in "mini {minis[code].form or "jar"}", or in says = "...".'
        yield Problem(item_place(shop, minis[code], "form"), "mini-not-named", message, hint)


def _says(text: str, beginnings: tuple[str, ...]) -> bool:
    return any(word.startswith(beginnings) for word in words_of(folded(text)))
