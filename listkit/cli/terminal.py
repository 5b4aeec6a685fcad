"""Colour on a terminal only, and never where NO_COLOR is set."""

import os
from typing import TextIO

DIM, BOLD, RED, YELLOW, GREEN = "2", "1", "31", "33", "32"


def wants_colour(stream: TextIO) -> bool:
    """Whether `stream` is a terminal and nobody asked for plain text (https://no-color.org)."""
    return stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def painted(text: str, paint: str, stream: TextIO) -> str:
    """Return `text` in a colour where the stream shows one."""
    return f"\033[{paint}m{text}\033[0m" if wants_colour(stream) else text
