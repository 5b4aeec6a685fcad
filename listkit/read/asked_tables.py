"""Reads the tables that `listkit print` takes: how many of each are wanted, and orders with the words for their cards.

CSV, XLSX and ODS, with the headings that people use. The words are people's own: no message repeats them.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from functools import lru_cache
from typing import Final

from listkit import bounds
from listkit.model.labels import Asked, CardWish
from listkit.problem import Place, Problem, quoted
from listkit.read.odd_rows import error_words
from listkit.read.sheet import Row, Sheet, read_sheet
from listkit.read.wording import COUNTED_DIGITS
from listkit.read.workbook_parts import FAILED

MOST_COPIES: Final = bounds.COPIES
_WHOLE: Final = re.compile(rf"\d{{1,{COUNTED_DIGITS}}}", re.ASCII)
_SIGNS: Final = re.compile(r"[\W_]+")

_COUNTS: Final = {
    "code": ("code", "sku", "variant", "set", "label", "référence"),
    "quantity": ("quantity", "qty", "count", "number", "how many", "copies", "pieces", "quantité", "nombre"),
}
_ORDERS: Final = {
    "order": ("order", "order number", "order no", "order id", "no", "number", "commande", "n° de commande"),
    "set": ("set", "variant", "code", "sku", "product", "item", "coffret", "référence"),
    "words": ("words", "message", "gift message", "card message", "gift note", "note", "text", "mots", "texte"),
    "sender": ("from", "sender", "buyer", "de", "de la part de"),
    "recipient": ("to", "recipient", "for", "receiver", "à", "pour"),
}
Names = Mapping[str, tuple[str, ...]]


def _folded(heading: str) -> str:
    return _SIGNS.sub(" ", heading.casefold()).strip()


@lru_cache
def _folded_names(names: tuple[str, ...]) -> frozenset[str]:
    """Return names as headings are compared with them: once, and not again for each cell of a table."""
    return frozenset(map(_folded, names))


def _columns(row: Row, names: Names) -> dict[str, int]:
    """Return which column of a row of headings is what; each is the first that is called so."""
    headings = [_folded(cell.text) for cell in row.cells]
    return {
        field: at for field, known in names.items()
        if (at := next((at for at, name in enumerate(headings) if name in _folded_names(known)), -1)) >= 0
    }  # fmt: skip


_ALONE: Final = ("quantity", "words")
"""What another column cannot say otherwise: nobody knows which of the two is to be printed."""


def _differing(file: str, sheet: Sheet, header: Row, columns: Mapping[str, int], names: Names) -> Iterator[Problem]:
    """Yield a problem of each row that two columns say something different of."""
    called = [_folded(cell.text) for cell in header.cells]
    for field in (field for field in _ALONE if field in columns):
        others = [at for at, name in enumerate(called) if name in _folded_names(names[field]) and at != columns[field]]
        for row in sheet.rows if others else ():
            other = next((at for at in others if row.text(at) not in ("", row.text(columns[field]))), -1)
            if row.line > header.line and other >= 0:
                place = Place(file, row.line, f"{row.line}", header.text(other))
                message, hint = "another column says something else of it.", "Take one of the two columns out."
                yield Problem(place, "print-asked", message, hint)


def _table(
    file: str, content: bytes, names: Names, needed: tuple[str, ...]
) -> tuple[Sheet | None, Row, dict[str, int], list[Problem]]:
    """Return the sheet, its row of headings and their columns; no sheet where no row names all that is needed."""

    def understood(rows: Iterable[Row]) -> tuple[int, ...]:
        return (max((len(_columns(row, names)) for row in rows), default=0),)

    none = Row(0, ())
    sheet, problems = read_sheet(file, content, understood)
    if sheet is None:
        return None, none, {}, problems
    header = next((row for row in sheet.rows if set(needed) <= _columns(row, names).keys()), None)
    if header is None:
        headings = " and ".join(f'"{name}"' for name in needed)
        hint = f"Write a first row with {headings}, and a row for each below it."
        return None, none, {}, [*problems, Problem(Place(file), "syntax", f"no row has the headings {headings}.", hint)]
    columns = _columns(header, names)
    problems += [
        Problem(
            Place(file, row.line, row.text(columns[needed[0]]), header.text(at)), "print-asked", *error_words(cell.text)
        )
        for row in sheet.rows
        for at in columns.values()
        for cell in row.cells[at : at + 1]
        if cell.turned == FAILED
    ]
    differing = list(_differing(file, sheet, header, columns, names))
    left_out = {each.place.line for each in differing}
    sheet = replace(sheet, rows=tuple(row for row in sheet.rows if row.line not in left_out))
    return sheet, header, columns, [*problems, *differing]


def read_counts(file: str, content: bytes) -> tuple[tuple[Asked, ...], list[Problem]]:
    """Return how many of which code are wanted, in the order of the table, and what is wrong with it."""
    sheet, header, at, problems = _table(file, content, _COUNTS, ("code", "quantity"))
    asked: list[Asked] = []
    for row in sheet.rows if sheet else ():
        code, said = row.text(at["code"]), row.text(at["quantity"])
        if row.line <= header.line or not (code or said):
            continue
        place = Place(file, row.line, code or f"{row.line}", header.text(at["quantity"]))
        if not _WHOLE.fullmatch(said):
            message = f"{quoted(said)} is no whole number." if said else "no number is stated."
            problems.append(Problem(place, "print-asked", message, "Write how many are to be printed."))
        elif int(said) == 0:
            problems.append(Problem(place, "print-asked", "0 are asked for.", "Write a number, or take the row out."))
        else:
            asked.append(Asked(place, code, int(said)))
    total = sum(each.quantity for each in asked)
    if total > MOST_COPIES:
        message = f"{total} are asked for; at most {MOST_COPIES} are printed at once."
        problems.append(Problem(Place(file), "print-asked", message, "Ask for some of them, then for the others."))
    elif sheet and not asked and not problems:
        message = "no row asks for anything."
        problems.append(Problem(Place(file), "print-asked", message, "Write a row with a code and how many."))
    return tuple(asked), problems


def read_wishes(file: str, content: bytes) -> tuple[tuple[CardWish, ...], list[Problem]]:
    """Return the orders of a table with the words for their cards, and what is wrong with it."""
    sheet, header, at, problems = _table(file, content, _ORDERS, ("order", "words"))
    wishes: list[CardWish] = []
    for row in sheet.rows if sheet else ():
        texts = {field: row.text(column) for field, column in at.items()}
        if row.line <= header.line or not any(texts.values()):
            continue
        place = Place(file, row.line, texts["order"] or f"{row.line}", header.text(at["words"]))
        wishes.append(
            CardWish(
                place, texts["order"], texts.get("set", ""), texts["words"],
                sender=texts.get("sender", ""), recipient=texts.get("recipient", ""),
            )
        )  # fmt: skip
    if len(wishes) > MOST_COPIES:
        message = f"it has {len(wishes)} orders; at most {MOST_COPIES} are printed at once."
        problems.append(Problem(Place(file), "print-asked", message, "Divide the table."))
        wishes = []
    return tuple(wishes), problems


_SENT: Final = {
    **_ORDERS,
    "quantity": ("quantity", "qty", "count", "how many", "pieces", "quantité"),
}


def read_parcels(file: str, content: bytes) -> tuple[tuple[tuple[CardWish, int], ...], list[Problem]]:
    """Return the orders of a day, each row with how many it asks for, and what is wrong with the table.

    The words for a card are those of `read_wishes`; a row may have none.
    """
    sheet, header, at, problems = _table(file, content, _SENT, ("order", "set"))
    parcels: list[tuple[CardWish, int]] = []
    for row in sheet.rows if sheet else ():
        texts = {field: row.text(column) for field, column in at.items()}
        if row.line <= header.line or not any(texts.values()):
            continue
        place = Place(file, row.line, texts["order"] or f"{row.line}", header.text(at["set"]))
        said = texts.get("quantity", "") or "1"
        if not _WHOLE.fullmatch(said) or not 1 <= int(said) <= MOST_COPIES:
            message = f"{quoted(said)} is no number of parcels."
            problems.append(Problem(place, "print-asked", message, "Write how many of it the order asks for."))
            continue
        wish = CardWish(
            place, texts["order"], texts["set"], texts.get("words", ""),
            sender=texts.get("sender", ""), recipient=texts.get("recipient", ""),
        )  # fmt: skip
        parcels.append((wish, int(said)))
    if (total := sum(number for _, number in parcels)) > MOST_COPIES:
        message = f"it has {total} parcels; at most {MOST_COPIES} are printed at once."
        return (), [*problems, Problem(Place(file), "print-asked", message, "Divide the table.")]
    if sheet and not parcels and not problems:
        problems.append(Problem(Place(file), "print-asked", "no row has an order.", "Write a row for each parcel."))
    return tuple(parcels), problems
