"""The process in which cases run: it is told numbers on stdin and answers each with a line of JSON.

It goes on from case to case, so that nothing is loaded twice. What a command writes, removes or connects to is
seen by an audit hook; its memory is bounded, and a case that hangs ends the process with where it hung.
"""

import faulthandler
import json
import os
import re
import resource
import shutil
import sys
import tempfile
import traceback
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

from listkit.save.manifest import read_manifest
from listkit.save.out_folder import sha256_of
from listkit.save.temporary import MARK
from listkit.write import print as pages
from tests.fuzz.cases import Case, prepare, restore
from tests.fuzz.commands import may_write
from tests.fuzz.rich_shop import make_place, run

LONGEST: Final = 10.0  # seconds of the processor, with those of processes that ended: no neighbour lengthens them
LARGEST: Final = 1_000_000_000  # bytes
BOUND: Final = 3_000_000_000  # of address space, which is always more than what is used
GIVE_UP: Final = 60  # seconds
_PAGE_SECONDS: Final = 6  # a layout without end is stopped by the product itself; here sooner
_STEERING: Final = re.compile("[\0-\x09\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]")
_WRITES: Final = ("os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.symlink", "os.link", "os.truncate", "os.chmod")


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a case: `fault` is "" where every promise was kept."""

    number: int
    what: str
    words: str
    status: int
    seconds: float
    peak: int
    fault: str


class Watch:
    """Notes every path that is written, removed or read where it may not be, while a case runs."""

    def __init__(self, place: Path) -> None:
        self.outside = str(place / "outside")
        self.allowed: tuple[str, ...] = ()
        self.on = False
        self.seen: list[str] = []
        sys.addaudithook(self._hear)

    def _hear(self, event: str, arguments: tuple[Any, ...]) -> None:
        if not self.on:
            return
        if event == "open" and isinstance(arguments[0], str | bytes):
            self._opened(os.fsdecode(arguments[0]), arguments[1], arguments[2])
        elif event in _WRITES:
            beside = arguments[2:] if event in {"os.mkdir", "os.chmod"} else arguments[1:]  # their second is a mode
            folder = next((f"/proc/self/fd/{one}" for one in beside if isinstance(one, int) and one > 2), "")
            for path in arguments[: 2 if event == "os.rename" else 1]:
                self._written(path if isinstance(path, int) else os.path.join(folder, os.fsdecode(path)), event)
        elif event.startswith("socket.") and event not in {"socket.gethostname", "socket.__new__"}:
            self.seen.append(f"{event} {arguments}")

    def _opened(self, path: str, mode: str | None, flags: int) -> None:
        if path.startswith(self.outside) or path == "/etc/passwd":
            self.seen.append(f"read {path}")
        if path == MARK:  # of a temporary folder, relative to its descriptor, which the event does not name
            return
        if flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC) or set(mode or "") & set("wax+"):
            self._written(path, "open")

    def _written(self, path: Any, event: str) -> None:
        if isinstance(path, int):
            return
        real = os.path.realpath(os.fsdecode(path))
        if event in ("open", "os.mkdir") and os.path.isdir(real):  # a file without a name (O_TMPFILE), or it is there
            return
        if not real.startswith(self.allowed) and real != os.devnull:
            self.seen.append(f"{event} {real}")


def run_case(number: int, place: Path, pristine: Path, watch: Watch) -> Outcome:
    """Run one case and bring the place back."""
    case = prepare(number, place)
    watch.allowed, watch.seen = may_write(case.words, place), []
    reset_peak()
    began, watch.on = processor_seconds(), True
    try:
        status, told = run(*case.words)
        fault = _fault_of(status, told, case, place)
    except Exception:  # a traceback is what is looked for
        status, fault = -1, traceback.format_exc()[-3000:]
    finally:
        watch.on = False
    seconds, peak = processor_seconds() - began, peak_bytes()
    fault = fault or beyond(seconds, peak) or "; ".join(watch.seen[:5])
    changed = restore(place, pristine)
    strange = [path for path in changed if path.startswith("outside")]
    return Outcome(number, case.what, " ".join(case.words), status, seconds, peak, fault or " ".join(strange))


def _fault_of(status: int, told: str, case: Case, place: Path) -> str:
    if status not in (0, 1, 2):
        return f"exit status {status}"
    if status and not told.strip():
        return "it failed without a word"
    if "Traceback" in told:
        return told[-2000:]
    if case.words[0] in {"check", "build"} and (sign := _STEERING.search(told)):
        return f"it tells the sign {sign[0]!r}: {told[max(0, sign.start() - 80) : sign.end() + 40]!r}"
    if case.words[0] == "build" and status == 0 and not case.what.startswith("build/.made.json"):
        return _manifest_fault(place / "build")
    return ""


def _manifest_fault(out: Path) -> str:
    entries = read_manifest(out)
    for entry in entries:
        file = out / entry.path
        if not file.is_file() or sha256_of(file) != entry.sha256:
            return f"the manifest is wrong of {entry.path}"
    empty = re.fullmatch(rb'\{"files": \[\s*\]\}\s*', (out / "manifest.json").read_bytes())
    return "" if entries or empty else "there is no manifest"


def processor_seconds() -> float:
    """Return the seconds that this process and its ended children used of the processor (getrusage(2))."""
    used = (resource.getrusage(whose) for whose in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(each.ru_utime + each.ru_stime for each in used)


def beyond(seconds: float, peak: int) -> str:
    """Return what took too long or too much, "" for nothing."""
    if seconds > LONGEST:
        return f"it took {seconds:.1f} s"
    return f"it took {peak / 1e6:.0f} MB" if peak > LARGEST else ""


def reset_peak() -> None:
    """Begin to measure the most memory anew (proc(5): clear_refs)."""
    Path("/proc/self/clear_refs").write_text("5")


def peak_bytes() -> int:
    """Return the most memory this process held since (proc(5): VmHWM)."""
    status = Path("/proc/self/status").read_text()
    found = re.search(r"VmHWM:\s+(\d+) kB", status)
    return int(found[1]) * 1024 if found else 0


def main() -> None:
    """Answer numbers until stdin ends."""
    sys.dont_write_bytecode = True  # a compiled module is no file of a case
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8", buffering=1)
    with tempfile.TemporaryDirectory(prefix="fuzz-") as folder:
        place, pristine = Path(folder, "place"), Path(folder, "pristine")
        make_place(place)
        shutil.copytree(place, pristine, symlinks=True)
        print_pdf = pages.print_pdf
        print_pdf.__kwdefaults__["seconds"] = _PAGE_SECONDS  # type: ignore[index]
        watch = Watch(place)
        resource.setrlimit(resource.RLIMIT_AS, (BOUND, resource.RLIM_INFINITY))
        answers.write("ready\n")
        for line in sys.stdin:
            faulthandler.dump_traceback_later(GIVE_UP, exit=True)
            outcome = run_case(int(line), place, pristine, watch)
            faulthandler.cancel_dump_traceback_later()
            answers.write(json.dumps(asdict(outcome)) + "\n")


if __name__ == "__main__":
    main()
