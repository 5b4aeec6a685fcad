"""The search for claims in a text: every phrase of a table, from every word, within one sentence.

The work grows with the length of the text: from each word only the phrases that begin with it are walked, and a phrase
reaches over a bounded number of words. What looks like a claim and is none is taken out first.
"""

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import Final

from listkit import bounds
from listkit.check.claims_index import ASKS, Effort, PhraseIndex, Span, TooMuchError, Word, words_of
from listkit.check.claims_table import MOST_BETWEEN, ClaimTable, Denials, Family, Phrase

_MASKED: Final = "\0"


@dataclass(frozen=True, slots=True)
class Find:
    """One claim: its family, where it begins and ends in the text, and how often the family occurs."""

    family: Family
    start: int
    end: int
    times: int = 1


@dataclass(frozen=True, slots=True)
class Search:
    """What was found in a text of so many words, in how many steps; `cut` where it took more than it may."""

    finds: tuple[Find, ...]
    words: int
    steps: int = 0
    cut: bool = False


def steps_for(length: int) -> int:
    """Return how many steps a search in texts of so many words may take; those of owners take a tenth."""
    return bounds.CLAIM_STEPS + bounds.CLAIM_STEPS_A_WORD * length


def find_claims(text: str, table: ClaimTable, *, where: str = "") -> tuple[Find, ...]:
    """Return what a search in a text finds."""
    return search(text, table, where).finds


@lru_cache(maxsize=65_536)
def search(text: str, table: ClaimTable, where: str) -> Search:
    """Return the first find of each family, in the order of the text; of finds that overlap the longest counts.

    Args:
        text: what is looked through, as it stands.
        table: of its language.
        where: "eu" takes in the families that count only there.
    """
    words = words_of(text)
    if not any(_indexes(table).claims.begun(word.text) for word in words):
        return Search((), len(words))
    effort = Effort(steps_for(len(words)))
    try:
        finds = _found(text, words, table, where, effort)
    except TooMuchError:
        return Search((), len(words), effort.most, cut=True)
    return Search(finds, len(words), effort.spent)


def _found(text: str, read: list[Word], table: ClaimTable, where: str, effort: Effort) -> tuple[Find, ...]:
    words, index = read, _indexes(table)
    warned = (
        span
        for family, span in index.cautions.spans(words, effort)
        if not is_denied(words, span, table.denials, text, within=not family.always)
    )
    warning = {words[start].sentence for start, _ in warned} | _headed(words, table.headings)
    answered = _answered_no(words, index.questions.spans(words, effort), warning, table.denials)
    warning |= _headings(words, warning) | answered  # a "Yes." before a warning is no warning itself
    warning |= _answered_partly(words, index.partly.spans(words, effort))
    warning |= _reported(words, index.reported.spans(words, effort), table.denials)
    weights = [table.weights.get(word.text, 0) for word in words]
    hidden = {at for _, (start, end) in index.friends.spans(words, effort) for at in range(start, end + 1)}
    words = [replace(word, text=_MASKED) if at in hidden else word for at, word in enumerate(words)]
    spans = [span for span in index.claims.spans(words, effort) if span[0].where in ("", where)]
    spans = [span for span in spans if words[span[1][0]].sentence not in warning]
    senses = _by_word(index.otherwise.spans(words, effort)) if spans else {}
    spans = [span for span in spans if not _otherwise(span, senses)]
    soonest = _soonest_ends(spans)
    spans = [span for span in spans if span[0].always or not _denied_over(words, span[1], soonest, table.denials, text)]
    sure = {at for _, (start, end) in index.certain.spans(words, effort) for at in range(start, end + 1)}
    first: dict[str, tuple[Family, int, int]] = {}
    times: dict[str, int] = defaultdict(int)
    apart = _apart(spans, len(words))
    kept = (
        (family, reach)
        for family, reach in apart
        if family.always
        or not (
            is_denied(words, reach, table.denials, text)
            or (_elsewhere(words, reach, weights, text) and sure.isdisjoint(range(reach[0], reach[1] + 1)))
        )
    )
    for family, (start, end) in sorted(kept, key=lambda span: span[1]):
        first.setdefault(family.key, (family, start, end))
        times[family.key] += 1
    return tuple(
        Find(family, words[start].start, words[end].end, times[key]) for key, (family, start, end) in first.items()
    )


