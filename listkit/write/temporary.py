"""Temporary folders: each is gone when its with statement ends, however that ends, and one that a kill left is swept.

A folder is ours when it lies in the system's folder for temporary files under our prefix, belongs to this user alone,
and holds our mark and one folder beside it. It is at work while its process holds a lock on it; the lock is the
operating system's and ends with the process, so that no number of a dead process has to be judged. No link is followed.
Where the system has no such locks, nothing is swept.
"""

import errno
import os
import shutil
import stat
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from listkit.problem import BlockedError

PREFIX: Final = "listkit-temporary-"
MARK: Final = ".made-by-listkit"
WORK: Final = "work"
_TRIES: Final = 10
_FULL: Final = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


def full(reason: str) -> BlockedError:
    """Return that temporary files cannot be written, and what to do."""
    message = f"the folder for temporary files, {tempfile.gettempdir()}, cannot be written to: {reason}."
    return BlockedError(message, "Make room there, or name another folder in TMPDIR.")


@contextmanager
def only_temporary() -> Iterator[None]:
    """For the length of a with statement in which only temporary files are written, name their folder where it is full.

    Raises:
        BlockedError: it is full.
    """
    try:
        yield
    except OSError as fault:
        if fault.errno not in _FULL:
            raise
        raise full(fault.strerror or str(fault)) from fault


if sys.platform == "win32":

    @contextmanager
    def temporary_folder() -> Iterator[Path]:
        """Yield an empty folder, which is removed afterwards with all that is in it."""
        with tempfile.TemporaryDirectory(prefix=PREFIX, ignore_cleanup_errors=True) as folder:
            yield Path(folder)

    def sweep_temporary() -> None:
        """Remove nothing: a folder cannot be locked here."""

else:
    import fcntl

    @contextmanager
    def temporary_folder() -> Iterator[Path]:
        """Yield an empty folder, which is removed afterwards with all that is in it.

        Raises:
            BlockedError: there is no room for it.
        """
        sweep_temporary()
        with only_temporary():
            place, descriptor = _make()
        try:
            yield place / WORK
        finally:
            _remove(place, descriptor)
            os.close(descriptor)

    def sweep_temporary() -> None:
        """Remove the temporary folders of processes of this user that are no more."""
        with suppress(OSError), os.scandir(tempfile.gettempdir()) as entries:
            for name in [entry.name for entry in entries if entry.name.startswith(PREFIX)]:
                with suppress(OSError):  # it is none of ours, or another process was quicker
                    _sweep(Path(tempfile.gettempdir(), name))

    def _make() -> tuple[Path, int]:
        """Return a new folder and the descriptor that holds its lock; somebody may sweep it before it is locked."""
        for _ in range(_TRIES):
            place = Path(tempfile.mkdtemp(prefix=PREFIX))
            try:
                descriptor = _lock(place)
            except (BlockingIOError, FileNotFoundError):
                continue
            try:
                os.close(os.open(MARK, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600, dir_fd=descriptor))
                os.mkdir(WORK, 0o700, dir_fd=descriptor)
            except FileNotFoundError:
                os.close(descriptor)
                continue
            except BaseException:
                _remove(place, descriptor)
                os.close(descriptor)
                raise
            return place, descriptor
        raise OSError("temporary folders vanish as soon as they are made")

    def _sweep(place: Path) -> None:
        descriptor = _lock(place)
        try:
            status, content = os.fstat(descriptor), set(os.listdir(descriptor))
            private = status.st_uid == os.geteuid() and stat.S_IMODE(status.st_mode) == 0o700
            if private and (not content or (MARK in content and content <= {MARK, WORK})):
                _remove(place, descriptor)
        finally:
            os.close(descriptor)

    def _lock(place: Path) -> int:
        """Open a folder that is no link and lock it.

        Raises:
            BlockingIOError: a process is at work in it.
            OSError: it is no folder, or cannot be locked.
        """
        descriptor = os.open(place, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BaseException:
            os.close(descriptor)
            raise
        return descriptor

    def _remove(place: Path, descriptor: int) -> None:
        """Remove our own folder, all in it relative to `descriptor`, its mark last; what cannot be removed stays."""
        with suppress(OSError):
            shutil.rmtree(WORK, ignore_errors=True, dir_fd=descriptor)
            if WORK not in os.listdir(descriptor):
                with suppress(FileNotFoundError):  # a kill came before it was marked
                    os.unlink(MARK, dir_fd=descriptor)
                place.rmdir()
