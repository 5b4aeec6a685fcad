"""The ledger's file: its schema, and the connections to it, one that may write and one that only reads.

A rollback journal and full synchronisation: what was committed is on the disk, and what a kill or a power cut left half
done is taken back when the ledger is next written to (SQLite, "Atomic Commit In SQLite").
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager
from pathlib import Path
from typing import Final

from listkit.ledger.faults import closed, cut_short, faults_named
from listkit.ledger.journal import (
    LARGEST,
    alone,
    beside,
    copied,
    folder_locked,
    has_log,
    is_there,
    made_whole,
    private_folder,
)
from listkit.problem import BlockedError

# The schema: numbered steps, each applied once, in order, in a transaction of its own. `PRAGMA user_version`
# counts the steps that a file has had. A released step is never changed; what is new goes into a step at the end.

APPLICATION: Final = 0x6C6B6C31
"""Stands in the file's header (SQLite, "Database File Format"), so that no other database is taken for a ledger."""

_RECORDS: Final = """
CREATE TABLE record (
    number  INTEGER PRIMARY KEY,
    channel TEXT NOT NULL,
    at      TEXT NOT NULL,             -- ISO 8601 with the distance to UTC
    note    TEXT NOT NULL,
    version TEXT NOT NULL,             -- of listkit
    undoes  INTEGER UNIQUE REFERENCES record (number)
);
CREATE TABLE passage (                 -- a long text, once for all rows that have it, as JSON
    number  INTEGER PRIMARY KEY,
    digest  BLOB NOT NULL UNIQUE,      -- SHA-256 of the text
    text    TEXT NOT NULL
);
CREATE TABLE content (                 -- one row's facts as JSON, a long one as {"passage": number}
    number  INTEGER PRIMARY KEY,
    digest  BLOB NOT NULL UNIQUE,      -- SHA-256 of the whole row, its passages in their places
    text    TEXT NOT NULL
);
CREATE TABLE entry (                   -- what a record changed against the one before on its channel
    record  INTEGER NOT NULL REFERENCES record (number),
    section TEXT NOT NULL,             -- rows, items, sets, rules, files
    code    TEXT NOT NULL,
    digest  BLOB REFERENCES content (digest),    -- NULL: it is gone
    PRIMARY KEY (record, section, code)
) WITHOUT ROWID;
"""
_BY_CODE: Final = """
CREATE INDEX entry_by_code ON entry (code, section, record);
"""


def _only_added(*tables: str) -> str:
    """Return what keeps the rows of tables from being changed or deleted."""
    return "".join(
        f"CREATE TRIGGER {table}_keeps_{what} BEFORE {what} ON {table} "
        "BEGIN SELECT RAISE (ABORT, 'rows of the ledger are only added'); END;\n"
        for table in tables
        for what in ("UPDATE", "DELETE")
    )


_ONLY_ADDED: Final = _only_added("record", "passage", "content", "entry")
_ORDERS: Final = """
CREATE TABLE stockist_order (          -- an order as it was confirmed
    number    INTEGER PRIMARY KEY,
    buyer     TEXT NOT NULL,           -- the stockist's code, else the shop as its form names it
    reference TEXT NOT NULL,           -- the buyer's own number, '' for none
    day       TEXT NOT NULL,           -- ISO 8601
    digest    BLOB NOT NULL REFERENCES content (digest)
);
CREATE TABLE order_step (              -- what became of an order; the last step holds
    number    INTEGER PRIMARY KEY,
    ordered   INTEGER NOT NULL REFERENCES stockist_order (number),
    state     TEXT NOT NULL,           -- sent, cancelled, confirmed (again)
    day       TEXT NOT NULL
);
""" + _only_added("stockist_order", "order_step")
STEPS: Final = (_RECORDS, _BY_CODE, _ONLY_ADDED, _ORDERS)
_WITH_ORDERS: Final = 4
"""Steps of a ledger that holds orders."""


