"""Which columns of a place's export of its sales say what was sold, how many and when; doubtful ones are marked.

Codes are known by the cells: no other column holds the codes of the shop. Numbers and days are known by their headings,
and by the cells where one column alone can be it.
"""

import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from listkit.learn.cell_shapes import is_day
from listkit.learn.dialect import values_of
from listkit.learn.folding import words_of
from listkit.learn.languages import SHIPPED
from listkit.model.channel import DayForm, SalesField


def _said(key: str) -> frozenset[str]:
    return frozenset(word for phrase in SHIPPED.words("sales", key) for word in words_of(phrase))


_QUANTITY: Final = _said("quantity")
_NO_QUANTITY: Final = _said("no quantity")
_DAY: Final = _said("day")
_LEAST_KNOWN: Final = 0.5
_SEARCHED: Final = 20
_COUNT: Final = re.compile(r"[-−]*(\d{1,6})")  # no more digits are made a number of
_MOST_PIECES: Final = 10_000


@dataclass(frozen=True, slots=True)
class SalesDraft:
    """The headings that are sure by what they are, those that may be it, and how days are written."""

    header: int
    columns: tuple[tuple[str, SalesField], ...]
    doubts: tuple[tuple[SalesField, tuple[str, ...]], ...] = ()
    date: DayForm = "2027-02-28"

    @property
    def sure(self) -> bool:
        """Whether nothing is left to ask."""
        return not self.doubts


def learn_sales(rows: Sequence[Sequence[str]], is_code: Callable[[str], bool]) -> SalesDraft:
    """Return what the columns of an export are; `is_code` knows the codes of the shop, single pieces and variants."""
    header = _header(rows, is_code)
    headings = tuple(rows[header]) if rows else ()
    columns = tuple(
        tuple(row[at].strip() for row in rows[header + 1 :] if at < len(row) and row[at].strip())
        for at in range(len(headings))
    )
    shares = [sum(map(is_code, cells)) / len(cells) if cells else 0.0 for cells in columns]
    best = max(shares, default=0.0)
    codes = [at for at, share in enumerate(shares) if share == best and share >= _LEAST_KNOWN]
    days = _named([at for at, cells in enumerate(columns) if cells and all(map(is_day, cells))], headings, _DAY)
    numbers = [at for at, cells in enumerate(columns) if cells and at not in (*codes, *days) and _counts(cells)]
    quantities = _named(numbers, headings, _QUANTITY)
    chosen: dict[SalesField, list[int]] = {"code": codes, "quantity": quantities, "day": days}
    day_cells = [columns[at] for at in days]
    form = values_of(day_cells, ())
    called = Counter(words_of(heading) for heading in headings)  # which of two that are called alike nobody can say
    chosen = {
        field: found * called[words_of(headings[found[0]])] if len(found) == 1 else found
        for field, found in chosen.items()
    }
    sure = tuple((headings[found[0]], field) for field, found in chosen.items() if len(found) == 1)
    doubts = tuple(
        (field, tuple(headings[at] for at in found))
        for field, found in chosen.items()
        if len(found) != 1 and (field != "day" or found)
    )
    if len(chosen["day"]) == 1 and not form.day_sure:
        doubts = (*doubts, ("day", (headings[days[0]],)))
    return SalesDraft(header, sure, doubts, form.date)


def _header(rows: Sequence[Sequence[str]], is_code: Callable[[str], bool]) -> int:
    """Return the row of headings: the last that is filled widest before the first code."""
    if not rows:
        return 0
    first = next((at for at, row in enumerate(rows) if any(is_code(cell.strip()) for cell in row)), 1)
    above = range(max(0, first - _SEARCHED), max(first, 1))
    return max(above, key=lambda at: (sum(bool(cell.strip()) for cell in rows[at]), at), default=0)


def _counts(cells: Sequence[str]) -> bool:
    """Whether all cells are whole numbers as one counts pieces, some with a minus."""
    return all((count := _COUNT.fullmatch(cell)) and int(count[1]) <= _MOST_PIECES for cell in cells)


def _named(places: Sequence[int], headings: Sequence[str], phrases: frozenset[str]) -> list[int]:
    """Return the columns whose headings say it; where none does, all of them."""
    named = [at for at in places if phrases & set(words_of(headings[at])) and not _is_other(headings[at], phrases)]
    return named or [at for at in places if not _is_other(headings[at], phrases)]


def _is_other(heading: str, phrases: frozenset[str]) -> bool:
    return phrases is _QUANTITY and bool(_NO_QUANTITY & set(words_of(heading)))
