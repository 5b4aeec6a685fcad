"""Checks of data files: columns that name nothing, templates that fail on a row, cells that cannot be written.

They look at the very cells that will be written.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from functools import partial
from itertools import chain, islice
from typing import Final

from listkit.check.alike import counted, listed
from listkit.check.places import CheckContext
from listkit.listing.cells import LONGEST_XLSX_CELL, text_cell, unwritable
from listkit.listing.columns import (
    FeedColumn,
    FeedFile,
    channel_place,
    column_problems,
    feed_columns,
    feed_files,
    file_problems,
)
from listkit.listing.formats import MEASURES, UNIT_WORDS, Measure, utf16_units
from listkit.listing.listings import Listing, Listings
from listkit.listing.rows import Rows, dialect_cells, feed_rows, feed_sources, rows_from
from listkit.listing.titles import cut_words
from listkit.model.channel import Channel, Column
from listkit.problem import FieldError, Place, Problem

# Names a row of a data file as an owner finds it: its number below the header, its code, its set.


def row_name(number: int, sources: Iterable[Rows]) -> str:
    """Return "row 1,734 (OHS-2-U01, Potting Bench)" for the row of that number, counted from 1."""
    rows = chain.from_iterable(((listing, offer) for offer in offers) for listing, offers in sources)
    found = next(islice(rows, number - 1, None), None)
    if found is None:
        return f"row {number:,}"
    listing, offer = found
    return f"row {number:,} ({offer.variant.code}, {listing.facts.name})"


# Rules of single columns: what a channel requires, how long a cell may be, which values it takes.
#
# One pass over the rows for all rules. Each rule is told once, with the first row that breaks it and how many more
# do.

_MOST_NAMED: Final = 5  # values told of one column
_LONGEST_QUOTE: Final = 100


@dataclass(slots=True)
class _Breaches:
    """How often one rule of one column is broken, the first row and cell, and some of the values."""

    count: int = 0
    number: int = 0
    cell: str = ""
    values: dict[str, None] = field(default_factory=dict)

    def add(self, number: int, cell: str) -> None:
        if not self.count:
            self.number, self.cell = number, cell
        self.count += 1
        if len(self.values) <= _MOST_NAMED:
            self.values.setdefault(cell)


def rule_problems(file: FeedFile, own: tuple[Listing, ...], columns: tuple[FeedColumn, ...]) -> Iterator[Problem]:
    """Yield what breaks the rules of the file's columns; cells are looked at before an apostrophe makes them safe."""
    stated = [(column, file.channel.columns[column.entry]) for column in columns if column.entry >= 0]
    ruled = [(column, rules) for column, rules in stated if rules.required or rules.longest or rules.allowed]
    if not ruled:
        return
    sources = partial(feed_sources, file.channel, own, columns)
    breaches = _breaches(file, sources(), ruled)
    for column, (shown, rules) in enumerate(ruled):
        for key, found in ((key, breaches[column, key]) for key in _KEYS if (column, key) in breaches):
            where = f'column "{shown.heading}", {row_name(found.number, sources())}'
            message, hint = _TOLD[key](_Case(found, rules, file.channel.limits.count))
            others = f" {counted(found.count - 1, 'more row')} {_like(found.count - 1)}." if found.count > 1 else ""
            place = file.column_place(shown.entry, key)
            yield Problem(place, _CODES[key], f"{where}: {message}{others}", hint)


def _like(count: int) -> str:
    return "are like it" if count > 1 else "is like it"


def _breaches(
    file: FeedFile, sources: Iterable[Rows], ruled: list[tuple[FeedColumn, Column]]
) -> dict[tuple[int, str], _Breaches]:
    dialect = file.channel.dialect.model_copy(update={"guard_formulas": False})
    bare = tuple(replace(column, once=False) for column, _ in ruled)
    size = MEASURES[file.channel.limits.count]
    found: dict[tuple[int, str], _Breaches] = {}
    for number, row in enumerate(rows_from(sources, bare, dialect_cells(dialect)), 1):
        for at, (cell, (_, rules)) in enumerate(zip(row, ruled, strict=True)):
            for key in _broken(cell, rules, size):
                found.setdefault((at, key), _Breaches()).add(number, cell)
    return found


def _broken(cell: str, rules: Column, size: Measure) -> Iterator[str]:
    """Yield the keys of the rules that a cell breaks; an empty one only breaks that it is required."""
    if not cell.strip():
        if rules.required:
            yield "required"
        return
    if rules.longest is not None and size(cell) > rules.longest:
        yield "longest"
    if rules.allowed and cell not in rules.allowed:
        yield "allowed"


