"""The one shop in memory: read again where a file's stamp moved, a set's figures kept while what they come from is.

Three depths of knowing. `Seen` is the shop as the files have it this moment, with its figures; every page looks, which
costs a walk over the folder where nothing moved. `view` is one set with its listings and problems, computed alone, so
that a change shows at once. `Full` is the whole check and what moved since each place was published; a thread of its
own makes it after each reading and puts it in place when it is there. Any thread may call anything here.
"""

import datetime
import os
import threading
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Final

from listkit.actions.changes import ChannelChanges, changes_since_recorded
from listkit.check.thresholds import without_accepted
from listkit.compute.box.searches import Searches
from listkit.compute.build import build_catalog
from listkit.compute.catalog import Catalog, SetFacts
from listkit.model.shop import Shop
from listkit.pipeline import Checked, Opened, check_listed, check_shop, list_catalog, open_shop
from listkit.problem import FieldError, Level, Problem

Stamps = dict[str, tuple[int, int, int]]
"""Of every file that may be read, by its path in the shop folder: when it was changed, its size, its number on disk."""
_OF_SEVERAL_SETS: Final = frozenset({"stock-shared", "stock-promised-twice"})
"""What is told of several sets at once, and told otherwise of one that is looked at alone."""
_NOT_AROUND: Final = frozenset({"folders", "stockists"})
"""What of a shop no listing takes anything from: all folders of sets, of which it is given its own, and who buys."""
_NOT_READ: Final = frozenset({"out"})
_DEEP: Final = 6  # folders within folders; the shop's own are four deep
_MEASURED_AT_ONCE: Final = 8  # new photos while a page waits; more are measured behind it
_PATIENCE: Final = 120.0  # seconds that a page waits for photos to be measured
_PAUSE: Final = 0.4  # seconds without a change before all is checked, unless a page waits: others are quicker than that


@dataclass(frozen=True, slots=True)
class Seen:
    """The shop as its files are; `number` is one more at each reading."""

    number: int
    day: datetime.date
    stamps: Stamps
    opened: Opened
    catalog: Catalog

    def folders(self) -> dict[str, str]:
        """Return the folders of sets by the codes that one folder alone has."""
        read = [(each.code, each.folder) for each in self.opened.shop.folders if each.parsed and not each.is_single]
        count = Counter(code for code, _ in read)
        return {code: folder for code, folder in read if count[code] == 1}

    def facts(self, code: str) -> SetFacts | None:
        """Return a set or single piece by its code; None where there is none that can be computed."""
        return next((facts for facts in self.catalog.listed if facts.code == code), None)


@dataclass(frozen=True, slots=True)
class Full:
    """What one reading comes to; `fault` says why it could not be found out, else "".

    `checked` is what it was found in, which the room of places shows; `changes` are what moved on each place.
    """

    number: int
    checked: Checked | None = None
    problems: tuple[Problem, ...] = ()
    stopped: bool = False
    changes: tuple[ChannelChanges, ...] = ()
    moved_fault: str = ""
    fault: str = ""


def known_problems(seen: Seen, full: Full | None) -> tuple[Problem, ...]:
    """Return what is wrong as far as it is known: by a whole check of this reading, else what its files show."""
    return full.problems if full is not None and full.number == seen.number and not full.fault else seen.opened.problems


