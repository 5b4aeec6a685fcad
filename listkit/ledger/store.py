"""The ledger's records: what was published on each channel, and when.

A record stores what changed against the one before it on its channel, nothing else, so the ledger grows with the
changes and not with the feeds. Rows are only added: a record that is taken back stays, and one more undoes it. The
time is an argument.

Every fact is a line under a code: a JSON object in canonical form, so that equal facts are equal text. A line is known
by its SHA-256 and stored once; its long texts (passages), which variants of a set share, are stored once as well.
"""

import datetime
import json
import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

from listkit import bounds
from listkit.ledger.faults import DamagedLedgerError, damaged
from listkit.ledger.file import WAIT, connected, exists, opened
from listkit.ledger.lines import digest_of, line_of, parted
from listkit.ledger.moments import local_time, moment_of
from listkit.problem import BlockedError, FieldError

Lines = Iterable[tuple[str, str]]
"""Codes, each once, and their lines; iterated once, so that a large feed need not be held in memory."""
SECTIONS: Final = ("rows", "items", "sets", "rules", "files")


@dataclass(frozen=True, slots=True)
class Snapshot:
    """What a record holds of a channel.

    `rows` are the lines of record.jsonl by sku. `items` and `sets` are what the owner's files say of those in the
    rows, `rules` what else prices, weights and texts follow from, `files` what was made, by path.
    """

    rows: Lines
    items: Lines = ()
    sets: Lines = ()
    rules: Lines = ()
    files: Lines = ()


@dataclass(frozen=True, slots=True)
class Facts:
    """Lines by code: of a snapshot, those that differ from another's."""

    rows: Mapping[str, str] = field(default_factory=dict)
    items: Mapping[str, str] = field(default_factory=dict)
    sets: Mapping[str, str] = field(default_factory=dict)
    rules: Mapping[str, str] = field(default_factory=dict)
    files: Mapping[str, str] = field(default_factory=dict)


def parsed(lines: Mapping[str, str]) -> dict[str, dict[str, Any]]:
    """Return every line as its facts, in the order given; each line is a JSON object, as `Facts` hold them."""
    return parsed_lines(lines.items())


