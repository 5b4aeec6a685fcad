"""Reads an order: the form as a workbook, filled in, or any table with a column of codes and one of quantities.

Rows in which nothing is ordered are passed over. What is no whole number is a problem of its cell, and kept as text.
"""

import re
from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Final

from listkit.model.wholesale import FormHeadings, FormRow, OrderForm
from listkit.problem import Level, Place, Problem, quoted, times
from listkit.read.sheet import Cell, Row, Sheet, read_sheet
from listkit.read.wording import COUNTED_DIGITS, listed

MOST: Final = 999_999
_WHOLE: Final = re.compile(rf"\d{{1,{COUNTED_DIGITS}}}", re.ASCII)
_FIGURE: Final = re.compile(r"\d{1,9}(\.\d{1,9})?", re.ASCII)
_EMPTY: Final = frozenset({"-", "–", "—", "/", "none", "nil", "n/a", "keine", "aucun", "ninguno", "nessuno"})
"""What people write where they order nothing."""
_NAMED: Final = 5
_PLAIN: Final = ("code", "quantity")  # headings that always do, whatever the language of our forms


def read_order(file: str, content: bytes, headings: FormHeadings) -> tuple[OrderForm | None, list[Problem]]:
    """Return the order in `content` and what is wrong with it; None where it is no order at all."""

    def understood(rows: Iterable[Row]) -> tuple[int, ...]:
        return (int(any(_columns(row, headings) for row in rows)),)

    sheet, problems = read_sheet(file, content, understood)
    if sheet is None:
        return None, problems
    header = next((row for row in sheet.rows if _columns(row, headings)), None)
    if header is None:
        message = f'it is no order form: no row names "{headings.code}" and "{headings.quantity}".'
        hint = 'Take the order-form.xlsx of the last build, or a CSV that begins with "code,quantity".'
        return None, [*problems, Problem(Place(file), "syntax", message, hint)]
    told = tuple((row, _says_nothing(row)) for row in _rows(sheet, header, headings))
    empty = tuple(row for row, nothing in told if nothing)
    rows = tuple(row for row, nothing in told if not nothing)
    problems += [_no_number(row) for row in rows if row.quantity is None]
    problems += [_read_as_empty(empty)] if empty else []
    above = [row for row in sheet.rows if row.line < header.line]
    buyer = ((name, _beside(above, label)) for name, label in headings.buyer)
    stated = tuple((name, says) for name, says in buyer if says)
    return OrderForm(file, _beside(above, headings.sheet), stated, tuple(row for row in rows if row.said)), problems


def _says_nothing(row: FormRow) -> bool:
    return row.quantity is None and row.said.casefold() in _EMPTY


def _columns(row: Row, headings: FormHeadings) -> tuple[int, int] | None:
    """Return where codes and quantities stand, if this row names both."""
    names = [cell.text.casefold() for cell in row.cells]
    columns = []
    for heading, plain in zip((headings.code, headings.quantity), _PLAIN, strict=True):
        at = next((at for at, name in enumerate(names) if name in (heading.casefold(), plain)), None)
        if at is None:
            return None
        columns.append(at)
    return columns[0], columns[1]


def _rows(sheet: Sheet, header: Row, headings: FormHeadings) -> Iterator[FormRow]:
    columns = _columns(header, headings)
    assert columns is not None
    priced = tuple(_price_columns(header, headings))
    called = {headings.quantity.casefold(), _PLAIN[1]}
    more = [at for at, each in enumerate(header.cells) if each.text.casefold() in called and at != columns[1]]
    for row in sheet.rows:
        code, cell = row.text(columns[0]), row.cells[columns[1]] if columns[1] < len(row.cells) else Cell("")
        others = [text for at in more if (text := row.text(at)) not in ("", cell.text)]
        cell = Cell(" and ".join(filter(None, (cell.text, *others))), "two quantities") if others else cell
        if row.line <= header.line or not cell.text:
            continue
        beyond = () if sheet.workbook else tuple(one.text for one in row.cells[len(header.cells) :] if one.text)
        said = ",".join((cell.text, *beyond))  # 1,200 without quotes is two cells
        quantity = int(said) if _WHOLE.fullmatch(said) and not cell.turned else None
        if quantity == 0:
            continue
        place = Place(sheet.file, row.line, code or f"{row.line}", header.text(columns[1]))
        texts = (row.text(at) for at in priced)
        prices = tuple(Decimal(text) if _FIGURE.fullmatch(text) else None for text in texts)
        yield FormRow(place, code, said, quantity if quantity is None or quantity <= MOST else None, prices)


def _price_columns(header: Row, headings: FormHeadings) -> Iterator[int]:
    """Yield the columns of wholesale and lower prices."""
    names = [cell.text.casefold() for cell in header.cells]
    if headings.wholesale.casefold() in names:
        for at in range(names.index(headings.wholesale.casefold()), len(names)):
            if names[at] in (headings.retail.casefold(), headings.quantity.casefold()):
                return
            yield at


def _read_as_empty(rows: tuple[FormRow, ...]) -> Problem:
    """Return one remark for all lines whose quantity says that nothing is ordered."""
    signs = listed(tuple(dict.fromkeys(quoted(row.said) for row in rows)), "or")
    codes = listed([row.code or str(row.place.line) for row in rows[:_NAMED]], "and")
    more = f" and {len(rows) - _NAMED} more" if len(rows) > _NAMED else ""
    message = (
        f"{times(len(rows), 'line')} with {signs} for a quantity {'are' if len(rows) > 1 else 'is'} read as empty: "
    )
    place = Place(rows[0].place.file, rows[0].place.line)
    return Problem(
        place, "bad-value", f"{message}{codes}{more}.", "Ask the shop where that is not meant.", Level.LOOK_AT
    )


def _no_number(row: FormRow) -> Problem:
    many = _WHOLE.fullmatch(row.said) and int(row.said) > MOST
    message = f"{quoted(row.said)} is {f'more than {MOST}' if many else 'no whole number of pieces'}."
    return Problem(row.place, "bad-value", message, f"Ask the shop how many of {row.code or 'what'} it wants.")


def _beside(rows: list[Row], label: str) -> str:
    """Return what stands in the cell behind a label, "" where the label stands nowhere."""
    for row in rows:
        names = [cell.text.casefold() for cell in row.cells]
        if label.casefold() in names:
            return row.text(names.index(label.casefold()) + 1)
    return ""
