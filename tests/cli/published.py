"""A small shop that has been built and recorded, for tests of what follows: changes, comparisons, histories."""

import atexit
import csv
import hashlib
import io
import json
import shutil
import tempfile
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from listkit.cli import main
from tests.shops import clean_shop

WEB = """name = "Own web shop"
make = ["feed", "listings"]
feed = "csv"
text = "html"

[[column]]
heading = "Item number"
value = "sku"

[[column]]
heading = "Title"
value = "name"

[[column]]
heading = "Price"
value = "price"
required = true

[[column]]
heading = "Pieces left"
value = "inventoryLevel"

[[column]]
heading = "Jar"
value = "choice_1"

[[file]]
name = "prices"
columns = ["Item number", "Price"]
"""
DAY = "2027-03-01"


class Told:
    """Runs commands on one shop and keeps what they said."""

    def __init__(self, shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.shop = shop
        self.capsys = capsys
        self.out = ""
        self.err = ""

    def run(self, command: str, *words: str) -> int:
        """Return the exit status of a command; what lists the shop does so on its day, unless `words` name another."""
        if command in ("record", "changes", "compare") and "--today" not in words:
            words = (*words, "--today", DAY)
        status = main([command, "--shop", str(self.shop), *words])
        said = self.capsys.readouterr()
        self.out, self.err = said.out, said.err
        return status

    def build(self, *words: str) -> int:
        """Build on the shop's day."""
        return self.run("build", "--today", DAY, *words)

    def json(self, command: str, *words: str, status: int = 0) -> Any:
        """Return what a command tells a script."""
        assert self.run(command, *words, "--json") == status, self.err
        return json.loads(self.out)

    def edit(self, path: str, old: str, new: str) -> None:
        """Put `new` in the place of the only `old` in a file of the shop."""
        file = self.shop / path
        text = file.read_text(encoding="utf-8")
        assert text.count(old) == 1, text
        file.write_text(text.replace(old, new), encoding="utf-8")

    def made(self, path: str) -> str:
        """Return the text of a file in out/."""
        return (self.shop / "out" / path).read_bytes().decode("utf-8")

    def rows(self, path: str) -> list[dict[str, str]]:
        """Return the rows of a table in out/ by their headings."""
        return list(csv.DictReader(io.StringIO(self.made(path), newline="")))


def small_shop(folder: Path) -> Path:
    """Make the shop with a web shop beside its stall."""
    return clean_shop(folder, {"channels/web.toml": WEB})


def copied(name: object, make: Callable[[Path], object], folder: Path, capsys: pytest.CaptureFixture[str]) -> Told:
    """Return a copy of the shop that `make` makes in a folder; it is made once, under this name."""
    kept = _kept() / hashlib.sha256(repr(name).encode()).hexdigest()[:16]
    if not kept.exists():
        unfinished = Path(tempfile.mkdtemp(dir=_kept())) / "shop"
        make(unfinished)
        capsys.readouterr()
        unfinished.rename(kept)
    return Told(Path(shutil.copytree(kept, folder)), capsys)


@cache
def _kept() -> Path:
    folder = Path(tempfile.mkdtemp(prefix="listkit-kept-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


def built_shop(folder: Path, capsys: pytest.CaptureFixture[str], *recorded: tuple[str, ...]) -> Told:
    """Return the small shop, built, then recorded with each of these words: ("web", "--at", "2026-09-01T10:00")."""

    def make(place: Path) -> None:
        told = Told(small_shop(place), capsys)
        assert told.build() == 0, told.err
        for words in recorded:
            assert told.run("record", *words) == 0, told.err

    return copied(("small", recorded), make, folder, capsys)


def bytes_of(folder: Path) -> dict[str, bytes]:
    """Return every file of a shop outside out/."""
    return dict(_files(folder))


def _files(folder: Path) -> Iterator[tuple[str, bytes]]:
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        if path.is_file() and not name.startswith("out/"):
            yield name, path.read_bytes()
