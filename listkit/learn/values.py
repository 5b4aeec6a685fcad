"""What the cells of a column say of a field: against it, possible, or so typical that they remove doubt."""

from collections.abc import Callable, Mapping, Sequence
from enum import IntEnum
from typing import Final

from listkit.learn.cell_shapes import (
    amount,
    could_be_gtin,
    has_letters,
    has_markup,
    inci_words,
    is_address,
    is_answer,
    is_code,
    is_country,
    is_currency,
    is_day,
    is_gtin,
    is_language,
    is_measure_price,
    is_picture,
    is_plain_code,
    is_price,
    is_sides,
    is_stock_word,
    is_whole,
    kind_of,
    sides_have_unit,
    sign_of,
    units_in,
)
from listkit.learn.folding import CONTAINERS, FORMS, SHAPES, STATUSES, words_of

_MOST: Final = 0.75  # three in four make a rule: there are always odd cells
_LONGEST: Final = 400
_WITH_UNIT: Final = ("weight", "net", "shelf life", "after opening")

Cells = tuple[str, ...]


class Verdict(IntEnum):
    """What the cells say of a field."""

    AGAINST = -1
    SILENT = 0
    FOR = 1
    TELLING = 2


def filled(cells: Cells) -> Cells:
    """Return the cells that hold something, in one line each and of bounded length."""
    return tuple(text for cell in cells if (text := " ".join(cell[:_LONGEST].split())))


Rule = Callable[[Cells], Verdict]
Rules = Mapping[str, Rule]


def verdict(field: str, cells: Cells, rules: Rules | None = None) -> Verdict:
    """Return what the filled cells of a column say of a field of sheets, or of `rules`; SILENT without cells."""
    rule = (SHEET_RULES if rules is None else rules).get(field)
    return rule(cells) if cells and rule else Verdict.SILENT


def most(cells: Cells, holds: Callable[[str], object]) -> bool:
    """Whether it holds for three in four of the cells, and there are any."""
    return bool(cells) and sum(bool(holds(cell)) for cell in cells) >= _MOST * len(cells)


def columns_of(rows: Sequence[Sequence[str]], width: int) -> list[Cells]:
    """Return the cells of each of `width` columns; short rows are as if filled up with nothing.

    >>> columns_of([("a", " b"), ("c",)], 2)
    [('a', 'c'), ('b', '')]
    """
    return [tuple(row[at].strip() if at < len(row) else "" for row in rows) for at in range(width)]


def lacks_unit(field: str, cells: Cells) -> bool:
    """Whether amounts of a field that needs a unit stand there without one."""
    if field == "size":
        return bool(cells) and not most(cells, sides_have_unit)
    return field in _WITH_UNIT and most(cells, lambda cell: amount(cell) is not None)


def telling(holds: Callable[[str], object]) -> Rule:
    """Return the rule that is TELLING where it holds for most of the cells, else AGAINST."""
    return lambda cells: Verdict.TELLING if most(cells, holds) else Verdict.AGAINST


def _for(holds: Callable[[str], object]) -> Rule:
    return lambda cells: Verdict.FOR if most(cells, holds) else Verdict.AGAINST


def _plain_number(cell: str) -> bool:
    return amount(cell) is not None and not sign_of(cell)


def _distinct(cells: Cells) -> float:
    return len(set(cells)) / len(cells)


def _code(cells: Cells) -> Verdict:
    if not most(cells, is_code) or _distinct(cells) < _MOST or most(cells, _is_sum) or most(cells, could_be_gtin):
        return Verdict.AGAINST
    return Verdict.TELLING if most(cells, is_plain_code) else Verdict.FOR


def _is_sum(cell: str) -> bool:
    """Whether a cell is money; R1 and R2 are codes, though R is a currency's sign."""
    return is_price(cell) and not (cell.isalnum() and is_plain_code(cell))


def _name(cells: Cells) -> Verdict:
    good = most(cells, lambda cell: has_letters(cell) and len(cell) <= 120 and not is_plain_code(cell))
    return Verdict.FOR if good and _distinct(cells) >= 0.4 else Verdict.AGAINST


