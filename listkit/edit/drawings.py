"""Writes drawings where the owner asks for them: one file, or a folder with one for each."""

import os
import tempfile
from pathlib import Path
from typing import Final

from listkit.problem import FieldError

ENDING: Final = ".svg"


def is_folder(place: Path) -> bool:
    """Whether a place that the owner names is a folder: it is one, or has no ending."""
    return place.is_dir() or not place.suffix


def write_drawings(place: Path, drawings: tuple[tuple[str, str], ...]) -> tuple[Path, ...]:
    """Write drawings, each a file name and its SVG, into the folder `place`, made if need be; return their paths.

    Where `place` is a file, it takes the first of them. What was drawn there before is replaced, at once and whole.

    Raises:
        FieldError: the file does not end in .svg, or it cannot be written.
    """
    if is_folder(place):
        targets = tuple(place / name for name, _ in drawings)
    elif place.suffix.lower() == ENDING:
        targets, drawings = (place,), drawings[:1]
    else:
        raise FieldError(f"{place} is no name for a drawing.", "Write a name that ends in .svg, or a folder's.")
    try:
        for target, (_, svg) in zip(targets, drawings, strict=True):
            target.parent.mkdir(parents=True, exist_ok=True)
            _put(target, svg)
    except OSError as fault:
        raise FieldError(f"{place} cannot be written: {fault.strerror}.", "Name another place.") from fault
    return targets


def _put(target: Path, text: str) -> None:
    """Write beside the target, then take its place."""
    number, part = tempfile.mkstemp(prefix=".drawing-", suffix=ENDING, dir=target.parent)
    try:
        with os.fdopen(number, "w", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
        os.chmod(part, 0o644)
        os.replace(part, target)
    except OSError:
        Path(part).unlink(missing_ok=True)
        raise
