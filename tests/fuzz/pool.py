"""Runs many cases in worker processes and gathers what came of them; a worker that dies is told and replaced."""

import json
import subprocess
import sys
import threading
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import Final

from tests.fuzz.worker import Outcome

ROOT: Final = Path(__file__).parents[2]
COMMANDS: Final = "tests.fuzz.worker"
DESK: Final = "tests.fuzz.desk_worker"
"""The modules whose processes run cases: of commands, of requests to the desk."""


@dataclass(frozen=True, slots=True)
class Summary:
    """All outcomes, by number."""

    outcomes: tuple[Outcome, ...]

    @property
    def faults(self) -> tuple[Outcome, ...]:
        """Those that broke a promise."""
        return tuple(one for one in self.outcomes if one.fault)

    def __str__(self) -> str:
        """Return the figures in one line."""
        slowest = max(self.outcomes, key=lambda one: one.seconds)
        largest = max(one.peak for one in self.outcomes)
        sound = sum(one.status == 0 for one in self.outcomes)
        return (
            f"{len(self.outcomes)} cases, {len(self.faults)} faults; {sound} ended well, the others were told what to "
            f"mend; slowest {slowest.seconds:.1f} s (case {slowest.number}), most memory {largest / 1e6:.0f} MB"
        )


def run_cases(
    numbers: Iterable[int],
    workers: int = 2,
    tell: Callable[[Outcome], None] | None = None,
    *,
    module: str = COMMANDS,
) -> Summary:
    """Run the cases in so many processes of a module; `tell` is given each outcome as it comes."""
    waiting: SimpleQueue[int] = SimpleQueue()
    for number in numbers:
        waiting.put(number)
    found: list[Outcome] = []
    threads = [
        threading.Thread(target=_work, args=(module, waiting, found, tell or (lambda _: None))) for _ in range(workers)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return Summary(tuple(sorted(found, key=lambda one: one.number)))


def _work(module: str, waiting: SimpleQueue[int], found: list[Outcome], tell: Callable[[Outcome], None]) -> None:
    worker = _start(module)
    while True:
        try:
            number = waiting.get_nowait()
        except Empty:
            break
        outcome = _ask(worker, number)
        if outcome is None:
            _, said = worker.communicate()
            outcome = Outcome(number, "", "", -1, 60.0, 0, f"the process ended: {said[-3000:]}")
            worker = _start(module)
        found.append(outcome)
        tell(outcome)
    worker.communicate()


def _start(module: str) -> "subprocess.Popen[str]":
    worker = subprocess.Popen(
        [sys.executable, "-m", module], cwd=ROOT, text=True, encoding="utf-8",
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip
    assert worker.stdout is not None
    if worker.stdout.readline() != "ready\n":
        raise RuntimeError(worker.communicate()[1])
    return worker


def _ask(worker: "subprocess.Popen[str]", number: int) -> Outcome | None:
    assert worker.stdin is not None
    assert worker.stdout is not None
    try:
        worker.stdin.write(f"{number}\n")
        worker.stdin.flush()
        answer = worker.stdout.readline()
    except BrokenPipeError:
        return None
    return Outcome(**json.loads(answer)) if answer else None
