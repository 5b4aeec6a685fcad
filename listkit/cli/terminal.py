"""What a terminal can show: colour only there and never where NO_COLOR is set; plain signs for those it has not.

JSON is UTF-8 wherever it goes (RFC 8259, 8.1).
"""

import codecs
import io
import os
import re
import sys
import time
from collections.abc import Sequence
from typing import Any, Final, TextIO

from listkit.problem import CONTROL, UNSEEN

_PLAIN_SIGNS: Final = str.maketrans({
    "–": "-", "—": "-", "·": "-", "×": "x", "→": "->", "…": "...", "’": "'", "‘": "'", "“": '"', "”": '"', "≤": "<=",
    "\u00a0": " ", "\u202f": " ",
})  # fmt: skip
"""What is said instead where an old code page has not the sign; our own choice."""

# All that steers a terminal: control signs but the end of a line, save an escape that only colours (ECMA-48, SGR).
_STEERING: Final = re.compile(r"(?!\x1b\[\d{1,2}m)[\x00-\x09\x0b-\x1f\x7f-\x9f]|[" + UNSEEN + "]")
DIM, BOLD, RED, YELLOW, GREEN = "2", "1", "31", "33", "32"


def wants_colour(stream: TextIO) -> bool:
    """Whether `stream` is a terminal and nobody asked for plain text (https://no-color.org)."""
    return stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def painted(text: str, paint: str, stream: TextIO) -> str:
    """Return `text` in a colour where the stream shows one."""
    return f"\033[{paint}m{text}\033[0m" if wants_colour(stream) else text


_WIDTH: Final = 80  # where a terminal does not say
_NARROWEST: Final = 40


def width_of(stream: TextIO) -> int:
    """Return how many signs a line of a terminal holds; 0 for a stream that is none."""
    if not stream.isatty():
        return 0
    try:
        stated = os.get_terminal_size(stream.fileno()).columns
    except (OSError, ValueError, AttributeError):
        stated = 0
    return max(stated or _WIDTH, _NARROWEST)


class Screen:
    """A terminal that shows what it is told and obeys nothing but colours: names and cells may come from anybody."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        """Write `text`, control signs shown instead of sent."""
        return self._stream.write(_STEERING.sub(_shown, text))

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401 - whatever else a stream has
        return getattr(self._stream, name)


def _shown(sign: re.Match[str]) -> str:
    return sign[0].translate(CONTROL)


def settle_zone() -> None:
    """Leave a TZ out that names a file which is no time zone (RFC 9636: "TZif"), and say so: libraries fail at it."""
    named = os.environ.get("TZ", "").removeprefix(":")
    if not named or not os.path.lexists(named):
        return
    try:
        with open(named, "rb") as file:
            sound = file.read(4) == b"TZif"
    except (OSError, ValueError):
        sound = False
    if not sound:
        del os.environ["TZ"]
        if hasattr(time, "tzset"):
            time.tzset()
        sys.stderr.write("TZ names no time zone; that of this machine is taken.\n")


def settle_signs(arguments: Sequence[str]) -> None:
    """Let nothing said fail for a sign that the terminal has not, nor steer it; with --json, speak UTF-8."""
    codecs.register_error("plain signs", _plain)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="plain signs")
    for name in ("stdout", "stderr"):
        if (stream := getattr(sys, name)).isatty() and not isinstance(stream, Screen):
            setattr(sys, name, Screen(stream))
    if "--json" in arguments and isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(encoding="utf-8", errors="strict")


def _plain(fault: UnicodeError) -> tuple[str, int]:
    if not isinstance(fault, UnicodeEncodeError):
        raise fault
    signs = fault.object[fault.start : fault.end].translate(_PLAIN_SIGNS)
    return "".join(sign if sign.isascii() else "?" for sign in signs), fault.end
