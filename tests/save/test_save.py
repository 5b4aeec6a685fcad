import hashlib
import itertools
import os
import shutil
import tempfile
from collections.abc import Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listkit.problem import BlockedError, FieldError, InPartError
from listkit.save.job import File, Job, Recipe, key_of
from listkit.save.made import Journal, read_made, remember_photos
from listkit.save.manifest import read_manifest
from listkit.save.out_folder import locked
from listkit.save.save import Failure, save
from tests.ledger.test_opening import nobody

OURS = {"manifest.json", ".made.json", ".lock"}


def write_text(text: str, paths: tuple[Path, ...]) -> None:
    if text == "fail":
        raise FieldError("the story is gone.", "Bring it back.")
    for path in paths:
        path.write_text(text, encoding="utf-8")


def write_crops(photo: str, sizes: tuple[int, ...], paths: tuple[Path, ...]) -> None:
    for size, path in zip(sizes, paths, strict=True):
        path.write_text(photo * size, encoding="utf-8")


def copy(source: Path, paths: tuple[Path, ...]) -> None:
    shutil.copyfile(source, paths[0])


def mistaken(paths: tuple[Path, ...]) -> None:
    paths[0].write_text("half", encoding="utf-8")
    raise ZeroDivisionError


def not_bad(path: Path, recipe: Recipe, inputs: tuple[object, ...]) -> str:
    return "a row is missing." if path.read_text(encoding="utf-8") == "bad" else ""


def text_job(path: str, text: str, *, channel: str = "") -> Job:
    return Job(write_text, (text,), (File(path, key_of(text), channel=channel, verify=not_bad),))


def text_jobs(texts: Mapping[str, str]) -> list[Job]:
    return [text_job(path, text) for path, text in texts.items()]


def crop_job(photo: str, sizes: tuple[int, ...]) -> Job:
    files = tuple(File(f"web/photos/{photo}-{size}.jpg", key_of(photo, size)) for size in sizes)
    return Job(write_crops, (photo,), files, heavy=True, parts=sizes)


def content(out: Path) -> dict[str, str]:
    """Every file under `out` but our own three, with its text."""
    files = (path for path in out.rglob("*") if path.is_file())
    texts = {path.relative_to(out).as_posix(): path for path in files}
    return {name: path.read_text(encoding="utf-8") for name, path in texts.items() if name not in OURS}


TEXTS = {"web/feed.csv": "feed", "web/listings/a.html": "a", "web/listings/b.html": "b", "stall/price-list.csv": "list"}


