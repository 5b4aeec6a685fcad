"""Disks that are full or read-only: real ones in a mount namespace of their own where the machine allows one.

Elsewhere a full disk is simulated by the size that a file may have (setrlimit(2), RLIMIT_FSIZE).
"""

import ctypes
import hashlib
import os
import resource
import shutil
import subprocess
import sys
import traceback
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from importlib import import_module
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Final

import pytest

from listkit import __main__ as listkit_main
from tests.real_builds import FORKS, ROOT

_NEW_MOUNTS: Final = 0x20000  # CLONE_NEWNS of unshare(2)
_DISK: Final = """
set -e
mount --make-rprivate /
mkdir -p "$DISK"
mount -t tmpfs -o size=8m tmpfs "$DISK"
cp -a "$SHOP/." "$DISK/"
if [ "$KIND" = full ]; then
  dd if=/dev/zero of="$DISK/filler" bs=4096 2>/dev/null || true
else
  mount -o remount,ro "$DISK"
fi
"""


def files_of(folder: Path) -> dict[str, str]:
    """Return the SHA-256 of every file below a folder, hidden ones among them, and "link" for links."""
    return {
        path.relative_to(folder).as_posix(): "link"
        if path.is_symlink()
        else hashlib.sha256(path.read_bytes()).hexdigest()
        if path.is_file()
        else "folder"
        for path in sorted(folder.rglob("*"))
    }


Ended = tuple[int, str, dict[str, str], dict[str, str]]
"""How a command ended: its status, what it printed, and the files before and after."""


def run_on(kind: str, shop: Path, commands: Sequence[Sequence[str]], program: str = "listkit") -> list[Ended]:
    """Run commands one after the other with a copy of `shop` on a "full" or "read-only" disk; return how each ended.

    In their words SHOP is where the copy is; `program` is a module whose `main` is called with them.
    """
    if shutil.which("unshare") is None or subprocess.run(["unshare", "-m", "true"], check=False).returncode:
        pytest.skip("this machine lets nobody mount a disk of one's own")
    results, pipe = FORKS.Pipe(duplex=False)
    process = FORKS.Process(target=_run_all, args=(kind, shop, commands, program, pipe))
    process.start()
    pipe.close()
    ended: list[Ended] = results.recv()
    process.join(60)
    assert process.exitcode == 0
    return ended


def _run_all(kind: str, shop: Path, commands: Sequence[Sequence[str]], program: str, pipe: Connection) -> None:
    """Mount the disk where this process alone sees it, run the commands on it, and send how they ended."""
    disk, ended = shop.parent / "disk", []
    os.environ.update(KIND=kind, SHOP=str(shop), DISK=str(disk), TMPDIR=str(shop.parent), PYTHONPATH=str(ROOT))
    os.chdir(ROOT)
    if ctypes.CDLL(None, use_errno=True).unshare(_NEW_MOUNTS):
        raise OSError(ctypes.get_errno(), "unshare")
    subprocess.run(["sh", "-c", _DISK], check=True)
    work: Callable[[], int | None] = listkit_main.run if program == "listkit" else import_module(program).main
    for command in commands:
        before = files_of(disk)
        status, printed = _run(work, [word.replace("SHOP", str(disk)) for word in command])
        ended.append((status, printed, before, files_of(disk)))
    pipe.send(ended)


def _run(work: Callable[[], int | None], command: Sequence[str]) -> tuple[int, str]:
    """Do some work in a fork, which has all of it loaded, and return its status and all that it printed."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        for number in (1, 2):
            os.dup2(write, number)
        sys.argv = ["listkit", *command]
        os._exit(_status(work))
    os.close(write)
    with os.fdopen(read, encoding="utf-8") as printed:
        text = printed.read()
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), text


def _status(work: Callable[[], int | None]) -> int:
    """Do some work as a program; return its status."""
    try:
        return work() or 0
    except SystemExit as ended:
        return ended.code if isinstance(ended.code, int) else int(ended.code is not None)
    except BaseException:
        traceback.print_exc()
        return 1
    finally:
        sys.stdout.flush()
        sys.stderr.flush()


@contextmanager
def files_end_at(size: int) -> Iterator[None]:
    """Let no file of this process grow beyond so many bytes."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
