"""One worker of bench_photos: the six crops of every photograph named, written by listkit.

Prints CPU seconds and peak memory in MB; imports nothing but what a worker of a build has.
Also says which crops, for all that take part.
"""

import resource
import sys
import time
from collections.abc import Callable
from pathlib import Path

from listkit.compute.crops import crop_box
from listkit.picture.encode import CropJob, CropPlan, make_crops

SIZE = (4000, 3000)
CROPS = ((2000, 2000), (1120, 1400), (1600, 1200), (1280, 672), (600, 600), (300, 300))


def plan(kind: str) -> CropPlan:
    """Return the plan of the six crops, centred."""
    cuts = [(crop, crop_box(SIZE, None, crop, width=crop[0])) for crop in CROPS]
    return CropPlan(tuple(CropJob(f"{wide}x{high}", cut, format=kind, quality=85) for (wide, high), cut in cuts))


def crops(photo: Path) -> None:
    """Write the six crops of one photo."""
    make_crops(photo, plan("jpeg"), tuple(photo.with_suffix(f".listkit-{number}.jpg") for number in range(len(CROPS))))


def work(write: Callable[[Path], None], photos: list[Path]) -> None:
    """Write all crops and print what it took; the first photo is done once before, so that starting does not count."""
    write(photos[0])
    start = time.process_time()
    for photo in photos:
        write(photo)
    print(time.process_time() - start, peak_memory())


def peak_memory() -> float:
    """Return this process's own peak in MB; getrusage alone may show its parent's, which a child inherits."""
    status = Path("/proc/self/status")
    if not status.exists():
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return next(int(line.split()[1]) / 1024 for line in status.read_text().splitlines() if line.startswith("VmHWM"))


if __name__ == "__main__":
    work(crops, [Path(name) for name in sys.argv[1:]])
