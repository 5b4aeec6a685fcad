"""Phrases by the words they begin and end with: from each word of a text only those that can be there are walked.

A phrase reaches over a bounded number of words of one sentence. What is walked is counted, since a table may be
anybody's, and a text may have one word a hundred thousand times.
"""

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain
from typing import Final

from listkit import bounds
from listkit.check.claims_table import LEAST_PART, MOST_BETWEEN, Family, Phrase, Step

_UNSEEN: Final = "\u00ad\u200b-\u200d\u2060\ufeff"
_TOKEN: Final = re.compile(rf"(?:[^\W\d_][\u0300-\u036f{_UNSEEN}]*)+|\d+|\?")
_BREAK: Final = re.compile(r"\.(?!\d)|[!?:;|\t•·…]|\n\s*(?:\n|[-*+>#])")
_NOT_LETTERS: Final = re.compile(rf"[\u0300-\u036f{_UNSEEN}]")
_PART: Final = LEAST_PART
_ENDS_A_STEP: Final = 200  # ends of phrases that are noted, once for a word, in the time of some walks
_KEPT_WORDS: Final = 65_536  # for which it is kept what begins with them: texts have the same words again and again
_OWNED: Final = "'’‘\""
ASKS: Final = "?"


@dataclass(frozen=True, slots=True)
class Word:
    """A word of a text: where it is, folded, and in which sentence."""

    start: int
    end: int
    text: str
    sentence: int


Span = tuple[Family, tuple[int, int]]
"""A family, and the first and last word of one of its phrases in a text."""


class TooMuchError(Exception):
    """More phrases were walked than a text of its length has need of."""


@dataclass(slots=True)
class Effort:
    """How much may be walked, and how much was."""

    most: int
    spent: int = 0

    def spend(self, steps: int) -> None:
        """Count steps.

        Raises:
            TooMuchError: they are more than may be.
        """
        self.spent += steps
        if self.spent > self.most:
            raise TooMuchError


def words_of(text: str) -> list[Word]:
    """Return the words of a text, folded, each with its sentence, "?" as its last; the s of a possessive is none."""
    words: list[Word] = []
    sentence, begun, last = 0, 0, 0
    for match in _TOKEN.finditer(text):
        asks = match[0] == ASKS
        long = len(words) - begun >= bounds.CLAIM_SENTENCE
        if words and (long or _BREAK.search(text, last, match.start() + (not asks))):
            sentence, begun = sentence + 1, len(words)  # the point is seen with the word: none in a number
        last = match.start() if asks else match.end()
        owned = match[0] in "sS" and text[match.start() - 1 : match.start()] in _OWNED and match.start() > 0
        if not owned and (words or not asks):
            words.append(Word(match.start(), match.end(), _folded(match[0]), sentence))
    return words


def _folded(word: str) -> str:
    if word.isascii():
        return word.lower()
    return _NOT_LETTERS.sub("", unicodedata.normalize("NFKD", word.casefold()))


_Beginning = tuple[Step, list[tuple[Family, Phrase]]]
"""How phrases begin, and those that begin so."""


class PhraseIndex:
    """Phrases of families by the words they may begin with; none begins with "every word except".

    Many phrases begin with one list of words, which is gone through once for all of them.
    """

    def __init__(self, families: Iterable[Family]) -> None:
        begun: dict[Step, list[tuple[Family, Phrase]]] = defaultdict(list)
        for family in families:
            for phrase in family.phrases:
                begun[phrase[0]].append((family, phrase))
        self.by_word: dict[str, list[_Beginning]] = defaultdict(list)
        self.by_beginning: dict[str, list[_Beginning]] = defaultdict(list)
        self.by_end: dict[str, list[_Beginning]] = defaultdict(list)
        for beginning in begun.items():
            for word in beginning[0].words:
                self.by_word[word].append(beginning)
            for part in {part[:_PART] for part in beginning[0].beginnings}:
                self.by_beginning[part].append(beginning)
            for part in {part[-_PART:] for part in beginning[0].ends}:
                self.by_end[part].append(beginning)
        self.begun = lru_cache(maxsize=_KEPT_WORDS)(self.begun_by)

    def begun_by(self, word: str) -> "_Begun | None":
        """Return what begins with a word, None where nothing does."""
        begun = self.by_beginning.get(word[:_PART], []) if len(word) >= _PART else []
        ended = self.by_end.get(word[-_PART:], []) if len(word) >= _PART else []
        candidates = (*self.by_word.get(word, []), *begun, *ended)
        phrases = [*chain.from_iterable(phrases for step, phrases in candidates if step.takes(word))]
        return _begun(phrases) if phrases else None

    def spans(self, text: list[Word], effort: Effort) -> Iterator[Span]:
        """Yield every phrase of a text, with the first and last word of it.

        Phrases whose last word is not within their reach are not walked: most of them.
        """
        looked_up = set[str]()
        for at, word in enumerate(text):
            if (begun := self.begun(word.text)) is None:
                continue
            if word.text not in looked_up:
                looked_up.add(word.text)
                effort.spend(begun.ends // _ENDS_A_STEP)
            for family in begun.alone:
                yield family, (at, at)
            possible = list(begun.others)
            for later in text[at + 1 : at + 1 + begun.reach]:
                if later.sentence != word.sentence:
                    break
                for mark in _marks(later.text):
                    possible += begun.by_last.get(mark, ())
            effort.spend(1 + len(begun.alone) + len(possible))
            for family, phrase in possible:
                if (end := _end(phrase, text, at, effort)) is not None:
                    yield family, (at, end)


@dataclass(frozen=True, slots=True)
class _Begun:
    """What begins with one word: families of which it is a whole phrase, and longer phrases.

    Of these `by_last` are those that end with a word of a mark, which stands at most `reach` words later,
    so many with each of its `ends`.
    """

    alone: tuple[Family, ...]
    by_last: Mapping[str, list[tuple[Family, Phrase]]]
    reach: int
    ends: int
    others: tuple[tuple[Family, Phrase], ...]


def _begun(phrases: Iterable[tuple[Family, Phrase]]) -> _Begun:
    alone, others, reach = list[Family](), list[tuple[Family, Phrase]](), 0
    by_last: dict[str, list[tuple[Family, Phrase]]] = defaultdict(list)
    for family, phrase in phrases:
        last = phrase[-1]
        if len(phrase) == 1:
            alone.append(family)
        elif last.but:
            others.append((family, phrase))
        else:
            reach = max(reach, sum(1 + step.before for step in phrase[1:]))
            parts = {f"{part[:_PART]}*" for part in last.beginnings} | {f"*{part[-_PART:]}" for part in last.ends}
            for mark in last.words | parts:
                by_last[mark].append((family, phrase))
    return _Begun(tuple(alone), dict(by_last), reach, sum(map(len, by_last.values())), tuple(others))


@lru_cache(maxsize=_KEPT_WORDS)
def _marks(word: str) -> tuple[str, ...]:
    """Return what a word is looked up by as the last of a phrase: itself, how it begins, how it ends."""
    return (word, f"{word[:_PART]}*", f"*{word[-_PART:]}") if len(word) >= _PART else (word,)


def _end(phrase: Phrase, text: list[Word], at: int, effort: Effort) -> int | None:
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
        if len(ends) > MOST_BETWEEN:
            effort.spend(len(ends))
    return min(ends)
