"""Holds what a channel shows now, as it gives it out of itself, against what it would show today.

First the export and our rows are brought to the same columns; what has no counterpart is told as not compared.
"""

import os
import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any, Final

from listkit.actions.changes import CHANGES, change_folder, rows_of_codes
from listkit.actions.facts import table_columns
from listkit.check.scope import Scope, Scopes
from listkit.fields import FIELDS, Kind
from listkit.ledger.compare import Compared, ShownColumn, ShownRow, Uncompared, compare
from listkit.listing.cells import ISO_DAY, Cell, day_text
from listkit.listing.listings import Listing
from listkit.listing.replacing import Signs
from listkit.listing.rows import FeedColumn, dialect_cells, row_offers, rows_of
from listkit.model.channel import Channel
from listkit.model.codes import OldCodes
from listkit.pipeline import Listed, draft_folders, find_place
from listkit.problem import FieldError, Level, Problem, quoted
from listkit.read.export_file import EXPORT_LIMIT, Export, fact_text, read_export
from listkit.read.source import read_bytes
from listkit.read.wording import listed as listed_text
from listkit.write.record import json_value

_CODED: Final = frozenset({"sku", "inProductGroupWithID", "itemCodes"})
_CORRECTIONS: Final = "corrections.csv"
_APART: Final = re.compile(r"[\s_-]+")


@dataclass(frozen=True, slots=True)
class Aligned:
    """Our columns, and where each stands in the export (None: nowhere); `code` is where the codes stand.

    `not_compared` are headings of theirs that are none of ours, or stand twice.
    """

    columns: tuple[FeedColumn, ...]
    places: tuple[int | None, ...]
    code: int
    not_compared: tuple[Uncompared, ...]

    @property
    def absent(self) -> tuple[int, ...]:
        """Columns that the export has not."""
        return tuple(at for at, place in enumerate(self.places) if place is None)


def folded(heading: str) -> str:
    """Return a heading without what programs change: case, spaces, marks before it."""
    bare = unicodedata.normalize("NFKC", heading).replace("\ufeff", "").strip().removeprefix("'")
    return _APART.sub(" ", bare).strip().casefold()


def known_headings(listed: Listed, channel: Channel) -> frozenset[str]:
    """Return every heading of the channel's table, as `folded` gives them."""
    return frozenset(folded(column.heading) for column in table_columns(channel, listed.listings_of(channel.key)))


def aligned(export: Export, listed: Listed, channel: Channel) -> Aligned:
    """Return where our columns stand in the export.

    Raises:
        FieldError: no column holds the codes.
    """
    columns = table_columns(channel, listed.listings_of(channel.key))
    if export.facts:
        columns = _fact_columns(export, columns)
    places: dict[str, int] = {}
    remarks = []
    headings = [(folded(column.heading), _bare(column, channel)) for column in columns]
    ours = {name for names in headings for name in names}
    for at, heading in enumerate(export.headings):
        if folded(heading) in places:
            remarks.append(Uncompared(f'column "{heading}"', "the export has it twice; the first one counts"))
        elif folded(heading) in ours:
            places[folded(heading)] = at
        elif heading:
            remarks.append(Uncompared(f'column "{heading}"', f"{channel.name} has no such column"))
    found = tuple(places.get(heading, places.get(bare)) for heading, bare in headings)
    return Aligned(columns, found, _code_place(columns, found, export, listed, channel), tuple(remarks))


def _bare(column: FeedColumn, channel: Channel) -> str:
    """Return the heading of one of our own columns without its unit, as exports of feeds from before may have it."""
    own = not channel.columns and column.field is not None and not column.number
    return folded(column.field.name if own and column.field else column.heading)


def _fact_columns(export: Export, columns: tuple[FeedColumn, ...]) -> tuple[FeedColumn, ...]:
    """Return the columns of a JSON export: the channel's own, or fields by name, whichever it has more of."""
    headings = {folded(heading) for heading in export.headings}
    by_name = tuple(FeedColumn(name, FIELDS[name]) for name in export.headings if name in FIELDS)
    own = sum(folded(column.heading) in headings for column in columns)
    return by_name if len(by_name) > own else columns


