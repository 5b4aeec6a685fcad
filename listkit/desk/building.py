"""Build: in a thread of its own, watched as it goes, stopped when asked; the page may be left meanwhile.

The build is that of the command: checked anew, braked where prices leap, under the lock of the output folder.
"""

import os
import threading
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from listkit.actions.build import build_unless_braked
from listkit.compute.box.searches import Searches
from listkit.desk.state import ShopState
from listkit.pipeline import Checked, check_shop
from listkit.present.building import failure_lines
from listkit.present.changes import brake_lines
from listkit.problem import FieldError
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

    `lines` say what was left out, held back or could not be made, or why nothing was.
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
        self._progress = Progress()

    @property
    def progress(self) -> Progress:
        """The build as it is now, or the last one."""
        return self._progress

    @property
    def running(self) -> bool:
        """Whether a build is at work."""
        return self._progress.running

    def start(self, state: ShopState, *, accept: bool = False) -> bool:
        """Begin a build, unless one is at work; return whether it was begun.

        Args:
            state: the shop; it is read and checked anew when the build has ended, however it did.
            accept: build though prices leap.
        """
        with self._lock:
            if self.running:
                return False
            self._stop.clear()
            self._progress = Progress(self._progress.number + 1, Step.CHECKING)

        def work() -> None:
            try:
                self._build(state, accept=accept)
            except _StoppedError:
                self._ended(Step.STOPPED)
            except FieldError as fault:
                self._ended(Step.REFUSED, (f"{fault.message} {fault.hint}".rstrip(),))
            except Exception as fault:  # told on the page; the desk goes on
                self._ended(Step.FAILED, (f"{type(fault).__name__}: {fault}",))
            finally:
                state.again()

        self._thread = threading.Thread(target=work, name="listkit-build")
        self._thread.start()
        return True

    def stop(self) -> None:
        """Ask the build to stop; what is made already stays whole."""
        self._stop.set()

    def end(self, seconds: float) -> None:
        """Stop the build and wait for it so long at most."""
        self.stop()
        if self._thread is not None:
            self._thread.join(seconds)

    def _ended(self, step: Step, lines: Sequence[str] = ()) -> None:
        self._progress = replace(self._progress, step=step, lines=tuple(lines))

    def _advance(self, step: Step, done: int, total: int) -> None:
        if self._stop.is_set():
            raise _StoppedError
        self._progress = replace(self._progress, step=step, done=done, total=total)

    def _build(self, state: ShopState, *, accept: bool) -> None:
        sweep_temporary()
        out, photos = state.out, state.look().opened.photos
        searches = Searches(progress=lambda done, total: self._advance(Step.CHECKING, 0, 0))  # nobody counts in looks
        checked = check_shop(state.folder, state.today(), out, searches, photos=photos or None)
        searches.progress = lambda done, total: None
        self._advance(Step.MAKING, 0, 0)
        if checked.stopped:
            stopping = (f"{each.message} {each.hint}".rstrip() for each in checked.aside.stopping)
            self._ended(Step.REFUSED, tuple(stopping))
            return
        built = build_unless_braked(
            checked,
            out,
            accept=accept,
            workers=_JOBS,
            progress=lambda done, total: self._advance(Step.MAKING, done, total),
        )
        saved = built.saved
        if saved is None:
            self._ended(Step.BRAKED, tuple(brake_lines(built.brakes)))
            return
        self._progress = replace(
            self._progress,
            step=Step.DONE,
            lines=(*failure_lines(saved), *built.notes),
            places=places_of(checked, saved.entries),
            made=len(saved.made),
            unchanged=saved.unchanged,
            removed=len(saved.removed),
            short=any(path.startswith(_PRINTED) for failure in saved.failures for path in failure.paths),
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
