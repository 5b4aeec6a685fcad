"""The header of an owner's sheet: its row, which column is which field of the items table and how surely, the currency.

The words of the headings count first, then the look of the cells, then the other columns. A match below SURE is to be
confirmed by the owner. The same columns in another order give the same matches.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from listkit.learn.candidates import DOUBT, FIELD_ORDER, FLOOR, SURE, Candidate, Column, column, times_dearer
from listkit.learn.cell_shapes import amount, sign_of, units_in
from listkit.learn.folding import parted, unit_of
from listkit.learn.hits import AMONG, hits
from listkit.learn.values import filled
from listkit.units.money import MINOR_DIGITS, SIGNS
from listkit.units.shown import UnitSystem
from listkit.units.table import UnitKind, units_of

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
    if candidate.field == "retail" and candidate.score >= 0.73:
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
    return ColumnMatch(one.heading, candidate.field, round(score, 2), other, why, unit=candidate.unit)


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


def _not_given(column: Column, second: Candidate | None, columns: list[Column], given: dict[int, Candidate]) -> str:
    """Return why a column gets no field."""
    if second is not None and second.score >= FLOOR:
        holder = next((columns[at].heading for at, other in given.items() if other.field == second.field), "")
        return f'"{holder}" is the {second.field} already'
    if column.known:
        return f"it is the {column.known}, which items do not need"
    if second is not None:
        return second.why
    return "no word of it is known" if column.heading.strip() else "it has no heading"


# The row that names the columns: below titles and groups of columns, above the rows and a row of units.

_WITHIN: Final = 30
Row = Sequence[str]


@dataclass(frozen=True, slots=True)
class HeaderRow:
    """The header: its place among the rows given, from 0, its headings in one line each, and the units right below.

    `first` is the place of the first row that may be a thing. `units` is empty unless a row of its own holds them.
    """

    index: int
    headings: tuple[str, ...]
    units: tuple[str, ...] = ()

    @property
    def first(self) -> int:
        """The place of the first row below header and units."""
        return self.index + (2 if self.units else 1)

    @property
    def with_units(self) -> tuple[str, ...]:
        """The headings, each with the unit that stands below it."""
        return tuple(
            f"{heading} ({self.units[at]})" if at < len(self.units) and self.units[at] else heading
            for at, heading in enumerate(self.headings)
        )


def find_header(rows: Sequence[Row]) -> HeaderRow | None:
    """Return the row that names most of what items have; None when no row names two things, or all of its few."""
    best, place = (0, 0), -1
    seen = 0
    for at, row in enumerate(rows):
        filled = [cell for cell in row if cell.strip()]
        seen += bool(filled)
        if seen > _WITHIN:
            break
        named = heading_score(row)
        if named > best and named[0] >= min(2, len(filled)):
            best, place = named, at
    if place < 0:
        return None
    headings = tuple(" ".join(cell.split()) for cell in rows[place])
    return HeaderRow(place, headings, _units(rows[place + 1]) if place + 1 < len(rows) else ())


def heading_score(row: Row) -> tuple[int, int]:
    """Return how many fields of items a row names, and how many of its cells mean anything as headings."""
    found = [[hit for hit in hits(" ".join(cell.split())) if hit.score >= AMONG] for cell in row if cell.strip()]
    fields = {one[0].meaning.item for one in found if one} - {""}
    return len(fields), sum(bool(one) for one in found)


def _units(row: Row) -> tuple[str, ...]:
    """Return the units in a row that holds nothing else."""
    words = [cell.strip().strip("()[]").strip() for cell in row]
    known = [bool(word) and bool(unit_of(word)[0]) for word in words]
    return tuple(words) if any(known) and all(yes or not word for yes, word in zip(known, words, strict=True)) else ()


# The shop's currency, by the signs in its price columns; sure only where one currency is left.

_MONEY_FIELDS: Final = frozenset({"retail", "cost"})
_ENOUGH: Final = 0.5
_SEVERAL: Final = 2
# Other pounds are told apart by letters (E£, FK£): the bare sign is sterling's. From memory.
_BARE: Final = {"£": ("GBP",)}


@dataclass(frozen=True, slots=True)
class CurrencyGuess:
    """The currency when it is sure, else ""; the signs seen, and the currencies that they leave."""

    code: str
    signs: tuple[str, ...] = ()
    choices: tuple[str, ...] = ()


def guess_currency(matches: Sequence[ColumnMatch], samples: Sequence[Sequence[str]]) -> CurrencyGuess:
    """Return what the headings and cells of the money columns say of the currency."""
    columns = [
        _signs(match, tuple(row[at] for row in samples if at < len(row)))
        for at, match in enumerate(matches)
        if _MONEY_FIELDS & {match.field, match.second}
    ]
    seen = tuple(sorted({one.sign for signs in columns for one in signs}))
    if not seen:
        return CurrencyGuess("")
    left = [code for code in _currencies(seen[0]) if all(code in _currencies(sign) for sign in seen)]
    signed = [one for signs in columns for one in signs]
    enough = any(one.share >= _ENOUGH for one in signed) or sum(one.count for one in signed) >= _SEVERAL
    return CurrencyGuess(left[0] if len(left) == 1 and enough else "", seen, tuple(left))


@dataclass(frozen=True, slots=True)
class _Signed:
    """A sign in a column of money: how many of its amounts carry it, and their share."""

    sign: str
    count: int
    share: float


def _signs(match: ColumnMatch, cells: tuple[str, ...]) -> tuple[_Signed, ...]:
    """Return the signs of a money column; one in the heading holds for all of it."""
    priced = [cell for cell in filled(cells) if amount(cell) is not None]
    counted = Counter(sign for cell in priced if (sign := _plain(sign_of(cell))))
    if stated := _in_heading(match):
        counted[stated] = len(priced)
    return tuple(_Signed(sign, count, count / len(priced) if priced else 1.0) for sign, count in counted.items())


def _currencies(sign: str) -> tuple[str, ...]:
    return _BARE.get(sign) or SIGNS.get(sign) or (sign,)


def _plain(sign: str) -> str:
    return sign.upper() if sign.upper() in MINOR_DIGITS else sign


def _in_heading(match: ColumnMatch) -> str:
    units = [match.unit, *(way.unit for way in parted(match.heading) if way.kind == "money")]
    return next((_plain(unit) for unit in units if unit), "")


# Her measure, by the units of weights and sizes; net contents are declared as laws want and say nothing of it.

_MEASURED_FIELDS: Final = frozenset({"weight", "size", "length", "width", "depth", "height", "diameter"})
_MEASURED_KINDS: Final = frozenset({"mass", "length"})
_CUSTOMARY: Final = frozenset(unit.sign for unit in units_of(UnitKind.MASS, UnitKind.LENGTH) if not unit.metric)
_NEARLY_ALL: Final = 0.8


@dataclass(frozen=True, slots=True)
class MeasureGuess:
    """The measure, None where the sheet names no units or as many of either, and the units seen, most first."""

    system: UnitSystem | None
    signs: tuple[str, ...] = ()


def guess_measure(matches: Sequence[ColumnMatch], samples: Sequence[Sequence[str]]) -> MeasureGuess:
    """Return what headings and cells of weights and sizes say of the measure."""
    seen: Counter[str] = Counter()
    for at, match in enumerate(matches):
        if not _MEASURED_FIELDS & {match.field, match.known}:
            continue
        cells = filled(tuple(row[at] for row in samples if at < len(row)))
        stated = [match.unit, *(way.unit for way in parted(match.heading) if way.kind in _MEASURED_KINDS)]
        if unit := next(filter(None, stated), ""):
            seen[unit] += max(1, len(cells))
            continue
        seen.update(sign for cell in cells for kind, sign in set(units_in(cell)) if kind in _MEASURED_KINDS)
    signs = tuple(sign for sign, _ in seen.most_common())
    customary = sum(count for sign, count in seen.items() if sign in _CUSTOMARY) / (seen.total() or 1)
    if not signs or 1 - _NEARLY_ALL < customary < _NEARLY_ALL:
        return MeasureGuess(None, signs)
    return MeasureGuess("customary" if customary >= _NEARLY_ALL else "metric", signs)
