"""A progress bar on a terminal, and nothing anywhere else."""

import importlib
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

Progress = Callable[[int, int], None]


@contextmanager
def progress_bar(words: str) -> Iterator[Progress]:
    """Yield what is told how many files are done, and of how many; the bar's library is loaded only where it shows."""
    if not sys.stderr.isatty():
        yield lambda done, total: None
        return
    with importlib.import_module("listkit.cli.bar").bar(words) as show:
        yield show
