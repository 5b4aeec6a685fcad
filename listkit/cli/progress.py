"""A progress bar on a terminal, and nothing anywhere else."""

import importlib
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from listkit.compute.box.searches import Searches, nothing

Progress = Callable[[int, int], None]
_PATIENCE = 1.0  # seconds, after which somebody wonders


@contextmanager
def progress_bar(label: str, *, after: float = 0.0) -> Iterator[Progress]:
    """Yield a function that takes how much is done, and of how much; the bar leaves nothing behind.

    It shows `after` so many seconds. The bar's library is loaded only where the bar shows.
    """
    if not sys.stderr.isatty():
        yield nothing
        return
    bars: list[Any] = []
    latest: list[tuple[int, int | None]] = [(0, None)]

    def begin() -> None:
        rich = importlib.import_module("rich.progress")
        console = importlib.import_module("rich.console").Console(file=sys.__stderr__)
        columns = (rich.TextColumn("{task.description}"), rich.BarColumn(), rich.MofNCompleteColumn())
        bar = rich.Progress(*columns, console=console, transient=True)
        bar.add_task(label, completed=latest[0][0], total=latest[0][1])
        bar.start()
        bars.append(bar)

    def show(done: int, total: int) -> None:
        latest[0] = done, total
        for bar in bars:
            bar.update(bar.task_ids[0], completed=done, total=total)

    timer = threading.Timer(after, begin)
    timer.start() if after else begin()
    try:
        yield show
    finally:
        timer.cancel()
        if after:
            timer.join()
        for bar in bars:
            bar.stop()


@contextmanager
def searching(searches: Searches | None = None) -> Iterator[Searches]:
    """Yield the box searches of this command; when they take long, the bar shows how much of what they may spend is."""
    searches = searches or Searches()
    with progress_bar("trying how pieces lie in their boxes, per cent of what may be tried", after=_PATIENCE) as show:
        searches.progress = lambda done, total: show(100 * done // total, 100)
        yield searches
        searches.progress = nothing
