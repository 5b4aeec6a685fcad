"""Countries as people write them, and the two letters that files have for them (ISO 3166-1).

Names are those of CLDR: in the languages of the desk, then each country's in its own. So are the codes of three letters
and those that are not a country's own any more; UK, which ISO 3166-1 has set aside for the United Kingdom, is among
them. Parts of the United Kingdom that people call a country are those of ISO 3166-2, and the United States have there
their longer name (from memory).
"""

import re
import unicodedata
from collections.abc import Mapping
from difflib import get_close_matches
from functools import cache
from typing import Final

from babel import Locale, UnknownLocaleError
from babel.core import get_global
from babel.languages import get_official_languages

from listkit.desk.page import offer
from listkit.desk.wording import language, languages

_ALSO: Final[Mapping[str, str]] = {
    **dict.fromkeys(("england", "scotland", "wales", "cymru", "northern ireland", "great britain", "britain"), "GB"),
    "united states of america": "US",
}
_NONE: Final = frozenset({"ZZ", "AC", "CP", "CQ", "DG", "EA", "IC", "TA"})
"""What CLDR has beside the countries of ISO 3166-1: nobody's, and islands that are reserved there (from memory)."""
_SHOWN: Final = re.compile(r".*\(([A-Za-z]{2})\)")
_NEAR: Final = 3
_LETTERS: Final = 2


def country_code(text: str) -> str:
    """Return the two letters of the country that a text names, "" where it surely means none.

    >>> [country_code(text) for text in ("gb", "UK", "England", "the U.S.A.", "Deutschland", "Royaume-Uni (GB)")]
    ['GB', 'GB', 'GB', 'US', 'DE', 'GB']
    >>> country_code("ZZ"), country_code("Ruritania")
    ('', '')
    """
    shown = _SHOWN.fullmatch(text)
    asked = _folded(shown[1] if shown else text)
    code = asked.upper()
    if code in _countries():
        return code
    alias = get_global("territory_aliases").get(code, [])
    if len(alias) == 1 and alias[0] in _countries():
        return str(alias[0])
    return _names().get(asked) or (_own_names().get(asked, "") if len(asked) > 1 else "")


def country_text(text: str) -> str:
    """Return a country by its name in the language that is spoken, with its letters; any other text as it is.

    >>> country_text("GB"), country_text("Ruritania")
    ('United Kingdom (GB)', 'Ruritania')
    """
    code = text.strip().upper()
    return f"{_named(language())[code]} ({code})" if code in _countries() else text


def countries_like(text: str) -> tuple[str, ...]:
    """Return the countries whose names are written nearly so, the likeliest first.

    >>> countries_like("Germny")
    ('Germany (DE)',)
    """
    near = get_close_matches(_folded(text), _names(), n=_NEAR, cutoff=0.75)
    return tuple(dict.fromkeys(country_text(_names()[name]) for name in near))


@cache
def _choices(tag: str) -> tuple[str, ...]:
    """Return all countries as they are shown in a language, in the order of its alphabet without accents."""
    return tuple(f"{name} ({code})" for code, name in sorted(_named(tag).items(), key=lambda pair: _folded(pair[1])))


@cache
def _countries() -> frozenset[str]:
    """Return the codes of countries: those of two letters in which, as CLDR has it, a language is spoken."""
    spoken = get_global("territory_languages")
    return frozenset(spoken) & {str(code) for code in Locale("en").territories if len(str(code)) == _LETTERS} - _NONE


@cache
def _named(tag: str) -> Mapping[str, str]:
    return {code: str(name) for code, name in Locale(tag).territories.items() if code in _countries()}


@cache
def _names() -> Mapping[str, str]:
    """Return the codes of countries by their names, folded, in the languages that the desk speaks."""
    return {**_ALSO, **{_folded(name): code for tag in languages() for code, name in _named(tag).items()}}


@cache
def _own_names() -> Mapping[str, str]:
    """Return the codes of countries by their names, folded, in their own languages; those of two are left out."""
    own: dict[str, set[str]] = {}
    for code in _countries():
        for tag in get_official_languages(code, regional=True, de_facto=True):
            try:
                name = Locale(tag.partition("_")[0]).territories.get(code, "")
            except UnknownLocaleError:
                continue
            own.setdefault(_folded(str(name)), set()).add(code)
    return {name: codes.pop() for name, codes in own.items() if name and len(codes) == 1}


def _folded(text: str) -> str:
    """Return a name without accents, signs, capitals and article, so that it may be typed anyhow.

    >>> _folded("  Côte d’Ivoire "), _folded("The U.K.")
    ('cote divoire', 'uk')
    """
    plain = "".join(sign for sign in unicodedata.normalize("NFKD", text) if not unicodedata.combining(sign))
    plain = "".join(sign for sign in plain.casefold() if sign.isalnum() or sign.isspace() or sign == "-")
    return " ".join(plain.replace("-", " ").split()).removeprefix("the ")


offer("country_text", country_text)
offer("countries", lambda: _choices(language()))
