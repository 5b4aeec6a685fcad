"""The bar: on a terminal alone, after a while where that is asked, and never afterwards."""

import shutil
import sys
import threading
import time
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from listkit.cli.progress import measuring, progress_bar, searching
from listkit.compute.box.searches import Searches, nothing
from listkit.model.photo import PhotoFacts
from listkit.picture.facts import measure
from listkit.read.photos import PhotoMemory

DEMO = Path(__file__).parents[2] / "demo_shop"


class Bar:
    """Stands in for the bar's library and notes what it is asked."""

    seen: list[Any]

    def __init__(self, *columns: Any, **how: Any) -> None:
        self.task_ids = [0]

    def add_task(self, label: str, *, completed: int, total: int | None) -> None:
        Bar.seen.append(("begin", label, completed, total))

    def start(self) -> None:
        """Show it."""

    def update(self, task: int, *, description: str, completed: int, total: int) -> None:
        Bar.seen.append((description, completed, total))

    def stop(self) -> None:
        Bar.seen.append("stop")


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    Bar.seen = []
    plain = lambda *args, **named: None  # noqa: E731
    parts = SimpleNamespace(
        Progress=Bar, TextColumn=plain, BarColumn=plain, MofNCompleteColumn=plain, TimeRemainingColumn=plain
    )
    monkeypatch.setitem(sys.modules, "rich.progress", parts)
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)


@pytest.mark.usefixtures("terminal")
def test_files_are_counted_from_the_beginning() -> None:
    with progress_bar("making") as show:
        show(1, 3)
    assert Bar.seen == [("begin", "making", 0, None), ("making", 1, 3), "stop"]


@pytest.mark.usefixtures("terminal")
def test_what_is_soon_done_shows_nothing_and_what_takes_long_shows_how_far_it_is() -> None:
    with progress_bar("trying", after=60) as show:
        show(1, 3)
    assert Bar.seen == []
    with progress_bar("trying", after=0.01) as show:
        show(1, 3)
        until = time.monotonic() + 20
        while not Bar.seen and time.monotonic() < until:
            time.sleep(0.01)
        show(2, 3)
    assert Bar.seen[0] == ("begin", "trying", 1, 3)
    assert Bar.seen[-1] == "stop"


@pytest.mark.usefixtures("terminal")
def test_searches_show_how_much_of_what_they_may_spend_is_spent(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("listkit.cli.progress._PATIENCE", 0.0)
    with searching(Searches(left=1000)) as searches:
        searches.progress(250, 1000)
    assert [shown[-2:] for shown in Bar.seen[:-1]] == [(25, 100)]
    assert searches.progress is nothing


@pytest.mark.usefixtures("terminal")
def test_one_bar_shows_photos_and_then_searches(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("listkit.cli.progress._PATIENCE", 0.0)
    photos = PhotoMemory()
    with searching(Searches(left=1000), photos) as searches:
        photos.look(DEMO, [file.relative_to(DEMO).as_posix() for file in sorted(DEMO.glob("sets/*/photos/*.jpg"))[:2]])
        searches.progress(500, 1000)
    assert [each[0] for each in Bar.seen].count("begin") == 1
    assert [each[1:] for each in Bar.seen if each[0] in ("begin", "reading photos")] == [
        ("reading photos", 0, 2), (1, 2), (2, 2)
    ]  # fmt: skip
    assert Bar.seen[-2][1:] == (50, 100)


def test_photos_are_measured_while_a_command_loads_what_it_needs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun = threading.Event()

    def measured(path: Path) -> PhotoFacts:
        begun.set()
        return measure(path)

    monkeypatch.setattr("listkit.read.photos.measure", measured)
    shutil.copytree(DEMO / "sets" / "first-nectar", tmp_path / "sets" / "first-nectar")
    file = next(path for path in sorted(tmp_path.glob("sets/*/photos/*.jpg")))
    usual = sys.getswitchinterval()
    with measuring(tmp_path, None) as photos:
        assert begun.wait(30)
        assert photos.photos == {}  # nobody has asked for one yet
        assert photos.facts(tmp_path, file.relative_to(tmp_path).as_posix()) == measure(file)
    assert sys.getswitchinterval() == usual


def test_nothing_is_shown_where_nobody_looks(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys.stderr, "isatty", lambda: False, raising=False)
    with progress_bar("making") as show:
        assert show is nothing