def are_names(cells: Cells) -> bool:
    """Whether cells are names of things, one by one: words, each another, none left out, no text and no amount.

    >>> are_names(("Rose bar", "Mint bar")), are_names(("soap", "soap")), are_names(("12 Sept", "14 Sept"))
    (True, False, False)
    """
    worded = len(cells) > 1 and all(cell[:1].isalpha() and len(cell) <= LONG_TEXT for cell in cells)
    lists = most(cells, lambda cell: "," in cell)
    linked = lists or any(is_picture(cell) or is_address(cell) or inci_words(cell) > 1 for cell in cells)
    return worded and not linked and len(set(cells)) == len(cells) and _name(cells) is Verdict.FOR


def _words(cells: Cells) -> Verdict:
    good = most(cells, lambda cell: has_letters(cell) and len(cell) <= 60 and not is_plain_code(cell))
    return Verdict.FOR if good and not most(cells, is_answer) else Verdict.AGAINST


def _form(cells: Cells) -> Verdict:
    if most(cells, _is_shape):
        return Verdict.AGAINST
    known = most(cells, _names_form)
    return Verdict.TELLING if known and _words(cells) is Verdict.FOR and not are_containers(cells) else _words(cells)


def _is_shape(cell: str) -> bool:
    return " ".join(words_of(cell)) in SHAPES


def _names_form(cell: str) -> bool:
    return any(form in word if len(form) > 4 else form == word for word in words_of(cell) for form in FORMS)


def _container(cells: Cells) -> Verdict:
    known = most(cells, lambda cell: not CONTAINERS.isdisjoint(words_of(cell)))
    return Verdict.TELLING if known and _words(cells) is Verdict.FOR else _words(cells)


def are_containers(cells: Cells) -> bool:
    """Whether cells are nothing but words for containers: "jar", "glass jar"."""
    return most(cells, lambda cell: CONTAINERS.issuperset(words_of(cell)))


def _net(cells: Cells) -> Verdict:
    if most(cells, lambda cell: kind_of(cell) in {"mass", "volume", "length"} or is_sides(cell)):
        return Verdict.AGAINST if most(cells, is_sides) else Verdict.TELLING
    return Verdict.FOR if most(cells, _plain_number) and not most(cells, is_price) else Verdict.AGAINST


def _money(cells: Cells) -> Verdict:
    if not most(cells, lambda cell: amount(cell) is not None):
        return Verdict.AGAINST
    return Verdict.TELLING if most(cells, is_price) else Verdict.FOR


def _weight(cells: Cells) -> Verdict:
    if most(cells, lambda cell: kind_of(cell) == "mass"):
        return Verdict.TELLING
    return Verdict.FOR if most(cells, _plain_number) else Verdict.AGAINST


def _shelf_life(cells: Cells) -> Verdict:
    if most(cells, lambda cell: kind_of(cell) == "time"):
        return Verdict.TELLING
    return Verdict.FOR if most(cells, lambda cell: is_whole(cell) and (amount(cell) or 0) <= 120) else Verdict.AGAINST


def _on_hand(cells: Cells) -> Verdict:
    return Verdict.FOR if most(cells, is_whole) and not most(cells, could_be_gtin) else Verdict.AGAINST


def _gtin(cells: Cells) -> Verdict:
    if not most(cells, could_be_gtin):
        return Verdict.AGAINST
    return Verdict.TELLING if most(cells, is_gtin) else Verdict.FOR


def _ingredients(cells: Cells) -> Verdict:
    if most(cells, lambda cell: inci_words(cell) and "," in cell):
        return Verdict.TELLING
    return Verdict.FOR if most(cells, lambda cell: "," in cell or len(cell) > 20) else Verdict.AGAINST


def _text(cells: Cells) -> Verdict:
    return Verdict.FOR if most(cells, has_letters) and not most(cells, is_answer) else Verdict.AGAINST


def _other_code(cells: Cells) -> Verdict:
    good = most(cells, is_code) and not most(cells, is_answer) and not most(cells, is_price)
    return Verdict.FOR if good else Verdict.AGAINST


def _is_age(cell: str) -> bool:
    """Whether a cell may be the age of people: a number, months or years; weeks and days are those of things."""
    return is_whole(cell.rstrip("+ ")) or any(name in ("months", "years") for _, name in units_in(cell))


