"""Jobs: recipes for files, told apart from running them.

A writer yields jobs and touches no disk; `save` asks each file's key against the last
build and runs only the recipes whose files are new. Recipes are module-level functions
and arguments are frozen values, so that a job can be sent to another process.

`digest_of` is equal for equal values on every machine and in every run, and different when
the type, the grouping or the value of anything in them differs. `key_of` gives the keys of
files: a digest that also differs when a library that shapes their bytes does.
"""

import hashlib
import os
import re
import sys
from collections.abc import Callable
from dataclasses import dataclass, fields, is_dataclass, replace
from datetime import date
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final, cast

LIBRARIES: Final = (
    "babel", "jinja2", "markdown-it-py", "pillow", "pillow-heif", "python-slugify", "text-unidecode", "typst",
    "xlsxwriter",
)  # fmt: skip
"""What shapes the bytes of our files beside our own code, as packages are named: after an upgrade nothing stands."""
_METADATA: Final = re.compile(r"(.+?)-([^-]+)(?:-[^/]*)?\.(?:dist|egg)-info")

Recipe = Callable[..., None]
"""Called as recipe(*job.inputs, paths): writes one temporary file for each of the job's files, in their order.

Each path is beside its target and has its ending (".jpg"). A recipe raises FieldError or OSError for what it cannot do
with the owner's files; InPartError where it has written all the same, without some codes; any other exception is our
own mistake.
"""
Verify = Callable[[Path, Recipe, tuple[object, ...]], str]
"""Reads the temporary file back with an independent reader; returns "" when it is whole, else what is wrong.

Called as verify(path, recipe, inputs) where the recipe ran; `inputs` are the job's, with no other file's part.
"""


@dataclass(frozen=True, slots=True)
class File:
    """One output: where it goes, what its bytes depend on, what it speaks of.

    `path` is relative to the output folder, with forward slashes. `key` is a hash of all that
    the bytes depend on (see `key_of`), templates and version included. `codes` are the items,
    sets and variants it speaks of. `prices` are its rows' prices as text, in row order, "" in a row
    without one: the manifest tells their number, lowest, highest and sum; None for a file without rows.
    """

    path: str
    key: str
    codes: tuple[str, ...] = ()
    prices: tuple[str, ...] | None = None
    channel: str = ""
    guarded: bool = False
    verify: Verify | None = None


@dataclass(frozen=True, slots=True)
class Job:
    """A recipe, its arguments, and the files it makes; `heavy` ones (pictures, labels) go to the executor.

    A job of several files may tell what belongs to each alone: `parts[i]` is the part of `files[i]`, for example
    one crop's frame and size. Then only the files that are needed are made, and the recipe is given their parts
    alone. Without parts the recipe always makes all, and only the files that are needed take their places.

    A job that is `last` runs when all others have ended, and may look at the files that lie beside its own.
    """

    recipe: Recipe
    arguments: tuple[object, ...]
    files: tuple[File, ...]
    heavy: bool = False
    parts: tuple[object, ...] = ()
    last: bool = False

    def __post_init__(self) -> None:
        if self.parts and len(self.parts) != len(self.files):
            raise ValueError(f"{len(self.files)} files but {len(self.parts)} parts")

    @property
    def inputs(self) -> tuple[object, ...]:
        """What the recipe is given before the paths: the arguments and, where there are parts, the tuple of them."""
        return (*self.arguments, self.parts) if self.parts else self.arguments

    def select(self, needed: tuple[int, ...]) -> "Job":
        """Return the job that makes only the files at these indices; without parts that is the whole job."""
        if not self.parts:
            return self
        files, parts = (tuple(values[index] for index in needed) for values in (self.files, self.parts))
        return replace(self, files=cast("tuple[File, ...]", files), parts=parts)


@cache
def library_versions() -> tuple[str, ...]:
    """Return the installed version of each of LIBRARIES, "babel 2.19.0"; "babel" alone where none is stated.

    Read from the names of the folders that installers leave, since importlib.metadata alone would take a third of
    the time of a build with nothing to do.
    """
    versions: dict[str, str] = {}
    for folder in sys.path:
        try:
            names = os.listdir(folder or ".")
        except OSError:  # an archive, or not there
            continue
        for parts in filter(None, map(_METADATA.fullmatch, names)):
            versions.setdefault(re.sub(r"[-_.]+", "-", parts[1]).lower(), parts[2])
    return tuple(f"{name} {versions.get(name, '')}".rstrip() for name in LIBRARIES)


