"""A record that is killed at any moment is there whole or not at all, and the next one goes on."""

import shutil
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

from listkit.ledger.store import Facts, difference, record, records, undo
from tests.ledger.rows import at, new, old

KILLED = """
import sys
from pathlib import Path
from listkit.ledger.store import record
from tests.ledger.rows import at, new
print("ready", flush=True)
record(Path(sys.argv[1]), "web", new(), at(2))
print("done", flush=True)
"""


def start(path: Path) -> subprocess.Popen[str]:
    """Begin to record in another process; return it when it is about to."""
    child = subprocess.Popen([sys.executable, "-c", KILLED, str(path)], stdout=subprocess.PIPE, text=True)
    assert child.stdout is not None
    assert child.stdout.readline() == "ready\n"
    return child


def seconds_of_a_record(folder: Path) -> float:
    path = folder / "measured.sqlite3"
    record(path, "web", old(), at(1))
    child = start(path)
    began = time.perf_counter()
    child.communicate()
    return time.perf_counter() - began


def kill_often(folder: Path, kills: int) -> tuple[int, int]:
    """Kill a record at `kills` moments spread over its length; return how many were kept and how many were not."""
    length = seconds_of_a_record(folder)
    first = folder / "first.sqlite3"
    record(first, "web", old(), at(1))
    kept = 0
    for number in range(kills):
        path = folder / "ledger.sqlite3"
        shutil.copyfile(first, path)
        child = start(path)
        time.sleep(length * 1.1 * number / kills)
        child.kill()
        child.communicate()
        journal = path.with_name(path.name + "-journal")
        kept += whole_or_not_at_all(path)
        assert not journal.exists()
        path.unlink()
    return kept, kills - kept


def whole_or_not_at_all(path: Path) -> bool:
    """Check what a kill left behind; return whether the record is there."""
    is_there = len(records(path)) == 2
    found = difference(path, "web", new() if is_there else old())
    assert (found.old, found.new) == (Facts(), Facts())
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
    assert (record(path, "web", new(), at(3)) is None) is is_there
    assert undo(path, "web", at(3)).number == 2
    return is_there


def test_a_record_killed_at_any_moment_is_whole_or_not_there(tmp_path: Path) -> None:
    _, lost = kill_often(tmp_path, 20)
    assert lost >= 1


@pytest.mark.long
def test_two_hundred_kills_leave_the_ledger_whole(tmp_path: Path) -> None:
    kept, lost = kill_often(tmp_path, 200)
    assert kept >= 1
    assert lost >= 1


@pytest.mark.parametrize("share", [0, 0.3, 0.6])
def test_a_kill_while_the_ledger_is_made_leaves_nothing_in_the_way(tmp_path: Path, share: float) -> None:
    path = tmp_path / "ledger.sqlite3"
    child = start(path)
    time.sleep(0.3 * share)
    child.kill()
    child.communicate()
    made = record(path, "web", new(), at(3))
    assert (made is None) == (len(records(path)) == 1 and records(path)[0].at == at(2).at)
    assert len(records(path)) == 1
