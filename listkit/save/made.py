"""The memory of the last build: which key each file was made from, and what was measured in photos.

It lives in `.made.json` in the output folder and may be deleted: then everything is made again. A second line
holds the SHA-256 of the first: what the memory says is believed, and goes into the manifest.
While a build runs, `.making.jsonl` says what it is about to make and what it has made, so that
after a kill the next build knows which files are ours and goes on where that one stopped.
"""

import hashlib
import json
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Final, TypeAlias

from listkit.problem import Level, Place, Problem
from listkit.save.out_folder import (
    BUILT,
    JOURNAL,
    MADE,
    MANIFEST,
    locked,
    path_fault,
    put,
    real_folder,
    refuse_links,
    sha256_of,
)

JsonValue: TypeAlias = "bool | int | float | str | Sequence[JsonValue] | Mapping[str, JsonValue] | None"
Photos = Mapping[str, Mapping[str, JsonValue]]

FORM = 1
"""Raised when the memory's form or the meaning of its keys changes: an older memory is then as good as none."""


@dataclass(frozen=True, slots=True)
class MadeFile:
    """How a file was left: the key it was made from, and how to see that nobody touched it since."""

    key: str
    size: int
    mtime_ns: int
    sha256: str

    def values(self) -> tuple[str, int, int, str]:
        """As it is written down."""
        return (self.key, self.size, self.mtime_ns, self.sha256)


UNSURE = MadeFile("", -1, 0, "")
"""A file of ours that a killed build may or may not have replaced."""


@dataclass(frozen=True, slots=True)
class Made:
    """What is remembered: files by path, and for each photo's path a JSON object with what was measured in it."""

    files: Mapping[str, MadeFile]
    photos: Photos


def read_made(out: Path) -> Made:
    """Return what is remembered of earlier builds; nothing when the memory is missing or cannot be understood."""
    try:
        line, told = (out / MADE).read_bytes().split(b"\n")[:2]
        memory = json.loads(line)
        if memory["form"] != FORM or told.decode() != hashlib.sha256(line).hexdigest():
            raise ValueError("another form, or damaged")
        files = {path: _made_file(values) for path, values in memory["files"].items() if not path_fault(path)}
        photos = {path: dict(facts) for path, facts in memory["photos"].items()}
    except (OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError):
        files, photos = {}, {}
    _fold_journal(out, files)
    return Made(files, photos)


def _made_file(values: Sequence[object]) -> MadeFile:
    key, size, mtime_ns, sha256 = values
    if not (isinstance(key, str) and isinstance(size, int) and isinstance(mtime_ns, int) and isinstance(sha256, str)):
        raise TypeError("not as we write it")
    return MadeFile(key, size, mtime_ns, sha256)


def write_made(out: Path, made: Made) -> None:
    """Remember a build that has ended; its journal is no longer needed."""
    files = {path: file.values() for path, file in made.files.items()}
    memory = {"form": FORM, "files": files, "photos": dict(made.photos)}
    line = json.dumps(memory, ensure_ascii=False, separators=(",", ":"), sort_keys=True)
    put(out / MADE, f"{line}\n{hashlib.sha256(line.encode('utf-8', 'surrogatepass')).hexdigest()}\n")
    (out / JOURNAL).unlink(missing_ok=True)


def remember_photos(out: Path, photos: Photos) -> None:
    """Put what was measured in photos into the memory, in place of what was remembered of photos before.

    Raises:
        FieldError: another build is at work in the folder, or the folder is a link.
    """
    out = real_folder(out)
    refuse_links(out, ())
    with locked(out):
        write_made(out, Made(read_made(out).files, photos))


