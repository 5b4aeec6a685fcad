"""Waiting for another program, and for threads beside the main one.

A wait without a word looks like a program that hangs: what waits for another program says so here, and the command line
prints it. Where nobody can be told meanwhile, as on a page that is not there yet, `waiting_at_most` makes it short.

A thread that is no more is never waited for. Where memory lacks, one may end in the middle of its own accounts, and
what it was at is never told: so whoever waits looks now and then whether every thread of the pool is still there. One
that ends before it has begun would keep whoever started it waiting for ever, which nothing can look into: so none is
started where there is hardly room. Nothing of ours is imported, so that any layer may wait.
"""

import math
import threading
from collections.abc import Callable, Collection, Iterator
from concurrent.futures import Executor, Future, ThreadPoolExecutor, as_completed
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Final, TypeVar

Answer = TypeVar("Answer")
_LOOK: Final = 0.5  # seconds between two looks at the threads
_ROOM: Final = 100_000_000  # bytes that are free before a thread is started: its stack, an arena, what it does at once
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


# Threads


class Threads(ThreadPoolExecutor):
    """A pool that knows whether one of its threads is gone."""

    def __init__(self, workers: int) -> None:
        """Start all threads, before any of them takes memory.

        Raises:
            MemoryError: there is hardly room for a thread.
        """
        self._mine: list[threading.Thread] = []
        super().__init__(workers, initializer=lambda: self._mine.append(threading.current_thread()))
        all_there = threading.Event()
        try:
            for _ in range(workers):
                bytes(_ROOM)  # asked for, but never written to, so that it takes no time and none of it is used
                self.submit(all_there.wait)
        except (MemoryError, RuntimeError):
            all_there.set()
            self.shutdown()
            raise
        all_there.set()

    @property
    def has_lost_one(self) -> bool:
        """Whether a thread has ended, which none does by itself before the pool is shut down."""
        return not all(thread.is_alive() for thread in self._mine)


def as_they_end(pool: Executor | None, futures: Collection[Future[Answer]]) -> Iterator[Future[Answer]]:
    """Yield futures as they end.

    Raises:
        MemoryError: a thread has ended without a word of what it was at.
    """
    left = set(futures)
    while left:
        try:
            for future in as_completed(left, timeout=_LOOK):
                left.remove(future)
                yield future
        except TimeoutError:
            if isinstance(pool, Threads) and pool.has_lost_one:
                raise MemoryError from None
