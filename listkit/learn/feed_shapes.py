"""What one cell of a sample feed looks like: an address, markup, a day, a word for being in stock.

Only the shape counts. Forms of days are named by how 28 February 2027 looks in them.
"""

import re
from collections.abc import Iterable
from typing import Final

from listkit.learn.folding import words_of
from listkit.model.channel import DayForm
from listkit.units.money import MINOR_DIGITS

_ADDRESS: Final = re.compile(r"(?:https?://|www\.)\S+", re.IGNORECASE)
_PICTURE: Final = re.compile(r"\S+\.(?:jpe?g|png|webp|avif|gif|tiff?|heic)(?:[?#]\S*)?", re.IGNORECASE)
_MARKUP: Final = re.compile(
    r"</?(?:p|br|b|i|em|strong|ul|ol|li|div|span|h[1-6]|a)\b[^<>]*>|&(?:amp|nbsp|lt|gt|quot);", re.IGNORECASE
)
_LANGUAGE: Final = re.compile(r"[a-z]{2,3}(?:[-_][A-Za-z]{2,4})?")
_COUNTRY: Final = re.compile(r"[A-Z]{2}")
_DAYS: Final[tuple[tuple[DayForm, re.Pattern[str]], ...]] = (
    ("2027-02-28", re.compile(r"(?P<y>\d{4})-(?P<m>\d{2})-(?P<d>\d{2})(?:[T ][\d:.+Z-]*)?")),
    ("28.02.2027", re.compile(r"(?P<d>\d{1,2})\.(?P<m>\d{1,2})\.(?P<y>\d{4})")),
    ("28-02-2027", re.compile(r"(?P<d>\d{1,2})-(?P<m>\d{1,2})-(?P<y>\d{4})")),
    ("28/02/2027", re.compile(r"(?P<d>\d{1,2})/(?P<m>\d{1,2})/(?P<y>\d{4})")),
    ("02/28/2027", re.compile(r"(?P<m>\d{1,2})/(?P<d>\d{1,2})/(?P<y>\d{4})")),
    ("20270228", re.compile(r"(?P<y>(?:19|20)\d{2})(?P<m>\d{2})(?P<d>\d{2})")),
)


def _said(*words: str) -> frozenset[str]:
    return frozenset(" ".join(words_of(one)) for one in words)


_THERE: Final = _said(
    "in stock", "available", "InStock", "en stock", "disponible", "auf Lager", "lieferbar", "verfügbar", "vorrätig",
)  # fmt: skip
_GONE: Final = _said(
    "out of stock", "sold out", "unavailable", "OutOfStock", "SoldOut", "épuisé", "indisponible", "rupture",
    "rupture de stock", "nicht auf Lager", "ausverkauft", "nicht lieferbar", "agotado", "no disponible", "sin stock",
)  # fmt: skip
_OTHERWISE: Final = _said(
    "limited", "LimitedAvailability", "preorder", "pre order", "PreOrder", "BackOrder", "made to order", "sur commande",
    "auf Bestellung", "bajo pedido", "discontinued",
)  # fmt: skip
ANSWERS: Final[tuple[tuple[str, str], ...]] = (
    ("yes", "no"), ("Yes", "No"), ("YES", "NO"), ("y", "n"), ("Y", "N"), ("true", "false"), ("True", "False"),
    ("TRUE", "FALSE"), ("ja", "nein"), ("Ja", "Nein"), ("JA", "NEIN"), ("j", "n"), ("J", "N"), ("oui", "non"),
    ("Oui", "Non"), ("OUI", "NON"), ("o", "n"), ("O", "N"), ("sí", "no"), ("Sí", "No"), ("SÍ", "NO"), ("si", "no"),
    ("Si", "No"), ("SI", "NO"), ("s", "n"), ("S", "N"), ("wahr", "falsch"), ("WAHR", "FALSCH"), ("vrai", "faux"),
    ("VRAI", "FAUX"), ("1", "0"), ("x", "-"), ("on", "off"),
)  # fmt: skip
"""Pairs of words for yes and no, as people write them."""


def is_address(cell: str) -> bool:
    """Whether a cell is an address on the web."""
    return _ADDRESS.fullmatch(cell) is not None


def is_picture(cell: str) -> bool:
    """Whether a cell names a picture: an address or a file name that ends like one."""
    return _PICTURE.fullmatch(cell) is not None


def has_markup(cell: str) -> bool:
    """Whether a text has marks of HTML in it."""
    return _MARKUP.search(cell) is not None


def is_currency(cell: str) -> bool:
    """Whether a cell is a currency's three letters (ISO 4217)."""
    return cell.upper() in MINOR_DIGITS


def is_language(cell: str) -> bool:
    """Whether a cell could be a language's tag (BCP 47)."""
    return _LANGUAGE.fullmatch(cell) is not None


def is_country(cell: str) -> bool:
    """Whether a cell could be a country's two letters (ISO 3166-1)."""
    return _COUNTRY.fullmatch(cell) is not None


def is_stock_word(cell: str) -> bool:
    """Whether a cell says in words whether something can be bought."""
    return " ".join(words_of(cell)) in _THERE | _GONE | _OTHERWISE


def stock_words(cells: Iterable[str]) -> tuple[str, str]:
    """Return the word for being in stock and the one for being sold out; "" where there is none or more than one."""
    said = dict.fromkeys(cells)
    there = [word for word in said if " ".join(words_of(word)) in _THERE]
    gone = [word for word in said if " ".join(words_of(word)) in _GONE]
    return there[0] if len(there) == 1 else "", gone[0] if len(gone) == 1 else ""


def day_forms(cell: str) -> frozenset[DayForm]:
    """Return the forms that a cell is a day in; two where day and month could change places."""
    found = ((form, pattern.fullmatch(cell)) for form, pattern in _DAYS)
    return frozenset(form for form, match in found if match and int(match["m"]) <= 12 and 1 <= int(match["d"]) <= 31)


def is_day(cell: str) -> bool:
    """Whether a cell is a day in a form that is known."""
    return bool(day_forms(cell))
