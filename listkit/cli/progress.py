"""A shop folder being read: whether it is one, and on a terminal a bar of what is done, and of how much."""

import importlib
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any

from listkit.cli.report import print_problems
from listkit.compute.box.searches import Searches, nothing
from listkit.read.folder import find_files
from listkit.read.parts import unread_folder
from listkit.read.photos import PhotoMemory
from listkit.save.made import read_made

Progress = Callable[[int, int], None]
_PATIENCE = 1.0  # seconds, after which somebody wonders
_SWITCH = 0.0005  # seconds after which a thread that measures may go on beside one that reads; 0.005 is usual
_READING = "reading photos"
_TRYING = "trying how pieces lie in their boxes, per cent of what may be tried"


@contextmanager
def progress_bar(label: str, *, after: float = 0.0) -> Iterator[Progress]:
    """Yield a function that takes how much is done, and of how much; the bar leaves nothing behind.

    It shows `after` so many seconds. The bar's library is loaded only where the bar shows.
    """
    with _bar(after) as show:
        if after == 0:
            show(label, 0, None)
        yield partial(show, label) if show is not _no_bar else nothing


def _no_bar(label: str, done: int, total: int | None) -> None:
    """Show nothing."""


@contextmanager
def _bar(after: float) -> Iterator[Callable[[str, int, int | None], None]]:
    """Yield a function that takes what is done, how much of it, and of how much."""
    if not sys.stderr.isatty():
        yield _no_bar
        return
    bars: list[Any] = []
    latest: list[tuple[str, int, int | None]] = []
    waited = threading.Event()
    changing = threading.Lock()

    def begin() -> None:
        rich = importlib.import_module("rich.progress")
        console = importlib.import_module("rich.console").Console(file=sys.__stderr__)
        columns = (rich.TextColumn("{task.description}"), rich.BarColumn(), rich.MofNCompleteColumn())
        left = (rich.TimeRemainingColumn(), rich.TextColumn("left"))
        bar = rich.Progress(*columns, *left, console=console, transient=True)
        label, done, total = latest[-1]
        bar.add_task(label, completed=done, total=total)
        bar.start()
        bars.append(bar)

    def show(label: str, done: int, total: int | None) -> None:
        with changing:
            latest[:] = [(label, done, total)]
            for bar in bars:
                bar.update(bar.task_ids[0], description=label, completed=done, total=total)
            if waited.is_set() and not bars:
                begin()

    def patience() -> None:
        with changing:
            waited.set()
            if latest:
                begin()

    timer = threading.Timer(after, patience)
    timer.start() if after else patience()
    try:
        yield show
    finally:
        timer.cancel()
        if after:
            timer.join()
        for bar in bars:
            bar.stop()


@contextmanager
def measuring(folder: Path, out: Path | None) -> Iterator[PhotoMemory]:
    """Yield what is known of the shop's photos, while those that nobody has measured are measured beside all else."""
    photos = PhotoMemory(read_made(folder / "out" if out is None else out).photos)
    usual = sys.getswitchinterval()
    sys.setswitchinterval(_SWITCH)
    try:
        photos.begin(folder, find_files(folder)[0].pictures)
        yield photos
    finally:
        photos.close()
        sys.setswitchinterval(usual)


@contextmanager
def reading(folder: Path, out: Path | None) -> Iterator[tuple[PhotoMemory, Searches]]:
    """Yield the photos of a command, which are being measured, and its box searches; the bar shows both."""
    with measuring(folder, out) as photos, searching(photos=photos) as searches:
        yield photos, searches


@contextmanager
def searching(searches: Searches | None = None, photos: PhotoMemory | None = None) -> Iterator[Searches]:
    """Yield the box searches of this command.

    Where they take long, the bar shows how many photos are read, or how much of what searches may spend is spent.
    """
    searches = searches or Searches()
    with _bar(_PATIENCE) as show:
        searches.progress = lambda done, total: show(_TRYING, 100 * done // total, 100)
        if photos is not None:
            photos.progress = partial(show, _READING)
        try:
            yield searches
        finally:
            searches.progress = nothing


def is_shop_folder(folder: Path) -> bool:
    """Whether a shop folder is one that is read; print why it is not."""
    unread = unread_folder(folder)
    if unread is not None:
        print_problems((unread,), sys.stderr)
    return unread is None
