"""How much a word says that a sentence speaks of something else than what goods do, from the sentences built on.

`python -m tests.check.claim_weights` prints [weights] of templates/claims/en.toml anew; a test compares them. A weight
is twice the logarithm of how much more often a word is in sound sentences than in claims, from -4 to 4, those of -1 to
1 left out, and those of goods that both speak of. Words that no sentence has are weighed by what they are: those of
the table's list `world` speak of the shop, the weather, beasts, dishes and colours, those of `promise` and of its verbs
and ailments of what goods do.
"""

from collections import Counter
from collections.abc import Iterator
from itertools import chain
from math import log
from typing import Any, Final

from listkit.bounded_toml import parse_bounded
from listkit.check.claims_match import words_of
from listkit.check.claims_table import forms
from listkit.read.templates import own_templates
from tests.check.test_claims_corpus import sentences_of

MOST: Final = 4
PRIOR: Final = 2
LEAST_TIMES: Final = 2
PROMISING: Final = (
    "plain", "drug", "promise", "act", "heal", "mend", "remove", "disease", "named", "acne", "germ", "fungus", "soothe",
    "stretch", "wrinkle", "boost", "pale", "pigment", "bug", "boast", "planet",
)  # fmt: skip
NEITHER: Final = (
    "a", "of", "the", "off", "out", "up", "good", "great", "best", "for", "take", "works", "world", "dry", "cold",
)  # fmt: skip


GOODS: Final = (
    "soap", "soaps", "candle", "candles", "bar", "bars", "wax", "melt", "melts", "our", "balm", "oil", "set", "tin",
)  # fmt: skip


def weights_of(sentences: Iterator[tuple[bool, str]], lists: dict[str, Any]) -> dict[str, int]:
    """Return the weights of words, given sentences with whether they claim and the lists of words of a table."""
    claims, sound, times = Counter[str](), Counter[str](), Counter[bool]()
    for claim, text in sentences:
        times[claim] += 1
        (claims if claim else sound).update({word.text for word in words_of(text)})
    world = set(_listed(lists, ("world",)))
    promise = set(_listed(lists, PROMISING)) - world - {*NEITHER}
    plain = set(_listed(lists, UNMISTAKABLE)) - world
    weights: dict[str, int] = {}
    for word in {*claims, *sound, *world, *promise}:
        if claims[word] + sound[word] >= LEAST_TIMES:
            odds = log((sound[word] + 0.5) / (times[False] + 1)) - log((claims[word] + 0.5) / (times[True] + 1))
            weights[word] = round(max(-MOST, min(MOST, 2 * odds, -PRIOR if word in plain else MOST)))
        else:
            weights[word] = PRIOR if word in world else -PRIOR if word in promise else 0
    return {word: weight for word, weight in weights.items() if abs(weight) > 1 and word not in GOODS}


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
