"""A progress bar on a terminal, and nothing anywhere else."""

import importlib
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

Progress = Callable[[int, int], None]


@contextmanager
def progress_bar(label: str) -> Iterator[Progress]:
    """Yield a function that takes how many files are done, and of how many; the bar leaves nothing behind.

    The bar's library is loaded only where the bar shows.
    """
    if not sys.stderr.isatty():
        yield lambda done, total: None
        return
    rich = importlib.import_module("rich.progress")
    console = importlib.import_module("rich.console").Console(file=sys.__stderr__)
    columns = (rich.TextColumn("{task.description}"), rich.BarColumn(), rich.MofNCompleteColumn())
    with rich.Progress(*columns, console=console, transient=True) as progress:
        task = progress.add_task(label, total=None)

        def show(done: int, total: int) -> None:
            progress.update(task, completed=done, total=total)

        yield show
