"""Which column is which field, of an owner's sheet or of a place's sample, and how surely: one matcher for both.

Each column is judged by its heading and its cells (`candidates`), then beside the others. In a sheet a field is of one
column at most; in a sample several may be members of a family. A match below SURE is to be confirmed by the owner. The
same columns in another order give the same matches.
"""

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from listkit.fields import FIELDS
from listkit.learn.beside import LEFT, ONLY_LEFT, in_context, is_open, only_left, picture_members
from listkit.learn.candidates import (
    BY_CELLS,
    DOUBT,
    FLOOR,
    OTHERWISE,
    SAMPLES,
    SECOND,
    SHEETS,
    SURE,
    WEAK,
    Candidate,
    Column,
    column,
    times_dearer,
)
from listkit.learn.cell_shapes import is_whole
from listkit.learn.cells_beside import further_pictures
from listkit.learn.folding import unit_of
from listkit.learn.heading import Heading, headings_of, members_of, plain_heading
from listkit.learn.hits import hits
from listkit.learn.values import SHEET_RULES, Verdict, are_containers, are_names, columns_of, filled, most, verdict
from listkit.learn.words import FEEDS
from listkit.model.item import Item

_MONEY: Final = ("retail", "cost")
_NEAR: Final = 0.1
_RIVAL: Final = 0.7
_RETAIL: Final = 2.5  # what is sold to shops costs less than that many times its making; common practice, no source
_LEAST_SECOND: Final = 0.2
_ONE_ONLY: Final = "there is one of it, and the heading is numbered"
_KEPT: Final = frozenset({BY_CELLS, OTHERWISE, *(why for _, why in SAMPLES.asked)})
"""Reasons that say more than that something else is as likely."""
_ORDER: Final = {name.replace("_", " "): at for at, name in enumerate(Item.model_fields)}


@dataclass(frozen=True, slots=True)
class Match:
    """What one column is: a field of ours ("shelf life", "image_3") or None, and how surely, from 0 to 1.

    `second` is the next likely field, `reason` why it is doubtful or what it is otherwise, in words; `unit` is what
    the heading states ("g"), `known` what it means where we have no such thing ("length").
    """

    heading: Heading
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


def match_items(headings: Sequence[str], samples: Sequence[Sequence[str]] = ()) -> tuple[Match, ...]:
    """Return what each column of a sheet is, in their order; a field is given to one column at most.

    Args:
        headings: the header row, "" where nothing stands.
        samples: some rows below it; short rows are as if filled up with nothing.
    """
    rows = columns_of(samples, len(headings))
    columns = [column(plain_heading(text), cells, SHEETS) for text, cells in zip(headings, rows, strict=True)]
    columns = _left_in_sheet(_dearer_than_cost(columns))
    given = _given(columns)
    return tuple(_settled(at, columns, given) for at in range(len(columns)))


def match_feed(headings: Sequence[str], samples: Sequence[Sequence[str]] = ()) -> tuple[Match, ...]:
    """Return what each column of a sample is, in their order; `headings` and `samples` as of `match_items`."""
    rows = columns_of(samples, len(headings))
    parts = headings_of(headings)
    together: dict[str, list[str]] = defaultdict(list)  # the cells of a family, whose members are alike
    for part, cells in zip(parts, rows, strict=True):
        together[part.family] += filled(cells)
    columns = [
        column(
            part, cells, SAMPLES, tuple(together[part.family]) if hits(part.numbered.plain, FEEDS) else filled(cells)
        )
        for part, cells in zip(parts, rows, strict=True)
    ]
    judged = in_context(columns)
    named = picture_members(judged, members_of(parts))
    unnamed = further_pictures(judged)  # "F 4" beside "F 5" is no picture of theirs, "F 2" beside a main one is
    return tuple(
        _of_family(one, member if _is_named(one.heading) else further)
        for one, member, further in zip(judged, named, unnamed, strict=True)
    )


# In a sample: members of families, and always two choices where there is doubt.


