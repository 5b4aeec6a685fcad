"""Tells what was understood of the owner's sheet, what she has to decide, what is missing, and the one next step."""

import sys
from pathlib import Path
from typing import Final

from listkit.cli.own_columns import NEEDED, OwnColumns
from listkit.cli.own_sheet import SheetRead
from listkit.cli.table import table
from listkit.cli.terminal import BOLD, painted
from listkit.model.item import Item
from listkit.problem import Problem, must_fix
from listkit.read.folder import SHOP
from listkit.read.shop import read_shop
from listkit.read.wording import listed, times

_SHOWN: Final = 5
_COMMA: Final = "has a comma"


def tell_own_shop(folder: Path, read: SheetRead, columns: OwnColumns) -> None:
    """Print it all in plain words."""
    shop, problems = read_shop(folder)
    faults = [problem for problem in problems if problem.place.file == read.file]
    _heading(f"{folder} is made around {read.file}, which was copied and stays as it is.")
    where = f'sheet "{read.sheet}", ' if read.sheet else ""
    print(f"Its headings stand in {where}{'row' if read.table.workbook else 'line'} {read.header_line}.")
    _understood(columns)
    _doubtful(columns, problems)
    _missing(columns, read)
    if columns.unused:
        _heading("Left alone, as items have no such thing:")
        print(f"  {', '.join(columns.unused)}")
    if {line.says.partition(" (")[0] for line in columns.understood}.issuperset(NEEDED):
        _rows(len(shop.items), faults, workbook=read.table.workbook)
    _next(folder, problems, read, columns)


def _heading(words: str) -> None:
    print(painted(words, BOLD, sys.stdout))


def _understood(columns: OwnColumns) -> None:
    if columns.understood:
        _heading("Understood:")
        rows = [(f"  {line.heading}", line.says, _meaning(line.says)) for line in columns.understood]
        print(table(rows, left=3))


def _meaning(says: str) -> str:
    return Item.model_fields[says.partition(" (")[0].replace(" ", "_")].description or ""


def _doubtful(columns: OwnColumns, problems: list[Problem]) -> None:
    asked = [f"the {problem.place.key[0]}" for problem in problems if problem.place.file == SHOP and problem.place.key]
    if columns.doubtful or asked:
        _heading(f'Doubtful, to be decided in {SHOP} (the lines with "?"):')
    if asked:
        print(f"  {listed(asked, 'and')}")
    for one in columns.doubtful:
        print(f"  {one.heading}: {one.words}" if one.heading else f"  {one.words}")


def _missing(columns: OwnColumns, read: SheetRead) -> None:
    if columns.missing:
        _heading(f"Missing in {read.file}:")
        for text in columns.missing:
            print(f"  {text}")


def _rows(items: int, faults: list[Problem], *, workbook: bool) -> None:
    """Tell how many rows can be read as they are, and the first of what cannot."""
    rows = [problem for problem in faults if problem.place.line or problem.place.row]
    _heading(f"{times(items, 'row')} can be read as {'it is' if items == 1 else 'they are'}.")
    for problem in rows[:_SHOWN]:
        print(f"  {problem.place}: {problem.message} {problem.hint}".rstrip())
    if len(rows) > _SHOWN:
        print(f"  and {len(rows) - _SHOWN} more, which listkit check tells.")
    if any(_COMMA in problem.message for problem in rows) and not workbook:
        print("  Where every sum has a comma, save the sheet as .xlsx or .ods and begin again: no comma is left there.")


def _next(folder: Path, problems: list[Problem], read: SheetRead, columns: OwnColumns) -> None:
    """Print one next step: what stands before everything else."""
    asked = [problem for problem in problems if problem.place.file == SHOP]
    if asked or any(one.heading for one in columns.doubtful):
        step = f'open {folder / SHOP}, fill in the lines with "?", then: listkit check --shop {folder}'
    elif columns.missing:
        step = f"add what is missing to {folder / read.file}, then: listkit check --shop {folder}"
    elif must_fix(problems):
        step = f"mend the rows in {folder / read.file} that listkit check --shop {folder} tells"
    else:
        step = f'listkit add "The name of your first set" --shop {folder}'
    _heading(f"Next: {step}")
