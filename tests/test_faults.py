"""What goes wrong around a real build or record: kills, a full disk, rights taken away, inputs that change, a clock.

After each, every earlier output is whole, the manifest true as far as the journal does not say otherwise, and the
next build right.
"""

import os
import resource
import shutil
import sqlite3
import subprocess
import threading
import time
from contextlib import closing
from functools import partial
from pathlib import Path
from random import Random

import pytest

from tests.real_builds import TwoStates, check_whole, finish, kill_after, left_behind, outputs, start, words


@pytest.fixture(scope="module")
def two(tmp_path_factory: pytest.TempPathFactory) -> TwoStates:
    """A shop in two states with its outputs; every test leaves the folder as a build of one of them."""
    return TwoStates(tmp_path_factory.mktemp("faults"))


def fresh(two: TwoStates) -> None:
    """Bring the folder to the first state, whole."""
    two.fresh()
    assert outputs(two.out) == two.wanted[0]


def assert_next_build_is_right(two: TwoStates) -> None:
    status, told = finish(two.shop, two.out)
    assert status == 0, told
    assert outputs(two.out) == two.wanted[1]
    assert left_behind(two.out) == []


def kill_builds(two: TwoStates, kills: int) -> tuple[int, int]:
    """Kill builds at `kills` moments spread over their length; return how many were at work, and half done."""
    fresh(two)
    two.put(1)
    began = time.perf_counter()
    assert finish(two.shop, two.out)[0] == 0
    length, chance = time.perf_counter() - began, Random(7)
    at_work = between = 0
    for number in range(kills):
        fresh(two)
        two.put(1)
        at_work += kill_after(length * (number + chance.random()) / kills, partial(start, two.shop, two.out))
        between += 0 < check_whole(two) < len(two.wanted[1])
        assert_next_build_is_right(two)
    return at_work, between


def kill_records(two: TwoStates, kills: int) -> int:
    """Kill records at `kills` moments; return how many were kept."""
    fresh(two)
    ledger = two.shop / "ledger.sqlite3"
    began = time.perf_counter()
    assert finish(two.shop, two.out, "record", "web_shop")[0] == 0
    length, kept = time.perf_counter() - began, 0
    for number in range(kills):
        ledger.unlink(missing_ok=True)
        kill_after(length * number / kills, partial(start, two.shop, two.out, "record", "web_shop"))
        status, told = finish(two.shop, two.out, "record", "web_shop")
        assert status == 0, told
        kept += "already" in told
        with closing(sqlite3.connect(ledger)) as connection:
            assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    ledger.unlink()
    assert outputs(two.out) == two.wanted[0]
    return kept


# Two builds a kill, 0.7 CPU seconds: eight are spread over the whole length as fourteen are, and 150 by hand.
@pytest.mark.parametrize("kills", [8, pytest.param(14, marks=pytest.mark.long)])
def test_builds_killed_at_any_moment_leave_every_file_whole_and_the_next_is_right(two: TwoStates, kills: int) -> None:
    at_work, _ = kill_builds(two, kills)
    assert at_work >= kills // 2


def test_records_killed_at_any_moment_are_there_whole_or_not_at_all(two: TwoStates) -> None:
    assert kill_records(two, 6) < 6


@pytest.mark.long
def test_two_hundred_kills_leave_nothing_broken(two: TwoStates, capsys: pytest.CaptureFixture[str]) -> None:
    at_work, between = kill_builds(two, 150)
    kept = kill_records(two, 50)
    with capsys.disabled():
        print(  # noqa: T201 - figures are to be seen
            f"\n150 builds killed: {at_work} at work, {between} of them with some files new and some old; "
            f"50 records killed: {kept} kept, {50 - kept} not begun; nothing broken"
        )


@pytest.mark.parametrize("most", [0, 300, 3_000, 30_000])
def test_a_full_disk_is_told_and_leaves_the_old_files(two: TwoStates, most: int) -> None:
    """Simulated by the size that a file may have (setrlimit(2), RLIMIT_FSIZE): writing beyond it fails."""
    fresh(two)
    two.put(1)
    limit = partial(resource.setrlimit, resource.RLIMIT_FSIZE, (most, most))
    status, told = finish(two.shop, two.out, first=limit)
    assert status == 1
    assert "File too large" in told
    check_whole(two)
    assert_next_build_is_right(two)


def test_a_folder_that_may_not_be_written_to_is_told_and_left_alone(two: TwoStates) -> None:
    if os.geteuid() == 0 and shutil.which("setpriv") is None:
        pytest.skip("as root without setpriv no right can be taken away")
    fresh(two)
    two.put(1)
    before = outputs(two.out)
    two.out.chmod(0o555)
    (two.out / "web_shop").chmod(0o555)
    try:
        told = _without_rights(two)
    finally:
        two.out.chmod(0o755)
        (two.out / "web_shop").chmod(0o755)
    assert "ermission denied" in told
    assert "Traceback" not in told
    assert outputs(two.out) == before
    assert_next_build_is_right(two)


def _without_rights(two: TwoStates) -> str:
    """Build as one who is bound by rights: root is not, unless that power is given up (capabilities(7))."""
    command, root = words(two.shop, two.out), Path(__file__).parents[1]
    given_up = ["setpriv", "--bounding-set=-dac_override", "--inh-caps=-dac_override"] if os.geteuid() == 0 else []
    done = subprocess.run([*given_up, *command], capture_output=True, text=True, check=False, cwd=root)
    assert done.returncode == 1
    return done.stdout + done.stderr


def test_inputs_that_come_and_go_during_a_build_do_no_harm(two: TwoStates) -> None:
    fresh(two)
    ended, files = threading.Event(), [two.shop / "items.csv", two.shop / "sets/dawn/photos/detail.png"]
    kept = [file.read_bytes() for file in files]

    def meddle() -> None:
        number = 0
        while not ended.is_set():
            file, content = files[number % 2], kept[number % 2]
            file.unlink(missing_ok=True) if number % 3 else file.write_bytes(content[: len(content) // 2])
            time.sleep(0.01)
            file.write_bytes(content)
            number += 1

    meddler = threading.Thread(target=meddle)
    meddler.start()
    try:
        statuses = [finish(two.shop, two.out)[0] for _ in range(5)]
    finally:
        ended.set()
        meddler.join()
    assert set(statuses) <= {0, 1}
    two.put(1)
    assert_next_build_is_right(two)


def test_of_two_builds_at_once_one_may_be_sent_away_and_the_folder_is_right(two: TwoStates) -> None:
    fresh(two)
    two.put(1)
    both = [start(two.shop, two.out) for _ in range(2)]
    ends = [running.end() for running in both]
    for status, printed in ends:
        assert status == 0 or "another build is writing" in printed, printed
    assert 0 in {status for status, _ in ends}
    assert_next_build_is_right(two)


def test_a_clock_set_back_or_far_ahead_makes_no_wrong_file(two: TwoStates) -> None:
    fresh(two)
    for path in [*two.shop.rglob("*"), *two.out.rglob("*")]:
        os.utime(path, (4_102_444_800, 4_102_444_800))  # 2100-01-01
    two.put(1)
    for path in two.shop.rglob("*"):
        os.utime(path, (0, 0))
    assert finish(two.shop, two.out, "build", "--today", "2020-01-01", "--accept-large-changes")[0] in (0, 1)
    assert_next_build_is_right(two)
