import hashlib
import json
import tracemalloc
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit import bounds
from listkit.paths import OWN_NAMES
from listkit.problem import BlockedError
from listkit.save.made import (
    UNSURE,
    BuiltPlace,
    Journal,
    Made,
    MadeFile,
    Photos,
    problems_of_last_build,
    read_made,
    read_places,
    remember_photos,
    remember_places,
    still_built,
    write_made,
)
from listkit.save.manifest import is_manifest, read_manifest
from listkit.save.out_folder import line_digest, locked
from listkit.save.owner import read_owner

FEED = MadeFile("key", 12, 1_800_000_000_000_000_001, "ab")
PHOTOS: Photos = {"sets/first-nectar/photos/styled.jpg": {"size": 3, "mtime_ns": 5, "facts": {"width": 4000}}}


def put_memory(out: Path, text: str) -> None:
    """Write a memory as it is written, whatever it says: with the SHA-256 of its line."""
    (out / ".made.json").write_text(f"{text}\n{hashlib.sha256(text.encode()).hexdigest()}\n", encoding="utf-8")


def test_what_is_remembered_is_read_again_to_the_nanosecond(tmp_path: Path) -> None:
    write_made(tmp_path, Made({"web/feed.csv": FEED}, PHOTOS))
    assert read_made(tmp_path) == Made({"web/feed.csv": FEED}, PHOTOS)


def test_a_folder_without_memory_remembers_nothing(tmp_path: Path) -> None:
    assert read_made(tmp_path) == read_made(tmp_path / "missing") == Made({}, {})


@pytest.mark.parametrize(
    "text",
    [
        "", "{", "[]", "{}", '{"form": 0, "files": {}, "photos": {}}', '{"form": 1, "files": [], "photos": {}}',
        '{"form": 1, "files": {"a": ["k", 1, 2]}, "photos": {}}', '{"form": 1, "files": {}, "photos": {"a": 1}}',
        '{"form": 1, "files": {"a": [1, 1, 2, "s"]}, "photos": {}}', '{"form": 1, "files": {}}', "[" * 100_000,
    ],
)  # fmt: skip
def test_a_memory_that_cannot_be_understood_is_as_good_as_none(tmp_path: Path, text: str) -> None:
    put_memory(tmp_path, text)
    assert read_made(tmp_path) == Made({}, {})


def test_a_memory_in_which_a_letter_was_changed_is_as_good_as_none(tmp_path: Path) -> None:
    """Else a size or SHA-256 that no file has would stand in the manifest."""
    write_made(tmp_path, Made({"web/feed.csv": FEED}, PHOTOS))
    file = tmp_path / ".made.json"
    whole = file.read_bytes()
    for changed in (whole.replace(b'"ab"', b'"cd"'), whole.replace(b"4000", b"41"), whole.splitlines()[0], whole[:-9]):
        file.write_bytes(changed)
        assert read_made(tmp_path) == Made({}, {})


def test_a_memory_never_names_a_file_outside(tmp_path: Path) -> None:
    files = {path: ["k", 1, 2, "s"] for path in ("../a", "/a", "C:/a", "web/ok.txt")}
    put_memory(tmp_path, json.dumps({"form": 1, "files": files, "photos": {}}))
    Journal(tmp_path, ["../b", "web/b.txt"]).close()
    assert set(read_made(tmp_path).files) == {"web/ok.txt", "web/b.txt"}


def test_the_journal_of_a_killed_build_tells_what_was_made_and_what_is_unsure(tmp_path: Path) -> None:
    write_made(tmp_path, Made({"a": FEED, "b": FEED, "c": FEED}, PHOTOS))
    journal = Journal(tmp_path, ["b", "c", "d"])
    journal.made("c", MadeFile("new", 1, 2, "cd"))
    journal.close()
    expected = {"a": FEED, "b": UNSURE, "c": MadeFile("new", 1, 2, "cd"), "d": UNSURE}
    assert read_made(tmp_path) == Made(expected, PHOTOS)
    write_made(tmp_path, read_made(tmp_path))
    assert not (tmp_path / ".making.jsonl").exists()
    assert read_made(tmp_path) == Made(expected, PHOTOS)


@given(cut=st.integers(1, 60))
def test_a_line_that_a_kill_cut_short_is_passed_over(tmp_path_factory: pytest.TempPathFactory, cut: int) -> None:
    out = tmp_path_factory.mktemp("out")
    journal = Journal(out, ["a", "b"])
    journal.made("a", FEED)
    journal.made("b", FEED)
    journal.close()
    path = out / ".making.jsonl"
    path.write_bytes(path.read_bytes()[:-cut])
    again = Journal(out, ["c"])
    again.made("c", FEED)
    again.close()
    files = read_made(out).files
    assert files["a"] == files["c"] == FEED
    assert files["b"] == (FEED if cut == 1 else UNSURE)


