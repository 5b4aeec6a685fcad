"""The files of a place as a build would make them, as they lie there, and as they were when it was recorded.

What is told of a file's bytes is never guessed: where the build is older than the shop, its key says
that it will change; where it is up to date, its SHA-256 says whether it did.
"""

import json
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from itertools import zip_longest
from pathlib import Path
from typing import Final

from listkit import __version__
from listkit.actions.facts import rows_of
from listkit.compute.given_out import SheetHistory
from listkit.ledger.lines import LONGEST, canonical
from listkit.ledger.store import Lines
from listkit.listing.listings import Listings
from listkit.pipeline import Listed, sheet_history
from listkit.problem import FieldError
from listkit.save.job import File, Job
from listkit.save.made import read_made
from listkit.save.manifest import Entry, read_manifest
from listkit.save.out_folder import digest_at, opened
from listkit.write import jobs_of
from listkit.write.context import OwnersNotes, WriteContext
from listkit.write.proof import is_proof

RECORD: Final = "record.jsonl"
_BUILD: Final = "Build, publish, then record."
_MOST_NAMED: Final = 3


def build_jobs(listings: Listings, sheets: SheetHistory, notes: OwnersNotes | None = None) -> Iterator[Job]:
    """Yield every job of a build, in the order of the writers.

    `sheets` says which line sheet this one replaces. Without `notes` there is no proof, which nobody publishes.
    """
    context = WriteContext(version=__version__, previous=sheets.previous, notes=notes)
    return jobs_of(listings, context)


@dataclass(frozen=True, slots=True)
class FileMove:
    """A file that is not what it was when the place was recorded; `what` is "new", "changed" or "gone".

    `document`: it belongs to no single channel (a label sheet, a line sheet). `codes` are all that it speaks of.
    """

    path: str
    what: str
    document: bool
    codes: tuple[str, ...]


class Built(StrEnum):
    """What the last build left of a place: nothing, files that a build would now make otherwise, or those of now."""

    NONE = "none"
    BEHIND = "behind"
    NOW = "now"


def nothing(_files: Iterable[File]) -> tuple[str, ...]:
    """Return no path: everything is made."""
    return ()


