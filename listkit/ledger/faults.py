"""What can be wrong with the ledger's file, by kind: every fault of SQLite and of the disk becomes a BlockedError."""

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from listkit.problem import BlockedError, FieldError


class DamagedLedgerError(BlockedError):
    """The file does not hold what listkit wrote."""


class BusyLedgerError(BlockedError):
    """Another program has the file locked."""


class FullDiskError(BlockedError):
    """There is no room on the disk; nothing was kept."""


_SHOWN: Final = 80  # characters of a name
_PUT_BACK: Final = "Put back a copy of it, or move it away: then the next record begins a new one."
_NOT_OURS: Final = ("it does not hold what listkit wrote.", _PUT_BACK)
_CUT_SHORT: Final = ("it is damaged or cut short.", _PUT_BACK)
_BUSY: Final = ("another program is writing to it just now.", "Wait until it has ended.")
_FULL: Final = ("the disk is full.", "Make room; nothing of this record was kept.")
_READ_ONLY: Final = ("it cannot be written to.", "Allow writing to it and to its folder.")
_CLOSED: Final = ("it cannot be opened.", "Allow reading it and its folder.")
_DISK: Final = ("the disk does not answer as it should.", "Check the disk; copy the ledger elsewhere.")
_BY_CODE: Final[dict[int, BlockedError]] = {  # the low byte of a result code (sqlite.org, "Result and Error Codes")
    sqlite3.SQLITE_BUSY: BusyLedgerError(*_BUSY),
    sqlite3.SQLITE_LOCKED: BusyLedgerError(*_BUSY),
    sqlite3.SQLITE_READONLY: BlockedError(*_READ_ONLY),
    sqlite3.SQLITE_CANTOPEN: BlockedError(*_CLOSED),
    sqlite3.SQLITE_PERM: BlockedError(*_CLOSED),
    sqlite3.SQLITE_FULL: FullDiskError(*_FULL),
    sqlite3.SQLITE_IOERR: BlockedError(*_DISK),
    sqlite3.SQLITE_NOTADB: DamagedLedgerError("it is no SQLite file.", _PUT_BACK),
    sqlite3.SQLITE_CORRUPT: DamagedLedgerError(*_CUT_SHORT),
    sqlite3.SQLITE_INTERRUPT: DamagedLedgerError(*_NOT_OURS),  # a statement that goes on and on
    sqlite3.SQLITE_TOOBIG: DamagedLedgerError(*_NOT_OURS),
}
_BY_NUMBER: Final[dict[int | None, BlockedError]] = {
    errno.ENOSPC: FullDiskError(*_FULL),
    errno.EDQUOT: FullDiskError(*_FULL),
    errno.EROFS: BlockedError(*_READ_ONLY),
}


def damaged(name: str = "") -> DamagedLedgerError:
    """Return the error of a ledger whose content is not what listkit wrote; `name`: where nobody else adds it."""
    message, hint = _NOT_OURS
    return DamagedLedgerError(f"{name}: {message}" if name else message, hint)


def foreign(kind: str, name: str) -> DamagedLedgerError:
    """Return the error of a ledger that holds a table, view, trigger or index which is not of ours."""
    return DamagedLedgerError(f'it holds what listkit did not make ({kind} "{printable(name)}").', _PUT_BACK)


def printable(text: str) -> str:
    """Return what a file holds for a message: short, and without signs that a terminal obeys."""
    shown = "".join(sign if sign.isprintable() else "?" for sign in text[: _SHOWN + 1])
    return shown if len(text) <= _SHOWN else shown[:_SHOWN] + " ..."


def cut_short() -> DamagedLedgerError:
    """Return the error of a ledger in which SQLite finds pages missing or wrong."""
    return DamagedLedgerError(*_CUT_SHORT)


def empty() -> DamagedLedgerError:
    """Return the error of a ledger of 0 bytes, which listkit never leaves: what it held is gone."""
    return DamagedLedgerError("it is empty (0 bytes): what was recorded in it is gone.", _PUT_BACK)


def too_large() -> BlockedError:
    """Return the error of a ledger that, with what lies beside it, is larger than any."""
    return BlockedError("it and the files beside it are too large for a ledger.", "Put back a copy of it.")


def busy() -> BusyLedgerError:
    """Return the error of a ledger that another program writes to."""
    return BusyLedgerError(*_BUSY)


def closed() -> BlockedError:
    """Return the error of what cannot be opened as a file."""
    return BlockedError(*_CLOSED)


def code_of(fault: sqlite3.Error) -> int:
    """Return SQLite's primary result code; of what Python's own module refuses, as a text that is no UTF-8, ERROR."""
    return getattr(fault, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF


@contextmanager
def faults_named(path: Path) -> Iterator[None]:
    """Raise SQLite's errors as BlockedErrors; put the ledger's name before every message.

    Raises:
        BlockedError: the file is no ledger, damaged, newer than we know, locked, write-protected, or the disk full.
    """
    try:
        yield
    except FieldError as fault:
        raise _named(path, fault) from fault
    except sqlite3.Error as fault:
        raise _named(path, _BY_CODE.get(code_of(fault)) or damaged()) from fault
    except UnicodeDecodeError as fault:  # a text that is no UTF-8; SQLite's own message quotes the damage
        raise _named(path, damaged()) from fault


def _named(path: Path, fault: FieldError) -> FieldError:
    kind = type(fault) if isinstance(fault, BlockedError) else FieldError
    return kind(f"{path.name}: {fault.message}", fault.hint)


@contextmanager
def disk_faults(*, writing: bool = False) -> Iterator[None]:
    """Raise what the operating system refuses, in reading or in writing, as a BlockedError; wrap no caller's block.

    Raises:
        BlockedError: a right is missing, the disk is full or read-only, or does not answer.
    """
    try:
        yield
    except PermissionError as fault:
        raise BlockedError(*(_READ_ONLY if writing else _CLOSED)) from fault
    except OSError as fault:
        known = _BY_NUMBER.get(fault.errno, BlockedError(*_DISK))
        raise type(known)(known.message, known.hint) from fault
