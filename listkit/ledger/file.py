"""The connections to the ledger's file: one that may write, and one that only reads.

A rollback journal and full synchronisation: what was committed is on the disk, and what a kill or a power cut left half
done is taken back when the ledger is next written to (SQLite, "Atomic Commit In SQLite").

The file may be one that somebody made to harm. So each connection has the defences that SQLite recommends ("Defense
Against The Dark Arts", sqlite.org/security.html): limits, no trust in the schema, which must be ours, and a bound on
the steps of one statement; what is to be written to is checked as a whole before.
"""

import os
import sqlite3
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager
from pathlib import Path
from typing import Final, TypeVar

from listkit.ledger.faults import DamagedLedgerError, closed, code_of, cut_short, faults_named
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
from listkit.ledger.lines import LONGEST
from listkit.ledger.schema import STEPS, WITH_ORDERS, count_at_once, migrate
from listkit.problem import BlockedError
from listkit.waiting import patience, say_waiting

WAIT: Final = 10.0
"""Seconds to wait for another program that is writing, at most."""
_NOTICED: Final = 0.25  # seconds after which a wait is said
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
    wait = patience(wait)
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
        connection, _ = _connection(target, "mode=rw" if target is path else "mode=rwc", wait)
        held.enter_context(closing(connection))
        if target is path:
            if connection.execute(_CHECK).fetchall() != _SOUND:
                raise cut_short()
            _patiently(connection, path, wait, lambda: _lock_once(connection))
        connection.execute("PRAGMA journal_mode = DELETE")
        migrate(connection)
        yield connection


def wait_for(path: Path, *, wait: float = WAIT) -> None:
    """Wait until nobody else writes to the ledger, where there is one.

    Raises:
        BlockedError: somebody still does after `wait` seconds, or it cannot be used.
    """
    if exists(path):
        with connected(path, wait=wait):
            pass


@contextmanager
def opened(path: Path, *, wait: float = WAIT) -> Iterator[sqlite3.Connection]:
    """Yield a connection that reads the ledger at `path`; nothing is written, also not beside it.

    A ledger that SQLite would have to write to before reading it (one with a journal or a write-ahead log, or of an
    older schema) is read from a private copy.

    Raises:
        BlockedError: the file is a link, no ledger, damaged, newer than we know or locked, or a file beside it is none
            that SQLite may touch.
    """
    wait = patience(wait)
    with faults_named(path), ExitStack() as held:
        if not is_there(path):
            raise closed()
        if not beside(path) and not has_log(path):
            connection, steps = _connection(path, "mode=ro", wait)
            held.enter_context(closing(connection))
            if steps == len(STEPS):
                yield connection
                return
            held.pop_all().close()
        folder = held.enter_context(private_folder())
        with alone(wait):
            copy = copied(path, folder, wait)
        _recover(copy)
        connection, _ = _connection(copy, "mode=rw", wait)
        held.enter_context(closing(connection))
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
        connection, steps = _connection(copy, mode, 0)
        with closing(connection):
            if _size_of(connection) > LARGEST or connection.execute(_CHECK).fetchall() != _SOUND:
                return None
            queries = ["SELECT number, note, undoes, channel, at, version FROM record ORDER BY number"] if steps else []
            if steps >= WITH_ORDERS:
                queries.append("SELECT number, buyer, reference, day, digest FROM stockist_order ORDER BY number")
                queries.append("SELECT number, ordered, state, day FROM order_step ORDER BY number")
            found = [connection.execute(query).fetchall() for query in queries]
            return (*found, *([[]] * (3 - len(found))))
    except DamagedLedgerError:
        return None
    except sqlite3.DatabaseError as fault:
        if code_of(fault) in _DAMAGE:
            return None
        raise


