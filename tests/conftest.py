"""What all tests share: the demo shop read once, and golden files with `--update-golden`."""

import gc
import hashlib
import os
import pickle
import re
import shutil
import sys
import time
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, Final

import pytest
from hypothesis import settings
from playwright.sync_api import Browser, sync_playwright
from pypdf import PdfReader
from python_calamine import CalamineWorkbook

from listkit.cli import collect_rarely
from listkit.compute.build import build_catalog
from listkit.listing.build import build_listings
from listkit.listing.listings import Listings
from listkit.model.photo import PhotoFacts
from listkit.picture.facts import measure
from listkit.read import photos
from listkit.read.photos import PhotoMemory
from listkit.read.shop import read_shop
from listkit.save.job import Job
from listkit.save.made import read_made, remember_photos
from listkit.save.save import save
from listkit.write import print as pages
from tests.desk.desks import CHROMIUM
from tests.shops import DEMO, DEMO_DRAFT, demo_photos, small_demo
from tests.sketches import SKETCH, alike, sketch

# No test depends on the clock. A long search: pytest --hypothesis-profile=thorough
settings.register_profile("steady", deadline=None, max_examples=40)
settings.register_profile("thorough", deadline=None, max_examples=1000)
settings.load_profile("steady")

HERE = Path(__file__).parent
GOLDEN = HERE / "golden"
# What a page tells of pictures that encoders make: their bytes and their weight.
OF_PICTURES = re.compile(rb"(?<=data:)[^\"]+|(?<=, )\d+ kB")
CELLS = ".cells.txt"
PAGES = ".pages.txt"
PICTURES = frozenset({".jpg", ".png", ".webp", ".avif"})
SHARED = 50_000  # bytes of a photo from which on reading what another process measured is quicker than measuring
PATIENCE = 60  # seconds that a process waits for what another one measures


def pytest_addoption(parser: pytest.Parser) -> None:
    """Give pytest `--update-golden`."""
    parser.addoption("--update-golden", action="store_true", help="write the golden files anew, and delete strays")


collect_rarely()  # as every command does; thousands of tests are looked through each time
# What is translated is kept, here and in the processes that tests start: each would begin with ten seconds of it.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False
# What tests write is kept in memory where there is room: thousands of files are brought to the disk one by one (fsync),
# which takes up to four thousandths of a second each. A kill leaves what was written; only a power cut would not.
MEMORY = Path("/dev/shm")
ROOM = 4_000_000_000  # bytes; a whole run leaves a quarter of it
if MEMORY.is_dir() and shutil.disk_usage(MEMORY).free >= ROOM:
    os.environ.setdefault("PYTEST_DEBUG_TEMPROOT", str(MEMORY))


def pytest_collection_finish() -> None:
    """Leave what all tests have loaded out of every further look for cycles."""
    gc.freeze()


QUICK = ("units", "compute", "listing", "check", "test_problems.py")
SLOW = frozenset({"test_search.py", "test_template_bounds.py"})  # random boxes searched by hand, endless templates


# Whole builds of the demo, fifty mutated shops, every page in every look, builds that are killed: begun first, so that
# no process is at one while the rest wait.
LONGEST = frozenset({
    "test_browser.py", "test_same_bytes.py", "test_fuzz.py", "test_faults.py", "test_golden.py", "test_recipe.py",
})  # fmt: skip


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark as quick what is in the folders of QUICK, before -m picks; what counts its steps as work grows is slow."""
    items.sort(key=lambda item: item.path.name not in LONGEST)
    for item in items:
        place = item.path.relative_to(HERE)
        slow = place.name in SLOW or "_the_work_grows_" in item.name or item.get_closest_marker("long")
        if place.parts[0] in QUICK and not slow:
            item.add_marker("quick")


def remembered(place: Path, photo: Path) -> PhotoFacts:
    """Return what is measured in a photo, kept at a place; while another process measures it, wait for that."""
    begun = place.with_suffix(".begun")
    end = time.monotonic() + PATIENCE
    while not place.exists() and time.monotonic() < end:
        try:
            begun.touch(exist_ok=False)
        except FileExistsError:
            time.sleep(0.02)
            continue
        try:
            facts = measure(photo)
            part = place.with_suffix(".part")
            part.write_bytes(pickle.dumps(facts))
            part.replace(place)
        finally:
            begun.unlink()
    facts = pickle.loads(place.read_bytes()) if place.exists() else measure(photo)
    assert isinstance(facts, PhotoFacts)
    return facts


@pytest.fixture(scope="session", autouse=True)
def photos_are_measured_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Read what is measured in a photo from memory where a test before had one of that name and these bytes.

    Large ones are remembered for the other processes of the session too. What measuring gives is asked in
    tests/picture, which calls it by itself.
    """
    known: dict[str, PhotoFacts] = {}
    folder = tmp_path_factory.getbasetemp()
    folder = (folder.parent if "PYTEST_XDIST_WORKER" in os.environ else folder) / "measured"
    folder.mkdir(exist_ok=True)

    def measured(path: Path) -> PhotoFacts:
        try:
            content = path.read_bytes()
        except OSError:
            return measure(path)
        key = hashlib.sha256(f"{path.name}\0".encode() + content).hexdigest()
        if key not in known:
            known[key] = remembered(folder / key, path) if len(content) > SHARED else measure(path)
        return known[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(photos, "measure", measured)
        yield


_print: Final = pages._run
_PRINTED: Final[dict[str, tuple[tuple[Any, ...], dict[str, bytes]]]] = {}


@pytest.fixture
def pages_are_printed_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Take pages of the same layout, facts and pictures from memory; tests/write asks whether they are the same."""
    monkeypatch.setattr(pages, "_run", _from_memory)


def _from_memory(layout: pages.Layout, order: dict[str, object], seconds: int) -> tuple[Any, ...]:
    root = Path(str(order["root"]))
    given = sorted(path for path in root.rglob("*") if path.is_file())
    digest = hashlib.sha256(repr([order[key] for key in ("layout", "ask", "time", "ppi")]).encode())
    for path in given:
        content = path.read_bytes()
        digest.update(f"{path.relative_to(root)} {len(content)}\n".encode() + content)
    key = digest.hexdigest()
    if key not in _PRINTED:
        said = _print(layout, order, seconds)
        made = {path.name: path.read_bytes() for path in root.iterdir() if path.is_file() and path not in given}
        _PRINTED[key] = said, made
    said, made = _PRINTED[key]
    for name, content in made.items():
        (root / name).write_bytes(content)
    return said


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the demo shop, with what was measured in its photos in out/."""
    folder = tmp_path_factory.mktemp("demo") / "demo_shop"
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("out"))
    memory = PhotoMemory(demo_photos().photos)
    read_shop(folder, photo_facts=memory)
    remember_photos(folder / "out", memory.photos)
    return folder


