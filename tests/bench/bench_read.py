"""How fast a shop folder is read; python -m tests.bench.bench_read. CPU seconds, best of three."""

import shutil
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from listkit.read.photos import PhotoMemory
from listkit.read.shop import read_shop

DEMO = Path(__file__).parents[2] / "demo_shop"
ROWS = 5000


def best_cpu(work: Callable[[], object], repeats: int = 3) -> float:
    """Return the least CPU seconds of `repeats` runs."""
    found = []
    for _ in range(repeats):
        started = time.process_time()
        work()
        found.append(time.process_time() - started)
    return min(found)


def long_sheet(folder: Path) -> Path:
    """Copy the demo's settings and its items many times over, each with a code of its own."""
    shutil.copy(DEMO / "shop.toml", folder)
    heading, *rows = (DEMO / "items.csv").read_text(encoding="utf-8").splitlines()
    rows = [row for row in rows if row.startswith("OH-")]
    many = [f"N{number}-{rows[number % len(rows)]}" for number in range(ROWS)]
    (folder / "items.csv").write_text("\n".join([heading, *many]) + "\n", encoding="utf-8")
    return folder


def main() -> None:
    """Print the demo with and without remembered photos, and a long sheet."""
    memory = PhotoMemory()
    first = best_cpu(lambda: read_shop(DEMO, photo_facts=memory), repeats=1)
    known = memory.photos
    again = best_cpu(lambda: read_shop(DEMO, photo_facts=PhotoMemory(known)))
    with tempfile.TemporaryDirectory() as folder:
        sheet = long_sheet(Path(folder))
        rows = best_cpu(lambda: read_shop(sheet))
    print(f"demo with {len(known)} photos measured {first:.2f} s, remembered {again:.3f} s; {ROWS} rows {rows:.2f} s")


if __name__ == "__main__":
    main()
