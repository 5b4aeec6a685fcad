"""A place's tables as they will be written: pages of rows with what is wrong at a cell; and what its columns hold.

The rows are those of the last whole check, of which a page makes its own 200 alone. A sample of a column that is being
typed is made of the same listings.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import islice
from typing import Final

from pydantic import ValidationError
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from listkit.actions.facts import table_columns
from listkit.actions.learn import field_meanings
from listkit.check.feeds import cell_problems
from listkit.compute.seasons import Phase
from listkit.desk import changes, saving
from listkit.desk.changes import Outcome
from listkit.desk.edits import Add, Edit, Role, Target
from listkit.desk.field_values import Input
from listkit.desk.fields import Form, FormField, edits_of, value_of
from listkit.desk.file_form import (
    NOTHING_TYPED,
    Sent,
    Typed,
    by_field,
    form_of,
    list_edits,
    names_in,
    sent_in,
    texts_of,
    wrong_by_field,
)
from listkit.desk.page import Desk, in_full, page, say, text_of
from listkit.desk.places import (
    channel_of,
    checked_now,
    fields_to_change,
    known,
    place_address,
    place_files,
    problems_at,
)
from listkit.desk.sent import number_in
from listkit.edit.toml_text import TomlValue
from listkit.fields import FIELDS
from listkit.listing.columns import FeedFile, feed_columns, feed_files
from listkit.listing.listings import Listing
from listkit.listing.rows import FeedColumn, Rows, dialect_cells, feed_sources, rows_from
from listkit.model.channel import Channel, Column
from listkit.problem import FieldError, Problem
from listkit.read.faults import faults_of

PAGE: Final = 200
"""Rows of a page."""
_SAMPLE: Final = 3  # rows beside a column
_MOST: Final = 10**6
_MARK: Final = re.compile(r"</?[a-z]+[ />]|&[a-z]+;")
_LONG: Final = 90  # letters of a cell that are shown before it is opened
_COLUMNS: Final = "column"
_PICK: Final = "pick/"
"""Before the name of a column's value: the fact that was chosen for it from a list."""
_EXAMPLE: Final = 60  # letters of a cell in the sentence on its column
_WORD: Final = re.compile(r"[A-Za-z]\w*")
_OF_TABLES: Final = frozenset({"column", "dialect", "feed", "file", "rows", "sort"})
"""Keys of a place's file that shape its tables."""


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell of a table, and what is wrong in it; of a long one `begins` is what is shown first."""

    text: str
    problems: tuple[Problem, ...] = ()

    @property
    def begins(self) -> str:
        """The first letters of a long cell, "" of one that is not."""
        return f"{self.text[:_LONG]}…" if len(self.text) > _LONG + 1 else ""


@dataclass(frozen=True, slots=True)
class TableRow:
    """A row by its number from 1, what it is of, and its cells."""

    number: int
    set_code: str
    cells: tuple[Cell, ...]

    @property
    def is_wrong(self) -> bool:
        """Whether anything is wrong in it."""
        return any(cell.problems for cell in self.cells)


@dataclass(frozen=True, slots=True)
class TablePage:
    """A page of a table: its headings, its rows, how many there are in all, and the pages."""

    headings: tuple[str, ...]
    rows: tuple[TableRow, ...]
    count: int
    page: int
    pages: int


def table_page(file: FeedFile, listings: tuple[Listing, ...], wanted: int) -> TablePage:
    """Return the page of a data file's rows that is wanted, from 1, or the last.

    Raises:
        FieldError: a column or a template of it has a fault, which the check tells too.
    """
    channel = file.channel
    columns = table_columns(channel, listings)
    sources = tuple(feed_sources(channel, listings, columns))
    count = sum(len(offers) for _, offers in sources)
    pages = max(1, -(-count // PAGE))
    number = min(max(wanted, 1), pages)
    first, chosen = _around(sources, (number - 1) * PAGE)
    cells = rows_from(chosen, columns, dialect_cells(channel.dialect))
    wrong: dict[tuple[int, int], list[Problem]] = {}
    for row, column, problem in cell_problems(file, chosen, columns):
        wrong.setdefault((row, column), []).append(problem)
    codes = [listing.facts.code for listing, offers in chosen for _ in offers]
    start = (number - 1) * PAGE - first
    rows = tuple(
        TableRow(
            number=first + at + 1,
            set_code=codes[at],
            cells=tuple(Cell(text, tuple(wrong.get((at, column), ()))) for column, text in enumerate(row)),
        )
        for at, row in enumerate(islice(cells, start + PAGE))
        if at >= start
    )
    return TablePage(tuple(column.heading for column in columns), rows, count, number, pages)


def _around(sources: tuple[Rows, ...], start: int) -> tuple[int, tuple[Rows, ...]]:
    """Return whole listings around a page of rows that begins at `start`, and the number of their first row, from 0."""
    first, at, chosen = 0, 0, list[Rows]()
    for listing, offers in sources:
        if at + len(offers) > start and at < start + PAGE:
            first = first if chosen else at
            chosen.append((listing, offers))
        at += len(offers)
    return first, tuple(chosen)


def files_of(channel: Channel) -> tuple[FeedFile, ...]:
    """Return the tables of a place: its feed and its extra files, else the one by which it is recorded."""
    return feed_files(channel) or (FeedFile("price-list" if channel.is_price_list else "feed", channel),)


def show(desk: Desk, request: Request) -> Response:
    """Return a page of a place's table."""
    seen, full, fresh = known(desk)
    checked = full.checked if full else None
    channel = channel_of(seen, request.path_params["key"])
    if channel is None:
        return page(desk, request, "places", template="nothing", status=404)
    files = files_of(channel)
    wanted, number = request.query_params.get("file", ""), request.query_params.get("page", "")
    file = next((file for file in files if file.name == wanted), files[0])
    table, fault = None, FieldError(full.fault) if full is not None and full.fault else None
    if checked is not None:
        try:
            table = table_page(
                file, checked.listings_of(channel.key), int(number) if number.isdecimal() and len(number) < 8 else 1
            )
        except FieldError as unfit:
            fault = unfit
    return page(
        desk,
        request,
        "places",
        template="feed",
        channel=channel,
        files=files,
        file=file,
        table=table,
        fault=fault,
        problems=tuple(each for each in problems_at(full, seen, channel.key) if _OF_TABLES & {*each.place.key[:1]}),
        left_out=tuple(each.name or each.folder for each in checked.aside.broken) if checked else (),
        out_of_season=_out_of_season(file.channel, checked.listings_of(channel.key)) if table and checked else (),
        has_marks=table is not None and any(_MARK.search(cell.text) for row in table.rows for cell in row.cells),
        fresh=fresh,
    )


