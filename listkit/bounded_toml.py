"""TOML texts that anybody may have written, read within bounds: the standard reader alone can be made to fail or swell.

Every fault comes as `tomllib.TOMLDecodeError`, whatever the reader would have raised.
"""

import tomllib
from collections.abc import Callable
from typing import Any, Final

from listkit import bounds

TOO_DEEP: Final = "it has keys of more parts than any file needs."
BEYOND: Final = "it holds a number or a list beyond all measure."
_MOST_DOTS: Final = bounds.TOML_DOTS
_MOST_IN_HEADER: Final = bounds.TOML_HEADER_DOTS
_DEEPEST: Final = bounds.TOML_DEEP
_LARGEST: Final = bounds.TOML_BITS


def parse_bounded(text: str, parse_float: Callable[[str], Any] = float) -> dict[str, Any]:
    """Return the document.

    Raises:
        tomllib.TOMLDecodeError: it is not TOML, or TOO_DEEP, or BEYOND what any file needs.
    """
    if _too_many_dots(text):
        raise tomllib.TOMLDecodeError(TOO_DEEP)
    # Each value is read and looked through several times.
    if values_in(text.encode("utf-8", "surrogatepass")) > bounds.TOML_VALUES:
        raise tomllib.TOMLDecodeError(BEYOND)
    try:
        document = tomllib.loads(text, parse_float=parse_float)
    except tomllib.TOMLDecodeError:
        raise
    except (ValueError, RecursionError):
        raise tomllib.TOMLDecodeError(BEYOND) from None
    if _is_beyond(document):
        raise tomllib.TOMLDecodeError(BEYOND)
    return document


def values_in(content: bytes) -> int:
    """Return how many values a text in TOML holds at most: each needs a sign of equality, a comma or a bracket."""
    return sum(map(content.count, (b"=", b",", b"[", b"{")))


def _too_many_dots(text: str) -> bool:
    """Whether the keys could have so many parts that a small file fills the memory.

    The parser keeps every beginning of a dotted key, which grows with the square of its parts; a key stands on one
    line, so a line's dots bound them.
    """
    dots = [(line.count("."), line.lstrip()[:1]) for line in text.split("\n") if "." in line]
    return sum(count * count for count, _ in dots) > _MOST_DOTS or any(
        count > _MOST_IN_HEADER and begin == "[" for count, begin in dots
    )


def _is_beyond(document: object) -> bool:
    """Whether tables and lists lie within each other so deep that going through them could end the program.

    Or a whole number is so large that Python writes it no more, which one in hexadecimals can be that was read.
    """
    level: list[object] = [document]
    for _ in range(_DEEPEST):
        inner = (
            value.values() if isinstance(value, dict) else value for value in level if isinstance(value, dict | list)
        )
        level = [value for values in inner for value in values]
        if any(isinstance(value, int) and value.bit_length() > _LARGEST for value in level):
            return True
        if not level:
            return False
    return True
