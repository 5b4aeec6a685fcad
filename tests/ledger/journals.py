"""Journals put together by hand, as SQLite's "Database File Format", section 3, has them; and ledgers to lay them by.

The record of a super-journal's name is not in that document; it is as writeSuperJournal of SQLite's pager.c has it.
"""

import os
import shutil
import sqlite3
from collections.abc import Mapping
from contextlib import closing
from pathlib import Path

from listkit.ledger.store import record
from tests.ledger.rows import at, row, snapshot

MAGIC = bytes.fromhex("d9d505f920a163d7")
PAGE = SECTOR = 4096  # section 1.3.2: the page size; 3: the sector size, which the header fills
Content = dict[str, bytes | str]


def journal(*, pages: int, originals: Mapping[int, bytes] | None = None, name: bytes | None = None) -> bytes:
    """Return a hot journal: the page count to go back to, pages as they were, and a super-journal's name or none."""
    originals = originals or {}
    head = MAGIC + b"".join(number(value) for value in (len(originals), 0, pages, SECTOR, PAGE))
    body = b"".join(
        number(page) + content + number(sum(content[PAGE - 200 : 0 : -200])) for page, content in originals.items()
    )
    tail = b""
    if name is not None:
        lock_page = 0x40000000 // PAGE + 1  # "The Lock-Byte Page"
        tail = number(lock_page) + name + number(len(name)) + number(sum(name)) + MAGIC
    return head.ljust(SECTOR, b"\0") + body + tail


def number(value: int) -> bytes:
    return value.to_bytes(4, "big")


def pages_of(path: Path) -> dict[int, bytes]:
    """Return the pages of a database, counted from 1."""
    content = path.read_bytes()
    return {1 + at // PAGE: content[at : at + PAGE] for at in range(0, len(content), PAGE)}


def ledger_of(path: Path, days: int = 3) -> Path:
    """Make a ledger of some pages with a record a day."""
    for day in range(1, days + 1):
        rows = (row(f"A-{number}", f"{day}.00", description=f"{number} on {day} " * 90) for number in range(20))
        record(path, "web", snapshot(*rows), at(day))
    return path


def left_by_a_kill(path: Path, *, mode: str = "DELETE") -> None:
    """Leave a transaction half done, its journal beside the ledger, as a kill at that moment does.

    In mode WAL it is a transaction that was committed to the write-ahead log, and not yet carried over.
    """
    work = path.with_name("elsewhere")
    work.mkdir()
    shutil.copyfile(path, work / path.name)
    with closing(sqlite3.connect(work / path.name, isolation_level=None)) as writing:
        writing.execute(f"PRAGMA journal_mode = {mode}")
        writing.execute("PRAGMA cache_size = 2")  # so that pages are written before the end
        writing.execute("BEGIN")
        writing.execute("INSERT INTO record VALUES (77, 'web', '2026-11-20T10:00:00+00:00', 'half', '', NULL)")
        for count in range(300):
            writing.execute("INSERT INTO content (digest, text) VALUES (?, ?)", (b"%d" % count, "x" * 900))
        if mode == "WAL":
            writing.execute("COMMIT")
        for file in work.iterdir():
            shutil.copyfile(file, path.with_name(file.name))
        if mode != "WAL":
            writing.execute("ROLLBACK")
    shutil.rmtree(work)


def everything(folder: Path) -> Content:
    """Return every file's bytes, every link's target and every folder below one."""
    content: Content = {}
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        if path.is_symlink():
            content[name] = f"link to {os.readlink(path)}"
        else:
            content[name] = path.read_bytes() if path.is_file() else "no file"
    return content
