"""The ledger's file and those that SQLite keeps beside it, before SQLite opens them: what may lie there, and copies.

SQLite deletes, writes and follows what it finds under these names, and a journal may name a further file, which is then
deleted as well. So they are looked at here, by reading alone. A new ledger is made here as well, out of the way.
"""

import os
import stat
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from pathlib import Path
from typing import IO, Final

from listkit import bounds
from listkit.ledger.faults import busy, disk_faults, empty, printable, too_large
from listkit.problem import BlockedError, remedy_of
from listkit.save.temporary import temporary_folder

if sys.platform != "win32":
    import fcntl

JOURNAL: Final = "-journal"  # SQLite, "Database File Format", section 3, "The Rollback Journal"
LOG: Final = "-wal"  # the same, section 4, "The Write-Ahead Log"
SIDES: Final = (JOURNAL, LOG, "-shm")  # the last: "WAL-mode File Format", section 1

# A journal that takes part in a transaction over several databases ends with the name of its super-journal ("Atomic
# Commit In SQLite", section 5, "Multi-file Commit"). The record is, as in writeSuperJournal of SQLite's pager.c, in
# big-endian numbers of 4 bytes: the lock-byte page's number, the name, its length, its checksum, the magic of 8 bytes.
# The ledger is always written alone, so that a journal of ours has none.
MAGIC: Final = bytes.fromhex("d9d505f920a163d7")
LOG_MAGICS: Final = (bytes.fromhex("377f0682"), bytes.fromhex("377f0683"))  # the same format, section 4.1
LARGEST: Final = bounds.LEDGER_BYTES
_TAIL: Final = 16  # length, checksum and magic
_LONGEST_NAME: Final = 320  # bytes
_HEAD: Final = 28  # the journal's header: magic, then numbers of 4 bytes
# Until a journal is on the disk, its first bytes are zeros in the magic's place (the same, section 3: a journal
# whose header does not begin with the magic is not rolled back).
_NOT_YET: Final = bytes(len(MAGIC))
_FLAGS: Final = sum(getattr(os, name, 0) for name in ("O_RDONLY", "O_NOFOLLOW", "O_NONBLOCK", "O_BINARY", "O_CLOEXEC"))
_CHUNK: Final = 1 << 20
_PAUSE: Final = 0.05  # seconds until another program is looked at again


# Looking


def is_there(path: Path, *, single: bool = False) -> bool:
    """Whether the ledger is there; `single`: it must have one name, because it is to be written to.

    Raises:
        BlockedError: it is a link or no plain file, is empty or too large, or has a second name.
    """
    with disk_faults():
        try:
            status = path.lstat()
        except FileNotFoundError:
            return False
    if stat.S_ISLNK(status.st_mode):
        raise BlockedError("it is a link and is not followed.", "Put the file itself into the shop folder.")
    if not stat.S_ISREG(status.st_mode):
        raise BlockedError("it is no plain file.", "Put the file itself into the shop folder.")
    if status.st_size == 0:
        raise empty()
    if status.st_size > LARGEST:
        raise too_large()
    if single and status.st_nlink > 1:  # "How To Corrupt An SQLite Database File", "Multiple links"
        message = "it is the same file as one elsewhere (a hard link), which would be changed as well."
        raise BlockedError(message, "Copy it, and put the copy in its place.")
    return True


def beside(path: Path) -> tuple[str, ...]:
    """Return the endings, of SIDES, of the files that lie beside the ledger; only what SQLite may touch lies there.

    Raises:
        BlockedError: one is a link, no plain file or no journal, or a journal names a file to be deleted.
    """
    endings = []
    for ending in SIDES:
        side = path.with_name(path.name + ending)
        with disk_faults():
            try:
                status = side.lstat()
            except FileNotFoundError:
                continue
        # Under a second name the same file may be one of the owner's, which SQLite would write to or shorten.
        if not stat.S_ISREG(status.st_mode) or status.st_nlink > 1:
            raise BlockedError(f"{side.name} beside it is a link or no plain file.", "Move that away.")
        if ending == JOURNAL:
            with disk_faults():
                _look_at_journal(side)
        if ending == LOG:
            with disk_faults():
                _look_at_log(side)
        endings.append(ending)
    return tuple(endings)


