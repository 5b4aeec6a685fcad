"""How much a word says that a sentence speaks of something else than what goods do, from the sentences built on.

`python -m tests.check.claim_weights` prints [weights] of templates/claims/en.toml anew; a test compares them. They are
those of a logistic regression of "is sound" on the words of a sentence, without an intercept, penalised by the squares
of how far they are from where they begin (ridge), fitted one weight after the other by Newton's method; ten times the
logarithm of the odds, those that come to 0 left out. Where a word begins is what it is: words of the table's list
`world` speak of the shop, the weather, beasts, dishes and colours, those of `promise` and of its verbs and ailments of
what goods do. Words that one sentence has, or none, stay there; names of goods and articles, which both have, weigh nothing.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from itertools import chain
from math import exp
from typing import Any, Final

from listkit.bounded_toml import parse_bounded
from listkit.check.claims_match import words_of
from listkit.check.claims_table import forms
from listkit.read.templates import own_templates
from tests.check.test_claims_corpus import sentences_of

SCALE: Final = 10
PENALTY: Final = 0.6
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

BOTH: Final = (
    "soap", "soaps", "candle", "candles", "bar", "bars", "wax", "melt", "melts", "our", "balm", "oil", "set", "tin", "a",
    "an", "and", "of", "the",
)  # fmt: skip


def weights_of(sentences: Iterable[tuple[bool, str]], lists: dict[str, Any]) -> dict[str, int]:
    """Return the weights of words, given sentences with whether they claim and the lists of words of a table."""
    begun = _begun(lists)
    fitted = fit(
        [(not claim, {word.text for word in words_of(text)}.difference(BOTH)) for claim, text in sentences], begun
    )
    rounded = {word: round(SCALE * weight) for word, weight in (begun | fitted).items()}
    return {word: weight for word, weight in rounded.items() if weight and word not in BOTH}


def _begun(lists: dict[str, Any]) -> dict[str, float]:
    """Return the weights that words of lists begin with."""
    world = set(_listed(lists, ("world",)))
    promise = set(_listed(lists, PROMISING)) - world - {*NEITHER}
    plain = set(_listed(lists, UNMISTAKABLE)) - world
    return dict.fromkeys(world, LIKELY) | dict.fromkeys(promise, -LIKELY) | dict.fromkeys(plain, -CERTAIN)


def fit(sentences: list[tuple[bool, set[str]]], begun: dict[str, float]) -> dict[str, float]:
    """Return the weights of the words that several sentences have, by ridge regression of the log odds of a sentence."""
    places: dict[str, list[int]] = defaultdict(list)
    for at, (_, words) in enumerate(sentences):
        for word in sorted(words):
            places[word].append(at)
    weights = {word: begun.get(word, 0.0) for word, at in places.items() if len(at) >= LEAST_TIMES}
    logits = [sum(weights.get(word, 0.0) for word in sorted(words)) for _, words in sentences]
    for _ in range(ROUNDS):
        for word, weight in weights.items():
            slope, bend = PENALTY * (weight - begun.get(word, 0.0)), PENALTY
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


def english() -> dict[str, int]:
    """Return the weights of the English table from the sentences that it was built on."""
    lists = parse_bounded(dict(own_templates())["claims/en.toml"])["words"]
    return weights_of(((bool(sentence.keys), sentence.text) for sentence in sentences_of("en.build")), lists)


if __name__ == "__main__":
    print(written(english()))  # noqa: T201 - to be put into the table
