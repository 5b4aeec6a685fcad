"""One heading of a sample taken apart: its words, its number in a family, and its remarks ("required", "max. 72")."""

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from listkit.learn.feed_words import FEED_WORDS
from listkit.learn.folding import words_of
from listkit.learn.hits import EXACT, WEAK_LESS, hits

# Headings with a number in them: "Picture 3", "Foto_03", "Jar2 Wert" are members of families.

_NUMBER: Final = re.compile(r"(?<![\d.,%])\d{1,2}(?![\d.,%])")
_MOST: Final = 50
_GAPS: Final = re.compile(r"[\s_-]{2,}|^[\s_#-]+|[\s_#-]+$|\(\s*\)|\[\s*\]")


@dataclass(frozen=True, slots=True)
class Numbered:
    """A heading taken apart: what is left without its number, the number, and the heading with {n} in its place.

    Without a number `number` is None and all else the heading as it stands.
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
    before, after = heading[: match.start()], heading[match.end() :]
    plain = _GAPS.sub(" ", f"{before} {after}").strip()
    if not any(sign.isalpha() for sign in plain):
        return Numbered(heading, None, heading)
    form = "{nn}" if match[0].startswith("0") and len(match[0]) > 1 else "{n}"
    return Numbered(plain, int(match[0]), f"{before}{form}{after}")


_LONGEST_HEADING: Final = 200
_REQUIRED: Final = re.compile(
    r"\s*(?:\*+|[(\[]\s*(?:required|mandatory|obligatoire|requis|pflicht|pflichtfeld|erforderlich|obligatorio)\s*[)\]])",
    re.IGNORECASE,
)
_OPTIONAL: Final = re.compile(
    r"\s*[(\[]\s*(?:optional|facultatif|optionnel|freiwillig|opcional)\s*[)\]]", re.IGNORECASE
)
_AT_MOST: Final = re.compile(
    r"\s*[(\[,]\s*(?:max\.?|maximum|maximal|up to|bis|höchstens|jusqu'à|hasta|máx\.?|máximo)\s*(\d{2,5})"
    r"(?:\s*(?:characters?|chars?|signs?|letters?|zeichen|caractères|car\.?|signes|caracteres))?\s*[)\]]?",
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


def heading_of(text: str) -> Heading:
    """Return a heading taken apart; "EAN 13" has no number, for that is its name."""
    plain = " ".join(text[:_LONGEST_HEADING].split())
    most = _AT_MOST.search(plain)
    bare = _AT_MOST.sub("", plain)
    required = _REQUIRED.search(bare) is not None
    bare = _OPTIONAL.sub("", _REQUIRED.sub("", bare)).strip()
    whole = hits(bare, FEED_WORDS)
    named = bool(whole) and whole[0].score in {1.0, EXACT, round(EXACT - WEAK_LESS, 2)}
    numbered = Numbered(bare, None, text) if named else numbered_heading(bare)
    if numbered.number is not None and bare != plain:  # the pattern keeps the remarks, as the heading has them
        numbered = Numbered(numbered.plain, numbered.number, numbered_heading(text).pattern)
    elif numbered.number is None:
        numbered = Numbered(bare, None, text)
    return Heading(text, numbered, required, int(most[1]) if most else None)


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
