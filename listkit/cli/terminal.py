"""What a terminal can show: colour only there and never where NO_COLOR is set; plain signs for those it has not.

JSON is UTF-8 wherever it goes (RFC 8259, 8.1).
"""

import codecs
import io
import os
import sys
from collections.abc import Sequence
from typing import Final, TextIO

_PLAIN_SIGNS: Final = str.maketrans({
    "–": "-", "—": "-", "·": "-", "×": "x", "→": "->", "…": "...", "’": "'", "‘": "'", "“": '"', "”": '"', "≤": "<=",
    "\u00a0": " ", "\u202f": " ",
})  # fmt: skip
"""What is said instead where an old code page has not the sign; our own choice."""

DIM, BOLD, RED, YELLOW, GREEN = "2", "1", "31", "33", "32"


def wants_colour(stream: TextIO) -> bool:
    """Whether `stream` is a terminal and nobody asked for plain text (https://no-color.org)."""
    return stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def painted(text: str, paint: str, stream: TextIO) -> str:
    """Return `text` in a colour where the stream shows one."""
    return f"\033[{paint}m{text}\033[0m" if wants_colour(stream) else text


def settle_signs(words: Sequence[str]) -> None:
    """Let nothing said fail for a sign that the terminal has not; with --json, speak UTF-8."""
    codecs.register_error("plain signs", _plain)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="plain signs")
    if "--json" in words and isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(encoding="utf-8", errors="strict")


def _plain(fault: UnicodeError) -> tuple[str, int]:
    if not isinstance(fault, UnicodeEncodeError):
        raise fault
    signs = fault.object[fault.start : fault.end].translate(_PLAIN_SIGNS)
    return "".join(sign if sign.isascii() else "?" for sign in signs), fault.end
