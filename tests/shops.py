"""Small shops for tests: folders built from a clean one with a few files changed, and all problems of a folder."""

import datetime
import shutil
from collections.abc import Mapping
from pathlib import Path

from listkit.problem import Problem
from listkit.read.shop import read_shop

PROBLEMS = Path(__file__).parent / "problems"
CLEAN = PROBLEMS / "clean"
DEMO = Path(__file__).resolve().parents[1] / "demo_shop"
NOT_PART_OF_THE_SHOP = ("expected.txt", "remove.txt")


def clean_shop(folder: Path, changes: Mapping[str, str | bytes | None] | None = None) -> Path:
    """Copy the clean shop to `folder`; `changes` are paths with the text that stands there instead, None to remove."""
    shutil.copytree(CLEAN, folder, dirs_exist_ok=True)
    for path, content in (changes or {}).items():
        file = folder / path
        if content is None:
            file.unlink()
            continue
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(content if isinstance(content, bytes) else content.encode())
    return folder


def edited(path: str, old: str, new: str) -> dict[str, str | bytes | None]:
    """Return the one change to the clean shop that puts `new` in the place of `old` in a file."""
    text = (CLEAN / path).read_text(encoding="utf-8")
    assert text.count(old) >= 1, f"{old!r} does not stand in {path}"
    return {path: text.replace(old, new, 1)}


def broken_shop(folder: Path, overlay: Path) -> Path:
    """Build the clean shop with the files of `overlay` over it, less those that its remove.txt names."""
    clean_shop(folder)
    for file in (file for file in overlay.rglob("*") if file.is_file() and file.name not in NOT_PART_OF_THE_SHOP):
        target = folder / file.relative_to(overlay)
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(file, target)
    gone = overlay / "remove.txt"
    for path in gone.read_text(encoding="utf-8").split("\n") if gone.exists() else ():
        if path:
            (folder / path).unlink()
    return folder


def problems_of(folder: Path, today: datetime.date) -> list[Problem]:
    """Return every problem that listkit tells of a shop folder, sorted by place."""
    assert today
    return read_shop(folder)[1]


def lines(problems: list[Problem]) -> list[str]:
    """Return problems as they are told, each with its code at the end."""
    return [f"{problem}  {problem.code}" for problem in problems]