def key_of(*values: object) -> str:
    """Return the key of a file that depends on these values, see `digest_of`, and on LIBRARIES."""
    return digest_of(library_versions(), *values)


def digest_of(*values: object) -> str:
    """Return a SHA-256 over frozen values, as 64 hexadecimal digits.

    Takes None, bool, int, float, str, bytes, Decimal, Fraction, date, enum members, tuples, frozen dataclasses,
    pydantic models (their declared fields) and, inside those, mappings in their own order. Decimal("1.0") and
    Decimal("1.00") differ, because they are written differently.

    Raises:
        TypeError: a value of another type: it may change, or be written differently on another machine (a Path).
    """
    sha = hashlib.sha256()
    _feed(sha.update, values)
    return sha.hexdigest()


_Update = Callable[[bytes], None]
_SEPARATOR = "\x1f"
_PLAIN: dict[type, tuple[str, Callable[..., str]]] = {
    str: ("s", str),
    int: ("i", str),
    bool: ("b", str),
    type(None): ("n", str),
    Decimal: ("d", str),
    date: ("y", date.isoformat),
    bytes: ("x", bytes.hex),
    float: ("f", float.hex),
    Fraction: ("q", str),
}


def _plain(value: object) -> str:
    """Tag, length and text: the length keeps ("a", "b") apart from ("ab",)."""
    tag, text_of = _PLAIN[type(value)]
    text = text_of(value)
    return f"{tag}{len(text)}:{text}"


def _bytes(text: str) -> bytes:
    return text.encode("utf-8", "surrogatepass")


def _feed(update: _Update, value: object) -> None:
    kind: Any = type(value)
    if kind in _PLAIN:
        update(_bytes(_plain(value)))
    elif kind is tuple:
        _feed_tuple(update, cast("tuple[object, ...]", value))
    elif isinstance(value, Enum):
        update(_bytes(f"e{_type_name(kind)}{_plain(value.name)}"))
        _feed(update, value.value)
    elif names := _field_names(kind):
        update(_bytes(f"o{_type_name(kind)}"))
        _feed_tuple(update, tuple([getattr(value, name) for name in names]))
    elif kind in (dict, MappingProxyType):
        update(b"m")
        _feed_tuple(update, tuple(cast("dict[object, object]", value).items()))
    elif (base := _plain_base(kind)) is not None:
        update(_bytes(f"o{_type_name(kind)}"))
        _feed(update, base(value))
    else:
        raise TypeError(f"a key cannot be made of a {kind.__qualname__}")


def _feed_tuple(update: _Update, values: tuple[object, ...]) -> None:
    """Feed a tuple; rows of a feed are tuples of text, so those are joined at once where no cell has the separator."""
    kinds = set(map(type, values))
    if kinds == {str}:
        joined = _SEPARATOR.join(cast("tuple[str, ...]", values))
        if joined.count(_SEPARATOR) == len(values) - 1:
            update(_bytes(f"r{len(joined)}:{joined}"))
            return
    if kinds <= _PLAIN.keys():
        update(_bytes(f"t{len(values)}:{''.join(map(_plain, values))}"))
        return
    update(b"t%d:" % len(values))
    for value in values:
        _feed(update, value)


@cache
def _type_name(kind: type) -> str:
    return _plain(f"{kind.__module__}.{kind.__qualname__}")


@cache
def _field_names(kind: type) -> tuple[str, ...]:
    """The fields of a frozen dataclass or a pydantic model, () for any other type."""
    if is_dataclass(kind):
        if not kind.__dataclass_params__.frozen:  # type: ignore[attr-defined]
            raise TypeError(f"a key cannot be made of {kind.__qualname__}, which is not frozen")
        return tuple(field.name for field in fields(kind))
    return tuple(getattr(kind, "model_fields", ()))


@cache
def _plain_base(kind: type) -> Callable[[object], object] | None:
    """What a type of our own is at bottom: a named tuple is a tuple, a code that derives from str a str."""
    bases: tuple[Callable[[Any], object], ...] = (tuple, str, int, Decimal)
    return next((base for base in bases if issubclass(kind, cast("type", base))), None)
