"""JSON as text: written so that equal values give equal bytes, read again so that nothing passes unseen.

`canonical` is the form of RFC 8785 for what we put in: text, whole and decimal numbers, yes and no,
arrays, objects with ASCII names. Amounts of money are text, because a binary number cannot hold them.
"""

import json
from collections.abc import Iterable
from decimal import Decimal
from itertools import zip_longest
from json.encoder import JSONEncoder
from pathlib import Path
from typing import Any, Final, NoReturn

from listkit.listing.cells import half_up
from listkit.problem import FieldError

Json = dict[str, Any] | list[Any] | str | int | float | bool | None
_ENCODER: Final = JSONEncoder(ensure_ascii=False, separators=(",", ":"), sort_keys=True, allow_nan=False)
_IN_ORDER: Final = JSONEncoder(ensure_ascii=False, separators=(",", ":"), allow_nan=False)
_READABLE: Final = JSONEncoder(ensure_ascii=False, indent=2, allow_nan=False)
canonical = _ENCODER.encode
in_order = _IN_ORDER.encode


def readable(value: Json) -> str:
    """Return the value over several lines, names in their own order, with a line end."""
    return _READABLE.encode(value) + "\n"


def number(value: Decimal, places: int) -> int | float:
    """Return a decimal as JSON has it, half up to `places`: so few digits that the binary number reads the same."""
    rounded = half_up(value, places)
    return int(rounded) if rounded == rounded.to_integral_value() else float(rounded)


def read_strictly(text: str) -> Json:
    """Return the value of a JSON text.

    Raises:
        ValueError: it is none, a name stands twice in one object, or a number is none of JSON's.
    """
    value: Json = json.loads(text, object_pairs_hook=_without_doubles, parse_constant=_no_constant)
    return value


def document_fault(path: Path, wanted: Json) -> str:
    """Return "" when the file is this JSON document as `readable` writes it, else what is wrong."""
    try:
        text = path.read_bytes().decode("utf-8")
        found = read_strictly(text)
    except ValueError as fault:
        return f"it is no JSON: {fault}."
    if found != wanted:
        return "it does not hold what was asked for."
    return "" if text == readable(wanted) else "it is not written as it should be."


def _without_doubles(pairs: list[tuple[str, Json]]) -> dict[str, Json]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a name stands twice in one object")
    return found


def _no_constant(word: str) -> NoReturn:
    raise ValueError(f"{word} is no number")


# JSON Lines: UTF-8 without a byte order mark, one JSON value a line, each line ended by a line feed.


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
