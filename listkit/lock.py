"""One build at a time in an output folder.

The lock is the operating system's, on an open file: it ends with the process, however that
ends, so no lock is ever left behind by a build that was killed, and no process number has to
be judged dead or alive. The empty file stays; to take it away would let two builds lock two
files of the same name.
"""

import errno
import os
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from listkit.problem import FieldError

if sys.platform == "win32":
    import msvcrt

    def _take(descriptor: int) -> None:
        msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _take(descriptor: int) -> None:
        # lockf, not flock: a lock of flock would live on in worker processes forked meanwhile.
        fcntl.lockf(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)


LOCK = ".lock"
_TAKEN = (errno.EACCES, errno.EAGAIN, errno.EDEADLK)
_held: set[str] = set()  # lockf does not keep two threads of one process apart
_guard = threading.Lock()


@contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Hold the folder's lock for the length of a with statement. The folder exists and its lock is no link.

    A file system that knows no locks lets the build go on without.

    Raises:
        FieldError: another build holds it.
    """
    name = os.path.realpath(folder / LOCK)
    with _guard:
        if name in _held:
            raise _busy(folder)
        _held.add(name)
    try:
        descriptor = os.open(name, os.O_RDWR | os.O_CREAT)
        try:
            _try(descriptor, folder)
            yield
        finally:
            os.close(descriptor)
    finally:
        with _guard:
            _held.discard(name)


def _try(descriptor: int, folder: Path) -> None:
    try:
        _take(descriptor)
    except OSError as fault:
        if fault.errno in _TAKEN:
            raise _busy(folder) from None


def _busy(folder: Path) -> FieldError:
    return FieldError(f"another build is writing into {folder.name} just now.", "Wait until it has ended, then build.")
