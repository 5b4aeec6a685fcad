"""The memory of the last build: which key each file was made from, what was measured in photos, which problems it had.

`.made.json` in the output folder holds keys and photos; it may be deleted: then everything is made again. Its second
line is the SHA-256 of the first, because what it says is believed and goes into the manifest. While a build runs,
`.making.jsonl` lists what it is about to make and what is about to take its place, each line with its own digest, so
that after a kill the next build knows which files are ours and goes on where that one stopped. `.built.json` holds a
stamp of all that went in, with the problems. `.places.json` holds what a record of each place needs beside its files,
so that a build can be recorded after the shop has moved on; without it that is refused. Both are signed as
`.made.json` is.
"""

import hashlib
import json
import os
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence, Sized
from contextlib import suppress
from dataclasses import asdict, dataclass, field
from datetime import date
from itertools import islice
from pathlib import Path
from typing import Final, TypeAlias

from listkit import bounds
from listkit.paths import BUILT, JOURNAL, KEPT, MADE, MANIFEST, PLACES, path_fault
from listkit.problem import Level, Place, Problem
from listkit.save.out_folder import (
    blocked_by_disk,
    discard,
    json_of,
    line_digest,
    locked_folder,
    memory_of,
    part_of,
    put_signed,
    read_signed,
    sha256_of,
)

JsonValue: TypeAlias = "bool | int | float | str | Sequence[JsonValue] | Mapping[str, JsonValue] | None"
Photos = Mapping[str, Mapping[str, JsonValue]]

FORM = 1
"""Increase it when the memory's form or the meaning of its keys changes: an older memory then counts as none."""


@dataclass(frozen=True, slots=True)
class MadeFile:
    """A file as it was made: the key it was made from, and by what to see that nobody has changed it since."""

    key: str
    size: int
    mtime_ns: int
    sha256: str

    def values(self) -> tuple[str, int, int, str]:
        """Return its fields in the order in which they are stored."""
        return (self.key, self.size, self.mtime_ns, self.sha256)


UNSURE = MadeFile("", -1, 0, "")
"""A file of ours that a killed build may or may not have replaced."""


@dataclass(frozen=True, slots=True)
class Made:
    """The memory: files by path, and for each photo's path a JSON object with what was measured in it.

    `digests` are the SHA-256 by which each file is known to be ours: one, or several after a build was killed.
    """

    files: Mapping[str, MadeFile]
    photos: Photos
    digests: Mapping[str, frozenset[str]] = field(default_factory=dict, compare=False)


def read_made(out: Path) -> Made:
    """Return the memory of earlier builds, journal included; an empty one when it is missing or damaged."""
    files, photos = _remembered(out)
    digests = {path: frozenset((file.sha256,)) for path, file in files.items()}
    for path, file in islice(_journalled(out), 2 * bounds.MADE_FILES):
        files[path] = file
        digests[path] = digests.get(path, frozenset()) | {file.sha256}
    return Made(files, photos, {path: known - {""} for path, known in digests.items()})


def _remembered(out: Path) -> tuple[dict[str, MadeFile], dict[str, dict[str, JsonValue]]]:
    """Return the files and photos of the memory alone, without what a killed build has left."""
    try:
        memory = read_signed(out / MADE)
        if memory["form"] != FORM:
            raise ValueError("another form")
        refuse_many(memory["files"])
        files = {path: _made_file(values) for path, values in memory["files"].items() if not path_fault(path)}
        return files, {path: dict(facts) for path, facts in memory["photos"].items()}
    except (ValueError, TypeError, KeyError, AttributeError):
        return {}, {}


def refuse_many(files: Sized) -> None:
    """Raise ValueError where more files are remembered than any shop has."""
    if len(files) > bounds.MADE_FILES:
        raise ValueError("more files than a shop has")


def _made_file(values: Sequence[object]) -> MadeFile:
    key, size, mtime_ns, sha256 = values
    if not (isinstance(key, str) and isinstance(size, int) and isinstance(mtime_ns, int) and isinstance(sha256, str)):
        raise TypeError("not as we write it")
    return MadeFile(key, size, mtime_ns, sha256)


def write_made(out: Path, made: Made) -> None:
    """Store the memory of a build that has ended, and remove its journal."""
    _put_made(out, made)
    (out / JOURNAL).unlink(missing_ok=True)


