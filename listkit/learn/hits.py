"""What a heading may mean, by its words alone: every meaning of the table that it holds, and how surely."""

from dataclasses import dataclass
from difflib import get_close_matches
from functools import lru_cache
from typing import Final

from listkit.learn.folding import Parted, parted, words_of
from listkit.learn.meaning import Meaning
from listkit.learn.small_words import FILLERS, KINDS, SPOILERS, UNITS
from listkit.learn.words import MEANINGS

OWN, EXACT, WITHIN, AMONG, SPOILT = 1.0, 0.97, 0.93, 0.7, 0.3
"""Our own word; a word of the table; with words that change nothing; with others; with one that changes it."""
WEAK_LESS: Final = 0.2
"""How much less sure a word is that is used for other things as well."""
_SLIP: Final = 0.8
_WEAK: Final = "the word is used for other things as well"
_WHY: Final = {AMONG: "other words stand beside it", SPOILT: "another word in it changes the meaning"}
_EACH: Final = frozenset({"per", "pro", "par", "por", "je"})


@dataclass(frozen=True, slots=True)
class Hit:
    """A meaning that the heading may have: how surely (0 to 1), the unit it then states, and why it is not sure."""

    meaning: Meaning
    score: float
    kind: str = ""
    unit: str = ""
    why: str = ""


@dataclass(frozen=True, slots=True)
class _Phrase:
    words: tuple[str, ...]
    meaning: Meaning
    weak: bool


_PHRASES: Final[tuple[_Phrase, ...]] = tuple(
    _Phrase(words, meaning, weak)
    for meaning in MEANINGS
    for said, weak in ((meaning.words, False), (meaning.weak, True))
    for words in dict.fromkeys(map(words_of, said))
    if words
)
_LONGEST: Final = max(len(phrase.words) for phrase in _PHRASES)
_BY_WORDS: Final[dict[tuple[str, ...], tuple[_Phrase, ...]]] = {
    words: tuple(phrase for phrase in _PHRASES if phrase.words == words)
    for words in {phrase.words for phrase in _PHRASES}
}
_SINGLE: Final = tuple(sorted({" ".join(phrase.words) for phrase in _PHRASES if len(" ".join(phrase.words)) > 4}))


@lru_cache(maxsize=10_000)
def hits(heading: str) -> tuple[Hit, ...]:
    """Return what a heading may mean, the surest first; nothing for words that are not in the table."""
    best: dict[str, Hit] = {}
    for way in parted(heading):
        for hit in _hits(way):
            known = best.get(hit.meaning.name)
            if known is None or (hit.score, hit.unit) > (known.score, known.unit):
                best[hit.meaning.name] = hit
    if not best:
        best = {hit.meaning.name: hit for hit in _slip(heading)}
    return tuple(sorted(best.values(), key=lambda hit: (-hit.score, hit.meaning.name)))


def _hits(way: Parted) -> list[Hit]:
    found = []
    for start, end, phrase in _spans(way.words):
        if way.kind and way.kind not in KINDS.get(phrase.meaning.name, ()):
            continue
        rest = way.words[:start] + way.words[end:]
        score = _score(rest, phrase)
        why = _WHY.get(score, _WEAK if phrase.weak else "")
        found.append(Hit(phrase.meaning, round(score - WEAK_LESS * phrase.weak, 2), way.kind, way.unit, why))
    return found


def _spans(words: tuple[str, ...]) -> list[tuple[int, int, _Phrase]]:
    """Return where phrases stand in the words; none that lies within a longer one: a net weight is no weight."""
    found = [
        (start, end, phrase)
        for start in range(len(words))
        for end in range(start + 1, min(len(words), start + _LONGEST) + 1)
        for phrase in _BY_WORDS.get(words[start:end], ())
    ]
    taken = {(start, end) for start, end, _ in found}
    return [
        (start, end, phrase)
        for start, end, phrase in found
        if not any(low <= start and end <= high and (low, high) != (start, end) for low, high in taken)
    ]


def _score(rest: tuple[str, ...], phrase: _Phrase) -> float:
    if not rest:
        return OWN if phrase.words == words_of(phrase.meaning.item or phrase.meaning.feed) else EXACT
    if any(word in SPOILERS or (word in UNITS and word not in FILLERS) for word in rest):
        return SPOILT
    if all(word in FILLERS or (at and rest[at - 1] in _EACH) or _says(word, phrase) for at, word in enumerate(rest)):
        return WITHIN
    return AMONG


def _says(word: str, phrase: _Phrase) -> bool:
    """Whether a word by itself means the same, no less surely: "qty available"."""
    alike = (other for other in _BY_WORDS.get((word,), ()) if other.meaning is phrase.meaning)
    return any(phrase.weak or not other.weak for other in alike)


def _slip(heading: str) -> list[Hit]:
    """Return what a heading with a typing slip was probably to be; never sure."""
    for way in parted(heading):
        text = " ".join(way.words)
        alike = [word for word in _SINGLE if word[0] == text[:1]] if 4 < len(text) < 40 else []
        near = get_close_matches(text, alike, 1, _SLIP)
        for phrase in _BY_WORDS.get(tuple(near[0].split()), ()) if near else ():
            if not way.kind or way.kind in KINDS.get(phrase.meaning.name, ()):
                return [Hit(phrase.meaning, AMONG, way.kind, way.unit, f'it looks like "{near[0]}"')]
    return []
