"""What is typed in a set's story, theme and title, compared with the set: sizes, counts, prices, names, scents.

Computed words are passed over. What may be about something else is left alone: a number without a unit of goods, a
name without its capitals, a scent that nothing is said to smell of.
"""

import re
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import cache, cached_property, lru_cache
from itertools import chain, islice
from typing import Final

from listkit.check.alike import AND, Passage, folded, passages
from listkit.compute.catalog import SetFacts
from listkit.model.item import Item
from listkit.model.shop import Shop
from listkit.problem import Problem
from listkit.units.length import LENGTH_UNITS
from listkit.units.money import SIGNS
from listkit.units.net import VOLUME_UNITS, Measure
from listkit.units.spoken import Spoken
from listkit.units.table import UnitKind, units_of
from listkit.units.weight import WEIGHT_UNITS

# Names and scents of the shop's items in a running text: which of them does a set not hold?
#
# A name counts where it has its capitals, a scent where something is said to smell of it or to be made with it.

_TOKEN: Final = re.compile(r"[^\W_]+(?:['’][^\W_]+)?|&")
_ANDS: Final = frozenset({*AND.values(), "and"})
_SMELLING: Final = frozenset(
    (
        *("smell", "smells", "smelling", "scent", "scented", "fragrance", "perfume", "perfumed", "parfum", "parfume"),
        *("parfumee", "senteur", "sent", "duft", "duftet", "riecht", "aroma", "profumo", "profumato", "huele"),
    )
)
_GOODS: Final = frozenset(("soap", "bar", "jar", "butter", "scrub", "balm", "salts", "candle", "scented", "oil"))
_LINKS: Final = frozenset(("of", "like", "with", "the", "a", "de", "du", "la", "nach", "di", "al", "alla"))

_Key = tuple[str, ...]
_Capitals = tuple[bool, ...]


@dataclass(frozen=True, slots=True)
class _Token:
    start: int
    end: int
    text: str
    word: str  # folded, "and" for every & and its word


def _tokens(text: str) -> list[_Token]:
    tokens = []
    for match in _TOKEN.finditer(text):
        word = folded(match[0])
        tokens.append(_Token(match.start(), match.end(), match[0], "and" if word in _ANDS else word))
    return tokens


