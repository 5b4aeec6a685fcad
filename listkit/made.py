"""The memory of the last build: which key each file was made from, and what was measured in photos.

It lives in `.made.json` in the output folder and may be deleted: then everything is made again. A second line
holds the SHA-256 of the first: what the memory says is believed, and goes into the manifest.
While a build runs, `.making.jsonl` says what it is about to make and what it has made, so that
after a kill the next build knows which files are ours and goes on where that one stopped.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeAlias

from listkit.lock import locked
from listkit.out_folder import JOURNAL, MADE, path_fault, put, real_folder, refuse_links

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
