"""What the cells of an owner's column say of a field: possible, against it, or so typical that they remove doubt."""

from collections.abc import Callable
from enum import IntEnum
from typing import Final

from listkit.learn.cell_shapes import (
    amount,
    could_be_gtin,
    has_letters,
    inci_words,
    is_code,
    is_gtin,
    is_plain_code,
    is_price,
    is_sides,
    is_whole,
    kind_of,
    sides_have_unit,
    sign_of,
)
from listkit.learn.folding import CONTAINERS, FORMS, SHAPES, STATUSES, YES_NO, words_of

_MOST: Final = 0.75  # three in four make a rule: there are always odd cells
_LONGEST: Final = 400
_WITH_UNIT: Final = ("weight", "net", "shelf life")

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


def verdict(field: str, cells: Cells) -> Verdict:
    """Return what the filled cells of a column say of a field ("shelf life"); SILENT without cells."""
    rule = _RULES.get(field)
    return rule(cells) if cells and rule else Verdict.SILENT


def most(cells: Cells, holds: Callable[[str], object]) -> bool:
    """Whether it holds for three in four of the cells, and there are any."""
    return bool(cells) and sum(bool(holds(cell)) for cell in cells) >= _MOST * len(cells)


def lacks_unit(field: str, cells: Cells) -> bool:
    """Whether amounts of a field that needs a unit stand there without one."""
    if field == "size":
        return bool(cells) and not most(cells, sides_have_unit)
    return field in _WITH_UNIT and most(cells, lambda cell: amount(cell) is not None)


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


def _words(cells: Cells) -> Verdict:
    good = most(cells, lambda cell: has_letters(cell) and len(cell) <= 60 and not is_plain_code(cell))
    return Verdict.FOR if good and not _are_yes_no(cells) else Verdict.AGAINST


def _form(cells: Cells) -> Verdict:
    if _shape(cells) is Verdict.TELLING:
        return Verdict.AGAINST
    known = most(cells, _names_form)
    return Verdict.TELLING if known and _words(cells) is Verdict.FOR and not _plain_containers(cells) else _words(cells)


def _names_form(cell: str) -> bool:
    return any(form in word if len(form) > 4 else form == word for word in words_of(cell) for form in FORMS)


def _container(cells: Cells) -> Verdict:
    known = most(cells, lambda cell: not CONTAINERS.isdisjoint(words_of(cell)))
    return Verdict.TELLING if known and _words(cells) is Verdict.FOR else _words(cells)


def _plain_containers(cells: Cells) -> bool:
    return most(cells, lambda cell: CONTAINERS.issuperset(words_of(cell)))


def _net(cells: Cells) -> Verdict:
    if most(cells, lambda cell: kind_of(cell) in {"mass", "volume", "length"} or is_sides(cell)):
        return Verdict.AGAINST if most(cells, is_sides) else Verdict.TELLING
    bare = most(cells, lambda cell: amount(cell) is not None and not sign_of(cell))
    return Verdict.FOR if bare and not most(cells, is_price) else Verdict.AGAINST


def _money(cells: Cells) -> Verdict:
    if not most(cells, lambda cell: amount(cell) is not None):
        return Verdict.AGAINST
    return Verdict.TELLING if most(cells, is_price) else Verdict.FOR


def _weight(cells: Cells) -> Verdict:
    if most(cells, lambda cell: kind_of(cell) == "mass"):
        return Verdict.TELLING
    return Verdict.FOR if most(cells, lambda cell: amount(cell) is not None and not sign_of(cell)) else Verdict.AGAINST


def _size(cells: Cells) -> Verdict:
    return Verdict.TELLING if most(cells, is_sides) else Verdict.AGAINST


def _are_yes_no(cells: Cells) -> bool:
    return most(cells, lambda cell: cell.casefold() in YES_NO or " ".join(words_of(cell)) in YES_NO)


def _yes_no(cells: Cells) -> Verdict:
    return Verdict.TELLING if _are_yes_no(cells) else Verdict.AGAINST


def _shape(cells: Cells) -> Verdict:
    return Verdict.TELLING if most(cells, lambda cell: " ".join(words_of(cell)) in SHAPES) else Verdict.AGAINST


def _shelf_life(cells: Cells) -> Verdict:
    if most(cells, lambda cell: kind_of(cell) == "time"):
        return Verdict.TELLING
    return Verdict.FOR if most(cells, lambda cell: is_whole(cell) and float(cell) <= 120) else Verdict.AGAINST


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
    return Verdict.FOR if most(cells, has_letters) and not _are_yes_no(cells) else Verdict.AGAINST


def _other_code(cells: Cells) -> Verdict:
    good = most(cells, is_code) and not _are_yes_no(cells) and not most(cells, is_price)
    return Verdict.FOR if good else Verdict.AGAINST


def _status(cells: Cells) -> Verdict:
    return Verdict.TELLING if most(cells, lambda cell: " ".join(words_of(cell)) in _STATUSES) else Verdict.AGAINST


_STATUSES: Final = frozenset(" ".join(words_of(status)) for status in STATUSES)
_RULES: Final[dict[str, Callable[[Cells], Verdict]]] = {
    "code": _code,
    "name": _name,
    "form": _form,
    "scent": _words,
    "net": _net,
    "container": _container,
    "retail": _money,
    "cost": _money,
    "weight": _weight,
    "size": _size,
    "shape": _shape,
    "upright": _yes_no,
    "fragile": _yes_no,
    "shelf life": _shelf_life,
    "on hand": _on_hand,
    "gtin": _gtin,
    "ingredients": _ingredients,
    "cautions": _text,
    "larger": _other_code,
    "status": _status,
}
