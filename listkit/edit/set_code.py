"""Proposes a code for a new set: the next number after those of the shop's other sets, unlike every code in use."""

import re
from collections import Counter
from collections.abc import Iterable
from itertools import count
from typing import Final

_NUMBERED: Final = re.compile(r"(.*?)(\d{1,6})", re.ASCII)
_FIRST: Final = "SET-"


def next_set_code(sets: Iterable[str], others: Iterable[str] = ()) -> str:
    """Return the next code: after OHS-1 and OHS-2 comes OHS-3, after G07 comes G08; SET-1 where there is no pattern."""
    sets = tuple(sets)
    used = {code.casefold() for code in (*sets, *others)}
    found = [match.groups() for code in sets if (match := _NUMBERED.fullmatch(code))]
    begins = Counter(begin for begin, _ in found)
    begin = min(begins, key=lambda one: (-begins[one], one)) if begins else _FIRST
    numbers = [digits for one, digits in found if one == begin]
    width = max((len(digits) for digits in numbers if digits.startswith("0")), default=1)
    last = max(map(int, numbers), default=0)
    codes = (f"{begin}{number:0{width}}" for number in count(last + 1))
    return next(code for code in codes if code.casefold() not in used)
