"""Entries of the ledger: what stands after some records, what a new one would change, and its writing.

Only SQL and digests; which records count, and when, is for `ledger`.
"""

import sqlite3
from collections.abc import Callable, Iterator, Sequence

from listkit.ledger.opening import damaged
from listkit.ledger.passages import digest_of, joined, parted
from listkit.ledger.snapshot import SECTIONS, Snapshot

Changed = tuple[str, str, bytes | None, str | None]
"""Section, code, the old line's digest, the new line; None for what was not there, or is gone."""


class Comparison:
    """A snapshot against what stands after some records: iterate once over what changed, then ask for `alike`."""

    def __init__(
        self,
        connection: sqlite3.Connection,
        numbers: Sequence[int],
        now: Snapshot,
        *,
        sections: Sequence[str] = SECTIONS,
    ) -> None:
        self._connection = connection
        self._numbers = numbers
        self._now = now
        self._sections = sections
        self.alike = 0
        """How many rows are as they were."""

    def __iter__(self) -> Iterator[Changed]:
        for section in self._sections:
            standing = digests(self._connection, self._numbers, section)
            for code, line in getattr(self._now, section):
                old = standing.pop(code, None)
                if old is None or old != digest_of(line):
                    yield section, code, old, line
                elif section == "rows":
                    self.alike += 1
            for code, old in standing.items():
                yield section, code, old, None


def digests(connection: sqlite3.Connection, numbers: Sequence[int], section: str) -> dict[str, bytes]:
    """Return what stands after these records, one upon the other: the digest of each code's line."""
    query = "SELECT code, digest FROM entry WHERE record = ? AND section = ?"
    standing: dict[str, bytes] = {}
    for number in numbers:
        for code, digest in connection.execute(query, (number, section)):
            if digest is None:
                standing.pop(code, None)
            else:
                standing[code] = digest
    return standing


def line_of(connection: sqlite3.Connection) -> Callable[[bytes], str]:
    """Return what fetches a line by its digest, each passage once, and proves it.

    Raises (when called):
        FieldError: it is not there, or not what was recorded.
    """
    known: dict[int, str] = {}

    def passage(number: int) -> str:
        if number not in known:
            known[number] = _one(connection, "SELECT text FROM passage WHERE number = ?", number)
        return known[number]

    def line(digest: bytes) -> str:
        try:
            text = joined(_one(connection, "SELECT text FROM content WHERE digest = ?", digest), passage)
        except (ValueError, TypeError, KeyError, RecursionError):
            raise damaged() from None
        if digest_of(text) != digest:
            raise damaged()
        return text

    return line


def _one(connection: sqlite3.Connection, query: str, value: bytes | int) -> str:
    found = connection.execute(query, (value,)).fetchone()
    if found is None:
        raise ValueError("a line is missing")
    return str(found[0])


class EntryWriter:
    """Adds the entries of one record; a text that is known is not stored again."""

    def __init__(self, connection: sqlite3.Connection, number: int) -> None:
        self._run = connection.execute
        self._number = number
        self._passages: dict[str, int] = {}

    def write(self, section: str, code: str, line: str | None) -> None:
        """Add an entry, None for a line that is gone."""
        digest = None if line is None else digest_of(line)
        if line is not None and not self._run("SELECT 1 FROM content WHERE digest = ?", (digest,)).fetchone():
            text = parted(line, self._passage) if section == "rows" else line
            self._run("INSERT INTO content (digest, text) VALUES (?, ?)", (digest, text))
        self._run("INSERT INTO entry VALUES (?, ?, ?, ?)", (self._number, section, code, digest))

    def _passage(self, text: str) -> int:
        if text not in self._passages:
            digest = digest_of(text)
            found = self._run("SELECT number FROM passage WHERE digest = ?", (digest,)).fetchone()
            if found is None:
                found = (self._run("INSERT INTO passage (digest, text) VALUES (?, ?)", (digest, text)).lastrowid,)
            self._passages[text] = int(found[0])
        return self._passages[text]
