"""What a heading may mean, by its words alone: every meaning of a vocabulary in it, and how surely."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from difflib import get_close_matches
from functools import lru_cache
from typing import Final

from listkit.learn.folding import KINDS, SPOILERS, UNITS, Parted, folded, parted, words_of
from listkit.learn.words import ITEMS, Meaning, Pair, Phrase, Vocabulary, letters_in

OWN, EXACT, TOGETHER, WITHIN, AMONG, SPOILT = 1.0, 0.97, 0.95, 0.93, 0.7, 0.3
"""Our own word; a word of the table; two that make one; with words that change nothing; with others; with one that
changes it."""
WEAK_LESS: Final = 0.2
"""How much less sure a word is that is used for other things as well."""
_SLIP: Final = 0.8
_WEAK: Final = "the word is used for other things as well"
_WHY: Final = {AMONG: "the heading says more than that", SPOILT: "another word in it changes the meaning"}
_EACH: Final = folded("small", "each")
_PEOPLE: Final = folded("small", "people")
_FOR_PEOPLE: Final = frozenset({"retail", "lowest", "highest", "suggested retail", "prior price", "slot", "choice"})


@dataclass(frozen=True, slots=True)
class Hit:
    """A meaning that the heading may have: how surely (0 to 1), the unit it then states, and why it is not sure."""

    meaning: Meaning
    score: float
    kind: str = ""
    unit: str = ""
    why: str = ""


@lru_cache(maxsize=10_000)
def hits(heading: str, vocabulary: Vocabulary = ITEMS) -> tuple[Hit, ...]:
    """Return what a heading may mean, the surest first; nothing for words that are not in the table."""
    best: dict[str, Hit] = {}
    for way in _ways(heading, vocabulary):
        for hit in (*_hits(way, vocabulary), *_together(way, vocabulary)):
            known = best.get(hit.meaning.name)
            if known is None or (hit.score, hit.unit) > (known.score, known.unit):
                best[hit.meaning.name] = hit
    if not best:
        best = {hit.meaning.name: hit for hit in _slip(heading, vocabulary)}
    return tuple(sorted(best.values(), key=lambda hit: (-hit.score, hit.meaning.name)))


def _ways(heading: str, vocabulary: Vocabulary) -> list[Parted]:
    """Return the ways to read a heading, then those with words taken apart that are put together from known ones."""
    ways = list(parted(heading))
    for way in parted(heading):
        pieces = tuple(piece for word in way.words for piece in (vocabulary.parted(word) or (word,)))
        if pieces != way.words:
            ways.append(replace(way, words=tuple(words_of(" ".join(pieces)))))
    return ways


def _hits(way: Parted, vocabulary: Vocabulary) -> list[Hit]:
    found = []
    for start, end, phrase in _spans(way.words, vocabulary):
        if way.kind and way.kind not in KINDS.get(phrase.meaning.name, ()):
            continue
        rest = way.words[:start] + way.words[end:]
        score = _score(rest, phrase, vocabulary)
        why = _WHY.get(score, _WEAK if phrase.weak else "")
        found.append(Hit(phrase.meaning, round(score - WEAK_LESS * phrase.weak, 2), way.kind, way.unit, why))
    return found


def _spans(heading: tuple[str, ...], vocabulary: Vocabulary) -> list[tuple[int, int, Phrase]]:
    """Return phrases in a heading with start and end; none within a longer one: a net weight is no weight."""
    found = [
        (start, end, phrase)
        for start in range(len(heading))
        for end in range(start + 1, min(len(heading), start + vocabulary.longest) + 1)
        for phrase in vocabulary.by_words.get(heading[start:end], ())
    ]
    taken = {(start, end) for start, end, _ in found}
    return [
        (start, end, phrase)
        for start, end, phrase in found
        if not any(low <= start and end <= high and (low, high) != (start, end) for low, high in taken)
    ]


def _score(rest: tuple[str, ...], phrase: Phrase, vocabulary: Vocabulary) -> float:
    if not rest:
        return OWN if phrase.words == words_of(vocabulary.field(phrase.meaning)) else EXACT
    fillers = vocabulary.fillers
    if any(word in SPOILERS or (word in UNITS and word not in fillers) for word in rest):
        return SPOILT
    if phrase.meaning.name not in _FOR_PEOPLE and not _PEOPLE.isdisjoint(rest):
        return AMONG  # a customer's name is no name of a thing, and a customer's price a price
    changes_nothing = (
        word in fillers or (at and rest[at - 1] in _EACH) or _says(word, phrase, vocabulary)
        for at, word in enumerate(rest)
    )
    return WITHIN if all(changes_nothing) else AMONG


def _says(word: str, phrase: Phrase, vocabulary: Vocabulary) -> bool:
    """Whether a word by itself means the same, no less surely: "qty available"."""
    alike = (other for other in vocabulary.by_words.get((word,), ()) if other.meaning is phrase.meaning)
    return any(phrase.weak or not other.weak for other in alike)


def _together(way: Parted, vocabulary: Vocabulary) -> list[Hit]:
    """Return the meanings that two words of a heading make, wherever they stand in it."""
    found = []
    for pair in vocabulary.pairs:
        if way.kind and way.kind not in KINDS.get(pair.meaning.name, ()):
            continue
        if (score := _pair_score(way.words, pair, vocabulary)) is not None:
            why = _WHY.get(score, _WEAK if pair.weak else "")
            found.append(Hit(pair.meaning, round(score - WEAK_LESS * pair.weak, 2), way.kind, way.unit, why))
    return found


def _pair_score(heading: tuple[str, ...], pair: Pair, vocabulary: Vocabulary) -> float | None:
    """Return how surely a heading is what a pair makes, None where it has not both words or one that changes it."""
    ones = [at for at, word in enumerate(heading) if word in pair.one]
    twos = [at for at, word in enumerate(heading) if word in pair.two]
    if not any(one != two for one in ones for two in twos):
        return None
    said = pair.one | pair.two | pair.beside | vocabulary.fillers
    rest = [word for word in heading if word not in said]
    if any(word in SPOILERS or word in UNITS for word in rest):
        return None
    return AMONG if rest else TOGETHER


def _slip(heading: str, vocabulary: Vocabulary) -> list[Hit]:
    """Return what a heading with a typing slip was probably meant to be; never sure."""
    for way in parted(heading):
        text = " ".join(way.words)
        alike = vocabulary.single.get(text[:1], ()) if 4 < len(text) < 40 else ()
        near = get_close_matches(text, _of_nearly_the_letters(text, alike), 1, _SLIP)
        for phrase in vocabulary.by_words.get(tuple(near[0].split()), ()) if near else ():
            if not way.kind or way.kind in KINDS.get(phrase.meaning.name, ()):
                return [Hit(phrase.meaning, AMONG, way.kind, way.unit, f'it looks like "{near[0]}"')]
    return []


def _of_nearly_the_letters(text: str, known: Iterable[tuple[str, int]]) -> list[str]:
    """Return those of the `known`, each with its letters, that can be as near as a slip is; most lack too many."""
    letters = letters_in(text)
    found = []
    for word, those in known:
        alike = _SLIP * (len(text) + len(word)) / 2 - 0.001  # letters that two as near as that have in common
        lacking, more = (letters & ~those).bit_count(), (those & ~letters).bit_count()
        if lacking <= len(text) - alike and more <= len(word) - alike:
            found.append(word)
    return found
