"""The ledger: what was published where, and when.

Each record keeps what changed against the one before it on its channel, nothing else, so the ledger
grows with the changes and not with the feeds. Rows are only added: a record that is taken back stays,
and one more says that it does not count. The time is an argument.
"""

import datetime
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from listkit.ledger.entries import Comparison, EntryWriter, digests, line_of
from listkit.ledger.opening import WAIT, connected, damaged
from listkit.ledger.snapshot import SECTIONS, Facts, Snapshot
from listkit.problem import FieldError

LEDGER: Final = "ledger.sqlite3"


@dataclass(frozen=True, slots=True)
class Stamp:
    """When something is recorded (ISO 8601 with the distance to UTC), the owner's note, and listkit's version."""

    at: str
    note: str = ""
    version: str = ""


@dataclass(frozen=True, slots=True)
class Record:
    """One record that counts: what was published on a channel at a time."""

    number: int
    channel: str
    at: str
    note: str = ""

    @property
    def day(self) -> datetime.date:
        """The owner's own day."""
        return moment_of(self.at).date()


@dataclass(frozen=True, slots=True)
class Difference:
    """What differs between a channel's last record and now; `record` is None when nothing was recorded.

    `old` and `new` hold the lines that differ; `alike` counts the rows that do not.
    """

    record: Record | None
    old: Facts
    new: Facts
    alike: int = 0


def record(path: Path, channel: str, now: Snapshot, stamp: Stamp, *, wait: float = WAIT) -> Record | None:
    """Record what a channel shows; None when that is already the last record. All of it is kept, or nothing.

    Raises:
        FieldError: the time is none or lies before the last record's, or the ledger cannot be used.
    """
    moment_of(stamp.at)
    with connected(path, wait=wait) as connection, _writing(connection):
        counting = _counting(connection, channel)
        _refuse_earlier(counting, stamp)
        number = None if counting else _add(connection, channel, stamp)
        writer: EntryWriter | None = None
        for section, code, _, line in Comparison(connection, [one.number for one in counting], now):
            number = number or _add(connection, channel, stamp)
            writer = writer or EntryWriter(connection, number)
            writer.write(section, code, line)
        return None if number is None else Record(number, channel, stamp.at, stamp.note)


def undo(path: Path, channel: str, stamp: Stamp, *, wait: float = WAIT) -> Record:
    """Take back the channel's last record, by one more that says so; return the one taken back.

    Raises:
        FieldError: there is none, or the ledger cannot be used.
    """
    moment_of(stamp.at)
    if not path.exists():
        raise _nothing(channel)
    with connected(path, wait=wait) as connection, _writing(connection):
        counting = _counting(connection, channel)
        if not counting:
            raise _nothing(channel)
        _refuse_earlier(counting, stamp)
        _add(connection, channel, stamp, undoes=counting[-1].number)
        return counting[-1]


def records(path: Path, channel: str = "", *, wait: float = WAIT) -> tuple[Record, ...]:
    """Return the records that count, of one channel or all, oldest first; none without a ledger."""
    if not path.exists():
        return ()
    with connected(path, wait=wait) as connection:
        return _counting(connection, channel)


def difference(
    path: Path, channel: str, now: Snapshot, *, sections: Sequence[str] = SECTIONS, wait: float = WAIT
) -> Difference:
    """Return what differs between the channel's last record and now, in these sections; all is new without one."""
    if not path.exists():
        return Difference(None, Facts(), Facts(**{section: dict(getattr(now, section)) for section in sections}))
    old: dict[str, dict[str, str]] = {section: {} for section in SECTIONS}
    new: dict[str, dict[str, str]] = {section: {} for section in SECTIONS}
    with connected(path, wait=wait) as connection, _reading(connection):
        counting = _counting(connection, channel)
        fetch = line_of(connection)
        compared = Comparison(connection, [one.number for one in counting], now, sections=sections)
        for section, code, digest, line in compared:
            if digest is not None:
                old[section][code] = fetch(digest)
            if line is not None:
                new[section][code] = line
    return Difference(counting[-1] if counting else None, Facts(**old), Facts(**new), compared.alike)