_Senses = dict[tuple[str, int], set[tuple[int, int]]]


def _by_word(spans: Iterable[Span]) -> _Senses:
    """Return spans by their family and each of their words."""
    over: _Senses = defaultdict(set)
    for family, (start, end) in spans:
        for at in range(start, end + 1):
            over[family.key, at].add((start, end))
    return over


def _otherwise(span: Span, senses: _Senses) -> bool:
    """Whether the first or last word of a find is of a phrase that has another sense in its family.

    A denial that is the promise is not hidden by what lies within it: "headaches do not come back" is no way back.
    """
    family, (start, end) = span
    promised = family.phrases is family.denied
    over = (sense for at in (start, end) for sense in senses.get((family.key, at), ()))
    return any(not (promised and start <= first and last <= end) for first, last in over)


def _apart(spans: list[Span], length: int) -> Iterator[Span]:
    """Yield the spans whose first and last words are not both of longer ones: these first, then as the table has them.

    What counts though denied goes before all, or the longer span of a denied phrase would hide it.

    So of "relieves eczema, acne and dandruff" all three are there, and of "natural facelift" no natural. Spans of one
    family share no word.
    """
    taken = bytearray(length)
    of_family: dict[str, set[int]] = defaultdict(set)
    ordered = sorted(spans, key=lambda span: (not span[0].always, span[1][0] - span[1][1], span[0].number, span[1]))
    for family, (start, end) in ordered:
        inside = of_family[family.key]
        if not (taken[start] and taken[end]) and inside.isdisjoint(range(start, end + 1)):
            inside.update(range(start, end + 1))
            within = (start, end) if end - start > MOST_BETWEEN else range(start, end + 1)
            for at in within:
                taken[at] = 1
            yield family, (start, end)


_AROUND: Final = 14
"""Words on either side of a find, up to the full stop, that say what is spoken of there."""
_ELSEWHERE: Final = 25
"""The weight above which they speak of something else than what goods do."""
_FULL_STOP: Final = re.compile(r"\.(?!\d)|[!?]|\n\s*(?:\n|[-*+>#])")


def _elsewhere(text: list[Word], span: tuple[int, int], weights: list[int], written: str) -> bool:
    """Whether the words around a find speak of something else: the shop, the weather, a dish ("bruised plums, rum")."""
    first, last = span
    while first > max(0, span[0] - _AROUND) and not _ends_between(text, first, written):
        first -= 1
    behind = min(len(text) - 1, span[1] + _AROUND)
    while last < behind and not _ends_between(text, last + 1, written):
        last += 1
    return sum(weights[first : last + 1]) > _ELSEWHERE


def _ends_between(text: list[Word], at: int, written: str) -> bool:
    """Whether a sentence ends before a word; a point within a number ends none."""
    return _FULL_STOP.search(written, text[at - 1].end, text[at].start + 1) is not None


_ANSWERS_WITHIN: Final = 5
"""Words of an answer within which it denies what was asked."""


_HEADING: Final = 4
"""Words of a sentence that is only the heading of the next one."""


def _headings(text: list[Word], warning: set[int]) -> set[int]:
    """Return the sentences of a few words right before a warning ("Pregnant? Ask your midwife")."""
    lengths = Counter(word.sentence for word in text if word.text != ASKS)
    return {sentence - 1 for sentence in warning if 0 < lengths[sentence - 1] <= _HEADING}


def _headed(text: list[Word], headings: frozenset[str]) -> set[int]:
    """Return the sentences behind one that has only words that head a warning ("Warning: burns hot")."""
    other = {word.sentence for word in text if word.text not in headings}
    return {word.sentence + 1 for word in text if word.sentence not in other}


def _answered_no(text: list[Word], questions: Iterable[Span], warning: set[int], denials: Denials) -> set[int]:
    """Return the sentences that ask whether something is so, and are answered by a denial or a warning."""
    denied: set[int] = set()
    for _, (start, _) in questions:
        asked = text[start].sentence
        behind = next((at for at in range(start, len(text)) if text[at].sentence != asked), len(text))
        answer = text[behind : behind + _ANSWERS_WITHIN]
        begins = start == 0 or text[start - 1].sentence != asked
        if begins and answer and text[behind - 1].text == ASKS:
            reached = [at for at in range(behind, behind + len(answer)) if text[at].sentence == answer[0].sentence]
            flat = {text[reached[0]].text, text[reached[-1]].text} & denials.no  # "No." or "Sadly, no."
            no = bool(flat) or any(_denies(text, at, len(text), denials) for at in reached)
            if no or answer[0].sentence in warning:
                denied.add(asked)
    return denied


