"""How a process ends when a signal asks it to: one line, the status that a shell gives, nothing half made, none behind.

Exit statuses are those of POSIX.1-2017, Shell & Utilities, 2.8.2: a command ended by a signal has a status greater than
128; 128 and the signal's number is what shells give (bash, "Exit Status"), and kill -l takes such a status back.
"""

import os
import signal
import subprocess
import sys
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from listkit.save.temporary import MARK, PREFIX, WORK
from tests.moments import Moment
from tests.real_builds import JOURNAL, ROOT, Running, TwoStates, check_whole, finish, left_behind, outputs, words
from tests.samples import in_turn

LINE = "Stopped. What was made before is whole, and the next build goes on from there.\n"
NOTHING_BEGUN = "Stopped. Nothing was begun.\n"
START_UP = [
    Moment("open", "/ending."),
    Moment("import", "listkit.cli"),
    Moment("import", "argparse"),
    Moment("open", "cli/__pycache__/build."),
    Moment("import", "pydantic"),
    Moment("import", "PIL"),
    Moment("import", "sqlite3"),
    Moment("import", which=300),
    Moment("import", which=600),
]
AT_WORK = [
    Moment("open", "shop.toml"),
    Moment("open", "items.csv"),
    Moment("open", "story.md"),
    Moment("open", "out/.lock"),
    Moment("open", "out/.making.jsonl"),
    Moment("open", ".part"),
    Moment("os.rename"),
    Moment("os.rename", which=4),
    Moment("os.rename", "manifest.json"),
    Moment("os.rename", ".made.json"),
    Moment("subprocess.Popen"),
    Moment("os.mkdir", PREFIX),
    Moment("open", PREFIX),
    Moment("open", MARK),
    Moment("shutil.rmtree", WORK),
    Moment("os.remove", "out.pdf"),
    Moment("os.remove", MARK),
    Moment("os.rmdir", PREFIX),
    Moment("import", "typst", whom="parent"),
    Moment("import", "typst", whom="group"),
]


class Stage:
    """A shop in its second state over the outputs of its first, laid out anew for each moment."""

    def __init__(self, folder: Path) -> None:
        self.two = TwoStates(folder)
        self.folder = folder / "moment"

    def lay_out(self) -> None:
        """Put the outputs of the first state back, and the shop into its second."""
        self.two.fresh()
        self.two.put(1)

    def begin(self, moment: Moment, number: signal.Signals) -> "subprocess.Popen[str]":
        """Begin a build that the signal strikes at a moment; what nohup ignores for the tests, it does not."""
        self.lay_out()
        surroundings = moment.surroundings(self.folder, number, ROOT)
        command, pipe = words(self.two.shop, self.two.out), subprocess.PIPE
        how: dict[str, Any] = {"preexec_fn": partial(signal.signal, signal.SIGHUP, signal.SIG_DFL)}
        return subprocess.Popen(
            command, cwd=ROOT, env=surroundings, stdout=pipe, stderr=pipe, text=True, start_new_session=True, **how
        )

    def strike(self, moment: Moment, number: signal.Signals) -> tuple[int, str, str]:
        """Run a build that the signal strikes at a moment; return its status, stdout and stderr."""
        running = self.begin(moment, number)
        told = running.communicate(timeout=120)
        assert (self.folder / "reached").exists(), "the moment never came"
        return running.returncode, *told

    def strike_at_work(
        self, moment: Moment, number: signal.Signals, hangup: signal.Handlers = signal.SIG_DFL
    ) -> tuple[int, str]:
        """Do the same to a build that begins with all of listkit loaded; return its status and all that it printed."""
        self.lay_out()
        first = partial(moment.await_here, moment.surroundings(self.folder, number, ROOT), hangup)
        ended = Running(words(self.two.shop, self.two.out)[3:], first, whole=True).end()
        assert (self.folder / "reached").exists(), "the moment never came"
        return ended

    def temporary(self) -> list[str]:
        """Return what lies in the folder for temporary files."""
        return sorted(path.name for path in (self.folder / "temporary").iterdir())

    def worker_is_gone(self) -> bool:
        """Whether the process that reached the moment is no more, or waits for somebody to ask for its status."""
        status = Path("/proc", (self.folder / "reached").read_text(), "stat")
        try:
            return status.read_text().rpartition(")")[2].split()[0] in "ZX"
        except OSError:
            return True


@pytest.fixture(scope="module")
def stage(tmp_path_factory: pytest.TempPathFactory) -> Stage:
    return Stage(tmp_path_factory.mktemp("endings"))


def assert_ended_in_one_line(stage: Stage, moment: Moment, number: signal.Signals) -> None:
    if moment in START_UP:
        status, result, told = stage.strike(moment, number)
        assert result == ""
    else:
        status, told = stage.strike_at_work(moment, number)
    before = told.removeprefix("Nothing to fix, nothing to look at.\n")
    assert before == (NOTHING_BEGUN if moment == START_UP[0] else LINE)
    assert status == 128 + number
    check_whole(stage.two)
    assert [name for name in left_behind(stage.two.out) if name != JOURNAL] == []
    assert stage.temporary() == []
    assert moment.whom == "process" or stage.worker_is_gone()


@pytest.mark.parametrize("moment", START_UP + AT_WORK, ids=str)
def test_ctrl_c_gives_one_line_at_any_moment_and_leaves_every_file_whole(stage: Stage, moment: Moment) -> None:
    assert_ended_in_one_line(stage, moment, signal.SIGINT)
    if moment in AT_WORK[3::4]:
        status, told = finish(stage.two.shop, stage.two.out)
        assert status == 0, told
        assert outputs(stage.two.out) == stage.two.wanted[1]


