"""What the proof adds to a build, and what a place's ZIP takes: until its first piece, and in memory.

CPU seconds of this process beside the clock. Run with `python -m tests.bench.bench_proof`.
"""

import datetime
import resource
import sys
import tempfile
import time
from pathlib import Path

from listkit.actions.build import build_shop, owners_notes
from listkit.actions.pack import pack_of, streamed
from listkit.pipeline import check_shop
from listkit.save.save import save
from listkit.write import proof
from listkit.write.context import WriteContext
from tests.bench.synthetic_folder import synthetic_folder
from tests.shops import small_demo

DAY = datetime.date(2027, 3, 1)


def measure(folder: Path, name: str, key: str) -> None:
    """Build a place of a shop, then make the proof of all of it and stream the ZIP of the place."""
    checked = check_shop(folder, DAY)
    build_shop(checked, folder / "out", channel=key, workers=2)
    context = WriteContext("bench", notes=owners_notes(checked))
    cpu, clock = time.process_time(), time.perf_counter()
    saved = save(tuple(proof.write(checked.listings, context)), folder / "proof")
    cpu, clock = time.process_time() - cpu, time.perf_counter() - clock
    pages = [(folder / "proof" / path).stat().st_size for path in saved.made]
    print(f"{name}: proof {cpu:.2f} s (clock {clock:.2f} s), {len(pages)} pages, the largest {max(pages):,} bytes")
    before = _peak()
    cpu, clock = time.process_time(), time.perf_counter()
    pieces = streamed(pack_of(checked, key, folder / "out"))
    size = len(next(pieces))
    cpu, clock = time.process_time() - cpu, time.perf_counter() - clock
    began = time.perf_counter()
    size += sum(map(len, pieces))
    rest = time.perf_counter() - began
    print(f"  ZIP of {size:,} bytes: first piece after {cpu:.2f} s (clock {clock:.2f} s), the rest {rest:.2f} s")
    print(f"  {_peak() - before} MB more at the peak")


def _peak() -> int:
    """Return the process's largest size so far in MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


def main() -> None:
    """Measure the demo, then a shop of 200 sets of 50 variants, or as many as the command says."""
    sets = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    with tempfile.TemporaryDirectory() as folder:
        measure(small_demo(Path(folder) / "demo"), "demo", "web_shop")
        synthetic_folder(Path(folder) / "large", sets, photos=1)
        measure(Path(folder) / "large", f"{sets} sets", "web_shop")


if __name__ == "__main__":
    main()
