"""The ledger: what was published where, and when.

Each record keeps what changed against the one before it on its channel, nothing else, so the ledger
grows with the changes and not with the feeds. Rows are only added: a record that is taken back stays,
and one more says that it does not count. The time is an argument.
"""

import datetime
import hashlib
import json
import re
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from json.encoder import JSONEncoder
from pathlib import Path
from typing import Any, Final

from listkit.ledger.file import WAIT, connected, damaged
from listkit.problem import FieldError

# What a channel shows at one time, and what that follows from: the matter of a record.
#
# Everything is a line a code: a JSON object in canonical form, so that equal facts are equal text.

Lines = Iterable[tuple[str, str]]
"""Codes, each once, and their lines; read once, so that a large feed need not be held."""
SECTIONS: Final = ("rows", "items", "sets", "rules", "files")


@dataclass(frozen=True, slots=True)
class Snapshot:
    """All that is recorded of a channel.

    `rows` are the lines of record.jsonl by sku. `items` and `sets` say what the owner's files say of those in the
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


# Long texts of rows, kept once: a description that all variants of a set share is stored a single time.
#
# A row's line is parted into a short line and passages; put together again it is the same text, letter
# for letter, and its SHA-256 proves it.

_LONG: Final = 120  # characters; a shorter text is not worth a place of its own
_ENCODER: Final = JSONEncoder(ensure_ascii=False, separators=(",", ":"), sort_keys=True, allow_nan=False)
_PASSAGE: Final = re.compile(r'\{"passage":(\d+)\}')
canonical: Final = _ENCODER.encode
"""Returns the text of record.jsonl for a value."""


def digest_of(line: str) -> bytes:
    """Return the SHA-256 of a line; half a surrogate pair, which is no character, counts too."""
    return hashlib.sha256(line.encode("utf-8", "surrogatepass")).digest()


def parted(line: str, keep: Callable[[str], int]) -> str:
    """Return the line with every long member in the care of `keep`, which takes its JSON text and gives its number."""
    if len(line) <= _LONG:
        return line
    members = json.loads(line)
    texts = {name: canonical(value) for name, value in members.items()}
    long = {name: text for name, text in texts.items() if len(text) > _LONG and isinstance(members[name], str | list)}
    if not long or _line(texts) != line:  # what we would not write so is kept as it is
        return line
    return canonical(members | {name: {"passage": keep(text)} for name, text in long.items()})


def joined(short: str, passage: Callable[[int], str]) -> str:
    """Return the whole line again, its passages fetched by their numbers.

    Raises:
        ValueError: it is no line as `parted` makes them.
    """
    if not short.startswith("{"):
        raise ValueError("not an object")
    # Within a text of JSON the quotation marks would be escaped, so that only a member in its place is found.
    return _PASSAGE.sub(lambda found: passage(int(found[1])), short)


def _line(texts: Mapping[str, str]) -> str:
    """Return an object of members that are JSON texts already."""
    return "{" + ",".join([f"{canonical(name)}:{texts[name]}" for name in sorted(texts)]) + "}"


def parsed(lines: Mapping[str, str]) -> dict[str, dict[str, Any]]:
    """Return every line as its facts, in their order; each is an object, for the ledger has been asked."""
    return {code: json.loads(line) for code, line in lines.items()}


# Entries of the ledger: what stands after some records, what a new one would change, and its writing.
#
# Only SQL and digests; which records count, and when, is for `ledger`.

Changed = tuple[str, str, bytes | None, str | None]
"""Section, code, the old line's digest, the new line; None for what was not there, or is gone."""


class Comparison:
    """A snapshot against what stands after some records: iterate once over what changed, then ask for `alike`."""

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
        """How many rows are as they were."""

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
    """Return what stands after these records, one upon the other: the digest of each code's line."""
    query = "SELECT code, digest FROM entry WHERE record = ? AND section = ?"
    standing: dict[str, bytes] = {}
    for number in numbers:
        for code, digest in connection.execute(query, (number, section)):
            if digest is None:
                standing.pop(code, None)
            else:
                standing[code] = digest
    return standing


def line_of(connection: sqlite3.Connection) -> Callable[[bytes], str]:
    """Return what fetches a line by its digest, each passage once, and proves it.

    Raises (when called):
        FieldError: it is not there, or not what was recorded.
    """
    known: dict[int, str] = {}

    def passage(number: int) -> str:
        if number not in known:
            known[number] = _one(connection, "SELECT text FROM passage WHERE number = ?", number)
        return known[number]

    def line(digest: bytes) -> str:
        try:
            text = joined(_one(connection, "SELECT text FROM content WHERE digest = ?", digest), passage)
        except (ValueError, TypeError, KeyError, RecursionError):
            raise damaged() from None
        if digest_of(text) != digest:
            raise damaged()
        return text

    return line


def _one(connection: sqlite3.Connection, query: str, value: bytes | int) -> str:
    found = connection.execute(query, (value,)).fetchone()
    if found is None:
        raise ValueError("a line is missing")
    return str(found[0])


class EntryWriter:
    """Adds the entries of one record; a text that is known is not stored again."""

    def __init__(self, connection: sqlite3.Connection, number: int) -> None:
        self._run = connection.execute
        self._number = number
        self._passages: dict[str, int] = {}

    def write(self, section: str, code: str, line: str | None) -> None:
        """Add an entry, None for a line that is gone."""
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
