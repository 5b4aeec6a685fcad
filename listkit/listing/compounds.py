"""Compound nouns: "Ziegenmilchseife" is "eine Seife" with something before it, so that its gender and plural are known.

The last part of a German compound decides both (Duden, Die Grammatik, from memory). An adjective before a noun stands
for its own: "feste Seife" is "eine feste Seife", several are "feste Seifen".
"""

import re
from collections.abc import Mapping

_STRONG = re.compile(r"(?<=e)[rs](?= )")  # "fester Balsam", "festes Shampoo": without it in the plural


def base_of(noun: str, known: Mapping[str, object]) -> str:
    """Return the longest of the known nouns that `noun` ends with and is longer than, "" for none.

    >>> base_of("Ziegenmilchseife", {"seife": 1, "fe": 1}), base_of("Seife", {"seife": 1})
    ('seife', '')
    """
    folded = noun.lower()
    return next((folded[at:] for at in range(1, len(folded)) if folded[at:] in known), "")


def with_more(phrase: str, noun: str, base: str, *, many: bool = False) -> str:
    """Return what is said of a base noun, "eine Seife", said of one that ends with it; "" where nothing is said.

    >>> with_more("eine Seife", "Ziegenmilchseife", "seife"), with_more("Seifen", "feste Seife", "seife", many=True)
    ('eine Ziegenmilchseife', 'feste Seifen')
    >>> with_more("Balsame", "fester Balsam", "balsam", many=True), with_more("Gläser", "Mini-Glas", "glas", many=True)
    ('feste Balsame', 'Mini-Gläser')
    """
    before, (head, _, last) = noun[: -len(base)], phrase.rpartition(" ")
    last = last if before[-1:] in " -" else last.lower()
    before = _STRONG.sub("", before) if many else before
    return f"{head} {before}{last}".strip() if phrase else ""