class Journal:
    """What a running build is about to make and has made, line by line, whatever happens to it."""

    def __init__(self, out: Path, paths: Iterable[str]) -> None:
        self._stream = (out / JOURNAL).open("a", encoding="utf-8", errors="surrogatepass", newline="\n")
        # An earlier build may have been killed in the middle of a line.
        self._tell("\n" + json.dumps({"making": list(paths)}))

    def made(self, path: str, file: MadeFile) -> None:
        """Say that a file has taken its place."""
        self._tell(json.dumps({"made": path, "file": file.values()}))

    def close(self) -> None:
        """Close the file; it stays until the memory is written."""
        self._stream.close()

    def _tell(self, line: str) -> None:
        self._stream.write(line + "\n")
        self._stream.flush()


def _fold_journal(out: Path, files: dict[str, MadeFile]) -> None:
    try:
        lines = (out / JOURNAL).read_bytes().splitlines()
    except OSError:
        return
    for line in lines:
        try:
            told = json.loads(line)
            news = dict.fromkeys(told.get("making", ()), UNSURE)
            if "made" in told:
                news[told["made"]] = _made_file(told["file"])
        except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
            continue  # a line that a kill cut short
        files.update({path: file for path, file in news.items() if not path_fault(path)})


# Whether the last build still stands: nothing that went into it has changed, and all that came out lies there.
#
# A stamp is taken of every file that goes in (path, size and time of last change; contents are not opened).
# Beside it lie the problems that were told, so that they can be told again. `.built.json` may be deleted:
# then the shop is read and checked as if for the first time.

BUILT_FORM: Final = 1
"""Raised when what is remembered, or what goes into a stamp, changes."""


def stamp_of(folders: Iterable[Path], *, apart: Path, words: Iterable[str]) -> str:
    """Return what changes when any file below `folders` does, or one of `words`; the folder `apart` is left out."""
    told = hashlib.sha256(json.dumps([BUILT_FORM, *words]).encode())
    for folder in folders:
        for path, size, time in _files(folder, os.path.realpath(apart)):
            told.update(f"{path}\0{size}\0{time}\n".encode(errors="surrogatepass"))
    return told.hexdigest()


def still_built(out: Path, stamp: str) -> tuple[Problem, ...] | None:
    """Return the problems told at the last build when it still stands, else None."""
    try:
        memory = json.loads((out / BUILT).read_bytes())
        if memory["stamp"] != stamp or memory["manifest"] != sha256_of(out / MANIFEST) or not _all_there(out):
            return None
        return tuple(_problem(told) for told in memory["problems"])
    except (OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None


def remember_built(out: Path, stamp: str, problems: Sequence[Problem]) -> None:
    """Remember a build that has ended without a failure."""
    told = [asdict(problem) for problem in problems]
    memory = {"stamp": stamp, "manifest": sha256_of(out / MANIFEST), "problems": told}
    put(out / BUILT, json.dumps(memory, ensure_ascii=False) + "\n")


def _files(folder: Path, apart: str) -> Iterator[tuple[str, int, int]]:
    waiting = [str(folder)]
    while waiting:
        here = waiting.pop()
        with os.scandir(here) as entries:
            for entry in sorted(entries, key=lambda entry: entry.name):
                if entry.is_dir(follow_symlinks=False):
                    if os.path.realpath(entry.path) != apart and entry.name != "__pycache__":
                        waiting.append(entry.path)
                    continue
                status = entry.stat(follow_symlinks=False)
                yield os.path.relpath(entry.path, folder), status.st_size, status.st_mtime_ns


def _all_there(out: Path) -> bool:
    made = read_made(out).files
    for path, known in made.items():
        status = os.stat(out / path, follow_symlinks=False)
        if (status.st_size, status.st_mtime_ns) != (known.size, known.mtime_ns):
            return False
    return True


def _problem(told: dict[str, object]) -> Problem:
    values = dict(told)
    place = values.pop("place")
    level = values.pop("own_level")
    if not isinstance(place, dict):
        raise TypeError("not as we write it")
    where = Place(**{**place, "key": tuple(place["key"])})
    return Problem(where, own_level=Level(str(level)) if level else None, **{k: str(v) for k, v in values.items()})
