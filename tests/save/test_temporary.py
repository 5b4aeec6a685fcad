"""Temporary folders: gone after use, swept when their process is dead; nothing else is touched, no link followed."""

import errno
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from listkit.problem import BlockedError
from listkit.save.temporary import MARK, PREFIX, WORK, only_temporary, sweep_temporary, temporary_folder
from tests.real_builds import ROOT

pytest.importorskip("fcntl", reason="without locks of folders nothing is swept")


@pytest.fixture(autouse=True)
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder for temporary files, empty."""
    folder = tmp_path / "temporary"
    folder.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(folder))
    return folder


def left(place: Path, name: str = "0123456789abcdef") -> Path:
    """Lay out a folder as a process leaves it that is killed at work."""
    folder = place / f"{PREFIX}{name}"
    (folder / WORK / "pictures").mkdir(parents=True)
    folder.chmod(0o700)
    (folder / MARK).touch()
    (folder / WORK / "pictures" / "a.png").write_bytes(b"picture")
    return folder


def test_a_folder_is_empty_private_and_gone_afterwards(place: Path) -> None:
    with temporary_folder() as folder:
        assert folder.is_relative_to(place)
        assert list(folder.iterdir()) == []
        assert folder.parent.stat().st_mode & 0o777 == 0o700
        (folder / "deep/er").mkdir(parents=True)
        (folder / "deep/er/file").write_text("x")
    assert list(place.iterdir()) == []


def test_it_is_gone_after_an_exception(place: Path) -> None:
    with pytest.raises(FileExistsError), temporary_folder() as folder:
        folder.mkdir()
    assert list(place.iterdir()) == []


def test_what_a_dead_process_left_is_swept(place: Path) -> None:
    left(place)
    (place / f"{PREFIX}fedcba9876543210").mkdir(0o700)  # killed before it was marked
    sweep_temporary()
    assert list(place.iterdir()) == []


def test_a_folder_that_is_in_use_stays(place: Path) -> None:
    """flock(2): a lock belongs to an open file, so a second opening is kept out, in another process and in this one."""
    code = f"import tempfile; tempfile.tempdir = {str(place)!r}\n"
    code += "from listkit.save.temporary import sweep_temporary; sweep_temporary()"
    with temporary_folder() as folder:
        sweep_temporary()
        subprocess.run([sys.executable, "-c", code], check=True, env={**os.environ, "PYTHONPATH": str(ROOT)})
        assert folder.is_dir()
    assert list(place.iterdir()) == []


def test_a_folder_of_which_the_process_was_killed_is_swept(place: Path) -> None:
    code = f"import os, tempfile; tempfile.tempdir = {str(place)!r}\n"
    code += "from listkit.save.temporary import temporary_folder\n"
    code += "with temporary_folder() as folder:\n    (folder / 'page.typ').touch(); os.kill(os.getpid(), 9)"
    subprocess.run([sys.executable, "-c", code], check=False, env={**os.environ, "PYTHONPATH": str(ROOT)})
    assert [path.name.startswith(PREFIX) for path in place.iterdir()] == [True]
    sweep_temporary()
    assert list(place.iterdir()) == []


def test_what_is_not_ours_stays(place: Path) -> None:
    without_mark, with_more, open_to_all, other_name = (left(place, str(number)) for number in range(4))
    (without_mark / MARK).unlink()
    (with_more / "letter.txt").write_text("mine")
    open_to_all.chmod(0o755)
    other_name.rename(place / "listkit-backup")
    (place / f"{PREFIX}file").write_text("mine")
    before = sorted(place.rglob("*"))
    sweep_temporary()
    assert sorted(place.rglob("*")) == before


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root can give a folder away")
def test_another_users_folder_stays(place: Path) -> None:
    os.chown(left(place), 12345, 12345)
    sweep_temporary()
    assert len(list(place.iterdir())) == 1


def test_no_link_is_followed(place: Path, tmp_path: Path) -> None:
    """A link in the place of our folder, of the work in it, of its mark, and one deep within."""
    shop = tmp_path / "shop"
    shop.mkdir()
    (shop / "items.csv").write_text("code\n")
    left(tmp_path, "away")
    (place / f"{PREFIX}a").symlink_to(tmp_path / f"{PREFIX}away")
    folder = place / f"{PREFIX}b"
    folder.mkdir(0o700)
    (folder / MARK).symlink_to(shop / "items.csv")
    (folder / WORK).symlink_to(shop)
    (left(place, "c") / WORK / "pictures" / "deep").symlink_to(shop)
    sweep_temporary()
    assert (shop / "items.csv").read_text() == "code\n"
    assert (tmp_path / f"{PREFIX}away" / WORK / "pictures" / "a.png").exists()
    assert sorted(path.name for path in place.iterdir()) == [f"{PREFIX}a", f"{PREFIX}b"]


def test_one_that_is_swept_before_it_is_locked_is_made_again(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two processes begin at once: here the second one's sweep comes right after the first one's mkdir."""
    make = os.mkdir
    swept: list[Path] = []

    def make_and_sweep(path: Path, mode: int = 0o777, *, dir_fd: int | None = None) -> None:
        make(path, mode, dir_fd=dir_fd)
        if not swept:
            swept.append(path)
            sweep_temporary()

    with monkeypatch.context() as racing:
        racing.setattr(os, "mkdir", make_and_sweep)
        with temporary_folder() as folder:
            assert folder.is_dir()
    assert swept
    assert list(place.iterdir()) == []


