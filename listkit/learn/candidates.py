"""What each column of a sheet may be, by its heading and its cells alone; `header` compares the columns."""

import re
from dataclasses import dataclass
from typing import Final

from listkit.learn.cell_shapes import amount
from listkit.learn.folding import HEIGHTS, SIDES, words_of
from listkit.learn.hits import Hit, hits
from listkit.learn.values import Cells, Verdict, filled, lacks_unit, verdict
from listkit.learn.words import MEANINGS

SURE: Final = 0.9
DOUBT: Final = 0.85
"""The most that a doubtful one is worth."""
FLOOR: Final = 0.5
FIELD_ORDER: Final = {field: at for at, field in enumerate(dict.fromkeys(one.item for one in MEANINGS if one.item))}
_LETTERS: Final = re.compile("[a-z](x[a-z]){1,2}")
_TOLD_BY_CELLS: Final = 0.95
_GTINS: Final = 3  # one wrong number in ten has a right check digit
# Where the shape of the cells tells apart what a word alone does not: "size" is "100 g" or "80 x 55 x 25 mm".
_SHAPES_TELL: Final = frozenset(
    {"code", "form", "net", "container", "size", "shelf life", "status", "shape", "ingredients", "gtin"}
)
# What cells say under a heading that says nothing, and how surely.
_BY_CELLS: Final = {"gtin": 0.95, "ingredients": 0.92, "size": 0.7, "code": 0.6, "net": 0.55}


@dataclass(frozen=True, slots=True)
class Candidate:
    """A field that a column may fill, how surely, the unit, and why in words."""

    field: str
    score: float
    unit: str = ""
    why: str = ""


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its heading, its filled cells, all its cells in the order of the rows, and what it may be.

    `known` names what the heading means where that is nothing that items have.
    """

    heading: str
    cells: Cells
    rows: Cells
    candidates: tuple[Candidate, ...]
    known: str = ""

    def score(self, field: str) -> float:
        """Return how surely it is this field, 0 when it is not."""
        return next((one.score for one in self.candidates if one.field == field), 0.0)


def column(heading: str, rows: Cells) -> Column:
    """Return what one column may be by itself, the likeliest first."""
    cells = filled(rows)
    found = hits(heading)
    candidates = [_by_heading(hit, cells) for hit in found if hit.meaning.item]
    other = next((hit for hit in found if not hit.meaning.item), None)
    if not candidates and (other is None or other.score < SURE):
        candidates = _by_cells(heading, cells)
    elif other and all(other.score > hit.score for hit in found if hit.meaning.item):
        candidates = [_less(candidate, other) for candidate in candidates]
    candidates = [_height_first(heading, _without_unit(candidate, cells)) for candidate in candidates]
    ordered = sorted(candidates, key=lambda candidate: (-candidate.score, FIELD_ORDER[candidate.field]))
    return Column(heading, cells, tuple(rows), tuple(ordered), other.meaning.name if other else "")


def _by_heading(hit: Hit, cells: Cells) -> Candidate:
    field = hit.meaning.item
    says = verdict(field, cells)
    if says is Verdict.AGAINST:
        return Candidate(field, hit.score / 2, hit.unit, "the cells look like something else")
    weak = FLOOR <= hit.score < SURE
    if weak and says is Verdict.TELLING and field in _SHAPES_TELL:
        return Candidate(field, min(_TOLD_BY_CELLS, hit.score + 0.2), hit.unit, "the cells tell")
    return Candidate(field, hit.score, hit.unit, hit.why)


def _by_cells(heading: str, cells: Cells) -> list[Candidate]:
    """Return what a column is by its cells alone; without a heading it cannot be named and is never sure."""
    found = []
    for field, score in _BY_CELLS.items():
        enough = field != "gtin" or len(cells) >= _GTINS
        if enough and verdict(field, cells) is Verdict.TELLING:
            named = bool(heading.strip())
            why = "by its cells" if named else "it has no heading"
            found.append(Candidate(field, score if named else min(score, 0.6), "", why))
    return found


def _less(candidate: Candidate, likelier: Hit) -> Candidate:
    """Lower a candidate in a column whose heading more likely means something that items do not have."""
    if candidate.score >= SURE:
        return candidate
    why = f"it is more likely the {likelier.meaning.name}"
    return Candidate(candidate.field, candidate.score - 0.15, candidate.unit, why)


def _without_unit(candidate: Candidate, cells: Cells) -> Candidate:
    """Lower a candidate that needs a unit where neither heading nor cells have one."""
    if candidate.unit or candidate.score < FLOOR or not lacks_unit(candidate.field, cells):
        return candidate
    score = candidate.score - 0.1 if candidate.score < SURE else DOUBT
    return Candidate(candidate.field, score, "", "the numbers have no unit")


def _height_first(heading: str, candidate: Candidate) -> Candidate:
    """Lower a size whose heading names the height before another side: we read length, width, height."""
    words = [part for word in words_of(heading) for part in (word.split("x") if _LETTERS.fullmatch(word) else [word])]
    named = [word for word in words if word in SIDES]
    if candidate.field != "size" or len(named) < 2 or HEIGHTS.isdisjoint(named[:-1]):
        return candidate
    return Candidate(candidate.field, min(candidate.score, DOUBT), candidate.unit, "the height does not stand last")


def times_dearer(column: Column, cost: Column) -> tuple[float, ...]:
    """Return for each row how many times the cost the column's amount is, ascending; () with fewer than three rows."""
    pairs = [
        (dividend, divisor)
        for left, right in zip(column.rows, cost.rows, strict=False)
        if (dividend := amount(left)) is not None and (divisor := amount(right))
    ]
    return tuple(sorted(dividend / divisor for dividend, divisor in pairs)) if len(pairs) >= 3 else ()
