"""Words for problems: one clean line, lists as people say them, and the near miss that was probably meant."""

import re
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping, Sized
from functools import lru_cache
from typing import Final

from listkit import bounds
from listkit.problem import is_code

_NUMBER: Final = re.compile(r"[oil]*\d[\doil]*", re.ASCII)
_LIKE_DIGITS: Final = str.maketrans("oil", "011")
_MOST_LISTED: Final = 100
COUNTED_DIGITS: Final = 300
"""Digits up to which what stands for a count is told as too large a number, and not as none."""


def listed(names: Iterable[str], last: str = "or") -> str:
    """Return "a, b or c".

    >>> listed(["a", "b", "c"]), listed(["a", "b"], "and")
    ('a, b or c', 'a and b')
    """
    *first, end = list(names) or [""]
    if len(first) > _MOST_LISTED:
        rest = f"{len(first) - _MOST_LISTED + 1:,} more"
        first, end = first[:_MOST_LISTED], rest if last == "and" else f"one of {rest}"
    return f"{', '.join(first)} {last} {end}" if first else end


def distance(left: str, right: str, most: int) -> int:
    """Return how many letters were added, left out, changed or swapped with their neighbour; most + 1 when more.

    The optimal string alignment form of the Damerau-Levenshtein distance.

    >>> distance("seasn", "season", 2), distance("jra", "jar", 2), distance("soap", "candle", 2)
    (1, 1, 3)
    """
    if abs(len(left) - len(right)) > most:
        return most + 1
    before: list[int] = []
    row = list(range(len(right) + 1))
    for i, letter in enumerate(left, 1):
        last, before, row = before, row, [i] + [most + 1] * len(right)
        for j in range(max(1, i - most), min(len(right), i + most) + 1):
            change = before[j - 1] + (letter != right[j - 1])
            row[j] = min(before[j] + 1, row[j - 1] + 1, change)
            if i > 1 and j > 1 and letter == right[j - 2] and left[i - 2] == right[j - 1]:
                row[j] = min(row[j], last[j - 2] + 1)
        if min(row) > most:
            return most + 1
    return min(row[-1], most + 1)


def slips(word: str) -> int:
    """How many slips in a word of this length still let it be recognised: two, in short words one or none."""
    return 2 if len(word) > 4 else 1 if len(word) > 2 else 0


def nearest(word: str, known: Iterable[str]) -> str:
    """Return the one of `known` that was probably meant, "" when none is near; upper and lower case are alike.

    Of several that are equally near it is the one that begins most like `word`, then the first of the alphabet. Among
    more words than any shop has of a kind none is looked for (`too_many`), which whoever asks then says.
    """
    if too_many(known):
        return ""
    return _nearest_once(word, known) if isinstance(known, frozenset) else _nearest(word, known)


def too_many(known: Iterable[str]) -> bool:
    """Whether among so many words none that is near is looked for."""
    return isinstance(known, Sized) and len(known) > bounds.NEAR_ALIKE


TOO_MANY: Final = "Which one is meant is not looked for, there are too many."


def _nearest(word: str, known: Iterable[str]) -> str:
    folded, most = word.casefold(), slips(word)
    near: list[tuple[int, int, str]] = []
    for name in known:
        name_folded = name.casefold()
        gap = distance(folded, name_folded, most)
        if gap <= most:
            alike = next(
                (at for at, (a, b) in enumerate(zip(folded, name_folded, strict=False)) if a != b),
                min(len(folded), len(name_folded)),
            )
            near.append((gap, -alike, name))
            most = gap
    return min(near)[2] if near else ""


# The same wrong code is often in many sets, and a shop may have thousands of codes.
_nearest_once: Final[Callable[[str, frozenset[str]], str]] = lru_cache(maxsize=1024)(_nearest)


def write_instead(word: str, known: Iterable[str], before: int = 0) -> str:
    """Return the hint 'Write "season".' when one of `known` is near, else ""; of too many, that none is looked for.

    `before` says how many wrong words of the same list were looked for already.

    >>> write_instead("seasn", ["season", "theme"])
    'Write "season".'
    """
    if too_many(known) or (isinstance(known, Sized) and before * len(known) > bounds.NEAR_WORDS):
        return TOO_MANY
    meant = nearest(word, known)
    return f'Write "{meant}".' if meant else ""


