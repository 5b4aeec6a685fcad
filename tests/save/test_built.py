"""Whether the last build still stands."""

import hashlib
import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.problem import Level, Place, Problem
from listkit.save.made import (
    Made,
    MadeFile,
    problems_of_last_build,
    remember_built,
    stamp_of,
    still_built,
    write_made,
)
from listkit.save.manifest import write_manifest
from listkit.save.out_folder import put_signed

PROBLEMS = (
    Problem(Place("items.csv", 4, "OH-B01", "retail", ("items", 3)), "bad-value", "it is odd.", "Write 7.50."),
    Problem(Place("shop.toml"), "band-missed", "it is above.", own_level=Level.MUST_FIX),
)


def built(folder: Path) -> tuple[Path, Path]:
    """A shop of one file, and an output folder with one file made from it."""
    shop, out = folder / "shop", folder / "shop/out"
    out.mkdir(parents=True)
    (shop / "items.csv").write_text("code\nA\n")
    (out / "feed.csv").write_text("sku\nA\n")
    status = (out / "feed.csv").stat()
    write_manifest(out, ())
    write_made(out, Made({"feed.csv": MadeFile("key", status.st_size, status.st_mtime_ns, "0" * 64)}, {}))
    return shop, out


def stamp(shop: Path, out: Path, *words: str) -> str:
    return stamp_of((shop,), apart=out, texts=words)


def test_a_build_stands_as_long_as_nothing_changed_and_its_problems_are_told_again(tmp_path: Path) -> None:
    shop, out = built(tmp_path)
    remember_built(out, stamp(shop, out, "2026-11-25"), PROBLEMS, ("Left out: Balm is a draft.",))
    assert still_built(out, stamp(shop, out, "2026-11-25")) == (PROBLEMS, ("Left out: Balm is a draft.",))
    assert still_built(out, stamp(shop, out, "2026-11-26")) is None


def test_a_file_that_is_new_gone_renamed_or_touched_ends_it(tmp_path: Path) -> None:
    shop, out = built(tmp_path)
    first = stamp(shop, out)
    (shop / "photos").mkdir()
    assert stamp(shop, out) == first, "an empty folder says nothing"
    (shop / "photos/a.jpg").write_bytes(b"picture")
    second = stamp(shop, out)
    (shop / "photos/a.jpg").rename(shop / "photos/b.jpg")
    third = stamp(shop, out)
    os.utime(shop / "photos/b.jpg", ns=(1, 1))
    assert len({first, second, third, stamp(shop, out)}) == 4


@pytest.mark.parametrize("content", [b"", b'{"files": []}', b'{"files": [\n"\xbe"\n]}\n'])
def test_a_manifest_that_is_not_as_it_was_written_ends_it(content: bytes, tmp_path: Path) -> None:
    shop, out = built(tmp_path)
    remember_built(out, stamp(shop, out), PROBLEMS)
    (out / "manifest.json").write_bytes(content)
    assert still_built(out, stamp(shop, out)) is None
    (out / "manifest.json").unlink()
    assert still_built(out, stamp(shop, out)) is None


def test_an_output_that_was_edited_or_is_gone_ends_it(tmp_path: Path) -> None:
    shop, out = built(tmp_path)
    remember_built(out, stamp(shop, out), PROBLEMS)
    (out / "feed.csv").write_text("sku\nB, longer\n")
    assert still_built(out, stamp(shop, out)) is None
    (out / "feed.csv").unlink()
    assert still_built(out, stamp(shop, out)) is None


def test_outputs_do_not_count_as_what_goes_in(tmp_path: Path) -> None:
    shop, out = built(tmp_path)
    before = stamp(shop, out)
    (out / "more.csv").write_text("x")
    assert stamp(shop, out) == before


@given(
    content=st.binary(max_size=200)
    | st.sampled_from([b"{}", b"[]", b'{"stamp": 1}', b'{"stamp": "s", "problems": [1]}'])
)
def test_whatever_lies_in_its_place_is_no_build_of_ours(tmp_path_factory: object, content: bytes) -> None:
    out = Path(tmp_path_factory.mktemp("out"))  # type: ignore[attr-defined]
    (out / ".built.json").write_bytes(content)
    assert still_built(out, "s") is None


@pytest.mark.parametrize(
    "place",
    [
        {"file": 5}, {"file": "a", "line": "x"}, {"file": "a", "row": None}, {"file": "a", "column": []},
        {"file": "a", "key": [{}]}, {"file": "a", "key": [None]},
    ],
)  # fmt: skip
def test_a_problem_at_no_place_of_ours_is_no_build(tmp_path: Path, place: dict[str, object]) -> None:
    problem = {"place": {"key": [], **place}, "own_level": None, "code": "bad-value", "message": "it is odd."}
    write_manifest(tmp_path, ())
    manifest = hashlib.sha256((tmp_path / "manifest.json").read_bytes()).hexdigest()
    put_signed(tmp_path / ".built.json", {"stamp": "s", "manifest": manifest, "problems": [problem]})
    assert problems_of_last_build(tmp_path) is None
    assert still_built(tmp_path, "s") is None


def test_a_memory_in_which_a_letter_was_changed_is_no_build(tmp_path: Path) -> None:
    _, out = built(tmp_path)
    remember_built(out, "s", PROBLEMS)
    assert problems_of_last_build(out) == PROBLEMS
    (out / ".built.json").write_bytes((out / ".built.json").read_bytes().replace(b"it is odd", b"it is even"))
    assert problems_of_last_build(out) is None
