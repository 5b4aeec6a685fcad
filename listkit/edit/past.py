"""The past of a shop folder: each change is written down before it is made, and can be taken back.

`.listkit/past.jsonl` has a line for each change: for texts the lines that differ, before and after, for all else the
digests, with what was there before in `.listkit/kept/<digest>`. A change of several files is one. A line that says what
is about to be done comes first, then the files, each whole at every moment, then a line that it is done. Where the
second is missing, whoever comes next takes back the half that was done, so that a change is there and in the past, or
neither. At most 500 changes and 500 MB are kept, the oldest go first.
"""

import datetime
import json
import os
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

from listkit import bounds
from listkit.edit.past_lines import (
    DIGEST,
    LARGEST,
    FileChange,
    PastChange,
    PastFile,
    as_json,
    between,
    digest_of,
    from_json,
    inside,
    patch_of,
)
from listkit.paths import KEPT, is_part
from listkit.problem import BlockedError, one_line, quoted, remedy_of
from listkit.save.out_folder import BusyError, content_of, json_of, locked, part_of, sha256_of
from listkit.save.place import make_folders, placed, put_file, refuse_links_below
from listkit.waiting import patience

MOST_CHANGES: Final = 500
MOST_BYTES: Final = 500_000_000
_MOST_NAMED: Final = 5
_AT_ONCE: Final = 50  # so many of the oldest go together, so that nobody is asked at every change from then on
_PAST: Final = "past.jsonl"
_WHOLE: Final = "kept"
_PATIENCE: Final = 20.0  # seconds
_MOST_READ: Final = bounds.PAST_BYTES
_SHORT: Final = 4_000  # bytes of a line that is remembered as it was read
_ILL_FORMED: Final = (ValueError, TypeError, KeyError, AttributeError, ArithmeticError, OSError)
_ADDED: Final = os.O_RDWR | os.O_CREAT | os.O_APPEND | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
_ROOM: Final = "Close what another program has open, allow writing there, or make room on the disk."


class MovedError(BlockedError):
    """A file is not what it was; `there` is the passage that is in the way, None where there is none to show."""

    def __init__(self, path: str, shown: str | None = None, there: str | None = None) -> None:
        super().__init__(f"{path} was changed meanwhile; nothing was written.", "Look at both, then decide.")
        self.path, self.shown, self.there = path, shown, there


@dataclass(frozen=True, slots=True)
class Past:
    """The past of a folder, opened to be added to."""

    root: Path
    changes: tuple[PastChange, ...]
    last: int

    def forgets(self, files: Sequence[FileChange]) -> tuple[PastChange, ...]:
        """Return the changes that can no longer be taken back once these files are written, the oldest first."""
        new = sum(_weight(self.root / file.path) if file.content is None else 0 for file in files)
        new += sum(len(file.content or b"") for file in files) + 1_000
        held = sum(change.bytes for change in self.changes)
        count = 0
        while count < len(self.changes) and (len(self.changes) - count >= MOST_CHANGES or held + new > MOST_BYTES):
            held -= self.changes[count].bytes
            count += 1
        return self.changes[: max(count, min(_AT_ONCE, len(self.changes)))] if count else ()

    def write(
        self,
        files: Sequence[FileChange],
        *,
        what: str,
        when: datetime.datetime,
        folders: Mapping[str, bool] | None = None,
        takes_back: int = 0,
    ) -> PastChange:
        """Write files, all or none, and the change into the past.

        Args:
            files: what is to change; at least one.
            what: what the change is called.
            when: the time of the change.
            folders: folders to be there afterwards (True), or to be gone where nothing lies in them (False).
            takes_back: the number of the change that this one takes back.

        Raises:
            MovedError: a file is not what it was before; nothing was written.
            BlockedError: a link is on the way, or the disk is full or read-only; all is as it was.
        """
        _refuse_large(self.last)
        for file in files:
            inside(file.path)
            _refuse_moved(self.root, file)
        folders = folders or {}
        missing = {folder for file in files if file.content is not None for folder in _missing(self.root, file.path)}
        missing |= {folder for folder, there in folders.items() if there and not (self.root / folder).is_dir()}
        change = PastChange(
            number=self.last + 1,
            when=when,
            what=what,
            files=tuple(_kept(self.root, file) for file in files),
            made=tuple(sorted(missing)),
            gone=tuple(folder for folder, there in sorted(folders.items(), reverse=True) if not there),
            takes_back=takes_back,
        )
        with _told(self.root):
            change = _written_down(self.root, _with_room(self, files), change)
            try:
                _do(self.root, files, change)
            except BaseException:
                _undo(self.root, change)
                raise
            with suppress(OSError):  # whoever comes next sees that it is done, from the files where this line is lost
                _append(self.root, {"done": change.number}, flushed=False)
        return change

    def backwards(self, change: PastChange) -> tuple[tuple[FileChange, ...], dict[str, bool]]:
        """Return what takes a change back: files, and folders to be there or gone.

        A text that has changed elsewhere meanwhile keeps that.

        Raises:
            MovedError: a file or passage is not what the change made of it.
            BlockedError: what was there before is no longer kept.
        """
        files = tuple(_backwards(self.root, file) for file in change.files)
        return files, {**dict.fromkeys(change.gone, True), **dict.fromkeys(change.made, False)}