# What a sound ledger stays far below. Of the limits that sqlite.org/security.html names, with its figures where ours do
# not need more; a row's length is a bound of ours.
_LIMITS: Final = {
    sqlite3.SQLITE_LIMIT_LENGTH: LONGEST,
    sqlite3.SQLITE_LIMIT_SQL_LENGTH: 100_000,
    sqlite3.SQLITE_LIMIT_COLUMN: 100,
    sqlite3.SQLITE_LIMIT_EXPR_DEPTH: 20,
    sqlite3.SQLITE_LIMIT_COMPOUND_SELECT: 3,
    sqlite3.SQLITE_LIMIT_VDBE_OP: 25_000,
    sqlite3.SQLITE_LIMIT_FUNCTION_ARG: 8,
    sqlite3.SQLITE_LIMIT_ATTACHED: 0,
    sqlite3.SQLITE_LIMIT_LIKE_PATTERN_LENGTH: 50,
    sqlite3.SQLITE_LIMIT_VARIABLE_NUMBER: 10,
    sqlite3.SQLITE_LIMIT_TRIGGER_DEPTH: 10,
    sqlite3.SQLITE_LIMIT_WORKER_THREADS: 0,
}
_SETTINGS: Final = (
    "trusted_schema = OFF", "cell_size_check = ON", "mmap_size = 0", "foreign_keys = ON", "synchronous = FULL",
)  # fmt: skip
_CHECK: Final = "PRAGMA quick_check(1)"
# Steps of SQLite's machine ("The SQLite Bytecode Engine") that one statement may take: to read a schema of ours a few
# hundred; to read all of a table about one for each of its bytes in the file, and less where it is sorted as well.
_SCHEMA_STEPS: Final = 10_000
_COUNTED: Final = 100_000  # steps between two looks
_STEPS_A_BYTE: Final = 10
_FREE_STEPS: Final = 2_000_000


def _connection(path: Path, mode: str, wait: float) -> tuple[sqlite3.Connection, int]:
    """Open the file with all defences; return how many steps of the schema it has had, which is ours so far.

    Raises:
        BlockedError: it holds what our schema does not, is another program's, or is newer than we know.
    """
    address = f"{Path(os.path.abspath(path)).as_uri()}?{mode}"
    connection = sqlite3.connect(address, timeout=min(wait, _NOTICED), isolation_level=None, uri=True)
    try:
        for limit, most in _LIMITS.items():
            connection.setlimit(limit, most)
        if sys.version_info >= (3, 12):
            _defend(connection)
        connection.set_progress_handler(lambda: 1, _SCHEMA_STEPS)
        steps = _patiently(connection, path, wait, lambda: _settle(connection))
        looks = (_FREE_STEPS + _STEPS_A_BYTE * _size_of(connection)) // _COUNTED
        connection.set_progress_handler(_Countdown(looks), _COUNTED)
    except BaseException:
        connection.close()
        raise
    return connection, steps


if sys.version_info >= (3, 12):

    def _defend(connection: sqlite3.Connection) -> None:
        """Let no statement damage the file on purpose, run a view, or take a name in double quotes for a text."""
        connection.setconfig(sqlite3.SQLITE_DBCONFIG_DEFENSIVE, True)
        for wanted in ("TRUSTED_SCHEMA", "ENABLE_VIEW", "ENABLE_LOAD_EXTENSION", "DQS_DDL", "DQS_DML"):
            connection.setconfig(getattr(sqlite3, f"SQLITE_DBCONFIG_{wanted}"), False)


def _settle(connection: sqlite3.Connection) -> int:
    """Set what is set by statements, which read the schema; return how many steps it has had."""
    for setting in _SETTINGS:
        connection.execute(f"PRAGMA {setting}")
    connection.execute(f"PRAGMA cache_size = {_CACHE}")
    return count_at_once(connection, STEPS)


def _size_of(connection: sqlite3.Connection) -> int:
    """Return the bytes of all pages."""
    [[pages]], [[size]] = (connection.execute(f"PRAGMA page_{name}").fetchall() for name in ("count", "size"))
    return int(pages * size)


class _Countdown:
    """Interrupts a statement after so many looks, of all statements of a connection together."""

    def __init__(self, looks: int) -> None:
        self._left = looks

    def __call__(self) -> int:
        """Return 1 when it has been looked too often."""
        self._left -= 1
        return int(self._left < 0)


_Found = TypeVar("_Found")


def _patiently(connection: sqlite3.Connection, path: Path, wait: float, locking: Callable[[], _Found]) -> _Found:
    """Do what another program may have locked, and say so when it has to be waited for."""
    try:
        return locking()
    except sqlite3.OperationalError as fault:
        if code_of(fault) != sqlite3.SQLITE_BUSY or wait <= _NOTICED:
            raise
    finally:
        connection.execute(f"PRAGMA busy_timeout = {int(1000 * wait)}")
    say_waiting(f"{path.name} is locked by another program: waiting until it is free, {wait:.0f} seconds at most.")
    return locking()


def _lock_once(connection: sqlite3.Connection) -> None:
    """See that it can be written to just now."""
    connection.execute("BEGIN IMMEDIATE")
    connection.execute("ROLLBACK")
