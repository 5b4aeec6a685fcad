"""A folder in the making: filled under a hidden name beside its place, and put there whole or not at all."""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from listkit.problem import FieldError


@contextmanager
def in_the_making(folder: Path) -> Iterator[Path]:
    """Yield a folder to fill; it takes the place of `folder` when all went well, else it is gone without a trace.

    Raises:
        FieldError: something lies in `folder` already, or it cannot be written to. Nothing is overwritten.
    """
    if "\0" in str(folder):
        raise FieldError("a folder's name cannot hold the sign NUL.", "Name another folder.")
    try:
        if folder.is_symlink() or (folder.exists() and (not folder.is_dir() or any(folder.iterdir()))):
            raise FieldError(f"{folder} is there already and not empty.", "Name a folder that is not there yet.")
        with tempfile.TemporaryDirectory(prefix=".listkit-", dir=_above(folder)) as hidden:
            made = Path(hidden) / "made"
            made.mkdir()
            yield made
            _put(made, folder)
    except OSError as fault:
        raise FieldError(f"{folder} cannot be written to: {fault.strerror}.", "Name another folder.") from fault


def write_file(path: Path, content: bytes) -> None:
    """Write a file in a folder in the making, with the folders above it."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)


def _above(folder: Path) -> Path:
    """Return the nearest folder above that is there."""
    return next(parent for parent in folder.absolute().parents if parent.is_dir())


def _put(made: Path, folder: Path) -> None:
    """Move what was made to its place; an empty folder that is there already keeps being itself."""
    if not folder.exists():
        folder.parent.mkdir(parents=True, exist_ok=True)
        made.rename(folder)
        return
    try:
        for path in sorted(made.iterdir()):
            path.rename(folder / path.name)
    except OSError:
        for path in folder.iterdir():
            path.rename(made / path.name)
        raise