def _of_family(judged: Column, member: int | None) -> Match:
    """Return the match of a sample's column; `member` says which of its family it is."""
    if not judged.candidates or judged.candidates[0].score < FLOOR:
        return _unknown(judged)
    first, *others = judged.candidates
    score, why = first.score, first.why
    second = others[0] if others and others[0].score >= _LEAST_SECOND else None
    if second and second.score > score - _NEAR and score < 1:
        also = f"it may also mean: {FIELDS[second.field].meaning.rstrip('.')}"
        score, why = min(score, DOUBT), why if why in _KEPT else also
    field, many = first.field, FIELDS[first.field].many
    if member is not None and many:
        field = f"{field}_{member}"
    elif member is not None and judged.heading.numbered.number is not None:
        score, why = min(score, DOUBT), _ONE_ONLY
    return Match(
        heading=judged.heading,
        field=field,
        confidence=round(score, 2),
        second=second.field if second else SECOND.get(first.field) if score < SURE else None,
        reason=why,
        unit=first.unit,
    )


def _is_named(heading: Heading) -> bool:
    return bool(hits(heading.numbered.plain, FEEDS))


def _unknown(judged: Column) -> Match:
    """Return a column that is no field; what its words might mean is its `second`."""
    guess = judged.candidates[0].field if judged.candidates else ""
    if judged.known:
        why = f"it is the {judged.known}, which a set does not have"
    elif judged.candidates:
        why = judged.candidates[0].why
    else:
        why = "no word of it is known" if judged.heading.text.strip() else "it has no heading"
    return Match(judged.heading, None, 0.0, guess or None, why, known=judged.known)


# In a sheet: a field to one column.


def _left_in_sheet(columns: list[Column]) -> list[Column]:
    """Guess what no heading names, name, weight, container, stock and prices, where one column is left for each."""
    found = only_left(tuple(columns), "name", {"name"}, lambda column: are_names(column.rows))
    found = tuple(_with_unit(one) for one in only_left(found, "weight", {"weight"}, _is_weight))
    found = only_left(found, "container", {"container"}, lambda column: are_containers(column.cells))
    found = only_left(found, "on hand", {"on hand"}, lambda column: most(column.cells, is_whole))
    left = [one for one in found if is_open(one) and verdict("retail", one.cells, SHEET_RULES) is Verdict.TELLING]
    known = [one for one in found if one.field in _MONEY]
    if {one.field for one in known} == set(_MONEY) or len(left) + len(known) != len(_MONEY):
        return list(found)
    dear = next((one for one in (*left, *known) if all(_is_dearer(one, each) for each in (*left, *known))), None)
    if dear is None or any((one is dear) is not (one.field == "retail") for one in known):
        return list(found)
    return [one.become("retail" if one is dear else "cost", LEFT, ONLY_LEFT) if one in left else one for one in found]


def _is_dearer(column: Column, other_column: Column) -> bool:
    """Whether a column has more than another one in every row; itself it need not beat."""
    times = times_dearer(column, other_column)
    return column is other_column or (bool(times) and times[0] > 1)


def _is_weight(column: Column) -> bool:
    says = verdict("weight", column.cells, SHEET_RULES)
    return says is Verdict.TELLING or (says is Verdict.FOR and bool(_unit_of_mass(column)))


def _with_unit(column: Column) -> Column:
    """Return a column that was guessed to be the weight with the unit that its heading names."""
    first, *others = column.candidates or (None,)
    if first is None or first.field != "weight" or first.why != ONLY_LEFT:
        return column
    return replace(column, candidates=(replace(first, unit=_unit_of_mass(column)), *others))


def _unit_of_mass(column: Column) -> str:
    """Return the unit of weight among the words of a heading, wherever it stands: "g dry"."""
    units = (unit_of(word, plain=True) for word in re.findall(r"[^\W\d_]+", column.heading.text))
    return next((unit for kind, unit in units if kind == "mass"), "")


