"""The steps of the schema: from nothing, from the oldest, and never from the future."""

import datetime
import hashlib
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from listkit.ledger.file import connected
from listkit.ledger.orders import KeptOrder, OrderState, add_order, add_step, orders
from listkit.ledger.schema import APPLICATION, STEPS, migrate
from listkit.ledger.store import difference, record, records
from listkit.problem import BlockedError
from tests.ledger.rows import at, order_facts, row, snapshot


@pytest.fixture
def memory() -> Iterator[sqlite3.Connection]:
    """An empty database that no file holds."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
        yield connection


def version(connection: sqlite3.Connection) -> int:
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def shape(connection: sqlite3.Connection) -> list[tuple[str, str]]:
    """Every table, index and trigger with its SQL."""
    query = "SELECT name, sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY name"
    return [(name, sql) for name, sql in connection.execute(query)]


def test_a_new_file_gets_every_step_and_is_marked_as_ours(memory: sqlite3.Connection) -> None:
    migrate(memory)
    assert version(memory) == len(STEPS)
    assert memory.execute("PRAGMA application_id").fetchone() == (APPLICATION,)
    before = shape(memory)
    migrate(memory)
    assert shape(memory) == before


@pytest.mark.parametrize("steps", range(1, len(STEPS)))
def test_an_older_ledger_is_brought_to_the_newest_schema(memory: sqlite3.Connection, steps: int) -> None:
    migrate(memory, STEPS[:steps])
    assert version(memory) == steps
    migrate(memory)
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as fresh:
        migrate(fresh)
        assert shape(memory) == shape(fresh)


def test_what_the_oldest_ledger_holds_is_read_by_the_newest(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite3"
    with closing(sqlite3.connect(path, isolation_level=None)) as oldest:
        migrate(oldest, STEPS[:1])
        text = '{"price":"29.00","sku":"OHS-1-U01"}'
        digest = hashlib.sha256(text.encode()).digest()
        oldest.execute("INSERT INTO record VALUES (1, 'web', '2026-11-01T10:00:00+00:00', 'old', '0.1.0', NULL)")
        oldest.execute("INSERT INTO content (digest, text) VALUES (?, ?)", (digest, text))
        oldest.execute("INSERT INTO entry VALUES (1, 'rows', 'OHS-1-U01', ?)", (digest,))
    now = snapshot(row("OHS-1-U01", "30.00"))
    found = difference(path, "web", now)
    assert found.record is not None
    assert (found.record.note, found.old.rows) == ("old", {"OHS-1-U01": text})
    assert record(path, "web", now, at(2)) is not None
    assert len(records(path)) == 2
    with closing(sqlite3.connect(path)) as newest:
        assert version(newest) == len(STEPS)


def test_a_step_that_fails_leaves_the_ledger_at_the_step_before(memory: sqlite3.Connection) -> None:
    with pytest.raises(sqlite3.OperationalError):
        migrate(memory, (*STEPS[:2], "CREATE TABLE half (a);\nCREATE TABLE record (twice);\n"))
    assert version(memory) == 2
    assert "half" not in {name for name, _ in shape(memory)}
    migrate(memory)
    assert version(memory) == len(STEPS)


def test_a_ledger_from_a_newer_listkit_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite3"
    record(path, "web", snapshot(row("A")), at(1))
    with closing(sqlite3.connect(path)) as newer:
        newer.execute(f"PRAGMA user_version = {len(STEPS) + 1}")
        newer.commit()
    before = path.read_bytes()
    with pytest.raises(BlockedError, match=r"ledger\.sqlite3: it was written by a newer listkit"):
        record(path, "web", snapshot(row("B")), at(2))
    assert path.read_bytes() == before


def test_another_programs_database_is_no_ledger(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite3"
    with closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE record (nothing_of_ours)")
        other.commit()
    before = path.read_bytes()
    with pytest.raises(BlockedError, match="another program's database"), connected(path):
        pass
    assert path.read_bytes() == before


COLUMNS = {
    "record": "note", "passage": "text", "content": "text", "entry": "code", "stockist_order": "day",
    "order_step": "day",
}  # fmt: skip


@pytest.mark.parametrize("table", COLUMNS)
@pytest.mark.parametrize("order", ["DELETE FROM {}", "UPDATE {0} SET {1} = {1}"])
def test_rows_are_only_added(tmp_path: Path, table: str, order: str) -> None:
    path = tmp_path / "ledger.sqlite3"
    record(path, "web", snapshot(row("A")), at(1))
    kept = add_order(path, KeptOrder(0, "ST-01", "TD-118", datetime.date(2026, 11, 2), order_facts({})), ())
    add_step(path, kept.number, OrderState.SENT, kept.day, known=orders(path))
    with closing(sqlite3.connect(path)) as connection, pytest.raises(sqlite3.IntegrityError, match="only added"):
        connection.execute(order.format(table, COLUMNS[table]))


def test_the_journal_is_a_rollback_journal_fully_synchronised_with_foreign_keys(tmp_path: Path) -> None:
    with connected(tmp_path / "ledger.sqlite3") as connection:
        for name, wanted in (("journal_mode", "delete"), ("synchronous", 2), ("foreign_keys", 1)):
            assert connection.execute(f"PRAGMA {name}").fetchone() == (wanted,), name
