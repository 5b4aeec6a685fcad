"""Understands the header of an owner's sheet: which column is which field of the items table, and how surely.

By the words of the headings first, then by what the cells look like, then by how columns stand to each other. Below
SURE nothing is taken for granted. The same columns in another order are understood the same.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from listkit.learn.candidates import DOUBT, FIELD_ORDER, FLOOR, SURE, Candidate, Column, column, times_dearer

_MONEY: Final = ("retail", "cost")
_NEAR: Final = 0.1
_RIVAL: Final = 0.7
_RETAIL: Final = 2.5  # what is sold to shops costs less than that many times its making; common practice, no source


@dataclass(frozen=True, slots=True)
class ColumnMatch:
    """What one column is: a field of the items table ("shelf life") or None, and how surely, from 0 to 1.

    `second` is the next likely field, `reason` why it is doubtful or what it is otherwise, in words; `unit` is what
    the heading states ("g"), `known` what it means where items have no such thing ("length").
    """

    heading: str
    field: str | None
    confidence: float
    second: str | None
    reason: str
    unit: str = ""
    known: str = ""

    @property
    def sure(self) -> bool:
        """Whether it may be filled in without asking."""
        return self.field is not None and self.confidence >= SURE


def match_items(headings: Sequence[str], samples: Sequence[Sequence[str]] = ()) -> tuple[ColumnMatch, ...]:
    """Return what each column is, in their order; a field is given to one column at most.

    Args:
        headings: the header row, "" where nothing stands.
        samples: some rows below it; short rows are as if filled up with nothing.
    """
    rows = [tuple(row) for row in samples]
    columns = [
        column(heading, tuple(row[at] if at < len(row) else "" for row in rows)) for at, heading in enumerate(headings)
    ]
    columns = _dearer_than_cost(columns)
    given = _given(columns)
    return tuple(_match(at, columns, given) for at in range(len(columns)))


def _dearer_than_cost(columns: list[Column]) -> list[Column]:
    """A price that no word tells from others is the retail price where it is well above the cost in every row."""
    costs = [one for one in columns if one.score("cost") >= SURE]
    retails = [one for one in columns if one.score("retail") >= FLOOR]
    if len(costs) != 1:
        return columns
    [cost] = costs
    return [_beside_cost(one, cost, alone=len(retails) == 1) for one in columns]


def _beside_cost(one: Column, cost: Column, *, alone: bool) -> Column:
    times = times_dearer(one, cost) if one is not cost and one.score("retail") >= FLOOR else ()
    middle = times[len(times) // 2] if times else None
    if middle is None:
        return one
    if alone and times[0] > 1 and middle >= _RETAIL:
        return replace(one, candidates=tuple(map(_is_dearer, one.candidates)))
    return replace(one, candidates=tuple(map(_is_cheaper, one.candidates))) if middle < 1 else one


def _is_dearer(one: Candidate) -> Candidate:
    if one.field == "retail" and one.score >= 0.73:
        return replace(one, score=max(one.score, 0.93), why="above the cost in every row")
    return replace(one, score=min(one.score, 0.4)) if one.field == "cost" else one


def _is_cheaper(one: Candidate) -> Candidate:
    return replace(one, score=min(one.score, 0.6), why="below the cost in most rows") if one.field == "retail" else one


def _given(columns: list[Column]) -> dict[int, Candidate]:
    """Return which column gets which field: the surest pair first; among equals the heading decides, not the place."""
    pairs = sorted(
        ((candidate, at) for at, one in enumerate(columns) for candidate in one.candidates if candidate.score >= FLOOR),
        key=lambda pair: (-pair[0].score, FIELD_ORDER[pair[0].field], columns[pair[1]].heading, columns[pair[1]].rows),
    )
    given: dict[int, Candidate] = {}
    for candidate, at in pairs:
        if at not in given and candidate.field not in {one.field for one in given.values()}:
            given[at] = candidate
    return given


def _match(at: int, columns: list[Column], given: dict[int, Candidate]) -> ColumnMatch:
    one, candidate = columns[at], given.get(at)
    others = [other for other in one.candidates if candidate is None or other.field != candidate.field]
    second = others[0] if others and others[0].score >= 0.2 else None
    other = second.field if second else None
    if candidate is None:
        return ColumnMatch(one.heading, None, 0.0, other, _not_given(one, second, columns, given), known=one.known)
    score, why = _weighed(at, candidate, columns, given)
    return ColumnMatch(one.heading, candidate.field, round(score, 2), other, why, candidate.unit)


def _weighed(at: int, candidate: Candidate, columns: list[Column], given: dict[int, Candidate]) -> tuple[float, str]:
    """Return how sure a pair is in the face of the other columns and fields, and why not."""
    one, score, why = columns[at], candidate.score, candidate.why
    rivals = [
        other
        for place, other in enumerate(columns)
        if place != at and (place not in given or given[place].score <= other.score(candidate.field))
    ]
    rival = max(rivals, key=lambda other: (other.score(candidate.field), other.heading), default=None)
    if rival is not None and rival.score(candidate.field) >= min(_RIVAL, score):
        return min(score, DOUBT), f'"{rival.heading}" may be the {candidate.field} as well'
    settled = {other.field for place, other in given.items() if place != at and other.score >= SURE}
    near = [
        other
        for other in one.candidates
        if other.field != candidate.field and other.field not in settled and other.score > score - _NEAR
    ]
    if near:
        return min(score, DOUBT), f"it may be the {near[0].field} as well"
    if candidate.field in _MONEY and score < SURE:
        return min(score, DOUBT), why or "there are several kinds of price"
    return score, why


def _not_given(one: Column, second: Candidate | None, columns: list[Column], given: dict[int, Candidate]) -> str:
    if second is not None and second.score >= FLOOR:
        holder = next((columns[at].heading for at, other in given.items() if other.field == second.field), "")
        return f'"{holder}" is the {second.field} already'
    if one.known:
        return f"it is the {one.known}, which items do not need"
    if second is not None:
        return second.why
    return "no word of it is known" if one.heading.strip() else "it has no heading"
