"""Words for problems: one clean line, lists as people say them, and the near miss that was probably meant."""

from collections.abc import Iterable
from functools import lru_cache
from typing import Final

_LONGEST: Final = 300
_SHOWN: Final = 60
CONTROL: Final = {code: chr(0x2400 + code) for code in range(32)} | {
    127: "\u2421",
    **dict.fromkeys(range(128, 160), "\ufffd"),
    **dict.fromkeys((0x2028, 0x2029, *range(0x202A, 0x202F), *range(0x2066, 0x206A)), "\ufffd"),
    **dict.fromkeys(range(0xD800, 0xE000), "\ufffd"),
}


def one_line(text: str) -> str:
    """Return `text` on one line of bounded length, with control signs shown and not sent to a screen."""
    text = text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"
    return text.translate(CONTROL)


def quoted(text: str) -> str:
    """Return the value found as it stands in a message, shortened; in single quotes when it holds double ones."""
    text = text if len(text) <= _SHOWN else text[: _SHOWN - 1] + "…"
    mark = "'" if '"' in text else '"'
    return f"{mark}{text.translate(CONTROL)}{mark}"


def listed(words: Iterable[str], last: str = "or") -> str:
    """Return "a, b or c"."""
    *first, end = list(words) or [""]
    return f"{', '.join(first)} {last} {end}" if first else end


def times(count: int, one: str, many: str = "") -> str:
    """Return "1 set" or "3 sets"."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def distance(one: str, other: str, most: int) -> int:
    """Return how many letters were added, left out, changed or swapped with their neighbour; most + 1 when more.

    The optimal string alignment form of the Damerau-Levenshtein distance.
    """
    if abs(len(one) - len(other)) > most:
        return most + 1
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, letter in enumerate(one, 1):
        last, before, row = before, row, [i] + [most + 1] * len(other)
        for j in range(max(1, i - most), min(len(other), i + most) + 1):
            change = before[j - 1] + (letter != other[j - 1])
            row[j] = min(before[j] + 1, row[j - 1] + 1, change)
            if i > 1 and j > 1 and letter == other[j - 2] and one[i - 2] == other[j - 1]:
                row[j] = min(row[j], last[j - 2] + 1)
        if min(row) > most:
            return most + 1
    return min(row[-1], most + 1)


def slips(word: str) -> int:
    """How many slips in a word of this length still let it be recognised: two, in short words one or none."""
    return 2 if len(word) > 4 else 1 if len(word) > 2 else 0


def nearest(word: str, words: Iterable[str]) -> str:
    """Return the one of `words` that was probably meant, "" when none is near; upper and lower case are alike.

    Of several that are equally near it is the one that begins most like `word`, then the first of the alphabet.
    """
    return _nearest_in(word, words) if isinstance(words, frozenset) else _nearest(word, words)


@lru_cache(maxsize=1024)
def _nearest_in(word: str, words: frozenset[str]) -> str:
    """The same wrong code often stands in many sets, and a shop may have thousands of codes."""
    return _nearest(word, words)


def _nearest(word: str, words: Iterable[str]) -> str:
    folded, most = word.casefold(), slips(word)
    near: list[tuple[int, int, str]] = []
    for other in words:
        other_folded = other.casefold()
        gap = distance(folded, other_folded, most)
        if gap <= most:
            near.append((gap, -_alike(folded, other_folded), other))
            most = gap
    return min(near)[2] if near else ""


def _alike(one: str, other: str) -> int:
    """How many letters two words have in common before they part."""
    return next((at for at, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), min(len(one), len(other)))


def write_instead(word: str, words: Iterable[str]) -> str:
    """Return the hint 'Write "season".' when one of `words` is near, else ""."""
    meant = nearest(word, words)
    return f'Write "{meant}".' if meant else ""


def perhaps(code: str, codes: Iterable[str]) -> str:
    """Return the hint 'Perhaps "OH-B01" is meant.': codes are often near without being meant."""
    meant = nearest(code, codes)
    return f'Perhaps "{meant}" is meant.' if meant else ""
