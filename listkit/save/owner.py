"""Whose outputs a folder holds: two shops built into one folder would remove each other's files.

`.shop.json` in the output folder, signed like the other memories, holds the way from there to the shop folder and the
shop's name. The way is relative, so that it still leads to the shop after both were moved or copied together. It may be
deleted: then the next shop that builds there takes the folder over, as an older listkit let it.
"""

import os
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from listkit.paths import MOST_BYTES_OF_PATH, OWNER
from listkit.problem import FieldError, one_line, quoted
from listkit.save.manifest import read_manifest
from listkit.save.out_folder import locked_folder, put_signed, read_signed

_FORM: Final = 1
_SETTINGS: Final = "shop.toml"


@dataclass(frozen=True, slots=True)
class Owner:
    """The shop that an output folder was built from: the way to its folder from there, and its name."""

    way: str
    name: str


def read_owner(out: Path) -> Owner | None:
    """Return the shop that the folder was built from; None where that is not remembered."""
    try:
        memory = read_signed(out / OWNER)
        if memory["form"] != _FORM:
            return None
        way = str(memory["way"])
        if "\0" in way or len(os.fsencode(way)) > MOST_BYTES_OF_PATH:
            return None
        return Owner(way, str(memory["name"]))
    except (ValueError, TypeError, KeyError, AttributeError):
        return None


def refuse_other_shop(out: Path, shop: Path) -> None:
    """Refuse a folder that was built from another shop, which is still where it was.

    Raises:
        FieldError: it was.
    """
    owner = read_owner(out)
    if owner is not None and _is_elsewhere(owner, out, shop):
        raise _of_another(out, owner)


def claim(out: Path, shop: Path, *, name: str, codes: Collection[str]) -> None:
    """Remember that a folder holds the outputs of a shop with this name and these codes.

    Where the shop that is remembered is no longer where it was, this is that shop moved if it has its name or any of
    the codes that its outputs speak of.

    Raises:
        FieldError: it holds those of another.
        BlockedError: another build is at work in the folder, a link leads out of it, or it cannot be written to.
    """
    way = _way(out, shop)
    with locked_folder(out) as folder:
        refuse_other_shop(folder, shop)
        owner = read_owner(folder)
        if owner is not None and owner.way != way and owner.name != name and not _speaks_of(folder, codes):
            raise _of_another(folder, owner)
        put_signed(folder / OWNER, {"form": _FORM, "way": way, "name": name})


def _way(out: Path, shop: Path) -> str:
    """Return the way from the output folder to the shop; the whole path where they are on two drives."""
    try:
        return Path(os.path.relpath(os.path.realpath(shop), os.path.realpath(out))).as_posix()
    except ValueError:
        return Path(os.path.realpath(shop)).as_posix()


def _is_elsewhere(owner: Owner, out: Path, shop: Path) -> bool:
    """Whether the way leads to a shop that is not this one."""
    there = os.path.realpath(os.path.join(os.path.realpath(out), owner.way))
    return os.path.isfile(os.path.join(there, _SETTINGS)) and not os.path.samefile(there, shop)


def _speaks_of(out: Path, codes: Collection[str]) -> bool:
    return any(not set(codes).isdisjoint(entry.codes) for entry in read_manifest(out))


def _of_another(out: Path, owner: Owner) -> FieldError:
    return FieldError(
        f"{out} holds what was built from another shop, {quoted(owner.name)} ({one_line(owner.way)} from there).",
        f"Name a folder of this shop's own with --out. If it is that shop, take {OWNER} out of there, then build.",
    )