def _out_of_season(channel: Channel, listings: tuple[Listing, ...]) -> tuple[str, ...]:
    """Return the names of sets of which a table shows no stock for their season alone."""
    if all(
        column.field is None or column.field.name != "inventoryLevel" for column in table_columns(channel, listings)
    ):
        return ()
    apart = (each for each in listings if each.phase is not Phase.ON_SALE)
    return tuple(each.facts.name for each in apart if each.facts.can_make and not any(it.stock for it in each.offers))


# Columns


@dataclass(frozen=True, slots=True)
class ColumnRow:
    """A [[column]] on its page: its fields by key, and what stands in it in three rows, or why nothing can.

    `heading` is the place's as its sheet has it, `says` a sentence on what goes below it, `fact` the field that does
    alone, "" where something else stands there.
    """

    at: int
    fields: Mapping[str, FormField]
    cells: tuple[str, ...]
    fault: str = ""
    heading: str = ""
    says: str = ""
    fact: str = ""


def fact_words(name: str) -> str:
    """Return a fact in the owner's words, of a family's member with its number; "" for what is no fact.

    >>> fact_words("price"), fact_words("choice_2"), fact_words("GIFTS")
    ('what a buyer pays', 'what was chosen (number 2)', '')
    """
    family, _, number = name.rpartition("_")
    if name in FIELDS:
        return say(f"fact.{name}")
    if family in FIELDS and FIELDS[family].many and number.isdecimal():
        return say("cols.member", what=say(f"fact.{family}"), number=number)
    return ""


def facts_by_use() -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    """Return all facts that a column may hold under two titles, those that most places want first."""
    named = [(name, fact_words(name)) for name, _ in field_meanings()]
    often = tuple(each for each in named if each[0] in FIELDS and FIELDS[each[0]].common)
    return (say("cols.often"), often), (say("cols.all"), tuple(each for each in named if each not in often))


def heading_of(column: Column) -> str:
    """Return a column's heading as it stands in the first row, of a repeated one that of the first."""
    first = column.heading.replace("{nn}", f"{column.begin:02}").replace("{n}", str(column.begin))
    return f"{first} …" if column.repeat else first