def _look_at_journal(journal: Path) -> None:
    try:
        with _plain(journal) as file:
            head = file.read(_HEAD)
            end = file.seek(0, os.SEEK_END)
            file.seek(max(0, end - _TAIL))
            tail = file.read(_TAIL)
            if end >= _TAIL and tail.endswith(MAGIC):
                length = int.from_bytes(tail[:4], "big")
                file.seek(max(0, end - _TAIL - length))
                name = file.read(min(length, end - _TAIL, _LONGEST_NAME)).decode("utf-8", "replace")
                raise BlockedError(
                    f'{journal.name} beside it names another file, "{printable(name)}", which would be deleted.',
                    "Move the journal away; nobody but the person who put it there knows what it is for.",
                )
    except FileNotFoundError:
        return  # another program has just ended its transaction
    pages, size = int.from_bytes(head[16:20], "big"), int.from_bytes(head[24:28], "big")
    if head and (head[: len(MAGIC)] not in (MAGIC, _NOT_YET) or pages * size > LARGEST):
        raise BlockedError(f"{journal.name} beside it is no journal of it.", "Move that file away.")


def _look_at_log(log: Path) -> None:
    with suppress(FileNotFoundError), _plain(log) as file:  # another program may just have closed it
        if file.read(len(LOG_MAGICS[0])) not in (b"", bytes(4), *LOG_MAGICS):
            raise BlockedError(f"{log.name} beside it is no log of it.", "Move that file away.")


def has_log(path: Path) -> bool:
    """Whether SQLite would make a write-ahead log to read the ledger ("Database File Format", section 1.3.3)."""
    # Closing a file drops all locks that this process has on it ("How To Corrupt An SQLite Database File", section
    # 2.2). Where a connection of ours is writing, it has ended the use of a log.
    if not _alone.acquire(blocking=False):
        return False
    try:
        with disk_faults(), _plain(path) as file:
            return 2 in file.read(20)[18:]
    finally:
        _alone.release()


def _plain(path: Path) -> IO[bytes]:
    """Open a plain file to read, also where something else has just taken its place."""
    descriptor = os.open(path, _FLAGS)
    try:
        if not stat.S_ISREG(os.fstat(descriptor).st_mode):
            raise BlockedError(f"{path.name} is no plain file.", "Move that away.")
        return os.fdopen(descriptor, "rb")
    except BaseException:
        os.close(descriptor)
        raise


# Locks, beside those of SQLite

_alone = threading.Lock()


@contextmanager
def alone(wait: float) -> Iterator[None]:
    """Be the only thread of this process that writes to a ledger or copies one.

    Raises:
        BusyLedgerError: another one goes on for longer than `wait` seconds.
    """
    if not _alone.acquire(timeout=wait):
        raise busy()
    try:
        yield
    finally:
        _alone.release()


@contextmanager
def folder_locked(folder: Path, wait: float) -> Iterator[None]:
    """Be the only process that makes a new ledger in a folder; where folders cannot be locked, nothing is locked.

    Raises:
        BusyLedgerError: another one goes on for longer than `wait` seconds.
    """
    if sys.platform == "win32":
        yield
        return
    with disk_faults():
        descriptor = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
    try:
        until = time.monotonic() + wait
        while not _taken(descriptor):
            if time.monotonic() > until:
                raise busy()
            time.sleep(_PAUSE)
        yield
    finally:
        os.close(descriptor)


def _taken(descriptor: int) -> bool:
    if sys.platform != "win32":
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        except OSError:  # this file system has no such locks
            return True
    return True


# Making

_MAKING: Final = ".listkit-ledger-"


