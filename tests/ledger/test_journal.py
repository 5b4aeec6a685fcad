"""What lies beside the ledger: told where SQLite would delete, follow or undo something on its word, else left alone.

Sections are of SQLite's "Database File Format" (fileformat2), "Atomic Commit In SQLite" (atomiccommit), "How To Corrupt
An SQLite Database File" (howtocorrupt) and "Write-Ahead Logging" (wal).
"""

import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import tracemalloc
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest

from listkit.ledger.faults import BusyLedgerError, DamagedLedgerError
from listkit.ledger.journal import MAGIC
from listkit.ledger.store import (
    Snapshot,
    difference,
    facts_of,
    lines_of,
    priced_codes,
    record,
    records,
    redate,
    standing,
    undo,
)
from listkit.problem import BlockedError
from listkit.save.temporary import sweep_temporary
from tests.ledger.journals import everything, journal, ledger_of, left_by_a_kill, pages_of
from tests.ledger.rows import at, lines, row, snapshot

READING: dict[str, Callable[[Path], object]] = {
    "records": records,
    "difference": lambda path: difference(path, "web", snapshot()),
    "lines_of": lambda path: lines_of(path, "A-1", "rows"),
    "priced_codes": priced_codes,
    "standing": lambda path: standing(path, "web", "rows", until=9),
    "facts_of": lambda path: list(facts_of(path, "web", "rows", ("price", "priceCurrency"))),
}
WRITING: dict[str, Callable[[Path], object]] = {
    "record": lambda path: record(path, "web", snapshot(row("B")), at(25)),
    "undo": lambda path: undo(path, "web", at(25)),
}
USES = {**READING, **WRITING}


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A folder with a ledger and files of the owner's, where one stands; nothing of it may change but by recording."""
    folder = tmp_path / "shop"
    (folder / "sets/dawn").mkdir(parents=True)
    (folder / "items.csv").write_text("code,name\nOH-B01,Rosemary\n", encoding="utf-8")
    (tmp_path / "outside.txt").write_text("not of this shop\n", encoding="utf-8")
    monkeypatch.chdir(folder)
    ledger_of(folder / "ledger.sqlite3")
    yield folder
    assert list(folder.glob(".listkit*")) == []


@pytest.fixture
def ledger(shop: Path) -> Path:
    return shop / "ledger.sqlite3"


def side(ledger: Path, ending: str = "-journal") -> Path:
    return ledger.with_name(ledger.name + ending)


def assert_refused(ledger: Path, *, match: str) -> None:
    """Every use of the ledger is refused with these words, and no file in or beside the shop changes."""
    before = everything(ledger.parent.parent)
    for name, use in USES.items():
        with pytest.raises(BlockedError, match=match) as fault:
            use(ledger)
        assert fault.value.message.startswith("ledger.sqlite3: "), name
        assert fault.value.hint
        assert everything(ledger.parent.parent) == before, name


# atomiccommit 5, "Multi-file Commit": whoever recovers deletes the file that a journal names as its super-journal.


@pytest.mark.parametrize(
    "name", ["{}/items.csv", "{}/../outside.txt", "items.csv", "../outside.txt", "{}/sets", "sets/dawn", "{}/none", ""]
)
def test_a_journal_that_names_a_file_is_told_and_nothing_is_deleted(ledger: Path, name: str) -> None:
    stated = name.format(ledger.parent).encode()
    side(ledger).write_bytes(journal(pages=len(pages_of(ledger)), name=stated))
    assert_refused(ledger, match="names another file")


def test_of_a_name_longer_than_any_no_more_is_read_than_is_told(ledger: Path) -> None:
    """It is as long as the journal says, and nobody knows how large that is."""
    long = 600_000_000  # a file with a hole, which takes no room on the disk
    with side(ledger).open("wb") as stream:
        stream.seek(long)
        stream.write((long - 100).to_bytes(4, "big") + bytes(4) + MAGIC)
    tracemalloc.start()
    try:
        with pytest.raises(BlockedError, match="names another file"):
            records(ledger)
        assert tracemalloc.get_traced_memory()[1] < 50_000_000
    finally:
        tracemalloc.stop()


def test_the_file_that_would_be_deleted_is_named_and_no_sign_of_the_name_reaches_the_terminal(ledger: Path) -> None:
    side(ledger).write_bytes(journal(pages=9, name=b"items.csv"))
    assert_refused(ledger, match='"items.csv", which would be deleted')
    side(ledger).write_bytes(journal(pages=9, name=b"\x1b[2J\xff" + b"long " * 90))
    assert_refused(ledger, match=r'"\?\[2J\ufffd[long ]+ \.\.\."')


