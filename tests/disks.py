"""Disks that are full or read-only: real ones in a mount namespace of their own where the machine allows one.

Elsewhere a full disk is simulated by the size that a file may have (setrlimit(2), RLIMIT_FSIZE).
"""

import hashlib
import json
import os
import resource
import shutil
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

import pytest

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
exec "$PYTHON" -m tests.disks "$@"
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


def run_on(
    kind: str, shop: Path, words: Sequence[str], program: str = "listkit"
) -> tuple[int, str, dict[str, str], dict[str, str]]:
    """Run a command with a copy of `shop` on a "full" or "read-only" disk; return status, text, files before and after.

    In `words` SHOP is where the copy is; `program` is a module that is run.
    """
    if shutil.which("unshare") is None or subprocess.run(["unshare", "-m", "true"], check=False).returncode:
        pytest.skip("this machine lets nobody mount a disk of one's own")
    disk = shop.parent / "disk"
    env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHON": sys.executable, "SHOP": str(shop), "DISK": str(disk)}
    done = subprocess.run(
        ["unshare", "-m", "sh", "-c", _DISK, "sh", *(word.replace("SHOP", str(disk)) for word in words)],
        env={**env, "KIND": kind, "PROGRAM": program, "TMPDIR": str(shop.parent)},
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    told: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return told["status"], told["text"], told["before"], told["after"]


@contextmanager
def files_end_at(size: int) -> Iterator[None]:
    """Let no file of this process grow beyond so many bytes."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


def _main() -> None:
    """Run listkit on the disk; print what came of it as JSON."""
    disk = Path(os.environ["DISK"])
    before = files_of(disk)
    command = [sys.executable, "-m", os.environ["PROGRAM"], *sys.argv[1:]]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    told = {"status": done.returncode, "text": done.stdout + done.stderr, "before": before, "after": files_of(disk)}
    sys.stdout.write(json.dumps(told) + "\n")


if __name__ == "__main__":
    _main()
