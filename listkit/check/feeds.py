"""Checks of data files: columns that name nothing, templates that fail on a row, cells that cannot be written.

They look at the very cells that will be written.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from functools import partial
from typing import Final

from listkit.check.cell_rules import rule_problems
from listkit.check.context import CheckContext
from listkit.check.rows import row_name
from listkit.listing.cells import LONGEST_XLSX_CELL, text_cell, unwritable
from listkit.listing.columns import FeedColumn, column_problems, feed_columns
from listkit.listing.feed_files import FeedFile, feed_files, file_problems
from listkit.listing.listings import Listing, Listings
from listkit.listing.measure import utf16_units
from listkit.listing.rows import dialect_cells, feed_rows, feed_sources, rows_from
from listkit.problem import FieldError, Place, Problem

Listed = tuple[Listing, ...]
MOST_ROWS: Final = 1_048_576
"""Rows of a workbook's sheet; from memory, as every spreadsheet program states it."""


def feed_faults(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A data file's columns name facts that are there, keep to their rules, and every cell can be written."""
    for channel, own in listings.by_channel():
        files = feed_files(channel)
        yield from file_problems(channel) if files else ()
        told: set[Problem] = set()
        for file in files:
            for problem in _file_faults(file, own):
                if problem not in told:  # columns that several files share are told once
                    told.add(problem)
                    yield problem


def _file_faults(file: FeedFile, own: Listed) -> Iterator[Problem]:
    found = tuple(column_problems(file, own))
    yield from found
    if any(problem.code == "template-fault" for problem in found) or any(True for _ in file_problems(file.channel)):
        return
    channel = file.channel
    columns = feed_columns(channel, own)
    faults = [_template_fault(file, own, columns, column) for column in columns if column.template]
    yield from filter(None, faults)
    if any(faults) or channel.feed == "json":
        return
    yield from rule_problems(file, own, columns)
    if channel.feed == "xlsx":
        yield from _too_large(file, own, columns)
    elif channel.feed == "csv" and channel.dialect.encoding == "windows-1252":
        yield from _unwritable_cells(file, own, columns, channel.dialect.encoding)


def _template_fault(file: FeedFile, own: Listed, columns: tuple[FeedColumn, ...], column: FeedColumn) -> Problem | None:
    """Return the first row on which a template fails."""
    sources = partial(feed_sources, file.channel, own, columns)
    done = 0
    try:
        for _ in rows_from(sources(), (replace(column, once=False),), dialect_cells(file.channel.dialect)):
            done += 1
    except FieldError as fault:
        message = f'in column "{column.heading}", {row_name(done + 1, sources())}, {fault.message}'
        return Problem(file.column_place(column.entry), "template-fault", message, fault.hint)
    return None


def _unwritable_cells(file: FeedFile, own: Listed, columns: tuple[FeedColumn, ...], encoding: str) -> Iterator[Problem]:
    """Yield the first cell of each column, its heading included, that holds a sign which the encoding has not."""
    told: set[int] = set()
    for number, row in enumerate(_with_headings(file, own, columns)):
        if not unwritable("".join(row), encoding):
            continue
        for at, cell in enumerate(row):
            if at not in told and (sign := unwritable(cell, encoding)):
                told.add(at)
                where = row_name(number, feed_sources(file.channel, own, columns)) if number else "its heading"
                message = f'column "{columns[at].heading}", {where}: {encoding} has no "{sign}" (U+{ord(sign):04X}).'
                yield Problem(_dialect_place(file), "character-forbidden", message, _INSTEAD[encoding])


_INSTEAD: Final = {
    "windows-1252": 'Write encoding = "utf-8", transliterate = true for the nearest character, or other words.',
    "xlsx": "Take it out of the text.",
}


def _with_headings(file: FeedFile, own: Listed, columns: tuple[FeedColumn, ...]) -> Iterator[tuple[str, ...]]:
    dialect = file.channel.dialect
    headings = tuple(column.heading if dialect.header else "" for column in columns)
    yield tuple(map(text_cell(dialect), headings))
    yield from feed_rows(file.channel, own, columns)


def _dialect_place(file: FeedFile) -> Place:
    """Return where the encoding is stated: in an extra file's own dialect, or the channel's; a workbook has none."""
    if file.channel.feed == "xlsx":
        return file.place("feed")
    return file.place("dialect", "encoding")


def _too_large(file: FeedFile, own: Listed, columns: tuple[FeedColumn, ...]) -> Iterator[Problem]:
    """Yield what a sheet of a workbook cannot hold."""
    yield from _unwritable_cells(file, own, columns, "xlsx")
    count, long = 0, dict[int, Callable[[], Problem]]()
    for count, row in enumerate(feed_rows(file.channel, own, columns), 1):
        if sum(map(len, row)) * 2 > LONGEST_XLSX_CELL:
            for at in _long_cells(row):
                long.setdefault(at, _long_problem(file, own, columns, (count, at, utf16_units(row[at]))))
    yield from (problem() for problem in long.values())
    if count + file.channel.dialect.header > MOST_ROWS:
        message = f"there are {count:,} rows, and a sheet of a workbook takes {MOST_ROWS:,} with its header."
        yield Problem(file.place("feed"), "cell-long", message, 'Write feed = "csv", or make two channels of it.')


def _long_cells(row: Iterable[str]) -> Iterator[int]:
    return (at for at, cell in enumerate(row) if utf16_units(cell) > LONGEST_XLSX_CELL)


def _long_problem(
    file: FeedFile, own: Listed, columns: tuple[FeedColumn, ...], cell: tuple[int, int, int]
) -> Callable[[], Problem]:
    number, at, size = cell

    def problem() -> Problem:
        where = row_name(number, feed_sources(file.channel, own, columns))
        over = f"{size:,} UTF-16 units, {size - LONGEST_XLSX_CELL:,} over what a cell of a workbook takes"
        hint = f"Shorten it, or write {{{{ ... | cut({LONGEST_XLSX_CELL // 2}) }}}}."
        return Problem(
            file.column_place(columns[at].entry) if columns[at].entry >= 0 else file.place("feed"),
            "cell-long",
            f'column "{columns[at].heading}", {where}: {over} ({LONGEST_XLSX_CELL:,}).',
            hint,
        )

    return problem
