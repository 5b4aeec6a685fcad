"""Numbered families: one [[column]] with `repeat` is so many columns, "Picture 1", "Picture 2" and so on.

A column `beside` the one before it takes turns with it: "Option 1", "Chosen 1", "Option 2", "Chosen 2".
"""

import re
from collections.abc import Iterator
from typing import Final

from listkit.fields import FIELDS
from listkit.model.channel import Column
from listkit.problem import FieldError

_NUMBER: Final = re.compile(r"\{(n{1,2})\}")
_FAMILIES: Final = tuple(name for name, field in FIELDS.items() if field.many)


def numbered(columns: tuple[Column, ...]) -> Iterator[tuple[int, Column]]:
    """Yield every column as it stands in the file, with the place of its [[column]] among `columns`."""
    block: list[tuple[int, Column]] = []
    for at, column in enumerate(columns):
        if not column.beside:
            yield from _turns(block)
            block = []
        block.append((at, column))
    yield from _turns(block)


def family_fault(columns: tuple[Column, ...], at: int) -> FieldError | None:
    """Return what is wrong with how the column at `at` is repeated."""
    column, before = columns[at], columns[at - 1] if at else None
    if column.beside and (before is None or before.repeat != column.repeat or column.repeat is None):
        hint = "Give both the same repeat, or take beside out."
        return FieldError("it stands beside a column that is not repeated as often.", hint)
    value = column.value.strip()
    if column.repeat is not None and value in FIELDS and not FIELDS[value].many:
        hint = f"Take repeat out; families are {', '.join(_FAMILIES)}."
        return FieldError(f'"{value}" is one value and no family that could be repeated.', hint)
    return None


def _turns(block: list[tuple[int, Column]]) -> Iterator[tuple[int, Column]]:
    for number in range(1, max((column.repeat or 1 for _, column in block), default=0) + 1):
        for at, column in block:
            if column.repeat is None or number <= column.repeat:
                yield at, column if column.repeat is None else _member(column, number)


def _member(column: Column, number: int) -> Column:
    """Return the column of one member; in its heading the numbers begin where the owner says."""
    value = _NUMBER.sub(lambda match: _digits(match[1], number), column.value)
    if value.strip() in _FAMILIES:
        value = f"{value.strip()}_{number}"
    heading = _NUMBER.sub(lambda match: _digits(match[1], number - 1 + column.begin), column.heading)
    return column.model_copy(update={"heading": heading, "value": value, "repeat": None, "beside": False})


def _digits(form: str, number: int) -> str:
    return f"{number:0{len(form)}}"