def _code_place(
    columns: tuple[FeedColumn, ...], places: Sequence[int | None], export: Export, listed: Listed, channel: Channel
) -> int:
    at = next((at for at, column in enumerate(columns) if column.field is FIELDS["sku"]), None)
    if at is None:
        raise FieldError(f"no column of {channel.name} holds the code.", 'Add a [[column]] with value = "sku".')
    place = places[at]
    if place is not None:
        return place
    there = listed_text(map(quoted, export.headings[:8]), "and")
    other = looks_like(export, listed, channel)
    hint = f"It looks like an export of {other}." if other else f"Its columns are {there}."
    raise FieldError(f'the export has no column "{columns[at].heading}", which holds the code.', hint)


def looks_like(export: Export, listed: Listed, channel: Channel) -> str:
    """Return the names of other channels that have most of the export's headings, "" where this one has as many."""
    headings = {folded(heading) for heading in export.headings}
    counts = {one.key: len(headings & known_headings(listed, one)) for one in listed.shop.channels}
    most = max(counts.values())
    names = [one.name for one in listed.shop.channels if counts[one.key] == most]
    return " or ".join(names) if counts[channel.key] < most else ""


def shown_columns(places: Aligned, channel: Channel, *, facts: bool) -> tuple[ShownColumn, ...]:
    """Return how each column is compared."""
    day = partial(day_text, form=ISO_DAY if facts else channel.dialect.date)
    return tuple(
        ShownColumn(
            heading=column.heading,
            field=column.field.name if column.field else "",
            number=column.number,
            unit=column.unit if column.kind is Kind.WEIGHT and column.unit else "g",
            once=column.once,
            day=day,
            sent=Signs.of(channel.replace).text,
        )
        for column in places.columns
    )


def our_rows(places: Aligned, listings: tuple[Listing, ...], channel: Channel, *, facts: bool) -> Iterator[ShownRow]:
    """Yield our rows; a column that is filled once has its cell in every row, to be held against any."""
    columns = tuple(replace(column, once=False) for column in places.columns)
    cells = _fact_cell if facts else dialect_cells(channel.dialect)
    for listing in listings:
        rows = rows_of((listing,), columns, cells, rows=channel.row_kind)
        offers = row_offers(listing, channel.row_kind)
        for number, (offer, row) in enumerate(zip(offers, rows, strict=True)):
            yield ShownRow(offer.variant.code, 0, row, later=number > 0)


def _fact_cell(column: FeedColumn) -> Cell:
    def cell(value: Any) -> str:  # noqa: ANN401 (a fact of any kind)
        return fact_text(json_value(column.kind, value, column.unit))

    return cell


def their_rows(places: Aligned, export: Export, old_codes: OldCodes, met: dict[str, str]) -> Iterator[ShownRow]:
    """Yield the export's rows in our columns and today's codes; old ones of rows are put into `met`.

    Of JSON, what is not there is not known there.
    """
    missing = "" if export.facts else None
    coded = {at for at, column in enumerate(places.columns) if column.field and column.field.name in _CODED}
    for row in export.rows:
        cells = [missing if place is None else row.cells[place] for place in places.places]
        code = (row.cells[places.code] or "").strip()
        if old_codes:
            cells = [old_codes.within(cell) if at in coded and cell else cell for at, cell in enumerate(cells)]
            met |= {code: old_codes(code)} if old_codes(code) != code else {}
        yield ShownRow(old_codes(code), row.line, tuple(cells))


# The comparison, and the rows that would mend what differs


@dataclass(frozen=True, slots=True)
class ChannelExport:
    """What a channel gives out, aligned with our columns; `likely` names other channels whose columns it rather has."""

    channel: Channel
    export: Export
    places: Aligned
    likely: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """An export of this name held against what its channel shows; `likely` as of the export."""

    file: str
    likely: str
    compared: Compared


