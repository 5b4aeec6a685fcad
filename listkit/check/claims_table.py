"""Tables of claims: the words that get an owner into trouble, by language, from templates/claims/<language>.toml.

A phrase is words in a row, as the table's own head explains. It is brought down here to steps, each a set of words or
beginnings of words, so that looking for it is a walk along the text and never a search that can explode.
"""

import re
import unicodedata
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from itertools import chain, product
from math import prod
from typing import Any, Final

from listkit import bounds
from listkit.bounded_toml import parse_bounded
from listkit.check.alike import folded

LEVELS: Final = {"medicine": "claim-medicine", "evidence": "claim-evidence", "reword": "claim-reword"}
FOLDER: Final = "claims"
MOST_BETWEEN: Final = bounds.CLAIM_WORDS_BETWEEN
"""Words that ".." may stand for."""
_TEXTS: Final = ("key", "where", "why", "source", "write")
_LEAST_PART: Final = 4
_MOST_PHRASES: Final = bounds.CLAIM_PHRASES
"""Of one table, alternatives told apart; ours has a few hundred."""
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
    the same of all phrases of the family ("no parabens").
    """

    phrases: tuple[Phrase, ...]
    unless: tuple[Phrase, ...] = ()
    denied: tuple[Phrase, ...] = ()
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
        none: words that deny when they come right behind the verb ("heals nothing").
        but: words that, right behind one of `before`, make it no denial ("not only heals").
        still: words that, right behind a "no" that answers, make it no denial ("Spots? Not any more").
        stops: words behind which a denial reaches no further ("but").
        after: words that deny what comes before them in the same clause ("gegen Mücken hilft sie nicht").
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


@dataclass(frozen=True, slots=True, eq=False)
class ClaimTable:
    """All of one language: families in order, phrases that only look like claims, denials. Each text is read once.

    A sentence with one of `cautions` warns ("stop if a rash appears"), so it promises nothing. A question that begins
    with one of `questions` ("Does it help with") is as good as its answer.
    """

    families: tuple[Family, ...]
    friends: tuple[Phrase, ...]
    denials: Denials = Denials()
    cautions: tuple[Phrase, ...] = ()
    questions: tuple[Phrase, ...] = ()

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
    try:
        lists = {
            name: tuple(" ".join(entry.split()) for entry in entries.split("/") if entry.strip())
            for name, entries in raw.get("words", {}).items()
        }
        sections = [raw.get(key, {}).get("phrases", []) for key in ("friends", "cautions", "questions")]
        families_said = raw.get("family", [])
        texts = [*chain(*sections), *(text for family in families_said for text in family["phrases"])]
        texts += [text for family in families_said for key in ("unless", "denied") for text in family.get(key, [])]
        ways = _Ways(lists)
        if sum(map(ways.count, texts)) > _MOST_PHRASES:
            raise ValueError("its phrases can be said in too many ways")  # before any phrase is made
        families = tuple(_family(family, ways) for family in families_said)
        denials = Denials(**{key: frozenset(map(folded, entries)) for key, entries in raw.get("denials", {}).items()})
        looks, warns, asks = (
            tuple(phrase for text in texts for phrase in _phrases(text, ways)) for texts in sections
        )
        return ClaimTable(families, looks, denials, warns, asks)
    except (KeyError, TypeError, AttributeError) as fault:
        raise ValueError(f"{fault} is missing or of the wrong kind") from fault


def _family(raw: dict[str, Any], ways: "_Ways") -> Family:
    phrases, unless, denied = (
        tuple(phrase for text in texts for phrase in _phrases(text, ways))
        for texts in (raw["phrases"], raw.get("unless", []), raw.get("denied", []))
    )
    texts = {name: raw.get(name, "") for name in _TEXTS}
    for name, value in texts.items():
        if not isinstance(value, str) or not (value or name == "where"):
            raise KeyError(name)
    if not isinstance(raw["number"], int):
        raise KeyError("number")
    always, number = bool(raw.get("always")), raw["number"]
    code = LEVELS[raw["level"]]
    return Family(phrases, unless, denied, always=always, number=number, code=code, **texts)


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

    def __missing__(self, word: str) -> tuple[tuple[str, ...], ...]:
        bare = word.removesuffix("?")
        but, named = bare[: bare.startswith("^")], bare.removeprefix("^")
        options = [way for part in named.split("/") for way in (self.lists[part[1:-1]] if part[:1] == "<" else (part,))]
        options = [way.replace("_", " ") for way in options]
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
    exact = (form for option in options if "*" not in option for form in _forms(folded(option)))
    beginnings = tuple(folded(option.removesuffix("*")) for option in options if option.endswith("*"))
    ends = tuple(folded(option.removeprefix("*")) for option in options if option.startswith("*"))
    if any(len(part) < _LEAST_PART or "*" in part for part in (*beginnings, *ends)):
        raise ValueError(f'"{word}" takes too many words')
    return Step(frozenset(exact), beginnings, ends, before)


def _forms(word: str) -> tuple[str, ...]:
    """Return a word marked with ~ in its forms as a verb or noun of English, any other word as it is.

    >>> _forms("cure~")
    ('cure', 'cures', 'curees', 'cured', 'curing')
    """
    if not word.endswith("~"):
        return (word,)
    word = word.removesuffix("~")
    if not word:
        raise ValueError('"~" stands behind no word')
    forms = [word, word + "s", word + "es"]
    if word.endswith("e"):
        return (*forms, word + "d", word[:-1] + "ing")
    if word.endswith("y") and word[-2:-1] not in _VOWELS:
        return (*forms, word[:-1] + "ies", word[:-1] + "ied", word + "ing")
    doubled = word + word[-1]
    return (*forms, word + "ed", word + "ing", doubled + "ed", doubled + "ing")


# The search for claims in a text: every phrase of a table, from every word, within one sentence.
#
# The work grows with the length of the text: from each word only the phrases that begin with it are walked, and a
# phrase reaches over a bounded number of words. What looks like a claim and is none is taken out first.

_UNSEEN: Final = "\u00ad\u200b-\u200d\u2060\ufeff"
_TOKEN: Final = re.compile(rf"(?:[^\W\d_][\u0300-\u036f{_UNSEEN}]*)+|\d+|\?")
_BREAK: Final = re.compile(r"\.(?!\d)|[!?:;|\t•·…]|\n\s*(?:\n|[-*+>#])")
_NOT_LETTERS: Final = re.compile(rf"[\u0300-\u036f{_UNSEEN}]")
_PART: Final = _LEAST_PART
_OWNED: Final = "'’‘"
_MASKED: Final = "\0"
_ASKS: Final = "?"


@dataclass(frozen=True, slots=True)
class Find:
    """One claim: its family, where it begins and ends in the text, and how often the family occurs."""

    family: Family
    start: int
    end: int
    times: int = 1


@dataclass(frozen=True, slots=True)
class _Word:
    start: int
    end: int
    text: str
    sentence: int


@lru_cache(maxsize=65_536)
def find_claims(text: str, table: ClaimTable, *, where: str = "") -> tuple[Find, ...]:
    """Return the first find of each family, in the order of the text; of finds that overlap the longest counts.

    Args:
        text: what is looked through, as it stands.
        table: of its language.
        where: "eu" takes in the families that count only there.
    """
    words = _words(text)
    if not words:
        return ()
    claims, friends, cautions, questions = _indexes(table)
    warned = [span for _, span in cautions.spans(words) if not is_denied(words, span, table.denials, text)]
    warning = {words[start].sentence for start, _ in warned}
    warning |= _headings(words, warning) | _answered_no(words, questions, warning, table.denials)
    hidden = {at for _, (start, end) in friends.spans(words) for at in range(start, end + 1)}
    words = [replace(word, text=_MASKED) if at in hidden else word for at, word in enumerate(words)]
    spans = [span for span in claims.spans(words) if span[0].where in ("", where)]
    spans = [span for span in spans if words[span[1][0]].sentence not in warning and not _otherwise(span, words)]
    first: dict[str, tuple[Family, int, int]] = {}
    times: dict[str, int] = defaultdict(int)
    apart = _apart(spans, len(words))
    kept = (span for span in apart if span[0].always or not is_denied(words, span[1], table.denials, text))
    for family, (start, end) in sorted(kept, key=lambda span: span[1]):
        first.setdefault(family.key, (family, start, end))
        times[family.key] += 1
    return tuple(
        Find(family, words[start].start, words[end].end, times[key]) for key, (family, start, end) in first.items()
    )


_Span = tuple[Family, tuple[int, int]]
"""A family, and the first and last word of one of its phrases in a text."""


def _otherwise(span: _Span, text: list[_Word]) -> bool:
    """Whether a find shares a word with a phrase that has another sense in its family."""
    family, (start, end) = span
    for phrase in family.unless:
        reach = sum(1 + step.before for step in phrase)
        for at in range(max(0, start - reach), end + 1):
            if phrase[0].takes(text[at].text):
                last = _end(phrase, text, at)
                if last is not None and (at <= start <= last or at <= end <= last):
                    return True
    return False


def _apart(spans: list[_Span], length: int) -> Iterator[_Span]:
    """Yield the spans whose first and last words are not both of longer ones: these first, then as the table has them.

    What counts though denied goes before all, or the longer span of a denied phrase would hide it.

    So of "relieves eczema, acne and dandruff" all three are there, and of "natural facelift" no natural. Spans of one
    family share no word.
    """
    taken = bytearray(length)
    of_family: dict[str, bytearray] = defaultdict(lambda: bytearray(length))
    ordered = sorted(spans, key=lambda span: (not span[0].always, span[1][0] - span[1][1], span[0].number, span[1]))
    for family, (start, end) in ordered:
        inside = of_family[family.key]
        if not (taken[start] and taken[end]) and not any(inside[start : end + 1]):
            inside[start : end + 1] = b"\1" * (end + 1 - start)
            within = (start, end) if end - start > MOST_BETWEEN else range(start, end + 1)
            for at in within:
                taken[at] = 1
            yield family, (start, end)


_ANSWERS_WITHIN: Final = 5
"""Words of an answer within which it denies what was asked."""


_HEADING: Final = 3
"""Words of a sentence that is only the heading of the next one."""


def _headings(text: list[_Word], warning: set[int]) -> set[int]:
    """Return the sentences of a few words right before a warning ("Pregnant? Ask your midwife")."""
    lengths = Counter(word.sentence for word in text if word.text != _ASKS)
    return {sentence - 1 for sentence in warning if 0 < lengths[sentence - 1] <= _HEADING}


def _answered_no(text: list[_Word], questions: "_Index", warning: set[int], denials: Denials) -> set[int]:
    """Return the sentences that ask whether something is so, and are answered by a denial or a warning."""
    denied: set[int] = set()
    for _, (start, _) in questions.spans(text):
        asked = text[start].sentence
        behind = next((at for at in range(start, len(text)) if text[at].sentence != asked), len(text))
        answer = text[behind : behind + _ANSWERS_WITHIN]
        begins = start == 0 or text[start - 1].sentence != asked
        if begins and answer and text[behind - 1].text == _ASKS:
            reached = [at for at in range(behind, behind + len(answer)) if text[at].sentence == answer[0].sentence]
            no = text[behind].text in denials.no or any(_denies(text, at, len(text), denials) for at in reached)
            if no or answer[0].sentence in warning:
                denied.add(asked)
    return denied


_DENIES_OVER: Final = 6
"""Words over which a denial reaches."""


def is_denied(text: list[_Word], span: tuple[int, int], denials: Denials, written: str) -> bool:
    """Whether a find is said not to be so: by what comes before it, within it, right behind it, or as an answer."""
    start, end = span
    after = next((at for at in range(end, len(text)) if text[at].sentence != text[end].sentence), len(text))
    asks = text[after - 1].text == _ASKS
    clause = _clause_before(text, start, denials, written)
    if not asks and any(_denies(text, at, start, denials) for at in clause):
        return True
    behind = text[start + 1].text if start + 1 < after else ""
    if behind in denials.none and (start < end or behind not in denials.no):
        return True
    within = (at for at in range(start + 1, end) if text[at].text not in denials.no or _behind_verb(text, at, denials))
    if any(_denies(text, at, end, denials) for at in within):
        return True
    if any(text[at].text in denials.after and _denies(text, at, start, denials) for at in _clause_behind(text, end, written)):
        return True
    answers = asks and after < len(text) and text[after].text in denials.before | denials.no
    return answers and not (after + 1 < len(text) and text[after + 1].text in denials.still)


def _clause_before(text: list[_Word], start: int, denials: Denials, written: str) -> Iterator[int]:
    """Yield the places of the words before a find, backwards, as far as a denial of theirs could reach it."""
    for at in range(start - 1, max(start - 1 - _DENIES_OVER, -1), -1):
        between = written[text[at].end : text[at + 1].start]
        if text[at].sentence != text[start].sentence or "," in between or text[at].text in denials.stops:
            return
        yield at


def _clause_behind(text: list[_Word], end: int, written: str) -> Iterator[int]:
    """Yield the places of the words behind a find, to the end of its clause."""
    for at in range(end + 1, len(text)):
        if text[at].sentence != text[end].sentence or "," in written[text[at - 1].end : text[at].start]:
            return
        yield at


def _denies(text: list[_Word], at: int, start: int, denials: Denials) -> bool:
    """Whether the word at a place denies what begins at `start`, later in the same clause."""
    following = text[at + 1].text if at + 1 < len(text) else ""
    if text[at].text in denials.no:
        named = following in denials.nouns or (start > at + 2 and text[at + 2].text in denials.nouns)
        return (named or _behind_verb(text, at, denials)) and following not in denials.but
    return text[at].text in denials.before and following not in denials.but


def _behind_verb(text: list[_Word], at: int, denials: Denials) -> bool:
    """Whether a "no" has a verb right before it that it denies ("repels no insects")."""
    return at > 0 and text[at - 1].text in denials.verbs and text[at - 1].sentence == text[at].sentence


def _words(text: str) -> list[_Word]:
    """Return the words of a text, folded, each with its sentence, "?" as its last; the s of a possessive is none."""
    words: list[_Word] = []
    sentence, last = 0, 0
    for match in _TOKEN.finditer(text):
        if words and _BREAK.search(text, last, match.start()):
            sentence += 1
        asks = match[0] == _ASKS
        last = match.start() if asks else match.end()
        owned = match[0] in "sS" and text[match.start() - 1 : match.start()] in _OWNED and match.start() > 0
        if not owned and (words or not asks):
            words.append(_Word(match.start(), match.end(), _folded(match[0]), sentence))
    return words


def _folded(word: str) -> str:
    if word.isascii():
        return word.lower()
    return _NOT_LETTERS.sub("", unicodedata.normalize("NFKD", word.casefold()))


class _Index:
    """Phrases of families by the words they may begin with; none begins with "every word except"."""

    def __init__(self, families: Iterable[Family]) -> None:
        self.by_word: dict[str, list[tuple[Family, Phrase]]] = {}
        self.by_beginning: dict[str, list[tuple[Family, Phrase]]] = {}
        self.by_end: dict[str, list[tuple[Family, Phrase]]] = {}
        for family in families:
            for phrase in family.phrases:
                for word in phrase[0].words:
                    self.by_word.setdefault(word, []).append((family, phrase))
                for beginning in {beginning[:_PART] for beginning in phrase[0].beginnings}:
                    self.by_beginning.setdefault(beginning, []).append((family, phrase))
                for end in {end[-_PART:] for end in phrase[0].ends}:
                    self.by_end.setdefault(end, []).append((family, phrase))

    def spans(self, text: list[_Word]) -> Iterator[_Span]:
        """Yield every phrase of a text, with the first and last word of it."""
        for at, word in enumerate(text):
            candidates = self.by_word.get(word.text, [])
            begun = self.by_beginning.get(word.text[:_PART], []) if len(word.text) >= _PART else []
            ended = self.by_end.get(word.text[-_PART:], []) if len(word.text) >= _PART else []
            for family, phrase in (*candidates, *begun, *ended):
                if phrase[0].takes(word.text) and (end := _end(phrase, text, at)) is not None:
                    yield family, (at, end)


@cache
def _indexes(table: ClaimTable) -> tuple[_Index, ...]:
    """Return the indexes of what claims, of what only looks like it, of what warns, and of what asks."""
    denied = (replace(family, phrases=family.denied, always=True) for family in table.families if family.denied)
    rest = (_Index([Family(phrases)]) for phrases in (table.friends, table.cautions, table.questions))
    return (_Index((*table.families, *denied)), *rest)


def _end(phrase: Phrase, text: list[_Word], at: int) -> int | None:
    """Return the last word of a phrase that begins at a word, the earliest possible; None where it does not."""
    ends, sentence = {at}, text[at].sentence
    for step in phrase[1:]:
        reached: set[int] = set()
        for end in ends:
            for place in range(end + 1, min(end + 2 + step.before, len(text))):
                if text[place].sentence != sentence:
                    break
                if step.takes(text[place].text):
                    reached.add(place)
        if not reached:
            return None
        ends = reached
    return min(ends)
