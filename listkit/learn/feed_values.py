"""What the cells of a sample's column say of a field: against it, possible, or so typical that they remove doubt."""

import re
from collections.abc import Callable, Iterable
from typing import Final

from listkit.learn.cell_shapes import amount, has_letters, is_code, is_whole, kind_of, sign_of
from listkit.learn.folding import YES_NO, words_of
from listkit.learn.values import Cells, Verdict, most, verdict
from listkit.model.channel import DayForm
from listkit.units.money import MINOR_DIGITS

# One cell of a sample feed: an address, markup, a day, a word for being in stock. Only the shape counts. Forms of days
# are named by how 28 February 2027 looks in them.

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


def _phrases(text: str) -> frozenset[str]:
    return frozenset(" ".join(words_of(phrase)) for phrase in text.split(","))


_THERE: Final = _phrases(
    "in stock, available, InStock, en stock, disponible, auf Lager, lieferbar, verfügbar, vorrätig"
)
_GONE: Final = _phrases(
    "out of stock, sold out, unavailable, OutOfStock, SoldOut, épuisé, indisponible, rupture,"
    "rupture de stock, nicht auf Lager, ausverkauft, nicht lieferbar, agotado, no disponible, sin stock"
)
_OTHERWISE: Final = _phrases(
    "limited, LimitedAvailability, preorder, pre order, PreOrder, BackOrder, made to order, sur commande,"
    "auf Bestellung, bajo pedido, discontinued"
)
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


LONG_TEXT: Final = 60
"""Characters, on average, of a text rather than a name."""
_REPEATED: Final = 0.8
_AS_ITEMS: Final = {
    "sku": "code", "gtin": "gtin", "ingredients": "ingredients", "cautions": "cautions", "shelfLife": "shelf life",
}  # fmt: skip
# Where the shape of the cells tells what a word alone does not say for sure.
TELLING: Final = frozenset(
    {"gtin", "image", "url", "priceCurrency", "availability", "inventoryLevel", "inStock", "sku", "ingredients",
     "inProductGroupWithID", "priceValidUntil", "availabilityStarts", "availabilityEnds"}
)  # fmt: skip


def feed_verdict(field: str, cells: Cells) -> Verdict:
    """Return what the filled cells of a column say of a field ("inventoryLevel"); SILENT without cells."""
    if not cells:
        return Verdict.SILENT
    if field in _AS_ITEMS:
        return verdict(_AS_ITEMS[field], cells)
    rule = _RULES.get(field)
    return rule(cells) if rule else Verdict.SILENT


def field_by_cells(cells: Cells) -> str:
    """Return the field that cells alone speak of, "" when they do not; it is never more than a second thought."""
    for field in ("image", "url", "gtin", "priceCurrency", "ingredients", "availability"):
        if len(cells) > 1 and feed_verdict(field, cells) is Verdict.TELLING:
            return field
    return "description" if len(cells) > 1 and most(cells, has_markup) else ""


def _telling(holds: Callable[[str], object]) -> Callable[[Cells], Verdict]:
    return lambda cells: Verdict.TELLING if most(cells, holds) else Verdict.AGAINST


def _for(holds: Callable[[str], object]) -> Callable[[Cells], Verdict]:
    return lambda cells: Verdict.FOR if most(cells, holds) else Verdict.AGAINST


def _group(cells: Cells) -> Verdict:
    if not most(cells, lambda cell: is_code(cell.replace("_", "-")) and not _is_figure(cell)):
        return Verdict.AGAINST
    return Verdict.TELLING if len(cells) > 2 and len(set(cells)) <= _REPEATED * len(cells) else Verdict.FOR


def _is_figure(cell: str) -> bool:
    return amount(cell) is not None and not is_whole(cell)


def _is_answer(cell: str) -> bool:
    return cell.casefold() in YES_NO


def _plain_number(cell: str) -> bool:
    return amount(cell) is not None and not sign_of(cell)


def _is_stock(cell: str) -> bool:
    return is_whole(cell) and len(cell) <= 5


def _is_words(cell: str) -> bool:
    return has_letters(cell) and not is_address(cell) and not is_picture(cell) and not has_markup(cell)


def _mass(cells: Cells) -> Verdict:
    return _for(lambda cell: kind_of(cell) == "mass" or _plain_number(cell))(cells)


def _side(cells: Cells) -> Verdict:
    return _for(lambda cell: kind_of(cell) == "length" or _plain_number(cell))(cells)


def _money(cell: str) -> bool:
    return amount(cell) is not None


def _description(cells: Cells) -> Verdict:
    texts = most(cells, lambda cell: has_letters(cell) and not is_address(cell))
    if not texts:
        return Verdict.AGAINST
    return Verdict.FOR if sum(map(len, cells)) >= LONG_TEXT * len(cells) else Verdict.SILENT


_SUMS: Final = (
    *("price", "suggestedRetail", "lowestPrice", "highestPrice", "wholesalePrice", "fullCost", "kept", "includedTax"),
)
_WORDED: Final = (
    *("name", "title", "setName", "theme", "slot", "choice", "brand", "category", "season", "alt", "contents"),
)
_DAY_FIELDS: Final = ("priceValidUntil", "availabilityStarts", "availabilityEnds")
_RULES: Final[dict[str, Callable[[Cells], Verdict]]] = {
    **dict.fromkeys(_SUMS, _for(_money)),
    **dict.fromkeys(_WORDED, _for(_is_words)),
    **dict.fromkeys(_DAY_FIELDS, _telling(is_day)),
    **dict.fromkeys(("weight", "parcelWeight", "volumetricWeight", "chargeableWeight"), _mass),
    **dict.fromkeys(("width", "height", "depth", "parcelLength", "parcelWidth", "parcelHeight"), _side),
    "inProductGroupWithID": _group,
    "image": _telling(is_picture),
    "url": _telling(lambda cell: is_address(cell) and not is_picture(cell)),
    "description": _description,
    "plainDescription": _for(lambda cell: has_letters(cell) and not is_address(cell)),
    "keywords": _for(_is_words),
    "priceCurrency": _telling(is_currency),
    "availability": _telling(is_stock_word),
    "inventoryLevel": _telling(_is_stock),
    "inStock": _telling(_is_answer),
    "language": _for(is_language),
    "country": _for(is_country),
    "netContents": _for(lambda cell: has_letters(cell) or bool(kind_of(cell))),
}
