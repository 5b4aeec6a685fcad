"""Checks of data files: columns that name nothing, templates that fail on a row, cells that break a rule or a format.

They look at the very cells that will be written.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from functools import partial
from itertools import chain, islice
from typing import Final

from listkit.check.alike import listed
from listkit.check.places import CheckContext
from listkit.listing.cells import LONGEST_XLSX_CELL, text_cell, unwritable
from listkit.listing.columns import (
    FeedColumn,
    FeedFile,
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
from listkit.problem import FieldError, Level, Problem, must_fix, times
from listkit.units.money import NO_CURRENCY


def row_name(number: int, sources: Iterable[Rows]) -> str:
    """Return "row 1,734 (OHS-2-U01, Potting Bench)" for the row of that number below the header, counted from 1."""
    rows = chain.from_iterable(((listing, offer) for offer in offers) for listing, offers in sources)
    row = next(islice(rows, number - 1, None), None)
    if row is None:
        return f"row {number:,}"
    listing, offer = row
    return f"row {number:,} ({offer.variant.code}, {listing.facts.name})"


# Rules of single columns: what a channel requires, how long a cell may be, which values it takes.
#
# One pass over the rows for all rules; each rule gives one problem: the first row that breaks it, and how many more do.

Listed = tuple[Listing, ...]
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


def rule_problems(file: FeedFile, listings: Listed, columns: tuple[FeedColumn, ...]) -> Iterator[Problem]:
    """Yield what breaks the rules of the file's columns; cells are looked at before an apostrophe makes them safe."""
    stated = [(column, file.channel.columns[column.entry]) for column in columns if column.entry >= 0]
    ruled = [(column, rules) for column, rules in stated if rules.required or rules.longest or rules.allowed]
    if not ruled:
        return
    sources = partial(feed_sources, file.channel, listings, columns)
    breaches = _breaches(file, sources(), ruled)
    for column, (shown, rules) in enumerate(ruled):
        for key, breach in ((key, breaches[column, key]) for key in _RULES if (column, key) in breaches):
            where = f'column "{shown.heading}", {row_name(breach.number, sources())}'
            code, words_of = _RULES[key]
            message, hint = words_of(breach, rules, file.channel.limits.count)
            more = breach.count - 1
            also = f" {times(more, 'more row')} {'are' if more > 1 else 'is'} like it." if more else ""
            yield Problem(file.column_place(shown.entry, key), code, f"{where}: {message}{also}", hint)


def cell_problems(
    file: FeedFile, sources: Iterable[Rows], columns: tuple[FeedColumn, ...]
) -> Iterator[tuple[int, int, Problem]]:
    """Yield what is wrong in single cells of these rows: the row's and the column's number from 0, and the problem."""
    channel = file.channel
    dialect = channel.dialect.model_copy(update={"guard_formulas": False})
    bare, size = tuple(replace(column, once=False) for column in columns), MEASURES[channel.limits.count]
    encoding = dialect.encoding if channel.feed == "csv" else "xlsx" if channel.feed == "xlsx" else ""
    rules = [channel.columns[column.entry] if column.entry >= 0 else None for column in columns]
    for number, row in enumerate(rows_from(sources, bare, dialect_cells(dialect))):
        for at, (cell, rule) in enumerate(zip(row, rules, strict=True)):
            if rule is not None:
                for key in _broken(cell, rule, size):
                    code, words_of = _RULES[key]
                    message, hint = words_of(_Breaches(1, number, cell, {cell: None}), rule, channel.limits.count)
                    yield number, at, Problem(file.column_place(columns[at].entry, key), code, message, hint)
            if encoding in _INSTEAD and (sign := unwritable(cell, encoding)):
                message = f'{encoding} has no "{sign}" (U+{ord(sign):04X}).'
                yield number, at, Problem(file.place("feed"), "character-forbidden", message, _INSTEAD[encoding])


