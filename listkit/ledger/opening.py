"""Opens the ledger's file: one connection, closed whatever happens, every fault of SQLite in the owner's words.

A rollback journal and full synchronisation: what was committed is on the disk, and what a kill or a
power cut left half done is taken back at the next opening (SQLite, "Atomic Commit In SQLite").
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Final

from listkit.ledger.schema import migrate
from listkit.problem import FieldError

WAIT: Final = 10.0
"""Seconds that one program waits for another that is writing."""
_CACHE: Final = -64_000  # KiB of pages held, so that a large first record is not sorted on the disk
_PUT_BACK: Final = "Put back a copy of it, or move it away: then the next record begins a new one."
_NOT_OURS: Final = ("it does not hold what listkit wrote.", _PUT_BACK)
_WORDS: Final = {
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
    """Yield a connection to the ledger at `path`, made if need be, its schema the newest. Begin and commit yourself.

    Raises:
        FieldError: the file is a link, no ledger, damaged, newer than we know, locked or write-protected.
    """
    if path.is_symlink():
        raise FieldError(f"{path.name} is a link and is not followed.", "Put the file itself into the shop folder.")
    with told_of(path), closing(_connection(path, wait)) as connection:
        migrate(connection)
        yield connection


@contextmanager
def told_of(path: Path) -> Iterator[None]:
    """Tell whatever goes wrong as a FieldError that names the file."""
    try:
        yield
    except FieldError as fault:
        raise FieldError(f"{path.name}: {fault.message}", fault.hint) from fault
    except sqlite3.Error as fault:
        message, hint = _words(fault)
        raise FieldError(f"{path.name}: {message}", hint) from fault
    except UnicodeDecodeError as fault:  # SQLite's own words quote what is damaged
        raise FieldError(f"{path.name}: {damaged().message}", damaged().hint) from fault


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


def _words(fault: sqlite3.Error) -> tuple[str, str]:
    """Return what SQLite's result code means (sqlite.org, "Result and Error Codes"): the low byte is the kind."""
    code = getattr(fault, "sqlite_errorcode", None)
    known = _WORDS.get(code & 0xFF) if code is not None else None
    return known or _NOT_OURS


def damaged() -> FieldError:
    """Return the fault of a ledger that somebody else has written into."""
    return FieldError(*_NOT_OURS)
