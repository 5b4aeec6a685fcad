"""The ledger's file: its schema, and the connection to it; every fault of SQLite is raised as a BlockedError.

A rollback journal and full synchronisation: what was committed is on the disk, and what a kill or a
power cut left half done is taken back at the next opening (SQLite, "Atomic Commit In SQLite").
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Final

from listkit.problem import BlockedError, FieldError

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
_ONLY_ADDED: Final = "".join(
    f"CREATE TRIGGER {table}_keeps_{what} BEFORE {what} ON {table} "
    "BEGIN SELECT RAISE (ABORT, 'rows of the ledger are only added'); END;\n"
    for table in ("record", "passage", "content", "entry")
    for what in ("UPDATE", "DELETE")
)
STEPS: Final = (_RECORDS, _BY_CODE, _ONLY_ADDED)


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
_PUT_BACK: Final = "Put back a copy of it, or move it away: then the next record begins a new one."
_NOT_OURS: Final = ("it does not hold what listkit wrote.", _PUT_BACK)
_MESSAGES: Final = {  # by the low byte of SQLite's result code, its kind (sqlite.org, "Result and Error Codes")
    sqlite3.SQLITE_BUSY: ("another program is writing to it just now.", "Wait until it has ended."),
    sqlite3.SQLITE_LOCKED: ("another program is writing to it just now.", "Wait until it has ended."),
    sqlite3.SQLITE_READONLY: ("it cannot be written to.", "Allow writing to it and to its folder."),
    sqlite3.SQLITE_CANTOPEN: ("it cannot be opened.", "Allow reading it and its folder."),
    sqlite3.SQLITE_PERM: ("it cannot be opened.", "Allow reading it and its folder."),
    sqlite3.SQLITE_FULL: ("the disk is full.", "Make room; nothing of this record was kept."),
    sqlite3.SQLITE_IOERR: ("the disk does not answer as it should.", "Check the disk; copy the ledger elsewhere."),
    sqlite3.SQLITE_NOTADB: ("it is no SQLite file.", _PUT_BACK),
    sqlite3.SQLITE_CORRUPT: ("it is damaged or cut short.", _PUT_BACK),
}


@contextmanager
def connected(path: Path, *, wait: float = WAIT) -> Iterator[sqlite3.Connection]:
    """Yield a connection to the ledger at `path`, made if need be, its schema the newest.

    The caller begins and commits. Errors of its block are raised again with the file's name before their message.

    Raises:
        BlockedError: the file is a link, no ledger, damaged, newer than we know, locked or write-protected.
    """
    if path.is_symlink():
        raise BlockedError(f"{path.name} is a link and is not followed.", "Put the file itself into the shop folder.")
    try:
        with closing(_connection(path, wait)) as connection:
            migrate(connection)
            yield connection
    except FieldError as fault:
        kind = BlockedError if isinstance(fault, BlockedError) else FieldError
        raise kind(f"{path.name}: {fault.message}", fault.hint) from fault
    except sqlite3.Error as fault:
        code = getattr(fault, "sqlite_errorcode", None)
        message, hint = _MESSAGES.get(code & 0xFF, _NOT_OURS) if code is not None else _NOT_OURS
        raise BlockedError(f"{path.name}: {message}", hint) from fault
    except UnicodeDecodeError as fault:  # a text that is no UTF-8; SQLite's own message quotes the damage
        message, hint = _NOT_OURS
        raise BlockedError(f"{path.name}: {message}", hint) from fault


def _connection(path: Path, wait: float) -> sqlite3.Connection:
    address = Path(os.path.abspath(path)).as_uri() + "?mode=rwc"
    connection = sqlite3.connect(address, timeout=wait, isolation_level=None, uri=True)
    try:
        connection.execute("PRAGMA trusted_schema = OFF")
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute(f"PRAGMA cache_size = {_CACHE}")
        connection.execute("PRAGMA journal_mode = DELETE")
    except BaseException:
        connection.close()
        raise
    return connection


def damaged() -> BlockedError:
    """Return the error of a ledger whose content is not what listkit wrote."""
    return BlockedError(*_NOT_OURS)