class Outputs:
    """Every file that a build of these listings makes, beside what the last build left in `out`."""

    def __init__(
        self,
        listed: Listed,
        out: Path,
        kept: Callable[[Iterable[File]], Collection[str]] = nothing,
        *,
        jobs: Iterable[Job] | None = None,
    ) -> None:
        """Plan a build; `kept` returns which of its files stay as they are, neither made nor removed.

        `jobs` are those of the build where they are known already.
        """
        self.listed = listed
        self.out = out
        if jobs is None:
            jobs = build_jobs(listed.listings, sheet_history(listed.catalog))
        files = (file for job in jobs for file in job.files)
        self.expected: Mapping[str, File] = {file.path: file for file in files if not is_proof(file.path)}
        self.kept = kept(self.expected.values())
        self.entries: Mapping[str, Entry] = {entry.path: entry for entry in read_manifest(out)}
        self.made = read_made(out).files

    def belongs(self, path: str, key: str) -> bool:
        """Whether a file is the place's own."""
        known = self.expected.get(path) or self.entries.get(path)
        return path.startswith(f"{key}/") or (known is not None and known.channel == key)

    def makes(self, key: str) -> bool:
        """Whether a build makes any file of the place."""
        return any(self.belongs(path, key) for path in self.expected)

    def is_document(self, path: str) -> bool:
        """Whether a file is no single channel's."""
        return not any(self.belongs(path, channel.key) for channel in self.listed.shop.channels)

    def built(self, key: str) -> Built:
        """Return whether what lies there of a place is what a build would leave; what it keeps as it is counts so."""
        own, left = self._files_of(key)
        if own and self.entries.keys().isdisjoint((*own, *left)):
            return Built.NONE
        return Built.NOW if self._just_made.union(self.kept).issuperset((*own, *left)) else Built.BEHIND

    def recordable(self, key: str) -> Lines:
        """Return the place's files, and all documents, as they are recorded.

        Raises:
            FieldError: they are not the last build's, were edited since, or the shop has changed since.
        """
        own, left = self._files_of(key)
        if not own:
            raise FieldError(f"nothing is made for {key}.", "Say in its file what is to be made.")
        if missing := [path for path in own if path not in self.entries]:
            raise FieldError(f"{_named(missing)} {_is(missing)} not built.", _BUILD)
        if edited := [path for path in own if not self._is_whole(path)]:
            raise FieldError(f"{_named(edited)} {_is(edited)} no longer what the build made.", _BUILD)
        if stale := [*left, *(path for path in own if not self._is_current(path))]:
            raise FieldError(f"the shop was changed since the last build: {_named(stale)} would change.", _BUILD)
        self._compare_rows(key)
        whole = (path for path in self.expected if path not in own and self.is_document(path) and self._stands(path))
        return tuple((path, self._line(path)) for path in (*own, *whole))

    def left_by_build(self, key: str) -> Mapping[str, str] | None:
        """Return the place's files, and all documents, as they are recorded right after the build; no file is read.

        None where nothing is made for the place, or not all its files are of this shop.
        """
        own, left = self._files_of(key)
        if not own or left or not self._just_made.issuperset(own):
            return None
        return {path: self._line(path) for path in (*own, *self._documents)}

    @cached_property
    def _just_made(self) -> frozenset[str]:
        """The files that are there as a build would make them, by what was remembered of them."""
        known = {path: file.key for path, file in self.made.items() if path in self.entries}
        return frozenset(path for path, file in self.expected.items() if known.get(path) == file.key)

    @cached_property
    def _documents(self) -> tuple[str, ...]:
        return tuple(path for path in self.expected if path in self._just_made and self.is_document(path))

    def still_left(self, key: str, files: Mapping[str, str]) -> Lines | None:
        """Return of these lines those of the place, and of documents that are as the last build left them.

        None where they are not those of the last build.

        Raises:
            FieldError: they are, and a file of the place was edited since or is gone.
        """
        unchanged = {path for path, line in files.items() if self._is_of_entry(path, line)}
        own = [path for path in files if self.belongs(path, key)]
        left = {path for path in self.entries if self.belongs(path, key)}
        if not (own and unchanged.issuperset(own) and left.issubset(files)):
            return None
        if edited := [path for path in own if not self._is_whole(path)]:
            raise FieldError(f"{_named(edited)} {_is(edited)} no longer what the build made.", _BUILD)
        whole = {*own, *(path for path in unchanged.difference(own) if self._is_whole(path))}
        return tuple((path, line) for path, line in files.items() if path in whole)

    def _is_of_entry(self, path: str, line: str) -> bool:
        return path in self.entries and line.endswith(canonical({"sha256": self.entries[path].sha256})[1:])

    def _files_of(self, key: str) -> tuple[list[str], list[str]]:
        """Return which of the place's files a build makes, and which are there that it makes no more."""
        own = [path for path in self.expected if self.belongs(path, key)]
        return own, [path for path in self.entries if self.belongs(path, key) and path not in self.expected]

    def _stands(self, path: str) -> bool:
        return path in self.entries and self._is_current(path) and self._is_whole(path)

    def _is_whole(self, path: str) -> bool:
        """Whether the file lies there as the manifest says."""
        return digest_at(self.out / path, (self.entries[path].size,)) == self.entries[path].sha256

    def _is_current(self, path: str) -> bool:
        """Whether a build would leave the file as it is; where the build's memory is gone, rows must tell."""
        known = self.made.get(path)
        return known is None or not known.key or known.key == self.expected[path].key

    def _compare_rows(self, key: str) -> None:
        """Raise FieldError where the rows that were built are not today's."""
        if f"{key}/{RECORD}" not in self.expected:
            return
        with opened(self.out / key / RECORD) as file:
            lines = iter(lambda: file.readline(LONGEST + 1), b"")
            for line, row in zip_longest(lines, rows_of(self.listed, key)):
                if line is None or row is None or line != f"{row[1]}\n".encode("utf-8", "surrogatepass"):
                    code = row[0] if row else "a row"
                    raise FieldError(f"the shop was changed since the last build: {code} is not as built.", _BUILD)

    def _line(self, path: str) -> str:
        return canonical({"key": self.expected[path].key, "sha256": self.entries[path].sha256})

    def moves(self, key: str, recorded: Mapping[str, str]) -> Iterator[FileMove]:
        """Yield what is new, changed or gone against the recorded files, in the order of their paths."""
        for path in sorted({*recorded, *self.expected}):
            document = self.is_document(path)
            if path.endswith(f"/{RECORD}") or path in self.kept or not (document or self.belongs(path, key)):
                continue
            file = self.expected.get(path)
            if file is None:
                yield FileMove(path, "gone", document, ())
            elif path not in recorded:
                yield FileMove(path, "new", document, file.codes)
            elif self._moved(path, json.loads(recorded[path])):
                yield FileMove(path, "changed", document, file.codes)

    def _moved(self, path: str, recorded: dict[str, str]) -> bool:
        known = self.made.get(path)
        key = self.expected[path].key
        if known is not None and known.key == key and path in self.entries:
            return self.entries[path].sha256 != recorded.get("sha256")
        return key != recorded.get("key")


def _named(paths: list[str]) -> str:
    shown = ", ".join(paths[:_MOST_NAMED])
    more = len(paths) - _MOST_NAMED
    return f"{shown} and {more} more" if more > 0 else shown


def _is(paths: list[str]) -> str:
    return "is" if len(paths) == 1 else "are"
