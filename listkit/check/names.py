"""Names and scents of the shop's items in a running text: which of them does a set not hold?

A name counts where it has its capitals, a scent where something is said to smell of it or to be made with it.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from listkit.check.alike import AND, folded
from listkit.compute.catalog import SetFacts
from listkit.model.item import Item

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


@dataclass(frozen=True, slots=True)
class _Token:
    start: int
    end: int
    text: str
    word: str  # folded, "and" for every & and its word


def _tokens(text: str) -> list[_Token]:
    found = [(match.start(), match.end(), match[0]) for match in _TOKEN.finditer(text)]
    return [_Token(start, end, word, _word(word)) for start, end, word in found]


def _word(token: str) -> str:
    word = folded(token)
    return "and" if word in _ANDS else word


class Names:
    """The names and scents of all items of a shop, found by their first word."""

    def __init__(self, items: Iterable[Item]) -> None:
        self.names: dict[str, list[tuple[_Key, Item]]] = defaultdict(list)
        self.scents: dict[str, list[_Key]] = defaultdict(list)
        self.name_of: dict[str, _Key] = {}
        self.words_of: dict[str, frozenset[str]] = {}
        forms: set[str] = set()
        for item in items:
            self.name_of[item.code] = name = _key(item.name)
            self.words_of[item.code] = frozenset(_key(f"{item.name} {item.scent} {item.form} {item.ingredients}"))
            if len(name) > 1:
                self.names[name[0]].append((name, item))
            if (scent := _key(item.scent)) and scent not in self.scents[scent[0]]:
                self.scents[scent[0]].append(scent)
            forms.update(_key(f"{item.form} {item.container}"))
        self.goods = _GOODS | {form for form in forms if len(form) > 2}
        for found in self.names.values():
            found.sort(key=lambda entry: -len(entry[0]))

    def strange(self, text: str, facts: SetFacts) -> Iterator[tuple[int, int, str]]:
        """Yield where a name or scent stands that is of no item of the set, with the hint."""
        tokens = _tokens(text)
        words = [token.word for token in tokens]
        if not any(word in self.names or word in self.scents for word in words):
            return
        own, own_names = self._own_words(facts), self._own_names(facts)
        at = 0
        while at < len(tokens):
            name = self._name_at(tokens, words, at)
            if name is not None:
                if name not in own_names:
                    yield *_span(tokens, at, len(name)), "Name an item of the set, or leave the name out."
                at += len(name)
                continue
            scent = next((s for s in self.scents.get(words[at], ()) if tuple(words[at : at + len(s)]) == s), None)
            if scent is not None and not own.issuperset(scent) and self._is_said_of_goods(words, at, len(scent)):
                yield *_span(tokens, at, len(scent)), "Nothing in the set has that scent."
            at += 1

    def _name_at(self, tokens: list[_Token], words: list[str], at: int) -> _Key | None:
        """Return the longest name that stands here with its capitals."""
        for name, item in self.names.get(words[at], ()):
            if tuple(words[at : at + len(name)]) == name and _capitals(tokens[at : at + len(name)], item.name):
                return name
        return None

    def _is_said_of_goods(self, words: list[str], at: int, length: int) -> bool:
        after = words[at + length : at + length + 1]
        before = [word for word in words[max(0, at - 3) : at] if word not in _LINKS]
        return bool(self.goods.intersection(after)) or bool(_SMELLING.intersection(before[-1:]))

    def _own_names(self, facts: SetFacts) -> set[_Key]:
        """Return the names that a set may speak of: its own and its items'; a mini mostly has its full size's name."""
        return {*(self.name_of[item.code] for item in facts.items), _key(facts.name)}

    def _own_words(self, facts: SetFacts) -> set[str]:
        """Return every word that the set's items are described with."""
        said = [option.says for slot in facts.source.gift_set.slots for option in slot.choose if option.says]
        own = {word for text in (*said, facts.name) for word in _key(text)}
        return own.union(*(self.words_of[item.code] for item in facts.items))


def _key(text: str) -> _Key:
    return tuple(token.word for token in _tokens(text))


def _span(tokens: list[_Token], at: int, length: int) -> tuple[int, int]:
    return tokens[at].start, tokens[at + length - 1].end


def _capitals(tokens: list[_Token], name: str) -> bool:
    """Whether every word that has a capital in the name has one here."""
    return all(
        token.text[:1].isupper() or not own.text[:1].isupper() for token, own in zip(tokens, _tokens(name), strict=True)
    )
