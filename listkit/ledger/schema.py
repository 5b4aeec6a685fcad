"""The ledger's schema: numbered steps, and what of it a file must hold before anything else in it is read.

A file that somebody else made may hold a view in a table's place, a trigger, a generated column or an index that runs
what they wrote as soon as the table is touched (SQLite, "Defense Against The Dark Arts", sqlite.org/security.html). So
its schema is compared with ours first, word for word.
"""

import re
import sqlite3
from contextlib import closing
from functools import cache, lru_cache
from typing import Final

from listkit.ledger.faults import damaged, foreign
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
WITH_ORDERS: Final = 4
"""Steps of a ledger that holds orders."""


def migrate(connection: sqlite3.Connection, steps: tuple[str, ...] = STEPS) -> None:
    """Bring the ledger to the newest schema; a new file gets all steps.

    Raises:
        BlockedError: it is another program's database, or from a newer listkit.
    """
    while count_at_once(connection, steps) < len(steps):
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


def count_at_once(connection: sqlite3.Connection, steps: tuple[str, ...]) -> int:
    """Return the count as of one moment: another program may write between its queries."""
    connection.execute("BEGIN")
    try:
        return _count(connection, steps)
    finally:
        connection.execute("ROLLBACK")


def _count(connection: sqlite3.Connection, steps: tuple[str, ...]) -> int:
    """Return how many steps the file has had; what it holds is what they make."""
    [application] = connection.execute("PRAGMA application_id").fetchone()
    [version] = connection.execute("PRAGMA user_version").fetchone()
    made = connection.execute(_SCHEMA).fetchall()
    if application != APPLICATION and (application or version or made):
        raise BlockedError("it is another program's database and no ledger.", "Give it another name, then record.")
    if version > len(steps):
        hint = "Use that one, or a newer one."
        raise BlockedError(f"it was written by a newer listkit (form {version}; this one knows {len(steps)}).", hint)
    if version < 0:
        raise damaged()
    _refuse_foreign(made, steps[:version])
    return int(version)


_SCHEMA: Final = "SELECT type, name, tbl_name, sql, rootpage FROM sqlite_schema"
# What SQLite reads over between two words of SQL, and what is in quotes and stays as it is. White space is five signs
# of ASCII, as in sqlite3CtypeMap of SQLite's global.c.
_BETWEEN: Final = re.compile(
    r"""('[^']*(?:'|\Z)|"[^"]*(?:"|\Z)|`[^`]*(?:`|\Z)|\[[^\]]*(?:\]|\Z))|(?:[ \t\n\f\r]|--[^\n]*)+"""
)
_Made = tuple[object, object, object, object]
"""Of a table, index or trigger: its type, its name, the table that it is of, and its SQL without comments."""


def _refuse_foreign(made: list[tuple[object, ...]], steps: tuple[str, ...]) -> None:
    """Raise DamagedLedgerError where a file holds anything that these steps do not make, or not all of it."""
    left = set(_made_by(steps))
    for kind, name, table, sql, _ in made:
        each = (kind, name, table, _bare(sql))
        if each not in left:  # or there twice
            raise foreign(str(kind), str(name))
        left.remove(each)
    pages = [page for *_, page in made if page]  # a trigger has none
    if left or len(set(pages)) < len(pages):
        raise damaged()


@cache
def _made_by(steps: tuple[str, ...]) -> frozenset[_Made]:
    """Return what these steps make, as SQLite itself keeps it."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
        for step in steps:
            connection.executescript(step)
        made = connection.execute(_SCHEMA).fetchall()
    return frozenset((kind, name, table, _bare(sql)) for kind, name, table, sql, _ in made)


@lru_cache(maxsize=64)
def _bare(sql: object) -> object:
    """Return SQL with one space for all that stands between two words: comments say nothing to SQLite.

    What is no text is returned as it is; SQLite's own indexes have none.

    >>> _bare("CREATE TABLE a (   -- of pears\\n  b TEXT DEFAULT ' -- c')")
    "CREATE TABLE a ( b TEXT DEFAULT ' -- c')"
    """
    return _BETWEEN.sub(lambda match: match[1] or " ", sql) if isinstance(sql, str) else sql


def _statements(script: str) -> list[str]:
    """Return the statements of a step: executescript would commit the transaction that the step is in."""
    statements, so_far = [], ""
    for line in script.splitlines(keepends=True):
        so_far += line
        if sqlite3.complete_statement(so_far):
            statements.append(so_far)
            so_far = ""
    return statements