class ShopState:
    """The shop in `folder`, built into `out`; `today` gives the day that counts."""

    def __init__(self, folder: Path, out: Path, today: Callable[[], datetime.date]) -> None:
        self.folder, self.out, self.today = folder, out, today
        self._reading = threading.Lock()
        self._news = threading.Condition()
        self._seen: Seen | None = None
        self._full: Full | None = None
        self._views: dict[str, tuple[SetFacts, datetime.date, Catalog, Checked]] = {}
        self._ended = False
        self._waiting = 0  # pages that wait for what is done behind them
        self._checker = threading.Thread(target=self._keep_checking, name="listkit-checker", daemon=True)
        self._checker.start()

    def end(self) -> None:
        """Let the thread behind it go; what it is at is dropped."""
        with self._news:
            self._ended = True
            self._news.notify_all()

    def look(self, *, measured: bool = False) -> Seen:
        """Return the shop as its files are now; read again where a stamp moved or the day did.

        Many new photos have stand-in facts at first and are measured behind it; `measured` waits for that.
        """
        with self._reading:
            stamps, day, before = stamps_of(self.folder), self.today(), self._seen
            if before is None or (before.stamps, before.day) != (stamps, day):
                seen = self._read(stamps, day, _MEASURED_AT_ONCE)
            else:
                seen = before
        if measured and seen.opened.waiting:
            with self._news:
                self._wait_until(lambda: not (self._seen and self._seen.opened.waiting), _PATIENCE)
                seen = self._seen or seen
        return seen

    def _read(self, stamps: Stamps, day: datetime.date, measure_at_most: int | None) -> Seen:
        """Read the shop and put what it is in place; called while `_reading` is held."""
        before = self._seen
        known = before.opened if before else None
        opened = open_shop(self.folder, self.out, known, measure_at_most=measure_at_most)
        catalog = build_catalog(opened.shop, Searches(), before=before.catalog if before else None)
        seen = Seen(before.number + 1 if before else 1, day, stamps, opened, catalog)
        with self._news:
            self._seen = seen
            self._news.notify_all()
        return seen

    def again(self) -> None:
        """Let the next look read and check anew, as after a build, which the stamps do not show."""
        with self._reading, self._news:
            if self._seen is not None:
                self._seen = replace(self._seen, stamps={})

    def full(self, *, wait: float = 0.0) -> Full | None:
        """Return the last whole check, None before the first one; it may be of an earlier reading.

        Waits so many seconds at most for that of the current one, which is begun at once where somebody waits.
        """
        with self._news:
            if wait:
                self._wait_until(self._is_full, wait)
            return self._full

    def _wait_until(self, there: Callable[[], bool], seconds: float) -> None:
        """Wait so long at most, called while `_news` is held; what is done behind the pages begins at once."""
        self._waiting += 1
        self._news.notify_all()
        self._news.wait_for(lambda: self._ended or there(), seconds)
        self._waiting -= 1

    def _is_full(self) -> bool:
        return self._full is not None and (self._seen is None or self._full.number >= self._seen.number)

    def view(self, seen: Seen, code: str) -> Checked | None:
        """Return one set with its listings and the problems of its folder, None where it cannot be computed.

        What concerns several sets together is left to the whole check.
        """
        facts = seen.facts(code)
        if facts is None:
            return None
        known, alone = self._views.get(code), _alone(facts, seen.catalog)
        if known and known[0] is facts and known[1] == seen.day and _same_around(known[2], alone):
            return known[3]
        listed = list_catalog(alone, seen.day)
        checked = check_listed(listed, photos=seen.opened.photos, out=self.out, below=f"sets/{facts.source.folder}/")
        remarks, _ = without_accepted(checked.problems, seen.opened.shop)
        checked = replace(checked, problems=tuple(each for each in remarks if each.code not in _OF_SEVERAL_SETS))
        self._views[code] = (facts, seen.day, alone, checked)
        return checked

    def faults_of_item(self, seen: Seen, code: str) -> tuple[Problem, ...]:
        """Return what must be mended at an item's row, as far as its reading and one of its sets alone show it."""
        facts = next((each for each in seen.catalog.listed if any(item.code == code for item in each.items)), None)
        problems = seen.opened.problems
        if facts is not None:
            listed = list_catalog(_alone(facts, seen.catalog), seen.day, problems)
            problems = check_listed(listed, photos=seen.opened.photos, out=self.out).problems
        file = seen.opened.shop.items_file
        there = (each for each in problems if each.place.file == file and each.place.row == code)
        return tuple(each for each in there if each.level is Level.MUST_FIX)

    def _keep_checking(self) -> None:
        """Check whatever was read last, once it rests; runs until the desk ends."""
        while not self._ended:
            seen = self._rested()
            if seen is None or seen is not self._seen:
                continue
            try:
                if seen.opened.waiting:
                    self._measure(seen)
                    continue
                full = self._checked(seen)
            except Exception as fault:  # a page says so; the desk goes on
                full = Full(seen.number, fault=f"{type(fault).__name__}: {fault}")
            with self._news:
                self._full = full
                self._news.notify_all()

    def _rested(self) -> Seen | None:
        """Return a reading that is not checked yet, once it rests or a page waits; None where the desk ends."""
        with self._news:
            self._news.wait_for(lambda: self._ended or (self._seen is not None and not self._is_full()))
            seen = self._seen
            self._news.wait_for(lambda: self._ended or self._waiting or self._seen is not seen, _PAUSE)
            return None if self._ended else seen

    def _measure(self, seen: Seen) -> None:
        """Measure every photo without holding up pages; what they are is then in place of the stand-ins."""
        photos = open_shop(self.folder, self.out, seen.opened).photos
        with self._reading:
            now = self._seen or seen
            with self._news:
                self._seen = replace(now, opened=replace(now.opened, photos={**now.opened.photos, **photos}))
            self._read(stamps_of(self.folder), self.today(), None)

    def _checked(self, seen: Seen) -> Full:
        checked = check_shop(self.folder, seen.day, self.out, before=seen.opened)
        full = Full(seen.number, checked, checked.problems, checked.stopped)
        try:
            moved = () if checked.stopped else changes_since_recorded(checked, "", self.out)
        except FieldError as fault:
            return replace(full, moved_fault=f"{fault.message} {fault.hint}".rstrip())
        return replace(full, changes=moved)


