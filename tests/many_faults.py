"""Shops with several faults at once: folders of tests/problems put over each other, where they touch other lines."""

import random
import re
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import SequenceMatcher
from hashlib import sha256
from itertools import count, pairwise
from pathlib import Path

from tests.shops import PROBLEMS, clean_shop

CLEAN = PROBLEMS / "clean"
_GONE = ("remove.txt", "rename.txt")
ASIDE = {"expected.txt", *_GONE}


def _is_changed_files_alone(folder: Path) -> bool:
    return folder.is_dir() and folder != CLEAN and not any((folder / name).exists() for name in _GONE)


CASES = tuple(filter(_is_changed_files_alone, sorted(PROBLEMS.iterdir())))
Told = tuple[str, str]
"""A code and the file that it is told of."""


@dataclass(frozen=True, slots=True)
class Faulty:
    """A shop folder with the faults of several folders."""

    root: Path
    cases: tuple[Path, ...]


def told_in(line: str) -> Told:
    """Return code and file of a line as `check` has it."""
    words, _, code = line.rpartition("  ")
    place = re.match(r"(?:Must fix|Look at) · ([^:,]+)", words)
    return code, place[1] if place else ""


def wanted(case: Path) -> set[Told]:
    """Return what a folder alone is told for: its own code."""
    lines = (case / "expected.txt").read_text(encoding="utf-8").splitlines()
    return {told for told in map(told_in, lines) if told[0] == case.name.partition("+")[0]}


def lines_wanted(case: Path) -> list[str]:
    """Return the lines that a folder alone is told for its own code."""
    lines = (case / "expected.txt").read_text(encoding="utf-8").splitlines()
    return [line for line in lines if told_in(line) in wanted(case)]


def is_there(case: Path, cases: tuple[Path, ...]) -> bool:
    """Whether a folder's fault is one yet, with the other folders over it.

    It is none where what is told of it names a picture that another folder replaces, or a code that another folder
    gives to something or takes from it.
    """
    told, of_case = " ".join(lines_wanted(case)), set(_overlay(case))
    for other in cases:
        pictures = {path for path in set(_overlay(other)) - of_case if path.endswith((".png", ".jpg"))}
        if any(path.rpartition("/")[2] in told for path in pictures):
            return False
    together = _merged(cases) or {}
    moved = _codes_in(_merged((case,)) or {}) ^ _codes_in(together)
    return not moved & set(re.findall(r"[\w.-]*\w", told))


def _overlay(case: Path) -> Iterator[str]:
    """Yield the paths of the files that a folder changes."""
    files = (file for file in case.rglob("*") if file.is_file() and file.name not in ASIDE)
    return (file.relative_to(case).as_posix() for file in files)


def _codes_in(files: dict[str, bytes]) -> set[str]:
    """Return the codes that items and sets have in the clean shop with these files over it."""
    clean = {file.relative_to(CLEAN).as_posix(): file.read_bytes() for file in CLEAN.rglob("*.*ml")}
    clean["items.csv"] = (CLEAN / "items.csv").read_bytes()
    found = set[str]()
    for path, content in {**clean, **files}.items():
        text = content.decode("utf-8", "replace")
        if path == "items.csv":
            found |= {line.partition(",")[0] for line in text.splitlines()[1:]}
        elif path.endswith("set.toml"):
            found |= set(re.findall(r'(?m)^code = "(.+)"', text))
    return found


def codes(cases: tuple[Path, ...]) -> set[str]:
    """Return every code that the folders are told for, what follows from their faults included."""
    return {told_in(line)[0] for case in cases for line in (case / "expected.txt").read_text("utf-8").splitlines()}


def faulty_shops(folder: Path, seed: int, number: int) -> Iterator[Faulty]:
    """Yield shops with two to six faults that do not touch each other's lines; the same seed gives the same ones.

    Each turn takes the folders whose names come first by a digest, so that one folder more leaves nearly all shops as
    they are.
    """
    made = 0
    for turn in count():
        if made == number:
            return
        chance = random.Random(f"{seed} {turn}")
        ranked = sorted(CASES, key=lambda case: sha256(f"{seed} {turn} {case.name}".encode()).digest())
        cases = tuple(ranked[: chance.choice((2, 2, 3, 3, 4, 5, 6))])
        files = _merged(cases)
        if files is None:
            continue
        root = clean_shop(folder / f"shop-{made}")
        for path, content in files.items():
            (root / path).parent.mkdir(parents=True, exist_ok=True)
            (root / path).write_bytes(content)
        made += 1
        yield Faulty(root, cases)


def _merged(cases: tuple[Path, ...]) -> dict[str, bytes] | None:
    """Return the files of all, None where two change the same lines."""
    files: dict[str, list[bytes]] = {}
    for case in cases:
        for path in _overlay(case):
            files.setdefault(path, []).append((case / path).read_bytes())
    merged = {}
    for path, contents in files.items():
        base = CLEAN / path
        alike = len(set(contents)) == 1
        content = contents[0] if alike else _three_ways(base.read_bytes(), contents) if base.is_file() else None
        if content is None:
            return None
        merged[path] = content
    return merged


def _three_ways(base: bytes, contents: list[bytes]) -> bytes | None:
    lines = base.splitlines(keepends=True)
    edits: list[tuple[int, int, list[bytes]]] = []
    for content in contents:
        changed = content.splitlines(keepends=True)
        matcher = SequenceMatcher(None, lines, changed, autojunk=False)
        for tag, low, high, start, end in matcher.get_opcodes():
            edits += [(low, high, changed[start:end])] if tag != "equal" else []
    edits.sort(key=lambda edit: edit[:2])
    if any(first[1] >= second[0] for first, second in pairwise(edits)):
        return None
    for low, high, new in reversed(edits):
        lines[low:high] = new
    return b"".join(lines)
