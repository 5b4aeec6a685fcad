"""Disks that are full or read-only: real ones in a mount namespace of their own where the machine allows one.

Elsewhere a full disk is simulated by the size that a file may have (setrlimit(2), RLIMIT_FSIZE).
"""

import hashlib
import json
import os
import resource
import runpy
import shutil
import subprocess
import sys
import traceback
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from typing import Final

import pytest

from listkit import __main__ as listkit_main
from tests.real_builds import MODULES

ROOT: Final = Path(__file__).parents[1]
_DISK: Final = """
set -e
mkdir -p "$DISK"
mount -t tmpfs -o size=8m tmpfs "$DISK"
cp -a "$SHOP/." "$DISK/"
if [ "$KIND" = full ]; then
  dd if=/dev/zero of="$DISK/filler" bs=4096 2>/dev/null || true
else
  mount -o remount,ro "$DISK"
fi
exec "$PYTHON" -c "import tests.disks; tests.disks.run_all()"
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

    In their words SHOP is where the copy is; `program` is a module that is run with them.
    """
    if shutil.which("unshare") is None or subprocess.run(["unshare", "-m", "true"], check=False).returncode:
        pytest.skip("this machine lets nobody mount a disk of one's own")
    disk = shop.parent / "disk"
    env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHON": sys.executable, "SHOP": str(shop), "DISK": str(disk)}
    done = subprocess.run(
        ["unshare", "-m", "sh", "-c", _DISK],
        env={**env, "KIND": kind, "PROGRAM": program, "TMPDIR": str(shop.parent)}, cwd=ROOT,
        input=json.dumps([[word.replace("SHOP", str(disk)) for word in command] for command in commands]),
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    return [tuple(ended) for ended in json.loads(done.stdout)]


def run_all() -> None:
    """Run the commands that stdin names on the disk, each in a process of its own; print how they ended as JSON."""
    disk, ended = Path(os.environ["DISK"]), []
    for module in MODULES:  # loaded once for all of them
        import_module(module)
    for command in json.load(sys.stdin):
        before = files_of(disk)
        status, printed = _run(command)
        ended.append((status, printed, before, files_of(disk)))
    sys.stdout.write(json.dumps(ended))


def _run(command: Sequence[str]) -> tuple[int, str]:
    """Run listkit in a fork, which has it loaded, and return its status and all that it printed."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        for number in (1, 2):
            os.dup2(write, number)
        sys.argv = ["listkit", *command]
        if os.environ["PROGRAM"] == "listkit":
            os._exit(listkit_main.run())
        os._exit(_run_module(os.environ["PROGRAM"]))
    os.close(write)
    with os.fdopen(read, encoding="utf-8") as printed:
        text = printed.read()
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), text


def _run_module(name: str) -> int:
    """Run a module as a program; return its status."""
    try:
        runpy.run_module(name, run_name="__main__")
    except SystemExit as ended:
        return ended.code if isinstance(ended.code, int) else int(ended.code is not None)
    except BaseException:
        traceback.print_exc()
        return 1
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
    return 0


@contextmanager
def files_end_at(size: int) -> Iterator[None]:
    """Let no file of this process grow beyond so many bytes."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
