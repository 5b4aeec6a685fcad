"""Tables of claims: the words that get an owner into trouble, by language, from templates/claims/<language>.toml.

A phrase is words in a row, as the table's own head explains. It is brought down here to steps, each a set of words or
beginnings of words, so that looking for it is a walk along the text and never a search that can explode.
"""

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from itertools import product
from math import prod
from typing import Any, Final

from listkit import bounds
from listkit.bounded_toml import parse_bounded
from listkit.check.alike import folded

LEVELS: Final = {"medicine": "claim-medicine", "evidence": "claim-evidence", "reword": "claim-reword"}
FOLDER: Final = "claims"
MOST_BETWEEN: Final = bounds.CLAIM_WORDS_BETWEEN
"""Words that ".." may stand for."""
_TEXTS: Final = ("key", "where", "why", "source", "write")
_LEAST_BEGINNING: Final = 4
_MOST_PHRASES: Final = bounds.CLAIM_PHRASES
"""Of one table, alternatives told apart; ours has a few hundred."""
_VOWELS: Final = "aeiou"


@dataclass(frozen=True, slots=True)
class Step:
    """A place in a phrase: the words that may be there, beginnings of words, and how many words may come before."""

    words: frozenset[str]
    beginnings: tuple[str, ...] = ()
    before: int = 0

    def takes(self, word: str) -> bool:
        """Whether `word`, folded, may be here."""
        return word in self.words or bool(self.beginnings and word.startswith(self.beginnings))