def _put_made(out: Path, made: Made) -> None:
    files = {path: file.values() for path, file in made.files.items()}
    put_signed(out / MADE, {"form": FORM, "files": files, "photos": dict(made.photos)})


def remember_photos(out: Path, photos: Photos) -> None:
    """Replace what the memory holds of photos by `photos`.

    Raises:
        FieldError: the folder is a link.
        BlockedError: another build is at work in the folder, or it cannot be written to.
    """
    with locked_folder(out) as folder:
        files, _ = _remembered(folder)  # the journal of a killed build stays, which alone knows some digests
        _put_made(folder, Made(files, photos))


@dataclass(frozen=True, slots=True)
class BuiltPlace:
    """A place as a build made it: the day it was for, and by section the lines that are recorded of it, by code.

    `lines` are those of items, sets and rules; `files` those of its own files and of all documents, by path.
    """

    day: str
    lines: Mapping[str, Mapping[str, str]]
    files: Mapping[str, str]


PLACES_FORM: Final = 1
"""Increase it when what is stored of a place changes its meaning: an older memory then counts as none."""


def remember_places(out: Path, places: Mapping[str, BuiltPlace]) -> None:
    """Store the places that a build has made whole, by their keys.

    Raises:
        FieldError: the folder is a link.
        BlockedError: another build is at work in the folder, or it cannot be written to.
    """
    stored = {key: asdict(place) for key, place in places.items()}
    with locked_folder(out) as folder:
        put_signed(folder / PLACES, {"form": PLACES_FORM, "places": stored})


def read_places(out: Path) -> dict[str, BuiltPlace]:
    """Return the places that the last builds made whole, by their keys; none where the memory is missing or damaged."""
    try:
        memory = read_signed(out / PLACES)
        if memory["form"] != PLACES_FORM:
            return {}
        return {str(key): _built_place(**stored) for key, stored in memory["places"].items()}
    except (ValueError, TypeError, KeyError, AttributeError):
        return {}


def _built_place(*, day: str, lines: Mapping[str, Mapping[str, str]], files: Mapping[str, str]) -> BuiltPlace:
    for facts in (*lines.values(), files):
        "".join((*lines, *facts)).encode()  # raises UnicodeEncodeError, a ValueError, of what no ledger takes
        if not all(isinstance(json_of(line.encode()), dict) for line in facts.values()):
            raise TypeError("not as we write it")
    if date.fromisoformat(day).isoformat() != day:
        raise ValueError("not as we write it")
    return BuiltPlace(day, lines, files)


class Journal:
    """What a running build is about to make and has made; each line is written at once, whatever happens to the build.

    Nothing is buffered: what a full disk did not take would be written again where the file is closed by nobody, and
    Python 3.13 prints that as a traceback.
    """

    def __init__(self, out: Path, paths: Iterable[str]) -> None:
        part, place = part_of(out, JOURNAL), out / JOURNAL
        try:  # what an earlier build left is copied, because its file may have another name elsewhere
            with suppress(OSError):  # none is there, or none that any build can read
                part.write_bytes(memory_of(place) + b"\n")
            part.touch()
            os.replace(part, place)
        finally:
            discard(part)
        self._file = place.open("ab", buffering=0)
        self._add(json.dumps({"making": list(paths)}))

    def made(self, path: str, file: MadeFile) -> None:
        """Add that a file is about to take its place, whole."""
        self._add(json.dumps({"made": path, "file": file.values()}))

    def close(self) -> None:
        """Close the file; it stays until the memory is written."""
        self._file.close()

    def _add(self, event: str) -> None:
        line = f"{line_digest(event)} {event}\n".encode("ascii")
        while line:
            line = line[self._file.write(line) :]


_JOURNAL_LINE: Final = re.compile(rb"^([0-9a-f]{64}) (.*)$", re.MULTILINE)


def _journalled(out: Path) -> Iterator[tuple[str, MadeFile]]:
    """Yield what the journal of a killed build says of each file, in order."""
    try:
        content = memory_of(out / JOURNAL)
    except OSError:
        return
    for line in _JOURNAL_LINE.finditer(content):
        digest, event = line.groups()
        if digest.decode() != line_digest(event):
            continue  # a line that a kill cut short, or that is not ours
        try:
            stated = json_of(event)
            refuse_many(stated.get("making", ()))
            news = dict.fromkeys(stated.get("making", ()), UNSURE)
            if "made" in stated:
                news[stated["made"]] = _made_file(stated["file"])
            known = [(path, file) for path, file in news.items() if not path_fault(path)]
        except (ValueError, TypeError, KeyError, AttributeError):
            continue
        yield from known


