"""Changes to a folder: files gone, renamed, linked, doubled, made folders or pipes, under names no file should have."""

import os
import shutil
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from random import Random
from typing import Final

from tests.fuzz import nasty


def changed_folder(chance: Random, shop: Path) -> str:
    """Change the folder in one to three ways; return what was done, in words."""
    told = []
    for _ in range(chance.choice((1, 1, 2, 3))):
        way = chance.choice(WAYS)
        path = chance.choice(sorted(path for path in shop.rglob("*") if "out" not in path.relative_to(shop).parts))
        with suppress(OSError, ValueError):  # a name may be too much for this file system
            told.append(f"{way.__name__} {path.relative_to(shop)!s}")
            way(chance, path, shop)
    return ", ".join(told)


def _gone(path: Path) -> None:
    shutil.rmtree(path) if path.is_dir() and not path.is_symlink() else path.unlink()


def remove(_chance: Random, path: Path, _shop: Path) -> None:
    """Take a file or folder away."""
    _gone(path)


def rename(chance: Random, path: Path, _shop: Path) -> None:
    """Give it another name."""
    name = path.name
    ways = (name.upper(), path.stem, f"{name}.bak", name.replace("e", "é"), chance.choice(nasty.FILE_NAMES))
    os.rename(path, path.with_name(chance.choice(ways)))


def link(chance: Random, path: Path, shop: Path) -> None:
    """Put a link in its place: to a secret, to nowhere, to itself, or to the folder around it."""
    outside = shop.parent / "outside"
    secrets = (outside / "canary.png", outside / "secret.toml", outside, Path("/etc/passwd"))
    targets = (*secrets, shop, path, Path("nowhere"))
    target = chance.choice(targets)
    _gone(path)
    path.symlink_to(target)


def become_folder(_chance: Random, path: Path, _shop: Path) -> None:
    """Put a folder in a file's place."""
    _gone(path)
    path.mkdir()


def become_file(_chance: Random, path: Path, _shop: Path) -> None:
    """Put a file in a folder's place."""
    _gone(path)
    path.write_bytes(b"x")


def become_pipe(_chance: Random, path: Path, _shop: Path) -> None:
    """Put a pipe in its place, which nobody ever writes to."""
    _gone(path)
    os.mkfifo(path)


def copy(chance: Random, path: Path, _shop: Path) -> None:
    """Put the same beside it under another name."""
    name = chance.choice((path.name.upper(), path.name.swapcase(), f"copy of {path.name}", *nasty.FILE_NAMES))
    if path.is_dir():
        shutil.copytree(path, path.with_name(name), symlinks=True)
    else:
        shutil.copyfile(path, path.with_name(name))


def odd_bytes(_chance: Random, path: Path, _shop: Path) -> None:
    """Put a file beside it whose name is no text."""
    (path.parent / os.fsdecode(b"\xff\xfe.jpg")).write_bytes(b"x")


def move(chance: Random, path: Path, shop: Path) -> None:
    """Move it into another folder of the shop; not through a link, which would be our own doing."""
    folders = [folder for folder in sorted(shop.rglob("*")) if folder.is_dir() and not folder.is_symlink()]
    shutil.move(path, chance.choice(folders) / path.name)


def forbid(_chance: Random, path: Path, _shop: Path) -> None:
    """Let nobody read it."""
    path.chmod(0)


WAYS: Final[tuple[Callable[[Random, Path, Path], None], ...]] = (
    remove, rename, rename, link, link, become_folder, become_file, become_pipe, copy, copy, odd_bytes, move, forbid,
)  # fmt: skip