class Names:
    """The names and scents of all items of a shop, found by their first word."""

    def __init__(self, items: Iterable[Item]) -> None:
        self.names: dict[_Key, set[_Capitals]] = defaultdict(set)
        self.scents: dict[_Key, int] = {}  # in the order of the items
        self.long_names: dict[str, set[int]] = defaultdict(set)  # how many words they have, by the first
        self.long_scents: dict[str, set[int]] = defaultdict(set)
        self.name_of: dict[str, _Key] = {}
        self.words_of: dict[str, frozenset[str]] = {}
        forms: set[str] = set()
        for item in items:
            self.name_of[item.code] = name = _key(item.name)
            self.words_of[item.code] = frozenset(_key(f"{item.name} {item.scent} {item.form} {item.ingredients}"))
            if len(name) > 1:
                self.names[name].add(_capitals(_tokens(item.name)))
                self.long_names[name[0]].add(len(name))
            if scent := _key(item.scent):
                self.scents.setdefault(scent, len(self.scents))
                self.long_scents[scent[0]].add(len(scent))
            forms.update(_key(f"{item.form} {item.container}"))
        self.goods = _GOODS | {form for form in forms if len(form) > 2}

    def strange(self, text: str, facts: SetFacts) -> Iterator[tuple[int, int, str]]:
        """Yield where a name or scent is that is of no item of the set, with the hint."""
        tokens = _tokens(text)
        words = [token.word for token in tokens]
        if not any(word in self.long_names or word in self.long_scents for word in words):
            return
        # a set may speak of its own name and its items'; a mini mostly has the name of its full size
        right_names = {*(self.name_of[item.code] for item in facts.items), _key(facts.name)}
        described = self._described(facts)
        at = 0
        while at < len(tokens):
            name = self._name_at(tokens, at)
            if name is not None:
                if name not in right_names:
                    yield *_span(tokens, at, len(name)), "Name an item of the set, or leave the name out."
                at += len(name)
                continue
            scent = self._scent_at(words, at)
            if scent is not None and not described.issuperset(scent) and self._is_of_goods(words, at, len(scent)):
                yield *_span(tokens, at, len(scent)), "Nothing in the set has that scent."
            at += 1

    def _name_at(self, tokens: list[_Token], at: int) -> _Key | None:
        """Return the longest name that begins at a token, with its capitals."""
        for length in sorted(self.long_names.get(tokens[at].word, ()), reverse=True):
            there = tokens[at : at + length]
            name = tuple(token.word for token in there)
            has = _capitals(there) if name in self.names else ()
            if any(_has_all(has, asked) for asked in self.names.get(name, ())):
                return name
        return None

    def _scent_at(self, text: list[str], at: int) -> _Key | None:
        """Return the scent that begins at a word; of several the one that comes first among the items."""
        there = (tuple(text[at : at + length]) for length in self.long_scents.get(text[at], ()))
        return min((scent for scent in there if scent in self.scents), key=self.scents.__getitem__, default=None)

    def _is_of_goods(self, text: list[str], at: int, length: int) -> bool:
        """Whether a piece of goods follows a scent, or a word of smelling comes before it."""
        after = text[at + length : at + length + 1]
        before = [word for word in text[max(0, at - 3) : at] if word not in _LINKS]
        return bool(self.goods.intersection(after)) or bool(_SMELLING.intersection(before[-1:]))

    def _described(self, facts: SetFacts) -> set[str]:
        """Return every word that the set's items are described with."""
        options = [option.says for slot in facts.source.gift_set.slots for option in slot.choose if option.says]
        described = {word for text in (*options, facts.name) for word in _key(text)}
        return described.union(*(self.words_of[item.code] for item in facts.items))


@lru_cache(maxsize=8192)  # what items are called, which is asked again for every set
def _key(text: str) -> _Key:
    return tuple(token.word for token in _tokens(text))


def _span(tokens: list[_Token], at: int, length: int) -> tuple[int, int]:
    return tokens[at].start, tokens[at + length - 1].end


def _capitals(tokens: list[_Token]) -> _Capitals:
    """Return of each word whether it has a capital."""
    return tuple(token.text[:1].isupper() for token in tokens)


def _has_all(here: _Capitals, asked: _Capitals) -> bool:
    """Whether every word that has a capital in a name has one here."""
    return all(there or not wanted for there, wanted in zip(here, asked, strict=True))


Finds = Iterator[tuple[int, int, str]]
"""Where a typed thing begins and ends, and the hint."""


def _typed_words(*kinds: UnitKind) -> str:
    """Return a pattern for the words of units that a story means by them."""
    apart = {unit.sign.replace(" ", ""): r"\.? ?".join(unit.sign.split()) for unit in units_of(*kinds)}
    return "|".join(apart.get(word, word) for unit in units_of(*kinds) for word in unit.typed.split())


