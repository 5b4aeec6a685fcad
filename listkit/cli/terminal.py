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

from listkit.problem import on_screen

_PLAIN_SIGNS: Final = str.maketrans({
    "–": "-", "—": "-", "·": "-", "×": "x", "→": "->", "…": "...", "’": "'", "‘": "'", "“": '"', "”": '"', "≤": "<=",
    "\u00a0": " ", "\u202f": " ", "£": "GBP ", "€": "EUR ", "¥": "JPY ", "₹": "INR ",
})  # fmt: skip
"""What is said instead where an old code page has not the sign; our own choice."""

# What parts a text into pieces of lines: the ends of lines, and escapes that only colour (ECMA-48, SGR).
_BETWEEN: Final = re.compile(r"(\n|\x1b\[\d{1,2}m)")
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
    """Where people read: shows what it is told and obeys nothing but colours, for names and cells come from anybody.

    It stands before standard output and standard error wherever they go, since what is piped ends on a screen too.
    """

    def __init__(self, stream: TextIO) -> None:
        self.bare = stream

    def write(self, text: str) -> int:
        """Write `text`, control signs shown instead of sent."""
        if text.isprintable():
            return self.bare.write(text)
        return self.bare.write("".join(map(_sent, _BETWEEN.split(text))))

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401 - whatever else a stream has
        return getattr(self.bare, name)


def _sent(piece: str) -> str:
    return piece if _BETWEEN.fullmatch(piece) else on_screen(piece)


def exact(stream: TextIO) -> TextIO:
    """Return what a table for programs is written to: exact in a pipe or a file, shown safely on a terminal."""
    return stream.bare if isinstance(stream, Screen) and not stream.isatty() else stream


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
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        bare = stream.bare if isinstance(stream, Screen) else stream
        if isinstance(bare, io.TextIOWrapper):
            as_json = name == "stdout" and "--json" in arguments
            bare.reconfigure(errors="plain signs")
            if as_json:
                bare.reconfigure(encoding="utf-8", errors="strict")
        if bare is stream:
            setattr(sys, name, Screen(bare))


def _plain(fault: UnicodeError) -> tuple[str, int]:
    if not isinstance(fault, UnicodeEncodeError):
        raise fault
    signs = fault.object[fault.start : fault.end].translate(_PLAIN_SIGNS)
    return "".join(sign if sign.isascii() else "?" for sign in signs), fault.end
