"""Ledgers that somebody made to harm: told in words before anything in them runs, quickly, and left as they are.

The defences are those of SQLite's "Defense Against The Dark Arts" (sqlite.org/security.html); how a schema can harm is
in the same, in "Requirements For Building Applications Safely", and in "PRAGMA trusted_schema".
"""

import sqlite3
import sys
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from listkit.ledger import file, schema
from listkit.ledger.faults import DamagedLedgerError
from listkit.ledger.file import connected
from listkit.ledger.orders import add_order, orders
from listkit.ledger.store import record, standing
from listkit.problem import BlockedError
from tests.ledger.journals import PAGE, everything, journal
from tests.ledger.rows import TEXT, at, order, row, snapshot
from tests.ledger.test_journal import READING, USES

SECONDS = 3.0
"""Of the processor, for all uses of one ledger together; each took the endless ones for ever."""
ENDLESS = "WITH RECURSIVE number (at) AS (SELECT 1 UNION ALL SELECT at + 1 FROM number) SELECT"


@pytest.fixture
def ledger(tmp_path: Path) -> Path:
    """A sound ledger, in a folder of its own, with records and an order."""
    path = tmp_path / "shop" / "ledger.sqlite3"
    path.parent.mkdir()
    for day in (1, 2, 3):
        record(
            path,
            "web",
            snapshot(*(row(f"A-{each}", f"{day}.00", story=f"{each} {TEXT}") for each in range(20))),
            at(day),
        )
    add_order(path, order("TD-1"), ())
    return path


@contextmanager
def behind_our_triggers(ledger: Path, *, schema: bool = False) -> Iterator[sqlite3.Connection]:
    """Yield a connection that changes rows, and with `schema` the schema; what guards the rows is put back."""
    with closing(sqlite3.connect(ledger, isolation_level=None)) as connection:
        guards = connection.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute("PRAGMA legacy_alter_table = ON")
        connection.execute(f"PRAGMA writable_schema = {'ON' if schema else 'OFF'}")
        yield connection
        views = {name for (name,) in connection.execute("SELECT name FROM sqlite_schema WHERE type = 'view'")}
        for name, sql in guards:
            if name.partition("_keeps_")[0] not in views:
                connection.execute(sql)


def assert_refused(ledger: Path, *, match: str) -> None:
    """Every use is refused with these words, in little time, and no file changes."""
    before, began = everything(ledger.parent), time.process_time()
    for name, use in {**USES, "orders": orders}.items():
        with pytest.raises(DamagedLedgerError, match=match) as fault:
            use(ledger)
        assert fault.value.message.startswith("ledger.sqlite3: "), name
        assert fault.value.hint
    assert time.process_time() - began < SECONDS
    assert everything(ledger.parent) == before


SCHEMAS: dict[str, tuple[str, ...]] = {
    'view "record"': (
        "DROP TABLE record",
        f"CREATE VIEW record AS {ENDLESS} at AS number, '' AS channel, '' AS note, NULL AS undoes FROM number",
    ),
    'view "content"': (
        "DROP TABLE content", f"CREATE VIEW content AS {ENDLESS} at AS digest, 'x' AS text FROM number",
    ),
    'trigger "more"': (
        f"CREATE TRIGGER more BEFORE INSERT ON record BEGIN {ENDLESS} count(*) FROM number; END",
    ),
    'trigger "entry_keeps_DELETE"': (
        "CREATE TRIGGER entry_keeps_DELETE BEFORE DELETE ON entry BEGIN SELECT 1; END",
    ),
    'table "record"': ("ALTER TABLE record ADD COLUMN more TEXT AS (hex(zeroblob(400000000))) VIRTUAL",),
    'index "more"': ("CREATE INDEX more ON record (length(hex(zeroblob(1000000 + number))))",),
    'index "entry_by_code"': (
        "DROP INDEX entry_by_code", "CREATE INDEX entry_by_code ON entry (code, section, record) WHERE code > 'Z'",
    ),
    'table "more"': ("CREATE TABLE more (a)",),
    'view "more"': ("CREATE VIEW more AS SELECT 1",),
    'table "sqlite_stat1"': ("ANALYZE",),
    'table "two': ('CREATE TABLE "two\x1b[2J" (a)',),
}  # fmt: skip


