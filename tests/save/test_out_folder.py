import os
import re
import time
import tracemalloc
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.paths import path_fault
from listkit.problem import BlockedError, FieldError
from listkit.save.made import Made, read_made, still_built
from listkit.save.manifest import read_manifest
from listkit.save.out_folder import (
    check_paths,
    digest_at,
    discard,
    part_of,
    prune,
    put,
    put_signed,
    real_folder,
    refuse_links,
    sha256_of,
    sweep,
)
from listkit.save.owner import read_owner, refuse_other_shop


@pytest.mark.parametrize("path", ["web/feed.csv", "print/labels.pdf", "web/listings/été.html", "a.b/c", "console.txt"])
def test_plain_paths_are_taken(path: str) -> None:
    assert path_fault(path) == ""


@pytest.mark.parametrize(
    "path",
    [
        "", "/etc/passwd", "../a", "a/../b", "a//b", "a/", "./a", "C:/a", "C:a", "a\\b", "\\\\share\\a", "a:stream",
        "a?", "a\n", "a\ud800",
    ],
)  # fmt: skip
def test_paths_that_lead_out_or_mean_something_else_elsewhere_are_refused(path: str) -> None:
    assert path_fault(path) != ""


# Microsoft, "Naming Files, Paths, and Namespaces": reserved names, also with an extension; no ending in space or dot.
@pytest.mark.parametrize("name", ["CON", "prn", "Aux.txt", "NUL.tar.z", "com1", "LPT9.csv", "COM¹", "lpt³.a", "con .a"])
def test_names_that_windows_keeps_for_devices_are_refused(name: str) -> None:
    assert path_fault(name) == path_fault(f"web/{name}") == "has a name that Windows keeps for a device"


@pytest.mark.parametrize("name", ["feed.", "feed ", "web./feed.csv"])
def test_names_whose_end_windows_drops_are_refused(name: str) -> None:
    assert path_fault(name) == "has a name that ends with a dot or a space"


@pytest.mark.parametrize("name", ["manifest.json", ".made.json", ".making.jsonl", ".lock", "Manifest.JSON"])
def test_our_own_names_are_refused_at_the_top_only(name: str) -> None:
    assert path_fault(name) == "is a name that listkit keeps for itself"
    assert path_fault(f"web/{name}") == ""


# No name of these is a device, one of ours or a temporary one: each begins and ends with a letter that none has there.
plain_names = st.text(st.characters(exclude_categories=["Cc", "Cs"], exclude_characters='/\\<>:"|?*'), max_size=8)
plain_paths = st.lists(plain_names.map("x{}x".format), min_size=1, max_size=4).map("/".join)


@given(plain_paths)
def test_any_plain_path_is_taken_and_stays_inside_the_folder(path: str) -> None:
    assert path_fault(path) == ""
    assert os.path.normpath(os.path.join("/out", path)) == f"/out/{path}"


@given(
    plain_paths, st.sampled_from(["", ".", "..", "c:", "a\\b", "a?", "nul", "com1.txt", "end.", "end "]), plain_paths
)
def test_one_name_that_means_something_else_somewhere_is_enough(before: str, name: str, behind: str) -> None:
    assert path_fault(f"{before}/{name}/{behind}") != ""


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("a/b", "a/b"), ("Web/feed.csv", "web/Feed.csv"), ("straße", "STRASSE"), ("\u00e9.txt", "e\u0301.txt"),
        ("a", "a/b"), ("A/b/c", "a/B"),
    ],
)  # fmt: skip
def test_two_paths_that_some_system_takes_for_one_are_refused(one: str, other: str) -> None:
    for paths in ((one, other), (other, one)):
        with pytest.raises(ValueError, match=r"the same file|also the folder"):
            check_paths(paths)


def test_a_path_given_twice_as_one_object_is_still_twice() -> None:
    with pytest.raises(ValueError, match="the same file"):
        check_paths(["feed.csv"] * 2)


def link(at: Path, to: Path) -> None:
    try:
        at.symlink_to(to, target_is_directory=to.is_dir())
    except OSError as fault:
        pytest.skip(f"this system lets nobody make links: {fault}")


def test_an_output_folder_that_is_a_link_is_refused(tmp_path: Path) -> None:
    link(tmp_path / "out", tmp_path)
    with pytest.raises(FieldError, match="out is a link to another place"):
        real_folder(tmp_path / "out")


def test_a_link_further_up_is_the_owners_own_matter(tmp_path: Path) -> None:
    (tmp_path / "disk").mkdir()
    link(tmp_path / "shop", tmp_path / "disk")
    assert real_folder(tmp_path / "shop" / "out").is_dir()
    refuse_links(tmp_path / "shop" / "out", ["web/feed.csv"])


def test_an_output_folder_that_is_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("mine")
    with pytest.raises(FieldError, match="out cannot be the output folder"):
        real_folder(tmp_path / "out")