def letters_in(text: str) -> int:
    """Return the letters of a text as bits: those of two texts differ in at most two for each slip between them."""
    bits = 0
    for letter in text.casefold():
        bits |= 1 << (ord(letter) % 61)
    return bits


def _by_numbers(codes: Iterable[str]) -> Mapping[tuple[str, ...], list[tuple[int, str]]]:
    """Return codes by their numbers, each behind its letters."""
    groups: dict[tuple[str, ...], list[tuple[int, str]]] = defaultdict(list)
    for code in codes:
        groups[_numbers(code)].append((letters_in(code), code))
    return groups


_by_numbers_once: Final[Callable[[frozenset[str]], Mapping[tuple[str, ...], list[tuple[int, str]]]]] = lru_cache(
    maxsize=16
)(_by_numbers)


def _nearest_code(code: str, codes: Iterable[str], but: Collection[str], *, names: bool) -> str:
    groups = _by_numbers_once(codes) if isinstance(codes, frozenset) else _by_numbers(codes)
    group, most, letters = groups.get(_numbers(code), ()), slips(code), letters_in(code)
    if len(group) > bounds.NEAR_ALIKE:
        raise _TooManyError
    alike = [name for those, name in group if (letters ^ those).bit_count() <= 2 * most and name not in but]
    near = alike if names else [name for name in alike if is_code(name)]
    if len(near) > bounds.NEAR_CODES:  # nobody could say which of so many is meant
        return ""
    meant = _nearest(code, near)
    gap = distance(code.casefold(), meant.casefold(), slips(code))
    rivals = [name for name in near if distance(code.casefold(), name.casefold(), slips(code)) == gap]
    return meant if len(rivals) == 1 else ""


@lru_cache(maxsize=65_536)
def _numbers(code: str) -> tuple[str, ...]:
    """Return the numbers in a code, without zeros before them; letters that look like digits beside digits are some."""
    return tuple(number.translate(_LIKE_DIGITS).lstrip("0") for number in _NUMBER.findall(code.casefold()))


class _TooManyError(Exception):
    """More codes have the same numbers than are held against a wrong one."""


def perhaps(
    code: str, codes: Iterable[str], *, but: Collection[str] = (), names: bool = False, broken: Collection[str] = ()
) -> str:
    """Return the hint 'Perhaps "OH-B01" is meant.', "" when none is near; those of `but` cannot be meant.

    What is `broken` may be meant all the same, and is no use before it is mended: that is said.

    Nor can what is no code, as where one is itself a slip, unless `codes` may be `names` of any form.

    A code with another number is another thing of the same kind, and never offered; nor is one of several equally near.

    >>> perhaps("OH-BO1", ["OH-B01", "OH-S01"]), perhaps("OH-B1", ["OH-B01"]), perhaps("OH-B05", ["OH-B01"])
    ('Perhaps "OH-B01" is meant.', 'Perhaps "OH-B01" is meant.', '')
    >>> perhaps("OH-B1", ["OH-B01"], broken=["OH-B01"])
    'Perhaps "OH-B01" is meant, which has a fault of its own to mend.'
    >>> perhaps("OH-Z1", ["OH-B1", "OH-S1"])
    ''
    """
    try:
        meant = _nearest_code(code, codes, but, names=names)
    except _TooManyError:
        return TOO_MANY
    faulty = ", which has a fault of its own to mend" if meant in broken else ""
    return f'Perhaps "{meant}" is meant{faulty}.' if meant else ""


def perhaps_of_few(
    before: int,
    code: str,
    codes: Iterable[str],
    *,
    but: Collection[str] = (),
    names: bool = False,
    broken: Collection[str] = (),
) -> str:
    """Return the same hint, but behind a bounded number of wrong codes that none is looked for any more."""
    return perhaps(code, codes, but=but, names=names, broken=broken) if before < bounds.NEAR_MISSES else TOO_MANY


def begins_with_one(code: str, codes: Collection[str]) -> bool:
    """Whether a code is one of `codes` with a dash and more behind it."""
    return any(sign == "-" and code[:at] in codes for at, sign in enumerate(code))
