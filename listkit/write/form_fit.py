"""How an order form goes on paper: how wide its columns are, upright on one page or on its side, never in small type.

What is ordered by is at least 7.5 points high: names are broken into lines, then the page is turned, then there are
more pages; nothing is shrunk further.
"""

from dataclasses import dataclass
from math import ceil
from typing import Any, Final

from listkit.listing.order_form import FormLine, FormText

PRICES: Final = 3  # the first column of prices
ROW: Final = 12.75  # points
# Every office has it, or one as wide: where a font lacks, columns and letters become a third wider.
FONT: Final[dict[str, Any]] = {"font_name": "Arial", "font_size": 10}
_SHEET: Final = {"A4": (197, 266), "letter": (203, 249)}  # what the margins leave of an upright page, mm
_WIDE_SHEET: Final = {"A4": 284, "letter": 266}  # how wide a page is that lies on its side
_LETTER_WIDE, _COLUMN_WIDE, _ROW_HIGH = 1.852, 1.32, 4.5  # mm, of a figure, beside a column and of a row at full size
_LEAST_TYPE: Final = 7.5  # points; what would be smaller goes on another page
_NAMED: Final = ((20, 40), (26, 40))  # name and choice: characters at least, and before they go on a second line
_GTIN, _TOTAL, _MISSING = 17, 10, 30  # characters at least
_LETTER, _LABEL_LETTER = 0.92, 0.87  # how wide a letter of a text with and without figures is, in figures
_OFF_PAPER: Final = -2  # what is missing, and the GTIN, are for a screen
_MOST_UPRIGHT: Final = 80  # lines; more never go on one page


@dataclass(frozen=True, slots=True)
class Fit:
    """How a form lies on paper: how wide its columns are, in characters; upright on one page, or on its side."""

    widths: tuple[float, ...]
    upright: bool


def fitted(form: FormText, rows: float) -> Fit:
    """Return how a form goes on paper in type that is read: upright on one page where it can, else on its side.

    `rows` is how many it takes when none of its lines is broken. Names are broken sooner than anything is set smaller
    than `_LEAST_TYPE`.
    """
    share = _LEAST_TYPE / FONT["font_size"]
    longest = [max((len(text) for text in texts), default=0) for texts in zip(*map(_texts_of, form.lines), strict=True)]
    natural = [min(max(length, least), most) for length, (least, most) in zip(longest[1:], _NAMED, strict=True)]
    fixed = _other_widths(form, longest[0])
    wide, high = (side / share for side in _SHEET[form.paper])
    if len(form.lines) <= _MOST_UPRIGHT:
        name, choice = _broken(form, natural, _letters_left(fixed, wide))
        if name and (rows + _more_lines(form, (99, name, choice))) * _ROW_HIGH <= high:
            return Fit((fixed[0], name, choice, *fixed[1:]), upright=True)
    left = _letters_left(fixed, _WIDE_SHEET[form.paper] / share)
    name, choice = natural if sum(natural) <= left else [least for least, _ in _NAMED]
    return Fit((fixed[0], name, choice, *fixed[1:]), upright=False)


def _texts_of(line: FormLine) -> tuple[str, ...]:
    return line.code, line.name, line.more


def _other_widths(form: FormText, longest_code: int) -> tuple[float, ...]:
    """Return how wide all columns are but name and choice: as their longest word or figure, the code's in bold."""
    case, least = (any(map(filled, form.lines)) for filled in (lambda line: line.case, lambda line: line.least))
    money = max((len(f"{price:,f}") for line in form.lines for price in (*line.prices, line.retail or 0)), default=0)
    words = [max(map(len, heading.split()), default=0) for heading in form.headings]
    *prices, cases, leasts, quantity, total, _, _ = words[PRICES:]
    return (
        max(longest_code * 1.08, _LABEL_LETTER * max(map(len, _labels(form)))),
        *(max(word, money) + 0.5 for word in prices),
        (cases + 1.5) * case,
        (leasts + 1.5) * least,
        quantity + 0.5,
        max(total, _TOTAL),
        _MISSING,
        _GTIN * any(line.gtin for line in form.lines),
    )


def _labels(form: FormText) -> tuple[str, ...]:
    """Return what stands in the first column besides codes."""
    words = form.words
    results = (f"{words.sum} ({form.currency})", words.pieces, words.missing)
    return (*form.buyer_labels, *results, *(name for name, _ in form.terms))


def _letters_left(fixed: tuple[float, ...], wide: float) -> float:
    """Return how many characters of a page so many mm wide are left for name and choice; no paper has the last two."""
    shown = [width for width in fixed[:_OFF_PAPER] if width]
    return (wide - _COLUMN_WIDE * (len(shown) + 2)) / _LETTER_WIDE - sum(shown)


def _broken(form: FormText, natural: list[int], left: float) -> tuple[float, float]:
    """Return how wide name and choice are in the room left, so that fewest lines are broken; (0, 0) without room."""
    if sum(natural) <= left:
        return natural[0], natural[1]
    (least_name, _), (least_choice, _) = _NAMED
    tried = [(name, left - name) for name in range(least_name, int(left - least_choice) + 1)]
    return min(tried, key=lambda pair: _more_lines(form, (99, *pair)), default=(0, 0))


def _more_lines(form: FormText, widths: tuple[float, ...]) -> int:
    return sum(lines_of(line, widths) - 1 for line in form.lines)


def pages_wide(form: FormText, fit: Fit) -> int:
    """Return on how many pages beside each other the columns go in type that is read: one, but for very many tiers."""
    if fit.upright:
        return 1
    shown = [width for width in fit.widths[:_OFF_PAPER] if width]
    wide = (sum(shown) * _LETTER_WIDE + len(shown) * _COLUMN_WIDE) * _LEAST_TYPE / FONT["font_size"]
    return -(-int(wide) // _WIDE_SHEET[form.paper])


def lines_of(line: FormLine, widths: tuple[float, ...]) -> int:
    """Return how many lines the longest text of a row takes, a letter being a little narrower than a figure.

    Programs that open a workbook made by another do not measure it anew.
    """
    return max(
        ceil(len(text) * _LETTER / int(width)) or 1 for text, width in zip(_texts_of(line), widths, strict=False)
    )
