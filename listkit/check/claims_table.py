"""Tables of claims: the words that get an owner into trouble, by language, from templates/claims/<language>.toml.

A phrase is words in a row, as the table's own head explains. It is brought down here to steps, each a set of words or
beginnings of words, so that looking for it is a walk along the text and never a search that can explode.
"""

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import product
from typing import Any, Final

from listkit.check.alike import folded

LEVELS: Final = {"medicine": "claim-medicine", "evidence": "claim-evidence", "reword": "claim-reword"}
FOLDER: Final = "claims"
MOST_BETWEEN: Final = 4
"""Words that ".." may stand for."""
_LEAST_BEGINNING: Final = 4
_VOWELS: Final = "aeiou"


@dataclass(frozen=True, slots=True)
class Step:
    """A place in a phrase: the words that may stand there, beginnings of words, and how many words may stand before."""

    words: frozenset[str]
    beginnings: tuple[str, ...] = ()
    before: int = 0

    def takes(self, word: str) -> bool:
        """Whether `word`, folded, may stand here."""
        return word in self.words or bool(self.beginnings and word.startswith(self.beginnings))


Phrase = tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Family:
    """One kind of claim: what it is called, which code it is told under, why, whose rule it is, what to write."""

    number: int
    key: str
    code: str
    where: str
    why: str
    source: str
    write: str
    phrases: tuple[Phrase, ...]


@dataclass(frozen=True, slots=True, eq=False)
class ClaimTable:
    """All of one language: families in order, and phrases that only look like claims. Each text is read once."""

    families: tuple[Family, ...]
    friends: tuple[Phrase, ...]

    @property
    def keys(self) -> frozenset[str]:
        """What [[evidence]] may name."""
        return frozenset(family.key for family in self.families)


@cache
def parse_claims(text: str) -> ClaimTable:
    """Return the table that `text` holds.

    Raises:
        ValueError: it is no TOML, or a phrase names a list of words that is not there.
    """
    raw = tomllib.loads(text)
    try:
        lists = {name: _alternatives(words) for name, words in raw.get("words", {}).items()}
        friends = raw.get("friends", {}).get("phrases", [])
        families = tuple(_family(one, lists) for one in raw.get("family", []))
        return ClaimTable(families, tuple(phrase for text in friends for phrase in _phrases(text, lists)))
    except (KeyError, TypeError, AttributeError) as fault:
        raise ValueError(f"{fault} is missing or of the wrong kind") from fault


def _family(raw: dict[str, Any], lists: dict[str, tuple[str, ...]]) -> Family:
    phrases = tuple(phrase for text in raw["phrases"] for phrase in _phrases(text, lists))
    why, source, write = (raw[name] for name in ("why", "source", "write"))
    return Family(raw["number"], raw["key"], LEVELS[raw["level"]], raw.get("where", ""), why, source, write, phrases)


def _alternatives(text: str) -> tuple[str, ...]:
    return tuple(" ".join(one.split()) for one in text.split("/") if one.strip())


def _phrases(text: str, lists: dict[str, tuple[str, ...]]) -> Iterator[Phrase]:
    """Yield a phrase for each way to take alternatives of several words and to leave out what may be left out.

    Alternatives of one word are one step.
    """
    parts: list[list[str]] = []
    for word in text.split():
        bare = word.removesuffix("?")
        options = [one for part in bare.split("/") for one in (lists[part[1:-1]] if part[:1] == "<" else (part,))]
        single = "/".join(one for one in options if " " not in one)
        ways = [single, *(one for one in options if " " in one)]
        parts.append([one for one in ways if one] + ([""] if bare != word else []))
    for chosen in product(*parts):
        yield tuple(_steps(" ".join(chosen).split()))


def _steps(words: list[str]) -> Iterator[Step]:
    before = 0
    for word in words:
        if word == "..":
            before = MOST_BETWEEN
            continue
        options = word.split("/")
        exact = (form for one in options if not one.endswith("*") for form in _forms(folded(one)))
        beginnings = tuple(folded(one.removesuffix("*")) for one in options if one.endswith("*"))
        if any(len(one) < _LEAST_BEGINNING for one in beginnings):
            raise ValueError(f'"{word}" begins too many words')
        yield Step(frozenset(exact), beginnings, before)
        before = 0


def _forms(word: str) -> tuple[str, ...]:
    """Return a word marked with ~ in its forms as a verb or noun of English, any other word as it is."""
    if not word.endswith("~"):
        return (word,)
    word = word.removesuffix("~")
    forms = [word, word + "s", word + "es"]
    if word.endswith("e"):
        return (*forms, word + "d", word[:-1] + "ing")
    if word.endswith("y") and word[-2:-1] not in _VOWELS:
        return (*forms, word[:-1] + "ies", word[:-1] + "ied", word + "ing")
    doubled = word + word[-1]
    return (*forms, word + "ed", word + "ing", doubled + "ed", doubled + "ing")
