"""What in an owner's sheet is unlike its rows: headings within it, sums, footnotes, a cell that is missing, commas.

People who keep a sheet for themselves write such rows between the others. None of them is a thing; they are left alone.
"""

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

from listkit.problem import quoted
from listkit.read.sheet import Cell, Row
from listkit.read.source import Fault
from listkit.read.wording import listed
from listkit.read.workbook_parts import FAILED, UNWORKED

# Rows of sums, as spreadsheets in English, French, German, Spanish and Italian call them; from memory.
_SUM: Final = (
    r"(?:grand |sub-?|sous-?|zwischen-?|gesamt-?)?"
    r"(?:totals?|totaux|totale|totali|totales|sum|somme|summe|gesamt|suma|somma)(?: g[eé]n[eé]ra[l]e?| general)?"
)
_TOTAL: Final = re.compile(rf"{_SUM}\s*:?", re.IGNORECASE)
_NAMED_TOTAL: Final = re.compile(rf"{_SUM}\b.*|.*\b{_SUM}\s*:?|.*\w(?:gesamt)?summe\s*:?", re.IGNORECASE | re.DOTALL)
"""Soaps total, Total of soaps, Subtotal bars, Seifen gesamt, Seifensumme."""
_FIGURE: Final = re.compile(r"\W{0,3}\d[\d.,' \u00a0\u202f]*[^\W\d]{0,5}\W{0,2}")  # 97, £340.50, 1 200 pcs
_CODE: Final = re.compile(r"(?=\S*\d)[\w./#-]+")
_COMMA: Final = re.compile(r"(?<![\d.,])\d+,\d{1,2}(?![\d.,])")
_POINT: Final = re.compile(r"\d\.\d")
MONEY: Final = ("retail", "cost", "price", "sold_out", "left_over")
_NUMBERS: Final = frozenset({*MONEY, "weight", "size", "net", "percent", "up_to", "over"})
_BY_CODE: Final = ("code", "gtin", "larger")  # what a spreadsheet likes to make a date or number of
STORED: Final = "is stored as"
"""Of a code that a cell holds as a number, and not as the text that it is."""
_ENOUGH: Final = 2  # commas that agree; one alone may be a slip
_NAMED: Final = 4


def is_total(row: Row, code: str, name: str, needed: Collection[int] = ()) -> bool:
    """Whether a row is a sum of others.

    One that says of what, as in "Soaps total", holds figures alone behind that, and not all that a thing needs: there
    are things called so.

    Args:
        row: a row that is not blank.
        code: what it has in the column of codes.
        name: what it has in the column of names.
        needed: the columns that every thing fills.
    """
    first, *behind = [cell.text for cell in row.cells if cell.text]
    if code and name:
        return False
    return bool(_TOTAL.fullmatch(first)) or (
        bool(_NAMED_TOTAL.fullmatch(first)) and all(map(_FIGURE.fullmatch, behind)) and not all(map(row.text, needed))
    )


def is_named_total(row: Row) -> bool:
    """Whether a row left aside as a sum says of what it is one, so that it might be a thing after all."""
    return not _TOTAL.fullmatch(next(cell.text for cell in row.cells if cell.text))


def is_section(row: Row) -> bool:
    """Whether a row holds a text alone, as headings within a sheet and footnotes do; a code alone is unfinished.

    So is one of errors alone: formulas that were copied further down than there are things.
    """
    filled = [cell for cell in row.cells if cell.text]
    is_text = len(filled) == 1 and not _CODE.fullmatch(filled[0].text)
    return is_text or (bool(filled) and all(cell.turned == FAILED for cell in filled))


def aside_words(rows: Sequence[Row], *, workbook: bool) -> str:
    """Return in words which rows were left alone."""
    word = "row" if workbook else "line"
    told = [(row.line, quoted(next(cell.text for cell in row.cells if cell.text))) for row in rows]
    if len(told) == 1:
        what = f"holds only {told[0][1]}" if is_section(rows[0]) else f"holds a sum, {told[0][1]}"
        return f"the {word} {what}, so it is no thing and left alone."
    named = [f"{word} {line} {text}" for line, text in told[:_NAMED]]
    more = [f"{len(told) - _NAMED} more"] if len(told) > _NAMED else []
    which = listed([*named, *more], "and")
    return f"{len(told)} {word}s hold a text alone or a sum, so they are no things and left alone: {which}."


def doubtful_cells(row: Row, places: Mapping[str, int]) -> dict[str, Fault]:
    """Return codes and GTINs that a spreadsheet may have made of others, by field; the rest of the row stands."""
    found: dict[str, Fault] = {}
    for name in (name for name in _BY_CODE if places.get(name, len(row.cells)) < len(row.cells)):
        cell = row.cells[places[name]]
        if cell.turned and cell.turned not in (UNWORKED, FAILED):
            what = "GTIN" if name == "gtin" else "code"
            verb = STORED if "number" in cell.turned else "can also be read as"
            message = f"the {what} {quoted(cell.text)} {verb} {cell.turned}."
            found[name] = Fault((name,), "bad-value", message, "Type it again, in a cell formatted as text.")
    return found


def error_words(text: str) -> tuple[str, str]:
    """Return what is told of a cell that holds an error in place of a value, and what to do."""
    return f"it holds the error {quoted(text)} and no value.", "Mend its formula and save the sheet, or type the value."


def has_decimal_commas(texts: Iterable[str]) -> bool:
    """Whether a column writes decimal commas throughout: two or more, and no point before a digit.

    >>> has_decimal_commas(["6,50", "7", "12,9"]), has_decimal_commas(["6,50", "7.25"]), has_decimal_commas(["1,250"])
    (True, False, False)
    """
    filled = [text for text in texts if "," in text or _POINT.search(text)]
    return len(filled) >= _ENOUGH and all(
        _COMMA.search(text) and not _POINT.search(text) and "," not in _COMMA.sub("", text) for text in filled
    )


def comma_fields(rows: Sequence[Row], places: Mapping[str, int]) -> frozenset[str]:
    """Return the fields of numbers whose columns write decimal commas throughout; `places` are their columns."""
    numbers = {name: at for name, at in places.items() if name in _NUMBERS}
    return frozenset(name for name, at in numbers.items() if has_decimal_commas(row.text(at) for row in rows))


def with_point(text: str) -> str:
    """Return a cell with its decimal commas as points.

    >>> with_point("8 x 5,5 x 2,5 cm")
    '8 x 5.5 x 2.5 cm'
    """
    return _COMMA.sub(lambda match: match[0].replace(",", "."), text)


def with_a_cell_more(row: Row, width: int) -> Iterator[tuple[int, Row]]:
    """Yield each place where a cell may be missing from a row that ends too early, and the row with one there."""
    cells = row.cells[:width]
    while cells and not cells[-1].text:
        cells = cells[:-1]
    if len(cells) != width - 1:
        return
    for place in range(1, len(cells)):
        yield place, replace(row, cells=(*cells[:place], Cell(""), *cells[place:]))
