"""A process that holds no more memory and takes no more time than it may, for what strangers wrote and libraries parse.

`run_limited` starts it and waits. Run as a script, this module bounds the process first and then becomes the worker
that it was given, a script as well, which finds its order in `sys.argv[1]` and writes its answer to stdout.
"""

import importlib.util
import json
import runpy
import signal
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

try:
    import resource
except ImportError:  # not on every system; then time alone is bounded, from outside
    resource = None  # type: ignore[assignment]

_OUT_OF_TIME: Final = -int(getattr(signal, "SIGXCPU", 0))
BOUNDS_PROCESSES: Final = resource is not None
"""Whether this system bounds what a process may have."""
_RESERVED: Final = 2_000_000_000  # bytes of addresses beside, that libraries map or put by for threads and never fill
_LARGEST_FILE: Final = 500_000_000  # bytes that a worker may write into one file


@dataclass(frozen=True, slots=True)
class Ended:
    """How a worker ended: its status, below 0 for a signal, what it answered, and the last lines of what it printed."""

    status: int
    answer: bytes
    lines: tuple[str, ...]

    @property
    def took_too_much(self) -> bool:
        """Whether it was ended by its limits, or by a library that cannot go on within them."""
        return self.status < 0 or (self.status > 0 and any("memory" in line.lower() for line in self.lines))


@dataclass(frozen=True, slots=True)
class Limits:
    """What a worker may take: bytes that it holds, seconds of the processor, and seconds until it is stopped anyway."""

    memory: int
    seconds: int
    patience: int


def run_limited(
    worker: Path,
    order: Mapping[str, object],
    limits: Limits,
    *,
    content: bytes = b"",
    folder: str | None = None,
    environment: Mapping[str, str] | None = None,
) -> Ended:
    """Run a script within limits and return how it ended; it reads `content` from stdin.

    Raises:
        TimeoutError: it did not come to its end in time. Whatever ends this, the process is gone.
        MemoryError: it failed where this system leaves it less memory than it may take.
    """
    ours = (str(Path(__file__)), json.dumps([limits.memory, limits.seconds]), str(worker), json.dumps(order))
    pipe = subprocess.PIPE
    with subprocess.Popen(  # noqa: S603 (our own)
        [sys.executable, "-P", *ours], stdin=pipe, stdout=pipe, stderr=pipe, cwd=folder, env=environment
    ) as process:
        try:
            answer, talk = process.communicate(content, timeout=limits.patience)
        except subprocess.TimeoutExpired:
            raise TimeoutError from None
        finally:  # whatever ends this, the process is gone before its folder is
            process.kill()
            process.wait()
    if process.returncode and not answer and _is_short(limits.memory) and process.returncode != _OUT_OF_TIME:
        raise MemoryError
    return Ended(process.returncode, answer, tuple(talk.decode(errors="replace").strip().splitlines()[-5:]))


def _is_short(memory: int) -> bool:
    """Whether this process, and so any that it starts, may not have so many bytes of memory."""
    if resource is None:
        return False
    hard = resource.getrlimit(resource.RLIMIT_AS)[1]
    return hard != resource.RLIM_INFINITY and hard < memory + _RESERVED


def bound(memory: int, seconds: int) -> None:
    """Let this process have so many bytes and so much time of the processor, where the system can see to that."""
    if resource is None:
        return
    limits = {
        "RLIMIT_DATA": memory,
        "RLIMIT_AS": memory + _RESERVED,
        "RLIMIT_CPU": seconds,
        "RLIMIT_FSIZE": _LARGEST_FILE,
        "RLIMIT_CORE": 0,
    }
    for name, most in limits.items():
        kind = getattr(resource, name)
        hard = resource.getrlimit(kind)[1]
        allowed = most if hard == resource.RLIM_INFINITY else min(most, hard)
        try:
            resource.setrlimit(kind, (allowed, hard))
        except (ValueError, OSError):  # a system that names a limit and does not keep it
            continue


def _find_ours() -> None:
    """Let the worker import this very package, wherever it lies, and nothing else from beside it."""
    spec = importlib.util.spec_from_file_location("listkit", Path(__file__).with_name("__init__.py"))
    if spec is None or spec.loader is None:
        raise RuntimeError("listkit lies where nothing can be imported from")
    sys.modules["listkit"] = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(sys.modules["listkit"])


if __name__ == "__main__":
    _, given, script, sent = sys.argv
    bound(*json.loads(given))
    _find_ours()
    sys.argv = [script, sent]
    runpy.run_path(script, run_name="__main__")
