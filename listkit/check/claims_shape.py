"""What a table of claims looks like: its sections, what each has, and words that a text can have.

A slip in it would take the place of a phrase in silence: a claim that is never found is not missed by anybody. So a
table with one is no table.
"""

import re
import unicodedata
from collections.abc import Iterable, Mapping
from typing import Any, Final

from listkit.problem import quoted

PHRASES: Final = ("phrases", "unless", "denied", "certain")
FAMILY: Final = (*PHRASES, "number", "key", "level", "where", "why", "source", "write", "always")
SECTIONS: Final[Mapping[str, tuple[str, ...]]] = {
    "friends": ("phrases",),
    "cautions": ("phrases", "headings"),
    "questions": ("phrases", "partly", "reported"),
    "denials": (
        *("before", "no", "nouns", "verbs", "none", "but", "still", "stops", "after", "conditions", "subjects"),
        *("compared", "yes", "inverted"),
    ),
}
_WHERE: Final = ("", "eu")
_WORD: Final = re.compile(r"(?:[^\W\d_]+|\d+|\?)\Z")
_MARKS: Final = re.compile(r"[~*]\Z|\A\*")
_LIST: Final = re.compile(r"<[^<>/]+>\Z")


def require_shape(raw: Mapping[str, Any]) -> None:
    """Check the sections of a table, their keys, and the kinds of their values.

    Raises:
        ValueError: with what is not as it should be, as the end of a sentence.
    """
    for name, section in raw.items():
        if name in ("words", "weights"):
            _require_texts(name, section)
        elif name in SECTIONS:
            _require_lists(f"[{name}]", section, SECTIONS[name], SECTIONS[name])
        elif name != "family":
            raise ValueError(f"it knows no section {quoted(name)}")
    families = raw.get("family", [])
    if not isinstance(families, list):
        raise ValueError("[[family]] has two brackets on each side")
    keys = set[str]()
    for family in families:
        _require_family(family, keys)


def _require_texts(name: str, section: object) -> None:
    if not isinstance(section, dict):
        raise ValueError(f"[{name}] is a section, with keys of its own")
    for key, value in section.items():
        if not isinstance(value, str):
            raise ValueError(f"{quoted(key)} under [{name}] is no text")
        if name == "words" and "<" in value:
            raise ValueError(f"{quoted(key)} under [words] names another list, which stands in phrases alone")


def _require_lists(called: str, section: object, known: Iterable[str], lists: Iterable[str]) -> None:
    """Check that a section has known keys alone, and that those of `lists` are lists of texts, none of them empty."""
    if not isinstance(section, dict):
        raise ValueError(f"{called} is a section, with keys of its own")
    for key in section:
        if key not in known:
            raise ValueError(f"{called} knows no {quoted(key)}")
    for key in (key for key in lists if key in section):
        texts = section[key]
        if not isinstance(texts, list) or not all(isinstance(text, str) and text.strip() for text in texts):
            raise ValueError(f'"{key}" of {called} is no list of texts, as in ["one", "two"]')


def _require_family(family: object, keys: set[str]) -> None:
    named = family.get("key") if isinstance(family, dict) else None
    called = f"[[family]] {quoted(named)}" if isinstance(named, str) else "[[family]]"
    _require_lists(called, family, FAMILY, PHRASES)
    if not isinstance(family, dict):
        return
    if not isinstance(named, str) or named in keys:
        raise ValueError(f"{called} has no key of its own")
    keys.add(named)
    if not isinstance(family.get("always", False), bool):
        raise ValueError(f"always of {called} is neither true nor false")
    if family.get("where", "") not in _WHERE:
        raise ValueError(f'where of {called} is not "eu"; what counts everywhere has no such key')
    if not isinstance(family.get("number"), int) or isinstance(family["number"], bool):
        raise ValueError(f"number of {called} is no whole number")


def require_words(text: str) -> None:
    """Check that a text can have each word of a phrase, and that a walk along it has a word to begin at and to end at.

    Raises:
        ValueError: with what can never be found, or would be found anywhere.
    """
    halves = unicodedata.normalize("NFC", text).split(" & ")
    for half in halves:
        words = half.split()
        first, last = (words[0], words[-1]) if words else ("", "")
        if all(word == ".." or (word.endswith("?") and len(word) > 1) for word in words):
            raise ValueError(f"{quoted(text)} has no word that must be there")
        if ".." in (first, last) or first.startswith("^"):
            raise ValueError(f"{quoted(text)} begins or ends with what may be any word")
        for word in words:
            _require_word(word, text)


def require_one_word(text: str) -> None:
    """Check that a text is one word, as those of [denials], [weights] and headings are.

    Raises:
        ValueError: it is none, or several.
    """
    if len(text.split()) > 1:
        raise ValueError(f"{quoted(text)} is no word: here each stands alone")
    require_words(text)


def _require_word(word: str, text: str) -> None:
    for option in word.removesuffix("?").removeprefix("^").split("/") if word not in ("..", "?") else ():
        parts = option.split("_") if not _LIST.match(option) else ()
        for part in parts:
            bare = _MARKS.sub("", part)
            if not _WORD.match(bare):
                shown = f"{quoted(part)} of {quoted(text)}" if part != text else quoted(text)
                way = 'letters, or a number, stand alone, as in "co_2"'
                if _WORD.match(bare.removesuffix("?")):
                    way = 'what may be left out is all of its place, as in "hay/straw?"'
                raise ValueError(f"{shown} is no word: {way}")