@pytest.mark.parametrize("said", SCHEMAS)
def test_whatever_we_did_not_make_is_named_and_nothing_of_it_runs(ledger: Path, said: str) -> None:
    with behind_our_triggers(ledger) as connection:
        if "entry_keeps" not in said:
            for sql in SCHEMAS[said]:
                connection.execute(sql)
    if "entry_keeps" in said:
        with closing(sqlite3.connect(ledger)) as connection:
            connection.execute("DROP TRIGGER entry_keeps_DELETE")
            connection.execute(*SCHEMAS[said])
    assert_refused(ledger, match=said.replace('"', '["?]'))


@pytest.mark.parametrize(("table", "old", "new"), [
    ("record", "note    TEXT NOT NULL", "note TEXT NOT NULL CHECK (length(hex(zeroblob(400000000))) > 0)"),
    ("record", "note    TEXT NOT NULL", "note TEXT"),
    ("record", "channel TEXT", "channel TEXT COLLATE nowhere"),
    ("record", "note    TEXT NOT NULL", "note TEXT NOT NULL DEFAULT (hex(zeroblob(400000000)))"),
    ("record", "-- of listkit", "-- of listkit\n, more TEXT AS (1) --"),
    ("entry_keeps_DELETE", "rows of the", "rows of --'); END; --\n the"),
    ("entry", "WITHOUT ROWID", "WITHOUT ROWID, STRICT"),
    ("entry_by_code", "code, section", "code COLLATE NOCASE, section"),
])  # fmt: skip
def test_a_table_that_is_ours_but_for_a_word_is_told(ledger: Path, table: str, old: str, new: str) -> None:
    with closing(sqlite3.connect(ledger, isolation_level=None)) as connection:
        connection.execute("PRAGMA writable_schema = ON")
        connection.execute("UPDATE sqlite_schema SET sql = replace(sql, ?, ?) WHERE name = ?", (old, new, table))
        assert connection.execute("SELECT changes()").fetchone() == (1,)
    assert_refused(ledger, match="what listkit did not make|not hold what listkit wrote|damaged or cut short")


@pytest.mark.parametrize("change", [
    "UPDATE sqlite_schema SET rootpage = (SELECT rootpage FROM sqlite_schema WHERE name = 'passage') "
    "WHERE name = 'content'",
    "UPDATE sqlite_schema SET sql = NULL WHERE name = 'record'",
    "UPDATE sqlite_schema SET sql = CAST(sql AS BLOB) WHERE name = 'entry_by_code'",
    "DELETE FROM sqlite_schema WHERE name = 'entry_by_code'",
    "INSERT INTO sqlite_schema SELECT 'view', 'v', 'v', 0, 'CREATE VIEW v AS SELECT ' || hex(zeroblob(200000))",
    "PRAGMA user_version = -1",
    "PRAGMA user_version = 0",
    "PRAGMA user_version = 3",
])  # fmt: skip
def test_a_schema_that_does_not_hold_together_is_told(ledger: Path, change: str) -> None:
    with closing(sqlite3.connect(ledger, isolation_level=None)) as connection:
        connection.execute("PRAGMA writable_schema = ON")
        connection.execute(change)
    assert_refused(ledger, match="ledger")


@pytest.mark.parametrize("letters", [b"rows of the ledger", b"CREATE TABLE record", b"entry_by_code"])
def test_a_schema_that_is_no_utf_8_is_told(ledger: Path, letters: bytes) -> None:
    """Unicode 15.0, 3.9, D92: the byte FF is part of no text in UTF-8; Python says so without a code of SQLite."""
    content = ledger.read_bytes()
    at = content.index(letters)
    ledger.write_bytes(content[: at + 2] + b"\xff" + content[at + 3 :])
    assert_refused(ledger, match="ledger")