@contextmanager
def made_whole(path: Path) -> Iterator[Path]:
    """Yield where to make a new ledger; when the block has ended well, it takes its place. The folder is locked.

    Raises:
        BlockedError: a journal lies there without its ledger, or nothing can be written.
    """
    if endings := beside(path):
        name = path.name + endings[0]
        raise BlockedError(f"{name} lies there without it.", "Put the ledger back, or move that file away.")
    with disk_faults(writing=True):
        # Whoever made these is dead, because the folder is locked.
        for left in path.parent.glob(f"{_MAKING}*"):
            _remove(left, path.name)
        folder = Path(tempfile.mkdtemp(prefix=_MAKING, dir=path.parent))
    try:
        yield folder / path.name
        with disk_faults(writing=True):
            if os.path.lexists(path):  # only where folders cannot be locked
                raise busy()
            os.rename(folder / path.name, path)
            _sync(path.parent)
    finally:
        _remove(folder, path.name)


def _remove(folder: Path, name: str) -> None:
    """Remove a folder in which a ledger was made, if it holds nothing else and is no link."""
    if folder.is_symlink() or not folder.is_dir():
        return
    with suppress(OSError):
        names = {name, *(name + ending for ending in SIDES)}
        inside = list(folder.iterdir())
        if {file.name for file in inside} <= names:
            for file in inside:
                file.unlink()
            folder.rmdir()


def _sync(folder: Path) -> None:
    """Flush a folder's names to the disk where the system lets us."""
    if sys.platform != "win32":
        descriptor = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
        try:
            with suppress(OSError):  # some file systems flush no folders
                os.fsync(descriptor)
        finally:
            os.close(descriptor)


# Copying


def private_folder() -> AbstractContextManager[Path]:
    """Return a temporary folder of our own, made when it is entered and removed after.

    Raises (when entered):
        BlockedError: none can be made.
    """
    return temporary_folder(_copy_faults)


def copied(path: Path, folder: Path, wait: float) -> Path:
    """Copy the ledger with its journal or write-ahead log into an empty private folder; return the copy.

    The caller is `alone`: closing a copied file would drop the locks of a connection that writes.

    Raises:
        BlockedError: a file is no plain one, too large, or cannot be copied, or a journal is none of its.
        BusyLedgerError: it goes on changing for longer than `wait` seconds.
    """
    copy = folder / path.name
    until = time.monotonic() + wait
    with _copy_faults():
        while not _copied_at_rest(path, copy):
            if time.monotonic() > until:
                raise busy()
            time.sleep(_PAUSE)
    beside(copy)  # what was copied may be younger than what was looked at
    return copy


@contextmanager
def _copy_faults() -> Iterator[None]:
    try:
        yield
    except OSError as fault:
        message = f"no copy of it can be made to look at: {fault.strerror or fault}."
        hint = "Make room in the temporary folder, and allow reading the ledger."
        raise BlockedError(message, remedy_of(fault, hint)) from fault


def _copied_at_rest(path: Path, copy: Path) -> bool:
    """Copy what lies there; return whether nothing of it changed meanwhile."""
    endings = ("", JOURNAL, LOG)  # the shared memory is only an index of the log, and made anew from it
    before = [_state(path, ending) for ending in endings]
    if sum(size for _, size, _ in filter(None, before)) > LARGEST:
        raise too_large()
    for ending, state in zip(endings, before, strict=True):
        target = copy.with_name(copy.name + ending)
        target.unlink(missing_ok=True)
        if state is not None:
            try:
                _copy(path.with_name(path.name + ending), target)
            except FileNotFoundError:
                return False
    return [_state(path, ending) for ending in endings] == before


def _state(path: Path, ending: str) -> tuple[int, int, int] | None:
    try:
        status = path.with_name(path.name + ending).lstat()
    except FileNotFoundError:
        return None
    return status.st_ino, status.st_size, status.st_mtime_ns


def _copy(source: Path, target: Path) -> None:
    left = LARGEST
    with _plain(source) as file, target.open("xb") as copy:
        while left > 0 and (chunk := file.read(min(_CHUNK, left))):
            copy.write(chunk)
            left -= len(chunk)