@contextmanager
def opened(root: Path) -> Iterator[Past]:
    """Yield the past of a shop folder, held for this thread alone; what a kill left half done is taken back first.

    Raises:
        BlockedError: another process holds it and does not let go, or the folder cannot be written to.
    """
    folder = root / KEPT
    refuse_links_below(root, folder / _WHOLE)
    _refuse_odd(root)
    with ExitStack() as stack:
        with _told(root):
            folder.mkdir(exist_ok=True)
            if not os.path.lexists(folder / ".gitignore"):
                put_file(folder / ".gitignore", b"*\n")
            end = time.monotonic() + patience(_PATIENCE)
            while True:
                try:
                    stack.enter_context(locked(folder))
                    break
                except BusyError:
                    if time.monotonic() > end:
                        message = "another window or program is changing files of this shop just now."
                        raise BlockedError(message, "Wait until it has ended, then try again.") from None
                    time.sleep(0.01)
        changes, open_change, last = _read(root)
        if open_change is not None:
            with _told(root):
                _take_back(root, open_change)
            changes, _, last = _read(root)
        with _told(root):
            yield Past(root, changes, last)


def _refuse_odd(root: Path) -> None:
    """Raise BlockedError where what is kept cannot be kept there."""
    folder, anew = root / KEPT, "Put it away; then the past begins anew."
    for path in (folder, folder / _WHOLE):
        if os.path.lexists(path) and not path.is_dir():
            raise BlockedError(f"{path.relative_to(root).as_posix()} is no folder.", anew)
    path = folder / _PAST
    if os.path.lexists(path) and (path.is_symlink() or not path.is_file()):
        raise BlockedError(f"{KEPT}/{path.name} is no plain file.", anew)


def _refuse_large(last: int) -> None:
    """Raise BlockedError where no number comes behind the last change's, which then is somebody's making."""
    if last >= LARGEST:
        what = f"behind number {last} in {KEPT}/{_PAST} no other change can be written down."
        raise BlockedError(what, "Put it away; then the past begins anew.")


def _take_back(root: Path, change: PastChange) -> None:
    """Take back the half of a change that a kill left.

    Raises:
        BlockedError: what was there before is gone, or something else lies in its place.
    """
    try:
        _undo(root, change)
    except BlockedError as fault:
        files = ", ".join(file.path for file in change.files[:_MOST_NAMED])
        message = f"a change that was cut off ({quoted(change.what)}) cannot be taken back: {fault.message}"
        as_meant = "is as it should be" if len(change.files) == 1 else "are as they should be"
        hint = f"Look whether {one_line(files)} {as_meant}, "
        raise BlockedError(message, f"{hint}then put {KEPT}/{_PAST} away; the past begins anew.") from fault


def past(root: Path) -> tuple[PastChange, ...]:
    """Return the changes that can still be taken back, the oldest first; nothing is written."""
    return _read(root)[0]


# Doing and undoing.


def _do(root: Path, files: Sequence[FileChange], change: PastChange) -> None:
    made = [file for file in files if file.content is not None]
    before = {root / file.path: file.before for file in files}
    for folder in change.made:
        make_folders(root / folder)
    with placed([root / file.path for file in made], lambda target: sha256_of(target) == before[target]) as parts:
        for part, file in zip(parts, made, strict=True):
            part.write_bytes(file.content or b"")
        for file in files:
            _refuse_moved(root, file)
    for file in files:
        if file.content is None:
            _refuse_moved(root, file)
            (root / file.path).unlink()
    for folder in change.gone:
        with suppress(OSError):  # something lies in it
            (root / folder).rmdir()