def migrate(connection: sqlite3.Connection, steps: tuple[str, ...] = STEPS) -> None:
    """Bring the ledger to the newest schema; a new file gets all steps.

    Raises:
        BlockedError: it is another program's database, or from a newer listkit.
    """
    while _count_at_once(connection, steps) < len(steps):
        connection.execute("BEGIN IMMEDIATE")
        try:
            number = _count(connection, steps)  # counted again: another program may have been quicker
            for statement in _statements(steps[number]) if number < len(steps) else ():
                connection.execute(statement)
            connection.execute(f"PRAGMA application_id = {APPLICATION}")
            connection.execute(f"PRAGMA user_version = {min(number + 1, len(steps))}")
            connection.execute("COMMIT")
        finally:
            if connection.in_transaction:
                connection.execute("ROLLBACK")


def _count_at_once(connection: sqlite3.Connection, steps: tuple[str, ...]) -> int:
    """Return the count as of one moment: another program may write between its queries."""
    connection.execute("BEGIN")
    try:
        return _count(connection, steps)
    finally:
        connection.execute("ROLLBACK")


def _count(connection: sqlite3.Connection, steps: tuple[str, ...]) -> int:
    """Return how many steps the file has had."""
    [application] = connection.execute("PRAGMA application_id").fetchone()
    [version] = connection.execute("PRAGMA user_version").fetchone()
    [tables] = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    if application != APPLICATION and (application or version or tables):
        raise BlockedError("it is another program's database and no ledger.", "Give it another name, then record.")
    if version > len(steps):
        hint = "Use that one, or a newer one."
        raise BlockedError(f"it was written by a newer listkit (form {version}; this one knows {len(steps)}).", hint)
    return int(version)


def _statements(script: str) -> list[str]:
    """Return the statements of a step: executescript would commit the transaction that the step is in."""
    statements, so_far = [], ""
    for line in script.splitlines(keepends=True):
        so_far += line
        if sqlite3.complete_statement(so_far):
            statements.append(so_far)
            so_far = ""
    return statements


WAIT: Final = 10.0
"""Seconds to wait for another program that is writing."""
_CACHE: Final = -64_000  # KiB of pages held, so that a large first record is not sorted on the disk
_SOUND: Final = [("ok",)]  # what quick_check returns
_DAMAGE: Final = (sqlite3.SQLITE_ERROR, sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)  # the first: a table is missing


def exists(path: Path) -> bool:
    """Whether the ledger is there.

    Raises:
        BlockedError: it is a link or no plain file, or is empty, or nobody may look.
    """
    with faults_named(path):
        return is_there(path)


@contextmanager
def connected(path: Path, *, wait: float = WAIT) -> Iterator[sqlite3.Connection]:
    """Yield a connection that may write to the ledger at `path`, its schema the newest; the caller begins and commits.

    A ledger that is not there yet takes its place when the block has ended well, whole. A journal beside it is
    recovered from only after that went well on a copy.

    Raises:
        BlockedError: the file is a link, no ledger, damaged, newer than we know, locked or write-protected, or a file
            beside it is none that SQLite may touch.
    """
    with faults_named(path), ExitStack() as held:
        held.enter_context(alone(wait))
        target = path
        if not is_there(path, single=True):
            held.enter_context(folder_locked(path.parent, wait))
            if not is_there(path, single=True):
                target = held.enter_context(made_whole(path))
        if target is path and beside(path):
            with private_folder() as folder:
                _recover(copied(path, folder, wait))
        connection = held.enter_context(closing(_connection(target, "mode=rw" if target is path else "mode=rwc", wait)))
        connection.execute("PRAGMA journal_mode = DELETE")
        migrate(connection)
        yield connection


@contextmanager
def opened(path: Path, *, wait: float = WAIT) -> Iterator[sqlite3.Connection]:
    """Yield a connection that reads the ledger at `path`; nothing is written, also not beside it.

    A ledger that SQLite would have to write to before reading it (one with a journal or a write-ahead log, or of an
    older schema) is read from a private copy.

    Raises:
        BlockedError: the file is a link, no ledger, damaged, newer than we know or locked, or a file beside it is none
            that SQLite may touch.
    """
    with faults_named(path), ExitStack() as held:
        if not is_there(path):
            raise closed()
        if not beside(path) and not has_log(path):
            connection = held.enter_context(closing(_connection(path, "mode=ro", wait)))
            if _count_at_once(connection, STEPS) == len(STEPS):
                yield connection
                return
            held.pop_all().close()
        folder = held.enter_context(private_folder())
        with alone(wait):
            copy = copied(path, folder, wait)
        _recover(copy)
        connection = held.enter_context(closing(_connection(copy, "mode=rw", wait)))
        migrate(connection)
        yield connection


