"""The output folder: its lock, which paths may be written there, and how a file takes its place.

Nothing outside the folder is ever written or removed, also not through a link; a file is
written under a temporary name beside its target and takes its place at once, whole.
"""

import errno
import hashlib
import json
import os
import stat
import sys
import threading
from collections.abc import Collection, Iterable, Iterator
from contextlib import contextmanager, suppress
from io import BufferedReader
from pathlib import Path
from typing import Any, Final

from listkit import bounds
from listkit.paths import LOCK, OWN_NAMES, folders_of, is_part, path_faults
from listkit.problem import BlockedError, FieldError, remedy_of

# The lock: one build at a time in an output folder.
#
# It is the operating system's, on an open file: it ends with the process, however that ends, so a killed build leaves
# no lock behind. The empty file stays; removing it would let two builds lock two files of the same name.

if sys.platform == "win32":
    import msvcrt

    def _take(descriptor: int) -> None:
        msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _take(descriptor: int) -> None:
        # lockf, not flock: a lock of flock would live on in worker processes forked meanwhile.
        fcntl.lockf(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)


_TAKEN = (errno.EACCES, errno.EAGAIN, errno.EDEADLK)
_held: set[str] = set()  # by this process: lockf does not keep two of its threads apart
_guard = threading.Lock()


class BusyError(BlockedError):
    """Another build holds the folder's lock."""


@contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Hold the folder's lock for the length of a with statement. The folder exists and its lock is no link.

    Where the file system has no locks, nothing is locked.

    Raises:
        BusyError: another build holds it.
        BlockedError: what is at its place is no plain file, which may take no lock.
    """
    name = os.path.join(os.path.realpath(folder), LOCK)
    if os.path.lexists(name) and (os.path.islink(name) or not os.path.isfile(name)):
        raise BlockedError(f"{LOCK} in {folder.name} is no plain file.", "Take it away, then try again.")
    with _guard:
        if name in _held:
            raise _busy(folder)
        _held.add(name)
    try:
        descriptor = os.open(name, os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0))
        try:
            try:
                _take(descriptor)
            except OSError as fault:
                if fault.errno in _TAKEN:
                    raise _busy(folder) from None
            yield
        finally:
            os.close(descriptor)
    finally:
        with _guard:
            _held.discard(name)


def _busy(folder: Path) -> BusyError:
    message = f"another build is writing into {folder.name} just now."
    return BusyError(message, "Wait until it has ended, then do this once more.")


# Paths: inside the folder, no two of them one, none through a link.


def check_paths(paths: Iterable[str]) -> None:
    """Raise ValueError where a path is unsafe, two are one on some system, or one is another's folder."""
    for path, fault in path_faults(paths):
        raise ValueError(f"{path!r} {fault}")


def real_folder(out: Path) -> Path:
    """Make the output folder if need be and return its absolute path.

    Raises:
        FieldError: it is a link, is a file, or cannot be made: another one must be named.
    """
    out = Path(os.path.abspath(out))
    if _leads_elsewhere(out, os.path.realpath(out.parent), out.name):
        raise FieldError(f"{out.name} is a link to another place.", "Name the folder itself with --out.")
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise FieldError(f"{out.name} cannot be the output folder: {fault.strerror}.", "Name another.") from fault
    return out


def refuse_links(out: Path, paths: Iterable[str]) -> None:
    """Raise BlockedError where one of the paths, or a folder on its way, is a link, or a name of ours no plain file."""
    real = os.path.realpath(out)
    paths = (*paths, *OWN_NAMES)
    for folder in sorted({folder for path in paths for folder in folders_of(path)}):
        if _leads_elsewhere(out / folder, real, folder):
            raise _link(folder)
    for path in paths:
        if os.path.islink(out / path):
            raise _link(path)
    for name in OWN_NAMES:
        if name != LOCK and os.path.lexists(out / name) and not (out / name).is_file():
            raise BlockedError(f"{name} in the output folder is no plain file.", "Take it away, then build.")


def _leads_elsewhere(path: Path, real_parent: str, name: str) -> bool:
    """Whether a path is a link; real paths are compared, because Windows does not call a junction a link."""
    expected = os.path.join(real_parent, *name.split("/"))
    return os.path.normcase(os.path.realpath(path)) != os.path.normcase(expected)


def _link(path: str) -> BlockedError:
    return BlockedError(f"{path} in the output folder is a link to another place.", "Take the link away, then build.")


# Files: written under a temporary name first.


def part_of(out: Path, path: str) -> Path:
    """Return a temporary name for a path: beside it, with its ending, not to be guessed, never too long."""
    target = out / path
    stem = hashlib.sha256(path.encode("utf-8", "surrogatepass")).hexdigest()[:16]
    return target.with_name(f".part-{stem}-{os.urandom(16).hex()}{target.suffix}")


_FLAGS: Final = sum(getattr(os, name, 0) for name in ("O_RDONLY", "O_NOFOLLOW", "O_NONBLOCK", "O_BINARY", "O_CLOEXEC"))


def opened(path: Path) -> BufferedReader:
    """Open a plain file to read. No link is followed, and no pipe is waited for.

    Raises:
        OSError: it is not there, is a link or no plain file, or cannot be read.
    """
    descriptor = os.open(path, _FLAGS)
    try:
        if not stat.S_ISREG(os.fstat(descriptor).st_mode):
            raise OSError(errno.EINVAL, "what is there is no plain file", str(path))
        return os.fdopen(descriptor, "rb")
    except BaseException:
        os.close(descriptor)
        raise


LARGEST_KEPT: Final = bounds.KEPT_BYTES


