"""Checks of what an owner types: against the set; titles, keywords, and minis by name.

Titles and names that the owner writes are looked at; those that listkit makes begin with what they are.
"""

import re
import unicodedata
from collections import Counter, defaultdict
from collections.abc import Iterator
from typing import Final

from listkit.check.alike import LONG_WORD, Passage, digits_of, distance, folded, listed, stories, words_of
from listkit.check.places import CheckContext, item_place, offered, offered_alone_too, set_place
from listkit.check.typed import typed_against
from listkit.compute.build import option_says
from listkit.compute.catalog import SetFacts
from listkit.listing.listings import Listing, Listings
from listkit.listing.titles import cut_words
from listkit.listing.words import base_language
from listkit.model.fields import Status
from listkit.model.gift_set import TO_WRITE
from listkit.problem import Place, Problem


def text_disagrees(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """What is typed in a story, theme or title about sizes, counts, prices and items is what the set says."""
    against = typed_against(listings.catalog.shop)
    for facts in offered_alone_too(listings.catalog):
        yield from against(facts)


_REMARK: Final = re.compile(r"\{#.*?(?:#\}|\Z)", re.DOTALL)  # what a template never prints
_LOWEST_AND_HIGHEST: Final = tuple(re.compile(rf"\{{\{{\s*{name}\b") for name in ("cheapest", "dearest"))


def range_of_one(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a story that has a lowest and a highest price, where these are one; not where it asks whether."""
    alike: defaultdict[tuple[str, str], list[Listing]] = defaultdict(list)
    for listing in listings:
        if listing.cheapest == listing.dearest:
            alike[listing.folder, base_language(listing.language)].append(listing)
    for (_, language), shown in alike.items():
        for story in shown[0].facts.source.stories:
            told = _REMARK.sub(lambda remark: " " * len(remark[0]), story.text)
            named = [pattern.search(told) for pattern in _LOWEST_AND_HIGHEST]
            at = max(match.start() if match else -1 for match in named)
            ranged = all(named) and "{%" not in story.text
            shops_own = listings.catalog.shop.settings.language
            if ranged and base_language(story.language or shops_own) == language:
                channels = listed([listing.channel.name for listing in shown])
                asked = listings.catalog.shop.settings.spoken.money(shown[0].cheapest)
                price = f"{asked} is its lowest and its highest price on {channels}"
                place = Passage(story.file, (), language, story.text, story=True).place(at)
                hint = "Write {{ prices }}, which is both or the only one."
                yield Problem(place, "range-of-one", f"{price}, and the story says both.", hint)


def keyword_twins(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A keyword in the plural or spelt otherwise takes the place of another. Told once for each that is too many."""
    language = listings.catalog.shop.settings.language
    for facts in offered(listings.catalog):
        first: dict[str, str] = {}
        spelt: list[tuple[str, tuple[str, ...]]] = []
        for at, keyword in enumerate(facts.source.gift_set.keywords):
            spoken = folded(keyword, language)
            key = "".join(_singular(_spelt(word)) for word in words_of(spoken))
            twin = first.get(key) or next((k for k, w in spelt if _misspelt(w, words_of(spoken))), None)
            first.setdefault(key, keyword)
            spelt += [(keyword, words_of(spoken))] if len(spelt) < _MOST_COMPARED else []
            if twin is not None:
                message = f'"{keyword}" and "{twin}" are the same to those who look for them.'
                place = set_place(facts, "keywords", at)
                yield Problem(place, "keyword-twins", message, "Take one out, and write another.")


_MOST_COMPARED: Final = 100
"""Keywords of one set that are compared letter by letter."""
# Spellings of one word, from one side of the ocean and the other; from memory.
_SPELLINGS: Final = (("our", "or"), ("ise", "ize"), ("ising", "izing"), ("grey", "gray"), ("jewellery", "jewelry"))
_SPELLINGS_AT_END: Final = {"tre": "ter", "ogue": "og"}
_SHORTEST: Final = 4


def _spelt(word: str) -> str:
    """Return a word as it is spelt on the other side of the ocean.

    >>> _spelt("lavour"), _spelt("centre")
    ('lavor', 'center')
    """
    if len(word) <= _SHORTEST:
        return word
    for here, there in _SPELLINGS:
        word = word.replace(here, there)
    for here, there in _SPELLINGS_AT_END.items():
        word = word.removesuffix(here) + there if word.endswith(here) else word
    return word


def _singular(word: str) -> str:
    """Return an English noun in the singular, roughly.

    >>> _singular("boxes"), _singular("berries"), _singular("soaps")
    ('box', 'berry', 'soap')
    """
    if len(word) < _SHORTEST or word.endswith("ss"):
        return word
    if word.endswith("ies"):
        return word[:-3] + "y"
    if word.endswith(("shes", "ches", "xes", "sses")):
        return word[:-2]
    return word.removesuffix("s")


def _misspelt(left: tuple[str, ...], right: tuple[str, ...]) -> bool:
    """Whether two keywords differ in one letter of one long word."""
    unlike = [(a, b) for a, b in zip(left, right, strict=False) if a != b]
    if len(left) != len(right) or len(unlike) != 1:
        return False
    a, b = unlike[0]
    return min(len(a), len(b)) > LONG_WORD and digits_of(a) == digits_of(b) and distance(a, b, 1) == 1


# Words by which a buyer sees that a thing is small, by language; from memory. They are beginnings of words.
_SMALL: Final = {
    "en": "mini small travel sample little petite taster tiny trial pocket baby",
    "fr": "mini petit voyage échantillon poche découverte",
    "de": "mini klein reise probe probier winzig taschen",
    "es": "mini pequeñ viaje muestra bolsillo",
    "it": "mini piccol viaggio campione tascabile",
    "nl": "mini klein reis proef zak",
}


def mini_not_named(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """An item that has a larger one says so in its row, or in each set's choices or story. Told once an item."""
    shop = listings.catalog.shop
    language = shop.settings.language.partition("-")[0]
    small = tuple(folded(f"{_SMALL['en']} {_SMALL.get(language, '')}").split())
    minis = {
        item.code: item
        for item in shop.items
        if item.larger and not _says(f"{item.name} {item.form} {item.container}", small)
    }
    silent: dict[str, list[str]] = defaultdict(list)
    for facts in offered_alone_too(listings.catalog) if minis else ():
        told_in_story = any(_says(passage.text, small) for passage in stories(facts, language))
        says = {
            option.item: f"{slot.slot} {option_says(option, minis[option.item], shop.naming)}"
            for slot in facts.source.gift_set.slots
            for option in slot.choose
            if option.item in minis
        }
        there = {item.code for item in facts.items}
        for code in minis:
            if code in there and not told_in_story and not _says(says.get(code, ""), small):
                silent[code].append(facts.name)
    for code, names in silent.items():
        where = listed(sorted(names))
        message = f"{code} is the mini of {minis[code].larger}; no name, form, choice or story says so in {where}."
        hint = f'Write it in its form, as in "mini {minis[code].form or "jar"}", or in says = "...".'
        yield Problem(item_place(shop, minis[code], "form"), "mini-not-named", message, hint)


def _says(text: str, beginnings: tuple[str, ...]) -> bool:
    return any(word.startswith(beginnings) for word in words_of(folded(text)))


# Titles: no shouting, no emoji, nothing said twice, and a front that says what it is.

FRONT: Final = 60
"""Characters of a title that many places show; common practice, no source."""
_LONG: Final = re.compile(r"(?<![\w-])([^\W\d_]{4,})(?![\w-])")
_PAIR: Final = re.compile(r"(?<![\w-])(?=([^\W\d_]{2,})[ !]+([^\W\d_]{2,})(?![\w-]))")
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
    if shout := _shouted(text, _PAIR) or _shouted(text, _LONG):
        yield f'"{shout}" is in capitals'
    if "!" in text:
        yield 'it has a "!"'
    for word in re.findall(r"(?<![\w-])[^\W\d_]+(?![\w-])", text):
        if folded(word) in _SELLING:
            yield f'"{word}" is a word of selling'
    counts = Counter(folded(word) for word in words_of(text) if len(word) >= _SHORTEST_REPEATED)
    yield from (f'"{word}" stands in it {count} times' for word, count in counts.items() if count > 1)


def _shouted(text: str, pattern: re.Pattern[str]) -> str:
    """Return the first words in capitals, "" for none; most scripts of the world have no capitals."""
    found = (one for one in pattern.finditer(text) if all(word.isupper() for word in one.groups()))
    return next((text[one.start(1) : one.end(one.re.groups)] for one in found), "")


def title_front(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """The first 60 characters of a stated title say what it is, because more is not shown everywhere."""
    for facts in offered(listings.catalog):
        title = facts.source.gift_set.title
        front = cut_words(title, FRONT)
        forms = (word for item in facts.items for word in words_of(f"{item.form} {item.container}"))
        if title and not {*_GOODS, *map(folded, forms)}.intersection(map(folded, words_of(front))):
            message = f'"{front}" does not say what it is, and more of a title is not shown everywhere.'
            hint = 'Put what it is to the front, as in "gift set" or "bar soap".'
            yield Problem(set_place(facts, "title"), "title-front", message, hint)


def option_not_offered(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """No story speaks of an option that is closed in every variant."""
    language = listings.catalog.shop.settings.language
    for facts in offered(listings.catalog):
        gone = _gone(facts)
        for passage in stories(facts, language) if gone else ():
            text = folded(passage.text)
            named = [name for name in gone if (said := folded(name)) in text and _is_word_of(said, text)]
            if named:
                message = f"it speaks of {listed(named)}, which nobody can choose any more."
                hint = "Take it out, or open a variant with it again."
                at = passage.text.casefold().find(named[0].casefold())
                yield Problem(passage.place(max(0, at)), "option-not-offered", message, hint)


def _is_word_of(name: str, text: str) -> bool:
    """Whether a name stands in a text, and not within longer words."""
    return re.search(rf"(?<!\w){re.escape(name)}(?!\w)", text) is not None


def _gone(facts: SetFacts) -> list[str]:
    """Return the names of options all of whose variants are closed."""
    open_codes = {
        (choice.slot, choice.item.code)
        for variant in facts.variants if variant.status is not Status.CLOSED for choice in variant.choices
    }  # fmt: skip
    items = {item.code: item for item in facts.items}
    closed = [
        option for slot in facts.source.gift_set.slots for option in slot.choose
        if (slot.slot, option.item) not in open_codes
    ]  # fmt: skip
    return [option.says or items[option.item].name for option in closed]


_CARD: Final = {"en": re.compile(r"\bcards?\b", re.IGNORECASE), "fr": re.compile(r"\bcartes?\b", re.IGNORECASE)}


def card_promised(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a text: a theme or a story that speaks of a card, of a set that has none."""
    shops_own = base_language(listings.catalog.shop.settings.language)
    for facts in offered(listings.catalog):
        gift_set = facts.source.gift_set
        if facts.card is not None or gift_set.message_card is not None:
            continue
        lay = "take card = false out of set.toml" if not gift_set.card else "add a [card] to packaging.toml"
        hint = f"Take it out of the text, or {lay if gift_set.boxed else 'give the set a box: cards lie in boxes'}."
        no_card = "and no card lies in this set."
        card = _CARD.get(shops_own)
        if card and (named := card.search(gift_set.theme)):
            message = f'the theme says "{named[0]}", {no_card}'
            yield Problem(set_place(facts, "theme"), "card-promised", message, hint)
        for story in facts.source.stories:
            card = _CARD.get(base_language(story.language) or shops_own)
            text = _REMARK.sub(lambda remark: re.sub(r"[^\n]", " ", remark[0]), story.text)
            if card and (named := card.search(text)):
                line = text.count("\n", 0, named.start()) + 1
                message = f'the story says "{named[0]}", {no_card}'
                yield Problem(story.place(line), "card-promised", message, hint)


# What a new shop or set leaves to its owner to write: theme and story, her address and her website.

STARTER_SITE: Final = "my-shop.example"
STARTER_ADDRESS: Final = "1 Lane End, Anytown"
"""What the starter has where an owner's own website and address belong."""


def unwritten(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a line. No text goes out that still asks its owner to write it."""
    for facts in offered_alone_too(listings.catalog):
        if TO_WRITE in facts.source.gift_set.theme:
            hint = "Write the set in one sentence in its place: who or which hour it is for."
            yield Problem(set_place(facts, "theme"), "unwritten", "the theme is still to be written.", hint)
        for story in facts.source.stories:
            for number, line in enumerate(story.text.splitlines(), 1):
                if TO_WRITE in line:
                    hint = "Write two or three sentences in place of this line."
                    yield Problem(story.place(number), "unwritten", "the story is still to be written.", hint)


def starter_left(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Once a file. Nobody is sent to the starter's website, no label names its address, and no fee of nothing is
    taken for the place's own unless a fixed fee is stated with it.
    """
    shop = listings.catalog.shop
    if STARTER_SITE in shop.settings.website:
        message = f'"{shop.settings.website}" is the starter\'s website.'
        yield Problem(Place("shop.toml", key=("website",)), "starter-left", message, "Write your own, or take it out.")
    if STARTER_ADDRESS in shop.settings.address:
        hint = "Write who answers for the goods, and where; labels and sheets name it."
        message = "the address is still the starter's."
        yield Problem(Place("shop.toml", key=("address",)), "starter-left", message, hint)
    for channel in shop.channels:
        for name in ("photo_address", "listing_address"):
            stated = str(getattr(channel, name))
            if STARTER_SITE in stated:
                place = channel.place(name)
                message = f'"{stated}" is the starter\'s, and buyers find nothing there.'
                yield Problem(place, "starter-left", message, "Write your own address, or take it out.")
        if {"fee"} == {"fee", "fixed_fee"} & channel.model_fields_set and not channel.fee:
            place = channel.place("fee")
            hint = 'Write what it keeps of each price, as in "12.5 %"; where that is nothing, add fixed_fee = "0.00".'
            yield Problem(place, "starter-left", f"{channel.name} is said to keep nothing of a price.", hint)