_OUNCE: Final = next(unit for unit in units_of(UnitKind.MASS) if unit.sign == "oz")
# In a story an ounce may be one of volume.
_VOLUMES: Final = {**VOLUME_UNITS, **dict.fromkeys(_OUNCE.words.split(), VOLUME_UNITS["floz"])}
_NUMBER: Final = r"\d{1,5}(?:[.,]\d{1,3})?"
_BEFORE: Final = r"(?<![\w.,/-])"
_AMOUNT: Final = re.compile(
    rf"{_BEFORE}({_NUMBER})[ \u00a0\u202f-]?({_typed_words(UnitKind.MASS, UnitKind.VOLUME)})(?![\w²³])", re.IGNORECASE
)
_SIZE: Final = re.compile(
    rf"{_BEFORE}({_NUMBER}) ?[x×] ?({_NUMBER})(?: ?[x×] ?({_NUMBER}))?[ \u00a0\u202f-]?"
    rf"({_typed_words(UnitKind.LENGTH)})(?!\w)",
    re.IGNORECASE,
)
# What is used of a piece, not what is in it: "add 50 g to the bath", "per 100 g", "5 ml per wash"; from memory.
_DOSE_BEFORE: Final = re.compile(
    r"\b(?:per|each|pro|par|por|add|use|pour|dissolve|scoop|sprinkle|take|melt|ajout\w*|vers\w+|gib|nimm|löse|añad\w+"
    r"|aggiung\w+)\b[^.!?]{0,24}$",
    re.IGNORECASE,
)
_DOSE_AFTER: Final = re.compile(r"\s*(?:/|\b(?:per|pro|par|por|a day|a week|at a time)\b)", re.IGNORECASE)
_NOT_OF_THE_SET: Final = re.compile(
    r"\b(?:deliver|shipping|postage|carriage|donat|charit|livraison|versand|spende|envío|spedizione)", re.IGNORECASE
)
_SENTENCE_END: Final = re.compile(r"[.!?](?:\s|$)")
_COUNT_WORDS: Final = {
    "en": "one two three four five six seven eight nine ten eleven twelve",
    "fr": "un deux trois quatre cinq six sept huit neuf dix onze douze",
    "de": "ein zwei drei vier fünf sechs sieben acht neun zehn elf zwölf",
    "es": "uno dos tres cuatro cinco seis siete ocho nueve diez once doce",
    "it": "uno due tre quattro cinque sei sette otto nove dieci undici dodici",
}
_PIECES: Final = {
    "en": "pieces?|items?|products?|treats|goodies",
    "fr": "pièces?|articles?|produits?",
    "de": "teile|teilig(?:e[nrs]?)?|stück|artikel|produkte?",
    "es": "piezas?|artículos?|productos?",
    "it": "pezzi|articoli|prodotti",
}
_CHOOSING: Final = re.compile(r"\b(?:choose|choice|pick|one of|choix|wähl|elige|scegli)\b[^.!?]{0,40}$", re.IGNORECASE)


_MOST_TOLD: Final = 12
"""Finds in one text that are told; who has more looks through all of it."""
_COUNTS: Final = range(2, 13)
"""Numbers of pieces that speak of a set; one is a pronoun, and three hundred are the whole shop."""


def typed_against(shop: Shop) -> Callable[[SetFacts], Iterator[Problem]]:
    """Return a function from a set to the problems of its typed words; names of items are gathered once for all."""
    names = Names(shop.items)
    price = _price_pattern(shop.settings.currency)

    def against(facts: SetFacts) -> Iterator[Problem]:
        said = _Said(facts, price, shop.settings.spoken)
        for passage in passages(facts, shop.settings.language):
            if passage.story or passage.key in {("theme",), ("title",)}:
                finds = chain(said.finds(passage), names.strange(passage.text, facts))
                for start, end, hint in islice(finds, _MOST_TOLD):
                    quote = " ".join(passage.text[start:end].split())
                    what = "piece" if facts.is_single else "set"
                    message = f'"{quote}" is not of this {what}: "{passage.around(start, end)}".'
                    yield Problem(passage.place(start), "text-disagrees", message, hint)

    return against


@cache
def _price_pattern(currency: str) -> re.Pattern[str]:
    signs = "|".join(re.escape(sign) for sign, codes in SIGNS.items() if currency in codes)
    sign = rf"(?:{signs}|{currency})" if signs else currency
    return re.compile(rf"(?<!\w)(?:{sign} ?({_NUMBER})|({_NUMBER})[ \u00a0\u202f]?{sign})(?![\d\w])", re.IGNORECASE)