@dataclass(frozen=True, slots=True)
class _Case:
    found: _Breaches
    rules: Column
    count: str


def _empty(_case: _Case) -> tuple[str, str]:
    hint = 'Fill it in, say what stands there instead with map = { "" = "..." }, or take required out.'
    return "it is empty, and the channel requires it.", hint


def _long(case: _Case) -> tuple[str, str]:
    size, most = MEASURES[case.count], case.rules.longest or 0
    has = size(case.found.cell)
    message = f"it has {counted(has, UNIT_WORDS[case.count])}, {has - most} over {most}."
    shorter = cut_words(case.found.cell, most, size)
    fits = f'Up to "{shorter}" it fits' if len(shorter) <= _LONGEST_QUOTE else f'Up to "… {shorter[-40:]}" it fits'
    inner = case.rules.value.strip().removesuffix("}}").removeprefix("{{").strip()
    plain = case.count == "characters" and "{" not in inner and "%" not in inner and "|" not in inner
    cut = f'; value = "{{{{ {inner} | cut({most}) }}}}" cuts every row.' if plain else "."
    return message, fits + cut


def _not_allowed(case: _Case) -> tuple[str, str]:
    values, allowed = list(case.found.values), case.rules.allowed
    named = listed([f'"{value}"' for value in values[:_MOST_NAMED]])
    more = " and others" if len(values) > _MOST_NAMED else ""
    choice = listed([f'"{one}"' for one in allowed[:_MOST_NAMED]]) + (" ..." if len(allowed) > _MOST_NAMED else "")
    verb = "is" if len(values) == 1 else "are"
    folded = {one.casefold(): one for one in allowed}
    near = get_close_matches(values[0].casefold()[:60], folded, 1) or list(folded)[:1]
    hint = f'Write map = {{ "{values[0]}" = "{folded[near[0]]}" }}, if that is meant, or add it to allowed.'
    return f"{named}{more} {verb} not among what it allows ({choice}).", hint


_KEYS: Final = ("required", "longest", "allowed")
_CODES: Final = {"required": "cell-empty", "longest": "cell-long", "allowed": "cell-not-allowed"}
_TOLD: Final = {"required": _empty, "longest": _long, "allowed": _not_allowed}


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


# Checks that what a channel's file says of its data files is used: nothing she wrote is passed over in silence.

_OF_A_FEED = ("columns", "files", "sort")


def key_unused(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a channel: columns and rows that feed.json has none of, or a feed described and none made."""
    for channel in listings.catalog.shop.channels:
        if "feed" not in channel.make:
            yield from _not_made(channel)
        elif channel.feed == "json":
            yield from _not_in_json(channel)


def _not_made(channel: Channel) -> Iterator[Problem]:
    """Yield that a feed is described, at the first key which does so."""
    said = next((key for key in _OF_A_FEED if getattr(channel, key)), None)
    if said is not None:
        shown = {"columns": "[[column]]", "files": "[[file]]"}.get(said, said)
        message = f'{shown} describes a data file, and make has no "feed".'
        place = channel_place(channel, {"columns": "column", "files": "file"}.get(said, said))
        made = ", ".join(f'"{one}"' for one in (*channel.make, "feed"))
        yield Problem(place, "key-unused", message, f"Write make = [{made}], or take it out.")


def _not_in_json(channel: Channel) -> Iterator[Problem]:
    """Yield that feed.json keeps to its own form, unless a table beside it has what is said."""
    beside = [one for one in feed_files(channel) if not one.is_feed]
    used = {where[:2] for one in beside for where in one.columns if where[:1] == ("column",)}
    unused = [at for at in range(len(channel.columns)) if ("column", at) not in used]
    hint = 'Write feed = "jsonl" for rows under your own headings, or "csv"; or take it out.'
    if unused:
        more = f" and {counted(len(unused) - 1, 'more column')} stand" if len(unused) > 1 else " stands"
        first = channel.columns[unused[0]].heading
        message = f'feed.json has the schema.org form and no columns of yours; "{first}"{more} nowhere.'
        yield Problem(channel_place(channel, "column", unused[0], "heading"), "key-unused", message, hint)
    if channel.rows != "variant" and all(entry.rows for entry in channel.files):
        message = f'feed.json holds each set with its variants; rows = "{channel.rows}" changes nothing in it.'
        yield Problem(channel_place(channel, "rows"), "key-unused", message, hint)
