"""Build: in a thread of its own, watched as it goes, stopped when asked; the page may be left meanwhile.

The build is that of the command: checked anew, braked where prices leap, under the lock of the output folder.
"""

import os
import threading
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path
from typing import Final

from listkit.actions.build import Built, build_unless_braked
from listkit.compute.box.searches import Searches
from listkit.desk.guard import seal_of
from listkit.desk.state import ShopState
from listkit.pipeline import Checked, check_shop
from listkit.present.building import failure_lines
from listkit.present.changes import brake_lines
from listkit.problem import BlockedError, FieldError
from listkit.save.manifest import Entry
from listkit.save.temporary import sweep_temporary

_PRINTED: Final = "print/"
_JOBS: Final = max(1, (os.cpu_count() or 1) - 1)  # pages are answered meanwhile


class Step(StrEnum):
    """Where a build is."""

    NONE = "none"
    CHECKING = "checking"
    MAKING = "making"
    DONE = "done"
    BRAKED = "braked"
    REFUSED = "refused"
    STOPPED = "stopped"
    FAILED = "failed"


@dataclass(frozen=True, slots=True)
class PlaceFiles:
    """The files of one place: its key, what people call it, their entries in the manifest."""

    key: str
    name: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Progress:
    """A build as it is now, or the last one; `number` tells one build from another.

    `lines` say what was left out, held back or could not be made, or why nothing was. `seal` is a digest of what
    braked it: who lets it go on says with it what she has seen.
    """

    number: int = 0
    step: Step = Step.NONE
    done: int = 0
    total: int = 0
    lines: tuple[str, ...] = ()
    places: tuple[PlaceFiles, ...] = ()
    made: int = 0
    unchanged: int = 0
    removed: int = 0
    seal: str = ""
    short: bool = False  # whether labels or cards could not hold their text

    @property
    def running(self) -> bool:
        """Whether it is still at work."""
        return self.step in (Step.CHECKING, Step.MAKING)


class _StoppedError(Exception):
    """The owner asked the build to stop."""


class Builder:
    """At most one build at a time; `progress` is what any page shows of it."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None
        self._closed = False
        self._progress = Progress()

    @property
    def progress(self) -> Progress:
        """The build as it is now, or the last one."""
        return self._progress

    @property
    def running(self) -> bool:
        """Whether a build is at work."""
        return self._progress.running

    def start(self, state: ShopState, *, accept: str = "") -> bool:
        """Begin a build, unless one is at work or the desk ends; return whether it was begun.

        Args:
            state: the shop; it is read and checked anew when the build has ended, however it did.
            accept: the seal of what may brake it and was looked at; anything else brakes it still.
        """

        def work() -> None:
            ended = self._worked(state, accept)
            state.again()  # whoever sees that it has ended sees what it made
            self._progress = ended

        with self._lock:
            if self.running or self._closed:
                return False
            self._stop.clear()
            before, self._progress = self._progress, Progress(self._progress.number + 1, Step.CHECKING)
            self._thread = threading.Thread(target=work, name="listkit-build")
            try:
                self._thread.start()
            except RuntimeError as fault:  # the system has no thread left
                self._thread, self._progress = None, before
                raise BlockedError(
                    "the system has no room for a build just now.", "Close other programs, then try again."
                ) from fault
        return True

    def stop(self) -> None:
        """Ask the build to stop; what is made already stays whole."""
        self._stop.set()

    def end(self, seconds: float) -> None:
        """Stop the build and wait for it so long at most; none begins after it."""
        with self._lock:
            self._closed = True
        self.stop()
        if self._thread is not None:
            self._thread.join(seconds)

    def _worked(self, state: ShopState, accept: str) -> Progress:
        """Build; return how it ended, however it did."""
        try:
            return self._build(state, accept)
        except _StoppedError:
            return self._ended(Step.STOPPED)
        except FieldError as fault:
            return self._ended(Step.REFUSED, (f"{fault.message} {fault.hint}".rstrip(),))
        except Exception as fault:  # told on the page; the desk goes on
            return self._ended(Step.FAILED, (f"{type(fault).__name__}: {fault}",))

    def _ended(self, step: Step, lines: Sequence[str] = ()) -> Progress:
        return replace(self._progress, step=step, lines=tuple(lines))

    def _advance(self, step: Step, done: int, total: int) -> None:
        if self._stop.is_set():
            raise _StoppedError
        self._progress = replace(self._progress, step=step, done=done, total=total)

    def _build(self, state: ShopState, accept: str) -> Progress:
        sweep_temporary()
        out, photos = state.out, state.look().opened.photos
        searches = Searches(progress=lambda done, total: self._advance(Step.CHECKING, 0, 0))  # nobody counts in looks
        checked = check_shop(state.folder, state.today(), out, searches, photos=photos or None)
        searches.progress = lambda done, total: None
        self._advance(Step.MAKING, 0, 0)
        if checked.stopped:
            stopping = (f"{each.message} {each.hint}".rstrip() for each in checked.aside.stopping)
            return self._ended(Step.REFUSED, tuple(stopping))
        built = self._made(checked, out)
        if built.saved is None and seal_of(built.brakes) == accept:
            built = self._made(checked, out, accept=True)
        saved = built.saved
        if saved is None:
            return replace(self._ended(Step.BRAKED, tuple(brake_lines(built.brakes))), seal=seal_of(built.brakes))
        return replace(
            self._progress,
            step=Step.DONE,
            lines=(*failure_lines(saved), *built.notes),
            places=places_of(checked, saved.entries),
            made=len(saved.made),
            unchanged=saved.unchanged,
            removed=len(saved.removed),
            short=any(path.startswith(_PRINTED) for failure in saved.failures for path in failure.paths),
        )

    def _made(self, checked: Checked, out: Path, *, accept: bool = False) -> Built:
        return build_unless_braked(
            checked,
            out,
            accept=accept,
            workers=_JOBS,
            progress=lambda done, total: self._advance(Step.MAKING, done, total),
        )


def places_of(checked: Checked, entries: Sequence[Entry]) -> tuple[PlaceFiles, ...]:
    """Group files by the folder of the output folder they are in, places first in the shop's order."""
    folders: dict[str, list[Entry]] = {}
    for entry in entries:
        folders.setdefault(entry.path.partition("/")[0] if "/" in entry.path else "", []).append(entry)
    keys = [*(key for key in checked.places if key in folders), *(key for key in folders if key not in checked.places)]
    return tuple(
        PlaceFiles(key, checked.name(key) if key in checked.places else key, tuple(folders[key])) for key in keys
    )