def _alone(facts: SetFacts, catalog: Catalog) -> Catalog:
    """Return the catalog of a shop that sells one set, has no item but those in it and their full sizes, and no labels.

    What is wrong with labels and other items is told of their own files, which a set's page does not show.
    """
    shop = catalog.shop
    items, codes = {item.code: item for item in shop.items}, set[str]()
    waiting = [item.code for item in facts.items]
    while waiting:
        code = waiting.pop()
        if code in items and code not in codes:
            codes.add(code)
            waiting.append(items[code].larger)
    single = facts.is_single
    narrow = replace(
        shop,
        items=tuple(item for item in shop.items if item.code in codes),
        sets=() if single else (facts.source,),
        singles=tuple(each for each in shop.singles if single and each.code == facts.code),
        settings=shop.settings.model_copy(update={"labels": None}),
    )
    sets, singles = ((), (facts,)) if single else ((facts,), ())
    return Catalog(narrow, sets, Searches(), singles, catalog.allotted)


def _same_around(before: Catalog, now: Catalog) -> bool:
    """Whether all that listings of a set take from its shop, besides the set itself, is the same in two readings."""
    around = (each.name for each in fields(Shop) if each.compare and each.name not in _NOT_AROUND)
    return before.allotted == now.allotted and all(
        getattr(before.shop, name) == getattr(now.shop, name) for name in around
    )


def stamps_of(folder: Path) -> Stamps:
    """Return the stamps of every file in the folder that may be part of the shop; nothing hidden, nothing built."""
    return dict(_stamps(os.fspath(folder), "", _DEEP))


def _stamps(path: str, below: str, deep: int) -> Iterator[tuple[str, tuple[int, int, int]]]:
    try:
        with os.scandir(path) as entries:
            for entry in entries:
                if entry.name.startswith(".") or (not below and entry.name in _NOT_READ):
                    continue
                try:
                    if entry.is_dir(follow_symlinks=False):
                        if deep:
                            yield from _stamps(entry.path, f"{below}{entry.name}/", deep - 1)
                        continue
                    stamp = entry.stat(follow_symlinks=False)
                except OSError:  # it went away just now
                    continue
                yield f"{below}{entry.name}", (stamp.st_mtime_ns, stamp.st_size, stamp.st_ino)
    except OSError:  # the folder went away, or may not be read: the reading tells
        yield below, (-1, 0, 0)
