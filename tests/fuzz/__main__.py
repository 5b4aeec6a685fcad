"""The fuzzer by hand: python -m tests.fuzz FIRST LAST runs cases FIRST to LAST - 1 and prints faults and figures."""

import sys

from tests.fuzz.pool import run_cases
from tests.fuzz.worker import Outcome


def tell(one: Outcome) -> None:
    """Print a case that broke a promise."""
    if one.fault:
        print(f"case {one.number}: {one.what}\n  {one.words}\n  {one.fault}\n", flush=True)


if __name__ == "__main__":
    first, last = (int(word) for word in sys.argv[1:3])
    print(run_cases(range(first, last), tell=tell))