def _answered_partly(text: list[Word], partly: Iterable[Span]) -> set[int]:
    """Return the questions that are answered by what is left out ("Is it vegan? All but the lip balm")."""
    asked = {word.sentence for word in text if word.text == ASKS}
    starts = (start for _, (start, _) in partly)
    answers = {text[at].sentence for at in starts if at and text[at - 1].sentence != text[at].sentence}
    return {sentence - 1 for sentence in answers} & asked


def _reported(text: list[Word], reported: Iterable[Span], denials: Denials) -> set[int]:
    """Return the sentences that report a question to which nobody says yes ("people ask whether it helps: no")."""
    asked = {text[start].sentence for _, (start, _) in reported}
    begins = (at for at in range(1, len(text)) if text[at].sentence != text[at - 1].sentence)
    return asked - {text[at - 1].sentence for at in begins if text[at].text in denials.yes}


_DENIES_OVER: Final = 6
"""Words over which a denial reaches."""
_SUBJECT_BETWEEN: Final = 3
_SUBJECT_OVER: Final = 14
"""Words over which one reaches that is the subject of its clause ("nothing in this box of four cures")."""


def is_denied(text: list[Word], span: tuple[int, int], denials: Denials, written: str, *, within: bool = True) -> bool:
    """Whether a find is said not to be so: by what comes before it, within it, right behind it, or as an answer.

    The denial that is part of a warning's own phrase denies no warning: "do not use it when pregnant".
    """
    start, end = span
    after = next((at for at in range(end, len(text)) if text[at].sentence != text[end].sentence), len(text))
    asks = text[after - 1].text == ASKS
    if not asks and _denied_before(text, span, denials, written):
        return True
    behind = text[start + 1].text if start + 1 < after else ""
    if behind in denials.none and (start < end or behind not in denials.no):
        return True
    inside = (at for at in range(start + 1, end) if text[at].text not in denials.no or _behind_verb(text, at, denials))
    if within and any(_denies(text, at, end, denials) for at in inside):
        return True
    later = [*_clause_behind(text, end, written)]
    if any(text[at].text in denials.after and (at == later[-1] or _denies(text, at, start, denials)) for at in later):
        return True
    if any(text[at].text in denials.no and _inverted(text, at, denials) for at in later):
        return True
    answers = asks and after < len(text) and text[after].text in denials.before | denials.no
    return answers and not (after + 1 < len(text) and text[after + 1].text in denials.still)


def _denied_before(text: list[Word], span: tuple[int, int], denials: Denials, written: str) -> bool:
    """Whether what comes before a find in its clause denies it: a word nearby, or the subject of the clause."""
    subject = _subject(text, span[0], denials, written)
    compares = subject is not None and _compares(text, (subject, span[1]), denials, written)
    near = _clause_before(text, span[0], denials, written)
    denies = any(_denies(text, at, span[0], denials) for at in near if at != subject)
    return denies or (subject is not None and not compares)


def _subject(text: list[Word], start: int, denials: Denials, written: str) -> int | None:
    """Return the word that begins the clause before a find and denies as its subject: "none of this", "no bar here"."""
    *_, first = (start, *_clause_before(text, start, denials, written, _SUBJECT_OVER))
    if first == start or text[first].text not in denials.subjects or not _denies(text, first, start, denials):
        return None
    return first


def _compares(text: list[Word], span: tuple[int, int], denials: Denials, written: str) -> bool:
    """Whether a clause says that nothing does it better, so that what it denies is what others do."""
    return any(text[at].text in denials.compared for at in (*range(*span), *_clause_behind(text, span[1], written)))


def _soonest_ends(spans: list[Span]) -> dict[int, int]:
    """Return for each word that begins finds of several words where the shortest of them ends."""
    ends: dict[int, int] = {}
    for _, (start, end) in spans:
        if end > start:
            ends[start] = min(end, ends.get(start, end))
    return ends