# Whether the last build is still current: nothing that went into it has changed, and every file made is there.
#
# The stamp is made of every file that goes in (path, size and time of last change; contents are not read). The
# problems of the build are stored beside it, to be shown again. `.built.json` may be deleted: then the shop is read
# and checked again.

BUILT_FORM: Final = 1
"""Increase it when what is stored, or what goes into a stamp, changes."""


def stamp_of(folders: Iterable[Path], *, apart: Path, texts: Iterable[str]) -> str:
    """Return a digest that changes with any file below `folders` and any of `texts`; the folder `apart` is left out."""
    digest = hashlib.sha256(json.dumps([BUILT_FORM, *texts]).encode())
    for folder in folders:
        for path, size, time in _files(folder, os.path.realpath(apart)):
            digest.update(f"{path}\0{size}\0{time}\n".encode(errors="surrogatepass"))
    return digest.hexdigest()


def still_built(out: Path, stamp: str) -> tuple[tuple[Problem, ...], tuple[str, ...]] | None:
    """Return the problems and the notes of the last build when it is still current, else None."""
    try:
        memory = read_signed(out / BUILT)
        if not stamp or memory["stamp"] != stamp or memory["manifest"] != sha256_of(out / MANIFEST):
            return None
        for path, known in read_made(out).files.items():
            status = os.stat(out / path, follow_symlinks=False)
            if (status.st_size, status.st_mtime_ns) != (known.size, known.mtime_ns):
                return None
        return tuple(_problem(values) for values in memory["problems"]), tuple(map(str, memory.get("notes", ())))
    except (OSError, ValueError, TypeError, KeyError, AttributeError):
        return None


def problems_of_last_build(out: Path) -> tuple[Problem, ...] | None:
    """Return the problems of the last build, whether it is still current or not; None where none is remembered."""
    try:
        return tuple(_problem(values) for values in read_signed(out / BUILT)["problems"])
    except (ValueError, TypeError, KeyError, AttributeError):
        return None


def remember_built(out: Path, stamp: str, problems: Sequence[Problem], notes: Sequence[str] = ()) -> None:
    """Store the stamp of a build that has ended, with what it printed: problems and `notes`.

    A stamp of "" is of a build that the next one must look at anew: something must be fixed, or could not be made.

    Raises:
        BlockedError: the folder cannot be written to.
    """
    stored = [asdict(problem) for problem in problems]
    with blocked_by_disk(out):
        memory = {"stamp": stamp, "manifest": sha256_of(out / MANIFEST), "problems": stored, "notes": list(notes)}
        put_signed(out / BUILT, memory)


def _files(folder: Path, apart: str) -> Iterator[tuple[str, int, int]]:
    """Yield path, size and time of last change of every file below a folder."""
    waiting = [str(folder)]
    while waiting:
        here = waiting.pop()
        with os.scandir(here) as entries:
            for entry in sorted(entries, key=lambda entry: entry.name):
                if entry.is_dir(follow_symlinks=False):
                    if os.path.realpath(entry.path) != apart and entry.name not in (KEPT, "__pycache__"):
                        waiting.append(entry.path)
                    continue
                status = entry.stat(follow_symlinks=False)
                yield os.path.relpath(entry.path, folder), status.st_size, status.st_mtime_ns


def _problem(stored: dict[str, object]) -> Problem:
    values = dict(stored)
    place = values.pop("place")
    level = values.pop("own_level")
    if not isinstance(place, dict):
        raise TypeError("not as we write it")
    where = Place(**{**place, "key": tuple(place["key"])})
    texts = (where.file, where.row, where.column)
    steps = all(isinstance(step, str | int) for step in where.key)
    if not (all(isinstance(text, str) for text in texts) and isinstance(where.line, int) and steps):
        raise TypeError("not as we write it")
    draft, words = bool(values.pop("draft", False)), {name: str(value) for name, value in values.items()}
    return Problem(where, own_level=Level(str(level)) if level else None, draft=draft, **words)
