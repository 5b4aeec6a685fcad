"""Remembers what was measured in photos, so that a second reading measures no picture again.

A photo is the same when path, size and time of last change are the same. What is remembered is plain
JSON: for each path an object, which the caller keeps wherever it likes. Anything in it that is not as
written today is passed over and measured anew.
"""

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from listkit.model.photo import PhotoFacts, facts_as_json, facts_from_json
from listkit.picture.facts import measure

FORM: Final = 1
"""Raised when the same picture is to give other facts: what was remembered before is then measured anew."""
Remembered = Mapping[str, str | int | bool]


class PhotoMemory:
    """Gives the facts of photos, from memory where they are remembered.

    `photos` holds, after a reading, all photos that were asked for: what the caller should keep.
    `measured` counts those that had to be opened.
    """

    def __init__(self, remembered: Mapping[str, Mapping[str, object]] | None = None) -> None:
        self._before = remembered or {}
        self.photos: dict[str, Remembered] = {}
        self.measured = 0

    def facts(self, root: Path, file: str) -> PhotoFacts:
        """Return the facts of the photo at `file` below `root`.

        Raises:
            FieldError: it is no picture that can be used.
        """
        stamp = _stamp(root / file)
        known = self._before.get(file, {})
        facts = facts_from_json(known) if stamp.items() <= known.items() else None
        if facts is None:
            facts = measure(root / file)
            self.measured += 1
        self.photos[file] = {**facts_as_json(facts), **stamp}
        return facts


def _stamp(path: Path) -> dict[str, int]:
    """Return what tells that a file was changed; a file that is gone is never known."""
    try:
        status = os.stat(path, follow_symlinks=False)
    except OSError:
        return {"form": -1}
    return {"form": FORM, "size": status.st_size, "mtime_ns": status.st_mtime_ns}
