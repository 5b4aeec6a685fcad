"""The last catch: what no command foresaw becomes one line and a status, as does an output that cannot be printed to.

`main` itself catches nothing, so tests see every exception; only the program comes by here.
"""

import errno
import io
import os
import sys
from collections.abc import Sequence
from types import TracebackType
from typing import Any, Final, TextIO

import listkit
from listkit.cli import TRACE, main
from listkit.ending import raise_if_asked
from listkit.problem import NO_MEMORY, one_line

UNFORESEEN: Final = 70  # EX_SOFTWARE of <sysexits.h>
UNPRINTED: Final = 74  # EX_IOERR
_PACKAGE: Final = os.path.dirname(os.path.abspath(listkit.__file__)) + os.sep
_STDOUT: Final = 1
_STDERR: Final = 2


class UnprintedError(Exception):
    """Standard output cannot be written to. It is no OSError, so that nobody takes it for a file of the shop."""


class _Output(io.FileIO):
    """Standard output, whose faults are known as its own."""

    def write(self, content: Any, /) -> int:  # noqa: ANN401 - whatever holds bytes
        try:
            return super().write(content)
        except OSError as fault:
            raise UnprintedError(fault.errno, fault.strerror or str(fault)) from fault


class _Talk(io.FileIO):
    """Standard error: where nobody can hear it, the exit status alone speaks."""

    def write(self, content: Any, /) -> int:  # noqa: ANN401 - whatever holds bytes
        try:
            return super().write(content)
        except OSError:
            return len(memoryview(content).cast("B"))


def run(arguments: Sequence[str]) -> int:
    """Run one command and return its exit status, whatever happens; only what stops the process goes through."""
    _settle_streams()
    try:
        status = _status_of(arguments)
        sys.stdout.flush()
    except UnprintedError as fault:
        number, reason = fault.args
        os.dup2(os.open(os.devnull, os.O_WRONLY), _STDOUT)  # what is still to be written goes nowhere
        if number == errno.EPIPE:  # whoever reads has seen enough
            return 1
        print(f"The output cannot be printed: {reason}. Send it where it can be written.", file=sys.stderr)
        return UNPRINTED
    return status


def _status_of(arguments: Sequence[str]) -> int:
    try:
        return main(arguments)
    except SystemExit as ended:  # argparse: help was printed, or an option is wrong
        return ended.code if isinstance(ended.code, int) else int(ended.code is not None)
    except (KeyboardInterrupt, UnprintedError):
        raise
    except BaseException as fault:  # a library that is not Python's may raise what is no Exception
        raise_if_asked()
        if TRACE in arguments:
            sys.__excepthook__(type(fault), fault, fault.__traceback__)
        if lacks_memory(fault):
            print(f"There is not enough memory. {NO_MEMORY}", file=sys.stderr)
            return 1
        print(unforeseen(fault), file=sys.stderr)
        return UNFORESEEN


def lacks_memory(fault: BaseException) -> bool:
    """Whether the system had no memory left: for an object, a thread, a lock, or a library that is loaded.

    A library that does not look whether it was given memory leaves the interpreter without an exception to raise; so
    does a mistake in one, where there is room enough.
    """
    if isinstance(fault, OSError):
        return fault.errno == errno.ENOMEM
    if isinstance(fault, SystemError):
        return any(each in str(fault) for each in _NOT_RAISED) and not _has_room()
    kinds = [phrases for kind, phrases in _WITHOUT_MEMORY if isinstance(fault, kind)]
    return isinstance(fault, MemoryError) or any(each in str(fault) for phrases in kinds for each in phrases)


_NOT_MAPPED: Final = ("failed to map segment", "annot allocate memory", "annot create shared object descriptor")
"""What the loader of shared libraries says of its own: glibc's elf/dl-load.c and dl-object.c."""
_WITHOUT_MEMORY: Final = (
    (ImportError, _NOT_MAPPED),
    (RuntimeError, ("can't start new thread", "can't allocate", "cannot allocate")),
)
"""What else is raised for want of memory; CPython's Python/errors.c, Objects/call.c and Modules have these words."""
_NOT_RAISED: Final = ("without exception set", "without setting an exception")
_ROOM: Final = 64_000_000  # bytes that any library gets where memory does not lack


def _has_room() -> bool:
    try:
        bytearray(_ROOM)
    except MemoryError:
        return False
    return True


def unforeseen(fault: BaseException) -> str:
    """Return the one line for an exception that nobody foresaw: what and where it was, what to send, and to whom."""
    what = f"{type(fault).__name__}: {fault}" if str(fault) else type(fault).__name__
    where = f"{_place(fault.__traceback__)}listkit {listkit.__version__}"
    return (
        f"listkit made a mistake of its own ({where}): {one_line(what)} - Send this line, and the file of your shop "
        f"that it was about, to whoever gave you listkit. {TRACE} prints how it came about."
    )


def _place(at: TracebackType | None) -> str:
    """Return the innermost line of ours that an exception came through, "" when it came through none."""
    place = ""
    while at is not None:
        path = os.path.abspath(at.tb_frame.f_code.co_filename)
        if path.startswith(_PACKAGE):
            place = f"{path.removeprefix(_PACKAGE).replace(os.sep, '/')}, line {at.tb_lineno}; "
        at = at.tb_next
    return place


def _settle_streams() -> None:
    """Let standard streams be there, even where they were closed, and know their own faults.

    A closed one would lend its number to the next file that is opened, which could be the ledger (SQLite, "How To
    Corrupt An SQLite Database File", 2.1).
    """
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_WRONLY if number == _STDERR else os.O_RDONLY)
    sys.stdout = _settled(sys.stdout, _Output, _STDOUT)
    sys.stderr = _settled(sys.stderr, _Talk, _STDERR)


def _settled(stream: TextIO | None, kind: type[io.FileIO], number: int) -> TextIO:
    """Return a stream that writes as the given one does, through `kind`; a console's own way is left alone."""
    raw = kind(number, "w", closefd=False)
    if stream is None:
        return io.TextIOWrapper(io.BufferedWriter(raw), encoding="utf-8")
    if not isinstance(stream, io.TextIOWrapper) or type(getattr(stream.buffer, "raw", stream.buffer)) is not io.FileIO:
        return stream
    buffered = hasattr(stream.buffer, "raw")  # not with PYTHONUNBUFFERED
    return io.TextIOWrapper(
        io.BufferedWriter(raw) if buffered else raw,
        encoding=stream.encoding,
        errors=stream.errors,
        line_buffering=stream.line_buffering,
        write_through=stream.write_through,
    )
