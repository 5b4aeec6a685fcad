"""Threads at work beside the main one, which never waits for one that is no more.

Where memory lacks, a thread may end in the middle of its own accounts, and what it was at is never told. So whoever
waits looks now and then whether every thread of the pool is still there. One that ends before it has begun would keep
whoever started it waiting for ever, which nothing can look into; so none is started where there is hardly room.
"""

import threading
from collections.abc import Collection, Iterator
from concurrent.futures import Executor, Future, ThreadPoolExecutor, as_completed
from typing import Final, TypeVar

Answer = TypeVar("Answer")
_LOOK: Final = 0.5  # seconds between two looks at the threads
_ROOM: Final = 100_000_000  # bytes that are free before a thread is started: its stack, an arena, what it does at once


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
                bytearray(_ROOM)
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
