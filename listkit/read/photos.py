"""Reads a set's photos: those with an entry first, in its order, then the others by name.

What a photo shows comes from its entry, else from its file name. A file that is no picture is left out
with a problem, and so is an entry without its file.
"""

import os
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from concurrent.futures import Future
from pathlib import Path
from typing import Final, cast

from listkit.model.gift_set import PhotoNote
from listkit.model.photo import UNMEASURED, PhotoFacts, facts_as_json, facts_from_json
from listkit.model.shop import Photo
from listkit.picture.facts import measure
from listkit.problem import FieldError, KeyPath, Place, Problem, quoted
from listkit.read.folder import PICTURES, SetFiles, outside, stays_inside
from listkit.read.source import Fault
from listkit.read.wording import listed, write_instead
from listkit.waiting import Threads, as_they_end

FORM: Final = 1
"""Raised when the same picture is to give other facts: what was remembered before is then measured anew."""
Remembered = Mapping[str, str | int | bool]
Parts = dict[tuple[str, str], tuple[object, object]]
"""What was read of a file, by what it is and its name, behind all that went into it."""
_AT_ONCE: Final = 4  # decoding leaves Python's lock alone, so threads help; each may hold a large picture
_Measured = tuple[dict[str, int], PhotoFacts | FieldError]


def nothing(done: int, total: int) -> None:
    """Show no progress."""


class PhotoMemory:
    """Gives the facts of photos, from memory where they are remembered, so that no picture is measured twice.

    A photo is the same when path, size and time of last change are the same. `photos` holds, after a reading, all
    photos that were asked for: plain JSON, an object for each path, which the caller keeps wherever it likes. Anything
    in it that is not as written today is passed over and measured anew. `measured` counts those that had to be opened.

    Where more than `at_most` are not known, none of these is opened: all get stand-ins, which `waiting` counts.
    `progress` is called while many are looked at, with how many are done, and of how many.
    """

    def __init__(
        self, remembered: Mapping[str, Mapping[str, object]] | None = None, *, at_most: int | None = None
    ) -> None:
        self._before = remembered or {}
        self._at_most = at_most
        self.waiting = 0
        self.parts: Parts = {}  # of the other files, what was read of them before; for `read_shop`
        self._found: dict[str, PhotoFacts | FieldError] = {}
        self.photos: dict[str, Remembered] = {}
        self.measured = 0
        self.progress = nothing
        self._threads: Threads | None = None
        self._begun: dict[Path, Future[_Measured]] = {}

    def begin(self, root: Path, files: Iterable[str]) -> None:
        """Start to measure what will be asked for, and return at once; `look` waits for it, `close` breaks it off."""
        for file in files:
            if not _stamp(root / file).items() <= self._before.get(file, {}).items():
                self._start(root / file)

    def _start(self, path: Path) -> None:
        if path not in self._begun:
            self._threads = self._threads or Threads(min(_AT_ONCE, os.cpu_count() or 1))
            self._begun[path] = self._threads.submit(_measured, path)

    def close(self) -> None:
        """Measure nothing more that was begun; return when no thread is at work."""
        if self._threads is not None:
            self._threads.shutdown(cancel_futures=True)
        self._threads, self._begun = None, {}

    def look(self, root: Path, files: Iterable[str]) -> None:
        """Find the facts of many photos below `root`, several at a time and each once; `facts` then has them."""
        asked = (file for file in files if file not in self._found and not self._remember(root, file))
        new = tuple(dict.fromkeys(asked))
        if self._at_most is not None and len(new) > self._at_most:
            self._found.update(dict.fromkeys(new, UNMEASURED))
            self.waiting = len(new)
        elif new:
            try:
                for file in new:
                    self._start(root / file)
                for done, file in enumerate(new):
                    self.progress(done, len(new))
                    (measured,) = as_they_end(self._threads, (self._begun.pop(root / file),))
                    self._keep(file, measured.result())
                self.progress(len(new), len(new))
            finally:
                self.close()
        self.photos = dict(sorted(self.photos.items()))

    def known(self, file: str) -> PhotoFacts | FieldError | None:
        """Return what is known of a photo that was looked at, None of another."""
        return self._found.get(file)

    def facts(self, root: Path, file: str) -> PhotoFacts:
        """Return the facts of the photo at `file` below `root`.

        Raises:
            FieldError: it is no picture that can be used.
        """
        if file not in self._found and not self._remember(root, file):
            self._keep(file, _measured(root / file))
        found = self._found[file]
        if isinstance(found, FieldError):
            raise found
        return found

    def _remember(self, root: Path, file: str) -> bool:
        """Take the facts of a photo from memory; return whether they are there, and still of that photo."""
        stamp, known = _stamp(root / file), self._before.get(file, {})
        if not stamp.items() <= known.items():
            return False
        part = self.parts.get(("photo", file))
        if part is None or part[0] is not known:  # not what this memory wrote, so it is read
            facts = facts_from_json(known)
            if facts is None:
                return False
            part = self.parts["photo", file] = {**facts_as_json(facts), **stamp}, facts
        self.photos[file], self._found[file] = cast("tuple[Remembered, PhotoFacts]", part)
        return True

    def _keep(self, file: str, measured: _Measured) -> None:
        stamp, facts = measured
        self.measured += 1
        self._found[file] = facts
        if not isinstance(facts, FieldError):
            self.photos[file] = {**facts_as_json(facts), **stamp}


def _measured(path: Path) -> _Measured:
    """Return what tells that the file was changed, looked up first, and its facts or why it has none."""
    stamp = _stamp(path)
    try:
        return stamp, measure(path)
    except FieldError as fault:
        return stamp, fault


