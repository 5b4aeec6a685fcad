"""What an item is called: its name and its form, no word of them said twice."""

import re
import unicodedata
from functools import lru_cache
from typing import Final

_WORD: Final = re.compile(r"[\w'’]+")


@lru_cache(maxsize=65_536)
def full_name(name: str, form: str) -> str:
    """Return name and form: "Rosemary & Rind bar soap".

    A form that the name says already is not said again: "Lip Balm Beeswax" stays; where the form begins with the words
    that the name ends with, they stand once: "Sea Salt" and "salt scrub" are "Sea Salt scrub".
    """
    said, more = _words(name), _words(form)
    if not more:
        return f"{name} {form}".strip()
    if any(said[at : at + len(more)] == more for at in range(len(said))):
        return name
    shared = next((count for count in range(len(more) - 1, 0, -1) if said[-count:] == more[:count]), 0)
    return f"{name} {_without(form, shared)}".strip()


def _without(form: str, count: int) -> str:
    """Return a form without its first words."""
    ends = [match.end() for match in _WORD.finditer(form)]
    return form[ends[count - 1] :].lstrip(" -–") if count else form


def _words(text: str) -> list[str]:
    decomposed = unicodedata.normalize("NFKD", text.casefold())
    return _WORD.findall("".join(sign for sign in decomposed if not unicodedata.combining(sign)))
