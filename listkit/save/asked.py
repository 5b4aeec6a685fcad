"""Outputs that are written when somebody asks for them, and not by a build: changes, papers of orders, drawings.

In the output folder `.asked.json` holds the SHA-256 of each, by which it is known as ours when it is written again; its
second line is the SHA-256 of the first. It may be deleted: then files that are there already are told, and left.
A drawing or a page goes anywhere the owner says, and bears its own SHA-256 in its last line.
"""

import hashlib
import os
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from listkit.paths import ASKED, KEPT, OWN_NAMES, SOURCES, folded_path, is_part, path_fault
from listkit.problem import BlockedError, FieldError
from listkit.save.made import read_made, refuse_many
from listkit.save.manifest import is_manifest, read_manifest
from listkit.save.out_folder import (
    blocked_by_disk,
    content_of,
    digest_at,
    locked,
    put_signed,
    read_signed,
    real_folder,
    refuse_links,
    sha256_of,
)
from listkit.save.owner import refuse_other_shop
from listkit.save.place import below, placed, put_files, refuse_sources

Digests = dict[str, tuple[str, ...]]

# The output folder: which folder may be one, and files in it that are asked for.


def output_folder(out: Path, shop: Path) -> Path:
    """Make the folder if need be and return its absolute path; `out` in the shop folder may hold the owner's own files.

    Raises:
        FieldError: it is the shop folder, holds it, is part of it, or holds files and nothing that listkit made, or
            what was built from another shop.
    """
    real, home = os.path.realpath(out), os.path.realpath(shop)
    inside = below(home, real)
    if below(real, home) is not None:
        what = "is the shop folder itself" if inside == () else "holds the shop folder"
        raise FieldError(f"{out} {what}.", "Name a folder for outputs alone with --out.")
    if inside and folded_path(inside[0]) in (*SOURCES, KEPT):
        raise FieldError(f"{out} is a part of the shop.", "Name a folder for outputs alone with --out.")
    if inside != ("out",) and _is_foreign(Path(real)):
        message = f"{out} holds files, and none that listkit made."
        raise FieldError(message, "Name an empty folder, or one that is not there yet, with --out.")
    refuse_other_shop(out, shop)
    return real_folder(out)


def _is_foreign(out: Path) -> bool:
    """Whether a folder holds anything but is not known as an output folder."""
    try:
        names = [name for name in os.listdir(out) if name not in OWN_NAMES and not is_part(name)]
    except OSError:  # it is not there yet, or is none: that is told when it is made
        return False
    if not is_manifest(out):
        return True
    return bool(names) and not (read_manifest(out) or read_made(out).files or _read(out))


@contextmanager
def asked_folder(out: Path, shop: Path, paths: Sequence[str]) -> Iterator[Path]:
    """Yield the output folder, into which these paths may be written; nobody builds meanwhile.

    Raises:
        FieldError: it can be none.
        BlockedError: a build is at work, a link leads out of the folder, or it cannot be written to.
    """
    out = output_folder(out, shop)
    refuse_links(out, paths)
    with blocked_by_disk(out), locked(out):
        yield out


@contextmanager
def asked_files(out: Path, paths: Sequence[str]) -> Iterator[tuple[Path, ...]]:
    """Yield a temporary file for each path below `out`, to be filled; see `placed`. The folder is locked.

    Raises:
        BlockedError: a file that is there already is not as we made it.
    """
    known, targets = _read(out), [out / path for path in paths]

    def is_ours(target: Path) -> bool:
        return sha256_of(target) in known.get(target.relative_to(out).as_posix(), ())

    with placed(targets, is_ours) as parts:
        yield parts
        whole = {path: sha256_of(part) for path, part in zip(paths, parts, strict=True)}
        _write(out, known | {path: _either(out / path, known.get(path, ()), new) for path, new in whole.items()})
    _write(out, known | {path: (new,) for path, new in whole.items()})


def _either(target: Path, known: tuple[str, ...], new: str) -> tuple[str, ...]:
    """Return the digests of the file that is there and of the one about to take its place: after a kill it is either.

    Where one is there that is not ours, which will be refused, return what is known as it is.
    """
    if not target.is_file():
        return (new,)
    there = digest_at(target)
    return (there, new) if there in known else known


