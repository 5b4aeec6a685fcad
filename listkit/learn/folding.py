"""Folds headings into comparable words and separates the unit.

"Gewicht (g)", "GEWICHT in Gramm" and "gewicht_g" give the same: the word "gewicht", the unit g.
"""

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from listkit.units import table
from listkit.units.money import MINOR_DIGITS, SIGNS
from listkit.units.quantity import joined

# Small words of headings and cells: units by the table, words that change nothing, words that change everything; folded
# as headings are (lower case, no accents, no plural endings). From memory, as the trade speaks.


def _words(*lines: str) -> frozenset[str]:
    return frozenset(word for line in lines for word in line.split())


FILLERS: Final = _words(
    "per pro par por each je a an the of de du des d del der die das le la l el los in en our my unser notre",
    "nuestro to incl inkl including inc with mit avec con tax vat mwst ttc tva iva unit unite unidad stuck stueck",
    "stk piece item product produkt produit producto artikel article articulo one 1 x optional required text und",
    "and et y pcs single what which kind how",
)
"""A heading's words that change nothing."""
SPOILERS: Final = _words(
    "old previous last former alt alte alter ancien anterior supplier lieferant fournisseur proveedor",
    "minimum min maximum max reorder mindest meldebestand box boxe carton case karton caisse caja display tray",
    "margin date total sum value wert valeur valor discount special competitor target planned year photo picture",
    "outer inner reserved ordered order sold verkauft vendu vendido batch per100g 100g 100ml kg kilo lowest",
    "highest wholesale tester sample label next needed pallet new neu nouveau nuevo second alternative other",
)
"""Words that turn a heading into something else, unless a phrase of the table has taken them up.

An old price, the supplier's code, the least stock, the carton's size.
"""
HEIGHTS: Final = _words("h height hohe hauteur haut alto altura tall high")
SIDES: Final = HEIGHTS | _words(
    "l w d b t p length width depth lange breite tiefe longueur largeur profondeur largo ancho fondo long wide deep"
)
"""Words for sides; sizes give the height last."""

UNITS: Final[dict[str, tuple[str, str]]] = {
    word: (unit.kind.value, unit.sign)
    for unit in table.UNITS
    if unit.learned
    for word in (*unit.words.split(), *unit.also.split())
}
"""Units by their words, accents taken off: what kind it is, and what the items table calls it."""
MONEY_WORDS: Final[dict[str, str]] = {
    "euro": "EUR", "euros": "EUR", "sterling": "GBP", "dollar": "$", "dollars": "$",
}  # fmt: skip
KINDS: Final[dict[str, tuple[str, ...]]] = {
    "net": ("mass", "volume", "length"),
    "shelf life": ("time",),
    **dict.fromkeys(("weight", "parcel weight", "chargeable weight", "volumetric weight"), ("mass",)),
    **dict.fromkeys(("size", "length", "width", "depth", "height", "diameter"), ("length",)),
    **dict.fromkeys(("retail", "cost", "wholesale", "lowest", "highest", "kept", "tax"), ("money",)),
}
"""The kinds of unit that a heading of each meaning may state; of the others none."""

FORMS: Final = _words(
    "soap bar balm butter scrub salt bomb candle lotion cream oil spray wax melt tealight dish bath shampoo serum",
    "powder savon baume beurre gommage sel bougie creme lait huile galet shampoing seife balsam peeling badesalz",
    "kerze ol badekugel bodybutter lippenbalsam seifenschale jabon balsamo manteca exfoliante sal vela crema",
    "aceite champu",
)
"""What bath-and-body goods are; in German part of longer words."""
CONTAINERS: Final = _words(
    "jar tin tube bottle pouch box band sleeve bag sachet wrap carton pot paper muslin boite flacon sachet bocal",
    "etui papier tiegel dose flasche beutel glas banderole schachtel tarro lata tubo botella bolsa frasco bote",
)
"""What they come in."""
YES_NO: Final = _words("yes no y n true false 1 0 x ja nein j oui non o si s - wahr falsch vrai faux")
SHAPES: Final = _words(
    "box block cylinder round ball sphere square rectangular rectangle zylinder quader kugel rund eckig rechteckig",
    "cylindre boule rond caja cilindro bola redondo",
)
STATUSES: Final = (
    "on sale", "last chance", "closed", "live", "discontinued", "sold out", "open", "new", "planned",
    "available", "in stock", "retired", "seasonal", "aktiv", "im verkauf", "ausverkauft", "auslauf",
    "en vente", "epuise", "arrete", "en venta", "agotado",
)  # fmt: skip
INCI: Final = _words(
    "aqua parfum glycerin tocopherol linalool limonene citral geraniol sodium potassium butyrospermum cocos olea cera",
    "helianthus prunus kaolin maris sucrose mel lavandula citric theobroma ricinus avena rosmarinus",
)
"""Words that open names in most lists of ingredients (INCI, International Nomenclature of Cosmetic Ingredients)."""


