"""Finds the row of a sample that names its columns, below titles and notes; or says that there is none."""

from collections.abc import Sequence
from typing import Final

from listkit.learn.cell_shapes import amount, could_be_gtin, has_letters, is_plain_code
from listkit.learn.feed_heading import heading_of
from listkit.learn.feed_shapes import has_markup, is_address, is_day, is_picture
from listkit.learn.feed_words import FEED_WORDS
from listkit.learn.hits import AMONG, hits
from listkit.problem import FieldError

_WITHIN: Final = 30
_LONGEST: Final = 80
_HINT: Final = "Write the storefront's headings above the first row, or write the channel's [[column]]s by hand."


def header_row(rows: Sequence[Sequence[str]]) -> int:
    """Return the place of the row that names the columns.

    Raises:
        FieldError: no row does.
    """
    scores = [_named(row) for row in rows[:_WITHIN]]
    best = max(range(len(scores)), key=lambda at: (scores[at], -at), default=None)
    if best is None:
        raise FieldError("nothing stands in it.", "Ask the storefront for a sample with a row of headings.")
    if scores[best] >= min(2, sum(map(bool, rows[best]))) and _looks_like_headings(rows[best]):
        return best
    first = next(at for at, row in enumerate(rows) if any(row))
    below = [row for row in rows[first + 1 : _WITHIN] if any(row)]
    if _looks_like_headings(rows[first]) and sum(map(bool, rows[first])) > 1 and _unlike(rows[first], below):
        return first
    raise FieldError("no row names the columns.", _HINT)


def _named(row: Sequence[str]) -> int:
    """Return how many meanings a row names."""
    found = [hits(heading_of(cell).numbered.plain, FEED_WORDS) for cell in row if cell and len(cell) <= _LONGEST]
    return len({(one[0].meaning.feed or one[0].meaning.name) for one in found if one and one[0].score >= AMONG})


def _looks_like_headings(row: Sequence[str]) -> bool:
    """Whether the cells of a row may be headings, one odd one in five aside: words, no amounts, addresses, days."""
    filled = [cell for cell in row if cell]
    return bool(filled) and 5 * sum(map(_is_value, filled)) <= len(filled)


def _is_value(cell: str) -> bool:
    bare = amount(cell) is not None or could_be_gtin(cell) or is_day(cell)
    linked = is_address(cell) or is_picture(cell) or has_markup(cell)
    return bare or linked or len(cell) > _LONGEST or not has_letters(cell)


def _unlike(header: Sequence[str], below: Sequence[Sequence[str]]) -> bool:
    """Whether the rows below look like something else than headings, or there are none."""
    values = [_is_value(cell) or is_plain_code(cell) for row in below for cell in row if cell]
    return not below or (any(values) and not any(map(is_plain_code, header)))