def remove_asked(out: Path, path: str) -> None:
    """Remove a file that was asked for and is no longer true. The folder is locked.

    Raises:
        BlockedError: it is not as we made it.
    """
    known, target = _read(out), out / path
    if not os.path.lexists(target):
        return
    if not target.is_file() or target.is_symlink() or digest_at(target) not in known.get(path, ()):
        message = f"{target} is no longer true, and is not as listkit made it; it is left as it is."
        raise BlockedError(message, "Put that file away, then try again.")
    target.unlink()
    _write(out, {kept: digests for kept, digests in known.items() if kept != path})


def _read(out: Path) -> Digests:
    try:
        known = read_signed(out / ASKED)
        refuse_many(known)
        return {path: tuple(map(str, digests)) for path, digests in known.items() if not path_fault(path)}
    except (ValueError, TypeError, AttributeError):
        return {}


def _write(out: Path, known: Digests) -> None:
    put_signed(out / ASKED, known)


# Drawings: written where the owner asks for them, in one file or a folder.

ENDING: Final = ".svg"
_MARK: Final = b"<!-- listkit made this "
_LONGEST_WHAT: Final = 50


def is_folder(place: Path) -> bool:
    """Whether a path that the owner names is meant as a folder: it is one, or has no ending."""
    return os.path.isdir(place) or not place.suffix


def write_drawings(place: Path, drawings: Sequence[tuple[str, str]], shop: Path) -> tuple[Path, ...]:
    """Write drawings, each a file name and its SVG, into the folder `place`, made if need be; return their paths.

    Where `place` is a file, it gets the first of them. Our older drawings are replaced, each at once and whole.

    Raises:
        FieldError: `place` is a file's name that does not end in .svg.
        BlockedError: it is among the shop's own files, there is a file that is not ours, or it cannot be written.
    """
    if is_folder(place):
        targets = tuple(place / name for name, _ in drawings)
    elif place.suffix.lower() == ENDING:
        targets, drawings = (place,), drawings[:1]
    else:
        raise FieldError(f"{place} is no name for a drawing.", "Write a name that ends in .svg, or a folder's.")
    _put_signed(zip(targets, (sign(svg.encode()) for _, svg in drawings), strict=True), shop)
    return targets


def write_page(target: Path, page: bytes, shop: Path) -> None:
    """Write a page of HTML where the owner says; our older one is replaced.

    Raises:
        BlockedError: it is among the shop's own files, there is a file that is not ours, or it cannot be written.
    """
    _put_signed([(target, sign(page, b"page"))], shop)


def _put_signed(signed: Iterable[tuple[Path, bytes]], shop: Path) -> None:
    files = tuple(signed)
    for target, _ in files:
        refuse_sources(shop, target)
    put_files(files, lambda target: is_signed(content_of(target)))


def sign(content: bytes, what: bytes = b"drawing") -> bytes:
    """Return a drawing or a page with a last line that says what it is and holds its SHA-256."""
    whole = content if content.endswith(b"\n") else content + b"\n"
    return b"".join((whole, _MARK, what, b": ", hashlib.sha256(whole).hexdigest().encode(), b" -->\n"))


def is_signed(content: bytes) -> bool:
    """Whether a drawing or a page is one of ours that nobody has changed.

    >>> is_signed(sign(b"<svg/>")), is_signed(sign(b"<svg/>").replace(b"svg", b"SVG"))
    (True, False)
    """
    at = content.rfind(_MARK)
    if at <= 0 or content[at - 1 : at] != b"\n":
        return False
    what = content[at + len(_MARK) : at + _LONGEST_WHAT].partition(b": ")[0]
    digest = hashlib.sha256(memoryview(content)[:at]).hexdigest()  # no copy: a stranger's file may be large
    return (
        content.endswith(b"".join((_MARK, what, b": ", digest.encode(), b" -->\n"))) and content.count(b"\n", at) == 1
    )
