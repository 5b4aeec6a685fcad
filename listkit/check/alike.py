"""Texts: when two are the same to a reader, how messages word counts and lists, and what an owner typed in a set.

Pure and bounded: the distance of two words is computed up to a limit, and of a long text only the beginning is read.
"""

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from listkit.compute.catalog import SetFacts
from listkit.model.gift_set import Slot
from listkit.problem import KeyPath, Place

AND: Final = {"en": "and", "fr": "et", "de": "und", "nl": "en", "es": "y", "it": "e", "pt": "e", "sv": "och"}
LONG_WORD: Final = 5
"""Words of more letters than these can be misspelt and still be known."""
_LONGEST_MESSAGE: Final = 600
_WORD: Final = re.compile(r"[^\W_]+", re.UNICODE)
_DIGITS: Final = re.compile(r"\d+")
_STRAIGHT: Final = str.maketrans({"’": "'", "‘": "'", "“": '"', "”": '"', "–": "-", "—": "-", "‑": "-"})


@lru_cache(maxsize=65_536)
def folded(text: str, language: str = "en") -> str:
    """Return `text` without what tells no words apart: case, accents, spaces, signs that nobody sees, & or its word.

    >>> folded("Rosé  & Thyme")
    'rose and thyme'
    """
    decomposed = unicodedata.normalize("NFKD", text.translate(_STRAIGHT).casefold())
    plain = "".join(  # without accents and signs that nobody sees
        letter for letter in decomposed if not unicodedata.combining(letter) and unicodedata.category(letter) != "Cf"
    )
    spoken = AND.get(language.partition("-")[0], "and")
    return " ".join(spoken if word == "and" else word for word in plain.replace("&", " and ").split())


def words_of(text: str) -> tuple[str, ...]:
    """Return the words of a text as they are typed, without signs between them."""
    return tuple(_WORD.findall(text))


def digits_of(text: str) -> tuple[str, ...]:
    """Return the numbers in a text, in order."""
    return tuple(_DIGITS.findall(text))


def letters_of(word: str) -> int:
    """Return the letters of a word as 128 bits, so that how many of two words' letters differ is counted at once.

    Letters of other scripts share a bit with others, so that never more seem to differ than do.

    >>> (letters_of("oil") ^ letters_of("soil")).bit_count()
    1
    """
    bits = 0
    for letter in word:
        bits |= 1 << ord(letter) % 128
    return bits


def distance(left: str, right: str, most: int) -> int:
    """Return how many letters are added, left out or changed (Levenshtein), `most` + 1 when more than `most`.

    >>> distance("candle", "candel", 2)
    2
    """
    if abs(len(left) - len(right)) > most:
        return most + 1
    before = list(range(len(right) + 1))
    for i, letter in enumerate(left, 1):
        row = [i]
        for j, there in enumerate(right, 1):
            row.append(min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (letter != there)))
        if min(row) > most:
            return most + 1
        before = row
    return min(before[-1], most + 1)


SHORTEST, LONG = 4, 8
"""Letters of a word that may be a slip of another, and of one that may have two slips."""


def is_slip(word: str, kind: str) -> bool:
    """Whether a word is another with a letter wrong, two of a long one, or two letters that changed places."""
    apart = distance(word, kind, 2)
    return apart <= (2 if len(word) >= LONG else 1) or (apart == 2 and sorted(word) == sorted(kind))


def nearly_same(left: tuple[str, ...], right: tuple[str, ...], most: int) -> bool:
    """Whether two texts, word by word, differ only within long words, by at most `most` letters in each.

    Never where a digit differs, and never when they are equal.
    """
    if len(left) != len(right) or left == right:
        return False
    return all(a == b or _slip(a, b, most) for a, b in zip(left, right, strict=True))


@lru_cache(maxsize=65_536)
def _slip(left: str, right: str, most: int) -> bool:
    """Whether two words may be one word and its misspelling."""
    long = min(len(left), len(right)) > LONG_WORD
    return long and digits_of(left) == digits_of(right) and distance(left, right, most) <= most


def one_line(text: str) -> str:
    """Return a message on one line of bounded length, without signs that a screen would obey."""
    text = text if len(text) <= _LONGEST_MESSAGE else text[: _LONGEST_MESSAGE - 1] + "…"
    if text.isprintable():  # no sign of it is a control, nor a space but the plain one
        return text
    shown = (" " if sign.isspace() else sign if unicodedata.category(sign)[0] != "C" else "\ufffd" for sign in text)
    return "".join(shown)