_Row = tuple[object, ...]  # of a record: number, note, the record it undoes; then what both of `redate` have alike
_UNDOES: Final = 2


def _recover(copy: Path) -> None:
    """Recover a private copy from the journal beside it, and see that this took nothing from it that was recorded.

    Of the records that lie there only those go that the transaction added which a kill left half done. A journal of
    another ledger, or of an older copy of this one, damages it or takes more ("How To Corrupt An SQLite Database
    File", section 1.4, "Mispairing database files and hot journals").

    Raises:
        DamagedLedgerError: the ledger is damaged with the journal, and without it as well.
        BlockedError: it is damaged only with the journal, or would lose records.
    """
    before = _recorded(copy, "mode=ro&immutable=1")  # which leaves out what lies beside it
    after = _recorded(copy, "mode=rw")
    if before is None and after is None:
        raise cut_short()
    if after is None or (before is not None and not _keep(before, after)):
        message = "the journal beside it does not belong to it: with it, what is recorded would be lost."
        raise BlockedError(message, "Move the journal away and keep it, then look whether the last record is there.")


def _keep(before: tuple[list[_Row], ...], after: tuple[list[_Row], ...]) -> bool:
    """Whether nothing is lost but what the last transaction added: records, one order, or one step of an order."""
    records, *others = zip(before, after, strict=True)
    kept = [_keeps(*records), *(now[: max(0, len(old) - 1)] == old[:-1] for old, now in others)]
    return all(kept) and sum(len(now) < len(old) for old, now in zip(before, after, strict=True)) <= 1


def _keeps(before: list[_Row], after: list[_Row]) -> bool:
    """Whether no record is lost but those of the last transaction: one, or the two of `redate`."""
    added = 1
    if len(before) > 1:
        back, again = before[-2:]
        if back[_UNDOES] is not None and again[_UNDOES] is None and back[_UNDOES + 1 :] == again[_UNDOES + 1 :]:
            added = 2
    kept = max(0, len(before) - added)
    return after[:kept] == before[:kept]


def _recorded(copy: Path, mode: str) -> tuple[list[_Row], ...] | None:
    """Return records, orders and their steps in a private copy, without their contents; None where it is damaged."""
    try:
        with closing(_connection(copy, mode, 0)) as connection:
            [[pages]], [[size]] = (connection.execute(f"PRAGMA page_{name}").fetchall() for name in ("count", "size"))
            if pages * size > LARGEST or connection.execute("PRAGMA quick_check(1)").fetchall() != _SOUND:
                return None
            queries = ["SELECT number, note, undoes, channel, at, version FROM record ORDER BY number"]
            [[steps]] = connection.execute("PRAGMA user_version").fetchall()
            if steps >= _WITH_ORDERS:
                queries.append("SELECT number, buyer, reference, day, digest FROM stockist_order ORDER BY number")
                queries.append("SELECT number, ordered, state, day FROM order_step ORDER BY number")
            found = [connection.execute(query).fetchall() for query in queries]
            return (*found, *([[]] * (3 - len(found))))
    except sqlite3.DatabaseError as fault:
        if fault.sqlite_errorcode & 0xFF in _DAMAGE:
            return None
        raise


def _connection(path: Path, mode: str, wait: float) -> sqlite3.Connection:
    address = f"{Path(os.path.abspath(path)).as_uri()}?{mode}"
    connection = sqlite3.connect(address, timeout=wait, isolation_level=None, uri=True)
    try:
        connection.execute("PRAGMA trusted_schema = OFF")
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute(f"PRAGMA cache_size = {_CACHE}")
    except BaseException:
        connection.close()
        raise
    return connection
