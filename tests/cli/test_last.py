"""The last catch: mistakes of our own in one line, and an output that cannot be printed.

70 and 74 are EX_SOFTWARE and EX_IOERR of sysexits.h (BSD, sysexits(3)).
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from listkit.cli import main
from tests.real_builds import ROOT
from tests.samples import in_turn

FAULTY = """
import os, sys
if any("listkit" in argument for argument in sys.orig_argv):
    import listkit.cli.schema as schema
    def run(args):
        {fault}
    schema.run = run
"""


def faulty(folder: Path, fault: str, *more: str) -> "subprocess.CompletedProcess[str]":
    """Run `listkit schema`, whose command does something else; everything around it is the real thing."""
    (folder / "sitecustomize.py").write_text(FAULTY.replace("{fault}", fault), encoding="utf-8")
    surroundings = {**os.environ, "PYTHONPATH": f"{folder}{os.pathsep}{ROOT}"}
    command = [sys.executable, "-m", "listkit", "schema", *more]
    return subprocess.run(command, env=surroundings, capture_output=True, text=True, check=False)


@pytest.mark.parametrize(("fault", "what"), [
    ("1 / 0", "ZeroDivisionError: division by zero"),
    ("raise KeyError", "KeyError"),
    ("raise RuntimeError('one\\ntwo')", "RuntimeError: one␊two"),
    ("raise OSError(5, 'Input/output error')", "OSError: [Errno 5] Input/output error"),
    ("run(args)", "RecursionError: maximum recursion depth exceeded"),
    ("raise type('Panic', (BaseException,), {})('stop')", "Panic: stop"),
])  # fmt: skip
def test_what_nobody_foresaw_is_one_line_with_what_to_send_to_whom(tmp_path: Path, fault: str, what: str) -> None:
    ended = faulty(tmp_path, fault)
    assert (ended.returncode, ended.stdout) == (70, "")
    assert ended.stderr.count("\n") == 1
    assert ended.stderr.startswith("listkit made a mistake of its own (cli/__init__.py, line ")
    assert f"listkit 0.1.0): {what} - Send this line, and the file of your shop that it was about, " in ended.stderr
    assert ended.stderr.endswith("to whoever gave you listkit. --trace prints how it came about.\n")


@pytest.mark.parametrize("fault", [
    "raise MemoryError",
    "raise OSError(12, 'Cannot allocate memory')",
    """raise RuntimeError("can't start new thread")""",
    """raise RuntimeError("can't allocate read lock")""",
    "raise ImportError('libheif.so.1: failed to map segment from shared object')",
])  # fmt: skip
def test_too_little_memory_is_no_mistake_of_ours(tmp_path: Path, fault: str) -> None:
    ended = faulty(tmp_path, fault)
    said = "There is not enough memory. Close other programs, or give listkit more memory; then do the same again.\n"
    assert (ended.returncode, ended.stdout, ended.stderr) == (1, "", said)


@pytest.mark.skipif(sys.platform != "linux", reason="the memory of a process is bounded and looked up as Linux has it")
def test_a_library_that_raises_nothing_is_told_as_want_of_memory_where_it_lacks_alone(tmp_path: Path) -> None:
    """Modules of C that do not look whether they were given memory; CPython's Python/errors.c has the words."""
    fault = "raise SystemError('error return without exception set')"
    assert "a mistake of its own" in faulty(tmp_path, fault).stderr
    narrow = "import resource; used = int(open('/proc/self/statm').read().split()[0]) * resource.getpagesize()"
    narrow += "; resource.setrlimit(resource.RLIMIT_AS, (used + 20_000_000,) * 2); "
    assert faulty(tmp_path, narrow + fault).stderr.startswith("There is not enough memory. Close other programs, ")


def test_the_line_names_our_innermost_line(tmp_path: Path) -> None:
    ended = faulty(tmp_path, "from listkit.save.out_folder import sync; sync(None)")
    assert ended.returncode == 70
    assert "(save/out_folder.py, line " in ended.stderr