_LONGEST: Final = 200
_CAMEL: Final = re.compile(r"(?<=[a-zß-ÿ])(?=[A-Z][a-z]{2})")
_APART: Final = re.compile(r"[\W_]+")
_LETTERS: Final = str.maketrans({"œ": "oe", "æ": "ae", "ø": "o", "ł": "l"})
_BRACKETS: Final = re.compile(r"[(\[{]([^()\[\]{}]{1,40})[)\]}]")
_ENDING: Final = re.compile(
    r"(?P<rest>.*?\w.*?)(?:[\s,/:;|_-]+(?:in|en|à|a)\s+|\s*[,/:;|]\s*|[\s_-]+)(?P<unit>[^\W\d_]+)\.?\s*",
    re.IGNORECASE | re.DOTALL,
)
_SIGN: Final = re.compile("|".join(re.escape(sign) for sign in SIGNS if not sign.isalpha() and not sign.endswith(".")))


@dataclass(frozen=True, slots=True)
class Parted:
    """A heading as words, with the unit that it states: its kind ("mass") and our name for it ("g"); "" without."""

    words: tuple[str, ...]
    kind: str = ""
    unit: str = ""


@lru_cache(maxsize=10_000)
def words_of(text: str) -> tuple[str, ...]:
    """Return the words of a heading without case, accents, punctuation and plural endings."""
    text = _CAMEL.sub(" ", unicodedata.normalize("NFKC", text[:_LONGEST]))
    text = unicodedata.normalize("NFKD", text.casefold().translate(_LETTERS))
    plain = "".join(letter for letter in text if not unicodedata.combining(letter))
    return tuple(_singular(word) for word in _APART.split(plain) if word)


def parted(heading: str) -> tuple[Parted, ...]:
    """Return the ways to read a heading, with its unit taken from it where one may be meant; the plain one last."""
    heading = joined(unicodedata.normalize("NFKC", heading[:_LONGEST]))
    found = [*_in_brackets(heading), *_by_sign(heading), *_at_end(heading)]
    return tuple(dict.fromkeys((*found, Parted(words_of(heading)))))


def unit_of(text: str, *, plain: bool = False) -> tuple[str, str]:
    """Return kind and name of a unit, ("", "") when `text` is none.

    A currency's three letters count in capitals alone, where `plain` says that nothing marks the word as a unit.
    """
    bare = joined(text.strip().rstrip("."))
    word = "".join(part for part in unicodedata.normalize("NFKD", bare.casefold()) if not unicodedata.combining(part))
    if word in UNITS:
        return UNITS[word]
    if bare in SIGNS or word in MONEY_WORDS:
        return "money", MONEY_WORDS.get(word, bare)
    code = bare if plain else bare.upper()
    return ("money", code) if code in MINOR_DIGITS else ("", "")


def _singular(word: str) -> str:
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word


def _in_brackets(heading: str) -> list[Parted]:
    found = []
    for match in _BRACKETS.finditer(heading):
        inner = match[1].strip()
        kind, unit = unit_of(re.sub(r"^(in|en)\s+", "", inner, flags=re.IGNORECASE))
        if kind:
            found.append(Parted(words_of(heading[: match.start()] + " " + heading[match.end() :]), kind, unit))
    return found


def _by_sign(heading: str) -> list[Parted]:
    match = _SIGN.search(heading)
    if match is None:
        return []
    return [Parted(words_of(heading[: match.start()] + " " + heading[match.end() :]), "money", match[0])]


def _at_end(heading: str) -> list[Parted]:
    match = _ENDING.fullmatch(heading)
    kind, unit = unit_of(match["unit"], plain=True) if match else ("", "")
    return [Parted(words_of(match["rest"]), kind, unit)] if match and kind else []
