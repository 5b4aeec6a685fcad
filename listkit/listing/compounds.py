"""Compound nouns: "Ziegenmilchseife" is "eine Seife" with more before it, so that its gender and plural are known.

The last part of a German compound decides both (Duden, Die Grammatik, from memory). An adjective before a noun stands
for its own: "feste Seife" is "eine feste Seife", several are "feste Seifen". In a language whose nouns stand first the
first word decides: "crema de manos" is "una crema de manos", several are "cremas de manos"; Spanish adjectives behind
it are in the plural with it, and what a preposition joins is not (Nueva gramática de la lengua española, from memory).
"""

import re
from collections.abc import Mapping
from typing import Final

_STRONG: Final = re.compile(r"(?<=e)[rs](?= )")  # "fester Balsam", "festes Shampoo": without it in the plural
_PREPOSITIONS: Final = frozenset(("a", "al", "con", "de", "del", "en", "para", "por", "sin"))


def base_of(noun: str, known: Mapping[str, object], *, first: bool) -> str:
    """Return the longest of the known nouns that `noun` ends with, or begins with as a word where nouns stand first.

    >>> base_of("Ziegenmilchseife", {"seife": 1, "fe": 1}, first=False), base_of("Seife", {"seife": 1}, first=False)
    ('seife', '')
    >>> base_of("crema de manos", {"crema": 1}, first=True), base_of("cremallera", {"crema": 1}, first=True)
    ('crema', '')
    """
    folded = noun.lower()
    if not first:
        return next((folded[at:] for at in range(1, len(folded)) if folded[at:] in known), "")
    ends = [at for at in range(len(folded), 0, -1) if folded[at : at + 1] == " "]
    return next((folded[:at] for at in ends if folded[:at] in known), "")


def with_more_before(phrase: str, noun: str, base: str, *, many: bool = False) -> str:
    """Return what is said of a base noun, "eine Seife", said of one that ends with it; "" where nothing is said.

    >>> with_more_before("eine Seife", "Ziegenmilchseife", "seife")
    'eine Ziegenmilchseife'
    >>> with_more_before("Balsame", "fester Balsam", "balsam", many=True)
    'feste Balsame'
    >>> with_more_before("Gläser", "Mini-Glas", "glas", many=True)
    'Mini-Gläser'
    """
    before, (head, _, last) = noun[: -len(base)], phrase.rpartition(" ")
    last = last if before[-1:] in " -" else last.lower()
    before = _STRONG.sub("", before) if many else before
    return f"{head} {before}{last}".strip() if phrase else ""


def with_more_behind(phrase: str, noun: str, base: str, *, many: bool = False) -> str:
    """Return what is said of a base noun, "una crema", said of one that begins with it; "" where nothing is said.

    >>> with_more_behind("una crema", "crema de manos", "crema")
    'una crema de manos'
    >>> with_more_behind("bálsamos", "bálsamo labial de menta", "bálsamo", many=True)
    'bálsamos labiales de menta'
    """
    if not phrase:
        return ""
    words, joined = noun[len(base) :].split(), False
    for at, word in enumerate(words if many else ()):
        joined = joined or word.lower() in _PREPOSITIONS
        words[at] = word if joined else _several(word)
    return " ".join((phrase, *words))


_ALIKE: Final = frozenset(("y", "e", "o", "u", "ni", "muy", "más", "extra"))  # words that have no plural
_UNLIKE: Final = {"virgen": "vírgenes", "joven": "jóvenes"}
_UNSTRESSED: Final = str.maketrans("áéíóú", "aeiou")
_VOWELS: Final = re.compile("[aeiouáéíóúü]+")


def _several(adjective: str) -> str:
    """Return a Spanish adjective in the plural; numbers, signs, capitals and joining words stay.

    >>> [_several(word) for word in ("sólido", "labial", "eficaz", "francés", "gris", "marrón", "suave,")]
    ['sólidos', 'labiales', 'eficaces', 'franceses', 'grises', 'marrones', 'suaves,']
    >>> [_several(word) for word in ("y", "2", "SPF", "multiusos", "unisex")]
    ['y', '2', 'SPF', 'multiusos', 'unisex']
    """
    word, sign = (adjective[:-1], adjective[-1]) if adjective.endswith((",", ";")) else (adjective, "")
    if word in _ALIKE or not word.isalpha() or word.isupper() or _ends_as_its_plural(word):
        return adjective
    return (_UNLIKE.get(word) or _with_ending(word)) + sign


def _ends_as_its_plural(word: str) -> bool:
    """Whether a word ends with x, or with an s that is not of its stressed syllable: "unisex", "multiusos"."""
    return word.endswith("x") or (word.endswith("s") and word[-2:-1] in "aeiou" and len(_VOWELS.findall(word)) > 1)


def _with_ending(word: str) -> str:
    if word[-1] in "aeiouáéó":
        return f"{word}s"
    if word.endswith("z"):
        return f"{word[:-1]}ces"
    return f"{word[:-2]}{word[-2:].translate(_UNSTRESSED)}es" if word[-1] in "ns" else f"{word}es"