def descriptors() -> int:
    """Return how many files this process has open (proc(5): /proc/self/fd)."""
    return len(os.listdir("/proc/self/fd"))


def test_no_descriptor_stays_open_after_an_exception() -> None:
    before = descriptors()
    with pytest.raises(FileExistsError), temporary_folder() as folder:
        folder.mkdir()
    assert descriptors() == before


def test_no_descriptor_stays_open_where_there_is_no_room(monkeypatch: pytest.MonkeyPatch) -> None:
    make, before = os.mkdir, descriptors()

    def full(path: Path, mode: int = 0o777, *, dir_fd: int | None = None) -> None:
        if dir_fd is not None:
            raise OSError(errno.ENOSPC, "No space left on device")
        make(path, mode, dir_fd=dir_fd)

    with monkeypatch.context() as disk:
        disk.setattr(os, "mkdir", full)
        with pytest.raises(BlockedError, match="No space left"), temporary_folder():
            pass
    assert descriptors() == before


def test_one_that_is_swept_before_it_is_marked_is_made_again_and_only_its_own_lock_is_open(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    look, before = os.open, descriptors()
    swept: list[Path] = []

    def look_and_sweep(path: Path, flags: int, mode: int = 0o777, *, dir_fd: int | None = None) -> int:
        descriptor = look(path, flags, mode, dir_fd=dir_fd)
        if not swept and dir_fd is None:
            swept.append(path)
            path.rmdir()
        return descriptor

    with monkeypatch.context() as racing:
        racing.setattr(os, "open", look_and_sweep)
        with temporary_folder() as folder:
            assert folder.is_dir()
            assert descriptors() == before + 1
    assert swept
    assert descriptors() == before
    assert list(place.iterdir()) == []


def test_a_full_folder_for_temporary_files_is_named() -> None:
    """/dev/full, full(4): every write fails with ENOSPC."""
    with pytest.raises(BlockedError) as fault, only_temporary(), Path("/dev/full").open("w") as full:
        full.write("x")
    assert fault.value.message == (
        f"the folder for temporary files, {tempfile.gettempdir()}, cannot be written to: No space left on device."
    )
    assert fault.value.hint == "Make room there, or name another folder in TMPDIR."


def test_another_fault_of_the_disk_is_left_as_it_is() -> None:
    with pytest.raises(FileNotFoundError), only_temporary():
        Path("nowhere/at all").read_text()
