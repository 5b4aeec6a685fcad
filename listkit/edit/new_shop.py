"""Makes a new shop folder from the starter: a small shop with three pictures that builds at once."""

import shutil
from pathlib import Path

from listkit.problem import FieldError


def copy_starter(starter: Path, folder: Path) -> tuple[str, ...]:
    """Copy the starter's files into `folder`, which is made; return their paths in it.

    Raises:
        FieldError: something lies there already, or it cannot be written to. Nothing is overwritten.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise FieldError(f"{folder} is there already and not empty.", "Name a folder that is not there yet.")
    files = sorted(path.relative_to(starter) for path in starter.rglob("*") if path.is_file())
    try:
        for file in files:
            (folder / file).parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(starter / file, folder / file)
    except OSError as fault:
        raise FieldError(f"{folder} cannot be written to: {fault.strerror}.", "Name another folder.") from fault
    return tuple(file.as_posix() for file in files)
