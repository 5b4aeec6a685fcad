"""A ledger that cannot be used: each fault in the owner's words, and the file left as it was."""

import os
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from listkit.ledger.faults import BusyLedgerError, DamagedLedgerError
from listkit.ledger.file import connected
from listkit.ledger.store import difference, record, records
from listkit.problem import BlockedError
from tests.ledger.rows import at, row, snapshot

NOBODY = 65534


def full(path: Path) -> None:
    """A ledger of some pages."""
    record(path, "web", snapshot(*(row(f"A-{number}", description=f"{number} " * 90) for number in range(80))), at(1))


def cut(share: float) -> Callable[[Path], None]:
    def damage(path: Path) -> None:
        full(path)
        content = path.read_bytes()
        path.write_bytes(content[: int(len(content) * share)])

    return damage


def garbled(path: Path) -> None:
    full(path)
    content = bytearray(path.read_bytes())
    content[4096:] = bytes(255 - byte for byte in content[4096:])
    path.write_bytes(content)


def other_file(path: Path) -> None:
    path.write_bytes(b"code,name\nOH-B01,Rosemary & Rind\n" * 100)


def rewritten(path: Path) -> None:
    """Somebody changed a price in the ledger by hand."""
    full(path)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("DROP TRIGGER content_keeps_UPDATE")
        connection.execute("UPDATE content SET text = replace(text, '29.00', '19.00')")
        connection.commit()


def no_text(path: Path) -> None:
    """A letter of the schema is none; what SQLite says of it quotes it."""
    full(path)
    path.write_bytes(path.read_bytes().replace(b"CREATE TABLE record", b"CREATE T\xffBLE record", 1))


def without_text(path: Path) -> None:
    full(path)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("DROP TRIGGER passage_keeps_DELETE")
        connection.execute("DELETE FROM passage")
        connection.commit()


def without_table(path: Path) -> None:
    full(path)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("DROP TABLE entry")
        connection.commit()


def at_no_time(path: Path) -> None:
    full(path)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("INSERT INTO record VALUES (9, 'web', 'yesterday', '', '', NULL)")
        connection.commit()


@pytest.mark.parametrize(
    "damage",
    [cut(0.9), cut(0.5), cut(0.02), garbled, other_file, rewritten, no_text, without_text, without_table, at_no_time],
)
def test_a_damaged_ledger_is_told_and_left_as_it_is(tmp_path: Path, damage: Callable[[Path], None]) -> None:
    path = tmp_path / "ledger.sqlite3"
    damage(path)
    before = path.read_bytes()
    with pytest.raises(DamagedLedgerError, match=r"^ledger\.sqlite3: ") as fault:
        difference(path, "web", snapshot(row("A-1", "30.00")))
    assert fault.value.hint
    assert path.read_bytes() == before
    assert [one.name for one in tmp_path.iterdir()] == ["ledger.sqlite3"]


def test_a_file_cut_short_is_said_to_be_so(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite3"
    cut(0.5)(path)
    with pytest.raises(BlockedError, match="it is damaged or cut short"):
        records(path)


def test_a_locked_ledger_is_told_after_the_wait(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite3"
    full(path)
    with connected(path) as busy:
        busy.execute("BEGIN IMMEDIATE")
        with pytest.raises(BusyLedgerError, match="another program is writing to it just now"):
            record(path, "web", snapshot(row("B")), at(2), wait=0.05)
        assert len(records(path, wait=0.05)) == 1  # reading goes on
        busy.execute("ROLLBACK")
    assert record(path, "web", snapshot(row("B")), at(2), wait=0.05) is not None


def test_a_ledger_that_is_a_link_is_not_followed(tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    full(elsewhere)
    before = elsewhere.read_bytes()
    path = tmp_path / "ledger.sqlite3"
    path.symlink_to(elsewhere)
    with pytest.raises(BlockedError, match="is a link"):
        record(path, "web", snapshot(row("B")), at(2))
    assert elsewhere.read_bytes() == before


def test_a_folder_in_its_place_is_told(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite3"
    path.mkdir()
    with pytest.raises(BlockedError, match=r"^ledger\.sqlite3: it is no plain file"):
        records(path)


@contextmanager
def nobody() -> Iterator[None]:
    """Act as another user where we are root, from whom nothing is write-protected."""
    root = os.geteuid() == 0
    if root:
        os.seteuid(NOBODY)
    try:
        yield
    finally:
        if root:
            os.seteuid(0)


def test_a_write_protected_ledger_is_read_and_not_written() -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "ledger.sqlite3")
        full(path)
        before = path.read_bytes()
        path.chmod(0o444)
        Path(folder).chmod(0o555)
        with nobody():
            assert len(records(path)) == 1
            assert difference(path, "web", snapshot()).record is not None
            with pytest.raises(BlockedError, match=r"^ledger\.sqlite3: it cannot be written to"):
                record(path, "web", snapshot(row("B")), at(2))
        Path(folder).chmod(0o755)
        assert path.read_bytes() == before
