"""Runs a module as python -m does, then tells on stderr the most memory the process held, in kB (proc(5): VmHWM)."""

import runpy
import sys
from pathlib import Path

if __name__ == "__main__":
    sys.argv = sys.argv[1:]
    try:
        runpy.run_module(sys.argv[0], run_name="__main__", alter_sys=True)
    finally:
        status = Path("/proc/self/status").read_text(encoding="ascii")
        print("peak", status.partition("VmHWM:")[2].split()[0], file=sys.stderr)
