"""Strikes a real `listkit` process at a moment that is named, not timed: its n-th import, opening, renaming and so on.

A moment is an audit event of Python (PEP 578), a text that its arguments hold, and which such event it is. The process
sends the signal to itself there; or the page-printing worker sends it to the process or to both, and works on. What is
struck while Python starts is a process started anew; what is struck later may be a fork that has loaded listkit before.
"""

import os
import signal
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Final

_HOOK: Final = """
import os, sys, time

event, text, which, number, whom = os.environ["MOMENT"].split("|")
left = int(which)
in_worker = any("print_worker" in argument for argument in sys.orig_argv)

def strike(name, arguments):
    global left
    if name != event or not left or text not in str(arguments):
        return
    left -= 1
    if left:
        return
    with open(os.environ["MOMENT_FILE"], "w") as reached:
        reached.write(str(os.getpid()))
    if whom == "process":
        os.kill(os.getpid(), int(number))
    else:
        os.kill(os.getppid(), int(number)) if whom == "parent" else os.killpg(0, int(number))
        time.sleep(600)  # at work until it is stopped

if in_worker == (whom != "process"):
    sys.addaudithook(strike)
"""


@dataclass(frozen=True, slots=True)
class Moment:
    """An event, a text in its arguments, which of them; whom the signal goes to: process, parent or group."""

    event: str
    text: str = ""
    which: int = 1
    whom: str = "process"

    def __str__(self) -> str:
        return f"{self.event} {self.text} {self.which} {self.whom}"

    def await_here(self, surroundings: dict[str, str], hangup: signal.Handlers) -> None:
        """Wait for the moment in this process, which then is as one that was started with these surroundings."""
        os.setsid()
        os.environ.update(surroundings)
        tempfile.tempdir = None  # which is looked up anew
        signal.signal(signal.SIGHUP, hangup)
        sys.orig_argv = ["listkit"]  # not that of what it is a fork of, which names all modules
        exec(_HOOK, {})

    def surroundings(self, folder: Path, number: signal.Signals, root: Path) -> dict[str, str]:
        """Return the environment of a process that the signal strikes at this moment; `folder` keeps what it needs."""
        folder.mkdir(exist_ok=True)
        (folder / "sitecustomize.py").write_text(_HOOK, encoding="utf-8")
        (folder / "reached").unlink(missing_ok=True)
        temporary = folder / "temporary"
        temporary.mkdir(exist_ok=True)
        return {
            **os.environ,
            "PYTHONPATH": f"{folder}{os.pathsep}{root}",
            "MOMENT": f"{self.event}|{self.text}|{self.which}|{int(number)}|{self.whom}",
            "MOMENT_FILE": str(folder / "reached"),
            "TMPDIR": str(temporary),
        }
