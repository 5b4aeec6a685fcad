"""The past of a shop folder: any change can be taken back, and nothing that goes wrong leaves half of one."""

import datetime
import json
import os
import shutil
import signal
import sys
import threading
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.edit import past as module
from listkit.edit.past import MovedError, opened, past
from listkit.edit.past_lines import FileChange, PastChange, digest_of
from listkit.paths import KEPT
from listkit.problem import BlockedError
from tests.disks import files_end_at, files_of

WHEN = datetime.datetime(2026, 11, 29, 15, 30, tzinfo=datetime.UTC)
FILES = {
    "shop.toml": b'name = "A"\n',
    "sets/one/set.toml": b"code = 1\nname = 2\n",
    "sets/one/photos/a.jpg": b"\0\xff" * 99,
}


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return filled(tmp_path / "shop", FILES)


def filled(folder: Path, files: Mapping[str, bytes]) -> Path:
    for path, content in files.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(content)
    return folder


def shop_files(shop: Path) -> dict[str, str]:
    return {path: digest for path, digest in files_of(shop).items() if not path.startswith(KEPT)}


def change(shop: Path, files: Mapping[str, bytes | None], folders: Mapping[str, bool] | None = None) -> PastChange:
    changes = [
        FileChange(path, digest_of((shop / path).read_bytes()) if (shop / path).exists() else "", content)
        for path, content in files.items()
    ]
    with opened(shop) as kept:
        return kept.write(changes, what="a change", when=WHEN, folders=folders)


def take_back(shop: Path, number: int) -> PastChange:
    with opened(shop) as kept:
        files, folders = kept.backwards(next(each for each in kept.changes if each.number == number))
        return kept.write(files, what="back", when=WHEN, folders=folders, takes_back=number)


SEVERAL: Mapping[str, bytes | None] = {
    "shop.toml": b'name = "B"\n', "sets/two/set.toml": b"code = 2\n", "sets/one/photos/a.jpg": None
}  # fmt: skip


def test_a_change_of_several_files_is_written_and_taken_back_as_one(shop: Path) -> None:
    before = shop_files(shop)
    number = change(shop, SEVERAL, {"sets/one/photos": False, "sets/two/photos": True}).number
    assert shop_files(shop).keys() == {
        "shop.toml", "sets", "sets/one", "sets/one/set.toml", "sets/two", "sets/two/photos", "sets/two/set.toml"
    }  # fmt: skip
    after = shop_files(shop)
    back = take_back(shop, number).number
    assert shop_files(shop) == before
    take_back(shop, back)
    assert shop_files(shop) == after
    assert [(each.number, each.takes_back, each.taken_back) for each in past(shop)] == [
        (1, 0, False), (2, 1, True), (3, 2, False)
    ]  # fmt: skip


def test_texts_are_kept_as_their_lines_and_all_else_whole(shop: Path) -> None:
    change(shop, {"sets/one/set.toml": "code = 1\nname = »é«\n".encode(), "sets/one/photos/a.jpg": b"\0new"})
    line = json.loads((shop / KEPT / "past.jsonl").read_bytes().split(b"\n")[0])
    assert line["files"][0]["patch"] == {
        "at": 9, "before": "name = 2\n", "after": "name = »é«\n", "lead": "code = 1\n", "tail": "", "encoding": "utf-8"
    }  # fmt: skip
    assert line["when"] == "2026-11-29T15:30:00+00:00"
    assert [path.name for path in (shop / KEPT / "kept").iterdir()] == [digest_of(FILES["sets/one/photos/a.jpg"])]
    assert (shop / KEPT / ".gitignore").read_bytes() == b"*\n"


def test_a_file_that_somebody_changed_is_not_written_over(shop: Path) -> None:
    wanted = [FileChange("shop.toml", digest_of(b"other"), b"new"), FileChange("new.toml", "", b"x")]
    with opened(shop) as kept, pytest.raises(MovedError, match="was changed meanwhile"):
        kept.write(wanted, what="", when=WHEN)
    assert shop_files(shop) == shop_files(filled(shop, FILES))
    assert past(shop) == ()


