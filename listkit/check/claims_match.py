"""The search for claims in a text: every phrase of a table, from every word, within one sentence.

The work grows with the length of the text: from each word only the phrases that begin with it are walked, and a phrase
reaches over a bounded number of words. What looks like a claim and is none is taken out first.
"""

import re
import unicodedata
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from itertools import chain
from typing import Final

from listkit.check.claims_table import LEAST_PART, MOST_BETWEEN, ClaimTable, Denials, Family, Phrase, Step

_UNSEEN: Final = "\u00ad\u200b-\u200d\u2060\ufeff"
_TOKEN: Final = re.compile(rf"(?:[^\W\d_][\u0300-\u036f{_UNSEEN}]*)+|\d+|\?")
_BREAK: Final = re.compile(r"\.(?!\d)|[!?:;|\t•·…]|\n\s*(?:\n|[-*+>#])")
_NOT_LETTERS: Final = re.compile(rf"[\u0300-\u036f{_UNSEEN}]")
_PART: Final = LEAST_PART
_KEPT_WORDS: Final = 65_536  # for which it is kept what begins with them: texts have the same words again and again
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
class Word:
    """A word of a text: where it is, folded, and in which sentence."""

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
    words = words_of(text)
    claims, friends, cautions, questions, partly, reported, certain = _indexes(table)
    if not any(claims.begun(word.text) for word in words):
        return ()
    warned = (
        span
        for family, span in cautions.spans(words)
        if not is_denied(words, span, table.denials, text, within=not family.always)
    )
    warning = {words[start].sentence for start, _ in warned} | _headed(words, table.headings)
    warning |= _headings(words, warning) | _answered_no(words, questions, warning, table.denials)
    warning |= _answered_partly(words, partly) | _reported(words, reported, table.denials)
    weights = [table.weights.get(word.text, 0) for word in words]
    hidden = {at for _, (start, end) in friends.spans(words) for at in range(start, end + 1)}
    words = [replace(word, text=_MASKED) if at in hidden else word for at, word in enumerate(words)]
    spans = [span for span in claims.spans(words) if span[0].where in ("", where)]
    spans = [span for span in spans if words[span[1][0]].sentence not in warning and not _otherwise(span, words)]
    soonest = _soonest_ends(spans)
    spans = [span for span in spans if span[0].always or not _denied_over(words, span[1], soonest, table.denials, text)]
    sure = {at for _, (start, end) in certain.spans(words) for at in range(start, end + 1)}
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


_Span = tuple[Family, tuple[int, int]]
"""A family, and the first and last word of one of its phrases in a text."""


def _otherwise(span: _Span, text: list[Word]) -> bool:
    """Whether a find shares a word with a phrase that has another sense in its family.

    A denial that is the promise is not hidden by what lies within it: "headaches do not come back" is no way back.
    """
    family, (start, end) = span
    promised = family.phrases is family.denied
    for phrase in family.unless:
        reach = sum(1 + step.before for step in phrase)
        for at in range(max(0, start - reach), end + 1):
            if phrase[0].takes(text[at].text):
                last = _end(phrase, text, at)
                within = promised and start <= at and last is not None and last <= end
                if last is not None and not within and (at <= start <= last or at <= end <= last):
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
    lengths = Counter(word.sentence for word in text if word.text != _ASKS)
    return {sentence - 1 for sentence in warning if 0 < lengths[sentence - 1] <= _HEADING}


def _headed(text: list[Word], headings: frozenset[str]) -> set[int]:
    """Return the sentences behind one that has only words that head a warning ("Warning: burns hot")."""
    other = {word.sentence for word in text if word.text not in headings}
    return {word.sentence + 1 for word in text if word.sentence not in other}


def _answered_no(text: list[Word], questions: "_Index", warning: set[int], denials: Denials) -> set[int]:
    """Return the sentences that ask whether something is so, and are answered by a denial or a warning."""
    denied: set[int] = set()
    for _, (start, _) in questions.spans(text):
        asked = text[start].sentence
        behind = next((at for at in range(start, len(text)) if text[at].sentence != asked), len(text))
        answer = text[behind : behind + _ANSWERS_WITHIN]
        begins = start == 0 or text[start - 1].sentence != asked
        if begins and answer and text[behind - 1].text == _ASKS:
            reached = [at for at in range(behind, behind + len(answer)) if text[at].sentence == answer[0].sentence]
            flat = {text[reached[0]].text, text[reached[-1]].text} & denials.no  # "No." or "Sadly, no."
            no = bool(flat) or any(_denies(text, at, len(text), denials) for at in reached)
            if no or answer[0].sentence in warning:
                denied.add(asked)
    return denied


def _answered_partly(text: list[Word], partly: "_Index") -> set[int]:
    """Return the questions that are answered by what is left out ("Is it vegan? All but the lip balm")."""
    asked = {word.sentence for word in text if word.text == _ASKS}
    starts = (start for _, (start, _) in partly.spans(text))
    answers = {text[at].sentence for at in starts if at and text[at - 1].sentence != text[at].sentence}
    return {sentence - 1 for sentence in answers} & asked


def _reported(text: list[Word], reported: "_Index", denials: Denials) -> set[int]:
    """Return the sentences that report a question to which nobody says yes ("people ask whether it helps: no")."""
    asked = {text[start].sentence for _, (start, _) in reported.spans(text)}
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
    asks = text[after - 1].text == _ASKS
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


def _soonest_ends(spans: list[_Span]) -> dict[int, int]:
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


