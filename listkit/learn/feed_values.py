"""What the cells of a sample's column say of a field of ours: against it, for it, or so much that doubt goes."""

from collections.abc import Callable
from typing import Final

from listkit.learn.cell_shapes import amount, has_letters, is_code, is_whole, kind_of, sign_of
from listkit.learn.feed_shapes import (
    has_markup,
    is_address,
    is_country,
    is_currency,
    is_day,
    is_language,
    is_picture,
    is_stock_word,
)
from listkit.learn.small_words import YES_NO
from listkit.learn.values import Cells, Verdict, most, verdict

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
_DAYS: Final = ("priceValidUntil", "availabilityStarts", "availabilityEnds")
_RULES: Final[dict[str, Callable[[Cells], Verdict]]] = {
    **dict.fromkeys(_SUMS, _for(_money)),
    **dict.fromkeys(_WORDED, _for(_is_words)),
    **dict.fromkeys(_DAYS, _telling(is_day)),
    **dict.fromkeys(("weight", "parcelWeight", "volumetricWeight", "chargeableWeight"), _mass),
    **dict.fromkeys(("width", "height", "depth"), _side),
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
