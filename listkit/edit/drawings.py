"""Writes a drawing where the owner asks for it."""

from pathlib import Path

from listkit.problem import FieldError


def write_drawing(path: Path, svg: str) -> None:
    """Write the SVG to `path`, in place of a drawing that was there.

    Raises:
        FieldError: the file does not end in .svg, or it cannot be written.
    """
    if path.suffix.lower() != ".svg":
        raise FieldError(f"{path} is no name for a drawing.", "Write a name that ends in .svg.")
    try:
        path.write_text(svg, encoding="utf-8", newline="\n")
    except OSError as fault:
        raise FieldError(f"{path} cannot be written: {fault.strerror}.", "Name another place.") from fault
