"""What other programs take for the same rows and pictures, to be told beside our own stages."""

import csv
from collections.abc import Iterable
from pathlib import Path

try:
    import pyvips
except ImportError:
    pyvips = None  # told in the table
PYVIPS_MISSING = "" if pyvips else "pyvips is not installed (extra peers)"


def read_rows(path: Path) -> list[list[str]]:
    """Read a table with the csv module alone."""
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


def write_rows(rows: list[list[str]], path: Path) -> None:
    """Write ready-made rows with the csv module alone."""
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)


def write_crops(wanted: Iterable[tuple[Path, tuple[int, int]]], folder: Path) -> None:
    """Write pictures of these sides with pyvips, at our quality, cut about the middle."""
    for number, (photo, (wide, high)) in enumerate(wanted):
        crop = pyvips.Image.thumbnail(str(photo), wide, height=high, crop="centre")
        crop.jpegsave(str(folder / f"{number}.jpg"), Q=85, optimize_coding=True)