def test_a_name_behind_pages_of_a_real_transaction_is_found_too(ledger: Path) -> None:
    left_by_a_kill(ledger)
    with side(ledger).open("ab") as stream:
        stream.write(journal(pages=0, name=b"items.csv")[4096:])
    assert_refused(ledger, match="names another file")


# fileformat2 3: a journal whose header is well-formed is rolled back, and deleted either way.


@pytest.mark.parametrize("content", [b"my diary of the shop\n" * 99, b"x", b"SQLite format 3\0" * 9, b"\0\0\0"])
def test_a_file_that_is_no_journal_is_told_and_kept(ledger: Path, content: bytes) -> None:
    side(ledger).write_bytes(content)
    assert_refused(ledger, match="is no journal of it")


@pytest.mark.parametrize("content", [b"my diary of the shop\n" * 99, b"x", b"SQLite format 3\0" * 9])
def test_a_file_that_is_no_log_is_told_and_kept(ledger: Path, content: bytes) -> None:
    """SQLite, "Database File Format", section 4.1: a write-ahead log begins with 0x377f0682 or 0x377f0683."""
    ledger.with_name(ledger.name + "-wal").write_bytes(content)
    assert_refused(ledger, match="is no log of it")


@pytest.mark.parametrize("content", [b"", bytes(4096)])
def test_a_journal_that_holds_nothing_is_in_nobodys_way(ledger: Path, content: bytes) -> None:
    side(ledger).write_bytes(content)
    before = everything(ledger.parent)
    for use in READING.values():
        assert use(ledger)
    assert everything(ledger.parent) == before
    assert record(ledger, "web", snapshot(row("B")), at(25)) is not None
    assert len(records(ledger)) == 4


@pytest.mark.parametrize("pages", [0, 1, 2, 5])
def test_a_page_count_that_shrinks_the_ledger_is_told_and_nothing_is_cut_off(ledger: Path, pages: int) -> None:
    side(ledger).write_bytes(journal(pages=pages))
    assert_refused(ledger, match="does not belong to it")


@pytest.mark.parametrize("pages", [2**32 - 1, 10**6])
def test_a_page_count_beyond_any_ledger_is_told(ledger: Path, pages: int) -> None:
    side(ledger).write_bytes(journal(pages=pages))
    assert_refused(ledger, match="is no journal of it")


def test_a_page_that_another_file_had_is_not_put_into_the_ledger(ledger: Path) -> None:
    pages = pages_of(ledger)
    side(ledger).write_bytes(journal(pages=len(pages), originals={2: bytes(4096), 3: pages[1]}))
    assert_refused(ledger, match="does not belong to it")


def test_a_journal_of_an_older_copy_is_told(ledger: Path) -> None:
    """howtocorrupt 1.4, "Mispairing database files and hot journals": here it would even leave a sound database."""
    older = ledger_of(ledger.parent.parent / "older.sqlite3", days=1)
    pages = pages_of(older)
    side(ledger).write_bytes(journal(pages=len(pages), originals=pages))
    assert_refused(ledger, match="does not belong to it")


def test_with_a_damaged_ledger_the_ledger_is_what_is_told(ledger: Path) -> None:
    left_by_a_kill(ledger)
    ledger.write_bytes(ledger.read_bytes()[:5000])
    side(ledger).write_bytes(journal(pages=1))
    before = everything(ledger.parent)
    for use in USES.values():
        with pytest.raises(DamagedLedgerError, match="it is damaged or cut short"):
            use(ledger)
    assert everything(ledger.parent) == before


# atomiccommit 4, "Rollback": the next one who opens the database takes back what a kill left half done.


def test_reading_sees_the_ledger_without_the_half_record_and_leaves_recovering_to_record(ledger: Path) -> None:
    sound = {name: use(ledger) for name, use in READING.items()}
    left_by_a_kill(ledger)
    before = everything(ledger.parent)
    assert before["ledger.sqlite3-journal"]
    assert {name: use(ledger) for name, use in READING.items()} == sound
    assert everything(ledger.parent) == before
    assert record(ledger, "web", snapshot(row("B")), at(25)) is not None
    assert not side(ledger).exists()
    assert [one.number for one in records(ledger)] == [1, 2, 3, 4]
    with closing(sqlite3.connect(ledger)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]


READ = """
import os, sys
from pathlib import Path
from listkit.ledger import file
from listkit.ledger.store import records
file._recover = lambda copy: os.kill(os.getpid(), 9)
records(Path(sys.argv[1]))
"""