@cache
def _count_pattern(language: str) -> re.Pattern[str] | None:
    if language not in _PIECES:
        return None
    number = rf"(\d{{1,2}}|{'|'.join(_COUNT_WORDS[language].split())})"
    alone = r"(?=\s*(?:[.,;:!?)]|$))"
    boxes = rf"|(?:set|box|bundle|collection) of {number}{alone}" if language == "en" else ""
    pieces = rf"{number}[ -]?(?:{_PIECES[language]})(?!\s+(?:of|de|von|di)\b)"
    return re.compile(rf"(?<![\w.,-])(?:{pieces}{boxes})(?!\w)", re.IGNORECASE | re.MULTILINE)


class _Said:
    """One set, and what its texts may say of it; amounts are gathered when the first one is typed."""

    def __init__(self, facts: SetFacts, price: re.Pattern[str], spoken: Spoken) -> None:
        self.facts, self.spoken = facts, spoken
        self.price = price

    def finds(self, passage: Passage) -> Finds:
        """Yield every size, price and count in a passage that is not the set's."""
        yield from self._amounts(passage.text)
        yield from self._sizes(passage.text)
        yield from self._prices(passage.text)
        yield from self._counts(passage)

    def _amounts(self, text: str) -> Finds:
        for match in _AMOUNT.finditer(text):
            unit = re.sub(r"[.\s]", "", match[2].lower())
            before = text[max(0, match.start() - 40) : match.start()]
            if _DOSE_BEFORE.search(before) or _DOSE_AFTER.match(text, match.end()):
                continue
            typed, half = _typed(match[1])
            if not any(_is_among(typed, half, size, amounts) for size, amounts in self._amounts_in(unit)):
                yield *match.span(), "Take it out: {{ items }} and the list of contents say it."

    def _amounts_in(self, unit: str) -> Iterator[tuple[Decimal, list[Decimal]]]:
        """Yield the size of the unit as one of weight and of volume, and the set's amounts in its base unit."""
        if unit in WEIGHT_UNITS:
            yield WEIGHT_UNITS[unit], self.grams
        if unit in _VOLUMES:
            yield _VOLUMES[unit], self.millilitres

    @cached_property
    def millilitres(self) -> list[Decimal]:
        """Every volume of the set's items, from small to large."""
        nets = [item.net for item in self.facts.items if item.net is not None]
        volumes = [net for net in nets if net.measure is Measure.VOLUME]
        return sorted({amount for net in volumes for amount in (net.each, net.total)})

    @cached_property
    def grams(self) -> list[Decimal]:
        """Every weight of the set, from small to large: gross and net of its items, of the gift and of the parcel."""
        grams = {item.weight.grams for item in self.facts.items}
        for net in (item.net for item in self.facts.items):
            if net is not None and net.measure is Measure.MASS:
                grams |= {net.each, net.total}
        for variant in self.facts.variants:
            grams.add(variant.weights.gift.grams)
            if variant.weights.parcel is not None:
                grams.add(variant.weights.parcel.grams)
        return sorted(grams)

    @cached_property
    def prices(self) -> frozenset[Decimal]:
        """Every price of the set and of its items."""
        items = {item.retail.amount for item in self.facts.items}
        return frozenset(items | {variant.prices.price.amount for variant in self.facts.variants})

    def _prices_now(self) -> str:
        prices = sorted({variant.prices.price for variant in self.facts.variants}, key=lambda price: price.amount)
        if not prices:
            return "It has no price now."
        least, most = self.spoken.money(prices[0]), self.spoken.money(prices[-1])
        return f"It costs {least} now." if len(prices) == 1 else f"It costs {least} to {most} now."

    def _sizes(self, text: str) -> Finds:
        for match in _SIZE.finditer(text):
            mm = LENGTH_UNITS.get(match[4].lower())  # "ınch" is matched as "inch" is, and is no word of ours
            typed = [_typed(number) for number in match.group(1, 2, 3) if number]
            if mm is not None and not any(_fits(typed, mm, sides) for sides in self._all_sides()):
                yield *match.span(), "Take it out, or write the size that the item or the box has."

    def _all_sides(self) -> Iterator[tuple[Decimal, ...]]:
        facts = self.facts
        for item in facts.items:
            yield item.size.sides
            yield _net_sides(item)
        cartons = [facts.carton, *(box.carton for box in facts.boxes)]
        sizes = [carton.outside for carton in cartons if carton]
        sizes += [size for box in facts.boxes for size in (box.inside, box.outside) if size]
        yield from (size.sides for size in sizes)

    def _prices(self, text: str) -> Finds:
        for match in self.price.finditer(text):
            begin, end = _sentence(text, *match.span())
            amount = Decimal((match[1] or match[2]).replace(",", "."))
            if amount not in self.prices and not _NOT_OF_THE_SET.search(text, begin, end):
                hint = "Write {{ cheapest | in_currency }} or {{ dearest | in_currency }}, which follow the prices."
                yield *match.span(), f"{self._prices_now()} {hint}"

    def _counts(self, passage: Passage) -> Finds:
        language = passage.language.partition("-")[0]
        pattern = _count_pattern(language)
        entries = self.facts.source.gift_set.contents
        allowed = {len(entries), sum(entry.quantity for entry in entries)}
        numbers = _COUNT_WORDS.get(language, "").split()
        for match in pattern.finditer(passage.text) if pattern else ():
            number = next(group for group in match.groups() if group).lower()
            if not number.isdigit() and number not in numbers:  # "sıx" is matched as "six" is
                continue
            count = int(number) if number.isdigit() else numbers.index(number) + 1
            before = passage.text[max(0, match.start() - 60) : match.start()]
            if count in _COUNTS and count not in allowed and not _CHOOSING.search(before):
                yield *match.span(), f"There are {max(allowed)} in it; {{{{ items }}}} says what."


