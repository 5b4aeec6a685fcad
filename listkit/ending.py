"""How the process ends when a signal asks it to: what was begun is taken back, and one line printed.

The first signal raises `Stopped` in the main thread, so that every `with` and `finally` on the way up is kept:
transactions are rolled back, temporary files removed, worker processes stopped. Further signals change nothing. Where
`Stopped` gets lost, or GRACE seconds are not enough, the process ends on the spot, which loses no more than a kill.
Nothing of ours is imported and little else, because this comes first.

The statuses are those that a shell reports for a process ended by the signal (POSIX, Shell Command Language, 2.8.2).
"""

import _thread
import os
import signal
import sys
import time
from collections.abc import Callable
from types import FrameType
from typing import NoReturn

GRACE = 5.0  # seconds; the picture that a thread is at takes less
_LINE = "Stopped. What was made before is whole, and the next build goes on from there."
_SIGNALS = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name))
_SHOW_CURSOR = "\r\x1b[K\x1b[?25h"  # which a progress bar hides (DEC private mode 25); its line is cleared


class Stopped(KeyboardInterrupt):
    """A signal asks the process to end. It is no Exception, so that only what catches KeyboardInterrupt catches it."""


# A process ends once. Only whole operations of the interpreter touch these, since a signal may come between any two.
_asked: list[int] = []
_unsaid = [_LINE]


def listening(command: Callable[[], int]) -> int:
    """Run a command in the main thread and return its exit status; a signal ends the process instead.

    Signals that were ignored before stay so, as `nohup` wants it. Afterwards all are ignored: the work is done.
    """
    report = sys.unraisablehook

    def end_if_stopped(fault: "sys.UnraisableHookArgs") -> None:
        if isinstance(fault.exc_value, Stopped):  # raised where the interpreter can only drop it
            _end()
        report(fault)

    sys.unraisablehook = end_if_stopped
    heard = [number for number in _SIGNALS if signal.getsignal(number) is not signal.SIG_IGN]
    try:
        for number in heard:
            signal.signal(number, _stop)
        status = command()
        raise_if_asked()
        for number in heard:
            signal.signal(number, signal.SIG_IGN)
    except Stopped:
        _end()
    return status


def raise_if_asked() -> None:
    """Raise `Stopped` again where a library has swallowed it or made another exception of it."""
    if _asked:
        raise Stopped


def _stop(number: int, _frame: FrameType | None) -> None:
    if not _asked:
        _asked.append(number)
        _thread.start_new_thread(_end_later, ())
        raise Stopped


def _end_later() -> None:
    time.sleep(GRACE)
    _end()


def _end() -> NoReturn:
    """Say why, past all streams, which may be in the middle of something, and leave."""
    try:
        line = _unsaid.pop()
        os.write(2, f"{_SHOW_CURSOR if os.isatty(2) else ''}{line}\n".encode())
    except (IndexError, OSError):  # it was said, or nobody can hear it
        pass
    os._exit(128 + _asked[0])