def test_taking_back_a_text_keeps_what_has_changed_elsewhere_in_it(shop: Path) -> None:
    text = b"".join(b"line %d\n" % number for number in range(20))
    change(shop, {"long.toml": text})
    number = change(shop, {"long.toml": text.replace(b"line 5\n", b"five\n")}).number
    changed = text.replace(b"line 5\n", b"five\n").replace(b"line 15\n", b"fifteen\nmore\n").replace(b"line 0\n", b"")
    (shop / "long.toml").write_bytes(changed)
    take_back(shop, number)
    assert (shop / "long.toml").read_bytes() == changed.replace(b"five\n", b"line 5\n")
    (shop / "long.toml").write_bytes(changed.replace(b"five\n", b"FIVE\n"))
    with opened(shop) as kept, pytest.raises(MovedError) as moved:
        kept.backwards(kept.changes[1])
    assert (moved.value.shown, moved.value.there) == ("five\n", "FIVE\n")


def test_a_picture_that_has_changed_is_not_taken_back(shop: Path) -> None:
    number = change(shop, {"sets/one/photos/a.jpg": b"\0new"}).number
    (shop / "sets/one/photos/a.jpg").write_bytes(b"\0newer")
    with pytest.raises(MovedError):
        take_back(shop, number)
    assert (shop / "sets/one/photos/a.jpg").read_bytes() == b"\0newer"


@pytest.mark.parametrize("spoilt", [b"", b"{}", b"\xff\n[1]\n{}\nnull\n", b'{"change": 1', b'{"done": "x"}\n'])
def test_a_past_that_is_none_of_ours_is_begun_anew(shop: Path, spoilt: bytes) -> None:
    (shop / KEPT).mkdir()
    (shop / KEPT / "past.jsonl").write_bytes(spoilt)
    assert past(shop) == ()
    number = change(shop, SEVERAL).number
    assert [each.number for each in past(shop)] == [number]


@pytest.mark.parametrize("path", ["../out.txt", "/etc/x", "a//b", ".listkit/kept/x", "a/../../b", ""])
def test_a_past_from_elsewhere_leads_out_of_no_folder(shop: Path, tmp_path: Path, path: str) -> None:
    (tmp_path / "out.txt").write_bytes(b"mine")
    change(shop, {"shop.toml": b"x"})
    line = (shop / KEPT / "past.jsonl").read_text(encoding="utf-8")
    (shop / KEPT / "past.jsonl").write_text(line.replace('"shop.toml"', json.dumps(path)), encoding="utf-8")
    assert past(shop) == ()