def test_a_second_save_makes_nothing_and_writes_nothing(tmp_path: Path) -> None:
    first = save(text_jobs(TEXTS), tmp_path)
    assert first.made == tuple(sorted(TEXTS))
    assert content(tmp_path) == TEXTS
    before = {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*")}
    second = save(text_jobs(TEXTS), tmp_path)
    assert (second.made, second.unchanged, second.removed, second.failures) == ((), 4, (), ())
    assert second.entries == first.entries
    assert {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*")} == before


def test_a_new_key_makes_exactly_that_file_again(tmp_path: Path) -> None:
    save(text_jobs(TEXTS), tmp_path)
    saved = save(text_jobs(TEXTS | {"web/feed.csv": "dearer"}), tmp_path)
    assert (saved.made, saved.unchanged) == (("web/feed.csv",), 3)
    assert content(tmp_path) == TEXTS | {"web/feed.csv": "dearer"}


def test_one_deleted_crop_of_a_photo_is_brought_back_alone(tmp_path: Path) -> None:
    job = crop_job("x", (2, 3, 4))
    save([job], tmp_path)
    times = {path.name: path.stat().st_mtime_ns for path in (tmp_path / "web/photos").iterdir()}
    (tmp_path / "web/photos/x-3.jpg").unlink()
    assert save([job], tmp_path).made == ("web/photos/x-3.jpg",)
    assert (tmp_path / "web/photos/x-3.jpg").read_text(encoding="utf-8") == "xxx"
    for name in ("x-2.jpg", "x-4.jpg"):
        assert (tmp_path / "web/photos" / name).stat().st_mtime_ns == times[name]


def test_of_a_job_without_parts_only_the_files_that_are_needed_take_their_places(tmp_path: Path) -> None:
    job = Job(write_text, ("same",), (File("feed.json", "k"), File("schema.json", "k")))
    save([job], tmp_path)
    (tmp_path / "schema.json").unlink()
    assert save([job], tmp_path).made == ("schema.json",)
    assert content(tmp_path) == {"feed.json": "same", "schema.json": "same"}


NOT_OURS = "is there already, and is not as listkit made it; it is left as it is."
ELSEWHERE = "Put that file elsewhere, or build into another folder with --out."


@pytest.mark.parametrize("text", ["feedfeed", "dees"])
@pytest.mark.parametrize("new", ["feed", "dearer"])
def test_an_edited_file_is_told_and_left_until_it_is_put_away(tmp_path: Path, text: str, new: str) -> None:
    save(text_jobs(TEXTS), tmp_path)
    edited = tmp_path / "web/feed.csv"
    edited.write_text(text, encoding="utf-8")
    os.utime(edited, (2, 2))
    for _ in range(2):
        saved = save(text_jobs(TEXTS | {"web/feed.csv": new}), tmp_path)
        assert (saved.made, saved.failures) == ((), (Failure(("web/feed.csv",), NOT_OURS, ELSEWHERE),))
        assert content(tmp_path) == TEXTS | {"web/feed.csv": text}
    edited.unlink()
    assert save(text_jobs(TEXTS | {"web/feed.csv": new}), tmp_path).failures == ()
    assert content(tmp_path) == TEXTS | {"web/feed.csv": new}


def test_an_owners_file_where_an_output_goes_is_told_before_the_first_build_and_later(tmp_path: Path) -> None:
    (tmp_path / "web").mkdir()
    (tmp_path / "web/feed.csv").write_text("mine", encoding="utf-8")
    (tmp_path / "stall").mkdir()
    (tmp_path / "stall/price-list.csv").write_text("list", encoding="utf-8")  # the very bytes: nothing to lose
    saved = save(text_jobs(TEXTS), tmp_path)
    assert saved.failures == (Failure(("web/feed.csv",), NOT_OURS, ELSEWHERE),)
    assert content(tmp_path) == TEXTS | {"web/feed.csv": "mine"}
    (tmp_path / "web/listings/new.html").write_text("mine too", encoding="utf-8")
    saved = save(text_jobs(TEXTS | {"web/listings/new.html": "new"}), tmp_path)
    assert {path for failure in saved.failures for path in failure.paths} == {"web/feed.csv", "web/listings/new.html"}
    assert content(tmp_path) == TEXTS | {"web/feed.csv": "mine", "web/listings/new.html": "mine too"}


@pytest.mark.parametrize(
    ("name", "planted"),
    [
        (".made.json", '{"form": 1, "files": {"notes.txt": ["", 4, 0, "%s"]}, "photos": {}}\n0\n'),
        (".making.jsonl", '{"making": ["notes.txt"]}\n{"made": "notes.txt", "file": ["", 4, 0, "%s"]}\n'),
        (
            "manifest.json",
            '{"files": [\n{"channel": "", "codes": [], "guarded": false, "highest_price": null, "lowest_price": null, '
            '"path": "notes.txt", "rows": null, "sha256": "%s", "size": 4, "sum_of_prices": null}\n]}\n',
        ),
    ],
)
def test_a_memory_without_a_right_digest_names_nothing_of_ours(tmp_path: Path, name: str, planted: str) -> None:
    (tmp_path / "notes.txt").write_text("mine", encoding="utf-8")
    (tmp_path / name).write_text(planted % hashlib.sha256(b"mine").hexdigest(), encoding="utf-8")
    assert save(text_jobs({"a": "a"}), tmp_path).removed == ()
    assert (tmp_path / "notes.txt").read_text(encoding="utf-8") == "mine"
    assert save(text_jobs({"notes.txt": "ours"}), tmp_path).failures[0].message == NOT_OURS
    assert (tmp_path / "notes.txt").read_text(encoding="utf-8") == "mine"


def test_a_file_that_is_no_longer_made_and_was_edited_is_told_once_and_left(tmp_path: Path) -> None:
    save(text_jobs(TEXTS), tmp_path)
    (tmp_path / "web/feed.csv").write_text("with my notes", encoding="utf-8")
    rest = {path: text for path, text in TEXTS.items() if path != "web/feed.csv"}
    (failure,) = save(text_jobs(rest), tmp_path).failures
    assert failure.message == "is no longer made, and was changed since listkit made it; it is left as it is."
    assert save(text_jobs(rest), tmp_path).failures == ()
    assert content(tmp_path) == rest | {"web/feed.csv": "with my notes"}


@pytest.mark.parametrize("text", ["fail", "bad"])
def test_a_renamed_file_is_removed_only_when_the_new_one_is_there(tmp_path: Path, text: str) -> None:
    save(text_jobs({"wholesale/line-sheet-A.pdf": "old"}), tmp_path)
    saved = save(text_jobs({"wholesale/line-sheet-B.pdf": text}), tmp_path)
    assert (saved.removed, content(tmp_path)) == ((), {"wholesale/line-sheet-A.pdf": "old"})
    saved = save(text_jobs({"wholesale/line-sheet-B.pdf": "new"}), tmp_path)
    assert (saved.removed, content(tmp_path)) == (
        ("wholesale/line-sheet-A.pdf",),
        {"wholesale/line-sheet-B.pdf": "new"},
    )


def test_a_manifest_of_another_program_is_not_written_over(tmp_path: Path) -> None:
    (tmp_path / "manifest.json").write_text('{"name": "mine"}', encoding="utf-8")
    with pytest.raises(BlockedError, match=r"manifest\.json in .* is not listkit's own"):
        save(text_jobs(TEXTS), tmp_path)
    assert (tmp_path / "manifest.json").read_text(encoding="utf-8") == '{"name": "mine"}'
    assert not (tmp_path / "web").exists()


def test_a_manifest_that_another_program_put_there_after_a_build_is_not_written_over(tmp_path: Path) -> None:
    save(text_jobs(TEXTS), tmp_path)
    (tmp_path / "manifest.json").write_text('{"name": "mine"}', encoding="utf-8")
    with pytest.raises(BlockedError, match=r"manifest\.json in .* is not listkit's own"):
        save(text_jobs({"web/feed.csv": "other"}), tmp_path)
    assert (tmp_path / "manifest.json").read_text(encoding="utf-8") == '{"name": "mine"}'
    assert content(tmp_path) == TEXTS


def test_a_file_that_comes_while_ours_takes_its_place_is_not_replaced(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def made(_: Journal, path: str, __: object) -> None:
        (tmp_path / path).write_text("hers", encoding="utf-8")

    monkeypatch.setattr(Journal, "made", made)
    assert [failure.paths for failure in save(text_jobs(TEXTS), tmp_path).failures] == [
        (path,) for path in sorted(TEXTS)
    ]
    assert content(tmp_path) == dict.fromkeys(TEXTS, "hers")


def test_an_owners_file_that_cannot_be_read_is_not_replaced() -> None:
    with tempfile.TemporaryDirectory() as folder:
        out, hers = Path(folder, "out"), Path(folder, "out/web/feed.csv")
        Path(folder).chmod(0o777)
        with nobody():
            save(text_jobs(TEXTS | {"web/feed.csv": "old"}), out)
        hers.unlink()
        hers.write_text("hers", encoding="utf-8")
        hers.chmod(0)
        with nobody():
            for _ in range(2):
                [failure] = save(text_jobs(TEXTS), out).failures
                assert failure.paths == ("web/feed.csv",)
                assert "Permission denied" in failure.message
        hers.chmod(0o600)
        assert content(out) == TEXTS | {"web/feed.csv": "hers"}


def test_a_pipe_or_a_folder_where_an_output_goes_is_told_and_left(tmp_path: Path) -> None:
    """open(2): opening a pipe to read waits until somebody writes to it."""
    (tmp_path / "web/listings").mkdir(parents=True)
    os.mkfifo(tmp_path / "web/feed.csv")
    (tmp_path / "web/listings/a.html").mkdir()
    saved = save(text_jobs(TEXTS), tmp_path)
    assert [failure.paths for failure in saved.failures] == [("web/feed.csv",), ("web/listings/a.html",)]
    assert all("what is there is no plain file" in failure.message for failure in saved.failures)
    assert (tmp_path / "web/feed.csv").is_fifo()
    assert (tmp_path / "web/listings/a.html").is_dir()


def test_a_file_larger_than_any_of_ours_is_told_and_left_without_reading_it(tmp_path: Path) -> None:
    save(text_jobs(TEXTS), tmp_path)
    os.truncate(tmp_path / "web/feed.csv", 900_000_000_000)
    [failure] = save(text_jobs(TEXTS), tmp_path).failures
    assert failure.paths == ("web/feed.csv",)
    assert "what is there is larger than any file of listkit's" in failure.message
    assert (tmp_path / "web/feed.csv").stat().st_size == 900_000_000_000


def test_a_journal_that_is_a_file_elsewhere_too_is_not_added_to(tmp_path: Path) -> None:
    """link(2): both names are of one file, so that what is added to either is in both."""
    hers, out = tmp_path / "items.csv", tmp_path / "out"
    hers.write_text("hers", encoding="utf-8")
    out.mkdir()
    os.link(hers, out / ".making.jsonl")
    save(text_jobs(TEXTS), out)
    save(text_jobs({}), out)
    assert hers.read_text(encoding="utf-8") == "hers"


def test_a_file_whose_time_alone_moved_is_not_made_again(tmp_path: Path) -> None:
    save(text_jobs(TEXTS), tmp_path)
    for path in TEXTS:
        os.utime(tmp_path / path, (2, 2))
    assert save(text_jobs(TEXTS), tmp_path).made == ()
    assert read_made(tmp_path).files["web/feed.csv"].mtime_ns == 2 * 10**9


def test_files_no_longer_wanted_are_removed_with_their_folders_and_a_strangers_stay(tmp_path: Path) -> None:
    save(text_jobs(TEXTS), tmp_path)
    (tmp_path / "stall/notes.txt").write_text("mine", encoding="utf-8")
    (tmp_path / "empty").mkdir()
    saved = save(text_jobs({"web/feed.csv": "feed"}), tmp_path)
    assert saved.removed == ("stall/price-list.csv", "web/listings/a.html", "web/listings/b.html")
    assert content(tmp_path) == {"web/feed.csv": "feed", "stall/notes.txt": "mine"}
    assert not (tmp_path / "web/listings").exists()
    assert (tmp_path / "empty").is_dir()


def test_without_memory_everything_is_made_again_and_the_manifest_still_tells_what_is_stale(tmp_path: Path) -> None:
    save(text_jobs(TEXTS), tmp_path)
    (tmp_path / ".made.json").unlink()
    saved = save(text_jobs({"web/feed.csv": "feed"}), tmp_path)
    assert saved.made == ("web/feed.csv",)
    assert content(tmp_path) == {"web/feed.csv": "feed"}


def test_a_file_may_become_a_folder_and_a_folder_a_file(tmp_path: Path) -> None:
    for texts in ({"a": "file", "b/c": "deep"}, {"a/d": "deep", "b": "file"}, {"a": "file"}):
        save(text_jobs(texts), tmp_path)
        assert content(tmp_path) == texts


def write_in_part(text: str, paths: tuple[Path, ...]) -> None:
    """Write all but what it says."""
    for path in paths:
        path.write_text(text, encoding="utf-8")
    raise InPartError("there is no room for B-1.", "Make room.", ("B-1",))


def test_what_is_made_in_part_takes_the_old_files_place_and_is_told_by_every_build(tmp_path: Path) -> None:
    file = File("a/labels.txt", key_of("new"), ("B-1", "B-2"))
    save([Job(write_text, ("old",), (replace(file, key=key_of("old")),))], tmp_path)
    for _ in range(2):
        saved = save([Job(write_in_part, ("new",), (file,))], tmp_path)
        assert saved.failures == (Failure(("a/labels.txt",), "there is no room for B-1.", "Make room.", in_part=True),)
        assert (saved.made, saved.unchanged) == (("a/labels.txt",), 0)
        assert (tmp_path / "a/labels.txt").read_text("utf-8") == "new"
        [entry] = read_manifest(tmp_path)
        assert entry.codes == ("B-2",)
    whole = save([Job(write_text, ("new",), (file,))], tmp_path)
    assert (whole.failures, whole.entries[0].codes) == ((), ("B-1", "B-2"))


def test_a_recipe_that_fails_leaves_the_old_file_and_everything_else_comes_out(tmp_path: Path) -> None:
    first = save(text_jobs(TEXTS), tmp_path)
    saved = save(text_jobs(TEXTS | {"web/feed.csv": "fail", "web/listings/a.html": "new", "new/new": "fail"}), tmp_path)
    assert saved.failures == (
        Failure(("new/new",), "the story is gone.", "Bring it back."),
        Failure(("web/feed.csv",), "the story is gone.", "Bring it back."),
    )
    assert (saved.made, saved.unchanged) == (("web/listings/a.html",), 2)
    assert content(tmp_path) == TEXTS | {"web/listings/a.html": "new"}
    assert not (tmp_path / "new").exists()
    kept = {entry.path: entry for entry in saved.entries}
    assert kept["web/feed.csv"] == next(entry for entry in first.entries if entry.path == "web/feed.csv")
    assert "new/new" not in kept
    assert save(text_jobs(TEXTS), tmp_path).made == ("web/listings/a.html",)


def test_a_file_that_does_not_read_back_well_never_takes_the_old_ones_place(tmp_path: Path) -> None:
    save(text_jobs(TEXTS), tmp_path)
    saved = save(text_jobs(TEXTS | {"web/feed.csv": "bad"}), tmp_path)
    assert saved.failures == (Failure(("web/feed.csv",), "does not read back as it was written: a row is missing."),)
    assert content(tmp_path) == TEXTS
    assert save(text_jobs(TEXTS | {"web/feed.csv": "better"}), tmp_path).made == ("web/feed.csv",)


def test_a_photo_that_vanished_is_told_with_its_name(tmp_path: Path) -> None:
    gone = tmp_path / "gone.jpg"
    job = Job(copy, (gone,), (File("web/gone.jpg", "k"),), heavy=True)
    saved = save([job, *text_jobs(TEXTS)], tmp_path / "out", workers=2)
    assert [failure.paths for failure in saved.failures] == [("web/gone.jpg",)]
    assert str(gone) in saved.failures[0].message
    assert content(tmp_path / "out") == TEXTS


def test_a_strangers_folder_in_a_files_place_is_told_and_kept(tmp_path: Path) -> None:
    (tmp_path / "web/feed.csv").mkdir(parents=True)
    saved = save(text_jobs(TEXTS), tmp_path)
    assert [failure.paths for failure in saved.failures] == [("web/feed.csv",)]
    assert ".part" not in saved.failures[0].message
    assert (tmp_path / "web/feed.csv").is_dir()


@pytest.mark.parametrize("workers", [1, 2])
def test_our_own_mistakes_are_not_hidden_and_leave_nothing_half_done(tmp_path: Path, workers: int) -> None:
    save(text_jobs(TEXTS), tmp_path)
    wrong = Job(mistaken, (), (File("web/feed.csv", "new"),), heavy=True)
    with pytest.raises(ZeroDivisionError):
        save([wrong, *text_jobs({"web/other.csv": "other"})], tmp_path, workers=workers)
    assert not list(tmp_path.rglob(".part*"))
    assert content(tmp_path)["web/feed.csv"] == "feed"
    save(text_jobs(TEXTS), tmp_path)
    assert content(tmp_path) == TEXTS


def test_a_limit_to_one_channel_makes_only_its_files_and_removes_nothing(tmp_path: Path) -> None:
    def jobs(text: str) -> list[Job]:
        both = (File("web/x.jpg", text, channel="web"), File("stall/x.jpg", text, channel="stall"))
        photo = Job(write_crops, (text,), both, heavy=True, parts=(1, 1))
        return [photo, text_job("web/feed.csv", text, channel="web"), text_job("stall/list.csv", text, channel="stall")]

    first = save([*jobs("a"), text_job("web/old.html", "old", channel="web")], tmp_path)
    saved = save(jobs("b"), tmp_path, channel="web")
    assert (saved.made, saved.unchanged, saved.removed) == (("web/feed.csv", "web/x.jpg"), 0, ())
    assert content(tmp_path) == {
        "web/x.jpg": "b", "web/feed.csv": "b", "stall/x.jpg": "a", "stall/list.csv": "a", "web/old.html": "old",
    }  # fmt: skip
    assert [entry.path for entry in saved.entries] == [entry.path for entry in first.entries]
    assert read_manifest(tmp_path) == saved.entries
    last = save(jobs("b"), tmp_path)
    assert (last.made, last.unchanged, last.removed) == (("stall/list.csv", "stall/x.jpg"), 2, ("web/old.html",))


def test_the_manifest_is_the_same_in_two_folders_with_one_worker_two_and_another_process(tmp_path: Path) -> None:
    jobs = [*text_jobs(TEXTS), *(crop_job(photo, (2, 3)) for photo in "xyz")]
    save(jobs, tmp_path / "one")
    save(reversed(jobs), tmp_path / "two", workers=2)
    with ProcessPoolExecutor(1) as pool:
        save(jobs, tmp_path / "three", workers=pool)
    manifests = [(tmp_path / name / "manifest.json").read_bytes() for name in ("one", "two", "three")]
    assert manifests[0] == manifests[1] == manifests[2]
    assert content(tmp_path / "one") == content(tmp_path / "two") == content(tmp_path / "three")


def test_progress_counts_the_files_that_are_to_be_made(tmp_path: Path) -> None:
    told: list[tuple[int, int]] = []
    jobs = [crop_job("x", (2, 3)), *text_jobs({"a": "a", "b": "fail"})]
    save(jobs, tmp_path, progress=lambda done, total: told.append((done, total)))
    assert told == [(0, 4), (2, 4), (3, 4), (4, 4)]


def test_what_was_measured_in_photos_survives_a_build(tmp_path: Path) -> None:
    photos = {"sets/first-nectar/photos/styled.jpg": {"size": 3, "mtime_ns": 5, "width": 4000}}
    remember_photos(tmp_path, photos)
    save(text_jobs(TEXTS), tmp_path)
    assert read_made(tmp_path).photos == photos


def test_a_second_build_into_the_same_folder_is_refused_and_touches_nothing(tmp_path: Path) -> None:
    save(text_jobs(TEXTS), tmp_path)
    with locked(tmp_path), pytest.raises(BlockedError, match="another build is writing"):
        save([], tmp_path)
    assert content(tmp_path) == TEXTS


@pytest.mark.parametrize("path", ["../evil", "/evil", "web/../../evil", "manifest.json", "nul.txt"])
def test_an_unsafe_path_is_our_own_mistake(tmp_path: Path, path: str) -> None:
    with pytest.raises(ValueError, match=r"evil|manifest|nul"):
        save(text_jobs({path: "x"}), tmp_path / "out")
    assert not (tmp_path / "evil").exists()


@pytest.mark.parametrize("at", ["web", "web/feed.csv", ".made.json", "manifest.json"])
def test_nothing_is_written_or_removed_through_a_link(tmp_path: Path, at: str) -> None:
    out, outside = tmp_path / "out", tmp_path / "outside"
    save(text_jobs({"web/feed.csv": "feed", "web/old.csv": "old", "stall/a": "a"}), out)
    shutil.move(out / at, outside)
    before = content(tmp_path / "outside") if outside.is_dir() else outside.read_bytes()
    try:
        (out / at).symlink_to(outside)
    except OSError as fault:
        pytest.skip(f"this system lets nobody make links: {fault}")
    with pytest.raises(BlockedError, match=f"{at} in the output folder is a link"):
        save(text_jobs({"web/feed.csv": "new"}), out)
    assert (content(tmp_path / "outside") if outside.is_dir() else outside.read_bytes()) == before
    assert (out / "stall/a").exists()


def test_not_even_the_lock_is_made_through_a_link(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    try:
        (tmp_path / "out/.lock").symlink_to(tmp_path / "outside")
    except OSError as fault:
        pytest.skip(f"this system lets nobody make links: {fault}")
    with pytest.raises(BlockedError, match=r"\.lock in the output folder is a link"):
        save(text_jobs(TEXTS), tmp_path / "out")
    assert not (tmp_path / "outside").exists()


def test_a_folder_in_the_place_of_the_lock_is_told_in_plain_words(tmp_path: Path) -> None:
    (tmp_path / ".lock").mkdir()
    with pytest.raises(BlockedError, match=rf"\.lock in {tmp_path.name} is no plain file"):
        save(text_jobs(TEXTS), tmp_path)


PATHS = ("a", "b", "a/x.txt", "b/y/z.txt", "b/y/w.txt", "c.txt")


def possible(texts: Mapping[str, str]) -> bool:
    return not any(other.startswith(f"{path}/") for path in texts for other in texts)


builds = st.dictionaries(st.sampled_from(PATHS), st.sampled_from(["one", "two", "fail", "bad"])).filter(possible)
tampering = st.lists(st.tuples(st.sampled_from(PATHS), st.sampled_from(["delete", "edit", "touch"])), max_size=2)


TIMES = itertools.count(2)
"""Seconds: no two changes at the same time, as of one that keeps size and time nothing is seen."""


def tamper(out: Path, path: Path, how: str) -> None:
    if path.is_file() and how == "delete":
        path.unlink()
    elif path.is_file() and how == "edit":
        path.write_text("xxx", encoding="utf-8")
    if path.is_file():
        time = next(TIMES)
        os.utime(path, (time, time))


def list_weights(names: tuple[str, ...], paths: tuple[Path, ...]) -> None:
    """Tell of files that others make: what is not there cannot be told of."""
    folder = paths[0].parent
    paths[0].write_text(" ".join(f"{name}:{(folder / name).exists()}" for name in names), encoding="utf-8")


def test_a_job_that_is_last_and_tells_of_what_failed_is_made_anew_when_that_is_there(tmp_path: Path) -> None:
    """Its own key is the same in both builds."""
    sheet = Job(list_weights, (("x.jpg",),), (File("web/photos/sheet.html", key_of("sheet")),), last=True)
    broken = Job(write_text, ("fail",), (File("web/photos/x.jpg", key_of("x")),), heavy=True)
    sound = Job(write_text, ("x",), (File("web/photos/x.jpg", key_of("x")),), heavy=True)
    assert save([broken, sheet], tmp_path).failures
    assert content(tmp_path) == {"web/photos/sheet.html": "x.jpg:False"}
    assert save([sound, sheet], tmp_path).made == ("web/photos/sheet.html", "web/photos/x.jpg")
    assert content(tmp_path)["web/photos/sheet.html"] == "x.jpg:True"
    assert save([sound, sheet], tmp_path).made == ()


@settings(deadline=None)  # it writes to the disk, which others may be using
@given(st.lists(st.tuples(builds, tampering), min_size=1, max_size=6))
def test_after_any_builds_the_folder_holds_the_last_ones_files_and_a_strangers(
    steps: list[tuple[dict[str, str], list[tuple[str, str]]]],
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder, "out")
        (out / "own").mkdir(parents=True)
        (out / "own/notes.txt").write_text("mine", encoding="utf-8")
        ours: dict[str, str] = {}
        for texts, changes in steps:
            for path, how in changes:
                tamper(out, out / path, how)
            before = content(out)
            saved = save(text_jobs(texts), out)
            after = content(out)
            for path, text in before.items():  # what is not as we made it is never lost
                assert ours.get(path) == text or texts.get(path) == text or after.get(path) == text, path
            failed = {path for failure in saved.failures for path in failure.paths}
            good = {path: text for path, text in texts.items() if path not in failed}
            assert {path for path, text in texts.items() if text in ("fail", "bad")} <= failed
            assert {path: after.get(path) for path in good} == good
            assert set(saved.made) == {path for path, text in good.items() if before.get(path) != text}
            left = failed - texts.keys()  # no longer made, and edited: told once, and hers from then on
            ours = {path: text for path, text in ours.items() if path not in {*saved.removed, *left}} | good
            if not failed:
                assert after.keys() & ours.keys() == texts.keys()
            assert good.keys() <= {entry.path for entry in saved.entries}
            assert after["own/notes.txt"] == "mine"