def test_photos_are_remembered_without_touching_what_is_known_of_files(tmp_path: Path) -> None:
    write_made(tmp_path, Made({"web/feed.csv": FEED}, {}))
    remember_photos(tmp_path, PHOTOS)
    assert read_made(tmp_path) == Made({"web/feed.csv": FEED}, PHOTOS)


def test_photos_are_not_remembered_while_a_build_is_at_work(tmp_path: Path) -> None:
    with locked(tmp_path), pytest.raises(BlockedError, match="another build"):
        remember_photos(tmp_path, PHOTOS)
    assert read_made(tmp_path) == Made({}, {})


@pytest.mark.parametrize(
    "event",
    [{"making": [True]}, {"making": [1, None]}, {"made": None, "file": list(FEED.values())}, {"made": 1.5, "file": []}],
)
def test_a_journal_whose_paths_are_no_texts_names_nothing(tmp_path: Path, event: object) -> None:
    line = json.dumps(event)
    (tmp_path / ".making.jsonl").write_text(f"{hashlib.sha256(line.encode()).hexdigest()} {line}\n", encoding="utf-8")
    assert read_made(tmp_path) == Made({}, {})


def test_a_path_longer_than_systems_allow_is_not_remembered(tmp_path: Path) -> None:
    """NAME_MAX and PATH_MAX of Linux, linux/limits.h: 255 and 4096 bytes."""
    known, long = ("é" * 127, "/".join(["a" * 200] * 20)), ("é" * 128, "/".join(["a" * 200] * 21))
    files = {path: ["k", 1, 2, "s"] for path in known + long}
    put_memory(tmp_path, json.dumps({"form": 1, "files": files, "photos": {}}))
    assert set(read_made(tmp_path).files) == set(known)


def test_a_memory_of_a_place_holds_lines_of_the_ledger_alone(tmp_path: Path) -> None:
    """They would go into the ledger as they are, where every line is a JSON object."""
    for line in ("no JSON", "[]", "[" * 5_000):
        remember_places(tmp_path, {"web": BuiltPlace("2026-11-30", {"rules": {"a": line}}, {})})
        assert read_places(tmp_path) == {}
    for lines in ({"rules": {"\ud800": "{}"}}, {"\ud800": {"a": "{}"}}):
        remember_places(tmp_path, {"web": BuiltPlace("2026-11-30", lines, {})})
        assert read_places(tmp_path) == {}
    for day in ("2026-W49-1", "20261130"):
        remember_places(tmp_path, {"web": BuiltPlace(day, {}, {})})
        assert read_places(tmp_path) == {}


@pytest.mark.parametrize("name", OWN_NAMES)
def test_what_is_larger_than_anything_remembered_is_not_read(tmp_path: Path, name: str) -> None:
    """A file of zeros, as some disks leave one after a power cut."""
    with (tmp_path / name).open("wb") as file:
        file.truncate(600_000_000)
    tracemalloc.start()
    try:
        assert read_made(tmp_path) == Made({}, {})
        assert (read_manifest(tmp_path), read_places(tmp_path), read_owner(tmp_path)) == ((), {}, None)
        assert problems_of_last_build(tmp_path) is None
        assert still_built(tmp_path, "stamp") is None
        assert is_manifest(tmp_path) == (name != "manifest.json")
        assert tracemalloc.get_traced_memory()[1] < 300_000_000
    finally:
        tracemalloc.stop()


def test_a_memory_of_more_files_than_any_shop_has_is_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A million in 24 MB took a build 39 s and 1.1 GB."""
    monkeypatch.setattr(bounds, "MADE_FILES", 2)
    names = ["a", "b", "c"]
    files = {name: ["k", 1, 2, "s"] for name in names}
    put_memory(tmp_path, json.dumps({"form": 1, "files": files, "photos": {}}))
    assert read_made(tmp_path) == Made({}, {})
    event = json.dumps({"making": names})
    (tmp_path / ".making.jsonl").write_text(f"{line_digest(event)} {event}\n", encoding="ascii")
    assert read_made(tmp_path) == Made({}, {})
    each = [json.dumps({"making": [f"{at}"]}) for at in range(9)]
    (tmp_path / ".making.jsonl").write_text("".join(f"{line_digest(one)} {one}\n" for one in each), encoding="ascii")
    assert len(read_made(tmp_path).files) == 4


def test_photos_that_are_remembered_lose_nothing_that_the_journal_of_a_killed_build_knows(tmp_path: Path) -> None:
    """A file of ours was told as the owner's after two kills in a row."""
    write_made(tmp_path, Made({"a": FEED}, {}))
    journal = Journal(tmp_path, ["a"])
    journal.made("a", MadeFile("new", 1, 2, "cd"))
    journal.made("a", MadeFile("newer", 1, 2, "ef"))
    journal.close()
    before = read_made(tmp_path)
    remember_photos(tmp_path, PHOTOS)
    assert read_made(tmp_path) == Made(before.files, PHOTOS)
    assert read_made(tmp_path).digests == before.digests == {"a": {FEED.sha256, "cd", "ef"}}