def test_a_past_that_is_larger_than_it_can_be_is_not_read(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    change(shop, {"shop.toml": b"x"})
    monkeypatch.setattr(module, "_MOST_READ", 100)
    with pytest.raises(BlockedError, match="larger than it can be"):
        past(shop)
    with pytest.raises(BlockedError, match="larger than it can be"):
        change(shop, {"shop.toml": b"y"})
    assert (shop / "shop.toml").read_bytes() == b"x"


def test_a_shop_folder_that_is_gone_is_told(shop: Path) -> None:
    os.rename(shop, shop.parent / "elsewhere")
    with pytest.raises(BlockedError, match="cannot be written to"):
        change(shop, {"shop.toml": b"x"})
    assert not shop.exists()


def test_nothing_goes_through_a_link(shop: Path, tmp_path: Path) -> None:
    outside = filled(tmp_path / "outside", {"photos/a.jpg": b"mine"})
    (shop / "sets/linked").symlink_to(outside, target_is_directory=True)
    with pytest.raises(BlockedError, match="is a link"):
        change(shop, {"sets/linked/photos/a.jpg": b"x"})
    with pytest.raises(BlockedError, match="is a link"):
        change(shop, {"sets/linked/new.toml": b"x"})
    (shop / "linked.toml").symlink_to(shop / "shop.toml")
    with pytest.raises(MovedError), opened(shop) as kept:
        kept.write([FileChange("linked.toml", digest_of(FILES["shop.toml"]), b"x")], what="", when=WHEN)
    (tmp_path / "other" / "kept").mkdir(parents=True)
    os.rename(shop / KEPT, tmp_path / "moved")
    (shop / KEPT).symlink_to(tmp_path / "other", target_is_directory=True)
    with pytest.raises(BlockedError, match="is a link"):
        change(shop, {"shop.toml": b"x"})
    assert files_of(outside) == {"photos": "folder", "photos/a.jpg": digest_of(b"mine")}


# The bounds: 500 changes, 500 MB.


def test_the_oldest_go_first_and_it_is_said_before(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "MOST_CHANGES", 6)
    monkeypatch.setattr(module, "_AT_ONCE", 2)
    for number in range(6):
        with opened(shop) as kept:
            assert kept.forgets([]) == ()
        change(shop, {"shop.toml": b"%d" % number})
    with opened(shop) as kept:
        assert [each.number for each in kept.forgets([])] == [1, 2]
    change(shop, {"shop.toml": b"7"})
    assert [each.number for each in past(shop)] == [3, 4, 5, 6, 7]
    take_back(shop, 7)
    assert (shop / "shop.toml").read_bytes() == b"5"


def test_no_more_is_kept_than_is_allowed_for(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "MOST_BYTES", 20_000)
    monkeypatch.setattr(module, "_AT_ONCE", 1)
    for number in range(9):
        change(shop, {"sets/one/photos/a.jpg": b"\0%d" % number * 2_000})
        held = sum(path.stat().st_size for path in (shop / KEPT).rglob("*") if path.is_file())
        assert held <= 20_000
    kept = [path.name for path in (shop / KEPT / "kept").iterdir()]
    assert sorted(kept) == sorted({file.before for each in past(shop) for file in each.files})
    take_back(shop, past(shop)[-1].number)
    assert (shop / "sets/one/photos/a.jpg").read_bytes() == b"\x007" * 2_000


# What goes wrong.


def killed(work: Callable[[], object], event_number: int) -> bool:
    """Do something in a process of its own that kills itself at its n-th look at the disk; return whether it did."""
    child = os.fork()
    if child == 0:  # pragma: no cover - it is killed
        left = event_number

        def strike(event: str, _: object) -> None:
            nonlocal left
            if event == "open" or event.startswith(("os.", "shutil.")):
                left -= 1
                if left == 0:
                    os.kill(os.getpid(), signal.SIGKILL)

        sys.addaudithook(strike)
        try:
            work()
        finally:
            os._exit(0)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL


def kill_at(folder: Path, event_number: int, *, back: bool) -> tuple[bool, bool]:
    """Kill a change, or its being taken back, in a new shop; return whether it was killed, and whether it was done."""
    shop = filled(folder / "shop", FILES)

    def work(there: Path) -> PastChange:
        return take_back(there, 1) if back else change(there, SEVERAL, {"sets/one/photos": False})

    change(shop, SEVERAL if back else {"shop.toml": b'name = "0"\n'})
    before = shop_files(shop)
    shutil.copytree(shop, folder / "copy")
    work(folder / "copy")
    after = shop_files(folder / "copy")
    was_killed = killed(lambda: work(shop), event_number)
    for path, digest in shop_files(shop).items():
        assert ".part-" in path or digest in (before.get(path), after.get(path))
    with opened(shop) as kept:
        done = len(kept.changes) == 2
    assert shop_files(shop) == (after if done else before)
    return was_killed, done


@pytest.mark.parametrize("step", [5, pytest.param(1, marks=pytest.mark.long)])
@pytest.mark.parametrize("back", [False, True])
def test_a_change_that_is_killed_is_there_and_in_the_past_or_neither(tmp_path: Path, back: bool, step: int) -> None:
    states: list[tuple[bool, bool]] = []
    while not states or states[-1][0]:
        states.append(kill_at(tmp_path / str(len(states)), len(states) * step + 1, back=back))
    assert {done for _, done in states} == {False, True}
    assert len(states) * step > 30


def test_a_full_disk_leaves_every_file_as_it_was(shop: Path) -> None:
    before = shop_files(shop)
    for size in (0, 5, 60, 400):
        with files_end_at(size), pytest.raises(BlockedError, match="cannot be written"):
            change(shop, {"shop.toml": b'name = "B"\n', "new.txt": b"x" * 500})
        assert shop_files(shop) == before
        assert past(shop) == ()
    change(shop, {"shop.toml": b'name = "B"\n', "new.txt": b"x" * 500})
    assert len(past(shop)) == 1


def test_changes_at_once_lose_nothing(shop: Path) -> None:
    (shop / "list.txt").write_bytes(b"")

    def add(name: int) -> None:
        for number in range(5):
            with opened(shop) as kept:
                content = (shop / "list.txt").read_bytes()
                new = content + b"%d.%d\n" % (name, number)
                kept.write([FileChange("list.txt", digest_of(content), new)], what="", when=WHEN)

    children = []
    for name in range(2):
        child = os.fork()
        if child == 0:  # pragma: no cover - another process
            try:
                add(name)
                os._exit(0)
            finally:
                os._exit(1)
        children.append(child)
    threads = [threading.Thread(target=add, args=(name,)) for name in (2, 3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [os.waitpid(child, 0)[1] for child in children] == [0, 0]
    lines = (shop / "list.txt").read_text(encoding="utf-8").split()
    assert sorted(lines) == sorted(f"{name}.{number}" for name in range(4) for number in range(5))
    assert [each.number for each in past(shop)] == list(range(1, 21))


# Any changes, taken back.

texts = st.lists(st.sampled_from(["a", "b", "é"]), max_size=6).map(lambda parts: "\n".join(parts).encode())
contents = st.one_of(st.none(), st.binary(max_size=30), texts)
places = st.sampled_from(["a.toml", "b.csv", "sets/x/set.toml", "sets/x/p.jpg"])
steps = st.lists(st.dictionaries(places, contents, min_size=1, max_size=3), min_size=1, max_size=6)


@given(first=st.dictionaries(st.sampled_from(["a.toml", "sets/x/p.jpg"]), st.binary(max_size=20)), changes=steps)
def test_any_changes_taken_back_give_the_same_bytes(
    tmp_path_factory: pytest.TempPathFactory, first: dict[str, bytes], changes: list[dict[str, bytes | None]]
) -> None:
    shop = filled(tmp_path_factory.mktemp("any") / "shop", first)
    shop.mkdir(exist_ok=True)
    states = [shop_files(shop)]
    for step in changes:
        real = {path: content for path, content in step.items() if content is not None or (shop / path).exists()}
        different = {
            path: new for path, new in real.items() if not (shop / path).exists() or (shop / path).read_bytes() != new
        }
        if different:
            change(shop, different)
            states.append(shop_files(shop))
    for each in reversed(past(shop)):
        assert shop_files(shop) == states.pop()
        take_back(shop, each.number)
    assert [shop_files(shop)] == states


@pytest.mark.parametrize(
    ("was", "is_now"),
    [
        ('"at": 0', '"at": -5'), ('"at": 0', '"at": "0"'), ('"encoding": "utf-8"', '"encoding": "zip"'),
        ('"encoding": "utf-8"', '"encoding": "idna"'), ('"change": 1', '"change": 1e400'),
        ('"size": 0', '"size": Infinity'), ('"size": 0', '"size": 1' + "0" * 400), ('"size": 0', '"size": -1'),
        ('"change": 1', '"change": ' + "9" * 4_300), ('"change": 1', '"change": -5'),
        ('"change": 1', '"change": "1"'), ('"takes_back": 0', '"takes_back": ' + "9" * 20),
        ('"when": "2', '"when": "0001-01-01T00:00:00+14:00", "then": "2'), ('"shop.toml"', r'"\ud800"'),
        ('"before": "', r'"before": 5, "was": "'), ('"takes_back": 0', '"takes_back": ' + "[" * 5_000),
    ],
)  # fmt: skip
def test_a_line_that_is_none_of_ours_is_no_change(shop: Path, was: str, is_now: str) -> None:
    change(shop, {"shop.toml": b"name = 'Another'\n"})
    file = shop / KEPT / "past.jsonl"
    text = file.read_text(encoding="utf-8")
    assert was in text
    file.write_text(text.replace(was, is_now), encoding="utf-8")
    assert past(shop) == ()
    change(shop, {"shop.toml": b"x"})
    assert (shop / "shop.toml").read_bytes() == b"x"


def test_behind_the_largest_number_of_a_change_nothing_is_written(shop: Path) -> None:
    change(shop, {"shop.toml": b"name = 'Another'\n"})
    file = shop / KEPT / "past.jsonl"
    text = file.read_text(encoding="utf-8").replace('"change": 1', '"change": 999999999')
    file.write_text(text.replace('"done": 1', '"done": 999999999'), encoding="utf-8")
    assert [each.number for each in past(shop)] == [999_999_999]
    with pytest.raises(BlockedError, match=r"behind number 999999999 in \.listkit/past\.jsonl no other change"):
        change(shop, {"shop.toml": b"x"})
    assert (shop / "shop.toml").read_bytes() == b"name = 'Another'\n"


def test_a_past_of_too_many_lines_is_not_read(shop: Path) -> None:
    (shop / KEPT).mkdir()
    (shop / KEPT / "past.jsonl").write_bytes(b"\n" * 200_000)
    with pytest.raises(BlockedError, match="larger than it can be"):
        past(shop)


def test_a_file_in_the_place_of_its_folder_is_told(shop: Path) -> None:
    (shop / KEPT).write_bytes(b"mine")
    with pytest.raises(BlockedError, match=r"^\.listkit is no folder\.$"):
        change(shop, {"shop.toml": b"x"})
    assert (shop / KEPT).read_bytes() == b"mine"


@pytest.mark.skipif(sys.platform == "win32", reason="there are no pipes with a name")
@pytest.mark.parametrize("name", ["past.jsonl", ".lock"])
@pytest.mark.parametrize("kind", ["pipe", "link"])
def test_what_is_no_plain_file_in_its_place_is_told_at_once(shop: Path, tmp_path: Path, name: str, kind: str) -> None:
    (shop / KEPT).mkdir()
    (tmp_path / "mine.txt").write_bytes(b"mine")
    if kind == "pipe":
        os.mkfifo(shop / KEPT / name)
    else:
        (shop / KEPT / name).symlink_to(tmp_path / "mine.txt")
    assert past(shop) == ()
    before = shop_files(shop)
    with pytest.raises(BlockedError, match="no plain file"):
        change(shop, {"shop.toml": b"x"})
    assert shop_files(shop) == before
    assert (tmp_path / "mine.txt").read_bytes() == b"mine"


def test_nothing_is_kept_through_a_link(shop: Path, tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    (shop / KEPT).mkdir()
    (shop / KEPT / "kept").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(BlockedError, match="is a link"):
        change(shop, {"shop.toml": None})
    assert list((tmp_path / "elsewhere").iterdir()) == []


def left_by_a_kill(shop: Path, files: Mapping[str, tuple[str, str]], gone: tuple[str, ...] = ()) -> None:
    """Write the line of a change that was begun; of each file the digests before and after."""
    (shop / KEPT).mkdir(exist_ok=True)
    each = [{"path": path, "before": was, "after": is_now, "size": 1} for path, (was, is_now) in files.items()]
    line = {"change": 1, "when": WHEN.isoformat(), "what": "all", "takes_back": 0, "made": [], "gone": gone}
    (shop / KEPT / "past.jsonl").write_text(json.dumps({**line, "files": each}) + "\n", encoding="utf-8")


@pytest.mark.parametrize("at", ["sets", "shop.toml/x", "linked"])
def test_what_came_in_the_place_of_a_cut_off_change_hinders_no_other(shop: Path, at: str) -> None:
    (shop / "linked").symlink_to("shop.toml")
    left_by_a_kill(shop, {at: ("a" * 64, "b" * 64)}, gone=("shop.toml/y", "sets"))
    before = shop_files(shop)
    with opened(shop) as kept:
        assert kept.changes == ()
    assert shop_files(shop) == before


def test_a_cut_off_change_that_cannot_be_taken_back_is_named_with_its_files(shop: Path) -> None:
    now = {path: digest_of(content) for path, content in FILES.items()}
    states = {"shop.toml": ("a" * 64, now["shop.toml"]), "sets/one/set.toml": (now["sets/one/set.toml"], "b" * 64)}
    left_by_a_kill(shop, states)
    with pytest.raises(BlockedError) as fault, opened(shop):
        pass
    assert fault.value.message == (
        'a change that was cut off ("all") cannot be taken back: what was there before is no longer kept.'
    )
    assert fault.value.hint == (
        "Look whether shop.toml, sets/one/set.toml are as they should be, then put .listkit/past.jsonl away; the past "
        "begins anew."
    )


@pytest.mark.parametrize("name", [KEPT, f"{KEPT}/kept"])
def test_a_file_in_the_place_of_a_folder_that_is_kept_is_named(shop: Path, name: str) -> None:
    (shop / name).parent.mkdir(exist_ok=True)
    (shop / name).write_bytes(b"")
    with pytest.raises(BlockedError, match=rf"^{name} is no folder\.$"), opened(shop):
        pass


def test_a_link_of_the_owners_that_leads_nowhere_hinders_no_change(shop: Path) -> None:
    (shop / KEPT).mkdir()
    (shop / KEPT / ".gitignore").symlink_to("nowhere")
    change(shop, {"shop.toml": b"x"})
    assert (shop / "shop.toml").read_bytes() == b"x"


@pytest.mark.parametrize(("old", "new"), [(b"\xc2", b"\x80"), (b"x\n\xc2", b"x\n\xa9\n")])
def test_bytes_of_two_texts_that_make_a_letter_together_are_none(shop: Path, old: bytes, new: bytes) -> None:
    (shop / "a.toml").write_bytes(old)
    take_back(shop, change(shop, {"a.toml": new}).number)
    assert (shop / "a.toml").read_bytes() == old
