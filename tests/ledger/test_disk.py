"""A disk that is full or read-only, and rights taken away: told, and nothing changed by it."""

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from listkit.ledger.faults import FullDiskError
from listkit.ledger.store import record, records, undo
from listkit.problem import BlockedError
from tests.cli.published import Told, small_shop
from tests.disks import files_end_at
from tests.ledger.journals import everything, ledger_of, left_by_a_kill
from tests.ledger.rows import at, row, snapshot
from tests.ledger.test_opening import nobody

MUCH = snapshot(*(row(f"B-{number}", description=f"{number} in full " * 200) for number in range(400)))


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Path]:
    """A disk in memory that holds 500 KiB."""
    place = tmp_path / "disk"
    place.mkdir()
    if os.geteuid() != 0 or shutil.which("mount") is None:
        pytest.skip("only root mounts a disk in memory")
    words = ["mount", "-t", "tmpfs", "-o", "size=500k", "tmpfs", str(place)]
    if subprocess.run(words, check=False, capture_output=True).returncode:
        pytest.skip("this machine lets nobody mount a disk in memory")
    yield place
    subprocess.run(["umount", str(place)], check=True)


def test_a_full_disk_is_told_and_the_ledger_left_as_it_was(disk: Path) -> None:
    path = ledger_of(disk / "ledger.sqlite3", days=1)
    with pytest.raises(FullDiskError, match=r"^ledger\.sqlite3: the disk is full"):
        record(path, "web", MUCH, at(2))
    assert [one.number for one in records(path)] == [1]
    assert record(path, "web", snapshot(row("C")), at(3)) is not None


def test_a_disk_too_full_for_a_first_record_is_left_as_it_was(disk: Path) -> None:
    (disk / "photo").write_bytes(bytes(100_000))
    before = everything(disk)
    with pytest.raises(FullDiskError):
        record(disk / "ledger.sqlite3", "web", MUCH, at(2))
    assert everything(disk) == before
    (disk / "another").write_bytes(bytes(400_000 - 4096))
    before = everything(disk)
    with pytest.raises(FullDiskError):
        record(disk / "ledger.sqlite3", "web", snapshot(row("A")), at(2))
    assert everything(disk) == before


@pytest.mark.parametrize("most", [0, 512, 5_000, 30_000])
@pytest.mark.parametrize("days", [0, 2])
def test_a_file_that_cannot_grow_is_told_and_the_ledger_left_as_it_was(tmp_path: Path, most: int, days: int) -> None:
    path = ledger_of(tmp_path / "ledger.sqlite3", days=days)
    known = records(path)
    with files_end_at(most), pytest.raises(BlockedError, match=r"^ledger\.sqlite3: the disk"):
        record(path, "web", MUCH, at(9))
    assert records(path) == known
    assert path.exists() == bool(days)
    assert record(path, "web", snapshot(row("C")), at(9)) is not None


def test_no_room_for_a_copy_to_look_at_is_told(tmp_path: Path, disk: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = ledger_of(tmp_path / "ledger.sqlite3")
    left_by_a_kill(path)
    monkeypatch.setattr("tempfile.tempdir", str(disk))
    (disk / "filled").write_bytes(bytes(480_000))
    before = everything(tmp_path)
    with pytest.raises(BlockedError, match=r"^ledger\.sqlite3: no copy of it can be made to look at: No space left"):
        records(path)
    assert everything(tmp_path) == before
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "none"))
    with pytest.raises(BlockedError, match="no copy of it can be made"):
        records(path)


def test_a_read_only_disk_is_read_and_recording_is_told(disk: Path) -> None:
    path = ledger_of(disk / "ledger.sqlite3", days=1)
    subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
    before = everything(disk)
    assert len(records(path)) == 1
    with pytest.raises(BlockedError, match=r"^ledger\.sqlite3: it cannot be written to"):
        record(path, "web", snapshot(row("B")), at(2))
    with pytest.raises(BlockedError, match=r"^ledger\.sqlite3: it cannot be written to"):
        undo(path, "web", at(2))
    with pytest.raises(BlockedError, match=r"^new: it cannot be written to"):
        record(disk / "new", "web", snapshot(row("B")), at(2))
    assert everything(disk) == before


def test_a_journal_on_a_read_only_disk_is_read_past(disk: Path) -> None:
    subprocess.run(["mount", "-o", "remount,size=5M", str(disk)], check=True)
    path = ledger_of(disk / "ledger.sqlite3", days=1)
    left_by_a_kill(path)
    subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
    assert [one.number for one in records(path)] == [1]


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that anybody finds, as no temporary folder of pytest is."""
    with tempfile.TemporaryDirectory() as name:
        Path(name).chmod(0o755)
        yield Path(name)
        Path(name).chmod(0o755)


def test_a_folder_without_rights_is_told(open_folder: Path) -> None:
    open_folder.chmod(0o555)
    with nobody(), pytest.raises(BlockedError, match=r"^ledger\.sqlite3: it cannot be written to"):
        record(open_folder / "ledger.sqlite3", "web", snapshot(row("A")), at(1))
    assert everything(open_folder) == {}


def test_a_ledger_that_may_not_be_read_is_told(open_folder: Path) -> None:
    path = ledger_of(open_folder / "ledger.sqlite3", days=1)
    left_by_a_kill(path)
    journal = path.with_name(path.name + "-journal")
    for hidden, right in ((path, 0), (journal, 0), (open_folder, 0o444)):
        before = hidden.stat().st_mode
        hidden.chmod(right)
        with nobody(), pytest.raises(BlockedError, match=r"^ledger\.sqlite3: "):
            records(path)
        with nobody(), pytest.raises(BlockedError, match=r"^ledger\.sqlite3: "):
            record(path, "web", snapshot(row("A")), at(1))
        hidden.chmod(before)
    with nobody(), pytest.raises(BlockedError, match=r"^ledger\.sqlite3: it cannot be written to"):
        record(path, "web", snapshot(row("A")), at(1))
    assert record(path, "web", snapshot(row("A")), at(1)) is not None


def test_the_command_says_so_in_one_line_on_a_read_only_disk(disk: Path, capsys: pytest.CaptureFixture[str]) -> None:
    subprocess.run(["mount", "-o", "remount,size=50M", str(disk)], check=True)
    told = Told(small_shop(disk / "shop"), capsys)
    assert told.build() == 0
    subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
    before = everything(disk)
    for words in (("web",), ("web", "--undo"), ("web", "--redate")):
        assert told.run("record", *words) == 1
        assert told.err.startswith("Not recorded: ")
        assert told.err.count("\n") == 1
    for command in (("check",), ("show", "--all")):
        assert told.run(*command) == 0, told.err
    assert everything(disk) == before