def sentence_of(column: Column, cells: tuple[str, ...]) -> str:
    """Return what stands below a column's heading, in a sentence."""
    heading, value = heading_of(column) or say("cols.no_heading"), column.value.strip()
    cell = next((cell for cell in cells if cell), "")
    example = say("cols.example", cell=f"{cell[:_EXAMPLE]}…" if len(cell) > _EXAMPLE + 1 else cell)
    example = example if cell else say("cols.nothing_in_these") if cells else ""
    if not value:
        return say("cols.under_nothing", heading=heading)
    if fact := fact_words(value):
        return say("cols.under", heading=heading, what=fact, example=example)
    if "{{" not in value and "{%" not in value:
        return say("cols.under_same", heading=heading, text=value)
    named = dict.fromkeys(words for name in _WORD.findall(value) if (words := fact_words(name)))
    return say("cols.under_words", heading=heading, what=", ".join(named) or value, example=example)


def show_columns(desk: Desk, request: Request, *, typed: Typed = NOTHING_TYPED) -> Response:
    """Return a place's columns: her heading, our field or template, and what then stands in three rows."""
    key = request.path_params["key"]
    target = Target(Role.CHANNEL, key)
    # before the look: what is shown is never older than the digest
    file = changes.see(desk.shop_state.folder, target) if key in place_files(desk) else None
    seen, full, fresh = known(desk)
    channel, fields = channel_of(seen, key), form_of(Channel, file.content) if file is not None else None
    if channel is None or file is None or fields is None:
        return page(desk, request, "places", template="nothing", status=404)
    listings = full.checked.listings_of(key) if full is not None and full.checked is not None else ()
    every = {each.name: each for each in fields.every()}
    first = _first(request.query_params.get("from", ""))
    sources, count = _sample_sources(channel, listings, first)
    return page(
        desk,
        request,
        "places",
        template="place_columns",
        channel=channel,
        columns=tuple(_rows(every[_COLUMNS], channel, listings, sources, typed)),
        blank={str(each.key[-1]): each for each in every[_COLUMNS].blanks[0].fields},
        blank_fields=every[_COLUMNS].blanks[0].fields,
        named=tuple(offer.variant.code for _, offers in sources for offer in offers),
        first=first,
        count=count,
        following=first + _SAMPLE if first + _SAMPLE < count else 0,
        facts=facts_by_use(),
        pick=_PICK,
        shown=[(target, file.digest)],
        fresh=fresh,
        typed=typed.texts,
        wrong=typed.wrong,
        at=by_field(problems_at(full, seen, key), names_in(fields)),
        offers={},
        status=422 if typed.wrong else 200,
    )


def _first(text: str) -> int:
    return min(int(text), _MOST) if text.isdecimal() and len(text) < 8 else 0


def _sample_sources(channel: Channel, listings: tuple[Listing, ...], first: int) -> tuple[tuple[Rows, ...], int]:
    """Return three rows of a place's table, each by itself, and how many there are."""
    columns = (FeedColumn("", once=False),)
    try:
        rows = [(listing, (offer,)) for listing, offers in feed_sources(channel, listings, columns) for offer in offers]
    except FieldError:  # it is sorted by what is not there, which the check tells
        rows = []
    return tuple(rows[first : first + _SAMPLE]), len(rows)


def _rows(
    field: FormField, channel: Channel, listings: tuple[Listing, ...], sources: tuple[Rows, ...], typed: Typed
) -> Iterator[ColumnRow]:
    for at, entry in enumerate(field.entries):
        by_key = {str(each.key[-1]): each for each in entry}
        sent = {each.name: (typed.texts[each.name],) for each in entry if each.name in typed.texts}
        column = channel.columns[at] if at < len(channel.columns) and not sent else _column_of(entry, sent, channel)
        if isinstance(column, str):
            yield ColumnRow(at, by_key, (), column)
            continue
        cells, fault = sample_of(channel, column, listings, sources)
        fact = column.value.strip() if fact_words(column.value.strip()) else ""
        yield ColumnRow(
            at, by_key, cells, fault=fault, heading=heading_of(column), says=sentence_of(column, cells), fact=fact
        )


def sample_of(
    channel: Channel, column: Column, listings: tuple[Listing, ...], sources: tuple[Rows, ...]
) -> tuple[tuple[str, ...], str]:
    """Return what stands in a column in some rows, of a repeated one in its first member; or why nothing can."""
    alone = channel.model_copy(update={"columns": (column.model_copy(update={"beside": False}),)})
    try:
        columns = feed_columns(alone, listings)[:1]
        bare = tuple(replace(each, once=False) for each in columns)
        return tuple(row[0] for row in rows_from(sources, bare, dialect_cells(channel.dialect))), ""
    except FieldError as fault:
        return (), in_full(fault)


