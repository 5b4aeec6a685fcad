"""The data files of a channel: the feed itself, and what [[file]] adds to it, each a channel with a change or two.

An extra file has the channel's own columns, or those that it chooses among them and our fields, or its own; what it
says of kind, rows, sort and dialect stands in place of what the channel says.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from listkit.fields import FIELDS, Field
from listkit.listing.template_values import suggestion
from listkit.model.channel import Channel, Column, ExtraFile
from listkit.problem import FieldError, KeyPath, Place, Problem

_NUMBERED: Final = re.compile(r"([A-Za-z]+)_([1-9]\d?)")


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
        return channel_place(self.channel, *self.entry, *key)

    def column_place(self, index: int, key: str = "value") -> Place:
        """Return where a key of the file's column at `index` stands."""
        where = self.columns[index] if index < len(self.columns) else ()
        chosen_field = bool(where) and isinstance(where[-1], int) and where[-2] == "columns"
        return channel_place(self.channel, *where, *(() if chosen_field or not where else (key,)))


def channel_place(channel: Channel, *key: str | int) -> Place:
    """Return a place in a channel's file; the report finds the line."""
    return Place(f"channels/{channel.key}.toml", key=key)


def fact(name: str) -> tuple[Field, int]:
    """Return the field that `name` names, and its number in a family (0 for all of it).

    Raises:
        FieldError: there is no such field.
    """
    if name in FIELDS:
        return FIELDS[name], 0
    if (match := _NUMBERED.fullmatch(name)) and (field := FIELDS.get(match[1])) and field.many:
        return field, int(match[2])
    raise FieldError(f'there is no field "{name}".', suggestion(name, FIELDS))


def feed_files(channel: Channel) -> tuple[FeedFile, ...]:
    """Return the channel's feed and its extra files; nothing when it takes no feed.

    A column that an extra file names and that is not there is left out; `file_problems` tells of it.
    """
    if "feed" not in channel.make:
        return ()
    own = tuple(("column", at) for at in range(len(channel.columns)))
    extra = tuple(_extra(channel, entry, at) for at, entry in enumerate(channel.files))
    return (FeedFile("feed", channel, columns=own), *extra)


def file_problems(channel: Channel) -> Iterator[Problem]:
    """Yield what is wrong with the names that [[file]] and sort give."""
    seen: dict[str, int] = {}
    for at, entry in enumerate(channel.files):
        if entry.name in seen:
            message, hint = f'two files are called "{entry.name}".', "Give each its own name."
            yield Problem(channel_place(channel, "file", at, "name"), "code-twice", message, hint)
        seen[entry.name] = at
        for index, name in enumerate(entry.chosen):
            if _chosen(channel, name, ("file", at, "columns", index)) is None:
                known = (*[column.heading for column in channel.columns], *FIELDS)
                message = f'there is no column and no field "{name}".'
                place = channel_place(channel, "file", at, "columns", index)
                yield Problem(place, "unknown-code", message, suggestion(name, known))
    sorts: list[tuple[KeyPath, tuple[str, ...]]] = [((), channel.sort)]
    sorts += [(("file", at), entry.sort or ()) for at, entry in enumerate(channel.files)]
    for where, names in sorts:
        for name in names:
            try:
                fact(name.removeprefix("-"))
            except FieldError as fault:
                yield Problem(channel_place(channel, *where, "sort"), "unknown-code", fault.message, fault.hint)


def _extra(channel: Channel, entry: ExtraFile, at: int) -> FeedFile:
    """Return an extra file: the channel with what the file says in place of what the channel says."""
    columns, places = _columns_of(channel, entry, at)
    dialect = {name: getattr(entry.dialect, name) for name in entry.dialect.model_fields_set}
    kind = channel.feed if channel.feed != "json" else "csv"
    changed = channel.model_copy(
        update={
            "feed": entry.feed or kind,
            "rows": entry.rows or channel.rows,
            "sort": channel.sort if entry.sort is None else entry.sort,
            "columns": columns,
            "dialect": channel.dialect.model_copy(update=dialect),
        }
    )
    return FeedFile(entry.name, changed, ("file", at), places)


def _columns_of(channel: Channel, entry: ExtraFile, at: int) -> tuple[tuple[Column, ...], tuple[KeyPath, ...]]:
    """Return the columns of an extra file, and where each stands: chosen ones, then its own, else the channel's."""
    chosen = [_chosen(channel, name, ("file", at, "columns", index)) for index, name in enumerate(entry.chosen)]
    own = [(column, ("file", at, "column", index)) for index, column in enumerate(entry.columns)]
    found = [one for one in chosen if one is not None] + own
    if not found and not entry.chosen:
        found = [(column, ("column", index)) for index, column in enumerate(channel.columns)]
    return tuple(column for column, _ in found), tuple(where for _, where in found)


def _chosen(channel: Channel, name: str, where: KeyPath) -> tuple[Column, KeyPath] | None:
    """Return the column that a file chooses by its heading, else by the name of a field; None when there is none."""
    for index, column in enumerate(channel.columns):
        if column.heading.strip() == name:
            return column.model_copy(update={"beside": False}), ("column", index)
    try:
        fact(name)
    except FieldError:
        return None
    return Column(heading=name, value=name), where
