"""When two texts are the same to a reader: folded spellings, near words, plurals.

Pure and bounded: the distance of two words is only told up to a limit.
"""

import re
import unicodedata
from functools import lru_cache
from typing import Final

AND: Final = {"en": "and", "fr": "et", "de": "und", "nl": "en", "es": "y", "it": "e", "pt": "e", "sv": "och"}
LONG_WORD: Final = 5
"""Words of more letters than these can be misspelt and still be known."""
_LONGEST_MESSAGE: Final = 600
_WORD: Final = re.compile(r"[^\W_]+", re.UNICODE)
_DIGITS: Final = re.compile(r"\d+")
_STRAIGHT: Final = str.maketrans({"’": "'", "‘": "'", "“": '"', "”": '"', "–": "-", "—": "-", "‑": "-"})


@lru_cache(maxsize=65_536)
def folded(text: str, language: str = "en") -> str:
    """Return `text` without what tells no words apart: case, accents, spaces, signs that nobody sees, & or its word."""
    decomposed = unicodedata.normalize("NFKD", text.translate(_STRAIGHT).casefold())
    plain = "".join(letter for letter in decomposed if not _mute(letter))
    spoken = AND.get(language.partition("-")[0], "and")
    return " ".join(spoken if word == "and" else word for word in plain.replace("&", " and ").split())


def _mute(letter: str) -> bool:
    """Whether it is an accent, or a sign that nobody sees."""
    return bool(unicodedata.combining(letter)) or unicodedata.category(letter) == "Cf"


def words_of(text: str) -> tuple[str, ...]:
    """Return the words of a text as they stand, without signs between them."""
    return tuple(_WORD.findall(text))


def digits_of(text: str) -> tuple[str, ...]:
    """Return the numbers in a text, in order."""
    return tuple(_DIGITS.findall(text))


def distance(one: str, other: str, most: int) -> int:
    """Return how many letters are added, left out or changed (Levenshtein), `most` + 1 when more than `most`."""
    if abs(len(one) - len(other)) > most:
        return most + 1
    before = list(range(len(other) + 1))
    for i, letter in enumerate(one, 1):
        row = [i]
        for j, there in enumerate(other, 1):
            row.append(min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (letter != there)))
        if min(row) > most:
            return most + 1
        before = row
    return min(before[-1], most + 1)


def nearly_same(one: tuple[str, ...], other: tuple[str, ...], most: int) -> bool:
    """Whether two texts, word by word, differ only within long words, by at most `most` letters in each.

    Never where a digit differs, and never when they are equal.
    """
    if len(one) != len(other) or one == other:
        return False
    return all(a == b or _slip(a, b, most) for a, b in zip(one, other, strict=True))


@lru_cache(maxsize=65_536)
def _slip(one: str, other: str, most: int) -> bool:
    long = min(len(one), len(other)) > LONG_WORD
    return long and digits_of(one) == digits_of(other) and distance(one, other, most) <= most


def one_line(text: str) -> str:
    """Return a message on one line of bounded length, without signs that a screen would obey."""
    text = text if len(text) <= _LONGEST_MESSAGE else text[: _LONGEST_MESSAGE - 1] + "…"
    shown = (" " if sign.isspace() else sign if unicodedata.category(sign)[0] != "C" else "\ufffd" for sign in text)
    return "".join(shown)


def counted(number: int, one: str) -> str:
    """Return "1 line" or "3 lines"."""
    return f"{number} {one}{'' if number == 1 else 's'}"


def listed(words: list[str] | tuple[str, ...], most: int = 6) -> str:
    """Return "a, b and c"; of more than `most` the first ones and how many more."""
    if len(words) > most:
        words = (*words[: most - 1], f"{len(words) - most + 1} more")
    return " and ".join(filter(None, (", ".join(words[:-1]), *words[-1:])))
