"""Columns of a feed: what the owner's channel file asks for, or our own names.

A column's value is a field by name ("price", of a family also "choice_2"), a template
("{{ name }}, {{ theme }}"), or words that stand in every row. `column_problems` tells what is wrong
with them; without problems `feed_columns` never raises.
"""

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final

from listkit.fields import FIELDS, Field, Kind
from listkit.listing.cells import LENGTH_PLACES, WEIGHT_PLACES
from listkit.listing.column_families import family_fault, numbered
from listkit.listing.feed_files import FeedFile, fact
from listkit.listing.listings import Listing
from listkit.listing.templates import Formats, Template, compile_template
from listkit.listing.templates import Kind as TextKind
from listkit.model.channel import Channel, Column
from listkit.model.fields import NO_CURRENCY
from listkit.problem import FieldError, Problem

MOST_COLUMNS: Final = 2000
_WORD: Final = re.compile(r"([A-Za-z]+)_?(\d{0,2})")
_FAMILIES: Final = ("slot", "choice")  # in a feed without columns these go side by side: slot_1, choice_1, slot_2 ...


@dataclass(frozen=True, slots=True)
class FeedColumn:
    """One column: a fact, a template, or else `words`.

    `number` is 1 for the first of a family, 0 for all of it. `once`: only in the first row of a listing. `unit`: the
    column's own. `mapped`: our cell = theirs. `entry`: which [[column]] of the channel's it comes from, -1 for ours.
    """

    heading: str
    field: Field | None = None
    number: int = 0
    template: Template | None = None
    words: str = ""
    once: bool = False
    unit: str = ""
    mapped: Mapping[str, str] | None = None
    entry: int = -1

    @property
    def kind(self) -> Kind:
        """How its cells are formatted; templates and words are text."""
        return self.field.kind if self.field else Kind.TEXT

    @property
    def whole_family(self) -> bool:
        """Whether a cell holds all of a family."""
        return self.field is not None and self.field.many and not self.number

    @property
    def by_offer(self) -> bool:
        """Whether cells differ from variant to variant of one listing."""
        if self.template is not None:
            return any(is_by_offer(field) for field, _ in map(fact, self.template.names))
        return self.field is not None and is_by_offer(self.field)


def is_by_offer(field: Field) -> bool:
    """Whether the fact is one variant's own."""
    return field.source.startswith("offer.")


def feed_columns(channel: Channel, listings: tuple[Listing, ...]) -> tuple[FeedColumn, ...]:
    """Return the channel's own columns, else our common fields with as many of each family as `listings` have.

    Raises:
        FieldError: a column is wrong in a way that `column_problems` tells.
    """
    if not channel.columns:
        return _common_columns(listings)
    formats = _formats(listings)
    return tuple(replace(_column(column, formats), entry=at) for at, column in numbered(channel.columns))


def column_problems(file: FeedFile, listings: tuple[Listing, ...]) -> Iterator[Problem]:
    """Yield what is wrong with the file's columns as they are written, before any row is looked at."""
    columns = file.channel.columns
    if sum(column.repeat or 1 for column in columns) > MOST_COLUMNS:
        hint = "Take some out, or lower repeat."
        message = f"there are more than {MOST_COLUMNS} columns."
        yield Problem(file.column_place(0), "template-fault", message, hint)
        return
    formats = _formats(listings)
    for index in range(len(columns)):
        yield from _own_problems(file, index, formats)
    yield from _headings_twice(file)


def _own_problems(file: FeedFile, index: int, formats: Formats) -> Iterator[Problem]:
    """Yield what is wrong with one [[column]], told of its first member where it is repeated."""
    column = file.channel.columns[index]
    key, fault = "repeat" if column.repeat else "beside", family_fault(file.channel.columns, index)
    try:
        if fault is not None:
            raise fault
        key = "value"
        _, first = next(numbered((column.model_copy(update={"beside": False}),)))
        made, key = _column(first, formats), "unit"
        _check_unit(made)
    except FieldError as fault:
        message = f'in column "{column.heading}" {fault.message}'
        yield Problem(file.column_place(index, key), "template-fault", message, fault.hint)
        return
    if made.words and (near := _near_field(first.value.strip())):
        message = f'"{first.value}" is no field, so these words stand in every row.'
        hint = f'Write "{near}", if that is meant.'
        yield Problem(file.column_place(index, "value"), "unknown-column", message, hint)