def _undo(root: Path, change: PastChange) -> None:
    """Take back what was done of a change, unless all of it was, and write down which of the two it is."""
    states = [(file, _state_at(root / file.path)) for file in change.files]
    done = all(state != file.before for file, state in states) and any(state == file.after for file, state in states)
    for file in change.files:
        _sweep(root / file.path)
        if not done and file.after != file.before and _state_at(root / file.path) == file.after:
            _put(root, _backwards(root, file))
    for folder in change.gone if done else reversed(change.made):
        with suppress(OSError):  # it is not there, or something lies in it
            (root / folder).rmdir()
    for folder in () if done else reversed(change.gone):
        with suppress(FileExistsError, NotADirectoryError):  # a file lies there now
            make_folders(root / folder)
    _append(root, {"done" if done else "void": change.number})


def _put(root: Path, file: FileChange) -> None:
    target = root / file.path
    if file.content is None:
        target.unlink()
        return
    with placed((target,), lambda there: sha256_of(there) == file.before) as (part,):
        part.write_bytes(file.content)


def _sweep(target: Path) -> None:
    """Remove temporary files that a kill left beside a file."""
    stem = part_of(target.parent, target.name).name.rpartition("-")[0]
    with suppress(OSError):
        for path in target.parent.iterdir():
            if is_part(path.name) and path.name.startswith(stem):
                path.unlink()


def _refuse_moved(root: Path, file: FileChange) -> None:
    refuse_links_below(root, (root / file.path).parent)
    if (root / file.path).is_symlink() or _digest_at(root / file.path) != file.before:
        raise MovedError(file.path)


def _digest_at(path: Path) -> str:
    """Return the digest of a file, "" where none is."""
    return sha256_of(path) if os.path.lexists(path) else ""


def _state_at(path: Path) -> str | None:
    """Return the digest of a file, "" where none is; None of what is no plain file, which no change of ours left."""
    if not os.path.lexists(path):
        return ""
    return sha256_of(path) if path.is_file() and not path.is_symlink() else None


def _missing(root: Path, path: str) -> list[str]:
    parents = path.split("/")[:-1]
    ways = ["/".join(parents[:length]) for length in range(1, len(parents) + 1)]
    return [way for way in ways if not (root / way).is_dir()]


@contextmanager
def _told(root: Path) -> Iterator[None]:
    """Raise BlockedError where the disk or the rights do not let the shop folder be written to."""
    try:
        yield
    except OSError as fault:
        what = f"the shop folder cannot be written to, and is as it was: {fault.strerror or fault}."
        raise BlockedError(what, remedy_of(fault, _ROOM)) from fault


# What is kept of a file.


def _kept(root: Path, file: FileChange) -> PastFile:
    target, after = root / file.path, digest_of(file.content)
    if not file.before:
        return PastFile(file.path, "", after)
    old = content_of(target)
    patch = patch_of(old, file.content) if file.content is not None else None
    return PastFile(file.path, file.before, after, 0 if patch else len(old), patch)


def _backwards(root: Path, file: PastFile) -> FileChange:
    """Return what makes a file what it was before."""
    target = root / file.path
    refuse_links_below(root, target.parent)
    state = _digest_at(target)
    if not file.before:
        if state != file.after:
            raise MovedError(file.path)
        return FileChange(file.path, state, None)
    if file.patch is not None:
        return FileChange(file.path, state, _unpatched(file, content_of(target) if state else b"", state))
    if state != file.after:
        raise MovedError(file.path)
    content = _content_kept(root, file.before)
    return FileChange(file.path, state, content)


def _unpatched(file: PastFile, content: bytes, state: str) -> bytes:
    """Return a text with the lines of a patch as they were before.

    Raises:
        MovedError: they are not there, or not once only.
    """
    assert file.patch is not None
    before, after, lead, tail = (
        text.encode(file.patch.encoding)
        for text in (file.patch.before, file.patch.after, file.patch.lead, file.patch.tail)
    )
    at = file.patch.at
    if state != file.after:
        passage = lead + after + tail
        if not passage or content.count(passage) != 1:
            shown = file.patch.after
            raise MovedError(file.path, shown, between(content, lead, tail, file.patch.encoding))
        at = content.index(passage) + len(lead)
    if content[at : at + len(after)] != after:
        raise MovedError(file.path)
    return content[:at] + before + content[at + len(after) :]


