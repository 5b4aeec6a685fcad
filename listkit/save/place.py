"""How a file that somebody asks for takes its place: whole or not at all, and never over what is not listkit's.

It is written under a name beside its target that nobody can guess, made anew and through no link (O_EXCL, O_NOFOLLOW),
flushed to the disk, and only then takes its target's place. A file that lies there already is replaced only where it
is known to be ours: it holds the very bytes, or those that `ours` knows.
"""

import os
import stat
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from listkit.paths import KEPT, SOURCES, folded_path
from listkit.problem import BlockedError, remedy_of
from listkit.save.out_folder import discard, part_of, sha256_of, sync, take_new_place

Ours = Callable[[Path], bool]
"""Whether a file that is there already is listkit's own and may be replaced."""

_NEW: Final = os.O_CREAT | os.O_EXCL | os.O_WRONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
_NO_LINKS: Final = "Put the folder itself there."


def nobodys(_: Path) -> bool:
    """Replace nothing."""
    return False


@contextmanager
def placed(targets: Sequence[Path], ours: Ours = nobodys) -> Iterator[tuple[Path, ...]]:
    """Yield an empty file beside each target, to be filled; they take their places when the block ends, else are gone.

    Folders on the way are made, and taken away again when nothing comes of it.

    Raises:
        BlockedError: a target is a link, no plain file, or one that is not ours; none takes its place then.
        OSError: the disk is full, or writing is not allowed.
    """
    parts: list[Path] = []
    made: list[Path] = []
    try:
        for target in targets:
            made += make_folders(target.parent)
            parts.append(_new_part(target))
        yield tuple(parts)
        for part in parts:
            sync(part)
        for part, target in zip(parts, targets, strict=True):
            _refuse_strangers(part, target, ours)
        for part, target in zip(parts, targets, strict=True):
            _take_place(part, target, ours)
    finally:
        for part in parts:
            discard(part)
        for folder in reversed(made):
            with suppress(OSError):  # what took its place lies in it
                folder.rmdir()


def put_file(target: Path, content: bytes, ours: Ours = nobodys) -> None:
    """Write one file whole.

    Raises:
        BlockedError: it is there already and not ours, a link, or cannot be written.
    """
    put_files(((target, content),), ours)


def put_files(files: Sequence[tuple[Path, bytes]], ours: Ours = nobodys) -> None:
    """Write files whole; none takes its place before all are written.

    Raises:
        BlockedError: one is there already and not ours, is a link, or cannot be written.
    """
    try:
        with placed([target for target, _ in files], ours) as parts:
            for part, (_, content) in zip(parts, files, strict=True):
                part.write_bytes(content)
    except OSError as fault:
        named = files[0][0] if len(files) == 1 else files[0][0].parent
        hint = "Make room on the disk, allow writing there, or name another place."
        raise BlockedError(f"{named} cannot be written: {fault.strerror or fault}.", remedy_of(fault, hint)) from fault


def make_folders(folder: Path) -> list[Path]:
    """Make a folder with those above it; return the ones that were not there, the outermost first."""
    missing = [path for path in (folder, *folder.parents) if not os.path.lexists(path)]
    folder.mkdir(parents=True, exist_ok=True)
    return missing[::-1]


def free_name(target: Path) -> Path:
    """Return the first name like the target's that is not taken: prices-2.svg."""
    number = 2
    while os.path.lexists(free := target.with_name(f"{target.stem}-{number}{target.suffix}")):
        number += 1
    return free


def refuse_links_below(root: Path, target: Path) -> None:
    """Raise BlockedError where a folder between `root` and `target`, both included, is a link to another place."""
    inside = below(os.path.abspath(root), os.path.abspath(target))
    if inside is None:
        return
    folder = os.path.realpath(root)
    for at, name in enumerate(inside, 1):
        folder = os.path.join(folder, name)
        if os.path.normcase(os.path.realpath(folder)) != os.path.normcase(folder):
            raise BlockedError(f"{'/'.join(inside[:at])} is a link, which is not followed.", _NO_LINKS)


def refuse_sources(shop: Path, target: Path) -> None:
    """Raise BlockedError where a file would lie among the shop's own, or beyond a link in the shop."""
    refuse_links_below(shop, target)
    real = os.path.join(os.path.realpath(target.parent), target.name)
    inside = below(os.path.realpath(shop), real)
    if inside and folded_path(inside[0]) in (*SOURCES, KEPT):
        message = f"{inside[0]}/ is a part of the shop; nothing else is written there."
        raise BlockedError(message, f"Name another place, as in {target.name} alone.")


def below(root: str, path: str) -> tuple[str, ...] | None:
    """Return the names that lead from one absolute path to another, None where it leads out."""
    try:
        if os.path.commonpath([root, path]) != root:
            return None
    except ValueError:  # on Windows: another drive
        return None
    relative = os.path.relpath(path, root)
    return () if relative == "." else tuple(relative.split(os.sep))


def _new_part(target: Path) -> Path:
    part = part_of(target.parent, target.name)
    os.close(os.open(part, _NEW, 0o666))
    return part


def _refuse_strangers(part: Path, target: Path, ours: Ours) -> bool:
    """Return whether a file of ours is there, which is to be replaced."""
    if not os.path.lexists(target):
        return False
    if target.is_symlink() or not target.is_file():
        what = "a link, which is not followed" if target.is_symlink() else "no plain file"
        raise BlockedError(f"{target} is {what}.", f"Take another name, as in {free_name(target)}.")
    if not _same(target, part) and not _is_known(target, ours):
        message = f"{target} is there already, and is not as listkit made it; it is left as it is."
        raise BlockedError(message, f"Take another name, as in {free_name(target)}, or put that file away.")
    return True


def _same(target: Path, part: Path) -> bool:
    return target.stat().st_size == part.stat().st_size and sha256_of(target) == sha256_of(part)


def _is_known(target: Path, ours: Ours) -> bool:
    """Whether a file is ours; one that cannot be read, or is larger than any of ours, is not."""
    try:
        return ours(target)
    except OSError:
        return False


def _take_place(part: Path, target: Path, ours: Ours) -> None:
    """Put the part in its target's place; a file that came there meanwhile is not replaced either."""
    if _refuse_strangers(part, target, ours):
        os.chmod(part, stat.S_IMODE(target.stat().st_mode))
        os.replace(part, target)
        return
    try:
        take_new_place(part, target)
    except FileExistsError:
        _refuse_strangers(part, target, ours)
        os.replace(part, target)
