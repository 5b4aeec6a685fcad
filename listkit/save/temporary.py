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
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, ExitStack, contextmanager, suppress
from pathlib import Path
from typing import Final

from listkit.problem import BlockedError

PREFIX: Final = "listkit-temporary-"
MARK: Final = ".made-by-listkit"
WORK: Final = "work"
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


Faults = Callable[[], AbstractContextManager[None]]
"""Raises what the operating system refuses in words of the caller's."""

if sys.platform == "win32":

    @contextmanager
    def temporary_folder(faults: Faults = only_temporary) -> Iterator[Path]:
        """Yield an empty folder, which is removed afterwards with all that is in it; it is made within `faults`."""
        with ExitStack() as held:
            with faults():
                name = held.enter_context(tempfile.TemporaryDirectory(prefix=PREFIX, ignore_cleanup_errors=True))
            yield Path(name)

    def sweep_temporary() -> None:
        """Remove nothing: a folder cannot be locked here."""

else:
    import fcntl

    _FOLDER: Final = os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW

    @contextmanager
    def temporary_folder(faults: Faults = only_temporary) -> Iterator[Path]:
        """Yield an empty folder, which is removed afterwards with all that is in it; it is made within `faults`.

        Raises:
            BlockedError: there is no room for it.
        """
        place = Path(tempfile.gettempdir(), f"{PREFIX}{os.urandom(8).hex()}")
        try:  # the name comes first, so that nothing that ends the process between two steps leaves a folder
            with faults():
                lock = _make(place)
            try:
                yield place / WORK
            finally:
                os.close(lock)
        finally:
            try:
                _remove(place)
            except BaseException:  # a signal, which comes but once
                _remove(place)
                raise

    def sweep_temporary() -> None:
        """Remove the temporary folders of processes of this user that are no more."""
        with suppress(OSError), os.scandir(tempfile.gettempdir()) as entries:
            for place in [Path(entry.path) for entry in entries if entry.name.startswith(PREFIX)]:
                with suppress(OSError):  # a process is at work in it, or it is no folder
                    _sweep(place)

    def _sweep(place: Path) -> None:
        descriptor = os.open(place, _FOLDER)
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
            _remove(place)
        finally:
            os.close(descriptor)

    def _make(place: Path) -> int:
        """Make the folder and return the descriptor that holds its lock."""
        while True:
            os.mkdir(place, 0o700)
            with suppress(FileNotFoundError), ExitStack() as unless_made:  # it may be swept before it is locked
                descriptor = os.open(place, _FOLDER)
                unless_made.callback(os.close, descriptor)
                with suppress(OSError):  # no locks there: nobody can sweep it either
                    fcntl.flock(descriptor, fcntl.LOCK_EX)
                os.close(os.open(MARK, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600, dir_fd=descriptor))
                os.mkdir(WORK, 0o700, dir_fd=descriptor)
                unless_made.pop_all()
                return descriptor

    def _remove(place: Path) -> None:
        """Remove a folder if it is ours: all in it relative to its descriptor, its mark last. What cannot go stays."""
        with suppress(OSError):
            descriptor = os.open(place, _FOLDER)
            try:
                status, content = os.fstat(descriptor), set(os.listdir(descriptor))
                private = status.st_uid == os.geteuid() and stat.S_IMODE(status.st_mode) == 0o700
                if private and content <= {MARK, WORK} and (MARK in content or not content):
                    shutil.rmtree(WORK, ignore_errors=True, dir_fd=descriptor)
                    if WORK not in os.listdir(descriptor):
                        with suppress(FileNotFoundError):
                            os.unlink(MARK, dir_fd=descriptor)
                        place.rmdir()
            finally:
                os.close(descriptor)