def lines_of(path: Path, code: str, section: str, *, wait: float = WAIT) -> tuple[tuple[Record, str | None], ...]:
    """Return every line that a code had, with the record that brought it, oldest first; None where it was gone."""
    if not path.exists():
        return ()
    query = "SELECT record, digest FROM entry WHERE code = ? AND section = ? ORDER BY record"
    with connected(path, wait=wait) as connection, _reading(connection):
        counting = {one.number: one for one in _counting(connection)}
        fetch = line_of(connection)
        found = connection.execute(query, (code, section)).fetchall()
        return tuple(
            (counting[number], None if digest is None else fetch(digest))
            for number, digest in found
            if number in counting
        )


def priced_codes(path: Path, *, wait: float = WAIT) -> tuple[str, ...]:
    """Return every code of which a price was ever recorded, in order; none without a ledger."""
    if not path.exists():
        return ()
    query = "SELECT DISTINCT code FROM entry WHERE section IN ('rows', 'items') ORDER BY code"
    with connected(path, wait=wait) as connection, _reading(connection):
        return tuple(code for (code,) in connection.execute(query))


def standing(path: Path, channel: str, section: str, *, until: int, wait: float = WAIT) -> dict[str, str]:
    """Return the lines that stood on a channel after the record with this number; none without a ledger."""
    if not path.exists():
        return {}
    with connected(path, wait=wait) as connection, _reading(connection):
        numbers = [one.number for one in _counting(connection, channel) if one.number <= until]
        fetch = line_of(connection)
        return {code: fetch(digest) for code, digest in digests(connection, numbers, section).items()}


def facts_of(
    path: Path, channel: str, section: str, fact: str, *, wait: float = WAIT
) -> Iterator[tuple[Record, str, str | None]]:
    """Yield one fact of every line that a channel's records brought, oldest first; None where the line was gone."""
    if not path.exists():
        return
    query = (
        "SELECT entry.record, entry.code, json_extract(content.text, ?) FROM entry "
        "LEFT JOIN content ON content.digest = entry.digest "
        "WHERE entry.section = ? AND entry.record IN (SELECT number FROM record WHERE channel = ?) "
        "ORDER BY entry.record"
    )
    with connected(path, wait=wait) as connection, _reading(connection):
        counting = {one.number: one for one in _counting(connection, channel)}
        for number, code, said in connection.execute(query, (f"$.{fact}", section, channel)):
            if number in counting:
                yield counting[number], code, said


def moment_of(at: str) -> datetime.datetime:
    """Return the time of a stamp.

    Raises:
        FieldError: it is none, or says nothing of its distance to UTC.
    """
    try:
        moment = datetime.datetime.fromisoformat(at)
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None:
        raise FieldError(f'"{at}" is no time.', 'Write it as in "2026-11-25T10:30+00:00".')
    return moment


@contextmanager
def _writing(connection: sqlite3.Connection) -> Iterator[None]:
    """Hold the ledger against other writers; all that is done is kept, or nothing."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
    except BaseException:
        if connection.in_transaction:  # SQLite ends it by itself when the disk is full
            connection.execute("ROLLBACK")
        raise
    connection.execute("COMMIT")


@contextmanager
def _reading(connection: sqlite3.Connection) -> Iterator[None]:
    """See one state throughout."""
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


def _counting(connection: sqlite3.Connection, channel: str = "") -> tuple[Record, ...]:
    """Return the records that were not taken back, oldest first."""
    query = (
        "SELECT number, channel, at, note FROM record WHERE undoes IS NULL AND (channel = ? OR ? = '') "
        "AND number NOT IN (SELECT undoes FROM record WHERE undoes IS NOT NULL) ORDER BY number"
    )
    rows = connection.execute(query, (channel, channel)).fetchall()
    for _, *texts in rows:
        if not all(isinstance(text, str) for text in texts):
            raise damaged()
        moment_of(texts[1])
    return tuple(Record(*row) for row in rows)


def _refuse_earlier(counting: tuple[Record, ...], stamp: Stamp) -> None:
    if counting and moment_of(stamp.at) < moment_of(counting[-1].at):
        message = f"{stamp.at} lies before the last record of {counting[-1].channel}, {counting[-1].at}."
        raise FieldError(message, "Is the clock right?")


def _nothing(channel: str) -> FieldError:
    return FieldError(f"nothing is recorded of {channel} that could be taken back.")
