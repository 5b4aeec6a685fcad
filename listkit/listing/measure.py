"""Measures: how long a text is, counted as a channel counts."""

from collections.abc import Callable
from typing import Final

Measure = Callable[[str], int]
"""Returns the length of a text."""


def utf8_bytes(text: str) -> int:
    """Return how many bytes the text has in UTF-8 (RFC 3629); half a surrogate pair counts three."""
    return len(text) if text.isascii() else len(text.encode("utf-8", "surrogatepass"))


def utf16_units(text: str) -> int:
    """Return how many 16-bit units the text has in UTF-16 (RFC 2781): two for each character above U+FFFF."""
    return len(text) if text.isascii() else len(text) + sum(sign > "\uffff" for sign in text)


MEASURES: Final[dict[str, Measure]] = {"characters": len, "bytes": utf8_bytes, "utf-16 units": utf16_units}
"""By the words of [limits] count; a character is a Unicode code point."""
UNIT_WORDS: Final = {"characters": "character", "bytes": "byte", "utf-16 units": "UTF-16 unit"}
"""One of what is counted, in words."""


def fitting(text: str, most: int, measure: Measure) -> int:
    """Return how many characters of `text`, from its beginning, measure `most` at most."""
    if measure is len:
        return min(most, len(text))
    low, high = 0, min(most, len(text))  # no character measures less than one
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if measure(text[:middle]) <= most else (low, middle - 1)
    return low
