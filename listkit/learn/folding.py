"""Folds headings into comparable words and separates the unit.

"Gewicht (g)", "GEWICHT in Gramm" and "gewicht_g" give the same: the word "gewicht", the unit g.
"""

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from listkit.learn.languages import SHIPPED
from listkit.units import table
from listkit.units.money import MINOR_DIGITS, SIGNS
from listkit.units.quantity import joined

_LONGEST: Final = 200
_CAMEL: Final = re.compile(r"(?<=[a-zß-ÿ])(?=[A-Z][a-z]{2})")
_APART: Final = re.compile(r"[\W_]+")
_POSSESSIVE: Final = re.compile(r"(?<=\w)['’]s(?!\w)", re.IGNORECASE)
_LETTERS: Final = str.maketrans({"œ": "oe", "æ": "ae", "ø": "o", "ł": "l"})


@lru_cache(maxsize=10_000)
def words_of(text: str) -> tuple[str, ...]:
    """Return the words of a heading without case, accents, punctuation and plural endings."""
    text = _CAMEL.sub(" ", _POSSESSIVE.sub("", unicodedata.normalize("NFKC", text[:_LONGEST])))
    text = unicodedata.normalize("NFKD", text.casefold().translate(_LETTERS))
    plain = "".join(letter for letter in text if not unicodedata.combining(letter))
    return tuple(_singular(word) for word in _APART.split(plain) if word)


def _singular(word: str) -> str:
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word


def folded(section: str, *keys: str) -> frozenset[str]:
    """Return the words that the keys have in all languages, folded; of phrases each word."""
    return frozenset(part for key in keys for word in SHIPPED.words(section, key) for part in words_of(word))


def folded_phrases(section: str, key: str) -> frozenset[str]:
    """Return the phrases that a key has in all languages, folded, with one space between words."""
    return frozenset(" ".join(words_of(phrase)) for phrase in SHIPPED.words(section, key))


# Small words of headings and cells, of all languages together and folded as headings are.

FILLERS: Final = folded("small", "nothing")
"""A heading's words that change nothing."""
SPOILERS: Final = folded("small", "otherwise")
"""Words that turn a heading into something else, unless a phrase of the table has taken them up.

An old price, the supplier's code, the least stock, the carton's size.
"""
HEIGHTS: Final = folded("small", "height")
SIDES: Final = HEIGHTS | folded("small", "side")
"""Words for sides; sizes give the height last."""


def _bare(text: str) -> str:
    """Return a word in small letters without accents."""
    return "".join(part for part in unicodedata.normalize("NFKD", text.casefold()) if not unicodedata.combining(part))


UNITS: Final[dict[str, tuple[str, str]]] = {
    _bare(word): (unit.kind.value, unit.sign)
    for unit in table.UNITS
    if unit.learned
    for word in (*unit.words.split(), *unit.also.split(), *SHIPPED.words("units", unit.sign))
}
"""Units by their words, accents taken off: what kind it is, and what the items table calls it."""
MONEY_WORDS: Final[dict[str, str]] = {
    "euro": "EUR", "euros": "EUR", "sterling": "GBP", "dollar": "$", "dollars": "$",
}  # fmt: skip
KINDS: Final[dict[str, tuple[str, ...]]] = {
    "net": ("mass", "volume", "length"),
    **dict.fromkeys(("shelf life", "after opening"), ("time",)),
    **dict.fromkeys(("weight", "parcel weight", "chargeable weight", "volumetric weight"), ("mass",)),
    **dict.fromkeys(("size", "length", "width", "depth", "height", "diameter"), ("length",)),
    **dict.fromkeys(("parcel length", "parcel width", "parcel height"), ("length",)),
    **dict.fromkeys(("retail", "cost", "wholesale", "lowest", "highest", "kept", "tax"), ("money",)),
    **dict.fromkeys(("suggested retail", "prior price", "measure price"), ("money",)),
}
"""The kinds of unit that a heading of each meaning may state; of the others none."""

FORMS: Final = folded("cells", "form")
"""What bath-and-body goods are; in German part of longer words."""
CONTAINERS: Final = folded("cells", "container")
"""What they come in."""
_ANSWERS: Final = (
    *zip(SHIPPED.words("cells", "yes"), SHIPPED.words("cells", "no"), strict=True),
    *(("1", "0"),),
)
ANSWERS: Final = tuple(
    dict.fromkeys((way(yes), way(no)) for yes, no in _ANSWERS for way in (str, str.capitalize, str.upper))
)
"""Pairs of words for yes and no, as people write them."""
YES_NO: Final = frozenset(word for pair in ANSWERS for word in pair) | {
    word for pair in ANSWERS for said in pair for word in words_of(said)
}
SHAPES: Final = folded("cells", "shape")
STATUSES: Final = folded_phrases("cells", "status")
INCI: Final = frozenset(
    {
        *("aqua", "parfum", "glycerin", "tocopherol", "linalool", "limonene", "citral", "geraniol", "sodium"),
        *("potassium", "butyrospermum", "cocos", "olea", "cera", "helianthus", "prunus", "kaolin", "maris", "sucrose"),
        *("mel", "lavandula", "citric", "theobroma", "ricinus", "avena", "rosmarinus"),
    }
)
"""Words that open names in most lists of ingredients (INCI, International Nomenclature of Cosmetic Ingredients)."""


_BRACKETS: Final = re.compile(r"[(\[{]([^()\[\]{}]{1,40})[)\]}]")
_LAST_WORD: Final = re.compile(r"[^\W\d_]+(?=\.?\s*\Z)")
_BEFORE_UNIT: Final = re.compile(r"(?:[\s,/:;|_-]+(?:in|en|à|a)\s+|\s*[,/:;|]\s*|[\s_-]+)\Z", re.IGNORECASE)
_SIGN: Final = re.compile("|".join(re.escape(sign) for sign in SIGNS if not sign.isalpha() and not sign.endswith(".")))


@dataclass(frozen=True, slots=True)
class Parted:
    """A heading as words, with the unit that it states: its kind ("mass") and our name for it ("g"); "" without."""

    words: tuple[str, ...]
    kind: str = ""
    unit: str = ""


def parted(heading: str) -> tuple[Parted, ...]:
    """Return the ways to read a heading, with its unit taken from it where one may be meant; the plain one last."""
    heading = joined(unicodedata.normalize("NFKC", heading[:_LONGEST]))
    found = [*_in_brackets(heading), *_by_sign(heading), *_at_end(heading)]
    return tuple(dict.fromkeys((*found, Parted(words_of(heading)))))


@lru_cache(maxsize=10_000)
def unit_of(text: str, *, plain: bool = False) -> tuple[str, str]:
    """Return kind and name of a unit, ("", "") when `text` is none.

    A currency's three letters count in capitals alone, where `plain` says that nothing marks the word as a unit.
    """
    bare = joined(text.strip().rstrip("."))
    word = _bare(bare)
    if word in UNITS:
        return UNITS[word]
    if bare in SIGNS or word in MONEY_WORDS:
        return "money", MONEY_WORDS.get(word, bare)
    code = bare if plain else bare.upper()
    return ("money", code) if code in MINOR_DIGITS else ("", "")


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
    """Read the last word as a unit, parted from the others by spaces, a stroke or "in"."""
    last, first = _LAST_WORD.search(heading), re.search(r"\w", heading)
    kind, unit = unit_of(last[0], plain=True) if last else ("", "")
    if last is None or first is None or not kind:
        return []
    between = _BEFORE_UNIT.search(heading[: last.start()], first.end())
    return [Parted(words_of(heading[: between.start()]), kind, unit)] if between else []
