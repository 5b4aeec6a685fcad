"""Whether the last build still stands: nothing that went into it has changed, and all that came out lies there.

A stamp is taken of every file that goes in (path, size and time of last change; contents are not opened).
Beside it lie the problems that were told, so that they can be told again. `.built.json` may be deleted:
then the shop is read and checked as if for the first time.
"""

import hashlib
import json
import os
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Final

from listkit.made import read_made
from listkit.out_folder import BUILT, MANIFEST, put, sha256_of
from listkit.problem import Level, Place, Problem

FORM: Final = 1
"""Raised when what is remembered, or what goes into a stamp, changes."""


def stamp_of(folders: Iterable[Path], *, apart: Path, words: Iterable[str]) -> str:
    """Return what changes when any file below `folders` does, or one of `words`; the folder `apart` is left out."""
    told = hashlib.sha256(json.dumps([FORM, *words]).encode())
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
