"""Other systems, simulated where no such machine is at hand: their line ends, their open files, their unknown locks."""

import datetime
import errno
import os
from pathlib import Path

import pytest

from listkit.read.shop import read_shop
from listkit.save import out_folder
from listkit.save.job import File, Job, key_of
from listkit.save.save import save
from tests.checked import problems_of
from tests.shops import CLEAN, clean_shop

TEXTS = frozenset({".toml", ".csv", ".md"})
TODAY = datetime.date(2027, 3, 1)


def write_text(text: str, paths: tuple[Path, ...]) -> None:
    for path in paths:
        path.write_text(text, encoding="utf-8")


def jobs(**texts: str) -> list[Job]:
    return [Job(write_text, (text,), (File(f"web/{name}.csv", key_of(text)),)) for name, text in texts.items()]


def test_a_file_that_is_open_in_another_program_is_told_and_the_others_are_made(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Windows refuses to replace a file that a program holds open: ERROR_ACCESS_DENIED, in Python a PermissionError."""
    save(jobs(feed="old", stock="old"), tmp_path)

    def refuse(source: Path, target: Path) -> None:
        if Path(target).name == "feed.csv":
            raise PermissionError(errno.EACCES, "Access is denied", str(source))
        os.rename(source, target)

    with monkeypatch.context() as windows:
        windows.setattr(os, "replace", refuse)
        saved = save(jobs(feed="new", stock="new"), tmp_path)
    assert [(failure.paths, failure.hint) for failure in saved.failures] == [
        (("web/feed.csv",), "Close it if another program has it open, then build.")
    ]
    assert {file.name: file.read_text() for file in (tmp_path / "web").iterdir()} == {
        "feed.csv": "old",
        "stock.csv": "new",
    }
    assert save(jobs(feed="new", stock="new"), tmp_path).made == ("web/feed.csv",)


@pytest.mark.parametrize("ends", [b"\r\n", b"\r"])
def test_the_line_ends_of_other_systems_change_nothing_that_is_read(tmp_path: Path, ends: bytes) -> None:
    """TOML 1.0 takes LF and CRLF, not a bare CR, which only the tables and stories of very old systems have."""
    texts = [path for path in CLEAN.rglob("*") if path.suffix in TEXTS]
    taken = [path for path in texts if ends == b"\r\n" or path.suffix != ".toml"]
    changes = {path.relative_to(CLEAN).as_posix(): path.read_bytes().replace(b"\n", ends) for path in taken}
    shop, problems = read_shop(clean_shop(tmp_path / "theirs", changes))
    ours, none = read_shop(clean_shop(tmp_path / "ours"))
    assert list(problems) == list(none) == []
    assert (shop.items, shop.settings, shop.packaging, shop.channels) == (
        ours.items, ours.settings, ours.packaging, ours.channels
    )  # fmt: skip
    assert [one.gift_set for one in shop.sets] == [one.gift_set for one in ours.sets]


def test_a_byte_order_mark_that_an_editor_puts_first_is_no_fault(tmp_path: Path) -> None:
    """Editors of some systems save UTF-8 with a mark (Unicode Standard 23.8)."""
    texts = [path for path in CLEAN.rglob("*") if path.suffix in TEXTS]
    changes = {path.relative_to(CLEAN).as_posix(): b"\xef\xbb\xbf" + path.read_bytes() for path in texts}
    assert problems_of(clean_shop(tmp_path, changes), TODAY) == problems_of(CLEAN, TODAY)


def test_where_a_file_system_knows_no_locks_the_build_goes_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def unknown(descriptor: int) -> None:
        raise OSError(errno.ENOLCK, "No locks available")

    monkeypatch.setattr(out_folder, "_take", unknown)
    assert save(jobs(feed="text"), tmp_path).made == ("web/feed.csv",)
