"""How a file that is asked for takes its place: whole, over nothing but ours, and through no link."""

import hashlib
import json
import ntpath
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from listkit.problem import BlockedError, FieldError
from listkit.save import place
from listkit.save.asked import asked_files, asked_folder, is_signed, output_folder, remove_asked, sign, write_drawings
from listkit.save.out_folder import digest_at, sha256_of
from listkit.save.place import free_name, placed, put_file, put_files, refuse_links_below, refuse_sources
from tests.disks import files_end_at, files_of


def test_a_file_is_written_with_its_folders_and_the_rights_of_any_new_file(tmp_path: Path) -> None:
    (tmp_path / "plain").write_text("x", encoding="utf-8")
    put_file(tmp_path / "a/b/new.txt", b"new")
    assert (tmp_path / "a/b/new.txt").read_bytes() == b"new"
    assert (tmp_path / "a/b/new.txt").stat().st_mode == (tmp_path / "plain").stat().st_mode
    assert [path.name for path in (tmp_path / "a/b").iterdir()] == ["new.txt"]


def test_a_file_of_ours_is_replaced_and_keeps_its_rights(tmp_path: Path) -> None:
    target = tmp_path / "ours"
    target.write_bytes(b"old")
    target.chmod(0o640)
    put_file(target, b"new", lambda path: path.read_bytes() == b"old")
    assert (target.read_bytes(), target.stat().st_mode & 0o777) == (b"new", 0o640)


def test_a_file_that_holds_the_very_bytes_may_be_anybodys(tmp_path: Path) -> None:
    (tmp_path / "same").write_bytes(b"same")
    put_file(tmp_path / "same", b"same")
    with pytest.raises(BlockedError, match="is there already, and is not as listkit made it"):
        put_file(tmp_path / "same", b"other")


@pytest.mark.parametrize("kind", ["file", "folder", "link", "dangling", "pipe"])
def test_what_is_not_ours_is_told_with_a_free_name_and_left(tmp_path: Path, kind: str) -> None:
    target, outside = tmp_path / "in/prices.svg", tmp_path / "outside"
    target.parent.mkdir()
    outside.write_bytes(b"outside")
    (tmp_path / "in/prices-2.svg").write_bytes(b"taken")
    make: dict[str, Callable[[], object]] = {
        "file": lambda: target.write_bytes(b"mine"),
        "folder": target.mkdir,
        "link": lambda: target.symlink_to(outside),
        "dangling": lambda: target.symlink_to(tmp_path / "nowhere"),
        "pipe": lambda: os.mkfifo(target),
    }
    make[kind]()
    names = sorted(os.listdir(tmp_path / "in"))
    with pytest.raises(BlockedError) as told:
        put_file(target, b"ours", lambda path: path.is_symlink())
    assert "prices-3.svg" in told.value.hint
    assert sorted(os.listdir(tmp_path / "in")) == names
    assert outside.read_bytes() == b"outside"
    assert not (tmp_path / "nowhere").exists()


def test_of_several_files_none_takes_its_place_unless_all_can(tmp_path: Path) -> None:
    (tmp_path / "b").write_bytes(b"mine")
    with pytest.raises(BlockedError, match="b is there already"):
        put_files([(tmp_path / "new/a", b"1"), (tmp_path / "b", b"2")])
    assert list(files_of(tmp_path)) == ["b"]


@pytest.mark.parametrize("size", [0, 1, 9])
def test_a_full_disk_leaves_nothing_half_written_and_no_folder_made_for_it(tmp_path: Path, size: int) -> None:
    (tmp_path / "old").write_bytes(b"old")
    before = files_of(tmp_path)
    with files_end_at(size):
        with pytest.raises(BlockedError, match="cannot be written: File too large"):
            put_file(tmp_path / "deep/new", b"0123456789")
        with pytest.raises(BlockedError, match="cannot be written: File too large"):
            put_file(tmp_path / "old", b"0123456789", lambda _: True)
    assert files_of(tmp_path) == before


