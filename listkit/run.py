"""Running jobs: recipes write temporary files and readers read them back, in this thread, in others or elsewhere.

What comes of a task is given as a call, so that each fault is told where it belongs. However
the run ends, no task goes on behind it and no temporary file of it is left.
"""

from collections.abc import Callable, Generator, Iterator
from concurrent.futures import Executor, ThreadPoolExecutor, as_completed, wait
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from listkit.job import File, Job
from listkit.out_folder import discard, sha256_of, sync


@dataclass(frozen=True, slots=True)
class Written:
    """What a recipe left in one temporary file, and what its reader found wrong with it."""

    size: int
    sha256: str
    fault: str


@dataclass(frozen=True, slots=True)
class Task:
    """A job, the temporary file of each of its files, and the indices of those that are to take their places."""

    job: Job
    parts: tuple[Path, ...]
    needed: tuple[int, ...]

    @property
    def files(self) -> tuple[File, ...]:
        """The files that are to take their places."""
        return tuple(self.job.files[index] for index in self.needed)

    def discard(self) -> None:
        """Remove the temporary files that have not taken a place."""
        for part in self.parts:
            discard(part)


Result = Callable[[], tuple[Written, ...]]
"""Gives what was written, a value for each file of the task's job, or raises what the recipe raised."""


def run(tasks: list[Task], workers: Executor | int) -> Generator[tuple[Task, Result]]:
    """Yield every task as it ends, heavy ones running beside the others. Close it when breaking off.

    With threads or an executor the other tasks still run in the caller's thread, when their result is asked for.
    Tasks whose job is last come when all others have taken their places.
    """
    with _pool(workers) as pool:
        elsewhere = [task for task in tasks if task.job.heavy and not task.job.last] if pool else []
        futures = {pool.submit(write, task): task for task in elsewhere} if pool else {}
        try:
            for task in tasks:
                if not (task.job.last or (pool and task.job.heavy)):
                    yield task, partial(write, task)
            for future in as_completed(futures):
                yield futures[future], future.result
            for task in tasks:
                if task.job.last:
                    yield task, partial(write, task)
        finally:
            for future in futures:
                future.cancel()
            wait(futures)
            for task in tasks:
                task.discard()


@contextmanager
def _pool(workers: Executor | int) -> Iterator[Executor | None]:
    """Threads, because decoding, resizing and encoding pictures leave the interpreter free, and die with a kill."""
    if isinstance(workers, Executor):
        yield workers
    elif workers > 1:
        with ThreadPoolExecutor(workers) as pool:
            yield pool
    else:
        yield None


def write(task: Task) -> tuple[Written, ...]:
    """Run a recipe and read back what it wrote: the part that may happen in another process.

    Raises:
        RuntimeError: the recipe left out a file; it is wrong.
    """
    for part in task.parts:
        part.parent.mkdir(parents=True, exist_ok=True)
    task.job.recipe(*task.job.inputs, task.parts)
    return tuple(_read_back(task.job, index, part) for index, part in enumerate(task.parts))


def _read_back(job: Job, index: int, part: Path) -> Written:
    file = job.files[index]
    if not part.is_file():
        raise RuntimeError(f"the recipe {job.recipe.__qualname__} wrote no {file.path}")
    sync(part)
    fault = file.verify(part, job.recipe, job.select((index,)).inputs) if file.verify else ""
    return Written(part.stat().st_size, sha256_of(part), fault)
