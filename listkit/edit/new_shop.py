"""Makes a new shop folder from the starter: a small shop with three pictures that builds at once."""

from pathlib import Path

from listkit.edit.in_the_making import in_the_making, write_file


def copy_starter(starter: Path, folder: Path) -> tuple[str, ...]:
    """Copy the starter's files into `folder`, which is made; return their paths in it.

    Raises:
        FieldError: something lies there already, or it cannot be written to. Nothing is overwritten or half made.
    """
    files = sorted(path.relative_to(starter) for path in starter.rglob("*") if path.is_file())
    with in_the_making(folder) as made:
        for file in files:
            write_file(made / file, (starter / file).read_bytes())
    return tuple(file.as_posix() for file in files)
