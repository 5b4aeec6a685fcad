"""`python -m listkit`, and the command `listkit`. All else is loaded once a signal gives one line, no traceback."""

import os
import sys
from importlib import import_module


def run() -> int:
    """Run the command line; return its exit status."""
    try:
        status: int = import_module("listkit.ending").listening(_command)
    except KeyboardInterrupt:  # it was not listening yet
        os.write(2, b"Stopped. Nothing was begun.\n")
        os._exit(130)
    return status


def _command() -> int:
    status: int = import_module("listkit.cli.last").run(sys.argv[1:])
    return status


if __name__ == "__main__":
    sys.exit(run())
