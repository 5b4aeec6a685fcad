"""The fuzzer by hand: python -m tests.fuzz [desk] FIRST LAST [PROCESSES] runs cases FIRST to LAST - 1.

It prints faults and figures. With `desk` the cases are requests to the desk, else commands on changed files.
"""

import sys

from tests.fuzz.pool import COMMANDS, DESK, run_cases
from tests.fuzz.worker import Outcome


def tell(one: Outcome) -> None:
    """Print a case that broke a promise."""
    if one.fault:
        print(f"case {one.number}: {one.what}\n  {one.words}\n  {one.fault}\n", flush=True)


if __name__ == "__main__":
    words = sys.argv[1:]
    module = DESK if words[0] == "desk" else COMMANDS
    first, last, *processes = (int(word) for word in words[words[0] == "desk" :])
    workers = processes[0] if processes else 2
    print(run_cases(range(first, last), workers, tell=tell, module=module))