def open_export(listed: Listed, wanted: str, path: Path) -> ChannelExport:
    """Return the export of a channel, which is named by its key or name.

    Raises:
        FieldError: there is no such channel, the file cannot be read, or no column of it holds the codes.
    """
    _compared_channel(listed, wanted)
    content = read_bytes(path.parent, path.name, limit=EXPORT_LIMIT)
    if isinstance(content, Problem):
        missing = content.code == "file-missing"
        raise FieldError(content.message, "Export it again, or name where it lies." if missing else content.hint)
    return understand_export(listed, wanted, path.name, content)


def understand_export(listed: Listed, wanted: str, file: str, content: bytes) -> ChannelExport:
    """Return the export of this name and these bytes; raises as `open_export` does."""
    channel = _compared_channel(listed, wanted)
    export = _read_export(file, content, listed, channel)
    return ChannelExport(channel, export, aligned(export, listed, channel), looks_like(export, listed, channel))


def _compared_channel(listed: Listed, wanted: str) -> Channel:
    channel = listed.channel(find_place(listed, wanted))
    if channel is None:
        raise FieldError("Shops that buy from us show no table of ours.", "Name a channel.")
    return channel


def faults_on(listed: Listed, key: str) -> tuple[Problem, ...]:
    """Return what must be fixed before all that a channel takes is listed; drafts and unused items are left aside."""
    shop, channel, drafts = listed.shop, listed.channel(key), draft_folders(listed.shop)
    takes = {each.folder for each in shop.folders if not channel or not channel.sets or each.code in channel.sets}
    read = {one.folder for one in shop.sets} | {single.folder for single in shop.singles}
    unread, scopes = takes - read - drafts, Scopes(shop)

    def concerns(problem: Problem) -> bool:
        scope = scopes.of(problem)
        waits = scope == Scope() and bool(unread)
        return scope.everything or key in scope.places or bool((scope.folders & takes) - drafts) or waits

    faults = (each for each in listed.problems if each.level is Level.MUST_FIX and not each.draft)
    return tuple(each for each in faults if concerns(each))


def compare_export(listed: Listed, opened: ChannelExport) -> Compared:
    """Hold an export against what the channel would show today.

    Raises:
        FieldError: the export has none of our codes.
    """
    channel, export, places = opened.channel, opened.export, opened.places
    ours = our_rows(places, listed.listings_of(channel.key), channel, facts=export.facts)
    columns = shown_columns(places, channel, facts=export.facts)
    absent = () if export.facts else places.absent
    met: dict[str, str] = {}
    theirs = their_rows(places, export, listed.shop.old_codes, met)
    compared = compare(ours, theirs, columns, absent=absent)
    if not compared.matched and compared.unknown_there:
        shown = ", ".join(compared.unknown_there[:3])
        raise FieldError(f"none of its codes is one of ours ({shown} ...).", "Is it the right file, and column?")
    remarks = (*places.not_compared, *compared.not_compared)
    return replace(compared, not_compared=remarks, old_codes=tuple(met.items()))


def _read_export(file: str, content: bytes, listed: Listed, channel: Channel) -> Export:
    headings = known_headings(listed, channel)
    header: tuple[str, ...] = ()
    if not channel.dialect.header:
        header = tuple(column.heading for column in table_columns(channel, listed.listings_of(channel.key)))
    return read_export(file, content, lambda row: sum(folded(cell) in headings for cell in row), header=header)


def write_corrections(out: Path, listed: Listed, channel: Channel, compared: Compared) -> tuple[str, ...]:
    """Write the rows that would mend what differs, or take an old file of them away; return paths below `out`.

    Raises:
        FieldError: they cannot be written.
    """
    codes = frozenset(compared.codes)
    if not codes and not os.path.lexists(out / channel.key / CHANGES / _CORRECTIONS):
        return ()
    with change_folder(out, listed.shop.root, channel.key, (_CORRECTIONS,)) as folder:
        rows = rows_of_codes(_CORRECTIONS, channel, listed.listings_of(channel.key), codes)
        folder.table(rows, channel.dialect)
        return tuple(folder.written)