def test_a_copy_that_was_looked_at_when_a_kill_came_is_swept(
    ledger: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    left_by_a_kill(ledger)
    place = tmp_path / "temporary"
    place.mkdir()
    surroundings = os.environ | {"PYTHONPATH": os.pathsep.join(sys.path), "TMPDIR": str(place)}
    killed = subprocess.run([sys.executable, "-c", READ, str(ledger)], check=False, env=surroundings)
    assert killed.returncode == -9
    assert len(list(place.rglob("ledger.sqlite3"))) == 1
    monkeypatch.setattr(tempfile, "tempdir", str(place))
    sweep_temporary()
    assert list(place.iterdir()) == []


REDATED = """
import os, sqlite3, sys
from pathlib import Path
from listkit.ledger import file
from tests.ledger.test_journal import at, redate
connect = sqlite3.connect
def traced(*given, **named):
    connection = connect(*given, **named)
    connection.set_trace_callback(lambda statement: statement == "COMMIT" and os.kill(os.getpid(), 9))
    return connection
sqlite3.connect, file._CACHE = traced, 2  # so that pages are written before the end
redate(Path(sys.argv[1]), "web", at(12))
"""


def test_a_kill_while_a_record_is_given_another_time_loses_nothing(ledger: Path) -> None:
    """Two records are added there, one that takes back and one that stands instead."""
    record(ledger, "web", snapshot(*(row(f"B-{number}") for number in range(2000))), at(10))
    sound = {name: use(ledger) for name, use in READING.items()}
    killed = subprocess.run(
        [sys.executable, "-c", REDATED, str(ledger)],
        check=False, capture_output=True, text=True, env=os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)},
    )  # fmt: skip
    assert (killed.returncode, killed.stderr) == (-9, "")
    with closing(sqlite3.connect(f"{ledger.as_uri()}?mode=ro&immutable=1", uri=True)) as half:
        assert half.execute("SELECT count(*) FROM record").fetchall() == [(6,)]
    before = everything(ledger.parent)
    assert before["ledger.sqlite3-journal"]
    assert {name: use(ledger) for name, use in READING.items()} == sound
    assert everything(ledger.parent) == before
    was, now = redate(ledger, "web", at(12))
    assert (was.number, was.at, now.number, now.at) == (4, at(10).at, 6, at(12).at)
    assert not side(ledger).exists()
    assert [each.number for each in records(ledger)] == [1, 2, 3, 6]


