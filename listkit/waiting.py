"""Who hears that something waits for another program: what waits says so here, and the command line prints it.

A wait without a word looks like a program that hangs. Where nobody can be told meanwhile, as on a page that is not
there yet, `waiting_at_most` makes the wait short. Nothing of ours is imported, so that any layer may say it.
"""

import math
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

_listeners: list[Callable[[str], object]] = []
_said: set[str] = set()
_patience: ContextVar[float] = ContextVar("patience", default=math.inf)


def hear(listener: Callable[[str], object]) -> None:
    """Let `listener` have what is said from now on, the same sentence once, in place of who had it before."""
    _said.clear()
    _listeners[:] = [listener]


def say_waiting(sentence: str) -> None:
    """Say what is waited for, and for how long; nobody need listen. A wait made short is told by what it ends in."""
    if sentence not in _said and math.isinf(_patience.get()):
        _said.add(sentence)
        for listener in _listeners:
            listener(sentence)


@contextmanager
def waiting_at_most(seconds: float) -> Iterator[None]:
    """Let nothing within the block wait longer for another program, in threads that take over its context too."""
    token = _patience.set(seconds)
    try:
        yield
    finally:
        _patience.reset(token)


def patience(seconds: float) -> float:
    """Return how long to wait for another program: so many seconds, or fewer where somebody waits for an answer.

    >>> with waiting_at_most(0.5):
    ...     patience(10), patience(0.1)
    (0.5, 0.1)
    """
    return min(seconds, _patience.get())