def parsed_lines(lines: Iterable[tuple[str, str]]) -> dict[str, dict[str, Any]]:
    """Return lines as their facts, one by one as they are made; a text of several lines is in memory once."""
    texts: dict[str, str] = {}

    def shared(value: Any) -> Any:  # noqa: ANN401 (any fact)
        if isinstance(value, str):
            return texts.setdefault(value, value)
        return [shared(each) for each in value] if isinstance(value, list) else value

    def facts(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        return {shared(name): shared(value) for name, value in pairs}

    decoder = json.JSONDecoder(object_pairs_hook=facts)
    return {code: decoder.decode(line) for code, line in lines}


# Entries: the lines in force after some records, what a snapshot changes against them, and writing that.

Changed = tuple[str, str, bytes | None, str | None]
"""Section, code, the old line's digest, the new line; None for a line that was not there, or is gone."""


class Comparison:
    """A snapshot against the lines in force after some records: iterate once over what changed, then read `alike`."""

    def __init__(
        self,
        connection: sqlite3.Connection,
        numbers: Sequence[int],
        now: Snapshot,
        *,
        sections: Sequence[str] = SECTIONS,
    ) -> None:
        self._connection = connection
        self._numbers = numbers
        self._now = now
        self._sections = sections
        self.alike = 0
        """The number of rows that did not change."""

    def __iter__(self) -> Iterator[Changed]:
        for section in self._sections:
            standing = digests(self._connection, self._numbers, section)
            for code, line in getattr(self._now, section):
                old = standing.pop(code, None)
                if old is None or old != digest_of(line):
                    yield section, code, old, line
                elif section == "rows":
                    self.alike += 1
            for code, old in standing.items():
                yield section, code, old, None


def digests(connection: sqlite3.Connection, numbers: Sequence[int], section: str) -> dict[str, bytes]:
    """Return the digest of each code's line in force after these records, each applied to the ones before.

    Raises:
        DamagedLedgerError: there are more codes than a shop may have, or one is no text.
    """
    query = "SELECT code, digest FROM entry WHERE record = ? AND section = ?"
    standing: dict[str, bytes] = {}
    for number in numbers:
        for code, digest in connection.execute(query, (number, section)):
            _refuse_bytes(code)
            if digest is None:
                standing.pop(code, None)
            else:
                standing[code] = digest
                if are_too_many(len(standing)):
                    raise damaged()
    return standing


def are_too_many(codes: int) -> bool:
    """Whether there are more codes at one place than a shop may have."""
    return codes > bounds.LEDGER_CODES


def _refuse_bytes(code: object) -> None:
    """Raise DamagedLedgerError where a code is no text: a column of texts keeps bytes too (SQLite, "Datatypes", 3)."""
    if not isinstance(code, str):
        raise damaged()


class EntryWriter:
    """Adds the entries of one record; a text that the ledger has is not stored again.

    There are as many as the shop has rows, whatever size the file had when it was opened, and each goes down trees that
    SQLite's check has been through: so what they take together is not counted.
    """

    def __init__(self, connection: sqlite3.Connection, number: int) -> None:
        connection.set_progress_handler(None, 0)
        self._run = connection.execute
        self._number = number
        self._passages: dict[str, int] = {}

    def write(self, section: str, code: str, line: str | None) -> None:
        """Add an entry; `line` is None where it is gone."""
        digest = None if line is None else digest_of(line)
        if line is not None and not self._run("SELECT 1 FROM content WHERE digest = ?", (digest,)).fetchone():
            text = parted(line, self._passage) if section == "rows" else line
            self._run("INSERT INTO content (digest, text) VALUES (?, ?)", (digest, text))
        self._run("INSERT INTO entry VALUES (?, ?, ?, ?)", (self._number, section, code, digest))

    def _passage(self, text: str) -> int:
        if text not in self._passages:
            digest = digest_of(text)
            found = self._run("SELECT number FROM passage WHERE digest = ?", (digest,)).fetchone()
            if found is None:
                found = (self._run("INSERT INTO passage (digest, text) VALUES (?, ?)", (digest, text)).lastrowid,)
            self._passages[text] = int(found[0])
        return self._passages[text]


LEDGER: Final = "ledger.sqlite3"


@dataclass(frozen=True, slots=True)
class Stamp:
    """When something is recorded (ISO 8601 with the distance to UTC), the owner's note, and listkit's version."""

    at: str
    note: str = ""
    version: str = ""


@dataclass(frozen=True, slots=True)
class Record:
    """One record that was not taken back: when, and of which channel."""

    number: int
    channel: str
    at: str
    note: str = ""

    @property
    def day(self) -> datetime.date:
        """The calendar day where it was recorded."""
        return moment_of(self.at).date()


@dataclass(frozen=True, slots=True)
class Difference:
    """What differs between a channel's last record and a snapshot; `record` is None when nothing was recorded.

    `old` and `new` hold the lines that differ; `alike` counts the rows that do not.
    """

    record: Record | None
    old: Facts
    new: Facts
    alike: int = 0


def record(path: Path, channel: str, now: Snapshot, stamp: Stamp, *, wait: float = WAIT) -> Record | None:
    """Record what a channel shows, all of it or nothing; return None when it is what the last record holds.

    Raises:
        FieldError: the stamp has no time, or one before the last record's.
        BlockedError: the ledger cannot be used.
    """
    moment_of(stamp.at)
    with connected(path, wait=wait) as connection, writing(connection):
        counting = _counting(connection, channel)
        _refuse_earlier(counting, stamp)
        number = None if counting else _add(connection, channel, stamp)
        writer: EntryWriter | None = None
        for section, code, _, line in Comparison(connection, [one.number for one in counting], now):
            number = number or _add(connection, channel, stamp)
            writer = writer or EntryWriter(connection, number)
            writer.write(section, code, line)
        return None if number is None else Record(number, channel, stamp.at, stamp.note)


class OtherRecordError(BlockedError):
    """The last record of a channel is not the one that was meant."""


def undo(path: Path, channel: str, stamp: Stamp, *, number: int | None = None, wait: float = WAIT) -> Record:
    """Take back the channel's last record, by adding one that undoes it; return the one taken back.

    The stamp may be before the last record's: taking that back is the way out when the clock had run ahead. `number` is
    that of the record that is meant, where it was looked at before.

    Raises:
        OtherRecordError: another one is the last by now.
        FieldError: nothing is recorded, or the stamp has no time.
        BlockedError: the ledger cannot be used.
    """
    with _amending(path, channel, stamp, wait) as (connection, counting):
        if number not in (None, counting[-1].number):
            raise OtherRecordError(f"another record of {channel} is the last one by now.", "Look at it first.")
        _add(connection, channel, stamp, undoes=counting[-1].number)
        return counting[-1]


def redate(path: Path, channel: str, stamp: Stamp, *, wait: float = WAIT) -> tuple[Record, Record]:
    """Give the channel's last record another time: take it back and add it again; return it as it was and as it is.

    It is the way out when the clock was wrong and the history is to keep what was published. The note stays.

    Raises:
        FieldError: nothing is recorded, or the stamp has no time, or one before the record before the last.
        BlockedError: the ledger cannot be used.
    """
    with _amending(path, channel, stamp, wait) as (connection, counting):
        _refuse_earlier(counting[:-1], stamp, redating=True)
        last = counting[-1]
        _add(connection, channel, stamp, undoes=last.number)
        number = _add(connection, channel, replace(stamp, note=last.note))
        query = "INSERT INTO entry SELECT ?, section, code, digest FROM entry WHERE record = ?"
        connection.execute(query, (number, last.number))
        return last, Record(number, channel, stamp.at, last.note)


@contextmanager
def _amending(
    path: Path, channel: str, stamp: Stamp, wait: float
) -> Iterator[tuple[sqlite3.Connection, tuple[Record, ...]]]:
    """Lock the ledger, yield a connection and the channel's records, one at least; commit when the block ends well.

    Raises:
        FieldError: nothing is recorded, or the stamp has no time.
        BlockedError: the ledger cannot be used.
    """
    moment_of(stamp.at)
    nothing = FieldError(f"nothing is recorded of {channel} that could be taken back.")
    if not exists(path):
        raise nothing
    with connected(path, wait=wait) as connection, writing(connection):
        counting = _counting(connection, channel)
        if not counting:
            raise nothing
        yield connection, counting


def records(path: Path, channel: str = "", *, wait: float = WAIT) -> tuple[Record, ...]:
    """Return the records that were not taken back, of one channel or all, oldest first; () without a ledger."""
    if not exists(path):
        return ()
    with opened(path, wait=wait) as connection, reading(connection):
        return _counting(connection, channel)


def difference(
    path: Path, channel: str, now: Snapshot, *, sections: Sequence[str] = SECTIONS, wait: float = WAIT
) -> Difference:
    """Return what differs between the channel's last record and `now` in these sections; without one all is new."""
    if not exists(path):
        return Difference(None, Facts(), Facts(**{section: dict(getattr(now, section)) for section in sections}))
    old: dict[str, dict[str, str]] = {section: {} for section in SECTIONS}
    new: dict[str, dict[str, str]] = {section: {} for section in SECTIONS}
    with opened(path, wait=wait) as connection, reading(connection):
        counting = _counting(connection, channel)
        fetch = line_of(connection)
        compared = Comparison(connection, [one.number for one in counting], now, sections=sections)
        for section, code, digest, line in compared:
            if digest is not None:
                old[section][code] = fetch(digest, section)
            if line is not None:
                new[section][code] = line
    return Difference(counting[-1] if counting else None, Facts(**old), Facts(**new), compared.alike)


LinesOfCode = tuple[tuple[Record, str | None], ...]
"""Every line that a code had, with the record that changed it, oldest first; None where it was gone."""


def lines_of(path: Path, code: str, section: str, *, wait: float = WAIT) -> LinesOfCode:
    """Return every line that a code had."""
    return lines_of_each(path, ((code, section),), wait=wait)[0]


def lines_of_each(path: Path, wanted: Sequence[tuple[str, str]], *, wait: float = WAIT) -> tuple[LinesOfCode, ...]:
    """Return every line that each of these codes had in its section, as of one moment."""
    if not exists(path):
        return ((),) * len(wanted)
    query = "SELECT record, digest FROM entry WHERE code = ? AND section = ? ORDER BY record"
    with opened(path, wait=wait) as connection, reading(connection):
        counting = {one.number: one for one in _counting(connection)}
        fetch = line_of(connection)
        return tuple(
            tuple(
                (counting[number], None if digest is None else fetch(digest, section))
                for number, digest in connection.execute(query, (code, section)).fetchall()
                if number in counting
            )
            for code, section in wanted
        )


def priced_codes(path: Path, *, wait: float = WAIT) -> tuple[str, ...]:
    """Return every code of which a row or an item was ever recorded, ascending; () without a ledger."""
    if not exists(path):
        return ()
    query = "SELECT DISTINCT code FROM entry WHERE section IN ('rows', 'items') ORDER BY code"
    with opened(path, wait=wait) as connection, reading(connection):
        return tuple(_codes(connection, query))


def _codes(connection: sqlite3.Connection, query: str) -> Iterator[str]:
    for (code,) in connection.execute(query):
        _refuse_bytes(code)
        yield code


def recorded_sets(path: Path, *, wait: float = WAIT) -> frozenset[str]:
    """Return the code of every set that was ever recorded; none without a ledger."""
    if not exists(path):
        return frozenset()
    with opened(path, wait=wait) as connection, reading(connection):
        query = "SELECT DISTINCT code FROM entry WHERE section = 'sets'"
        return frozenset(_codes(connection, query))


def standing(path: Path, channel: str, section: str, *, until: int | None = None, wait: float = WAIT) -> dict[str, str]:
    """Return a channel's lines by code as of the record with the number `until`, or the last; {} without a ledger."""
    if not exists(path):
        return {}
    with opened(path, wait=wait) as connection, reading(connection):
        numbers = [one.number for one in _counting(connection, channel) if until is None or one.number <= until]
        fetch = line_of(connection)
        return {code: fetch(digest, section) for code, digest in digests(connection, numbers, section).items()}


def facts_of(
    path: Path, channel: str, section: str, facts: tuple[str, str], *, wait: float = WAIT
) -> Iterator[tuple[Record, str, str | None, str | None]]:
    """Yield two facts of every line that a channel's records changed, oldest first; None where the line was gone."""
    if not exists(path):
        return
    query = (
        "SELECT entry.record, entry.code, json_extract(content.text, ?), json_extract(content.text, ?) "
        "FROM entry "
        "LEFT JOIN content ON content.digest = entry.digest "
        "WHERE entry.section = ? AND entry.record IN (SELECT number FROM record WHERE channel = ?) "
        "ORDER BY entry.record"
    )
    with opened(path, wait=wait) as connection, reading(connection):
        counting = {one.number: one for one in _counting(connection, channel)}
        paths = (f"$.{fact}" for fact in facts)
        for number, code, first, second in connection.execute(query, (*paths, section, channel)):
            if number in counting:
                _refuse_bytes(code)
                yield counting[number], code, first, second


@contextmanager
def writing(connection: sqlite3.Connection) -> Iterator[None]:
    """Lock the ledger against other writers; commit at the end, roll back on any error."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
    except BaseException:
        if connection.in_transaction:  # SQLite itself rolls back when the disk is full
            connection.execute("ROLLBACK")
        raise
    connection.execute("COMMIT")


@contextmanager
def reading(connection: sqlite3.Connection) -> Iterator[None]:
    """Read one state of the ledger throughout."""
    connection.execute("BEGIN")
    try:
        yield
    finally:
        if connection.in_transaction:
            connection.execute("ROLLBACK")


def _add(connection: sqlite3.Connection, channel: str, stamp: Stamp, undoes: int | None = None) -> int:
    query = "INSERT INTO record (channel, at, note, version, undoes) VALUES (?, ?, ?, ?, ?)"
    number = connection.execute(query, (channel, stamp.at, stamp.note, stamp.version, undoes)).lastrowid
    assert number is not None
    return number


_LONGEST_NOTE: Final = 4000  # characters


def _counting(connection: sqlite3.Connection, channel: str = "") -> tuple[Record, ...]:
    """Return the records that were not taken back, oldest first."""
    query = (
        "SELECT number, channel, at, note FROM record WHERE undoes IS NULL AND (channel = ? OR ? = '') "
        "AND number NOT IN (SELECT undoes FROM record WHERE undoes IS NOT NULL) ORDER BY number LIMIT ?"
    )
    rows = connection.execute(query, (channel, channel, bounds.LEDGER_RECORDS + 1)).fetchall()
    for number, *texts in rows:
        if not (all(isinstance(text, str) for text in texts) and 0 < number <= bounds.LEDGER_RECORDS):
            raise damaged()
        try:
            moment_of(texts[1])
        except FieldError as fault:  # of a record, not of the caller's stamp
            raise DamagedLedgerError(fault.message, fault.hint) from fault
    return tuple(Record(number, channel, at, note[:_LONGEST_NOTE]) for number, channel, at, note in rows)


def _refuse_earlier(counting: tuple[Record, ...], stamp: Stamp, *, redating: bool = False) -> None:
    """Raise FieldError where a stamp is before these records; `redating`: the channel has one more, which gets it."""
    if counting and moment_of(stamp.at) < moment_of(counting[-1].at):
        last = counting[-1]
        which = "record before the last" if redating else "last record"
        hint = (
            "If the clock is wrong now, set it. If it ran ahead then: listkit record "
            f"{last.channel} --redate --at TIME gives that record its true time, --undo takes it back; neither deletes."
        )
        if redating:
            hint = (
                "Name a time after that one with --at. If that one is wrong too: --undo takes the last one back, then "
                "--redate gives that one its true time."
            )
        message = f"{local_time(stamp.at)} lies before the {which} of {last.channel}, that of {local_time(last.at)}."
        raise FieldError(message, hint)