def test_a_disk_that_fails_when_all_is_flushed_leaves_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As a full disk behind a network may: fsync(2) is the first to know of it."""

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    (tmp_path / "old").write_bytes(b"old")
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(BlockedError, match="No space left on device"):
        put_file(tmp_path / "old", b"new", lambda _: True)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {"old": b"old"}


def test_dev_full_takes_nothing_and_is_told(tmp_path: Path) -> None:
    """full(4): every write to it fails for want of room. It is no plain file, so it is not even tried."""
    if not Path("/dev/full").exists():
        pytest.skip("this system has no /dev/full")
    (tmp_path / "full.svg").symlink_to("/dev/full")
    with pytest.raises(BlockedError, match="is a link"):
        write_drawings(tmp_path / "full.svg", (("a.svg", "<svg/>"),), tmp_path / "shop")


def test_a_link_at_the_temporary_name_is_not_written_through(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Were the name known, O_EXCL and O_NOFOLLOW would still refuse what lies there (open(2))."""
    (tmp_path / "victim").write_bytes(b"hers")
    (tmp_path / ".part-known").symlink_to(tmp_path / "victim")
    monkeypatch.setattr(place, "part_of", lambda folder, _: folder / ".part-known")
    with pytest.raises(BlockedError, match="File exists"):
        put_file(tmp_path / "new", b"ours")
    assert (tmp_path / "victim").read_bytes() == b"hers"


def test_a_file_that_comes_meanwhile_is_not_replaced(tmp_path: Path) -> None:
    def write_late(target: Path) -> None:
        with placed((target,)) as (part,):
            part.write_bytes(b"ours")
            target.write_bytes(b"hers")

    with pytest.raises(BlockedError, match="is there already"):
        write_late(tmp_path / "a")
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {"a": b"hers"}


def test_where_the_disk_has_no_second_names_a_new_file_still_takes_its_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def without(*_: object, **__: object) -> None:
        raise OSError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", without)
    put_file(tmp_path / "a", b"ours")
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {"a": b"ours"}


def test_a_link_inside_the_shop_is_refused_and_one_further_up_is_the_owners_matter(tmp_path: Path) -> None:
    (tmp_path / "disk/shop/own").mkdir(parents=True)
    (tmp_path / "shop").symlink_to(tmp_path / "disk/shop")
    (tmp_path / "shop/linked").symlink_to(tmp_path)
    refuse_links_below(tmp_path / "shop", tmp_path / "shop/own/a.svg")
    refuse_sources(tmp_path / "shop", tmp_path / "elsewhere.svg")
    refuse_sources(tmp_path / "shop", tmp_path / "shop/a.svg")
    with pytest.raises(BlockedError, match="linked is a link"):
        refuse_links_below(tmp_path / "shop", tmp_path / "shop/linked/a.svg")
    (tmp_path / "way").symlink_to(tmp_path / "disk/shop/sets")
    (tmp_path / "disk/shop/sets").mkdir()
    for path in ("shop/sets/a.svg", "shop/sets/../sets/x/a.svg", "way/a.svg", "disk/shop/Sets/a.svg"):
        with pytest.raises(BlockedError, match="is a part of the shop"):
            refuse_sources(tmp_path / "shop", tmp_path / path)


