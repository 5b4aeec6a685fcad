import os
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from listkit.paths import LOCK
from listkit.problem import BlockedError
from listkit.save.out_folder import locked

HOLD = """
import sys, time
from pathlib import Path
from listkit.save.out_folder import locked
with locked(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(60)
"""


def test_a_second_process_is_refused_in_plain_words_and_let_in_when_the_first_is_killed(tmp_path: Path) -> None:
    other = subprocess.Popen([sys.executable, "-c", HOLD, str(tmp_path)], stdout=subprocess.PIPE, text=True)
    try:
        assert other.stdout is not None
        assert other.stdout.readline() == "held\n"
        refusal = f"another build is writing into {tmp_path.name} just now"
        with pytest.raises(BlockedError, match=refusal), locked(tmp_path):
            pass
    finally:
        other.kill()
        other.communicate()
    with locked(tmp_path):
        assert (tmp_path / LOCK).exists()


FORK = """
import multiprocessing, os, sys, time
from pathlib import Path
from listkit.save.out_folder import locked
with locked(Path(sys.argv[1])):
    worker = multiprocessing.get_context("fork").Process(target=time.sleep, args=(60,))
    worker.start()
    print(worker.pid, flush=True)
    time.sleep(60)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="Windows does not fork")
def test_a_worker_that_outlives_a_killed_build_does_not_keep_its_lock(tmp_path: Path) -> None:
    build = subprocess.Popen([sys.executable, "-c", FORK, str(tmp_path)], stdout=subprocess.PIPE, text=True)
    assert build.stdout is not None
    worker = int(build.stdout.readline())
    build.kill()
    build.wait()
    build.stdout.close()
    try:
        os.kill(worker, 0)  # it lives: else this raises
        with locked(tmp_path):
            pass
    finally:
        os.kill(worker, signal.SIGKILL)


def test_a_second_thread_is_refused_too_and_does_not_break_the_first_ones_lock(tmp_path: Path) -> None:
    refused: list[str] = []

    def second() -> None:
        try:
            with locked(tmp_path):
                pass
        except BlockedError as fault:
            refused.append(fault.hint)

    with locked(tmp_path):
        thread = threading.Thread(target=second)
        thread.start()
        thread.join()
        other = subprocess.run([sys.executable, "-c", HOLD, str(tmp_path)], capture_output=True, text=True, check=False)
        assert "BusyError" in other.stderr
    assert refused == ["Wait until it has ended, then do this once more."]


def test_two_folders_are_locked_apart_and_one_again_after_it_was_let_go(tmp_path: Path) -> None:
    one, other = tmp_path / "one", tmp_path / "other"
    one.mkdir()
    other.mkdir()
    with locked(one), locked(other):
        pass
    with locked(one):
        pass


@pytest.mark.skipif(sys.platform == "win32", reason="there are no pipes with a name")
def test_what_takes_no_lock_is_told(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / LOCK)
    with pytest.raises(BlockedError, match=r"\.lock in .* is no plain file"), locked(tmp_path):
        pass