def listed(names: list[str] | tuple[str, ...], most: int = 6) -> str:
    """Return "a, b and c"; of more than `most` the first ones and how many more.

    >>> listed(["a", "b", "c", "d"], 3)
    'a, b and 2 more'
    """
    if len(names) > most:
        names = (*names[: most - 1], f"{len(names) - most + 1} more")
    return " and ".join(filter(None, (", ".join(names[:-1]), *names[-1:])))


# Passages: every text of a set that its owner typed, with the place of each word.
#
# Placeholders and addresses are blanked out, so that only typed words are looked at and lines stay where they are.

_COMPUTED: Final = re.compile(
    r"\{\{[^{}]{0,500}\}\}|\{%[^{}]{0,500}%\}|\{#[^{}]{0,2000}#\}|\]\([^()\s]{0,500}\)|https?://[^\s<>]{1,500}"
)
_NOT_LINE_END: Final = re.compile(r"[^\n]")
_AROUND: Final = 24
LONGEST: Final = 50_000
"""Characters of one text that are looked at; nobody reads more. That there are more is told with the claims."""


@dataclass(frozen=True, slots=True)
class Passage:
    """One typed text: its file and key, its language, and whether it is a story, whose lines are counted.

    In a table `row` is the code of its row and `column` the heading.
    """

    file: str
    key: KeyPath
    language: str
    text: str
    story: bool = False
    row: str = ""
    column: str = ""

    def place(self, offset: int = 0) -> Place:
        """Return the place of the word at `offset`."""
        if self.story and not self.row:
            return Place(self.file, line=self.text.count("\n", 0, offset) + 1)
        return Place(self.file, row=self.row, column=self.column, key=self.key)

    def around(self, start: int, end: int) -> str:
        """Return the words around a find, on one line, for a message."""
        low, high = max(0, start - _AROUND), min(len(self.text), end + _AROUND)
        while low and low < start and not self.text[low - 1].isspace():
            low += 1
        while high < len(self.text) and high > end and not self.text[high].isspace():
            high -= 1
        shown = " ".join(self.text[low:high].split()).removesuffix(".")
        return f"{'…' if low else ''}{shown}{'…' if high < len(self.text) else ''}"


def passages(facts: SetFacts, language: str) -> Iterator[Passage]:
    """Yield name, title, theme, keywords, slots, options, words for photos and stories of a set; of a piece its story.

    Args:
        facts: the set.
        language: the shop's own, of all but stories that name another.
    """
    if facts.is_single:  # its name is a cell of the items table, which is looked at with all others
        yield from stories(facts, language)
        return
    gift_set, file = facts.source.gift_set, facts.source.place().file
    stated: list[tuple[KeyPath, str]] = [
        (("name",), gift_set.name),
        (("title",), gift_set.title),
        (("theme",), gift_set.theme),
        *((("keywords", at), keyword) for at, keyword in enumerate(gift_set.keywords)),
    ]
    for index, entry in enumerate(gift_set.contents):
        if isinstance(entry, Slot):
            stated.append((("contents", index, "slot"), entry.slot))
            stated += [(("contents", index, "choose", at), option.says) for at, option in enumerate(entry.choose)]
    stated += [(("photos", at, "alt"), note.alt) for at, note in enumerate(gift_set.photos)]
    yield from (Passage(file, key, language, typed(text)) for key, text in stated if text)
    yield from stories(facts, language)


def stories(facts: SetFacts, language: str) -> Iterator[Passage]:
    """Yield the stories of a set, in its own language first."""
    for story in facts.source.stories:
        place = story.place()
        yield Passage(
            story.file, place.key, story.language or language, typed(story.text),
            story=True, row=place.row, column=place.column,
        )  # fmt: skip


@lru_cache(maxsize=512)  # of every set the same wording and layouts are looked through
def typed(text: str) -> str:
    """Return `text` with what is computed in it blanked out, so that every word stays where it is.

    Of a text that is too long there is one letter more than is looked at.
    """
    text = text[: LONGEST + 1]
    return _COMPUTED.sub(lambda match: _NOT_LINE_END.sub(" ", match[0]), text)