def _dearer_than_cost(columns: list[Column]) -> list[Column]:
    """Take a price that no word tells from others for the retail price where it is well above the cost in every row."""
    costs = [column for column in columns if column.score("cost") >= SURE]
    retails = [column for column in columns if column.score("retail") >= FLOOR]
    if len(costs) != 1:
        return columns
    [cost] = costs
    return [_beside_cost(column, cost, alone=len(retails) == 1) for column in columns]


def _beside_cost(column: Column, cost: Column, *, alone: bool) -> Column:
    """Return a column with its candidates in view of the costs; `alone` if no other column may be the retail price."""
    times = times_dearer(column, cost) if column is not cost and column.score("retail") >= FLOOR else ()
    middle = times[len(times) // 2] if times else None
    if middle is None:
        return column
    if alone and times[0] > 1 and middle >= _RETAIL:
        return replace(column, candidates=tuple(map(_if_dearer, column.candidates)))
    return replace(column, candidates=tuple(map(_if_cheaper, column.candidates))) if middle < 1 else column


def _if_dearer(candidate: Candidate) -> Candidate:
    if candidate.field == "retail" and candidate.score >= WEAK:
        return replace(candidate, score=max(candidate.score, 0.93), why="above the cost in every row")
    return replace(candidate, score=min(candidate.score, 0.4)) if candidate.field == "cost" else candidate


def _if_cheaper(candidate: Candidate) -> Candidate:
    if candidate.field != "retail":
        return candidate
    return replace(candidate, score=min(candidate.score, 0.6), why="below the cost in most rows")


def _given(columns: list[Column]) -> dict[int, Candidate]:
    """Return which column gets which field: the surest pair first; among equals the heading decides, not the place."""
    pairs = sorted(
        ((candidate, at) for at, one in enumerate(columns) for candidate in one.candidates if candidate.score >= FLOOR),
        key=lambda pair: (
            -pair[0].score,
            _ORDER[pair[0].field],
            columns[pair[1]].heading.text,
            columns[pair[1]].rows,
        ),
    )
    given: dict[int, Candidate] = {}
    for candidate, at in pairs:
        if at not in given and candidate.field not in {one.field for one in given.values()}:
            given[at] = candidate
    return given


def _settled(at: int, columns: list[Column], given: dict[int, Candidate]) -> Match:
    one, candidate = columns[at], given.get(at)
    others = [other for other in one.candidates if candidate is None or other.field != candidate.field]
    second = others[0] if others and others[0].score >= _LEAST_SECOND else None
    other = second.field if second else None
    if candidate is None:
        return Match(one.heading, None, 0.0, other, _not_given(one, second, columns, given), known=one.known)
    score, why = _weighed(at, candidate, columns, given)
    return Match(one.heading, candidate.field, round(score, 2), other, why, unit=candidate.unit)


def _weighed(at: int, candidate: Candidate, columns: list[Column], given: dict[int, Candidate]) -> tuple[float, str]:
    """Return how sure a pair is in the face of the other columns and fields, and why not."""
    one, score, why = columns[at], candidate.score, candidate.why
    rivals = [
        other
        for place, other in enumerate(columns)
        if place != at and (place not in given or given[place].score <= other.score(candidate.field))
    ]
    rival = max(rivals, key=lambda other: (other.score(candidate.field), other.heading.text), default=None)
    if rival is not None and rival.score(candidate.field) >= min(_RIVAL, score):
        return min(score, DOUBT), f'"{rival.heading.text}" may be the {candidate.field} as well'
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


def _not_given(column: Column, second: Candidate | None, columns: list[Column], given: dict[int, Candidate]) -> str:
    """Return why a column gets no field."""
    if second is not None and second.score >= FLOOR:
        holder = next((columns[at].heading.text for at, other in given.items() if other.field == second.field), "")
        return f'"{holder}" is the {second.field} already'
    if column.known:
        return f"it is the {column.known}, which items do not need"
    if second is not None:
        return second.why
    return "no word of it is known" if column.heading.text.strip() else "it has no heading"
