"""The bar itself, drawn by rich, which alone may steer the terminal."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

from listkit.cli.progress import Progress as Show


@contextmanager
def bar(words: str) -> Iterator[Show]:
    """Draw a bar on stderr while files are made; it leaves nothing behind."""
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
    with Progress(*columns, console=Console(file=sys.__stderr__), transient=True) as progress:
        task = progress.add_task(words, total=None)

        def show(done: int, total: int) -> None:
            progress.update(task, completed=done, total=total)

        yield show