def _check_unit(made: FeedColumn) -> None:
    units = {Kind.WEIGHT: WEIGHT_PLACES, Kind.LENGTH: LENGTH_PLACES}.get(made.kind, {})
    if made.unit and made.unit not in units:
        what = f'"{made.field.name}"' if made.field else "this value"
        hint = f"Write one of {', '.join(units)}." if units else "Take unit out."
        raise FieldError(f"{what} is not given in {made.unit}.", hint)


def _headings_twice(file: FeedFile) -> Iterator[Problem]:
    """Yield each heading that stands over two columns; one entry may repeat its own, but not as names in JSON."""
    channel = file.channel
    if not channel.dialect.header and channel.feed != "jsonl":
        return
    entries: dict[str, list[int]] = defaultdict(list)
    for at, column in numbered(channel.columns):
        entries[column.heading.strip()].append(at)
    for heading, places in entries.items():
        if len(places) > 1 and (channel.feed == "jsonl" or len(set(places)) > 1):
            message = f'{len(places)} columns are headed "{heading}".'
            hint = "Give each its own heading; numbered ones are one [[column]] with repeat and {n} in its heading."
            yield Problem(file.column_place(places[-1], "heading"), "column-twice", message, hint)


def _formats(listings: tuple[Listing, ...]) -> Formats:
    return Formats(listings[0].language, listings[0].currency) if listings else Formats("en", NO_CURRENCY)


def _column(column: Column, formats: Formats) -> FeedColumn:
    value = column.value.strip()
    made = FeedColumn(column.heading, once=column.once, unit=column.unit or "", mapped=column.mapped or None)
    if "{{" in value or "{%" in value:
        template = compile_template(column.value, kind=TextKind.PLAIN, formats=formats, name=column.heading)
        for name in template.names:
            fact(name)
        return replace(made, template=template)
    try:
        field, number = fact(value)
    except FieldError:
        return replace(made, words=column.value)
    return replace(made, field=field, number=1 if field.name == "image" and not number else number)


def _common_columns(listings: tuple[Listing, ...]) -> tuple[FeedColumn, ...]:
    """Return our own: "image" is the first picture, then image_2 ...; slots and what was chosen side by side."""
    common = [field for field in FIELDS.values() if field.common and field.name not in _FAMILIES]
    columns = [FeedColumn(field.name, field, int(field.name == "image")) for field in common]
    images = max((len(offer.images) for listing in listings for offer in listing.offers), default=0)
    at = next(index for index, column in enumerate(columns) if column.heading == "image")
    columns[at + 1 : at + 1] = [_numbered("image", number) for number in range(2, images + 1)]
    slots = max((len(listing.slots) for listing in listings), default=0)
    columns += [_numbered(family, number) for number in range(1, slots + 1) for family in _FAMILIES]
    return tuple(columns)


def _numbered(name: str, number: int) -> FeedColumn:
    return FeedColumn(f"{name}_{number}", FIELDS[name], number)


def _near_field(words: str) -> str:
    """Return the field that was probably meant: the same but for capitals and _, or two letters of a long one."""
    match = _WORD.fullmatch(words)
    if match is None:
        return ""
    written, number = match[1].lower(), match[2]
    for name, field in FIELDS.items():
        most = 2 if len(name) > 5 else 1 if len(name) > 3 else 0
        if abs(len(name) - len(written)) <= most and _distance(written, name.lower()) <= most:
            return f"{name}_{number}" if field.many and number else name
    return ""


def _distance(one: str, other: str) -> int:
    """Return the number of letters to change, add, take out, or exchange with the next (Damerau 1964)."""
    above: list[int] = []
    row = list(range(len(other) + 1))
    for index, letter in enumerate(one, 1):
        before, above, row = above, row, [index]
        for at, wanted in enumerate(other, 1):
            least = min(above[at] + 1, row[at - 1] + 1, above[at - 1] + (letter != wanted))
            if index > 1 and at > 1 and (letter, one[index - 2]) == (other[at - 2], wanted):
                least = min(least, before[at - 2] + 1)
            row.append(least)
    return row[-1]
