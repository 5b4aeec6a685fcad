"""Understands the header of a storefront's sample: which column is which field of ours, and how surely.

By the words of the headings first, then by what the cells look like, then by what else there is. A heading of unknown
words is no field, whatever stands below it; below SURE nothing is filled in. The order of the columns plays no part.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from listkit.fields import FIELDS
from listkit.learn.candidates import DOUBT, FLOOR, SURE, Candidate
from listkit.learn.feed_context import FeedColumn, in_context
from listkit.learn.feed_heading import Heading, heading_of, members_of
from listkit.learn.feed_values import TELLING, feed_verdict, field_by_cells
from listkit.learn.feed_words import FEED_WORDS
from listkit.learn.hits import WEAK_LESS, WITHIN, Hit, hits
from listkit.learn.values import Cells, Verdict, filled

_TOLD_BY_CELLS: Final = 0.93
_WEAK: Final = round(WITHIN - WEAK_LESS, 2)
"""Words that are used for other things as well; below it stand headings with words that are not known at all."""
_NEAR: Final = 0.1
_LEAST_SECOND: Final = 0.2
_OTHER: Final = "the cells look like something else"
_ONE_ONLY: Final = "there is one of it, and the heading is numbered"
# Never filled in by itself, however plain the heading.
_ASKED_FIRST: Final = {
    "fullCost": "what things cost you is shown only where you say so",
    "kept": "what you keep is shown only where you say so",
    "wholesalePrice": "prices for shops are shown only where you say so",
    "includedTax": "it may be the rate and not the amount",
    "box": "it may be another box than the gift box",
}


@dataclass(frozen=True, slots=True)
class FeedMatch:
    """What one column of a sample is: a field of ours ("image_3") or None, and how surely, from 0 to 1.

    `second` is the next likely field, `reason` why it is doubtful, in words; `unit` is what the heading states.
    """

    heading: Heading
    field: str | None
    confidence: float
    second: str | None
    reason: str
    unit: str = ""

    @property
    def sure(self) -> bool:
        """Whether it may be filled in without asking."""
        return self.field is not None and self.confidence >= SURE


def match_feed(headings: Sequence[str], samples: Sequence[Sequence[str]] = ()) -> tuple[FeedMatch, ...]:
    """Return what each column is, in their order.

    Args:
        headings: the header row, "" where nothing stands.
        samples: some rows below it; short rows are as if filled up with nothing.
    """
    rows = [tuple(row[at].strip() if at < len(row) else "" for row in samples) for at in range(len(headings))]
    parts = tuple(map(heading_of, headings))
    together: dict[str, list[str]] = defaultdict(list)  # the cells of a family, whose members are alike
    for part, cells in zip(parts, rows, strict=True):
        together[part.family] += filled(cells)
    columns = [_column(part, tuple(together[part.family]), cells) for part, cells in zip(parts, rows, strict=True)]
    members = members_of(parts)
    return tuple(_match(column, member) for column, member in zip(in_context(columns), members, strict=True))


def _column(heading: Heading, cells: Cells, rows: Cells) -> FeedColumn:
    """Return what one column may be by its words and cells, the likeliest first."""
    own = heading.numbered.plain
    if own in FIELDS:
        against = feed_verdict(own, cells) is Verdict.AGAINST
        candidate = Candidate(own, 0.5 if against else 1.0, "", _OTHER if against else "")
        return FeedColumn(heading, cells, rows, (candidate,))
    found = hits(heading.numbered.plain, FEED_WORDS)
    best: dict[str, Candidate] = {}
    for candidate in (_by_heading(hit, cells) for hit in found if hit.meaning.feed):
        if candidate.field not in best or candidate.score > best[candidate.field].score:
            best[candidate.field] = candidate
    other = next((hit for hit in found if not hit.meaning.feed), None)
    candidates = sorted(best.values(), key=lambda one: (-one.score, one.field))
    if other and candidates and other.score >= candidates[0].score - _NEAR:
        why = f"it may be the {other.meaning.name}, of which a set has none"
        candidates = [Candidate(one.field, min(one.score, 0.7), one.unit, why) for one in candidates]
    known = other.meaning.name if other and (not candidates or other.score > candidates[0].score) else ""
    return FeedColumn(heading, cells, rows, tuple(candidates), known)


def _by_heading(hit: Hit, cells: Cells) -> Candidate:
    field = hit.meaning.feed
    says = feed_verdict(field, cells)
    if says is Verdict.AGAINST:
        return Candidate(field, hit.score / 2, hit.unit, _OTHER)
    if _WEAK <= hit.score < SURE and says is Verdict.TELLING and field in TELLING:
        return Candidate(field, max(_TOLD_BY_CELLS, hit.score), hit.unit, "the cells tell")
    return Candidate(field, hit.score, hit.unit, hit.why)


def _match(column: FeedColumn, member: int | None) -> FeedMatch:
    if not column.candidates or column.candidates[0].score < FLOOR or column.known:
        return _unknown(column)
    first, *others = column.candidates
    score, why = first.score, first.why
    second = others[0] if others and others[0].score >= _LEAST_SECOND else None
    if second and second.score > score - _NEAR and score < 1:
        score, why = min(score, DOUBT), f"it may be the {second.field} as well"
    if first.field in _ASKED_FIRST:
        score, why = min(score, DOUBT), _ASKED_FIRST[first.field]
    field, many = first.field, FIELDS[first.field].many
    if member is not None and many:
        field = f"{field}_{member}"
    elif member is not None and column.heading.numbered.number is not None:
        score, why = min(score, DOUBT), _ONE_ONLY
    return FeedMatch(column.heading, field, round(score, 2), second.field if second else None, why, first.unit)


def _unknown(column: FeedColumn) -> FeedMatch:
    """Return a column that is no field; what its cells look like, or its words might mean, is only mentioned."""
    guess = column.candidates[0].field if column.candidates else field_by_cells(column.cells)
    if column.known:
        why = f"it is the {column.known}, of which a set has none"
    elif column.candidates:
        why = column.candidates[0].why
    else:
        why = "no word of it is known" if column.heading.text.strip() else "it has no heading"
    return FeedMatch(column.heading, None, 0.0, guess or None, why)