@pytest.mark.parametrize("which", [1, 2])
def test_pictures_that_threads_are_at_are_left_to_the_next_build(stage: Stage, tmp_path: Path, which: int) -> None:
    """A thread opens a photo to measure it, then to cut it; the signal comes there."""
    stage.two.put(1)
    surroundings = Moment("open", "detail.png", which).surroundings(stage.folder, signal.SIGINT, ROOT)
    command = [*words(stage.two.shop, tmp_path / "out"), "--jobs", "2"]
    ended = subprocess.run(command, cwd=ROOT, env=surroundings, capture_output=True, text=True, check=False)
    assert (ended.returncode, ended.stderr.endswith(LINE), "Traceback" in ended.stderr) == (130, True, False)
    assert [name for name in left_behind(tmp_path) if name != JOURNAL] == []
    assert finish(stage.two.shop, tmp_path / "out")[0] == 0
    assert outputs(tmp_path / "out") == stage.two.wanted[1]


# One handler serves all signals: each moment with one of two by default, these in turn, and with both by hand.
OTHERS = in_turn([START_UP[1], START_UP[4], *AT_WORK[1:16:5], *AT_WORK[-2:]], [signal.SIGTERM, signal.SIGHUP])


@pytest.mark.parametrize(("moment", "number"), OTHERS, ids=str)
def test_so_do_the_other_signals(stage: Stage, moment: Moment, number: signal.Signals) -> None:
    assert_ended_in_one_line(stage, moment, number)


def test_a_shell_sees_the_status_of_the_signal(stage: Stage) -> None:
    stage.lay_out()
    surroundings = Moment("open", "items.csv").surroundings(stage.folder, signal.SIGTERM, ROOT)
    script = '"$@"; kill -l $?'
    command = ["sh", "-c", script, "sh", *words(stage.two.shop, stage.two.out)]
    ended = subprocess.run(command, cwd=ROOT, env=surroundings, capture_output=True, text=True, check=False)
    assert ended.stdout.strip().removeprefix("SIG") == "TERM"


def test_what_nohup_ignores_stays_ignored(stage: Stage) -> None:
    """POSIX.1-2017, nohup: the utility is invoked with its SIGHUP signal ignored."""
    status, _ = stage.strike_at_work(Moment("open", "items.csv"), signal.SIGHUP, signal.SIG_IGN)
    assert status == 0
    assert outputs(stage.two.out) == stage.two.wanted[1]


def test_a_folder_that_a_kill_left_is_swept_at_the_next_build(stage: Stage) -> None:
    running = stage.begin(Moment("import", "typst", whom="parent"), signal.SIGKILL)
    running.communicate()
    os.kill(int((stage.folder / "reached").read_text()), signal.SIGKILL)  # the worker, which nobody is left to stop
    assert running.returncode == -signal.SIGKILL
    assert [name.startswith(PREFIX) for name in stage.temporary()] == [True]
    surroundings = Moment("none").surroundings(stage.folder, signal.SIGTERM, ROOT)
    command = [*words(stage.two.shop, stage.two.out), "--channel", "stall"]  # which prints nothing
    assert subprocess.run(command, cwd=ROOT, env=surroundings, capture_output=True, check=False).returncode == 0
    assert stage.temporary() == []


# What a command may do with the exception that a signal raises


def listening(command: str, *, before: str = "") -> tuple[int, str, str]:
    """Run Python with `command` as the body of a function that listens; return status, stdout and stderr."""
    body = "\n    ".join(command.splitlines())
    code = (
        f"import signal, sys, time\nfrom listkit import ending\n{before}\n"
        f"def command():\n    {body}\n    return 0\n"
        "sys.exit(ending.listening(command))\n"
    )
    surroundings = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        [sys.executable, "-c", code], env=surroundings, capture_output=True, text=True, check=False, timeout=60
    )
    return done.returncode, done.stdout, done.stderr


STRIKE = "signal.raise_signal(signal.SIGTERM)"


def test_a_command_that_swallows_it_is_ended_all_the_same() -> None:
    assert listening(f"try:\n    {STRIKE}\nexcept BaseException:\n    pass") == (143, "", LINE)


def test_it_ends_the_process_where_the_interpreter_drops_exceptions() -> None:
    """Python, object.__del__: exceptions that occur during its execution are ignored."""
    lost = f"class Lost:\n    def __del__(self):\n        {STRIKE}\n"
    assert listening("Lost()\nprint('went on')", before=lost) == (143, "", LINE)


def test_a_second_signal_does_not_cut_short_what_is_taken_back() -> None:
    command = f"try:\n    {STRIKE}\nfinally:\n    {STRIKE}\n    print('taken back', flush=True)"
    assert listening(command) == (143, "taken back\n", LINE)


def test_what_takes_too_long_to_take_back_is_cut_short() -> None:
    command = f"try:\n    {STRIKE}\nfinally:\n    time.sleep(600)"
    assert listening(command, before="ending.GRACE = 0.1") == (143, "", LINE)


def test_a_command_that_is_done_is_not_stopped_any_more() -> None:
    assert listening("import atexit\natexit.register(signal.raise_signal, signal.SIGTERM)") == (0, "", "")


def test_nobody_who_hears_the_line_changes_nothing(stage: Stage) -> None:
    stage.lay_out()
    surroundings = Moment("open", "items.csv").surroundings(stage.folder, signal.SIGINT, ROOT)
    with Path("/dev/full").open("w") as full:
        command = words(stage.two.shop, stage.two.out)
        ended = subprocess.run(command, cwd=ROOT, env=surroundings, stdout=full, stderr=full, check=False)
    assert ended.returncode == 130
