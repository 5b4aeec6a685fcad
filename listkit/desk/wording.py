"""The language that a page speaks, and its words: one file of words and one of fields' names for each language.

A browser says which languages its owner reads (RFC 9110, 12.5.4); the one that she chose on the page comes first. It
holds for one request, and for whatever is made while that is answered.
"""

import re
import tomllib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from pathlib import Path
from typing import Any, Final

from babel import Locale
from starlette.datastructures import Headers
from starlette.responses import Response
from starlette.types import ASGIApp, Receive, Scope, Send

from listkit.desk.guard import cookie_values
from listkit.shipped import shipped_templates

_COOKIE: Final = "listkit-desk-language"
_KEPT: Final = 400 * 24 * 60 * 60  # seconds; a browser keeps none longer (RFC 6265bis, 5.5)
_FIRST: Final = "en"
_HALF: Final = re.compile("[\ud800-\udfff]")
_SPOKEN: ContextVar[str] = ContextVar("spoken", default=_FIRST)


@cache
def languages() -> Mapping[str, str]:
    """Return the name of each language that the desk speaks, in that language, by its tag; English first."""
    names = {file.stem: Locale(file.stem).get_display_name() for file in _folder().glob("??.toml")}
    return {tag: str(names[tag]) for tag in sorted(names, key=lambda tag: (tag != _FIRST, tag))}


def language() -> str:
    """Return the tag of the language that is spoken now."""
    return _SPOKEN.get()


@contextmanager
def speaking(tag: str) -> Iterator[None]:
    """Let everything within be said in a language; English where there are no words in that one."""
    before = _SPOKEN.set(tag if tag in languages() else _FIRST)
    try:
        yield
    finally:
        _SPOKEN.reset(before)


def page_words() -> Mapping[str, Any]:
    """Return all words of the pages in the language that is spoken, in tables."""
    return _read(f"{language()}.toml")


def field_words() -> Mapping[str, Any]:
    """Return what fields are called and for in the language that is spoken, by kind of file."""
    return _read(f"fields.{language()}.toml")


def nouns() -> Mapping[str, str]:
    """Return what words of ours are called on the desk, by the word, for messages, which are in English."""
    return {**_read(f"{_FIRST}.toml")["file"], **_read("nouns.toml")["nouns"]}


def pages_named() -> Mapping[str, tuple[str, str]]:
    """Return the pages that messages name instead of a command or a file: the key of its words and its address."""
    return {name: (key, address) for name, (key, address) in _read("nouns.toml")["pages"].items()}


def is_single(count: int) -> bool:
    """Whether the language that is spoken has its form for one with a count (CLDR, plural rules).

    >>> with speaking("en"): is_single(0), is_single(1)
    (False, True)
    """
    return Locale(language()).plural_form(count) == "one"


def choose(tag: str, answer: Response) -> None:
    """Let the browser that gets an answer ask for a language from now on."""
    if tag in languages():
        answer.set_cookie(_COOKIE, tag, max_age=_KEPT, httponly=True, samesite="strict", path="/")


class Speaking:
    """The ASGI application around the desk's pages, which answers each request in its reader's language."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer in the language chosen on a page, else in the first of the browser's that there are words in."""
        with speaking(_language_of(Headers(scope=scope)) if scope["type"] == "http" else _FIRST):
            await self._app(scope, receive, send)


def _language_of(headers: Headers) -> str:
    for chosen in cookie_values(headers.get("cookie", ""), _COOKIE):
        if chosen in languages():
            return chosen
    return preferred(headers.get("accept-language", ""))


def preferred(accepted: str) -> str:
    """Return the language that a browser asks for first among those of the desk, English where it asks for none.

    >>> preferred("nl, en;q=0.5"), preferred("*"), preferred("en;q=x, en-GB;q=0.1")
    ('en', 'en', 'en')
    """
    weighed: list[tuple[float, str]] = []
    for part in accepted.split(","):
        tag, _, weight = part.partition(";")
        try:
            share = float(weight.strip().removeprefix("q=")) if weight else 1.0
        except ValueError:
            continue
        primary = tag.strip().partition("-")[0].lower()
        if share > 0 and primary in languages():
            weighed.append((share, primary))
    return max(weighed, key=lambda pair: pair[0], default=(0.0, _FIRST))[1]


def sendable(text: str) -> str:
    """Return a text as a page can carry it: a byte of a file's name that is no UTF-8 is a sign that nobody knows."""
    return text if text.isascii() else _HALF.sub("\ufffd", text)


def _folder() -> Path:
    return shipped_templates() / "desk" / "words"


@cache
def _read(name: str) -> Mapping[str, Any]:
    return tomllib.loads((_folder() / name).read_text(encoding="utf-8"))
