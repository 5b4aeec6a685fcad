"""JSON Lines: UTF-8 without a byte order mark, one JSON value a line, each line ended by a line feed."""

from collections.abc import Iterable
from itertools import zip_longest
from pathlib import Path

from listkit.problem import FieldError
from listkit.write.json_text import read_strictly


def write_lines(path: Path, values: Iterable[str]) -> None:
    """Write the values, each a JSON text without line ends, to `path`.

    Raises:
        FieldError: a text holds half a surrogate pair, which is no character.
    """
    with path.open("w", encoding="utf-8", newline="") as file:
        for number, value in enumerate(values, 1):
            try:
                file.write(value + "\n")
            except UnicodeEncodeError as fault:
                message = f'line {number} holds "\\u{ord(value[fault.start]):04x}", which is no character.'
                raise FieldError(message, "Take it out of the text.") from fault


def lines_fault(path: Path, wanted: Iterable[str]) -> str:
    """Return "" when each line of the file reads as the value in its place, and as the text it should be."""
    try:
        with path.open(encoding="utf-8", errors="strict", newline="\n") as file:
            for number, (line, value) in enumerate(zip_longest(file, wanted), 1):
                if line is None or value is None:
                    return f"line {number} is {'missing' if line is None else 'too many'}."
                if not isinstance(read_strictly(line), dict) or line != value + "\n":
                    return f"line {number} is not the one that was asked for."
    except ValueError as fault:
        return f"it is no JSON: {fault}."
    return ""