def test_the_trace_is_printed_only_when_asked_for(tmp_path: Path) -> None:
    assert "Traceback" not in faulty(tmp_path, "1 / 0").stderr
    ended = faulty(tmp_path, "1 / 0", "--trace")
    assert ended.returncode == 70
    assert ended.stderr.startswith("Traceback (most recent call last):\n")
    assert "1 / 0" in ended.stderr
    assert ended.stderr.splitlines()[-1].startswith("listkit made a mistake of its own")


def test_nothing_is_hidden_from_tests(monkeypatch: pytest.MonkeyPatch) -> None:
    """`main` raises what a command raises, a stop and a reader gone too; the program alone comes by the last catch."""
    schema = pytest.importorskip("listkit.cli.schema")
    for fault in (ZeroDivisionError, KeyboardInterrupt, BrokenPipeError):
        monkeypatch.setattr(schema, "run", lambda _, fault=fault: (_ for _ in ()).throw(fault))
        with pytest.raises(fault):
            main(["schema"])


def test_no_test_but_those_of_the_program_comes_by_the_last_catch() -> None:
    users = [path for path in (ROOT / "listkit").rglob("*.py") if "cli.last" in path.read_text(encoding="utf-8")]
    assert [path.name for path in users] == ["__main__.py"]


def printed_to(stdout: str, *arguments: str, unbuffered: str = "") -> tuple[int, str]:
    """Run a command with its standard output as the shell's words say; return status and what it says."""
    surroundings = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": unbuffered}
    command = [
        "sh",
        "-c",
        f'{{ "$@" {stdout if "}" in stdout else stdout + "; }"}',
        "sh",
        sys.executable,
        "-m",
        "listkit",
        *arguments,
    ]
    ended = subprocess.run(command, env=surroundings, stderr=subprocess.PIPE, text=True, check=False)
    return ended.returncode, ended.stderr


FULL = "The output cannot be printed: No space left on device. Send it where it can be written.\n"


PRINTING = (
    "--help", "build --help", "schema", "show --all --shop DEMO", "show --all --json --shop DEMO",
)  # fmt: skip


@pytest.mark.parametrize(("said", "unbuffered"), in_turn(PRINTING, ["", "1"]))  # a start takes 0.4 s: in turn
def test_an_output_on_a_full_disk_is_told(said: str, unbuffered: str, demo_folder: Path) -> None:
    """full(4): writes to /dev/full fail with ENOSPC."""
    there = [argument.replace("DEMO", str(demo_folder)) for argument in said.split()]
    assert printed_to(">/dev/full", *there, unbuffered=unbuffered) == (74, FULL)


def test_a_closed_output_is_told() -> None:
    """POSIX Shell, 2.7.6: >&- closes standard output; write(2) then fails with EBADF."""
    status, told = printed_to(">&-", "schema")
    assert (status, told) == (
        74, "The output cannot be printed: Bad file descriptor. Send it where it can be written.\n"
    )  # fmt: skip


@pytest.mark.parametrize("unbuffered", ["", "1"])
def test_a_reader_who_has_gone_is_none_of_our_mistakes(unbuffered: str) -> None:
    """`true` reads nothing; the schemas are more than a pipe holds (pipe(7): 65,536 bytes), so writing them fails."""
    assert printed_to("; echo $? >&2; } | true", "schema", unbuffered=unbuffered) == (0, "1\n")


@pytest.mark.parametrize("stderr", ["2>&-", "2>/dev/full"])
def test_where_nobody_hears_the_status_speaks(stderr: str) -> None:
    assert printed_to(stderr, "biuld")[0] == 2


def test_help_and_mistakes_in_typing_keep_their_status() -> None:
    assert printed_to(">/dev/null", "--help") == (0, "")
    assert printed_to("", "build", "--nothing")[0] == 2


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such bound")
def test_too_many_open_files_are_not_mended_by_room_on_the_disk(demo_folder: Path, tmp_path: Path) -> None:
    command = (
        f"ulimit -n 8; exec {sys.executable} -m listkit print labels --shop {demo_folder} --out {tmp_path / 'out'}"
    )
    surroundings = {**os.environ, "PYTHONPATH": str(ROOT)}
    ended = subprocess.run(["sh", "-c", command], env=surroundings, capture_output=True, text=True, check=False)
    assert ended.returncode == 1
    assert "Too many open files. Close other programs, or allow listkit more open files (ulimit -n)" in ended.stderr
    assert "Make room" not in ended.stderr