def _typed(number: str) -> tuple[Decimal, Decimal]:
    """Return a typed number, and half of its last digit, by which rounding may have moved it."""
    value = Decimal(number.replace(",", "."))
    exponent = value.as_tuple().exponent
    return value, Decimal(5).scaleb(int(exponent) - 1)


def _is_among(typed: Decimal, half: Decimal, size: Decimal, amounts: list[Decimal]) -> bool:
    """Whether one of the amounts, from small to large, comes to what is typed in a unit of this size."""
    at = bisect_left(amounts, (typed - half) * size)
    return any(abs(typed - amount / size) <= half for amount in amounts[max(0, at - 1) : at + 1])


def _fits(typed: list[tuple[Decimal, Decimal]], mm: Decimal, sides: tuple[Decimal, ...]) -> bool:
    """Whether every typed side is one of `sides`, each taken once, the longest first."""
    left = sorted(sides, reverse=True)
    for value, half in sorted(typed, reverse=True):
        match = next((side for side in left if abs(value - side / mm) <= half), None)
        if match is None:
            return False
        left.remove(match)
    return True


def _net_sides(item: Item) -> tuple[Decimal, ...]:
    """Return the sides in mm that a net content states ("118 x 80 mm")."""
    match = _SIZE.search(item.net.text) if item.net is not None and item.net.measure is Measure.SIZE else None
    mm = LENGTH_UNITS.get(match[4].lower()) if match else None
    if match is None or mm is None:
        return ()
    return tuple(_typed(number)[0] * mm for number in match.group(1, 2, 3) if number)


def _sentence(text: str, start: int, end: int) -> tuple[int, int]:
    """Return where the sentence around a find begins and ends, at most some hundred characters away."""
    low = max(0, start - 200)
    ends = [match.end() for match in _SENTENCE_END.finditer(text, low, start)]
    after = _SENTENCE_END.search(text, end, end + 200)
    return (ends[-1] if ends else low), (after.start() if after else min(len(text), end + 200))