def _content_kept(root: Path, digest: str) -> bytes:
    path = root / KEPT / _WHOLE / digest
    try:
        content = content_of(path)
    except OSError:
        content = None
    if content is None or digest_of(content) != digest:
        raise BlockedError("what was there before is no longer kept.", "It cannot be taken back.")
    return content


def _weight(path: Path) -> int:
    return path.stat().st_size if path.is_file() else 0


# past.jsonl.


def _written_down(root: Path, kept: Sequence[PastChange], change: PastChange) -> PastChange:
    """Store a change that is about to be done, with what must be kept whole; return it with what it takes."""
    folder = root / KEPT / _WHOLE
    for file in change.files:
        if file.before and file.patch is None and not (folder / file.before).exists():
            content = content_of(root / file.path)
            if digest_of(content) != file.before:
                raise MovedError(file.path)
            put_file(folder / file.before, content)
    return replace(change, bytes=_append(root, as_json(change)) + sum(file.size for file in change.files))


def _with_room(opened_past: Past, files: Sequence[FileChange]) -> tuple[PastChange, ...]:
    """Forget what there is no room for; return what is still kept."""
    gone = opened_past.forgets(files)
    root, kept = opened_past.root, opened_past.changes[len(gone) :]
    if not gone:
        return kept
    lines = [json.dumps(as_json(change), ensure_ascii=True) for change in kept]
    done = [json.dumps({"done": change.number}) for change in kept]
    text = "".join(f"{line}\n" for pair in zip(lines, done, strict=True) for line in pair)
    with placed((root / KEPT / _PAST,), lambda _: True) as (part,):
        part.write_bytes(text.encode())
    named = {file.before for change in kept for file in change.files}
    with suppress(OSError):
        for path in (root / KEPT / _WHOLE).iterdir():
            if path.name not in named and DIGEST.fullmatch(path.name):
                path.unlink()
    return kept


def _append(root: Path, value: Mapping[str, Any], *, flushed: bool = True) -> int:
    """Add a line and flush it to the disk, unless that may wait for the next; return its length."""
    line = json.dumps(value, ensure_ascii=True).encode() + b"\n"
    with os.fdopen(os.open(root / KEPT / _PAST, _ADDED, 0o666), "r+b") as stream:
        if size := stream.seek(0, os.SEEK_END):
            stream.seek(size - 1)
            line = line if stream.read(1) == b"\n" else b"\n" + line  # a line before that a kill cut off
        stream.write(line)
        stream.flush()
        if flushed:
            os.fsync(stream.fileno())
    return len(line)


def _read(root: Path) -> tuple[tuple[PastChange, ...], PastChange | None, int]:
    """Return the changes that are done, the last where it is only begun, and the highest number; bad lines are none."""
    path = root / KEPT / _PAST
    try:
        large = path.stat().st_size > _MOST_READ
        content = b"" if large else content_of(path)
    except OSError:
        return (), None, 0
    if large or content.count(b"\n") > bounds.PAST_LINES:
        raise BlockedError(f"{KEPT}/{_PAST} is larger than it can be.", "Put it away; then the past begins anew.")
    begun: dict[int, PastChange] = {}
    done: set[int] = set()
    last = 0
    for line in content.split(b"\n"):
        stated = _short_line(line) if len(line) <= _SHORT else _line(line)
        if isinstance(stated, PastChange):
            begun[stated.number] = stated
            last = max(last, stated.number)
        elif stated and stated[0] == "done":
            done.add(stated[1])
        elif stated:
            begun.pop(stated[1], None)
    made = [change for number, change in sorted(begun.items()) if number in done]
    taken: set[int] = set()
    for change in reversed(made):
        if change.takes_back and change.number not in taken:
            taken.add(change.takes_back)
    waiting = [change for number, change in sorted(begun.items()) if number not in done]
    changes = tuple(replace(change, taken_back=change.number in taken) for change in made)
    return changes, waiting[-1] if waiting else None, last


def _line(line: bytes) -> PastChange | tuple[str, int] | None:
    """Return the change of a line, or what became of one by its number; None of a bad line."""
    with suppress(*_ILL_FORMED):
        stated = json_of(line)
        if "change" in stated:
            return from_json(stated, len(line))
        return ("done", int(stated["done"])) if "done" in stated else ("void", int(stated["void"]))
    return None


_short_line: Final = lru_cache(maxsize=4 * MOST_CHANGES)(_line)  # a line says the same each time all are read