def _breaches(
    file: FeedFile, sources: Iterable[Rows], ruled: list[tuple[FeedColumn, Column]]
) -> dict[tuple[int, str], _Breaches]:
    dialect = file.channel.dialect.model_copy(update={"guard_formulas": False})
    bare = tuple(replace(column, once=False) for column, _ in ruled)
    size = MEASURES[file.channel.limits.count]
    breaches: dict[tuple[int, str], _Breaches] = {}
    for number, row in enumerate(rows_from(sources, bare, dialect_cells(dialect)), 1):
        for at, (cell, (_, rules)) in enumerate(zip(row, ruled, strict=True)):
            for key in _broken(cell, rules, size):
                breaches.setdefault((at, key), _Breaches()).add(number, cell)
    return breaches


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


def _empty(_breach: _Breaches, _rules: Column, _count: str) -> tuple[str, str]:
    hint = 'Fill it in, say what stands there instead with map = { "" = "..." }, or take required out.'
    return "it is empty, and the channel requires it.", hint


def _long(breach: _Breaches, rules: Column, count: str) -> tuple[str, str]:
    size, most = MEASURES[count], rules.longest or 0
    has = size(breach.cell)
    message = f"it has {times(has, UNIT_WORDS[count])}, {has - most} over {most}."
    shorter = cut_words(breach.cell, most, size)
    fits = f'Up to "{shorter}" it fits' if len(shorter) <= _LONGEST_QUOTE else f'Up to "… {shorter[-40:]}" it fits'
    inner = rules.value.strip().removesuffix("}}").removeprefix("{{").strip()
    plain = count == "characters" and "{" not in inner and "%" not in inner and "|" not in inner
    cut = f'; value = "{{{{ {inner} | cut({most}) }}}}" cuts every row.' if plain else "."
    return message, fits + cut


def _not_allowed(breach: _Breaches, rules: Column, _count: str) -> tuple[str, str]:
    values, allowed = list(breach.values), rules.allowed
    named = listed([f'"{value}"' for value in values[:_MOST_NAMED]])
    more = " and others" if len(values) > _MOST_NAMED else ""
    choice = listed([f'"{value}"' for value in allowed[:_MOST_NAMED]]) + (" ..." if len(allowed) > _MOST_NAMED else "")
    verb = "is" if len(values) == 1 else "are"
    folded = {value.casefold(): value for value in allowed}
    near = get_close_matches(values[0].casefold()[:60], folded, 1) or list(folded)[:1]
    hint = f'Write map = {{ "{values[0]}" = "{folded[near[0]]}" }}, if that is meant, or add it to allowed.'
    return f"{named}{more} {verb} not among what it allows ({choice}).", hint


# Each rule of a column by its key: its code, and what gives message and hint.
_RULES: Final = {
    "required": ("cell-empty", _empty),
    "longest": ("cell-long", _long),
    "allowed": ("cell-not-allowed", _not_allowed),
}


# The files as a whole, and whether each format can hold their cells.

MOST_ROWS: Final = 1_048_576
"""Rows of a workbook's sheet; from memory, as every spreadsheet program states it."""