def _denied_over(
    text: list[Word], span: tuple[int, int], soonest: dict[int, int], denials: Denials, written: str
) -> bool:
    """Whether a find over a comma is denied on one side of it, so that what stands on the other is still promised.

    As in "if you cannot sleep, this helps you to sleep", where a condition is denied, and "treats eczema, not acne".
    """
    start, end = span
    commas = (at for at in range(start + 1, end + 1) if "," in written[text[at - 1].end : text[at].start])
    if (behind := next(commas, None)) is None:
        return False
    clause = [*_clause_before(text, start, denials, written)]
    if any(text[at].text in denials.conditions for at in clause):
        return any(_denies(text, at, start, denials) for at in (*clause, *range(start + 1, behind)))
    within_reach = range(max(0, start - MOST_BETWEEN), behind)
    promised = any(start <= soonest.get(at, behind) < behind for at in within_reach)
    return promised and any(_denies(text, at, end, denials) for at in range(behind, end))


def _clause_before(
    text: list[Word], start: int, denials: Denials, written: str, most: int = _DENIES_OVER
) -> Iterator[int]:
    """Yield the places of the words before a find, backwards, as far as a denial of theirs could reach it."""
    for at in range(start - 1, max(start - 1 - most, -1), -1):
        between = written[text[at].end : text[at + 1].start]
        if text[at].sentence != text[start].sentence or "," in between or text[at].text in denials.stops:
            return
        yield at


def _clause_behind(text: list[Word], end: int, written: str) -> Iterator[int]:
    """Yield the places of the words behind a find, to the end of its clause."""
    for at in range(end + 1, len(text)):
        if text[at].sentence != text[end].sentence or "," in written[text[at - 1].end : text[at].start]:
            return
        yield at


def _denies(text: list[Word], at: int, start: int, denials: Denials) -> bool:
    """Whether the word at a place denies what begins at `start`, later in the same clause."""
    following = text[at + 1].text if at + 1 < len(text) else ""
    if text[at].text in denials.no:
        named = following in denials.nouns or any(
            word.text in denials.nouns for word in text[at + 2 : min(at + 4, start)]
        )
        return (named or _behind_verb(text, at, denials)) and following not in denials.but
    return text[at].text in denials.before and following not in denials.but


def _behind_verb(text: list[Word], at: int, denials: Denials) -> bool:
    """Whether a "no" has a verb right before it that it denies ("repels no insects")."""
    before = at > 0 and text[at - 1].text in denials.verbs and text[at - 1].sentence == text[at].sentence
    return before or _inverted(text, at, denials)


def _inverted(text: list[Word], at: int, denials: Denials) -> bool:
    """Whether a "no" has a verb before it whose subject stands between ("Leider heilt unser Balsam keine Ekzeme")."""
    before = text[max(0, at - _SUBJECT_BETWEEN - 1) : at]
    return any(word.text in denials.inverted and word.sentence == text[at].sentence for word in before)


@dataclass(frozen=True, slots=True)
class _Indexes:
    """What claims, has another sense in its family, only looks like it, warns, asks in its ways, claims anyway."""

    claims: PhraseIndex
    otherwise: PhraseIndex
    friends: PhraseIndex
    cautions: PhraseIndex
    questions: PhraseIndex
    partly: PhraseIndex
    reported: PhraseIndex
    certain: PhraseIndex


@cache
def _indexes(table: ClaimTable) -> _Indexes:
    denied = [replace(family, phrases=family.denied, always=True) for family in table.families if family.denied]
    no = table.denials.before | table.denials.no
    warns: dict[bool, list[Phrase]] = {True: [], False: []}
    for phrase in table.cautions:
        warns[any(step.words & no for step in phrase if not step.but)].append(phrase)
    cautions = PhraseIndex(Family(tuple(phrases), always=denies) for denies, phrases in warns.items())
    lists = (table.friends, table.questions, table.partly, table.reported)
    friends, questions, partly, reported = (PhraseIndex([Family(phrases)]) for phrases in lists)
    return _Indexes(
        claims=PhraseIndex((*table.families, *denied)),
        otherwise=PhraseIndex(replace(family, phrases=family.unless) for family in table.families if family.unless),
        friends=friends,
        cautions=cautions,
        questions=questions,
        partly=partly,
        reported=reported,
        certain=PhraseIndex(replace(family, phrases=family.certain) for family in table.families if family.certain),
    )
