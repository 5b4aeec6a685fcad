"""One worker of bench_photos: the six crops of every photograph named, written by pyvips with the same settings.

A thumbnail and a jpegsave a crop, one thread, Huffman tables optimized as ours are unless --plain is given.
"""

import sys
from functools import partial
from pathlib import Path

import pyvips

from tests.bench.photos_listkit import CROPS, work


def crops(photo: Path, *, optimize: bool) -> None:
    """Write the six crops of one photo."""
    for number, (wide, high) in enumerate(CROPS):
        crop = pyvips.Image.thumbnail(str(photo), wide, height=high, crop="centre")
        crop.jpegsave(str(photo.with_suffix(f".pyvips-{number}.jpg")), Q=85, optimize_coding=optimize)


if __name__ == "__main__":
    pyvips.cache_set_max(0)
    names = [name for name in sys.argv[1:] if name != "--plain"]
    work(partial(crops, optimize="--plain" not in sys.argv), [Path(name) for name in names])