def feed_faults(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A data file's columns name facts that are there, keep to their rules, and every cell can be written."""
    for channel, listed_there in listings.by_channel():
        files = feed_files(channel)
        misnamed = tuple(file_problems(channel)) if files else ()
        yield from misnamed
        # columns that several files share are reported once
        yield from dict.fromkeys(
            problem for file in files for problem in _file_faults(file, listed_there, misnamed=bool(misnamed))
        )


def _file_faults(file: FeedFile, listings: Listed, *, misnamed: bool) -> Iterator[Problem]:
    """Yield what is wrong in one file; its cells are looked at where columns and templates have no fault."""
    channel, of_columns = file.channel, tuple(column_problems(file, listings))
    yield from of_columns
    if any(problem.code == "template-fault" for problem in of_columns) or misnamed:
        return
    columns = feed_columns(channel, listings)
    faults = [_template_fault(file, listings, columns, column) for column in columns if column.template]
    yield from filter(None, faults)
    if any(faults) or channel.feed == "json":
        return
    yield from rule_problems(file, listings, columns)
    if channel.feed == "xlsx":
        yield from _too_large(file, listings, columns)
    elif channel.feed == "csv" and channel.dialect.encoding == "windows-1252":
        yield from _unwritable_cells(file, listings, columns, channel.dialect.encoding)


def _template_fault(
    file: FeedFile, listings: Listed, columns: tuple[FeedColumn, ...], column: FeedColumn
) -> Problem | None:
    """Return the first row on which a template fails."""
    sources = partial(feed_sources, file.channel, listings, columns)
    done = 0
    try:
        for _ in rows_from(sources(), (replace(column, once=False),), dialect_cells(file.channel.dialect)):
            done += 1
    except FieldError as fault:
        message = f'in column "{column.heading}", {row_name(done + 1, sources())}, {fault.message}'
        return Problem(file.column_place(column.entry), "template-fault", message, fault.hint)
    return None


def _unwritable_cells(
    file: FeedFile, listings: Listed, columns: tuple[FeedColumn, ...], encoding: str
) -> Iterator[Problem]:
    """Yield the first cell of each column, its heading included, that holds a sign which the encoding has not.

    The place is where the encoding is stated: in an extra file's own dialect, or the channel's; a workbook has none.
    """
    place = file.place("feed") if file.channel.feed == "xlsx" else file.place("dialect", "encoding")
    dialect = file.channel.dialect
    headings = tuple(column.heading if dialect.header else "" for column in columns)
    rows = chain((tuple(map(text_cell(dialect), headings)),), feed_rows(file.channel, listings, columns))
    seen: set[int] = set()
    for number, row in enumerate(rows):
        if not unwritable("".join(row), encoding):
            continue
        for at, cell in enumerate(row):
            if at not in seen and (sign := unwritable(cell, encoding)):
                seen.add(at)
                where = row_name(number, feed_sources(file.channel, listings, columns)) if number else "its heading"
                message = f'column "{columns[at].heading}", {where}: {encoding} has no "{sign}" (U+{ord(sign):04X}).'
                yield Problem(place, "character-forbidden", message, _INSTEAD[encoding])


_INSTEAD: Final = {
    "windows-1252": 'Write encoding = "utf-8", transliterate = true for the nearest character, or other words.',
    "xlsx": "Take it out of the text.",
}


def _too_large(file: FeedFile, listings: Listed, columns: tuple[FeedColumn, ...]) -> Iterator[Problem]:
    """Yield what a sheet of a workbook cannot hold."""
    yield from _unwritable_cells(file, listings, columns, "xlsx")
    count, long = 0, dict[int, tuple[int, int]]()  # by column, the row and size of its first cell that is too long
    for count, row in enumerate(feed_rows(file.channel, listings, columns), 1):
        if sum(map(len, row)) * 2 > LONGEST_XLSX_CELL:
            for at, size in enumerate(map(utf16_units, row)):
                if size > LONGEST_XLSX_CELL:
                    long.setdefault(at, (count, size))
    for at, (number, size) in long.items():
        where = row_name(number, feed_sources(file.channel, listings, columns))
        over = f"{size:,} UTF-16 units, {size - LONGEST_XLSX_CELL:,} over what a cell of a workbook takes"
        message = f'column "{columns[at].heading}", {where}: {over} ({LONGEST_XLSX_CELL:,}).'
        hint = f"Shorten it, or write {{{{ ... | cut({LONGEST_XLSX_CELL // 2}) }}}}."
        place = file.column_place(columns[at].entry) if columns[at].entry >= 0 else file.place("feed")
        yield Problem(place, "cell-long", message, hint)
    if count + file.channel.dialect.header > MOST_ROWS:
        message = f"there are {count:,} rows, and a sheet of a workbook takes {MOST_ROWS:,} with its header."
        yield Problem(file.place("feed"), "cell-long", message, 'Write feed = "csv", or make two channels of it.')


# Whether what a channel's file says of its data files is used, so that nothing is ignored in silence.

_OF_A_FEED = ("columns", "files", "sort")


def feed_empty(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Yield that a feed has no row; where the last one had some, it would empty the channel and must be looked into.

    A shop without any set that can be listed has other things to mend, and says so; likewise where a text has a fault,
    or shop.toml cannot be read, which stops everything.
    """
    shop = listings.catalog.shop
    if must_fix(listings.problems) or shop.settings.currency == NO_CURRENCY:
        return
    read = {one.folder for one in shop.sets} | {one.folder for one in shop.singles}
    unread = [one for one in shop.folders if one.folder not in read]
    shown = {listing.channel.key for listing in listings if listing.offers}
    for channel in shop.channels:
        before = context.rows_before.get(channel.key, 0)
        if "feed" not in channel.make or channel.key in shown or not (before or listings.catalog.sets):
            continue
        message = f"{channel.name} shows nothing of any set, so feed.{channel.feed} has no row."
        hint = f"Look at what is on hand, at the seasons, and at what {channel.name} takes"
        hint += '; sold_out = "show" shows what is sold out.' if channel.sold_out == "hide" else "."
        if unread:
            hint = f"Mend first what is told of {listed([one.name or one.folder for one in unread])}."
        level = None
        if before:
            message += f" The last one had {times(before, 'row')}: sent there, it takes them all down."
            hint += ' To send it all the same, write feed-empty = "look at" under [checks] in shop.toml.'
            level = Level.MUST_FIX
        key = "sold_out" if channel.sold_out == "hide" else "make"
        yield Problem(channel.place(key), "feed-empty", message, hint, level)


def key_unused(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Once a channel: columns and rows that feed.json has none of, or a feed described and none made."""
    for channel in listings.catalog.shop.channels:
        if "feed" not in channel.make:
            yield from _not_made(channel)
        elif channel.feed == "json":
            yield from _not_in_json(channel)


def _not_made(channel: Channel) -> Iterator[Problem]:
    """Yield that a feed is described, at the first key which does so."""
    key = next((key for key in _OF_A_FEED if getattr(channel, key)), None)
    if key is not None:
        shown = {"columns": "[[column]]", "files": "[[file]]"}.get(key, key)
        message = f'{shown} describes a data file, and make has no "feed".'
        place = channel.place({"columns": "column", "files": "file"}.get(key, key))
        made = ", ".join(f'"{what}"' for what in (*channel.make, "feed"))
        yield Problem(place, "key-unused", message, f"Write make = [{made}], or take it out.")


def _not_in_json(channel: Channel) -> Iterator[Problem]:
    """Yield that feed.json keeps to its own form, unless a table beside it has what is said."""
    beside = [file for file in feed_files(channel) if not file.is_feed]
    used = {where[:2] for file in beside for where in file.columns if where[:1] == ("column",)}
    unused = [at for at in range(len(channel.columns)) if ("column", at) not in used]
    hint = 'Write feed = "jsonl" for rows under your own headings, or "csv"; or take it out.'
    if unused:
        more = f" and {times(len(unused) - 1, 'more column')} stand" if len(unused) > 1 else " stands"
        first = channel.columns[unused[0]].heading
        message = f'feed.json has the schema.org form and no columns of yours; "{first}"{more} nowhere.'
        yield Problem(channel.place("column", unused[0], "heading"), "key-unused", message, hint)
    if channel.rows != "variant" and all(entry.rows for entry in channel.files):
        message = f'feed.json holds each set with its variants; rows = "{channel.rows}" changes nothing in it.'
        yield Problem(channel.place("rows"), "key-unused", message, hint)
