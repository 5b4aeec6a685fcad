"""Real `listkit` processes for tests of what goes wrong around them: a small shop in two states, each with its outputs.

The shop makes a feed, listings, pictures, a price list and PDFs, so that every kind of writer can be cut short.
"""

import hashlib
import json
import multiprocessing
import os
import pkgutil
import shutil
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Final

import listkit
from listkit.__main__ import run
from listkit.cli import main
from listkit.paths import MANIFEST, is_part
from listkit.save.manifest import read_manifest
from tests.shops import clean_shop

ROOT: Final = Path(__file__).parents[1]
TODAY: Final = "2027-03-01"
CHANNEL: Final = """name = "Web shop"
make = ["feed", "listings", "photos", "price list"]
photo_address = "https://shop.example/photos/"
[[crop]]
name = "grid"
ratio = "1:1"
width = 200
smallest = 10
"""
JOURNAL: Final = ".making.jsonl"


def words(shop: Path, out: Path, command: str = "build", *more: str) -> list[str]:
    """Return the command line of a build, or of a record of the web shop on the same day."""
    dated = [] if "--today" in more else ["--today", TODAY]
    dated += ["--accept-large-changes"] if command == "build" and dated else []
    return [sys.executable, "-m", "listkit", command, *more, "--shop", str(shop), "--out", str(out), *dated]


FORKS: Final = multiprocessing.get_context("forkserver")
MODULES: Final = [name for _, name, _ in pkgutil.walk_packages(listkit.__path__, "listkit.") if "__" not in name]
FORKS.set_forkserver_preload(["tests.real_builds", *MODULES])


First = Callable[[], object] | None


class Running:
    """A command in a process of its own, which has loaded listkit before.

    Without `whole` it is `main`, which lets every exception be seen; with it the program as it is started, which
    listens to signals and catches what nobody foresaw.
    """

    def __init__(self, arguments: Sequence[str], first: First, *, whole: bool = False) -> None:
        self._printed, pipe = FORKS.Pipe(duplex=False)
        self._process = FORKS.Process(target=_command, args=(arguments, pipe, first, whole))
        self._process.start()
        pipe.close()

    def end(self) -> tuple[int, str]:
        """Wait for the end; return the exit status and all that was printed."""
        printed = b"".join(iter(lambda: os.read(self._printed.fileno(), 1 << 16), b""))
        self._process.join(120)
        assert self._process.exitcode is not None, "it hangs"
        self._printed.close()
        return self._process.exitcode, printed.decode()

    def kill(self) -> bool:
        """Kill it; return whether it was still at work."""
        at_work = self._process.is_alive()
        self._process.kill()
        self.end()
        return at_work


def _command(arguments: Sequence[str], pipe: Connection, first: First, whole: bool) -> None:
    for number in (1, 2):
        os.dup2(pipe.fileno(), number)
    sys.stdout = sys.stderr = os.fdopen(pipe.fileno(), "w", buffering=1, closefd=False)
    if first is not None:
        first()
    sys.argv = ["listkit", *arguments]
    sys.exit(run() if whole else main(arguments))


def start(shop: Path, out: Path, command: str = "build", *more: str, first: First = None) -> Running:
    """Begin a command in a process of its own, which calls `first` before it."""
    return Running(words(shop, out, command, *more)[3:], first)


def finish(shop: Path, out: Path, command: str = "build", *more: str, first: First = None) -> tuple[int, str]:
    """Run a command to its end; return its exit status and what it printed, which is never a traceback."""
    status, printed = start(shop, out, command, *more, first=first).end()
    assert "Traceback" not in printed, printed
    return status, printed


class TwoStates:
    """A shop that is either in its first or its second state, and what each gives, as digests by path."""

    def __init__(self, folder: Path) -> None:
        self.shop, self.out = folder / "shop", folder / "out"
        clean_shop(self.shop, {"channels/web_shop.toml": CHANNEL})
        edited = ("items.csv", "sets/dawn/story.md")
        self.edits = {path: (self.shop / path).read_text(encoding="utf-8") for path in edited}
        self._first = folder / "first"
        self.wanted = tuple(self._outputs(state, folder / f"sound-{state}") for state in (0, 1))
        self.put(0)
        assert finish(self.shop, self._first)[0] == 0

    def fresh(self) -> None:
        """Bring the files and the output folder to the first state, as a build left it."""
        self.put(0)
        shutil.rmtree(self.out, ignore_errors=True)
        shutil.copytree(self._first, self.out)

    def put(self, state: int) -> None:
        """Bring the shop's files to a state: other prices, another story, another name of the channel."""
        items, story = self.edits["items.csv"], self.edits["sets/dawn/story.md"]
        if state:
            items, story = items.replace("0,", "5,"), story + "\nAnd so the day begins.\n"
        (self.shop / "items.csv").write_text(items, encoding="utf-8")
        (self.shop / "sets/dawn/story.md").write_text(story, encoding="utf-8")

    def _outputs(self, state: int, out: Path) -> Mapping[str, str]:
        self.put(state)
        status, told = finish(self.shop, out)
        assert status == 0, told
        found = outputs(out)
        shutil.rmtree(out)
        return found


def outputs(out: Path) -> dict[str, str]:
    """Return the SHA-256 of every file in the output folder but those that listkit keeps for itself."""
    return {
        path.relative_to(out).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(out.rglob("*"))
        if path.is_file() and not path.name.startswith(".")
    }


def left_behind(out: Path) -> list[str]:
    """Return what a build that ended would have taken away."""
    return [path.name for path in out.rglob("*") if is_part(path.name) or path.name == JOURNAL]


def check_whole(two: TwoStates) -> int:
    """Check what a build that was cut short left: every file as in one of the states, none gone, the manifest true.

    Where a file is newer than the manifest, the journal beside it names it. Returns how many are in the second state.
    """
    found = outputs(two.out)
    for path, digest in found.items():
        if path != MANIFEST:  # which may tell of files of both states; that it is true is looked at below
            assert digest in {state.get(path) for state in two.wanted}, f"{path} is not whole"
    assert two.wanted[0].keys() & two.wanted[1].keys() <= found.keys(), "an earlier file is gone"
    named = _journal(two.out)
    entries = read_manifest(two.out)
    assert entries, "the manifest is not whole"
    for entry in entries:
        assert found.get(entry.path) == entry.sha256 or entry.path in named, f"nothing tells that {entry.path} is newer"
    return sum(digest != two.wanted[0].get(path) for path, digest in found.items())


def _journal(out: Path) -> set[str]:
    try:
        lines = (out / JOURNAL).read_text(encoding="utf-8").splitlines()
    except FileNotFoundError:
        return set()
    named: set[str] = set()
    for line in lines:
        event = line.partition(" ")[2]
        if event.startswith('{"making"') and event.endswith("}"):
            named |= set(json.loads(event)["making"])
    return named


def kill_after(seconds: float, begin: Callable[[], Running]) -> bool:
    """Begin a command and kill it after so long; return whether it was still at work."""
    running = begin()
    time.sleep(seconds)
    return running.kill()