def _stamp(path: Path) -> dict[str, int]:
    """Return what tells that a file was changed; a file that is gone is never known."""
    try:
        status = os.stat(path, follow_symlinks=False)
    except OSError:
        return {"form": -1}
    return {"form": FORM, "size": status.st_size, "mtime_ns": status.st_mtime_ns}


SHOTS: Final = (
    "open box", "from above", "contents", "closed", "in hand", "detail", "label", "card", "styled", "group",
)  # fmt: skip
OTHER: Final = "other"


def shot_of(name: str) -> str:
    """Return what a photo shows by its file name: the longest of SHOTS in it, else "other"."""
    stem = name.rpartition(".")[0] or name
    words = "".join(sign if sign.isalpha() else " " for sign in stem.casefold())
    spaced = f" {' '.join(words.split())} "
    found = [shot for shot in SHOTS if f" {shot} " in spaced]
    return max(found, key=len, default=OTHER)


def read_photo(root: Path, file: str, memory: PhotoMemory) -> PhotoFacts | Problem:
    """Return what is measured in a picture, or why it is none."""
    if not file.lower().endswith(PICTURES):
        hint = f"Take it out, or export it as one of {listed(PICTURES)}."
        return Problem(Place(file), "not-a-picture", "it has not the ending of a picture.", hint)
    try:
        return memory.facts(root, file)
    except FieldError as fault:
        return Problem(Place(file), "not-a-picture", fault.message, fault.hint)


def read_photos(
    root: Path, files: SetFiles, notes: tuple[PhotoNote, ...], memory: PhotoMemory
) -> tuple[tuple[Photo, ...], list[Problem], list[Fault]]:
    """Return the set's photos in order, the problems of the files, and the faults of the entries in its set.toml."""
    facts: dict[str, PhotoFacts] = {}
    problems: list[Problem] = []
    for file in files.photos:
        read = read_photo(root, file, memory)
        if isinstance(read, Problem):
            problems.append(read)
        else:
            facts[file] = read
    by_name = {_plain(file.rpartition("/")[2]): file for file in files.photos}
    faults = list(_note_faults(notes, by_name))
    noted = {by_name.get(_plain(note.file), ""): note for note in reversed(notes)}
    first = [
        Photo(
            file,
            facts[file],
            note.shot if note.shot in SHOTS else shot_of(note.file),
            focus=note.focus,
            alt=note.alt,
            shows=note.shows,
            pieces=tuple(note.pieces.items()),
        )
        for file, note in reversed(noted.items())
        if file in facts
    ]
    others = [Photo(file, facts[file], shot_of(file.rpartition("/")[2])) for file in sorted(facts) if file not in noted]
    return (*first, *others), problems, faults


def _plain(name: str) -> str:
    """File systems differ in how they write an accented letter."""
    return unicodedata.normalize("NFC", name)


def _note_faults(notes: tuple[PhotoNote, ...], by_name: dict[str, str]) -> Iterator[Fault]:
    seen: set[str] = set()
    for at, note in enumerate(notes):
        loc: KeyPath = ("photos", at, "file")
        name = _plain(note.file)
        if not stays_inside(note.file) or "/" in note.file:
            fault = outside(note.file)
            yield Fault(loc, fault.code, fault.message, 'Name a file in the set\'s photos folder, as in "styled.jpg".')
        elif name not in by_name:
            hint = write_instead(name, by_name, at) or "Put it into the set's photos folder, or take the entry out."
            yield Fault(loc, "file-missing", f"there is no photo {quoted(note.file)}.", hint)
        elif name in seen:
            yield Fault(loc, "code-twice", f"{quoted(note.file)} has two entries.", "Keep one of the two.")
        seen.add(name)
        if note.shot and note.shot not in (*SHOTS, OTHER):
            yield unknown_shot(("photos", at, "shot"), note.shot)


def unknown_shot(loc: KeyPath, shot: str) -> Fault:
    """Return the fault of a shot that is none of SHOTS."""
    hint = write_instead(shot, SHOTS) or f"Shots are {listed(SHOTS, 'and')}."
    return Fault(loc, "bad-value", f"there is no shot {quoted(shot)}.", hint)


def read_season_photos(
    root: Path, files: tuple[str, ...], seasons: frozenset[str] | None, memory: PhotoMemory
) -> tuple[tuple[tuple[str, Photo], ...], list[Problem]]:
    """Return each season's picture of all its sets, by the season's name; `seasons` is None when they are not known."""
    found: dict[str, Photo] = {}
    problems: list[Problem] = []
    for file in files:
        facts = read_photo(root, file, memory)
        stem = file.rpartition("/")[2].rpartition(".")[0]
        season = next((name for name in sorted(seasons or ()) if _spaced(name) == _spaced(stem)), "")
        if isinstance(facts, Problem):
            problems.append(facts)
        elif not season and seasons is not None:
            hint = write_instead(stem, seasons) or "Call it as a season of shop.toml."
            problems.append(Problem(Place(file), "unknown-code", f"there is no season {quoted(stem)}.", hint))
        elif season in found:
            message = f"{found[season].name} is already the picture of {season}."
            problems.append(Problem(Place(file), "code-twice", message, "Keep one of the two."))
        elif season:
            found[season] = Photo(file, facts, shot_of(file.rpartition("/")[2]))
    return tuple(sorted(found.items())), problems


def _spaced(name: str) -> str:
    return " ".join(_plain(name).casefold().replace("-", " ").replace("_", " ").split())