def _column_of(entry: tuple[FormField, ...], sent: Sent, channel: Channel) -> Column | str:
    """Return a column as it is typed, or what is wrong with it."""
    table = {}
    for field in entry:
        value = value_of(field, sent[field.name]) if field.name in sent else field.raw
        if value is not None and field.kind is not Input.TABLE:
            table[str(field.key[-1])] = value
    try:
        return Column.model_validate({"heading": "", **table})
    except ValidationError as error:
        fault = faults_of(Column, error)[0]
        return in_full(fault)


def _ours(desk: Desk, key: str, target: Target) -> Iterator[Edit]:
    """Yield the edits that write our own columns into a place's file, as its table has them now."""
    checked = checked_now(desk)
    channel = checked.channel(key)
    if channel is None or channel.columns:
        return
    for column in table_columns(channel, checked.listings_of(key)):
        name = column.field.name if column.field else ""
        table: dict[str, TomlValue] = {
            "heading": column.heading,
            "value": f"{name}_{column.number}" if column.number > (name == "image") else name,
        }
        yield Edit(target, Add((_COLUMNS,), table | ({"once": True} if column.once else {})))


def sample(desk: Desk, request: Request, form_sent: FormData) -> Response:
    """Return what would stand in a column that is being typed; nothing is kept."""
    key, at = request.path_params["key"], text_of(form_sent, "column")
    seen, full, _ = known(desk)
    channel = channel_of(seen, key)
    fields = form_of(Channel, changes.see(desk.shop_state.folder, Target(Role.CHANNEL, key)).content)
    entry = _entry(fields, at) if fields else None
    if channel is None or entry is None or full is None or full.checked is None:
        return JSONResponse({"cells": [], "fault": ""})
    listings = full.checked.listings_of(key)
    sources, _ = _sample_sources(channel, listings, _first(text_of(form_sent, "from")))
    column = _column_of(entry, sent_in(form_sent), channel)
    if isinstance(column, str):
        return JSONResponse({"cells": [], "fault": column})
    cells, fault = sample_of(channel, column, listings, sources)
    says = {"heading": heading_of(column), "says": "" if fault else sentence_of(column, cells)}
    return JSONResponse({"cells": cells, "fault": fault, **says})


def _picked(fields: Form, sent: Sent) -> dict[str, list[str]]:
    """Return what was sent with the facts that were chosen from lists as values; what was typed anew goes before."""
    values = {each.name: each.value for each in fields.every()}
    result = {name: list(texts) for name, texts in sent.items()}
    for name, texts in sent.items():
        of, fact = name.removeprefix(_PICK), "".join(texts[-1:])
        if name.startswith(_PICK) and fact_words(fact) and "".join(sent.get(of, ())[-1:]) == values.get(of, ""):
            result[of] = [fact]
    return result


def _entry(fields: Form, at: str) -> tuple[FormField, ...] | None:
    """Return the fields of a column by its number, or those of the one that may be added."""
    field, number = next(each for each in fields.every() if each.name == _COLUMNS), number_in(at)
    if 0 <= number < len(field.entries):
        return field.entries[number]
    return field.blanks[0].fields if number == len(field.entries) else None


def change_columns(desk: Desk, request: Request, form_sent: FormData) -> Response:
    """Save what differs in a place's columns; take one out, move one, add one."""
    key, target = request.path_params["key"], Target(Role.CHANNEL, request.path_params["key"])
    fields = fields_to_change(desk, target)
    sent = _picked(fields, sent_in(form_sent))
    texts, do = texts_of(sent), text_of(form_sent, "do")
    if do == "look":  # only what would then stand there
        return show_columns(desk, request, typed=Typed(texts))
    if do == "begin":
        edits = list(_ours(desk, key, target))
    else:
        edits = [*edits_of(target, fields, sent), *list_edits(do, target, fields, sent)]

    def refused(outcome: Outcome) -> Response:
        return show_columns(desk, request, typed=Typed(texts, wrong_by_field(outcome, fields)))

    anchor = f"#{do.split(' ')[1].replace('/', '-')}" if do.startswith("take ") else ""
    note = say("one.saved") if edits else say("one.same")
    saved = saving.Saved(place_address(key, "columns") + anchor, note, wrong=refused, by_place=True)
    return saving.save(desk, request, form_sent, edits=edits, saved=saved)
