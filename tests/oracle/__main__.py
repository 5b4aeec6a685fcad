"""Write the random shop of a seed into a folder: python -m tests.oracle SEED FOLDER."""

import sys
from pathlib import Path

from tests.oracle.shops import write_shop

if __name__ == "__main__":
    write_shop(Path(sys.argv[2]), int(sys.argv[1]))
