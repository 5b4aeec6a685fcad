"""Cautions in words: the sentences behind an item's keys, from templates/cautions/<language>.toml.

The keys are those that the item's row names and those that the rules add (compute/cautions.py). An entry with a space
in it is the owner's own sentence. A key without a sentence is left to the checks. listkit only recalls what is usual;
it certifies nothing.
"""

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from listkit.bounded_toml import parse_bounded
from listkit.compute.cautions import entries_of
from listkit.listing.nouns import capital, item_name, small
from listkit.listing.words import Words, fill, not_toml
from listkit.model.item import Item
from listkit.problem import Place, Problem


@dataclass(frozen=True, slots=True)
class Cautions:
    """One language's sentences by key. `entries` are items by code with the keys and own sentences chosen for them."""

    sentences: tuple[tuple[str, str], ...]
    entries: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def of(self, item: Item) -> tuple[str, ...]:
        """Return an item's cautions in words: those it states, in its order, then those that the rules add."""
        known = dict(self.sentences)
        entries = self.entries[item.code] if item.code in self.entries else entries_of(item)
        told = (entry if " " in entry else known.get(entry, "") for entry in entries)
        return tuple(dict.fromkeys(filter(None, told)))


@lru_cache(maxsize=64)
def parse_cautions(texts: tuple[tuple[str, str], ...]) -> tuple[Cautions | None, tuple[Problem, ...]]:
    """Return the cautions of one language, or None and what is wrong with a file.

    Args:
        texts: path below templates/ and text of each file, base first; what a later one says beats an earlier.
    """
    sentences: dict[str, str] = {}
    for path, text in texts:
        try:
            raw = parse_bounded(text)
        except tomllib.TOMLDecodeError as fault:
            return None, (not_toml(path, fault),)
        for key, table in raw.items():
            if not isinstance(table, dict):
                continue
            if not isinstance(table.get("text"), str):
                message, hint = f'"{key}" has no sentence.', 'Write text = "..." in its table.'
                return None, (Problem(Place(f"templates/{path}", key=(key,)), "template-fault", message, hint),)
            sentences[key] = table["text"]
    return Cautions(tuple(sentences.items())), ()


def caution_lines(words: Words, cautions: Cautions, items: tuple[Item, ...]) -> tuple[str, ...]:
    """Return each caution once, with what it is for where that is not everything: forms, or single items."""
    holds: dict[str, list[Item]] = {}
    for item in items:
        for sentence in cautions.of(item):
            holds.setdefault(sentence, []).append(item)
    return tuple(
        sentence if len(of) == len(items) else _for(words, sentence, told_together(words, of, items))
        for sentence, of in holds.items()
    )


def _for(words: Words, sentence: str, some: tuple[str, ...]) -> str:
    return fill(words.sentences.applies_to, caution=sentence, items=capital(words.all_of(some)))


def told_together(words: Words, some: Iterable[Item], items: tuple[Item, ...]) -> tuple[str, ...]:
    """Return `some` of `items` in few words: a form where all of that form are meant, else the item's own name."""
    chosen = tuple(some)
    codes = {item.code for item in chosen}
    split = {item.form for item in items if item.code not in codes} | {""}
    return tuple(dict.fromkeys(item_name(item) if item.form in split else small(words, item.form) for item in chosen))
