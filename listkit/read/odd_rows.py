"""What in an owner's sheet is unlike its rows: headings within it, sums, footnotes, a cell that is missing, commas.

People who keep a sheet for themselves write such rows between the others. None of them is a thing; they are left alone.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

from listkit.read.sheet import UNWORKED, Cell, Row
from listkit.read.source import Fault
from listkit.read.wording import listed, quoted

# Rows of sums, as spreadsheets in English, French, German, Spanish and Italian call them; from memory.
_TOTAL: Final = re.compile(
    r"(grand |sub-?|sous-?|zwischen-?|gesamt-?)?(totals?|totaux|totale|sum|somme|summe|gesamt|suma|somma)"
    r"( g[eé]n[eé]ra[l]e?| general)?\s*:?",
    re.IGNORECASE,
)
_CODE: Final = re.compile(r"(?=\S*\d)[\w./#-]+")
_COMMA: Final = re.compile(r"(?<![\d.,])\d+,\d{1,2}(?![\d.,])")
_POINT: Final = re.compile(r"\d\.\d")
_BY_CODE: Final = ("code", "gtin", "larger")  # what a spreadsheet likes to make a date or number of
STORED: Final = "is stored as"
"""Of a code that a cell holds as a number, and not as the text that it is."""
_ENOUGH: Final = 2  # commas that agree; one alone may be a slip
_NAMED: Final = 4


def is_total(row: Row, code: str, name: str) -> bool:
    """Whether a row is a sum of others; `code` and `name` are what it has in those columns."""
    texts = [cell.text for cell in row.cells if cell.text]
    return bool(_TOTAL.fullmatch(texts[0])) and (not code or not name)


def is_section(row: Row) -> bool:
    """Whether a row holds a text alone, as headings within a sheet and footnotes do; a code alone is unfinished."""
    texts = [cell.text for cell in row.cells if cell.text]
    return len(texts) == 1 and not _CODE.fullmatch(texts[0])


def aside_words(rows: Sequence[Row], *, workbook: bool) -> str:
    """Return in words which rows were left alone."""
    word = "row" if workbook else "line"
    told = [(row.line, quoted(next(cell.text for cell in row.cells if cell.text))) for row in rows]
    if len(told) == 1:
        return f"the {word} holds only {told[0][1]}, so it is no thing and left alone."
    named = [f"{word} {line} {text}" for line, text in told[:_NAMED]]
    more = [f"{len(told) - _NAMED} more"] if len(told) > _NAMED else []
    which = listed([*named, *more], "and")
    return f"{len(told)} {word}s hold a text alone or a sum, so they are no things and left alone: {which}."


def doubtful_cells(row: Row, places: Mapping[str, int]) -> dict[str, Fault]:
    """Return codes and GTINs that a spreadsheet may have made of others, by field; the rest of the row stands."""
    found: dict[str, Fault] = {}
    for name in (name for name in _BY_CODE if places.get(name, len(row.cells)) < len(row.cells)):
        cell = row.cells[places[name]]
        if cell.turned and cell.turned != UNWORKED:
            what = "GTIN" if name == "gtin" else "code"
            verb = STORED if "number" in cell.turned else "can also be read as"
            message = f"the {what} {quoted(cell.text)} {verb} {cell.turned}."
            found[name] = Fault((name,), "bad-value", message, "Type it again, in a cell formatted as text.")
    return found


def has_decimal_commas(texts: Iterable[str]) -> bool:
    """Whether a column writes decimal commas throughout: two or more, and no point before a digit.

    >>> has_decimal_commas(["6,50", "7", "12,9"]), has_decimal_commas(["6,50", "7.25"]), has_decimal_commas(["1,250"])
    (True, False, False)
    """
    filled = [text for text in texts if "," in text or _POINT.search(text)]
    return len(filled) >= _ENOUGH and all(
        _COMMA.search(text) and not _POINT.search(text) and "," not in _COMMA.sub("", text) for text in filled
    )


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