def test_a_schema_of_thousands_of_tables_is_not_read_to_its_end(ledger: Path) -> None:
    with closing(sqlite3.connect(ledger, isolation_level=None)) as connection:
        connection.execute("BEGIN")
        for each in range(8000):
            connection.execute(f"CREATE TABLE more_{each} (a)")
        connection.execute("COMMIT")
    assert_refused(ledger, match="does not hold what listkit wrote")


def test_an_older_ledger_with_more_in_it_is_not_brought_to_the_newest_schema(ledger: Path) -> None:
    with closing(sqlite3.connect(ledger, isolation_level=None)) as connection:
        connection.execute("DROP TABLE order_step")
        connection.execute("DROP TABLE stockist_order")
        connection.execute("PRAGMA user_version = 3")
        connection.execute("CREATE TRIGGER more BEFORE INSERT ON record BEGIN DELETE FROM entry; END")
    assert_refused(ledger, match='trigger "more"')


def test_a_foreign_schema_beside_a_journal_is_not_run_either(ledger: Path) -> None:
    """There the check of all pages comes first, which runs what CHECK constraints and indexes say."""
    with closing(sqlite3.connect(ledger, isolation_level=None)) as connection:
        connection.execute("CREATE INDEX more ON record (length(hex(zeroblob(100000000 + number))))")
    pages = ledger.stat().st_size // PAGE
    ledger.with_name("ledger.sqlite3-journal").write_bytes(journal(pages=pages))
    assert_refused(ledger, match="damaged|did not make")


def test_other_white_space_and_comments_in_our_own_schema_are_ours(ledger: Path) -> None:
    """SQLite reads over them ("SQL Comment Syntax"), and an older listkit may have worded a comment otherwise."""
    with closing(sqlite3.connect(ledger, isolation_level=None)) as connection:
        connection.execute("PRAGMA writable_schema = ON")
        connection.execute("UPDATE sqlite_schema SET sql = replace(sql, '-- of listkit', '   -- whose it is\t')")
    for use in (*READING.values(), orders):
        assert use(ledger)
    assert record(ledger, "web", snapshot(row("B")), at(25)) is not None


@pytest.mark.parametrize("tidy", ["VACUUM", "REINDEX", "PRAGMA optimize", "PRAGMA page_size = 1024; VACUUM"])
def test_a_ledger_that_a_tool_tidied_up_is_ours(ledger: Path, tidy: str) -> None:
    with closing(sqlite3.connect(ledger, isolation_level=None)) as connection:
        connection.executescript(tidy)
    for use in (*READING.values(), orders):
        assert use(ledger)
    assert record(ledger, "web", snapshot(row("B")), at(25)) is not None


def tree_with_many_ways(ledger: Path) -> None:
    """Let every child of the records' root be the page above the leaves again, so that there is no end to them."""
    with behind_our_triggers(ledger) as connection:
        values = [(each, "web", at(3).at, f"{each} {TEXT}", "", None) for each in range(10, 2000)]
        connection.executemany("INSERT INTO record VALUES (?, ?, ?, ?, ?, ?)", values)
        [[root]] = connection.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'record'").fetchall()
    content = bytearray(ledger.read_bytes())

    def page(number: int) -> memoryview:
        return memoryview(content)[(number - 1) * PAGE : number * PAGE]

    # "Database File Format", section 1.6: type 5 is an interior page, its cells begin with the number of a child.
    assert page(root)[0] == 5
    leaf = int.from_bytes(page(root)[8:12], "big")
    with closing(sqlite3.connect(ledger, isolation_level=None)) as connection:
        connection.execute("CREATE TABLE spare (a)")  # a page more for each level
        for _ in range(5):
            connection.execute("INSERT INTO spare VALUES (zeroblob(4000))")
        connection.execute("DROP TABLE spare")
    content = bytearray(ledger.read_bytes())
    free = len(content) // PAGE
    levels = [root, *range(free, free - 4, -1)]
    interior = bytes(page(root))
    for level, below in zip(levels, [*levels[1:], leaf], strict=True):
        page(level)[:] = interior
        page(level)[8:12] = below.to_bytes(4, "big")
        for cell in range(int.from_bytes(interior[3:5], "big")):
            spot = int.from_bytes(interior[12 + 2 * cell : 14 + 2 * cell], "big")
            page(level)[spot : spot + 4] = below.to_bytes(4, "big")
    ledger.write_bytes(content)


