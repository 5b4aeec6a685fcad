"""Columns and files of a feed: what the owner's channel file asks for, or our own names.

A column's value is a field by name ("price", of a family also "choice_2"), a template ("{{ name }}, {{ theme }}"),
or words that are the same in every row. One [[column]] with `repeat` is so many columns, "Picture 1", "Picture 2";
one that is `beside` the one before it takes turns with it: "Slot 1", "Chosen 1", "Slot 2", "Chosen 2".

A channel's data files are its feed and what [[file]] adds. Each is read as a channel of its own: what the entry says
of kind, rows, sort, dialect and columns replaces what the channel says. `file_problems` and `column_problems` yield
what is wrong; without problems `feed_columns` never raises.
"""

import re
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from listkit import bounds
from listkit.fields import FIELDS, Field, Kind
from listkit.listing.cells import LENGTH_PLACES, WEIGHT_PLACES
from listkit.listing.listings import Listing
from listkit.listing.template_rules import one_brace
from listkit.listing.template_values import suggestion
from listkit.listing.templates import Formats, Template, TemplateFault, compile_template
from listkit.listing.templates import Kind as TextKind
from listkit.model.channel import Channel, Column, Dialect, ExtraFile
from listkit.problem import FieldError, KeyPath, Level, Place, Problem, quoted
from listkit.units.money import NO_CURRENCY

MOST_COLUMNS: Final = 2000
_TOO_MANY: Final = "Which one is meant is not looked for, there are too many."
_NUMBER: Final = re.compile(r"\{(n{1,2})\}")
_NUMBERED: Final = re.compile(r"([A-Za-z]+)_([1-9]\d?)")
_WORD: Final = re.compile(r"([A-Za-z]+)_?(\d{0,2})")
_FAMILIES: Final = tuple(name for name, field in FIELDS.items() if field.many)
_CURRENCY: Final = "priceCurrency"  # beside it no heading of an amount says the currency again
_COUNTED_IN: Final = {"shelfLife": "months"}
_FAMILY_FIELDS: Final = ("slot", "choice")
"""Families that a feed without columns of its own has side by side: slot_1, choice_1, slot_2 ..."""


def fact(name: str) -> tuple[Field, int]:
    """Return the field that `name` names, and its number in a family (0 for all of it).

    Raises:
        FieldError: there is no such field.
    """
    found = _fact(name)
    if found is None:
        raise FieldError(_no_field(name), suggestion(name, FIELDS))
    return found


def _fact(name: str) -> tuple[Field, int] | None:
    if name in FIELDS:
        return FIELDS[name], 0
    if (match := _NUMBERED.fullmatch(name)) and (field := FIELDS.get(match[1])) and field.many:
        return field, int(match[2])
    return None


def _no_field(name: str) -> str:
    return f"there is no field {quoted(name)}."


def numbered(columns: tuple[Column, ...]) -> Iterator[tuple[int, Column]]:
    """Yield every column of the file, repeated ones as often as they say, with the index of its [[column]]."""
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
        return FieldError(f"{quoted(value)} is one value and no family that could be repeated.", hint)
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


class FieldColumn(Column):
    """A field that a file names without a heading of its own: headed by its name, with the unit of its figures."""


@dataclass(frozen=True, slots=True)
class FeedFile:
    """One data file: its name without ending, the channel as this file has it, and where its columns stand."""

    name: str
    channel: Channel
    entry: KeyPath = ()
    columns: tuple[KeyPath, ...] = ()

    @property
    def path(self) -> str:
        """Where it lies in the output folder."""
        return f"{self.channel.key}/{self.name}.{self.channel.feed}"

    @property
    def is_feed(self) -> bool:
        """Whether it is the feed itself and no extra file."""
        return not self.entry

    def place(self, *key: str | int) -> Place:
        """Return a place in the channel's file: of the extra file's own keys where it is one."""
        return self.channel.place(*self.entry, *key)

    def column_place(self, index: int, key: str = "value") -> Place:
        """Return where a key of the file's column at `index` stands."""
        where = self.columns[index] if index < len(self.columns) else ()
        chosen_field = bool(where) and isinstance(where[-1], int) and where[-2] == "columns"
        return self.channel.place(*where, *(() if chosen_field or not where else (key,)))


_Placed = tuple[Column, KeyPath]