def words_of(text: str) -> list[Word]:
    """Return the words of a text, folded, each with its sentence, "?" as its last; the s of a possessive is none."""
    words: list[Word] = []
    sentence, last = 0, 0
    for match in _TOKEN.finditer(text):
        asks = match[0] == _ASKS
        if words and _BREAK.search(text, last, match.start() + (not asks)):  # seen with the word: no point in a number
            sentence += 1
        last = match.start() if asks else match.end()
        owned = match[0] in "sS" and text[match.start() - 1 : match.start()] in _OWNED and match.start() > 0
        if not owned and (words or not asks):
            words.append(Word(match.start(), match.end(), _folded(match[0]), sentence))
    return words


def _folded(word: str) -> str:
    if word.isascii():
        return word.lower()
    return _NOT_LETTERS.sub("", unicodedata.normalize("NFKD", word.casefold()))


_Beginning = tuple[Step, list[tuple[Family, Phrase]]]
"""How phrases begin, and those that begin so."""


class _Index:
    """Phrases of families by the words they may begin with; none begins with "every word except".

    Many phrases begin with one list of words, which is gone through once for all of them.
    """

    def __init__(self, families: Iterable[Family]) -> None:
        begun: dict[Step, list[tuple[Family, Phrase]]] = defaultdict(list)
        for family in families:
            for phrase in family.phrases:
                begun[phrase[0]].append((family, phrase))
        self.by_word: dict[str, list[_Beginning]] = defaultdict(list)
        self.by_beginning: dict[str, list[_Beginning]] = defaultdict(list)
        self.by_end: dict[str, list[_Beginning]] = defaultdict(list)
        for beginning in begun.items():
            for word in beginning[0].words:
                self.by_word[word].append(beginning)
            for part in {part[:_PART] for part in beginning[0].beginnings}:
                self.by_beginning[part].append(beginning)
            for part in {part[-_PART:] for part in beginning[0].ends}:
                self.by_end[part].append(beginning)
        self.begun = lru_cache(maxsize=_KEPT_WORDS)(self.begun_by)

    def begun_by(self, word: str) -> "_Begun | None":
        """Return what begins with a word, None where nothing does."""
        begun = self.by_beginning.get(word[:_PART], []) if len(word) >= _PART else []
        ended = self.by_end.get(word[-_PART:], []) if len(word) >= _PART else []
        candidates = (*self.by_word.get(word, []), *begun, *ended)
        phrases = [*chain.from_iterable(phrases for step, phrases in candidates if step.takes(word))]
        return _begun(phrases) if phrases else None

    def spans(self, text: list[Word]) -> Iterator[_Span]:
        """Yield every phrase of a text, with the first and last word of it.

        Phrases whose last word is not within their reach are not walked: most of them.
        """
        for at, word in enumerate(text):
            if (begun := self.begun(word.text)) is None:
                continue
            for family in begun.alone:
                yield family, (at, at)
            possible = list(begun.others)
            for later in text[at + 1 : at + 1 + begun.reach]:
                if later.sentence != word.sentence:
                    break
                for mark in _marks(later.text):
                    possible += begun.by_last.get(mark, ())
            for family, phrase in possible:
                if (end := _end(phrase, text, at)) is not None:
                    yield family, (at, end)


@dataclass(frozen=True, slots=True)
class _Begun:
    """What begins with one word: families of which it is a whole phrase, and longer phrases.

    Of these `by_last` are those that end with a word of a mark, which stands at most `reach` words later.
    """

    alone: tuple[Family, ...]
    by_last: Mapping[str, list[tuple[Family, Phrase]]]
    reach: int
    others: tuple[tuple[Family, Phrase], ...]


def _begun(phrases: Iterable[tuple[Family, Phrase]]) -> _Begun:
    alone, others, reach = list[Family](), list[tuple[Family, Phrase]](), 0
    by_last: dict[str, list[tuple[Family, Phrase]]] = defaultdict(list)
    for family, phrase in phrases:
        last = phrase[-1]
        if len(phrase) == 1:
            alone.append(family)
        elif last.but:
            others.append((family, phrase))
        else:
            reach = max(reach, sum(1 + step.before for step in phrase[1:]))
            parts = {f"{part[:_PART]}*" for part in last.beginnings} | {f"*{part[-_PART:]}" for part in last.ends}
            for mark in last.words | parts:
                by_last[mark].append((family, phrase))
    return _Begun(tuple(alone), dict(by_last), reach, tuple(others))


@lru_cache(maxsize=_KEPT_WORDS)
def _marks(word: str) -> tuple[str, ...]:
    """Return what a word is looked up by as the last of a phrase: itself, how it begins, how it ends."""
    return (word, f"{word[:_PART]}*", f"*{word[-_PART:]}") if len(word) >= _PART else (word,)


@cache
def _indexes(table: ClaimTable) -> tuple[_Index, ...]:
    """Return the indexes of what claims, only looks like it, warns, asks in its ways, claims anyway."""
    denied = (replace(family, phrases=family.denied, always=True) for family in table.families if family.denied)
    no = table.denials.before | table.denials.no
    denying = tuple(phrase for phrase in table.cautions if any(step.words & no for step in phrase if not step.but))
    others = tuple(phrase for phrase in table.cautions if phrase not in set(denying))
    cautions = _Index([Family(denying, always=True), Family(others)])
    lists = (table.friends, table.questions, table.partly, table.reported)
    friends, questions, partly, reported = (_Index([Family(phrases)]) for phrases in lists)
    certain = (replace(family, phrases=family.certain) for family in table.families if family.certain)
    return (_Index((*table.families, *denied)), friends, cautions, questions, partly, reported, _Index(certain))


def _end(phrase: Phrase, text: list[Word], at: int) -> int | None:
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