def test_a_tree_of_pages_without_end_is_left_after_a_while(ledger: Path) -> None:
    tree_with_many_ways(ledger)
    before, began = everything(ledger.parent), time.process_time()
    for name in ("records", "difference", "standing", "record", "undo"):
        with pytest.raises(DamagedLedgerError, match=r"damaged|does not hold"):
            USES[name](ledger)
    assert time.process_time() - began < SECONDS
    assert everything(ledger.parent) == before


def test_nothing_is_added_to_a_ledger_that_is_damaged_anywhere(ledger: Path) -> None:
    """What a record does not read is looked at as well: a page of an old order's text."""
    content = ledger.read_bytes()
    with closing(sqlite3.connect(ledger)) as connection:
        [[root]] = connection.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'order_step'").fetchall()
    ledger.write_bytes(content[: (root - 1) * PAGE] + bytes(PAGE) + content[root * PAGE :])
    before = ledger.read_bytes()
    with pytest.raises(DamagedLedgerError, match="damaged or cut short"):
        record(ledger, "web", snapshot(row("B")), at(25))
    assert ledger.read_bytes() == before


def test_a_file_larger_than_any_ledger_is_told_before_it_is_opened(ledger: Path) -> None:
    with ledger.open("r+b") as stream:
        stream.truncate(4 << 30)  # sparse
    for use in (*USES.values(), orders):
        with pytest.raises(BlockedError, match="too large for a ledger"):
            use(ledger)
    assert ledger.stat().st_size == 4 << 30


def test_a_connection_has_the_defences_that_sqlite_recommends(tmp_path: Path) -> None:
    """SQLite, "Defense Against The Dark Arts", sections 1.1 and 1.2."""
    with connected(tmp_path / "ledger.sqlite3") as connection:
        for name, wanted in (("trusted_schema", 0), ("cell_size_check", 1)):
            assert connection.execute(f"PRAGMA {name}").fetchone() == (wanted,), name
        assert connection.execute("PRAGMA mmap_size").fetchone() in {(0,), None}
        with pytest.raises(sqlite3.OperationalError, match="too many attached"):
            connection.execute("ATTACH ':memory:' AS other")
        with pytest.raises(sqlite3.DataError, match="too big"):
            connection.execute("SELECT zeroblob(500000000)")
        with pytest.raises(sqlite3.OperationalError, match="interrupted"):
            connection.execute(f"{ENDLESS} count(*) FROM number")
        if sys.version_info >= (3, 12):
            assert connection.getconfig(sqlite3.SQLITE_DBCONFIG_DEFENSIVE)
            assert not connection.getconfig(sqlite3.SQLITE_DBCONFIG_ENABLE_VIEW)


def test_a_first_record_may_be_of_more_rows_than_an_empty_ledger_has_steps_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What may be read goes by the file's size as it was opened; 100,000 rows were told as a damaged ledger."""
    monkeypatch.setattr(file, "_FREE_STEPS", 100_000)
    path = tmp_path / "ledger.sqlite3"
    record(path, "web", snapshot(*(row(f"A-{each}", "1.00") for each in range(5_000))), at(1))
    assert len(standing(path, "web", "rows")) == 5_000


@pytest.mark.parametrize("sign", ["'", "[", '"', "`", "-", " "])
def test_signs_that_open_and_never_close_take_no_time_in_a_schema(sign: str) -> None:
    """Each of a hundred thousand brackets was followed to the end of the statement."""
    began = time.process_time()
    schema._bare("CREATE TABLE a (" + sign * 100_001)
    assert time.process_time() - began < 1