def feed_files(channel: Channel) -> tuple[FeedFile, ...]:
    """Return the channel's feed and its extra files; nothing when it takes no feed.

    A column that an extra file names and that is not there is left out; `file_problems` yields it.
    """
    if "feed" not in channel.make:
        return ()
    places = tuple(("column", at) for at in range(len(channel.columns)))
    by_heading = _by_heading(channel)
    extra = tuple(_extra(channel, entry, at, by_heading) for at, entry in enumerate(channel.files))
    return (FeedFile("feed", channel, columns=places), *extra)


def file_problems(channel: Channel) -> Iterator[Problem]:
    """Yield what is wrong with the names that [[file]] and sort give."""
    seen, by_heading = dict[str, int](), _by_heading(channel)
    known, wrong = frozenset((*by_heading, *FIELDS)), 0
    for at, entry in enumerate(channel.files):
        if entry.name in seen:
            message, hint = f"two files are called {quoted(entry.name)}.", "Give each its own name."
            yield Problem(channel.place("file", at, "name"), "code-twice", message, hint)
        seen[entry.name] = at
        for index, name in enumerate(entry.chosen):
            if _chosen(by_heading, name, ("file", at, "columns", index)) is None:
                message = f"there is no column and no field {quoted(name)}."
                place = channel.place("file", at, "columns", index)
                yield Problem(place, "unknown-code", message, _near(name, known, wrong))
                wrong += 1
    sorts: list[tuple[KeyPath, tuple[str, ...]]] = [((), channel.sort)]
    sorts += [(("file", at), entry.sort or ()) for at, entry in enumerate(channel.files)]
    for where, names in sorts:
        for name in names:
            plain = name.removeprefix("-")
            if _fact(plain) is None:
                hint = _near(plain, FIELDS.keys(), wrong)
                wrong += 1
                yield Problem(channel.place(*where, "sort"), "unknown-code", _no_field(plain), hint)


def _near(name: str, known: Collection[str], before: int) -> str:
    """Return the hint for a wrong name; of more wrong ones than can be compared with all, that none is looked for."""
    return suggestion(name, known) if before * len(known) <= bounds.NEAR_HEADINGS else _TOO_MANY


def _extra(channel: Channel, entry: ExtraFile, at: int, by_heading: Mapping[str, _Placed]) -> FeedFile:
    """Return an extra file: the channel with what the file says in place of what the channel says.

    Its columns are those it chooses by heading or field, then its own [[column]]s; without either, the channel's.
    """
    chosen = [_chosen(by_heading, name, ("file", at, "columns", index)) for index, name in enumerate(entry.chosen)]
    placed = [column for column in chosen if column is not None]
    placed += [(column, ("file", at, "column", index)) for index, column in enumerate(entry.columns)]
    if not placed and not entry.chosen:
        placed = [(column, ("column", index)) for index, column in enumerate(channel.columns)]
    dialect = {name: getattr(entry.dialect, name) for name in entry.dialect.model_fields_set}
    kind = channel.feed if channel.feed != "json" else "csv"
    changed = channel.model_copy(
        update={
            "feed": entry.feed or kind,
            "rows": entry.rows or channel.rows,
            "sort": channel.sort if entry.sort is None else entry.sort,
            "columns": tuple(column for column, _ in placed),
            "dialect": channel.dialect.model_copy(update=dialect),
        }
    )
    return FeedFile(entry.name, changed, ("file", at), tuple(where for _, where in placed))


def _by_heading(channel: Channel) -> dict[str, _Placed]:
    """Return the columns that files may choose, with their keys, by their headings; of equals the first."""
    columns = reversed(tuple(enumerate(channel.columns)))
    return {column.heading.strip(): (column, ("column", index)) for index, column in columns}


def _chosen(by_heading: Mapping[str, _Placed], name: str, where: KeyPath) -> _Placed | None:
    """Return the column that a file chooses by its heading, else by the name of a field; None when there is none."""
    if name in by_heading:
        column, of_channel = by_heading[name]
        return column.model_copy(update={"beside": False}), of_channel
    try:
        fact(name)
    except FieldError:
        return None
    return FieldColumn(heading=name, value=name), where


