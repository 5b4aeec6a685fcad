"""How soon the command line answers; python -m tests.bench.bench_start. Best of seven, in CPU seconds."""

import resource
import subprocess
import sys
import tempfile
from pathlib import Path

REPEATS = 7
DEMO = Path(__file__).parents[2] / "demo_shop"


def best_cpu(*words: str) -> float:
    """Return the least CPU seconds that python needs for `words`."""
    found = []
    for _ in range(REPEATS):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run([sys.executable, *words], check=True, capture_output=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        found.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return min(found)


def main() -> None:
    """Print help and a second build beside what they are measured by."""
    plain, told = best_cpu("-c", "import argparse"), best_cpu("-m", "listkit", "--help")
    print(f"--help {told * 1000:.0f} ms, import argparse {plain * 1000:.0f} ms, ratio {told / plain:.2f} (aim 2)")
    with tempfile.TemporaryDirectory() as folder:
        build = ("-m", "listkit", "build", "--shop", str(DEMO), "--out", folder, "--today", "2026-11-25")
        subprocess.run([sys.executable, *build], check=True, capture_output=True)
        loaded, built = best_cpu("-c", "import pydantic, jinja2, PIL.Image"), best_cpu(*build)
    against = f"importing pydantic, jinja2 and Pillow {loaded * 1000:.0f} ms, ratio {built / loaded:.2f} (aim 2)"
    print(f"second build of the demo {built * 1000:.0f} ms, {against}")


if __name__ == "__main__":
    main()
