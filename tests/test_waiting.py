"""Threads beside the main one: what they end with comes in time, and one that is gone is not waited for.

CPython ends a thread whose own accounts find no memory (Modules/_threadmodule.c, thread_run); a SystemExit inside a
pool's own loop ends one likewise, without the word that its task failed.
"""

import os
import subprocess
import sys
from concurrent.futures import Future
from itertools import islice
from pathlib import Path

import pytest

from listkit.waiting import Threads, as_they_end
from tests.steps import calls

ROOT = Path(__file__).parents[1]


def test_many_tasks_are_waited_for_in_step_with_their_number() -> None:
    def waited(number: int) -> int:
        futures: list[Future[int]] = [Future() for _ in range(number)]
        for future in futures:
            future.set_result(1)
        return calls(lambda: list(as_they_end(None, futures)))

    assert waited(4_000) < 2.2 * waited(2_000)


def test_each_comes_once_and_as_it_ends() -> None:
    with Threads(2) as pool:
        ended = [future.result() for future in as_they_end(pool, [pool.submit(pow, 2, at) for at in range(50)])]
    assert sorted(ended) == [2**at for at in range(50)]


def test_a_thread_that_is_gone_is_not_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    class Gone:
        def is_alive(self) -> bool:
            return False

    with Threads(1) as pool:
        monkeypatch.setattr(pool, "_mine", [Gone()])
        never: Future[int] = Future()
        assert pool.has_lost_one
        with pytest.raises(MemoryError):
            next(islice(as_they_end(pool, [never]), 1))


@pytest.mark.skipif(sys.platform != "linux", reason="the limit of memory holds there")
def test_no_thread_is_begun_where_there_is_no_room() -> None:
    script = (
        "import resource\n"
        "from listkit.waiting import Threads\n"
        "used = int(open('/proc/self/statm').read().split()[0]) * resource.getpagesize()\n"
        "resource.setrlimit(resource.RLIMIT_AS, (used + 50_000_000,) * 2)\n"
        "try:\n    Threads(2)\nexcept MemoryError:\n    print('told')\n"
    )
    told = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, timeout=60, check=False, cwd=ROOT,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert told.stdout == "told\n", told.stderr
