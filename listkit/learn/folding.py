"""Folds headings into words that can be compared, and parts the unit from them.

"Gewicht (g)", "GEWICHT in Gramm" and "gewicht_g" come to the same: the word "gewicht", the unit g.
"""

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from listkit.learn.small_words import MONEY_WORDS, UNITS
from listkit.units.money import MINOR_DIGITS, SIGNS
from listkit.units.quantity import joined

_LONGEST: Final = 200
_CAMEL: Final = re.compile(r"(?<=[a-zß-ÿ])(?=[A-Z][a-z]{2})")
_APART: Final = re.compile(r"[\W_]+")
_LETTERS: Final = str.maketrans({"œ": "oe", "æ": "ae", "ø": "o", "ł": "l"})
_BRACKETS: Final = re.compile(r"[(\[{]([^()\[\]{}]{1,40})[)\]}]")
_ENDING: Final = re.compile(
    r"(?P<rest>.*?\w.*?)(?:[\s,/:;|_-]+(?:in|en|à|a)\s+|\s*[,/:;|]\s*|[\s_-]+)(?P<unit>[^\W\d_]+)\.?\s*",
    re.IGNORECASE | re.DOTALL,
)
_SIGN: Final = re.compile("|".join(re.escape(sign) for sign in SIGNS if not sign.isalpha() and not sign.endswith(".")))


@dataclass(frozen=True, slots=True)
class Parted:
    """A heading as words, with the unit that it states: its kind ("mass") and our name for it ("g"); "" without."""

    words: tuple[str, ...]
    kind: str = ""
    unit: str = ""


@lru_cache(maxsize=10_000)
def words_of(text: str) -> tuple[str, ...]:
    """Return the words of a heading without case, accents, punctuation and plural endings."""
    text = _CAMEL.sub(" ", unicodedata.normalize("NFKC", text[:_LONGEST]))
    text = unicodedata.normalize("NFKD", text.casefold().translate(_LETTERS))
    plain = "".join(letter for letter in text if not unicodedata.combining(letter))
    return tuple(_singular(word) for word in _APART.split(plain) if word)


def parted(heading: str) -> tuple[Parted, ...]:
    """Return the ways to read a heading, with its unit taken from it where one may be meant; the plain one last."""
    heading = joined(unicodedata.normalize("NFKC", heading[:_LONGEST]))
    found = [*_in_brackets(heading), *_by_sign(heading), *_at_end(heading)]
    return tuple(dict.fromkeys((*found, Parted(words_of(heading)))))


def unit_of(text: str, *, plain: bool = False) -> tuple[str, str]:
    """Return kind and name of a unit, ("", "") when `text` is none.

    A currency's three letters count in capitals alone, where `plain` says that nothing marks the word as a unit.
    """
    bare = joined(text.strip().rstrip("."))
    word = "".join(part for part in unicodedata.normalize("NFKD", bare.casefold()) if not unicodedata.combining(part))
    if word in UNITS:
        return UNITS[word]
    if bare in SIGNS or word in MONEY_WORDS:
        return "money", MONEY_WORDS.get(word, bare)
    code = bare if plain else bare.upper()
    return ("money", code) if code in MINOR_DIGITS else ("", "")


def _singular(word: str) -> str:
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word


def _in_brackets(heading: str) -> list[Parted]:
    found = []
    for match in _BRACKETS.finditer(heading):
        inner = match[1].strip()
        kind, unit = unit_of(re.sub(r"^(in|en)\s+", "", inner, flags=re.IGNORECASE))
        if kind:
            found.append(Parted(words_of(heading[: match.start()] + " " + heading[match.end() :]), kind, unit))
    return found


def _by_sign(heading: str) -> list[Parted]:
    match = _SIGN.search(heading)
    if match is None:
        return []
    return [Parted(words_of(heading[: match.start()] + " " + heading[match.end() :]), "money", match[0])]


def _at_end(heading: str) -> list[Parted]:
    match = _ENDING.fullmatch(heading)
    kind, unit = unit_of(match["unit"], plain=True) if match else ("", "")
    return [Parted(words_of(match["rest"]), kind, unit)] if match and kind else []