@dataclass(frozen=True, slots=True)
class FeedColumn:
    """One column: a fact, a template, or else `words`, the same in every row.

    `number` is 1 for the first of a family, 0 for all of it. `once`: only in the first row of a listing. `unit`: of
    weights and lengths. `mapped`: our cell = theirs. `entry`: which [[column]] of the channel's it comes from, or -1.
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
    def theirs(self) -> Mapping[str, str]:
        """The channel's words for our cells; a place with one word for what is out of stock has it for sold out too."""
        theirs = dict(self.mapped or {})
        if self.field is not None and self.field.name == "availability" and "OutOfStock" in theirs:
            theirs.setdefault("SoldOut", theirs["OutOfStock"])
        return theirs

    @property
    def whole_family(self) -> bool:
        """Whether a cell holds all of a family."""
        return self.field is not None and self.field.many and not self.number

    @property
    def by_offer(self) -> bool:
        """Whether cells differ from variant to variant of one listing."""
        if self.template is not None:
            return any(field.by_offer for field, _ in map(fact, self.template.names))
        return self.field is not None and self.field.by_offer


BLOCK_FIELDS: Final = {
    "opening": "opening", "story": "story", "contents": "contents", "choices": "allChoices",
    "card and box": "cardAndBox", "care": "care", "ingredients": "ingredients",
    "allergens": "fragranceAllergens", "cautions": "cautions",
}  # fmt: skip
"""Blocks of a text, and the field that has each where the text has not."""
BLOCK_LINES: Final = ("opening", "story", "choices", "card and box", "care")
"""Blocks whose field is the block itself, in one line; the fields of the others are made of the variant."""
SAFETY: Final = frozenset({"allergens", "cautions"})
"""Blocks that leave a text only where the feed has a column of their own."""


def may_go(block: str, fields: Collection[str]) -> bool:
    """Whether a block may leave a text, where the feed has columns of these fields."""
    return block not in SAFETY or BLOCK_FIELDS[block] in fields


def feed_fields(channel: Channel) -> frozenset[str]:
    """Return the fields that the columns of a channel's feed name; those of feed.json hold no block of a text."""
    if "feed" not in channel.make or channel.feed == "json":
        return frozenset()
    if not channel.columns:
        return frozenset(name for name, field in FIELDS.items() if field.common)
    return frozenset(name for column in channel.columns for name in _fields_in(column.value))


def file_fields(channel: Channel) -> frozenset[str]:
    """Return the fields that the columns of the feed or of any file beside it name."""
    beside = [column.value for entry in channel.files for column in entry.columns]
    chosen = [name for entry in channel.files for name in entry.chosen]
    return feed_fields(channel).union(*map(_fields_in, (*beside, *chosen)))


@lru_cache(maxsize=4096)  # asked anew for each listing of a channel
def _fields_in(value: str) -> frozenset[str]:
    """Return the fields that a column's value names; none where it is only words, or has a fault."""
    names: tuple[str, ...] = (value.strip(),)
    if "{{" in value or "{%" in value:
        try:
            names = compile_template(value, kind=TextKind.PLAIN, formats=Formats("en", NO_CURRENCY)).names
        except TemplateFault:
            return frozenset()
    fields = set()
    for name in names:
        with suppress(FieldError):
            fields.add(fact(name)[0].name)
    return frozenset(fields)


def feed_columns(channel: Channel, listings: tuple[Listing, ...]) -> tuple[FeedColumn, ...]:
    """Return the channel's own columns, else our common fields with as many of each family as `listings` have.

    Raises:
        FieldError: a column is wrong in a way that `column_problems` yields.
    """
    units = {Kind.WEIGHT: channel.dialect.weight, Kind.LENGTH: channel.dialect.length}
    formats = _formats(listings)
    if not channel.columns:
        columns = _common_columns(listings, channel.dialect)
        return tuple(replace(column, unit=units.get(column.kind, "")) for column in columns)
    numbers = tuple(numbered(channel.columns))
    is_told = formats.currency == NO_CURRENCY or any(column.value == _CURRENCY for _, column in numbers)
    currency = "" if is_told else formats.currency
    made = [(column, replace(_column(column, formats), entry=at)) for at, column in numbers]
    return tuple(
        replace(
            column,
            unit=column.unit or units.get(column.kind, ""),
            heading=_headed(column, channel.dialect, currency) if isinstance(asked, FieldColumn) else column.heading,
        )
        for asked, column in made
    )


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
        yield from _faults_of_one(file, index, formats)
    yield from _headings_twice(file)