def test_reading_waits_for_a_ledger_that_goes_on_changing(ledger: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    left_by_a_kill(ledger)
    real = os.fdopen

    def touching(descriptor: int, mode: str) -> object:
        os.utime(ledger, ns=(0, ledger.stat().st_mtime_ns + 1))
        return real(descriptor, mode)

    monkeypatch.setattr(os, "fdopen", touching)
    with pytest.raises(BusyLedgerError, match="another program is writing to it"):
        records(ledger, wait=0.01)


# wal 2, "How WAL Works": a log holds transactions that are in the database for everybody who reads.


def test_what_a_log_holds_is_read_and_the_log_is_left_to_record(ledger: Path) -> None:
    left_by_a_kill(ledger, mode="WAL")
    assert side(ledger, "-wal").stat().st_size > 0
    before = everything(ledger.parent)
    assert [one.number for one in records(ledger)] == [1, 2, 3, 77]
    for use in READING.values():
        assert use(ledger)
    assert everything(ledger.parent) == before
    assert record(ledger, "web", snapshot(row("B")), at(25)) is not None
    assert [one.number for one in records(ledger)] == [1, 2, 3, 77, 78]
    assert sorted(path.name for path in ledger.parent.glob("ledger*")) == ["ledger.sqlite3"]


def test_reading_a_ledger_that_is_set_to_have_a_log_makes_none(ledger: Path) -> None:
    """fileformat2 1.3.3, "File format version numbers"; wal, "Read-Only Databases"."""
    with closing(sqlite3.connect(ledger)) as connection:
        connection.execute("PRAGMA journal_mode = WAL")
    before = everything(ledger.parent)
    for use in READING.values():
        assert use(ledger)
    assert everything(ledger.parent) == before


def test_a_log_of_another_ledger_is_told_and_its_pages_are_not_taken_over(ledger: Path) -> None:
    another = ledger_of(ledger.parent.parent / "another.sqlite3", days=1)
    left_by_a_kill(another, mode="WAL")
    content = bytearray(ledger.read_bytes())
    content[18:20] = b"\2\2"
    ledger.write_bytes(content)
    shutil.move(side(another, "-wal"), side(ledger, "-wal"))
    assert_refused(ledger, match="does not belong to it")


# howtocorrupt 2, "Multiple links to the same file": SQLite writes to and shortens what lies under these names.


@pytest.mark.parametrize("ending", ["-journal", "-wal", "-shm"])
@pytest.mark.parametrize("kind", ["link", "link to nothing", "second name", "folder", "pipe"])
def test_no_link_beside_the_ledger_is_followed(ledger: Path, ending: str, kind: str) -> None:
    place, target = side(ledger, ending), ledger.parent / "items.csv"
    if kind == "link":
        place.symlink_to(target)
    elif kind == "link to nothing":
        place.symlink_to(ledger.parent / "new.txt")
    elif kind == "second name":
        place.hardlink_to(target)
    elif kind == "folder":
        place.mkdir()
    else:
        os.mkfifo(place)
    assert_refused(ledger, match=f"ledger.sqlite3{ending} beside it is a link or no plain file")


def test_a_ledger_under_two_names_is_read_and_not_written_to(ledger: Path) -> None:
    (ledger.parent.parent / "archive").hardlink_to(ledger)
    assert len(records(ledger)) == 3
    before = everything(ledger.parent.parent)
    for use in WRITING.values():
        with pytest.raises(BlockedError, match="hard link"):
            use(ledger)
    assert everything(ledger.parent.parent) == before


def test_a_pipe_in_the_ledgers_place_keeps_nobody_waiting(ledger: Path) -> None:
    ledger.unlink()
    os.mkfifo(ledger)
    assert_refused(ledger, match="it is no plain file")


# A new ledger


def test_a_ledger_of_no_bytes_is_told_and_not_taken_for_new(ledger: Path) -> None:
    ledger.write_bytes(b"")
    assert_refused(ledger, match=r"it is empty \(0 bytes\)")
    with pytest.raises(DamagedLedgerError):
        records(ledger)


@pytest.mark.parametrize("content", [b"", b"diary", journal(pages=1), journal(pages=1, name=b"items.csv")])
def test_no_ledger_is_made_beside_a_journal_that_was_left(ledger: Path, content: bytes) -> None:
    """howtocorrupt 1.4: the journal of a ledger that is gone would be rolled back into the new one."""
    ledger.unlink()
    side(ledger).write_bytes(content)
    before = everything(ledger.parent.parent)
    with pytest.raises(BlockedError, match=r"^ledger\.sqlite3: ledger\.sqlite3-journal"):
        record(ledger, "web", snapshot(row("B")), at(25))
    assert everything(ledger.parent.parent) == before


STOPPED = """
import os, sys
from pathlib import Path
from tests.ledger.test_journal import at, record, row, snapshot
left = int(sys.argv[2])
def stop(event, arguments):
    global left
    if event in ("open", "os.rename", "os.mkdir", "os.remove", "os.rmdir", "tempfile.mkdtemp", "sqlite3.connect"):
        left -= 1
        if left < 0:
            os.kill(os.getpid(), 9)
sys.addaudithook(stop)
record(Path(sys.argv[1]), "web", snapshot(row("A")), at(1))
"""


def test_a_ledger_whose_making_is_killed_is_whole_or_not_there(ledger: Path) -> None:
    """At each event that Python audits (sys, "Audit events table") while a ledger is made."""
    status, steps = -9, 0
    while status == -9:
        ledger.unlink(missing_ok=True)
        done = subprocess.run(
            [sys.executable, "-c", STOPPED, str(ledger), str(steps)],
            check=False, capture_output=True, text=True, env=os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)},
        )  # fmt: skip
        status = done.returncode
        if ledger.exists():
            assert [one.number for one in records(ledger)] == [1]
        assert not side(ledger).exists()
        steps += 1
    assert (status, done.stderr) == (0, "")
    assert steps >= 4
    ledger.unlink()
    assert record(ledger, "web", snapshot(row("A")), at(1)) is not None  # which removes what the kills left


def test_what_somebody_keeps_under_the_name_of_a_ledger_in_the_making_is_kept(ledger: Path) -> None:
    folder = ledger.parent
    (folder.parent / ".listkit-ledger-own").mkdir()
    keeps = folder.parent / ".listkit-ledger-own/diary"
    keeps.write_bytes(b"mine")
    link = folder.parent / ".listkit-ledger-link"
    link.symlink_to(folder)
    before = everything(folder.parent)
    assert record(folder.parent / "ledger.sqlite3", "web", snapshot(row("A")), at(1)) is not None
    after = everything(folder.parent)
    assert after.pop("ledger.sqlite3")
    assert after == before


def test_a_record_that_fails_leaves_no_new_ledger(ledger: Path) -> None:
    ledger.unlink()
    before = everything(ledger.parent)

    def broken() -> Iterator[tuple[str, str]]:
        yield from lines(row("A"))
        raise RuntimeError

    with pytest.raises(RuntimeError):
        record(ledger, "web", Snapshot(broken()), at(1))
    assert everything(ledger.parent) == before
