"""CSV that anybody may have written: which separator it states, how long a cell may be, what is wrong with a row.

The csv module keeps one length of a cell for the whole program, and says what is wrong in words of its own; from
Python 3.13 on it refuses some separators with an exception that is none of CSV.
"""

import csv
import re
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

_STATED: Final = re.compile(r"sep=([^\w\s\"]|\t)(?:\r?\n|\r|$)", re.IGNORECASE)
_guard = threading.Lock()
_usual: Final = csv.field_size_limit()
_asked: Final[list[int]] = []


def stated_separator(text: str) -> tuple[str, str]:
    r"""Return the separator that a table states on a line above it, as some programs do, and the table; or "" and all.

    A letter, a space, a quotation mark or a line end separates no cells: a line that states one is a row like others.

    >>> stated_separator("sep=;\r\na;b"), stated_separator('sep="\na,b')
    ((';', 'a;b'), ('', 'sep="\na,b'))
    """
    stated = _STATED.match(text)
    return (stated[1], text[stated.end() :]) if stated else ("", text)


@contextmanager
def long_cells(most: int) -> Iterator[None]:
    """Let the csv module read cells of so many characters within the block; the longest that anybody asks for holds."""
    with _guard:
        _asked.append(most)
        csv.field_size_limit(max(_usual, *_asked))
    try:
        yield
    finally:
        with _guard:
            _asked.remove(most)
            csv.field_size_limit(max(_usual, *_asked) if _asked else _usual)


def broken_row(phrase: str) -> tuple[str, str]:
    """Return what a phrase of the csv module says of a row, in plain words without a full stop, and the hint."""
    if "expected after" in phrase:
        message = "text stands behind a closing quotation mark"
        return message, 'Double a quotation mark within a text in quotes: "a ""good"" bar".'
    if "larger than" in phrase:
        message = "a cell is longer than any text of a shop, or its quotation mark is not closed"
        return message, "Shorten it, or close the quotes."
    return "a quotation mark is not closed", "Close the quotes, or take them out."
