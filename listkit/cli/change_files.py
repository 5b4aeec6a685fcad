"""Writes the files of changes into out/<channel>/changes/: tables in the channel's dialect, and a page of words.

A build neither makes nor removes them. Each is written beside its place, read back, and only then takes it.
"""

import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from listkit.listing.rows import Row
from listkit.model.channel import Dialect
from listkit.problem import FieldError
from listkit.save.out_folder import discard, locked, part_of, put, real_folder, refuse_links, sync
from listkit.write.csv_feed import Form, table_fault, with_header, write_table

FOLDER: Final = "changes"


@dataclass(frozen=True, slots=True)
class ChangeTable:
    """A table to be written, or taken away where it has no rows."""

    name: str
    headings: Row
    rows: Sequence[Row]


class ChangeFolder:
    """The folder of changes of one place, while it is written to."""

    def __init__(self, out: Path, key: str) -> None:
        self._out, self._key = out, key
        self.written: list[str] = []
        """Paths below the output folder, in the order they were written."""

    def text(self, name: str, words: str) -> None:
        """Write a page of words, or take it away where there are none."""
        if words:
            self._target(name).parent.mkdir(parents=True, exist_ok=True)
            put(self._target(name), words)
            self.written.append(self._path(name))
        else:
            self._target(name).unlink(missing_ok=True)

    def table(self, table: ChangeTable, dialect: Dialect) -> None:
        """Write a table in a dialect.

        Raises:
            FieldError: a cell holds a letter that the encoding has not, or the disk gives back something else.
        """
        if not table.rows:
            self._target(table.name).unlink(missing_ok=True)
            return
        target, form = self._target(table.name), Form.of(dialect)
        target.parent.mkdir(parents=True, exist_ok=True)
        part = part_of(target.parent, target.name)
        try:
            write_table(part, with_header(table.headings, table.rows, dialect), form)
            sync(part)
            if fault := table_fault(part, with_header(table.headings, table.rows, dialect), form):
                raise FieldError(f"{self._path(table.name)} does not read back as it was written: {fault}")
            os.replace(part, target)
        finally:
            discard(part)
        self.written.append(self._path(table.name))

    def _target(self, name: str) -> Path:
        return self._out / self._key / FOLDER / name

    def _path(self, name: str) -> str:
        return f"{self._key}/{FOLDER}/{name}"


@contextmanager
def change_folder(out: Path, key: str, names: Sequence[str]) -> Iterator[ChangeFolder]:
    """Yield the folder of a place's changes; nobody builds meanwhile.

    Raises:
        FieldError: a build is at work, a link leads out of the folder, or it cannot be written to.
    """
    out = real_folder(out)
    refuse_links(out, [f"{key}/{FOLDER}/{name}" for name in names])
    try:
        with locked(out):
            yield ChangeFolder(out, key)
    except OSError as fault:
        raise FieldError(f"{out.name} cannot be written to: {fault.strerror}.", "Allow writing there.") from fault
