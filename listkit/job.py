"""Jobs: recipes for files, told apart from running them.

A writer yields jobs and touches no disk; `save` asks each file's key against the last
build and runs only the recipes whose files are new. Recipes are module-level functions
and arguments are frozen values, so that a job can be sent to another process.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

Recipe = Callable[..., None]
"""Called as recipe(*arguments, paths): writes one temporary file for each of the job's files, in their order."""
Verify = Callable[[Path, Recipe, tuple[object, ...]], str]
"""Reads the temporary file back with an independent reader; returns "" when it is whole, else what is wrong."""


@dataclass(frozen=True, slots=True)
class File:
    """One output: where it goes, what its bytes depend on, what it speaks of.

    `path` is relative to the output folder, with forward slashes. `key` is a hash of all that
    the bytes depend on (see `key_of`), templates and version included. `codes` are the items,
    sets and variants it speaks of. `prices` are its rows' prices as text, in row order: the manifest
    tells their number, lowest, highest and sum; None for a file without rows.
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
    """A recipe, its arguments, and the files it makes; `heavy` ones (pictures) go to the executor."""

    recipe: Recipe
    arguments: tuple[object, ...]
    files: tuple[File, ...]
    heavy: bool = False