def content_of(path: Path, most: int = LARGEST_KEPT) -> bytes:
    """Return a plain file's bytes; see `opened`.

    Raises:
        OSError: it cannot be read, or has more than `most`.
    """
    with opened(path) as stream:
        content = stream.read(most + 1)
    if len(content) > most:
        raise _too_large(path)
    return content


def sha256_of(path: Path, sizes: Collection[int] | None = None) -> str:
    """Return a plain file's SHA-256, as 64 hexadecimal digits; see `opened`.

    Raises:
        OSError: it cannot be read, or is larger than any that listkit makes, or large and of none of the `sizes` that
            ours have: many such would take a command its time.
    """
    with opened(path) as stream:
        size = os.fstat(stream.fileno()).st_size
        if size > bounds.MADE_BYTES or (size > bounds.KEPT_BYTES and sizes is not None and size not in sizes):
            raise _too_large(path)
        return hashlib.file_digest(stream, "sha256").hexdigest()


def digest_at(path: Path, sizes: Collection[int] | None = None) -> str:
    """Return the SHA-256 of the file that is there now, "" where none is that can be read; see `sha256_of`."""
    try:
        return sha256_of(path, sizes)
    except OSError:
        return ""


def _too_large(path: Path) -> OSError:
    return OSError(errno.EFBIG, "what is there is larger than any file of listkit's", str(path))


def sync(path: Path) -> None:
    """Flush a file's bytes to the disk, so that a power cut cannot put an empty file in an old one's place."""
    with path.open("rb+") as stream:
        os.fsync(stream.fileno())


def discard(part: Path) -> None:
    """Remove a temporary file if it can be removed; otherwise the next build's `sweep` does."""
    with suppress(OSError):
        part.unlink()


def take_new_place(part: Path, target: Path) -> None:
    """Put a temporary file where none was; one that came there meanwhile is not replaced, where there are links.

    A file system without them, as FAT and some shared folders, renames, which replaces what came.

    Raises:
        FileExistsError: one has come.
    """
    try:
        os.link(part, target, follow_symlinks=False)
    except FileExistsError:
        raise
    except (OSError, NotImplementedError):  # no links here
        os.replace(part, target)
    else:
        discard(part)


def sweep(out: Path) -> None:
    """Remove the temporary files that a killed build left behind."""
    for folder, _, names in os.walk(out):
        for name in names:
            if is_part(name):
                discard(Path(folder, name))


def prune(out: Path, paths: Iterable[str]) -> None:
    """Remove the folders on the way to these paths that are empty now."""
    for folder in sorted({folder for path in paths for folder in folders_of(path)}, reverse=True):
        with suppress(OSError):  # something lies in it, or it is gone already
            os.rmdir(out / folder)


def put(target: Path, text: str) -> None:
    """Write a text file whole, unless it holds this text already."""
    content = text.encode("utf-8", "surrogatepass")
    with suppress(OSError):  # it is not there yet
        if os.lstat(target).st_size == len(content) and content_of(target) == content:
            return
    part = part_of(target.parent, target.name)
    try:
        part.write_bytes(content)
        sync(part)
        os.replace(part, target)
    finally:
        discard(part)


@contextmanager
def blocked_by_disk(out: Path) -> Iterator[None]:
    """Raise BlockedError where the disk or the rights do not let the output folder be written to."""
    try:
        yield
    except OSError as fault:
        hint = "Make room on the disk, or allow writing there."
        raise BlockedError(
            f"{out.name} cannot be written to: {fault.strerror or fault}.", remedy_of(fault, hint)
        ) from fault


@contextmanager
def locked_folder(out: Path) -> Iterator[Path]:
    """Yield the true path of an output folder, locked, to write into it what listkit remembers.

    Raises:
        FieldError: the folder is a link.
        BlockedError: another build is at work in the folder, or it cannot be written to.
    """
    out = real_folder(out)
    refuse_links(out, ())
    with blocked_by_disk(out), locked(out):
        yield out


# What listkit remembers is believed, so it is written with the SHA-256 by which to see that it is as it was written.


def line_digest(line: str | bytes) -> str:
    """Return the SHA-256 of a line that is written beside it, as 64 hexadecimal digits."""
    return hashlib.sha256(line.encode("utf-8", "surrogatepass") if isinstance(line, str) else line).hexdigest()


def memory_of(path: Path) -> bytes:
    """Return the bytes of a file that listkit keeps for itself; see `content_of`."""
    return content_of(path, bounds.MEMORY_BYTES)


def json_of(content: bytes) -> Any:  # noqa: ANN401 (what it holds is for the caller to see)
    """Return the value of JSON that listkit may have written.

    Raises:
        ValueError: it is none, or holds more or deeper values than any that listkit writes.
    """
    if sum(content.count(sign) for sign in (b"[", b"{", b",", b":")) > bounds.MEMORY_VALUES:
        raise ValueError("more values than listkit writes")
    try:
        return json.loads(content)
    except RecursionError:
        raise ValueError("deeper than listkit writes") from None


def put_signed(target: Path, value: object) -> None:
    """Write a JSON value as one line, and its digest as a second."""
    line = json.dumps(value, ensure_ascii=False, separators=(",", ":"), sort_keys=True)
    put(target, f"{line}\n{line_digest(line)}\n")


def read_signed(target: Path) -> Any:  # noqa: ANN401 (what it holds is for the caller to see)
    """Return the value that `put_signed` wrote; None where there is none, or it is not as it was written."""
    try:
        line, digest = memory_of(target).split(b"\n", 2)[:2]
        return json_of(line) if digest == line_digest(line).encode() else None
    except (OSError, ValueError):
        return None
