"""Finds claims in a text: every phrase of a table, from every word, within one sentence.

The work grows with the length of the text: from each word only the phrases that begin with it are walked, and a
phrase reaches over a bounded number of words. What looks like a claim and is none is taken out first.
"""

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Final

from listkit.check.claims_table import ClaimTable, Family, Phrase

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
    words = _masked(words, friends)
    found = [one for at in range(len(words)) for one in index.starting(words, at)]
    found = [one for one in found if one[0].where in ("", where)]
    first: dict[str, tuple[Family, int, int]] = {}
    times: dict[str, int] = defaultdict(int)
    for family, (start, end) in sorted(_apart(found, len(words)), key=lambda one: one[1]):
        first.setdefault(family.key, (family, start, end))
        times[family.key] += 1
    for key, (family, start, end) in first.items():
        yield Find(family, words[start].start, words[end].end, times[key])


_Found = tuple[Family, tuple[int, int]]


def _apart(found: list[_Found], length: int) -> Iterator[_Found]:
    """Yield the finds that share no word: the longest first, then as the table has them."""
    taken = bytearray(length)
    ordered = sorted(found, key=lambda one: (one[1][0] - one[1][1], one[0].number, one[1]))
    for family, (start, end) in ordered:
        if not any(taken[start : end + 1]):
            taken[start : end + 1] = b"\1" * (end + 1 - start)
            yield family, (start, end)


def _words(text: str) -> list[_Word]:
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


def _masked(words: list[_Word], spans: list[tuple[int, int]]) -> list[_Word]:
    hidden = {at for start, end in spans for at in range(start, end + 1)}
    if not hidden:
        return words
    return [
        _Word(word.start, word.end, _MASKED, word.sentence) if at in hidden else word for at, word in enumerate(words)
    ]


class _Index:
    """The phrases of a table by the words they may begin with."""

    def __init__(self, table: ClaimTable) -> None:
        self.friend = Family(0, "", "", "", "", "", "", table.friends)
        self.by_word: dict[bool, dict[str, list[tuple[Family, Phrase]]]] = {True: {}, False: {}}
        self.by_beginning: dict[bool, dict[str, list[tuple[Family, Phrase]]]] = {True: {}, False: {}}
        for family in (self.friend, *table.families):
            for phrase in family.phrases:
                self._add(family, phrase)

    def _add(self, family: Family, phrase: Phrase) -> None:
        friends = family is self.friend
        for word in phrase[0].words:
            self.by_word[friends].setdefault(word, []).append((family, phrase))
        for beginning in {one[:_BEGINNING] for one in phrase[0].beginnings}:
            self.by_beginning[friends].setdefault(beginning, []).append((family, phrase))

    def starting(self, words: list[_Word], at: int, *, friends: bool = False) -> Iterator[_Found]:
        """Yield every phrase that begins at a word, with the first and last word of it."""
        word = words[at].text
        candidates = self.by_word[friends].get(word, [])
        more = self.by_beginning[friends].get(word[:_BEGINNING], []) if len(word) >= _BEGINNING else []
        for family, phrase in (*candidates, *more):
            if phrase[0].takes(word) and (end := _end(phrase, words, at)) is not None:
                yield family, (at, end)


@cache
def _index(table: ClaimTable) -> _Index:
    return _Index(table)


def _end(phrase: Phrase, words: list[_Word], at: int) -> int | None:
    """Return the last word of a phrase that begins at a word, the earliest possible; None where it does not."""
    ends, sentence = {at}, words[at].sentence
    for step in phrase[1:]:
        reached: set[int] = set()
        for end in ends:
            for place in range(end + 1, min(end + 2 + step.before, len(words))):
                if words[place].sentence != sentence:
                    break
                if step.takes(words[place].text):
                    reached.add(place)
        if not reached:
            return None
        ends = reached
    return min(ends)
