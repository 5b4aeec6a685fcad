"""How much a word says that a sentence speaks of something else than what goods do, from the sentences built on.

`python -m tests.check.claim_weights de` prints [weights] of templates/claims/de.toml anew; a test compares them. They
are those of a logistic regression of "is sound" on the words of a sentence, without an intercept, penalised by the
squares of how far they are from where they begin (ridge), fitted one weight after the other by Newton's method; ten
times the logarithm of the odds, those that come to 0 left out. Where a word begins is what it is: in English, words of
the table's list `world` speak of the shop, the weather, beasts, dishes and colours, those of `promise` and of its verbs
and ailments of what goods do. Words that one sentence has, or none, stay there; names of goods and articles, which
both have, and words that deny, which are judged otherwise, weigh nothing. The fewer sentences a language has, the
heavier the penalty.
"""

import sys
from collections import defaultdict
from collections.abc import Iterable, Iterator
from itertools import chain
from math import exp
from typing import Any, Final

from listkit.bounded_toml import parse_bounded
from listkit.check.claims_index import words_of
from listkit.check.claims_table import forms
from listkit.read.templates import own_templates
from tests.check.test_claims_corpus import sentences_of, table_of

SCALE: Final = 10
PENALTY: Final = {"en": 0.6, "fr": 1.5, "de": 1.5, "es": 1.5}
LIKELY: Final = 0.5
CERTAIN: Final = 1.0
MOST_STEP: Final = 2.0
ROUNDS: Final = 12
LEAST_TIMES: Final = 2
PROMISING: Final = (
    "plain", "drug", "promise", "act", "heal", "mend", "remove", "disease", "named", "acne", "germ", "fungus", "soothe",
    "stretch", "wrinkle", "boost", "pale", "pigment", "bug", "boast", "planet",
)  # fmt: skip
NEITHER: Final = (
    "a", "of", "the", "off", "out", "up", "good", "great", "best", "for", "take", "works", "world", "dry", "cold",
)  # fmt: skip

BOTH: Final = {
    "en": "soap soaps candle candles bar bars wax melt melts our balm oil set tin a an and of the",
    "fr": "savon savons bougie bougies notre nos baume huile le la les l de du des d un une et",
    "de": "seife seifen kerze kerzen unser unsere balsam ol der die das den dem des ein eine und",
    "es": "jabon jabones vela velas nuestro nuestra balsamo aceite el la los las de del un una y",
}


def weights_of(sentences: Iterable[tuple[bool, str]], lists: dict[str, Any], language: str) -> dict[str, int]:
    """Return the weights of words, given sentences with whether they claim and the lists of words of a table."""
    denials = table_of(language).denials
    both = {*BOTH[language].split(), *denials.before, *denials.no}
    begun = {word: weight for word, weight in _begun(lists).items() if word not in both}
    words = [(not claim, {word.text for word in words_of(text)}.difference(both)) for claim, text in sentences]
    weights = begun | fit(words, begun, PENALTY[language])
    rounded = {word: round(SCALE * weight) for word, weight in weights.items()}
    return {word: weight for word, weight in rounded.items() if weight}


def _begun(lists: dict[str, Any]) -> dict[str, float]:
    """Return the weights that words of lists begin with."""
    if "world" not in lists:
        return {}
    world = set(_listed(lists, ("world",)))
    promise = set(_listed(lists, PROMISING)) - world - {*NEITHER}
    plain = set(_listed(lists, UNMISTAKABLE)) - world
    return dict.fromkeys(world, LIKELY) | dict.fromkeys(promise, -LIKELY) | dict.fromkeys(plain, -CERTAIN)


def fit(sentences: list[tuple[bool, set[str]]], begun: dict[str, float], penalty: float) -> dict[str, float]:
    """Return the weights of the words that several sentences have, which make what is known of these likeliest."""
    places: dict[str, list[int]] = defaultdict(list)
    for at, (_, words) in enumerate(sentences):
        for word in sorted(words):
            places[word].append(at)
    weights = {word: begun.get(word, 0.0) for word, at in places.items() if len(at) >= LEAST_TIMES}
    logits = [sum(weights.get(word, 0.0) for word in sorted(words)) for _, words in sentences]
    for _ in range(ROUNDS):
        for word, weight in weights.items():
            slope, bend = penalty * (weight - begun.get(word, 0.0)), penalty
            for at in places[word]:
                likely = 1 / (1 + exp(-logits[at]))
                slope, bend = slope + likely - sentences[at][0], bend + likely * (1 - likely)
            step = max(-MOST_STEP, min(MOST_STEP, -slope / bend))
            weights[word] = weight + step
            for at in places[word]:
                logits[at] += step
    return weights


UNMISTAKABLE: Final = ("named", "drug", "plain")
"""Lists of words that promise whatever they stand beside."""


def _listed(lists: dict[str, Any], names: tuple[str, ...]) -> Iterator[str]:
    """Yield the words of lists, in all their forms."""
    return chain.from_iterable(
        forms(word)[:2]  # itself and with an s
        for name in names
        for entry in lists[name].split("/")
        for word in entry.replace("_", " ").split()
        if "*" not in word
    )


def written(weights: dict[str, int]) -> str:
    """Return [weights] as it is in a table: a line for each weight, its words in order."""
    lines = [
        f'"{each}" = "{"/".join(sorted(word for word, weight in weights.items() if weight == each))}"'
        for each in sorted(set(weights.values()))
    ]
    return "[weights]\n" + "\n".join(lines) + "\n"


def weights_in(language: str) -> dict[str, int]:
    """Return the weights of the table of a language from the sentences that it was built on."""
    lists = parse_bounded(dict(own_templates())[f"claims/{language}.toml"])["words"]
    sentences = ((bool(sentence.keys), sentence.text) for sentence in sentences_of(f"{language}.build"))
    return weights_of(sentences, lists, language)


if __name__ == "__main__":
    print(written(weights_in(sys.argv[1])))  # noqa: T201 - to be put into the table