def _faults_of_one(file: FeedFile, index: int, formats: Formats) -> Iterator[Problem]:
    """Yield what is wrong with one [[column]]; of a repeated one its first member stands for all."""
    column = file.channel.columns[index]
    key, fault = "repeat" if column.repeat else "beside", family_fault(file.channel.columns, index)
    try:
        if fault is not None:
            raise fault
        key = "value"
        _, first = next(numbered((column.model_copy(update={"beside": False}),)))
        made, key = _column(first, formats), "unit"
        units = {Kind.WEIGHT: WEIGHT_PLACES, Kind.LENGTH: LENGTH_PLACES}.get(made.kind, {})
        if made.unit and made.unit not in units:
            what = quoted(made.field.name) if made.field else "this value"
            hint = f"Write one of {', '.join(units)}." if units else "Take unit out."
            raise FieldError(f"{what} is not given in {made.unit}.", hint)
    except FieldError as fault:
        message = f"in column {quoted(column.heading)} {fault.message}"
        yield Problem(file.column_place(index, key), "template-fault", message, fault.hint)
        return
    near = _near_field(first.value.strip()) if made.words else ""
    if made.words and (near or column.required):
        message = f"{quoted(first.value)} is no field, so these words stand in every row."
        hint = f"Write {quoted(near)}, if that is meant." if near else "If they are meant, take required out."
        yield Problem(file.column_place(index, "value"), "unknown-column", message, hint, Level.LOOK_AT)


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
            message = f"{len(places)} columns are headed {quoted(heading)}."
            hint = "Give each its own heading; numbered ones are one [[column]] with repeat and {n} in its heading."
            yield Problem(file.column_place(places[-1], "heading"), "column-twice", message, hint)


def _formats(listings: tuple[Listing, ...]) -> Formats:
    return Formats(listings[0].language, listings[0].currency) if listings else Formats("en", NO_CURRENCY)


def _column(column: Column, formats: Formats) -> FeedColumn:
    value = column.value.strip()
    if fault := one_brace(value, FIELDS):
        raise fault
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


def _headed(column: FeedColumn, dialect: Dialect, currency: str) -> str:
    """Return our own heading of a field: its name, and the unit that its figures are in."""
    units = {Kind.WEIGHT: dialect.weight, Kind.LENGTH: dialect.length, Kind.MONEY: currency}
    unit = units.get(column.kind) or _COUNTED_IN.get(column.field.name if column.field else "")
    return f"{column.heading} ({unit})" if unit else column.heading


def _common_columns(listings: tuple[Listing, ...], dialect: Dialect) -> tuple[FeedColumn, ...]:
    """Return our own: "image" is the first picture, then image_2 ...; slots and what was chosen side by side.

    Headings of weights and lengths carry their unit; the text is in a listing's first row alone.
    """
    common = [field for field in FIELDS.values() if field.common and field.name not in _FAMILY_FIELDS]
    columns = [
        FeedColumn(field.name, field, int(field.name == "image"), once=field.name == "description") for field in common
    ]
    columns = [replace(column, heading=_headed(column, dialect, "")) for column in columns]
    images = max((len(offer.images) for listing in listings for offer in listing.offers), default=0)
    at = next(index for index, column in enumerate(columns) if column.heading == "image")
    columns[at + 1 : at + 1] = [_numbered("image", number) for number in range(2, images + 1)]
    slots = max((len(listing.slots) for listing in listings), default=0)
    columns += [_numbered(family, number) for number in range(1, slots + 1) for family in _FAMILY_FIELDS]
    return tuple(columns)


def _numbered(name: str, number: int) -> FeedColumn:
    return FeedColumn(f"{name}_{number}", FIELDS[name], number)


def _near_field(text: str) -> str:
    """Return the field that was probably meant: the same but for capitals and _, or two letters of a long one."""
    match = _WORD.fullmatch(text)
    if match is None:
        return ""
    written, number = match[1].lower(), match[2]
    for name, field in FIELDS.items():
        most = 2 if len(name) > 5 else 1 if len(name) > 3 else 0
        if abs(len(name) - len(written)) <= most and _distance(written, name.lower()) <= most:
            return f"{name}_{number}" if field.many and number else name
    return ""


def _distance(written: str, meant: str) -> int:
    """Return the number of letters to change, add, take out, or exchange with the next (Damerau 1964)."""
    above: list[int] = []
    row = list(range(len(meant) + 1))
    for index, letter in enumerate(written, 1):
        before, above, row = above, row, [index]
        for at, wanted in enumerate(meant, 1):
            least = min(above[at] + 1, row[at - 1] + 1, above[at - 1] + (letter != wanted))
            if index > 1 and at > 1 and (letter, written[index - 2]) == (meant[at - 2], wanted):
                least = min(least, before[at - 2] + 1)
            row.append(least)
    return row[-1]
