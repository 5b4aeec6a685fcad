"""All stages of a build in one table, for a made-up shop and one ten times as large: python -m tests.bench [SETS].

CPU seconds, the less of two runs; the most memory the process held, or its child; growth for ten times the work. Below
each stage that has a peer, the peer's time for the same rows or pictures. What only its own benchmark can measure
(boxes against CP-SAT, crops of large photographs) stays there.
"""

import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from listkit.cli import collect_rarely
from tests.bench.peers import PYVIPS_MISSING
from tests.bench.stages import Figure, Made, commands, in_memory, ledger_stages, reading, writing
from tests.bench.synthetic_folder import synthetic_folder

VARIANTS = 50


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the table."""

    name: str
    figure: Figure


def lines(sets: int) -> Iterator[Line]:
    """Yield each stage of a shop of `sets` sets of fifty variants and three photos, read from files."""
    with tempfile.TemporaryDirectory() as name:
        folder, out = Path(name, "shop"), Path(name, "out")
        folder.mkdir()
        synthetic_folder(folder, sets, VARIANTS)
        made = Made(folder, out)
        for group in (reading, in_memory, writing, ledger_stages, commands):
            for stage, figure in group(made):
                yield Line(stage, figure)


def main(sets: int) -> None:
    """Print the table."""
    collect_rarely()  # as the command line does
    small = {line.name: line.figure for line in lines(sets)}
    if PYVIPS_MISSING:
        print(f"without pictures by another program: {PYVIPS_MISSING}")
    print(f"×1 is {sets} sets of {VARIANTS} variants\n{'stage':34} {'×1':>9} {'×10':>9} {'growth':>7} {'at ×10':>9}")
    for line in lines(sets * 10):
        before, now = small[line.name], line.figure
        figures = f"{before.seconds:7.3f} s {now.seconds:7.3f} s {now.seconds / max(before.seconds, 1e-6):7.1f}"
        print(f"{line.name:34} {figures} {now.peak / 1e6:6.0f} MB", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20)
