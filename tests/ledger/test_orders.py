"""Orders in the ledger: added, followed, whole at every moment, and never overtaken by another window."""

import datetime
import shutil
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

from listkit.ledger.faults import DamagedLedgerError
from listkit.ledger.orders import OrderState, add_order, add_step, orders
from listkit.ledger.schema import STEPS
from listkit.ledger.store import record, records
from listkit.problem import BlockedError
from tests.ledger.journals import everything, journal, pages_of
from tests.ledger.rows import DAY, at, order, row, snapshot


@pytest.fixture
def ledger(tmp_path: Path) -> Path:
    return tmp_path / "ledger.sqlite3"


def test_what_was_confirmed_is_read_as_it_was_with_every_step(ledger: Path) -> None:
    assert orders(ledger) == ()
    first = add_order(ledger, order("TD-118"), ())
    second = add_order(ledger, order("", "60.00"), orders(ledger))
    add_step(ledger, first.number, OrderState.SENT, DAY + datetime.timedelta(9), known=orders(ledger))
    add_step(ledger, second.number, OrderState.CANCELLED, DAY, known=orders(ledger))
    add_step(ledger, second.number, OrderState.CONFIRMED, DAY, known=orders(ledger))
    sent, opened = orders(ledger)
    assert (sent.facts, sent.state, sent.since) == (order("TD-118").facts, OrderState.SENT, datetime.date(2027, 1, 29))
    assert (opened.state, len(opened.steps), opened.reference) == (OrderState.CONFIRMED, 2, "")


def test_two_orders_alike_are_two_though_their_content_is_stored_once(ledger: Path) -> None:
    add_order(ledger, order(""), ())
    add_order(ledger, order(""), orders(ledger))
    assert [each.number for each in orders(ledger)] == [1, 2]
    with closing(sqlite3.connect(ledger)) as connection:
        assert connection.execute("SELECT count(*) FROM content").fetchone() == (1,)


def test_who_decided_by_what_has_moved_meanwhile_adds_nothing(ledger: Path) -> None:
    first = add_order(ledger, order("TD-118"), ())
    before = orders(ledger)
    add_step(ledger, first.number, OrderState.SENT, DAY, known=before)
    with pytest.raises(BlockedError, match="meanwhile"):
        add_step(ledger, first.number, OrderState.CANCELLED, DAY, known=before)
    with pytest.raises(BlockedError, match="meanwhile"):
        add_order(ledger, order("TD-119"), before)
    assert [(each.reference, each.state) for each in orders(ledger)] == [("TD-118", OrderState.SENT)]


def test_orders_lie_beside_what_was_recorded(ledger: Path) -> None:
    record(ledger, "web", snapshot(row("A")), at(1))
    add_order(ledger, order("TD-118"), ())
    assert record(ledger, "web", snapshot(row("A")), at(2)) is None
    assert len(records(ledger)) == 1


def test_a_ledger_without_orders_is_read_untouched_and_brought_up_when_one_is_confirmed(ledger: Path) -> None:
    shutil.copyfile(Path(__file__).with_name("ledger-of-2026-11.sqlite3"), ledger)
    before, recorded = ledger.read_bytes(), records(ledger)
    assert orders(ledger) == ()
    assert ledger.read_bytes() == before
    add_order(ledger, order("TD-118"), ())
    assert len(orders(ledger)) == 1
    assert records(ledger) == recorded
    with closing(sqlite3.connect(ledger)) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (len(STEPS),)
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]


def test_a_ledger_from_a_newer_listkit_takes_no_order(ledger: Path) -> None:
    add_order(ledger, order("TD-118"), ())
    with closing(sqlite3.connect(ledger)) as newer:
        newer.execute(f"PRAGMA user_version = {len(STEPS) + 1}")
        newer.commit()
    before = ledger.read_bytes()
    for use in (lambda: orders(ledger), lambda: add_order(ledger, order("TD-119"), ())):
        with pytest.raises(BlockedError, match="newer listkit"):
            use()
    assert ledger.read_bytes() == before


def test_an_order_that_somebody_changed_in_the_file_is_told(ledger: Path) -> None:
    add_order(ledger, order("TD-118"), ())
    with closing(sqlite3.connect(ledger)) as connection:
        connection.execute("DROP TRIGGER content_keeps_UPDATE")
        connection.execute("UPDATE content SET text = replace(text, '547.20', '47.20')")
        connection.commit()
    with pytest.raises(DamagedLedgerError):
        orders(ledger)


# Killed

KILLED = """
import sys
from pathlib import Path
from listkit.ledger.orders import add_order, orders
from tests.ledger.rows import order
path = Path(sys.argv[1])
print("ready", flush=True)
add_order(path, order("TD-119", lines=20_000), orders(path))
print("done", flush=True)
"""


def start(path: Path) -> subprocess.Popen[str]:
    child = subprocess.Popen([sys.executable, "-c", KILLED, str(path)], stdout=subprocess.PIPE, text=True)
    assert child.stdout is not None
    assert child.stdout.readline() == "ready\n"
    return child


def test_an_order_killed_at_any_moment_is_whole_or_not_there(tmp_path: Path) -> None:
    first = tmp_path / "first.sqlite3"
    record(first, "web", snapshot(row("A")), at(1))
    add_order(first, order("TD-118"), ())
    shutil.copyfile(first, tmp_path / "measured.sqlite3")
    child, began = start(tmp_path / "measured.sqlite3"), time.perf_counter()
    child.communicate()
    length = time.perf_counter() - began
    there = []
    for number in range(12):
        path = tmp_path / "ledger.sqlite3"
        shutil.copyfile(first, path)
        child = start(path)
        time.sleep(length * 1.1 * number / 12)
        child.kill()
        child.communicate()
        now = orders(path)
        assert now[0].reference == "TD-118"
        assert [each.facts for each in now[1:]] in ([], [order("TD-119", lines=20_000).facts])
        there.append(len(now) == 2)
        if not there[-1]:
            add_order(path, order("TD-120"), now)
        assert len(orders(path)) == 2
        assert len(records(path)) == 1
        path.unlink()
    assert not there[0]


@pytest.mark.parametrize("follows", [False, True])
def test_a_journal_of_an_older_copy_takes_no_orders_away(ledger: Path, *, follows: bool) -> None:
    """howtocorrupt 1.4, "Mispairing database files and hot journals": records are the same, orders or steps fewer."""
    record(ledger, "web", snapshot(row("A")), at(1))
    first = add_order(ledger, order("TD-118"), ())
    pages = pages_of(ledger)
    for reference in ("TD-119", "TD-120"):
        if follows:
            state = OrderState.SENT if reference == "TD-119" else OrderState.CONFIRMED
            add_step(ledger, first.number, state, DAY, known=orders(ledger))
        else:
            add_order(ledger, order(reference, reference.replace("TD-", "")), orders(ledger))
    before = everything(ledger.parent), orders(ledger)
    side = ledger.with_name(ledger.name + "-journal")
    side.write_bytes(journal(pages=len(pages), originals=pages))
    for use in (lambda: orders(ledger), lambda: add_order(ledger, order("TD-122"), before[1])):
        with pytest.raises(BlockedError, match="does not belong to it"):
            use()
    side.unlink()
    assert (everything(ledger.parent), orders(ledger)) == before