@pytest.fixture(scope="session")
def demo(demo_folder: Path) -> Listings:
    """The demo shop's listings; reading it gives no problem."""
    memory = PhotoMemory(read_made(demo_folder / "out").photos)
    shop, problems = read_shop(demo_folder, photo_facts=memory, leave_out=DEMO_DRAFT)
    assert problems == []
    return build_listings(build_catalog(shop))


@pytest.fixture(scope="session")
def small(tmp_path_factory: pytest.TempPathFactory) -> Listings:
    """The demo shop's listings where pictures and cuts have an eighth of their size: all are made in a second."""
    shop, problems = read_shop(small_demo(tmp_path_factory.mktemp("small") / "demo_shop"), leave_out=DEMO_DRAFT)
    assert problems == []
    return build_listings(build_catalog(shop))


def cells_of(file: Path) -> bytes:
    """Return the cells of a workbook, a row a line, as an independent reader gives them."""
    book = CalamineWorkbook.from_path(file)
    rows = [(name, row) for name in book.sheet_names for row in book.get_sheet_by_name(name).to_python()]
    return "".join(f"{name}: {row!r}\n" for name, row in rows).encode()


def pages_of(file: Path) -> bytes:
    """Return the words of a PDF, page by page, as an independent reader gives them."""
    pages = [page.extract_text() for page in PdfReader(file).pages]
    return "".join(f"page {number} of {len(pages)}\n{text}\n\n" for number, text in enumerate(pages, 1)).encode()


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One browser for all that a process tests; each page has a context of its own, which knows nothing of others."""
    with sync_playwright() as playwright, playwright.chromium.launch(executable_path=str(CHROMIUM)) as browser:
        yield browser


class Golden:
    """Compares what jobs make with the files that a person has read: texts byte for byte, pictures by their sketch."""

    def __init__(self, scratch: Path, *, update: bool) -> None:
        self.scratch = scratch
        self.update = update

    def check(self, name: str, jobs: Iterable[Job]) -> None:
        """Run the jobs of one writer and compare every file with tests/golden/<name>/."""
        saved = save(jobs, self.scratch, workers=2)
        assert saved.failures == ()
        made = dict(self._told(path) for path in saved.made)
        folder = GOLDEN / name
        if self.update:
            self._rewrite(folder, made)
        kept = {path.relative_to(folder).as_posix(): path for path in folder.rglob("*") if path.is_file()}
        assert sorted(kept) == sorted(made)
        for path, content in made.items():
            same = alike if path.endswith(SKETCH) else bytes.__eq__
            assert same(content, kept[path].read_bytes()), path

    def _told(self, path: str) -> tuple[str, bytes]:
        file = self.scratch / path
        if file.suffix in PICTURES:
            return path + SKETCH, sketch(file)
        if file.suffix == ".xlsx":  # packed by a library that may pack otherwise on another machine
            return path + CELLS, cells_of(file)
        if file.suffix == ".pdf":
            return path + PAGES, pages_of(file)
        content = file.read_bytes()
        return path, OF_PICTURES.sub(b"", content) if file.name == "contact-sheet.html" else content

    def _rewrite(self, folder: Path, made: dict[str, bytes]) -> None:
        for stray in [path for path in folder.rglob("*") if path.is_file()]:
            stray.unlink()
        for path, content in made.items():
            (folder / path).parent.mkdir(parents=True, exist_ok=True)
            (folder / path).write_bytes(content)


@pytest.fixture
def golden(tmp_path: Path, request: pytest.FixtureRequest) -> Golden:
    """The golden files of one writer."""
    return Golden(tmp_path, update=request.config.getoption("--update-golden"))
