"""Reads ingredients.csv: the percentages of items and raw materials, and what they come to.

A row whose item is neither an item nor a raw material that another row names is left out and told, and so is
more than 100 % of anything.
"""

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

from listkit.model.ingredient_row import IngredientRow
from listkit.problem import Place, Problem
from listkit.read.source import TEXT_LIMIT, read_bytes
from listkit.read.table_file import Form, Table, read_table
from listkit.read.wording import quoted, write_instead

Rows = tuple[IngredientRow, ...]


def read_ingredients(root: Path, file: str, codes: frozenset[str] | None) -> tuple[Rows, list[Problem]]:
    """Return the rows that can be gone by, and what is wrong with any; none of either when `file` is "".

    Args:
        root: the shop folder.
        file: the file's name in it.
        codes: every item's, None where the items could not be read to their end and nothing is unknown.
    """
    if not file:
        return (), []
    content = read_bytes(root, file, limit=TEXT_LIMIT)
    if isinstance(content, Problem):
        return (), [content]
    table, problems = read_table(file, content, Form(IngredientRow, {}))
    named = {_folded(row.ingredient) for row in table.rows}
    sound, told = [], set()
    for line, row in zip(table.row_lines, table.rows, strict=True):
        if codes is None or row.item in codes or _folded(row.item) in named:
            sound.append(row)
        elif row.item not in told:
            told.add(row.item)
            problems.append(_unknown(table, line, row.item, codes))
    return tuple(sound), [*problems, *_too_much(table)]


def _unknown(table: Table[IngredientRow], line: int, name: str, codes: frozenset[str]) -> Problem:
    hint = write_instead(name, codes) or "Write an item's code, or the raw material as its ingredient is written."
    message = f"{quoted(name)} is neither an item nor an ingredient of one."
    return Problem(_place(table, line, "item"), "unknown-code", message, hint)


def _too_much(table: Table[IngredientRow]) -> Iterator[Problem]:
    """Tell of each item and raw material once, at the row that makes it more than the whole."""
    sums: dict[str, Decimal] = {}
    over: dict[str, int] = {}
    for line, row in zip(table.row_lines, table.rows, strict=True):
        key = _folded(row.item)
        sums[key] = sums.get(key, Decimal(0)) + row.percent
        if sums[key] > 1:
            over.setdefault(key, line)
    names = {_folded(row.item): row.item for row in reversed(table.rows)}
    for key, line in over.items():
        message = f"all that is in {quoted(names[key])} comes to {(sums[key] * 100).normalize():f} %."
        yield Problem(_place(table, line, "percent"), "percent-over", message, "Mend the percentages: 100 % is all.")


def _place(table: Table[IngredientRow], line: int, name: str) -> Place:
    columns = table.headings.columns if table.headings else ()
    heading = next((column.heading for column in columns if column.field == name), "")
    return Place(table.file, line, column=heading, key=(name,))


def _folded(text: str) -> str:
    return " ".join(text.casefold().split())
