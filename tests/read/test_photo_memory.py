"""What was measured in photos is remembered by path, size and time; anything odd in memory is measured anew."""

import json
import os
import threading
from collections.abc import Mapping
from pathlib import Path

import pytest

from listkit.model.photo import PhotoFacts
from listkit.picture.facts import measure
from listkit.problem import FieldError
from listkit.read.photos import PhotoMemory
from tests.shops import clean_shop

FILE = "sets/dawn/photos/detail.png"


def remembered(root: Path) -> dict[str, Mapping[str, object]]:
    """Return what one reading leaves, as it comes back from a JSON file."""
    memory = PhotoMemory()
    memory.facts(root, FILE)
    loaded: dict[str, Mapping[str, object]] = json.loads(json.dumps(memory.photos))
    return loaded


def test_a_photo_is_measured_once_and_then_remembered(tmp_path: Path) -> None:
    root = clean_shop(tmp_path)
    again = PhotoMemory(remembered(root))
    assert again.facts(root, FILE) == measure(root / FILE)
    assert (again.measured, list(again.photos)) == (0, [FILE])


def test_a_photo_that_was_changed_is_measured_again(tmp_path: Path) -> None:
    root = clean_shop(tmp_path)
    before = remembered(root)
    (root / FILE).write_bytes((root / "sets/dawn/photos/open-box.png").read_bytes())
    changed = PhotoMemory(before)
    assert changed.facts(root, FILE) == measure(root / FILE)
    assert changed.measured == 1
    os.utime(root / FILE, ns=(1, 1))
    touched = PhotoMemory(changed.photos)
    touched.facts(root, FILE)
    assert touched.measured == 1


@pytest.mark.parametrize("change", [{"form": 0}, {"width": "x"}, {"found": [1]}, {"sharpness": "much"}, {"size": None}])
def test_what_is_not_as_written_today_is_measured_again(tmp_path: Path, change: dict[str, object]) -> None:
    root = clean_shop(tmp_path)
    memory = PhotoMemory({FILE: {**remembered(root)[FILE], **change}})
    assert memory.facts(root, FILE) == measure(root / FILE)
    assert memory.measured == 1


def test_a_photo_that_is_none_is_not_remembered(tmp_path: Path) -> None:
    root = clean_shop(tmp_path, {FILE: "no picture"})
    memory = PhotoMemory()
    for file in (FILE, "gone.png"):
        with pytest.raises(FieldError):
            memory.facts(root, file)
    assert memory.photos == {}


def test_many_photos_are_looked_at_together_with_the_same_facts(tmp_path: Path) -> None:
    root = clean_shop(tmp_path, {"sets/dawn/photos/broken.png": "no picture"})
    folder = "sets/dawn/photos/"
    memory = PhotoMemory()
    memory.look(root, (f"{folder}open-box.png", f"{folder}broken.png", FILE))
    assert memory.measured == 3
    assert list(memory.photos) == [FILE, f"{folder}open-box.png"]
    assert memory.facts(root, FILE) == measure(root / FILE)
    with pytest.raises(FieldError):
        memory.facts(root, f"{folder}broken.png")
    assert memory.measured == 3


def test_what_was_looked_at_before_is_not_looked_at_again(tmp_path: Path) -> None:
    root = clean_shop(tmp_path, {"sets/dawn/photos/broken.png": "no picture"})
    folder = "sets/dawn/photos/"
    memory = PhotoMemory()
    for _ in range(3):
        memory.look(root, (f"{folder}open-box.png", f"{folder}broken.png", FILE))
    assert memory.measured == 3
    assert list(memory.photos) == [FILE, f"{folder}open-box.png"]


def test_what_was_begun_is_measured_once_and_remembered_only_where_it_was_asked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    root = clean_shop(tmp_path)
    at_work: list[str] = []
    both = threading.Event()

    def counted(path: Path) -> PhotoFacts:
        at_work.append(path.name)
        if len(at_work) == 2:
            both.set()
        return measure(path)

    monkeypatch.setattr("listkit.read.photos.measure", counted)
    other = "sets/dawn/photos/open-box.png"
    memory = PhotoMemory()
    memory.begin(root, (FILE, other))
    memory.begin(root, (FILE,))
    assert both.wait(30), "at work before anybody asks"
    shown: list[tuple[int, int]] = []
    memory.progress = lambda done, total: shown.append((done, total))
    memory.look(root, (FILE,))
    assert memory.facts(root, FILE) == measure(root / FILE)
    assert (memory.measured, list(memory.photos), shown) == (1, [FILE], [(0, 1), (1, 1)])
    assert memory.facts(root, other) == measure(root / other)
    assert at_work.count(Path(FILE).name) == 1, "what was begun was taken"


def test_a_photo_that_changes_behind_its_measuring_is_measured_again_next_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    root = clean_shop(tmp_path)
    before = measure(root / FILE)

    def and_change(path: Path) -> PhotoFacts:
        facts = measure(path)
        path.write_bytes((root / "sets/dawn/photos/open-box.png").read_bytes())
        return facts

    memory = PhotoMemory()
    monkeypatch.setattr("listkit.read.photos.measure", and_change)
    memory.begin(root, (FILE,))
    memory.look(root, (FILE,))
    monkeypatch.undo()
    assert memory.facts(root, FILE) == before
    assert PhotoMemory(memory.photos).facts(root, FILE) == measure(root / FILE) != before
