"""Brings an export and the truth to the same columns, so that they can be held against each other."""

import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any, Final

from listkit.cli.truth import Truth, is_price_list, own_columns
from listkit.fields import FIELDS
from listkit.ledger.compare import ShownColumn, ShownRow, Uncompared
from listkit.listing.cells import ISO_DAY, Cell, day_text
from listkit.listing.listings import Listing
from listkit.listing.rows import FeedColumn, dialect_cells, row_offers, rows_of
from listkit.model.channel import Channel
from listkit.problem import FieldError
from listkit.read.export_file import Export, fact_text
from listkit.read.wording import listed, quoted
from listkit.write.record import json_value

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


def known_headings(truth: Truth, channel: Channel) -> frozenset[str]:
    """Return every heading of the channel's table, as `folded` gives them."""
    return frozenset(folded(column.heading) for column in own_columns(channel, truth.own(channel.key)))


def aligned(export: Export, truth: Truth, channel: Channel) -> Aligned:
    """Return where our columns stand in the export.

    Raises:
        FieldError: no column holds the codes.
    """
    columns = own_columns(channel, truth.own(channel.key))
    if export.facts:
        columns = _fact_columns(export, columns)
    places: dict[str, int] = {}
    remarks = []
    ours = {folded(column.heading) for column in columns}
    for at, heading in enumerate(export.headings):
        if folded(heading) in places:
            remarks.append(Uncompared(f'column "{heading}"', "the export has it twice; the first one counts"))
        elif folded(heading) in ours:
            places[folded(heading)] = at
        elif heading:
            remarks.append(Uncompared(f'column "{heading}"', f"{channel.name} has no such column"))
    found = tuple(places.get(folded(column.heading)) for column in columns)
    return Aligned(columns, found, _code_place(columns, found, export, truth, channel), tuple(remarks))


def _fact_columns(export: Export, columns: tuple[FeedColumn, ...]) -> tuple[FeedColumn, ...]:
    """Return the columns of a JSON export: the channel's own, or fields by name, whichever it has more of."""
    headings = {folded(heading) for heading in export.headings}
    by_name = tuple(FeedColumn(name, FIELDS[name]) for name in export.headings if name in FIELDS)
    own = sum(folded(column.heading) in headings for column in columns)
    return by_name if len(by_name) > own else columns


def _code_place(
    columns: tuple[FeedColumn, ...], places: Sequence[int | None], export: Export, truth: Truth, channel: Channel
) -> int:
    at = next((at for at, one in enumerate(columns) if one.field is FIELDS["sku"]), None)
    if at is None:
        raise FieldError(f"no column of {channel.name} holds the code.", 'Add a [[column]] with value = "sku".')
    place = places[at]
    if place is not None:
        return place
    there = listed(map(quoted, export.headings[:8]), "and")
    other = looks_like(export, truth, channel)
    hint = f"It looks like an export of {other}." if other else f"Its columns are {there}."
    raise FieldError(f'the export has no column "{columns[at].heading}", which holds the code.', hint)


def looks_like(export: Export, truth: Truth, channel: Channel) -> str:
    """Return the names of other channels that have most of the export's headings, "" where this one has as many."""
    headings = {folded(heading) for heading in export.headings}
    counts = {one.key: len(headings & known_headings(truth, one)) for one in truth.shop.channels}
    most = max(counts.values())
    names = [one.name for one in truth.shop.channels if counts[one.key] == most]
    return " or ".join(names) if counts[channel.key] < most else ""


def shown_columns(found: Aligned, channel: Channel, *, facts: bool) -> tuple[ShownColumn, ...]:
    """Return how each column is compared."""
    unit = "g" if facts else channel.dialect.weight
    day = partial(day_text, form=ISO_DAY if facts else channel.dialect.date)
    return tuple(
        ShownColumn(one.heading, one.field.name if one.field else "", one.number, unit, one.once, day)
        for one in found.columns
    )


def our_rows(found: Aligned, own: tuple[Listing, ...], channel: Channel, *, facts: bool) -> Iterator[ShownRow]:
    """Yield the truth's rows; a column that is filled once has its cell in every row, to be held against any."""
    columns = tuple(replace(column, once=False) for column in found.columns)
    kind = "variant" if is_price_list(channel) else channel.rows
    cells = _fact_cell if facts else dialect_cells(channel.dialect)
    for listing in own:
        rows = rows_of((listing,), columns, cells, rows=kind)
        offers = row_offers(listing, kind)
        for number, (offer, row) in enumerate(zip(offers, rows, strict=True)):
            yield ShownRow(offer.variant.code, 0, row, later=number > 0)


def _fact_cell(column: FeedColumn) -> Cell:
    def cell(value: Any) -> str:  # noqa: ANN401 (a fact of any kind)
        return fact_text(json_value(column.kind, value))

    return cell


def their_rows(found: Aligned, export: Export) -> Iterator[ShownRow]:
    """Yield the export's rows in our columns; of JSON, what is not there is not known there."""
    missing = "" if export.facts else None
    for row in export.rows:
        cells = tuple([missing if place is None else row.cells[place] for place in found.places])
        yield ShownRow((row.cells[found.code] or "").strip(), row.line, cells)
