"""The fuzzer by hand: python -m tests.fuzz FIRST LAST runs cases FIRST to LAST - 1 and prints faults and figures."""

import sys

from tests.fuzz.pool import run_cases

first, last = (int(word) for word in sys.argv[1:3])
summary = run_cases(range(first, last))
for one in summary.faults:
    print(f"case {one.number}: {one.what}\n  {one.words}\n  {one.fault}\n")
print(summary)
