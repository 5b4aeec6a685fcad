"""The ledger's schema: numbered steps, each applied once, in order, in a transaction of its own.

`PRAGMA user_version` counts the steps that a ledger has had. A step that has been released is never
changed; what is new goes into a step at the end.
"""

import sqlite3
from typing import Final

from listkit.problem import FieldError

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
        FieldError: it is another program's database, or from a newer listkit.
    """
    while _seen_at_once(connection, steps) < len(steps):
        connection.execute("BEGIN IMMEDIATE")
        try:
            number = _count(connection, steps)  # looked at again: another may have been quicker
            for statement in _statements(steps[number]) if number < len(steps) else ():
                connection.execute(statement)
            connection.execute(f"PRAGMA application_id = {APPLICATION}")
            connection.execute(f"PRAGMA user_version = {min(number + 1, len(steps))}")
            connection.execute("COMMIT")
        finally:
            if connection.in_transaction:
                connection.execute("ROLLBACK")


def _seen_at_once(connection: sqlite3.Connection, steps: tuple[str, ...]) -> int:
    """Return the count as of one moment: another may be writing between two looks."""
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
        raise FieldError("it is another program's database and no ledger.", "Give it another name, then record.")
    if version > len(steps):
        hint = "Use that one, or a newer one."
        raise FieldError(f"it was written by a newer listkit (form {version}; this one knows {len(steps)}).", hint)
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