@pytest.mark.parametrize("at", ["web", "web/listings", "web/listings/a.html", "manifest.json", ".lock", ".made.json"])
def test_a_link_anywhere_on_the_way_is_refused_by_name(tmp_path: Path, at: str) -> None:
    out, outside = tmp_path / "out", tmp_path / "outside"
    out.mkdir()
    outside.mkdir()
    (out / at).parent.mkdir(parents=True, exist_ok=True)
    link(out / at, outside)
    with pytest.raises(BlockedError, match=f"{at} in the output folder is a link"):
        refuse_links(out, ["web/listings/a.html"])


def test_pipes_are_not_waited_for(tmp_path: Path) -> None:
    """open(2): without O_NONBLOCK opening one to read waits until somebody writes to it."""
    for name in (
        "manifest.json",
        ".made.json",
        ".making.jsonl",
        ".built.json",
        ".asked.json",
        ".places.json",
        ".shop.json",
    ):
        os.mkfifo(tmp_path / name)
        with pytest.raises(OSError, match="no plain file"):
            sha256_of(tmp_path / name)
        with pytest.raises(BlockedError, match=f"{re.escape(name)} in the output folder is no plain file"):
            refuse_links(tmp_path, ())
        assert read_made(tmp_path) == Made({}, {})
        assert read_manifest(tmp_path) == ()
        assert still_built(tmp_path, "") is None
        (tmp_path / name).unlink()


def test_a_temporary_file_lies_beside_its_target_and_ends_like_it(tmp_path: Path) -> None:
    part = part_of(tmp_path, "web/" + "x" * 240 + ".jpg")
    assert part.parent == tmp_path / "web"
    assert part.suffix == ".jpg"
    assert len(part.name) < 60
    assert part != part_of(tmp_path, "web/y.jpg")


def test_only_our_temporary_files_are_swept(tmp_path: Path) -> None:
    (tmp_path / "web").mkdir()
    ours = part_of(tmp_path, "web/a.jpg")
    strangers = [tmp_path / name for name in (".part", ".part-1-2.jpg", "a.part", "web/part-0123456789abcdef-1.jpg")]
    for path in (ours, *strangers):
        path.write_text("half")
    sweep(tmp_path)
    assert not ours.exists()
    assert all(path.exists() for path in strangers)


def test_a_temporary_file_that_is_gone_already_may_be_discarded(tmp_path: Path) -> None:
    discard(tmp_path / "gone")


def test_only_empty_folders_on_the_way_are_pruned(tmp_path: Path) -> None:
    (tmp_path / "a/b/c").mkdir(parents=True)
    (tmp_path / "d/e").mkdir(parents=True)
    (tmp_path / "d/mine.txt").write_text("mine")
    (tmp_path / "empty").mkdir()
    prune(tmp_path, ["a/b/c/file", "d/e/file", "file"])
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["d", "empty", "mine.txt"]


def test_a_text_that_is_there_already_is_not_written_again(tmp_path: Path) -> None:
    target = tmp_path / "manifest.json"
    put(target, "é\n")
    os.utime(target, (1, 1))
    put(target, "é\n")
    assert target.stat().st_mtime == 1
    put(target, "e\n")
    assert target.read_bytes() == b"e\n"
    assert [path.name for path in tmp_path.iterdir()] == ["manifest.json"]


@pytest.mark.parametrize("way", ["\0", "..\0/shop", "\ud800", "a/" * 3_000])
def test_a_way_that_no_folder_can_have_leads_to_no_shop(tmp_path: Path, way: str) -> None:
    put_signed(tmp_path / ".shop.json", {"form": 1, "way": way, "name": "Another"})
    assert read_owner(tmp_path) is None
    refuse_other_shop(tmp_path, tmp_path)


def test_what_is_written_over_is_read_only_where_it_is_as_long(tmp_path: Path) -> None:
    with (tmp_path / ".made.json").open("wb") as file:
        file.truncate(300_000_000)
    tracemalloc.start()
    try:
        put(tmp_path / ".made.json", "{}\n")
        assert tracemalloc.get_traced_memory()[1] < 10_000_000
    finally:
        tracemalloc.stop()
    assert (tmp_path / ".made.json").read_bytes() == b"{}\n"


def test_what_is_large_and_of_no_size_of_ours_is_not_read(tmp_path: Path) -> None:
    """Four such files, 3.9 GB each, took a build 16 seconds of the processor."""
    with (tmp_path / "feed.csv").open("wb") as file:
        file.truncate(3_900_000_000)
    begun = time.process_time()
    with pytest.raises(OSError, match="larger than any file of listkit's"):
        sha256_of(tmp_path / "feed.csv", (1, 2))
    assert digest_at(tmp_path / "feed.csv", ()) == ""
    assert time.process_time() - begun < 0.5
