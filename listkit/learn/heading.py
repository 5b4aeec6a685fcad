"""One heading taken apart: its words, its number in a family, and its remarks ("required", "max. 72").

"Picture 3", "Foto_03", "Jar2 Wert" are members of families, and so are "PICTURE_B" and "second photo" beside others.
"""

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from listkit.fields import FIELDS
from listkit.learn.folding import words_of
from listkit.learn.hits import EXACT, WEAK_LESS, hits
from listkit.learn.languages import SHIPPED
from listkit.learn.words import FEEDS

_NUMBER: Final = re.compile(r"(?<!\d)(?<!\d[.,])(?<!%)\d{1,2}(?!\d)(?![.,]\d)(?!%)")
_LETTER: Final = re.compile(r"(?<![^\W_])[A-H](?![^\W_])")
_MOST: Final = 50
_GAPS: Final = re.compile(r"[\s_.-]{2,}|^[\s_.#-]+|[\s_#-]+$|\(\s*\)|\[\s*\]")
_FIRSTS: Final[dict[str, int]] = {
    word: at % 5 + 1 for at, said in enumerate(SHIPPED.words("small", "first")) for word in words_of(said)
}
"""Words for first to fifth, five a language."""


@dataclass(frozen=True, slots=True)
class Numbered:
    """A heading taken apart: what is left without its number, the number, and the heading with {n} in its place.

    Without a number `number` is None and all else the heading as it stands. A letter or a word for a number is one,
    but the pattern is then the heading itself: no other heading can be made from it.
    """

    plain: str
    number: int | None
    pattern: str


def numbered_heading(heading: str) -> Numbered:
    """Return the heading taken apart; it has no number unless it holds exactly one, of one or two digits."""
    found = list(_NUMBER.finditer(heading))
    if len(found) != 1 or int(found[0][0]) > _MOST or "{" in heading:
        return Numbered(heading, None, heading)
    match = found[0]
    plain = _without(heading, match)
    if not any(sign.isalpha() for sign in plain):
        return Numbered(heading, None, heading)
    form = "{nn}" if match[0].startswith("0") and len(match[0]) > 1 else "{n}"
    return Numbered(plain, int(match[0]), f"{heading[: match.start()]}{form}{heading[match.end() :]}")


def _without(heading: str, match: re.Match[str]) -> str:
    return _GAPS.sub(" ", f"{heading[: match.start()]} {heading[match.end() :]}").strip()


def _said(key: str) -> str:
    return "|".join(
        re.escape(word) for word in sorted(SHIPPED.words("remarks", key), key=lambda word: (-len(word), word))
    )


_LONGEST_HEADING: Final = 200
_REQUIRED: Final = re.compile(rf"\s*(?:\*+|[(\[]\s*(?:{_said('required')})\s*[)\]])", re.IGNORECASE)
_OPTIONAL: Final = re.compile(rf"\s*[(\[]\s*(?:{_said('optional')})\s*[)\]]", re.IGNORECASE)
_AT_MOST: Final = re.compile(
    rf"\s*[(\[,]\s*(?:{_said('at most')})\.?\s*(\d{{2,5}})(?:\s*(?:{_said('signs')})\.?)?\s*[)\]]?"
    rf"|\s*[(\[,]\s*(\d{{2,5}})\s*(?:{_said('signs')})\.?\s*(?:{_said('at most')})\.?\s*[)\]]?",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading: as it stands, without its remarks and with its number apart, and what the remarks say."""

    text: str
    numbered: Numbered
    required: bool = False
    longest: int | None = None

    @property
    def family(self) -> str:
        """What headings of one family have in common."""
        return " ".join(self.numbered.pattern.casefold().split())


def plain_heading(text: str) -> Heading:
    """Return a heading that has no remarks and is of no family, as an owner's own are."""
    return Heading(text, Numbered(text, None, text))


def headings_of(texts: Sequence[str]) -> tuple[Heading, ...]:
    """Return the headings of a sample taken apart, in their order.

    Letters are numbers where headings have the same words with another letter, from A on; then also in the others.
    """
    headings = [heading_of(text) for text in texts]
    lettered: dict[str, list[tuple[int, str, str]]] = defaultdict(list)
    for at, heading in enumerate(headings):
        found = list(_LETTER.finditer(heading.numbered.plain))
        if heading.numbered.number is None and len(found) == 1:
            plain = _without(heading.numbered.plain, found[0])
            lettered[plain].append((at, found[0][0], plain))
    if any({"A", "B"} <= {letter for _, letter, _ in members} for members in lettered.values()):
        for at, letter, plain in (member for members in lettered.values() for member in members):
            if hits(plain, FEEDS):
                numbered = Numbered(plain, ord(letter) - ord("A") + 1, headings[at].text)
                headings[at] = replace(headings[at], numbered=numbered)
    return tuple(headings)


def heading_of(text: str) -> Heading:
    """Return a heading taken apart; "EAN 13" has no number, for that is its name."""
    plain = " ".join(text[:_LONGEST_HEADING].split())
    most = _AT_MOST.search(plain)
    bare = _AT_MOST.sub("", plain)
    required = _REQUIRED.search(bare) is not None
    bare = _OPTIONAL.sub("", _REQUIRED.sub("", bare)).strip()
    whole = hits(bare, FEEDS)
    named = bool(whole) and whole[0].score in {1.0, EXACT, round(EXACT - WEAK_LESS, 2)}
    numbered = Numbered(bare, None, text) if named else numbered_heading(bare)
    if numbered.number is not None and bare != plain:  # the pattern keeps the remarks, as the heading has them
        numbered = Numbered(numbered.plain, numbered.number, numbered_heading(text).pattern)
    elif numbered.number is None:
        numbered = (None if named else _in_order(bare, text)) or Numbered(bare, None, text)
    return Heading(text, numbered, required, int(most[1] or most[2]) if most else None)


def _in_order(bare: str, text: str) -> Numbered | None:
    """Return a heading that says in words which of a family it is: "second photo"; the first is no member of one."""
    words = bare.replace("_", " ").split()
    ranks = [(at, _FIRSTS.get(" ".join(words_of(word)), 1)) for at, word in enumerate(words)]
    later = [(at, rank) for at, rank in ranks if rank > 1]
    if len(later) != 1:
        return None
    [(at, rank)] = later
    plain = " ".join(words[:at] + words[at + 1 :])
    many = any(hit.meaning.feed and FIELDS[hit.meaning.feed].many for hit in hits(plain, FEEDS)[:1])
    return Numbered(plain, rank, text) if many else None


def members_of(headings: Sequence[Heading]) -> tuple[int | None, ...]:
    """Return which member of its family each heading is, from 1; None for one that has no family."""
    families: dict[str, list[int]] = defaultdict(list)
    for at, one in enumerate(headings):
        families[one.family].append(at)
    plain = {words_of(one.numbered.plain) for one in headings if one.numbered.number is None}
    numbered = {words_of(one.numbered.plain) for one in headings if one.numbered.number is not None}
    found: list[int | None] = [None] * len(headings)
    for places in families.values():
        first = headings[places[0]]
        words = words_of(first.numbered.plain)
        numbers = [headings[at].numbered.number for at in places]
        if first.numbered.number is None:
            for count, at in enumerate(places, 1):
                found[at] = count if len(places) > 1 or words in numbered else None
        else:
            least = min(number for number in numbers if number is not None)
            shift = 1 if least == 0 or (least == 1 and words in plain) else 0
            for at, number in zip(places, numbers, strict=True):
                found[at] = None if number is None else number + shift
    return tuple(found)
