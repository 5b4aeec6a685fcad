"""Tables of claims: the words that get an owner into trouble, by language, from templates/claims/<language>.toml.

A phrase is words in a row, as the table's own head explains. It is brought down here to steps, each a set of words or
beginnings of words, so that looking for it is a walk along the text and never a search that can explode.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from itertools import chain, product
from math import prod
from typing import Any, Final

from listkit import bounds
from listkit.bounded_toml import parse_bounded
from listkit.check.alike import folded
from listkit.check.claims_shape import require_one_word, require_shape, require_words

LEVELS: Final = {"medicine": "claim-medicine", "evidence": "claim-evidence", "reword": "claim-reword"}
FOLDER: Final = "claims"
MOST_BETWEEN: Final = bounds.CLAIM_WORDS_BETWEEN
"""Words that ".." may stand for."""
_TEXTS: Final = ("key", "where", "why", "source", "write")
LEAST_PART: Final = 4
_VOWELS: Final = "aeiou"


@dataclass(frozen=True, slots=True)
class Step:
    """A place in a phrase: the words that may be there, beginnings and ends of words, how many words may come before.

    `but` turns it round: every word may be there except those.
    """

    words: frozenset[str]
    beginnings: tuple[str, ...] = ()
    ends: tuple[str, ...] = ()
    before: int = 0
    but: bool = False

    def takes(self, word: str) -> bool:
        """Whether `word`, folded, may be here."""
        named = word in self.words or word.startswith(self.beginnings) or word.endswith(self.ends)
        return named != self.but


Phrase = tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Family:
    """One kind of claim: its key, the code of its problems, why, whose rule it is, what to write.

    `unless` are phrases that have another sense in this family alone: what shares a word with one is no claim of it.
    `denied` are phrases that count though denied ("no moth comes near"), since the denial is the promise; `always` says
    the same of all phrases of the family ("no parabens"). `certain` are phrases that claim whatever their sentence
    speaks of ("non-toxic"), so the weights of its words are not asked of a find that shares a word with one.
    """

    phrases: tuple[Phrase, ...]
    unless: tuple[Phrase, ...] = ()
    denied: tuple[Phrase, ...] = ()
    certain: tuple[Phrase, ...] = ()
    always: bool = False
    number: int = 0
    key: str = ""
    code: str = ""
    where: str = ""
    why: str = ""
    source: str = ""
    write: str = ""


@dataclass(frozen=True, slots=True)
class Denials:
    """How a language says that something is not so: words of [denials] in a table, each folded.

    Args:
        before: words that deny what comes up to six words later ("does not cure").
        nouns: what "no" must come right before to deny ("no cure for").
        verbs: what "no" must come right behind to deny whatever follows ("repels no insects").
        inverted: verbs that have their subject between them and the "no" that denies them ("heilt der Balsam keine").
        none: words that deny when they come right behind the verb ("heals nothing").
        but: words that, right behind one of `before`, make it no denial ("not only heals").
        still: words that, right behind a "no" that answers, make it no denial ("Spots? Not any more").
        stops: words behind which a denial reaches no further ("but").
        after: words that deny what comes before them in the same clause ("gegen Mücken hilft sie nicht").
        conditions: words that open a clause whose denial ends at its comma ("if you cannot sleep, it helps").
        subjects: denials that, as the first word of a clause, deny all of it ("nothing in this large box cures").
        yes: answers that say that what others ask is so.
        compared: words with which these deny only what others do ("nothing works better").
    """

    before: frozenset[str] = frozenset()
    no: frozenset[str] = frozenset()
    nouns: frozenset[str] = frozenset()
    verbs: frozenset[str] = frozenset()
    none: frozenset[str] = frozenset()
    but: frozenset[str] = frozenset()
    still: frozenset[str] = frozenset()
    stops: frozenset[str] = frozenset()
    after: frozenset[str] = frozenset()
    conditions: frozenset[str] = frozenset()
    subjects: frozenset[str] = frozenset()
    compared: frozenset[str] = frozenset()
    yes: frozenset[str] = frozenset()
    inverted: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True, eq=False)
class ClaimTable:
    """All of one language: families in order, phrases that only look like claims, denials. Each text is read once.

    A sentence with one of `cautions` warns ("stop if a rash appears"), so it promises nothing, nor does one behind a
    sentence that has only words of `headings` ("Warning: burns hot"). A question that begins
    with one of `questions` ("Does it help with") is as good as its answer, and any is denied by an answer that begins
    with one of `partly` ("all but the balm"). One with `reported` ("people ask whether") claims nothing but with a yes
    behind. `weights` say of words how much a sentence
    that has them speaks of something else than what goods do; below 0 for those that promise.
    """

    families: tuple[Family, ...]
    friends: tuple[Phrase, ...]
    denials: Denials = Denials()
    cautions: tuple[Phrase, ...] = ()
    questions: tuple[Phrase, ...] = ()
    headings: frozenset[str] = frozenset()
    weights: Mapping[str, int] = field(default_factory=dict)
    partly: tuple[Phrase, ...] = ()
    reported: tuple[Phrase, ...] = ()

    @property
    def keys(self) -> frozenset[str]:
        """What [[evidence]] may name."""
        return frozenset(family.key for family in self.families)


@cache
def parse_claims(text: str) -> ClaimTable:
    """Return the table that `text` holds.

    Raises:
        ValueError: it is no TOML, a phrase names a list of words that is not there, or the phrases are too many.
    """
    raw = parse_bounded(text)
    require_shape(raw)
    try:
        lists = {
            name: tuple(" ".join(entry.split()) for entry in entries.split("/") if entry.strip())
            for name, entries in raw.get("words", {}).items()
        }
        sections = [raw.get(key, {}).get("phrases", []) for key in ("friends", "cautions", "questions")]
        families_said = raw.get("family", [])
        sections += [raw.get("questions", {}).get(key, []) for key in ("partly", "reported")]
        texts = [*chain(*sections), *(text for family in families_said for text in family["phrases"])]
        texts += [
            text for family in families_said for key in ("unless", "denied", "certain") for text in family.get(key, [])
        ]
        _require_words(raw, chain(texts, *(entry.split() for entry in chain.from_iterable(lists.values()))))
        ways = _Ways(lists)
        _require_bounds(texts, ways)
        families = tuple(_family(family, ways) for family in families_said)
        denials = Denials(**{key: frozenset(map(folded, entries)) for key, entries in raw.get("denials", {}).items()})
        friends, cautions, questions, partly, reported = (
            tuple(phrase for text in texts for phrase in _phrases(text, ways)) for texts in sections
        )
        weights = {
            folded(word): _weight(weight)
            for weight, listed in raw.get("weights", {}).items()
            for word in listed.split("/")
        }
        if not all(family.phrases for family in families) or not families:
            raise ValueError("it has a [[family]] without phrases, or none")
        _require_ends((*families, Family(friends), Family(cautions)))
        headings = frozenset(map(folded, raw.get("cautions", {}).get("headings", [])))
        return ClaimTable(
            families=families,
            friends=friends,
            denials=denials,
            cautions=cautions,
            questions=questions,
            headings=headings,
            weights=weights,
            partly=partly,
            reported=reported,
        )
    except (KeyError, TypeError, AttributeError) as fault:
        raise ValueError(f"{fault} is missing or of the wrong kind") from fault


def _require_words(raw: dict[str, Any], phrases: Iterable[str]) -> None:
    """Check that a text can have each word of phrases, lists, denials, headings and weights.

    Raises:
        ValueError: one would never be found.
    """
    for said in phrases:
        require_words(said)
    weighed = (text.split("/") for text in raw.get("weights", {}).values())
    for word in chain(raw.get("cautions", {}).get("headings", []), *raw.get("denials", {}).values(), *weighed):
        require_one_word(word)


def _require_bounds(texts: Iterable[str], ways: "_Ways") -> None:
    """Check how many phrases and words of phrases a table comes to, before any phrase is made.

    Raises:
        ValueError: they are more than tables have.
    """
    phrases, words = 0, 0
    for text in texts:
        if len(text.split()) > bounds.CLAIM_LONG:
            raise ValueError(f"a phrase of it has more than {bounds.CLAIM_LONG} words")
        count = ways.count(text)
        phrases, words = phrases + count, words + count * ways.words_in(text)
        if phrases > bounds.CLAIM_PHRASES or words > bounds.CLAIM_WORDS:
            raise ValueError("its phrases can be said in too many ways")


def _require_ends(families: Iterable[Family]) -> None:
    """Check in how many words phrases can end, since from each word they are looked up by these.

    Raises:
        ValueError: they are more than tables have.
    """
    phrases = (phrase for family in families for phrase in chain(family.phrases, family.unless, family.denied))
    if sum(len(phrase[-1].words) for phrase in phrases) > bounds.CLAIM_ENDS:
        raise ValueError("its phrases can end in too many words")


def _weight(text: str) -> int:
    """Return a weight: a whole number, which stands before its words.

    Raises:
        ValueError: it is none.
    """
    if not re.fullmatch(r"-?\d{1,4}", text, re.ASCII):
        raise ValueError(f'"{text}" under [weights] is no whole number, as in -2 or 3')
    return int(text)


def _family(raw: dict[str, Any], ways: "_Ways") -> Family:
    phrases, unless, denied, certain = (
        tuple(phrase for text in texts for phrase in _phrases(text, ways))
        for texts in (raw["phrases"], *(raw.get(key, []) for key in ("unless", "denied", "certain")))
    )
    texts = {name: raw.get(name, "") for name in _TEXTS}
    for name, value in texts.items():
        if not isinstance(value, str) or not (value or name == "where"):
            raise KeyError(name)
    if not isinstance(raw["number"], int):
        raise KeyError("number")
    always, number = bool(raw.get("always")), raw["number"]
    code = LEVELS[raw["level"]]
    return Family(phrases, unless, denied, certain, always=always, number=number, code=code, **texts)


def _phrases(text: str, ways: "_Ways") -> Iterator[Phrase]:
    """Yield a phrase for each way to take alternatives of several words and to leave out what may be left out.

    Alternatives of one word are one step. What has "&" between is yielded in either order.
    """
    halves = [half.strip() for half in text.split(" & ")]
    if len(halves) > 2:
        raise ValueError(f'"{text}" has more than one "&"')
    for first, second in ((halves[0], halves[-1]), (halves[-1], halves[0]))[: len(halves)]:
        for chosen in product(*ways.of(first)):
            begun = tuple(_steps(chain.from_iterable(chosen)))
            if len(halves) == 1:
                yield begun
                continue
            for behind in product(*ways.of(second)):
                head, *rest = _steps(chain.from_iterable(behind))
                yield (*begun, replace(head, before=bounds.CLAIM_WORDS_APART), *rest)


class _Ways(dict[str, tuple[tuple[str, ...], ...]]):
    """The ways to fill a place of a phrase, each a row of words, by how the place is written; each worked out once."""

    def __init__(self, lists: dict[str, tuple[str, ...]]) -> None:
        super().__init__()
        self.lists = lists
        self.options = 0

    def __missing__(self, word: str) -> tuple[tuple[str, ...], ...]:
        bare = word.removesuffix("?")
        but, named = bare[: bare.startswith("^")], bare.removeprefix("^")
        options = [way for part in named.split("/") for way in (self.lists[part[1:-1]] if part[:1] == "<" else (part,))]
        options = [way.replace("_", " ") for way in options]
        self.options += len(options)
        if self.options > bounds.CLAIM_OPTIONS:
            raise ValueError("its phrases have too many alternatives")
        single = but + "/".join(option for option in options if " " not in option)
        ways = [(single,), *(tuple(option.split()) for option in options if " " in option)]
        self[word] = (*(way for way in ways if way != ("",)), *(((),) if bare != word else ()))
        return self[word]

    def of(self, text: str) -> list[tuple[tuple[str, ...], ...]]:
        """Return for each place in a phrase the ways to fill it."""
        return [self[word] for word in text.split()]

    def count(self, text: str) -> int:
        """Return how many phrases a text comes to, before any is made."""
        halves = text.split(" & ")
        return len(halves) * prod(prod(map(len, self.of(half))) for half in halves)

    def words_in(self, text: str) -> int:
        """Return how many words the longest of the phrases of a text has."""
        return sum(max(map(len, ways), default=0) for half in text.split(" & ") for ways in self.of(half))


def _steps(phrase: Iterable[str]) -> Iterator[Step]:
    """Yield a step for each word of a phrase that is not ".."."""
    before = 0
    for word in phrase:
        if word == "..":
            before = MOST_BETWEEN
            continue
        yield _step(word, before)
        before = 0


@cache
def _step(word: str, before: int) -> Step:
    """Return the step of alternatives of one word; kept, since phrases share their lists of words."""
    if word.startswith("^"):
        return replace(_step(word[1:], before), but=True)
    options = word.split("/")
    exact = (form for option in options if "*" not in option for form in forms(folded(option)))
    beginnings = tuple(folded(option.removesuffix("*")) for option in options if option.endswith("*"))
    ends = tuple(folded(option.removeprefix("*")) for option in options if option.startswith("*"))
    if any(len(part) < LEAST_PART or "*" in part for part in (*beginnings, *ends)):
        raise ValueError(f'"{word}" takes too many words')
    if len(beginnings) + len(ends) > bounds.CLAIM_PARTS:
        raise ValueError(f"a place in a phrase has more than {bounds.CLAIM_PARTS} beginnings and ends of words")
    return Step(frozenset(exact), beginnings, ends, before)


_STRONG: Final = {
    "draw": ("drew", "drawn"), "fight": ("fought",), "shrink": ("shrank", "shrunk"), "undo": ("undid", "undone"),
}  # fmt: skip
"""Pasts that no rule makes, of verbs that tales seldom use: "kept" and "took" are in every story of a shop."""


def forms(word: str) -> tuple[str, ...]:
    """Return a word marked with ~ in its forms as a verb or noun of English, any other word as it is.

    >>> forms("cure~")
    ('cure', 'cures', 'curees', 'cured', 'curing')
    """
    if not word.endswith("~"):
        return (word,)
    word = word.removesuffix("~")
    if not word:
        raise ValueError('"~" stands behind no word')
    forms = [word, word + "s", word + "es", *_STRONG.get(word, ())]
    if word.endswith("e"):
        return (*forms, word + "d", word[:-1] + "ing")
    if word.endswith("y") and word[-2:-1] not in _VOWELS:
        return (*forms, word[:-1] + "ies", word[:-1] + "ied", word + "ing")
    doubled = word + word[-1]
    return (*forms, word + "ed", word + "ing", doubled + "ed", doubled + "ing")
