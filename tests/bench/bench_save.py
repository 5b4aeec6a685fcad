"""How long a build of many small files takes, the first time and when nothing changed.

python -m tests.bench.bench_save [FILES]
"""

import sys
import tempfile
import time
from pathlib import Path

from listkit.save.job import File, Job, key_of
from listkit.save.save import save


def write_text(text: str, paths: tuple[Path, ...]) -> None:
    for path in paths:
        path.write_text(text, encoding="utf-8", newline="\n")


def listing_jobs(count: int, version: str) -> tuple[Job, ...]:
    """Return jobs for texts of about 2 kB in 20 folders."""
    jobs = []
    for number in range(count):
        text = f"{version} {number}\n" * 200
        file = File(f"channel_{number % 20}/listings/set-{number}.html", key_of(text), (f"OHS-{number}",))
        jobs.append(Job(write_text, (text,), (file,)))
    return tuple(jobs)


def seconds(jobs: tuple[Job, ...], out: Path) -> tuple[float, int]:
    """Return how long the save took, and how many files it made."""
    start = time.perf_counter()
    saved = save(jobs, out)
    return time.perf_counter() - start, len(saved.made)


if __name__ == "__main__":
    files = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    first, second = listing_jobs(files, "a"), listing_jobs(files, "b")
    one_changed = (second[0], *first[1:])
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder, "out")
        for what, jobs in (("first", first), ("nothing new", first), ("one new", one_changed), ("all new", second)):
            taken, made = seconds(jobs, out)
            print(f"{what:12} {files} files, {made:5} made: {taken:.3f} s")