Phrase = tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Family:
    """One kind of claim: its key, the code of its problems, why, whose rule it is, what to write."""

    phrases: tuple[Phrase, ...]
    number: int = 0
    key: str = ""
    code: str = ""
    where: str = ""
    why: str = ""
    source: str = ""
    write: str = ""


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
        ValueError: it is no TOML, a phrase names a list of words that is not there, or the phrases are too many.
    """
    raw = parse_bounded(text)
    try:
        lists = {
            name: tuple(" ".join(entry.split()) for entry in entries.split("/") if entry.strip())
            for name, entries in raw.get("words", {}).items()
        }
        friends = raw.get("friends", {}).get("phrases", [])
        texts = [*friends, *(text for family in raw.get("family", []) for text in family["phrases"])]
        if sum(prod(map(len, _parts(text, lists))) for text in texts) > _MOST_PHRASES:
            raise ValueError("its phrases can be said in too many ways")  # before any phrase is made
        families = tuple(_family(family, lists) for family in raw.get("family", []))
        return ClaimTable(families, tuple(phrase for text in friends for phrase in _phrases(text, lists)))
    except (KeyError, TypeError, AttributeError) as fault:
        raise ValueError(f"{fault} is missing or of the wrong kind") from fault


def _family(raw: dict[str, Any], lists: dict[str, tuple[str, ...]]) -> Family:
    phrases = tuple(phrase for text in raw["phrases"] for phrase in _phrases(text, lists))
    texts = {name: raw.get(name, "") for name in _TEXTS}
    for name, value in texts.items():
        if not isinstance(value, str) or not (value or name == "where"):
            raise KeyError(name)
    if not isinstance(raw["number"], int):
        raise KeyError("number")
    return Family(phrases, raw["number"], code=LEVELS[raw["level"]], **texts)


def _phrases(text: str, lists: dict[str, tuple[str, ...]]) -> Iterator[Phrase]:
    """Yield a phrase for each way to take alternatives of several words and to leave out what may be left out.

    Alternatives of one word are one step.
    """
    for chosen in product(*_parts(text, lists)):
        yield tuple(_steps(" ".join(chosen).split()))


def _parts(text: str, lists: dict[str, tuple[str, ...]]) -> list[list[str]]:
    """Return for each place in a phrase the ways to fill it."""
    parts: list[list[str]] = []
    for word in text.split():
        bare = word.removesuffix("?")
        options = [way for part in bare.split("/") for way in (lists[part[1:-1]] if part[:1] == "<" else (part,))]
        single = "/".join(option for option in options if " " not in option)
        ways = [single, *(option for option in options if " " in option)]
        parts.append([way for way in ways if way] + ([""] if bare != word else []))
    return parts


def _steps(phrase: list[str]) -> Iterator[Step]:
    """Yield a step for each word of a phrase that is not ".."."""
    before = 0
    for word in phrase:
        if word == "..":
            before = MOST_BETWEEN
            continue
        options = word.split("/")
        exact = (form for option in options if not option.endswith("*") for form in _forms(folded(option)))
        beginnings = tuple(folded(option.removesuffix("*")) for option in options if option.endswith("*"))
        if any(len(beginning) < _LEAST_BEGINNING for beginning in beginnings):
            raise ValueError(f'"{word}" begins too many words')
        yield Step(frozenset(exact), beginnings, before)
        before = 0


def _forms(word: str) -> tuple[str, ...]:
    """Return a word marked with ~ in its forms as a verb or noun of English, any other word as it is.

    >>> _forms("cure~")
    ('cure', 'cures', 'curees', 'cured', 'curing')
    """
    if not word.endswith("~"):
        return (word,)
    word = word.removesuffix("~")
    if not word:
        raise ValueError('"~" stands behind no word')
    forms = [word, word + "s", word + "es"]
    if word.endswith("e"):
        return (*forms, word + "d", word[:-1] + "ing")
    if word.endswith("y") and word[-2:-1] not in _VOWELS:
        return (*forms, word[:-1] + "ies", word[:-1] + "ied", word + "ing")
    doubled = word + word[-1]
    return (*forms, word + "ed", word + "ing", doubled + "ed", doubled + "ing")


# The search for claims in a text: every phrase of a table, from every word, within one sentence.
#
# The work grows with the length of the text: from each word only the phrases that begin with it are walked, and a
# phrase reaches over a bounded number of words. What looks like a claim and is none is taken out first.

_UNSEEN: Final = "\u00ad\u200b-\u200d\u2060\ufeff"
_TOKEN: Final = re.compile(rf"(?:[^\W\d_][\u0300-\u036f{_UNSEEN}]*)+|\d+")
_BREAK: Final = re.compile(r"[.!?:;|\t•·…]|\n\s*(?:\n|[-*+>#])")
_NOT_LETTERS: Final = re.compile(rf"[\u0300-\u036f{_UNSEEN}]")
_BEGINNING: Final = 4
_OWNED: Final = "'’‘"
_MASKED: Final = "\0"


@dataclass(frozen=True, slots=True)
class Find:
    """One claim: its family, where it begins and ends in the text, and how often the family occurs."""

    family: Family
    start: int
    end: int
    times: int = 1


@dataclass(frozen=True, slots=True)
class _Word:
    start: int
    end: int
    text: str
    sentence: int


def find_claims(text: str, table: ClaimTable, *, where: str = "") -> Iterator[Find]:
    """Yield the first find of each family, in the order of the text; of finds that overlap the longest counts.

    Args:
        text: what is looked through, as it stands.
        table: of its language.
        where: "eu" takes in the families that count only there.
    """
    words = _words(text)
    if not words:
        return
    index = _index(table)
    friends = [span for at in range(len(words)) for _, span in index.starting(words, at, friends=True)]
    hidden = {at for start, end in friends for at in range(start, end + 1)}
    words = [replace(word, text=_MASKED) if at in hidden else word for at, word in enumerate(words)]
    spans = [span for at in range(len(words)) for span in index.starting(words, at)]
    spans = [span for span in spans if span[0].where in ("", where)]
    first: dict[str, tuple[Family, int, int]] = {}
    times: dict[str, int] = defaultdict(int)
    for family, (start, end) in sorted(_apart(spans, len(words)), key=lambda span: span[1]):
        first.setdefault(family.key, (family, start, end))
        times[family.key] += 1
    for key, (family, start, end) in first.items():
        yield Find(family, words[start].start, words[end].end, times[key])


_Span = tuple[Family, tuple[int, int]]
"""A family, and the first and last word of one of its phrases in a text."""


def _apart(spans: list[_Span], length: int) -> Iterator[_Span]:
    """Yield the spans that share no word: the longest first, then as the table has them."""
    taken = bytearray(length)
    ordered = sorted(spans, key=lambda span: (span[1][0] - span[1][1], span[0].number, span[1]))
    for family, (start, end) in ordered:
        if not any(taken[start : end + 1]):
            taken[start : end + 1] = b"\1" * (end + 1 - start)
            yield family, (start, end)


def _words(text: str) -> list[_Word]:
    """Return the words of a text, folded, each with its sentence; the s of a possessive is none."""
    words: list[_Word] = []
    sentence, last = 0, 0
    for match in _TOKEN.finditer(text):
        if words and _BREAK.search(text, last, match.start()):
            sentence += 1
        last = match.end()
        owned = match[0] in "sS" and text[match.start() - 1 : match.start()] in _OWNED and match.start() > 0
        if not owned:
            words.append(_Word(match.start(), match.end(), _folded(match[0]), sentence))
    return words


def _folded(word: str) -> str:
    if word.isascii():
        return word.lower()
    return _NOT_LETTERS.sub("", unicodedata.normalize("NFKD", word.casefold()))


class _Index:
    """The phrases of a table by the words they may begin with."""

    def __init__(self, table: ClaimTable) -> None:
        self.friend = Family(table.friends)
        self.by_word: dict[bool, dict[str, list[tuple[Family, Phrase]]]] = {True: {}, False: {}}
        self.by_beginning: dict[bool, dict[str, list[tuple[Family, Phrase]]]] = {True: {}, False: {}}
        for family in (self.friend, *table.families):
            friends = family is self.friend
            for phrase in family.phrases:
                for word in phrase[0].words:
                    self.by_word[friends].setdefault(word, []).append((family, phrase))
                for beginning in {beginning[:_BEGINNING] for beginning in phrase[0].beginnings}:
                    self.by_beginning[friends].setdefault(beginning, []).append((family, phrase))

    def starting(self, text: list[_Word], at: int, *, friends: bool = False) -> Iterator[_Span]:
        """Yield every phrase that begins at a word, with the first and last word of it."""
        word = text[at].text
        candidates = self.by_word[friends].get(word, [])
        more = self.by_beginning[friends].get(word[:_BEGINNING], []) if len(word) >= _BEGINNING else []
        for family, phrase in (*candidates, *more):
            if phrase[0].takes(word) and (end := _end(phrase, text, at)) is not None:
                yield family, (at, end)


@cache
def _index(table: ClaimTable) -> _Index:
    return _Index(table)


def _end(phrase: Phrase, text: list[_Word], at: int) -> int | None:
    """Return the last word of a phrase that begins at a word, the earliest possible; None where it does not."""
    ends, sentence = {at}, text[at].sentence
    for step in phrase[1:]:
        reached: set[int] = set()
        for end in ends:
            for place in range(end + 1, min(end + 2 + step.before, len(text))):
                if text[place].sentence != sentence:
                    break
                if step.takes(text[place].text):
                    reached.add(place)
        if not reached:
            return None
        ends = reached
    return min(ends)
