"""Remembers what was measured in photos, so that a second reading measures no picture again.

A photo is the same when path, size and time of last change are the same. What is remembered is plain
JSON: for each path an object, which the caller keeps wherever it likes. Anything in it that is not as
written today is passed over and measured anew.
"""

import os
from collections.abc import Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Final

from listkit.model.photo import PhotoFacts, facts_as_json, facts_from_json
from listkit.picture.facts import measure
from listkit.problem import FieldError

FORM: Final = 1
"""Raised when the same picture is to give other facts: what was remembered before is then measured anew."""
Remembered = Mapping[str, str | int | bool]
_AT_ONCE: Final = 4  # decoding leaves Python's lock alone, so threads help; each may hold a large picture


class PhotoMemory:
    """Gives the facts of photos, from memory where they are remembered.

    `photos` holds, after a reading, all photos that were asked for: what the caller should keep.
    `measured` counts those that had to be opened.
    """

    def __init__(self, remembered: Mapping[str, Mapping[str, object]] | None = None) -> None:
        self._before = remembered or {}
        self._found: dict[str, PhotoFacts | FieldError] = {}
        self.photos: dict[str, Remembered] = {}
        self.measured = 0

    def look(self, root: Path, files: Iterable[str]) -> None:
        """Find the facts of many photos below `root`, several at a time; `facts` then has them."""
        with ThreadPoolExecutor(min(_AT_ONCE, os.cpu_count() or 1)) as threads:
            for _ in threads.map(lambda file: self._look_at(root, file), files):
                pass
        self.photos = dict(sorted(self.photos.items()))

    def facts(self, root: Path, file: str) -> PhotoFacts:
        """Return the facts of the photo at `file` below `root`.

        Raises:
            FieldError: it is no picture that can be used.
        """
        if file not in self._found:
            self._look_at(root, file)
        found = self._found[file]
        if isinstance(found, FieldError):
            raise found
        return found

    def _look_at(self, root: Path, file: str) -> None:
        stamp = _stamp(root / file)
        known = self._before.get(file, {})
        facts = facts_from_json(known) if stamp.items() <= known.items() else None
        if facts is None:
            self.measured += 1
            try:
                facts = measure(root / file)
            except FieldError as fault:
                self._found[file] = fault
                return
        self._found[file] = facts
        self.photos[file] = {**facts_as_json(facts), **stamp}


def _stamp(path: Path) -> dict[str, int]:
    """Return what tells that a file was changed; a file that is gone is never known."""
    try:
        status = os.stat(path, follow_symlinks=False)
    except OSError:
        return {"form": -1}
    return {"form": FORM, "size": status.st_size, "mtime_ns": status.st_mtime_ns}