@pytest.mark.parametrize(("root", "path", "names"), [
    ("C:\\shop", "C:\\shop\\sets\\a.svg", ("sets", "a.svg")), ("C:\\shop", "c:\\Shop\\a.svg", ("a.svg",)),
    ("C:\\shop", "C:\\shop", ()), ("C:\\shop", "C:\\shops", None), ("C:\\shop", "D:\\shop\\a.svg", None),
    ("C:\\shop", "\\\\box\\disk\\a.svg", None),
])  # fmt: skip
def test_names_lead_from_a_folder_to_what_is_below_it_and_to_no_other_drive(
    root: str, path: str, names: tuple[str, ...] | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Python, os.path.commonpath: on Windows it raises ValueError where paths are on different drives."""
    with monkeypatch.context() as windows:
        windows.setattr(os, "path", ntpath)
        windows.setattr(os, "sep", ntpath.sep)
        assert place.below(root, path) == names


def test_another_drive_is_neither_in_the_shop_nor_around_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def two_drives(_: object) -> str:
        raise ValueError("Paths don't have the same drive")

    with monkeypatch.context() as windows:
        windows.setattr(os.path, "commonpath", two_drives)
        assert output_folder(tmp_path / "elsewhere", tmp_path / "shop") == tmp_path / "elsewhere"
        refuse_sources(tmp_path / "shop", tmp_path / "elsewhere/a.svg")


def test_a_strangers_file_of_any_size_is_left_and_is_not_read_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Twenty gigabytes, as a file with holes says it has, would take a digest a minute."""
    monkeypatch.setattr(hashlib, "file_digest", lambda *_: pytest.fail("it was read"))
    (tmp_path / "a.svg").touch()
    os.truncate(tmp_path / "a.svg", 20_000_000_000)
    with pytest.raises(BlockedError, match=r"a\.svg is there already"):
        write_drawings(tmp_path / "a.svg", [("a.svg", "<svg/>")], tmp_path / "shop")
    with pytest.raises(BlockedError, match=r"a\.svg is there already"):
        put_file(tmp_path / "a.svg", b"ours", lambda there: bool(sha256_of(there)))
    assert digest_at(tmp_path / "a.svg") == ""
    assert (tmp_path / "a.svg").stat().st_size == 20_000_000_000


def test_free_names_count_on() -> None:
    assert free_name(Path("/nowhere/at/all.svg")) == Path("/nowhere/at/all-2.svg")


def test_a_drawing_bears_its_own_mark_and_no_other() -> None:
    whole = sign(b"<svg/>\n")
    assert is_signed(whole)
    for other in (
        b"",
        b"<svg/>\n",
        whole + b"\n",
        whole.replace(b"<svg/>", b"<svg id='1'/>"),
        whole[:-9],
        sign(b"") + b"x",
    ):
        assert not is_signed(other)


def asked(shop: Path, text: str) -> None:
    with asked_folder(shop / "out", shop, ["web/list.md"]) as out, asked_files(out, ["web/list.md"]) as (part,):
        part.write_text(text, encoding="utf-8")


def test_a_file_that_was_asked_for_is_written_again_and_by_nobody_elses_word(tmp_path: Path) -> None:
    file, memory = tmp_path / "out/web/list.md", tmp_path / "out/.asked.json"
    for text in ("first", "second"):
        asked(tmp_path, text)
        assert file.read_text(encoding="utf-8") == text
    memory.write_bytes(memory.read_bytes().splitlines()[0] + b"\n0\n")
    with pytest.raises(BlockedError, match="is not as listkit made it"):
        asked(tmp_path, "third")
    assert file.read_text(encoding="utf-8") == "second"
    asked(tmp_path, "second")  # the very bytes are ours again
    asked(tmp_path, "third")
    assert file.read_text(encoding="utf-8") == "third"


def test_of_a_file_that_was_asked_for_no_more_is_remembered_than_what_it_is_or_may_be(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def known() -> list[str]:
        remembered: dict[str, list[str]] = json.loads((tmp_path / "out/.asked.json").read_bytes().splitlines()[0])
        return remembered["web/list.md"]

    def killed(*_: object) -> None:
        raise KeyboardInterrupt

    def digest(text: str) -> str:
        return hashlib.sha256(text.encode()).hexdigest()

    asked(tmp_path, "first")
    for text in ("second", "third"):
        with monkeypatch.context() as kill:
            kill.setattr(place, "_take_place", killed)
            with pytest.raises(KeyboardInterrupt):
                asked(tmp_path, text)
        assert known() == [digest("first"), digest(text)]
    file = tmp_path / "out/web/list.md"
    file.write_text("first, with notes", encoding="utf-8")
    for text in ("fourth", "fifth"):
        with pytest.raises(BlockedError, match="is not as listkit made it"):
            asked(tmp_path, text)
        assert known() == [digest("first"), digest("third")]
    file.write_text("first", encoding="utf-8")
    asked(tmp_path, "sixth")
    assert known() == [digest("sixth")]
    assert file.read_text(encoding="utf-8") == "sixth"


def test_a_file_that_was_asked_for_is_removed_only_unchanged(tmp_path: Path) -> None:
    asked(tmp_path, "first")
    remove_asked(tmp_path / "out", "web/list.md")
    assert not (tmp_path / "out/web/list.md").exists()
    remove_asked(tmp_path / "out", "web/list.md")
    asked(tmp_path, "second")
    (tmp_path / "out/web/list.md").write_text("second, with notes", encoding="utf-8")
    with pytest.raises(BlockedError, match="is no longer true, and is not as listkit made it"):
        remove_asked(tmp_path / "out", "web/list.md")
    assert (tmp_path / "out/web/list.md").exists()


def test_an_output_folder_that_a_killed_first_build_left_is_taken(tmp_path: Path) -> None:
    out = tmp_path / "elsewhere"
    out.mkdir()
    (out / ".lock").write_bytes(b"")
    (out / f".part-{'0' * 16}-{'0' * 32}.csv").write_bytes(b"half")
    assert output_folder(out, tmp_path / "shop") == out
    (out / "mine.txt").write_bytes(b"mine")
    with pytest.raises(FieldError, match="holds files, and none that listkit made"):
        output_folder(out, tmp_path / "shop")
    assert output_folder(tmp_path / "shop/out", tmp_path / "shop") == tmp_path / "shop/out"