SHEET_RULES: Final[Rules] = {
    "code": _code,
    "name": _name,
    "form": _form,
    "scent": _words,
    "net": _net,
    "container": _container,
    "retail": _money,
    "cost": _money,
    "weight": _weight,
    "size": telling(is_sides),
    "shape": telling(_is_shape),
    "upright": telling(is_answer),
    "fragile": telling(is_answer),
    "shelf life": _shelf_life,
    "after opening": _shelf_life,
    "on hand": _on_hand,
    "gtin": _gtin,
    "ingredients": _ingredients,
    "cautions": _text,
    "larger": _other_code,
    "status": telling(lambda cell: " ".join(words_of(cell)) in STATUSES),
    "tax": telling(lambda cell: cell.endswith("%")),
    "foams": telling(is_answer),
    "rinse off": telling(is_answer),
    "from age": lambda cells: Verdict.FOR if most(cells, _is_age) else Verdict.AGAINST,
}

# Of samples.

LONG_TEXT: Final = 60
"""Characters, on average, of a text rather than a name."""
_REPEATED: Final = 0.8
_AS_ITEMS: Final = {
    "sku": "code", "gtin": "gtin", "ingredients": "ingredients", "cautions": "cautions", "shelfLife": "shelf life",
}  # fmt: skip


def _group(cells: Cells) -> Verdict:
    if not most(cells, lambda cell: is_code(cell.replace("_", "-")) and not _is_figure(cell)):
        return Verdict.AGAINST
    return Verdict.TELLING if len(cells) > 2 and len(set(cells)) <= _REPEATED * len(cells) else Verdict.FOR


def _is_figure(cell: str) -> bool:
    return amount(cell) is not None and not is_whole(cell)


def _is_stock(cell: str) -> bool:
    return is_whole(cell) and len(cell) <= 5


def _is_words(cell: str) -> bool:
    return has_letters(cell) and not is_address(cell) and not is_picture(cell) and not has_markup(cell)


def _measure_price(cells: Cells) -> Verdict:
    if most(cells, is_measure_price):
        return Verdict.TELLING
    return Verdict.FOR if most(cells, lambda cell: amount(cell) is not None) else Verdict.AGAINST


def _description(cells: Cells) -> Verdict:
    texts = most(cells, lambda cell: has_letters(cell) and not is_address(cell))
    if not texts:
        return Verdict.AGAINST
    return Verdict.FOR if sum(map(len, cells)) >= LONG_TEXT * len(cells) else Verdict.SILENT


_SUMS: Final = (
    *("price", "priorPrice", "suggestedRetail", "lowestPrice", "highestPrice"),
    *("wholesalePrice", "fullCost", "kept", "includedTax"),
)
_WORDED: Final = ("slot", "choice", "alt", "contents", "keywords", "care", "fragranceAllergens")
_NAMED: Final = ("name", "title", "setName", "theme", "brand", "category", "season")
_WEIGHTS: Final = ("weight", "parcelWeight", "volumetricWeight", "chargeableWeight")
_LENGTHS: Final = ("width", "height", "depth", "parcelLength", "parcelWidth", "parcelHeight")
_DAY_FIELDS: Final = ("priceValidUntil", "availabilityStarts", "availabilityEnds")
SAMPLE_RULES: Final[Rules] = {
    **{field: SHEET_RULES[name] for field, name in _AS_ITEMS.items()},
    **dict.fromkeys(_SUMS, _for(lambda cell: amount(cell) is not None)),
    **dict.fromkeys(_WORDED, _for(_is_words)),
    **dict.fromkeys(_NAMED, _for(lambda cell: _is_words(cell) and not is_plain_code(cell) and not is_answer(cell))),
    **dict.fromkeys(_DAY_FIELDS, telling(is_day)),
    **dict.fromkeys(_WEIGHTS, _for(lambda cell: kind_of(cell) == "mass" or _plain_number(cell))),
    **dict.fromkeys(_LENGTHS, _for(lambda cell: kind_of(cell) == "length" or _plain_number(cell))),
    "inProductGroupWithID": _group,
    "image": telling(is_picture),
    "url": telling(lambda cell: is_address(cell) and not is_picture(cell)),
    "pricePerMeasure": _measure_price,
    "description": _description,
    "plainDescription": _for(lambda cell: has_letters(cell) and not is_address(cell)),
    "priceCurrency": telling(is_currency),
    "availability": telling(is_stock_word),
    "inventoryLevel": telling(_is_stock),
    "inStock": telling(is_answer),
    "language": _for(is_language),
    "country": _for(is_country),
    "netContents": _for(lambda cell: any(map(str.isdigit, cell)) and not is_sides(cell) and not is_price(cell)),
}
