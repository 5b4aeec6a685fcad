"""The stages of listkit's work on one folder, each measured: from reading to comparing, and whole commands."""

import datetime
import resource
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property, partial
from pathlib import Path

from listkit.actions.facts import snapshot_of
from listkit.check import check_listings
from listkit.check.places import CheckContext
from listkit.compute.build import build_catalog
from listkit.compute.catalog import Catalog
from listkit.ledger.store import LEDGER, Stamp, record
from listkit.listing.build import build_listings
from listkit.listing.listings import Listings
from listkit.model.shop import Shop
from listkit.pipeline import Listed
from listkit.read.photos import PhotoMemory
from listkit.read.shop import read_shop
from listkit.save.job import Job
from listkit.save.save import save
from listkit.write import WRITERS
from listkit.write.context import WriteContext
from tests.bench import peers
from tests.bench.bench_ledger import all_changes, all_compared, dearer, held
from tests.fuzz.worker import peak_bytes, reset_peak

TODAY = datetime.date(2027, 3, 1)
STAMP = Stamp("2027-03-01T10:30:00+00:00", "", "bench")
KEY = "web_shop"
Stages = Iterator[tuple[str, "Figure"]]


@dataclass(frozen=True, slots=True)
class Figure:
    """What one stage took: CPU seconds, and the most bytes that were held."""

    seconds: float
    peak: int


class Made:
    """A folder of a made-up shop and what follows from it, each made once when it is asked for."""

    def __init__(self, folder: Path, out: Path) -> None:
        self.folder, self.out = folder, out
        self.memory = PhotoMemory()

    @cached_property
    def shop(self) -> Shop:
        """What the files say; everything in them is right."""
        shop, problems = read_shop(self.folder, photo_facts=self.memory)
        assert not problems, problems[0]
        return shop

    @cached_property
    def catalog(self) -> Catalog:
        """All sets, computed."""
        return build_catalog(self.shop)

    @cached_property
    def listings(self) -> Listings:
        """All sets as the channel shows them."""
        return build_listings(self.catalog)

    @cached_property
    def jobs(self) -> tuple[Job, ...]:
        """All that a build makes."""
        context = WriteContext("1")
        return tuple(job for write in WRITERS.values() for job in write(self.listings, context))

    @cached_property
    def truth(self) -> Listed:
        """The shop, with one item dearer than it was recorded: one that lies in every variant of the first set."""
        items = [item.code for item in self.shop.items]
        changed = dearer(self.shop, items.index(self.catalog.sets[0].variants[0].pieces[0].item.code))
        return Listed(changed, build_listings(build_catalog(changed)), TODAY)


def cpu_seconds() -> float:
    """Return the CPU seconds of this process and of those that it started: pages are printed by another."""
    started = resource.getrusage(resource.RUSAGE_CHILDREN)
    return time.process_time() + started.ru_utime + started.ru_stime


def measured(work: Callable[[], object], runs: int = 2) -> Figure:
    """Return the least of some runs."""
    found = []
    for _ in range(runs):
        reset_peak()
        began = cpu_seconds()
        work()
        found.append(Figure(cpu_seconds() - began, peak_bytes()))
    return min(found, key=lambda one: one.seconds)


def reading(made: Made) -> Stages:
    """Read the folder, its photos for the first time and again."""
    yield "read, photos measured", measured(lambda: made.shop, runs=1)
    known = made.memory.photos
    yield "read, photos remembered", measured(lambda: read_shop(made.folder, photo_facts=PhotoMemory(known)))


def in_memory(made: Made) -> Stages:
    """Everything between the disk and the disk."""
    yield "compute", measured(lambda: build_catalog(made.shop))
    catalog = made.catalog
    yield "listing", measured(lambda: build_listings(catalog))
    listings = made.listings
    yield "check", measured(lambda: check_listings(listings, CheckContext(TODAY)))


def writing(made: Made) -> Stages:
    """Each writer with its recipes, then a build into a folder, first and unchanged."""
    for name, write in WRITERS.items():
        jobs = tuple(job for job in write(made.listings, WriteContext("1")) if not job.last)
        if jobs:
            heavy = any(job.heavy for job in jobs)
            yield f"write {name}", measured(partial(run, jobs, made.out / "alone"), runs=1 if heavy else 2)
        if name in PEERS:
            yield from PEERS[name](made)
    jobs, built = made.jobs, made.out / "built"
    yield "save, first, all files", measured(lambda: save(jobs, built), runs=1)
    yield "save, unchanged", measured(lambda: save(jobs, built))


def csv_peer(made: Made) -> Stages:
    """The rows of the feed written ready-made."""
    rows = peers.read_rows(made.out / "alone" / KEY / "feed.csv")
    yield "  peer: csv.writer", measured(lambda: peers.write_rows(rows, made.out / "rows.csv"))


def crops_peer(made: Made) -> Stages:
    """The same pictures by another program."""
    wanted = [
        (made.folder / listed.photo.file, (picture.cut.width, picture.cut.height))
        for listing in made.listings
        for listed in listing.photos
        for picture in listed.pictures
    ]
    if not peers.PYVIPS_MISSING:
        yield "  peer: pyvips", measured(lambda: peers.write_crops(wanted, made.out), runs=1)


PEERS = {"csv-feed": csv_peer, "photo-crops": crops_peer}


def run(jobs: tuple[Job, ...], folder: Path) -> None:
    """Run the recipes of jobs into files that nothing reads back; pictures lie where a page of the same jobs looks."""
    for job in jobs:
        paths = tuple(folder / file.path for file in job.files)
        for path in paths:
            path.parent.mkdir(parents=True, exist_ok=True)
        job.recipe(*job.inputs, paths)


def ledger_stages(made: Made) -> Stages:
    """Record, see what one dearer item changes, and hold the feed of before against it."""
    ledger = made.out / LEDGER
    before = Listed(made.shop, made.listings, TODAY)
    then = held(snapshot_of(before, KEY))
    yield "record, first", measured(lambda: record(ledger, KEY, then, STAMP), runs=1)
    now = held(snapshot_of(made.truth, KEY))
    yield "changes, one item dearer", measured(lambda: all_changes(ledger, KEY, now, made.truth))
    export = made.out / "built" / KEY / "feed.csv"
    yield "  peer: csv.reader, feed twice", measured(lambda: [peers.read_rows(export) for _ in range(2)])
    yield "compare with the feed", measured(lambda: all_compared(export, made.truth, KEY))


def command(*words: str) -> Figure:
    """Run python with these words and return what the process took."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    asked = [sys.executable, "-m", "tests.bench.told_peak", *words]
    said = subprocess.run(asked, check=True, capture_output=True, text=True).stderr
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    taken = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return Figure(taken, int(said.rpartition("peak ")[2]) * 1024)


def commands(made: Made) -> Stages:
    """Whole commands, as processes: from starting Python to the last word."""
    yield "listkit --help", least(5, "listkit", "--help")
    yield "  peer: import argparse", least(5, "argparse")
    build = ("listkit", "build", "--shop", str(made.folder), "--out", str(made.out / "whole"), "--today", str(TODAY))
    yield "listkit build, first", command(*build)
    yield "listkit build, unchanged", least(3, *build)


def least(runs: int, *words: str) -> Figure:
    """Return the least of some runs of a command."""
    return min((command(*words) for _ in range(runs)), key=lambda one: one.seconds)
