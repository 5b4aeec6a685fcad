"""One case of the fuzzer by its number: which file is changed how, and which command then meets it.

The same number gives the same case for the same base shop.
"""

import hashlib
import os
import shutil
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Final

from tests.fuzz.commands import ON_BOOKS, ON_MEMORY, ON_SHOP, Words, command, usual_for
from tests.fuzz.mutate import CSV, TEXT, TOML, Mutation, mutated
from tests.fuzz.mutate_folder import changed_folder
from tests.fuzz.mutate_packed import DATABASE, JSON, PICTURE, WORKBOOK
from tests.fuzz.rich_shop import BOOKS
from tests.shops import ods, ods_row, xlsx

SEED: Final = "hold"
KINDS: Final[Mapping[str, Sequence[Mutation]]] = {
    ".toml": TOML, ".csv": CSV, ".md": TEXT, ".html": TEXT, ".txt": TEXT, ".typ": TEXT, ".svg": TEXT,
    ".xlsx": WORKBOOK, ".ods": WORKBOOK, ".json": JSON, ".jsonl": JSON, ".sqlite3": DATABASE,
    ".jpg": PICTURE, ".png": PICTURE, ".webp": PICTURE, ".tif": PICTURE, ".avif": PICTURE,
}  # fmt: skip
# How often each kind of target is drawn.
WEIGHTS: Final = {
    "toml": 24, "csv": 8, "books": 12, "workbook": 6, "words": 6, "template": 10, "picture": 7, "given": 16,
    "memory": 9, "folder": 8,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Case:
    """A case that lies ready: what was changed, in words, and the command's words."""

    what: str
    words: tuple[str, ...]


def prepare(number: int, place: Path) -> Case:
    """Change the place as case `number` wants and return the command to run."""
    chance = Random(f"{SEED}:{number}")  # the same case for the same number
    group = chance.choices(tuple(WEIGHTS), tuple(WEIGHTS.values()))[0]
    shop = place / "shop"
    if group == "folder":
        return Case(changed_folder(chance, shop), command(chance.choice((*ON_SHOP, *ON_BOOKS)), place))
    if group == "workbook":
        what = _own_workbook(chance, shop)
        return Case(what, command(chance.choice((*ON_SHOP, *ON_BOOKS)), place))
    there = targets(place)
    path = chance.choice(there[group])
    others = [one.read_bytes() for one in chance.sample(there["csv" if group in ("csv", "books") else "toml"], 3)]
    path.write_bytes(_changed(chance, path, others))
    what = f"{path.relative_to(place)} ({path.stat().st_size} bytes)"
    words = usual_for(chance, path) if group == "given" else chance.choice(_fitting(chance, group))
    return Case(what, command(words, place, path))


def _changed(chance: Random, path: Path, others: Sequence[bytes]) -> bytes:
    """Return other bytes for a file; a memory that bears its own digest often as if its reader had written it."""
    content, kinds = path.read_bytes(), KINDS.get(path.suffix, TEXT)
    line, _, digest = content.rstrip(b"\n").rpartition(b"\n")
    if not path.name.startswith(".") or digest != hashlib.sha256(line).hexdigest().encode() or chance.random() < 0.3:
        return mutated(chance, content, others, kinds)
    line = mutated(chance, line, others, JSON)  # by somebody who knows how it is written
    return line + b"\n" + hashlib.sha256(line).hexdigest().encode() + b"\n"


def targets(place: Path) -> dict[str, list[Path]]:
    """Return every file that can be changed, by kind."""
    found: dict[str, list[Path]] = {name: [] for name in WEIGHTS}
    shop = place / "shop"
    for path in sorted(path for path in shop.rglob("*") if path.is_file()):
        if "out" in path.relative_to(shop).parts:
            continue
        suffix = path.suffix
        if suffix == ".sqlite3":
            found["memory"] += [path] * 3
        elif "templates" in path.relative_to(shop).parts:
            found["template"].append(path)
        else:
            kinds = {".toml": "toml", ".csv": "csv", ".md": "words", ".jsonl": "memory"}
            found["books" if path.name in BOOKS else kinds.get(suffix, "picture")].append(path)
    build = place / "build"
    found["memory"] += [shop / "out/.made.json", build / "manifest.json", *sorted(build.glob(".*.json"))]
    found["given"] = sorted((place / "given").iterdir())
    return found


def _own_workbook(chance: Random, shop: Path) -> str:
    """Put a workbook in the place of a table of the shop, and change it."""
    table = shop / "items.csv"
    rows = [line.split(",") for line in table.read_text(encoding="utf-8").splitlines()]
    table.unlink()
    suffix = chance.choice((".xlsx", ".ods"))
    content = xlsx(rows) if suffix == ".xlsx" else ods("".join(map(ods_row, rows)))
    new = mutated(chance, content, (content, b"<x/>"), WORKBOOK)
    table.with_suffix(suffix).write_bytes(new)
    return f"shop/items{suffix} ({len(new)} bytes)"


def _fitting(chance: Random, group: str) -> Sequence[Words]:
    if group == "memory":
        return ON_MEMORY
    if group == "template" and chance.random() < 0.4:
        return (("build",), ("print", "labels"), ("print", "market", "--place", "stall"), ("plan", "--calendar"))
    return ON_BOOKS if group == "books" or chance.random() < 0.3 else ON_SHOP


def restore(place: Path, pristine: Path) -> list[str]:
    """Bring the place back to what `pristine` holds, times included; return the paths that had changed."""
    now, then = _seen(place), _seen(pristine)
    changed = [path for path in sorted({*now, *then}) if now.get(path) != then.get(path)]
    for path in reversed(changed):  # what lies in a folder goes before the folder
        if path in now:
            _take_away(place / path)
    for path in changed:
        if path in then:
            _put_back(pristine / path, place / path)
    return changed


def _take_away(target: Path) -> None:
    if target.is_symlink() or not target.is_dir():
        target.unlink(missing_ok=True)
    else:
        shutil.rmtree(target)


def _put_back(source: Path, target: Path) -> None:
    if source.is_dir():
        shutil.copytree(source, target, dirs_exist_ok=True, copy_function=shutil.copy2)
    elif not target.exists():
        shutil.copy2(source, target)


def _seen(root: Path) -> dict[str, tuple[int, ...]]:
    """Return what lies below a folder: kind and rights, of files size and time too."""
    found: dict[str, tuple[int, ...]] = {}
    waiting = [str(root)]
    while waiting:
        with os.scandir(waiting.pop()) as entries:
            for entry in entries:
                status = entry.stat(follow_symlinks=False)
                is_folder = entry.is_dir(follow_symlinks=False)
                further = () if is_folder else (status.st_size, status.st_mtime_ns)
                found[entry.path.removeprefix(f"{root}/")] = (status.st_mode, *further)
                if is_folder:
                    waiting.append(entry.path)
    return found
