"""What each column may be by its heading and its cells alone, in a sheet or a sample; `beside` compares the columns.

Heading and cells are heard alike: where they say the same, a doubtful word becomes sure; where they disagree, neither
is. A heading that says nothing leaves the column to its cells, which are never sure alone in a sample.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from listkit.fields import FIELDS
from listkit.learn.cell_shapes import amount, has_markup, is_answer, is_day, is_plain_code, is_price, kind_of
from listkit.learn.folding import HEIGHTS, SIDES, words_of
from listkit.learn.heading import Heading
from listkit.learn.hits import SPOILT, WEAK_LESS, WITHIN, Hit, hits
from listkit.learn.values import (
    LONG_TEXT,
    SAMPLE_RULES,
    SHEET_RULES,
    Cells,
    Rules,
    Verdict,
    filled,
    lacks_unit,
    most,
    telling,
    verdict,
)
from listkit.learn.words import FEEDS, ITEMS, Vocabulary

SURE: Final = 0.9
DOUBT: Final = 0.85
"""The most that a doubtful one is worth."""
FLOOR: Final = 0.5
_SETTLED: Final = 0.19  # what cells add to a doubtful word; a word among strangers stays doubtful
_LETTERS: Final = re.compile("[a-z](x[a-z]){1,2}")
_GTINS: Final = 3  # one wrong number in ten has a right check digit
WEAK: Final = round(WITHIN - WEAK_LESS, 2)
"""Words that are used for other things as well; below it are headings with words that are not known at all."""
OTHERWISE: Final = "the cells look like something else"
BY_CELLS: Final = "by its cells"


@dataclass(frozen=True, slots=True)
class Purpose:
    """What columns are judged for: a sheet's, whose fields items have, or a sample's, whose fields FIELDS are.

    `telling` are fields whose cells have a shape of their own, so that they settle what a word leaves open; `told` is
    how surely it is then. `by_cells` are fields that cells speak of under a heading that says nothing, and how surely.
    `asked` are meanings that are never filled in unasked, and why.
    """

    vocabulary: Vocabulary
    rules: Rules
    telling: frozenset[str]
    told: float
    by_cells: tuple[tuple[str, float], ...]
    asked: tuple[tuple[str, str], ...] = ()

    @property
    def of_samples(self) -> bool:
        """Whether columns are a sample's: our own fields' names count there, and nobody looks at a wrong guess."""
        return self.vocabulary.where == "sample"


SHEETS: Final = Purpose(
    vocabulary=ITEMS,
    rules=SHEET_RULES,
    telling=frozenset(
        {"code", "form", "net", "container", "size", "shelf life", "status", "shape", "ingredients", "gtin", "tax"}
    ),
    told=0.95,
    by_cells=(("gtin", 0.95), ("ingredients", 0.92), ("size", 0.7), ("code", 0.6), ("net", 0.55)),
    asked=(("tax", "it may be a tax that is added to the price and not one that is in it"),),
)


def _text(cells: Cells) -> Verdict:
    """A long text, or one with marks of HTML: what else stands in most of a sample's cells is short."""
    long = most(cells, lambda cell: " " in cell) and sum(map(len, cells)) >= LONG_TEXT * len(cells)
    return Verdict.TELLING if long or most(cells, has_markup) else Verdict.AGAINST


_CELLS_ALONE: Final[Rules] = {
    **SAMPLE_RULES,
    "description": _text,
    "price": telling(is_price),
    "weight": telling(lambda cell: kind_of(cell) == "mass"),
    "inStock": telling(lambda cell: is_answer(cell) and len(cell) > 1),
    "availabilityStarts": telling(is_day),
    "sku": lambda cells: verdict("sku", cells, SAMPLE_RULES) if most(cells, is_plain_code) else Verdict.AGAINST,
}
"""What cells must look like to speak for a field with no word of a heading beside them."""
SAMPLES: Final = Purpose(
    vocabulary=FEEDS,
    rules=SAMPLE_RULES,
    telling=frozenset(
        {
            *("gtin", "image", "url", "priceCurrency", "availability", "inventoryLevel", "inStock", "sku"),
            *("ingredients", "inProductGroupWithID", "priceValidUntil", "availabilityStarts", "availabilityEnds"),
            "pricePerMeasure",
        }
    ),
    told=0.93,
    by_cells=(
        *(("gtin", 0.8), ("image", 0.8), ("url", 0.8), ("priceCurrency", 0.8), ("ingredients", 0.8)),
        *(("availability", 0.75), ("description", 0.75), ("price", 0.6), ("weight", 0.6), ("inStock", 0.6)),
        *(("availabilityStarts", 0.55), ("sku", 0.55)),
    ),
    asked=(
        ("cost", "what things cost you is shown only where you say so"),
        ("kept", "what you keep is shown only where you say so"),
        ("wholesale", "prices for shops are shown only where you say so"),
        ("tax", "it may be the rate and not the amount"),
        ("box", "it may be another box than the gift box"),
        ("live", "it may be whether it is shown there, and not whether it can be bought"),
    ),
)
SECOND: Final = {"availabilityStarts": "availabilityEnds", "weight": "parcelWeight", "availability": "inStock",
                  "inStock": "availability", "sku": "inProductGroupWithID", "description": "plainDescription",
                  "price": "suggestedRetail", "url": "image", "image": "url", "gtin": "sku"}  # fmt: skip
"""What else cells of that look may be."""
_PLAIN_TEXTS: Final = frozenset({"description", "contents", "cautions", "ingredients", "keywords", "netContents"})
_ALIKE: Final[dict[str, frozenset[str]]] = {
    "description": _PLAIN_TEXTS | {"plainDescription", "alt", "theme"},
    "ingredients": _PLAIN_TEXTS,
    "availability": frozenset({"inStock", "status"}),
}
"""Fields that may well have cells of another's look."""
_DENIED: Final = 0.6
"""The most that cells are worth against a heading that surely means what we have no field for."""
_LOUD: Final = 0.75
"""From here on cells speak up against a heading that says something else."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A field that a column may fill, how surely, the unit, and why in words."""

    field: str
    score: float
    unit: str = ""
    why: str = ""


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its heading, the filled cells of its family, its own in the order of the rows, and what it may be.

    `candidates` are the likeliest first; `known` names what the heading means where we have no field for it.
    """

    heading: Heading
    cells: Cells
    rows: Cells
    candidates: tuple[Candidate, ...]
    known: str = ""

    @property
    def field(self) -> str:
        """The likeliest field, "" where there is none."""
        return self.candidates[0].field if self.candidates and self.candidates[0].score >= FLOOR else ""

    @property
    def sure(self) -> bool:
        """Whether heading and cells leave no doubt."""
        return bool(self.field) and self.candidates[0].score >= SURE

    def score(self, field: str) -> float:
        """Return how surely it is this field, 0 when it is not."""
        return next((one.score for one in self.candidates if one.field == field), 0.0)

    def become(self, field: str, score: float, why: str) -> "Column":
        """Return the column as surely another field."""
        unit = self.candidates[0].unit if self.candidates else ""
        most_for_others = round(score - 0.2, 2)  # what it would else have been is a second thought
        others = tuple(
            replace(one, score=min(one.score, most_for_others)) for one in self.candidates if one.field != field
        )
        return replace(self, candidates=(Candidate(field, score, unit, why), *others), known="")

    def doubted(self, why: str) -> "Column":
        """Return the column with its likeliest field no longer sure."""
        first, *others = self.candidates
        return replace(self, candidates=(replace(first, score=min(first.score, DOUBT), why=why), *others))


def column(heading: Heading, rows: Cells, purpose: Purpose, cells: Cells | None = None) -> Column:
    """Return what one column may be by itself, the likeliest first; `cells` are its family's, where it has one."""
    cells = filled(rows) if cells is None else cells
    plain = heading.numbered.plain
    if purpose.of_samples and plain in FIELDS:
        against = verdict(plain, cells, purpose.rules) is Verdict.AGAINST
        return Column(heading, cells, rows, (Candidate(plain, 0.5 if against else 1.0, "", OTHERWISE * against),))
    found = hits(plain, purpose.vocabulary)
    candidates = _by_heading(found, cells, purpose)
    nothing = next((hit for hit in found if not purpose.vocabulary.field(hit.meaning)), None)
    if nothing and candidates and _is_likelier(nothing, found, candidates, purpose):
        candidates = [_less(candidate, nothing) for candidate in candidates]
    candidates = [_height_first(plain, _without_unit(candidate, cells, purpose)) for candidate in candidates]
    if nothing is None or nothing.score < SURE:
        candidates = _heard(found, candidates, _by_cells(plain, cells, purpose))
    elif not candidates:
        loud = (candidate for candidate in _by_cells(plain, cells, purpose) if candidate.score >= SURE)
        candidates = [replace(candidate, score=_DENIED, why=OTHERWISE) for candidate in loud]
    ordered = sorted(candidates, key=lambda candidate: (-candidate.score, candidate.field))
    return Column(heading, cells, rows, tuple(ordered), nothing.meaning.name if nothing else "")


def _by_heading(named: Sequence[Hit], cells: Cells, purpose: Purpose) -> list[Candidate]:
    """Return the fields that a heading names, weighed by the cells; each field once."""
    best: dict[str, Candidate] = {}
    for hit in named:
        if not purpose.vocabulary.field(hit.meaning):
            continue
        candidate = _weighed(hit, cells, purpose)
        if candidate.field not in best or candidate.score > best[candidate.field].score:
            best[candidate.field] = candidate
    return sorted(best.values(), key=lambda candidate: (-candidate.score, candidate.field))


def _weighed(hit: Hit, cells: Cells, purpose: Purpose) -> Candidate:
    """Return the field of a hit in view of the cells: halved where they deny it, sure where they settle it."""
    field, why = purpose.vocabulary.field(hit.meaning), dict(purpose.asked).get(hit.meaning.name)
    says = verdict(field, cells, purpose.rules)
    if says is Verdict.AGAINST:
        return Candidate(field, hit.score / 2, hit.unit, OTHERWISE)
    if why:
        return Candidate(field, min(hit.score, DOUBT), hit.unit, why)
    weak = (WEAK if purpose.of_samples else FLOOR) <= hit.score < SURE
    if weak and says is Verdict.TELLING and field in purpose.telling:
        return Candidate(field, _told(hit, purpose), hit.unit, "the cells tell")
    return Candidate(field, hit.score, hit.unit, hit.why)


def _told(hit: Hit, purpose: Purpose) -> float:
    """Return how sure a doubtful word is that the cells settle; in sheets fields compete, and stronger words win."""
    return purpose.told if purpose.of_samples else min(purpose.told, round(hit.score + _SETTLED, 2))


def _is_likelier(nothing: Hit, named: Sequence[Hit], candidates: list[Candidate], purpose: Purpose) -> bool:
    """Whether what we have no field for is likelier; in a sample, where nobody would notice, also as likely."""
    if purpose.of_samples:
        return nothing.score >= candidates[0].score
    return all(nothing.score > hit.score for hit in named if purpose.vocabulary.field(hit.meaning))


def _less(candidate: Candidate, likelier: Hit) -> Candidate:
    """Lower a candidate in a column whose heading more likely means something that we have no field for."""
    if candidate.score >= SURE and candidate.score > likelier.score:
        return candidate
    why = f"it is more likely the {likelier.meaning.name}"
    return replace(candidate, score=round(min(candidate.score, DOUBT) - 0.15, 2), why=why)


def _by_cells(heading: str, cells: Cells, purpose: Purpose) -> list[Candidate]:
    """Return what a column is by its cells alone, the surest first; without a heading it cannot be named."""
    named = bool(heading.strip())
    rules = _CELLS_ALONE if purpose.of_samples else purpose.rules
    found = []
    for field, score in purpose.by_cells:
        enough = len(cells) >= (_GTINS if field == "gtin" and not purpose.of_samples else 1 + purpose.of_samples)
        if enough and verdict(field, cells, rules) is Verdict.TELLING:
            why = BY_CELLS if named else "it has no heading"
            found.append(Candidate(field, score if named else min(score, 0.6), "", why))
    return found


def _heard(named: Sequence[Hit], by_heading: list[Candidate], by_cells: list[Candidate]) -> list[Candidate]:
    """Return what heading and cells say together: neither is sure where they disagree."""
    if not by_cells:
        return by_heading
    best = by_heading[0] if by_heading else None
    loud = by_cells[0]
    if best is None or best.score < FLOOR or best.why == OTHERWISE:
        return [*_by_cells_alone(named, by_heading, by_cells), *by_heading]
    said = {candidate.field for candidate in by_heading}
    if loud.score < _LOUD or loud.field in said or best.field in _ALIKE.get(loud.field, ()) or best.score >= 1:
        return by_heading
    why = "the cells look like something else as well"
    capped = [replace(one, score=min(one.score, DOUBT), why=why if one is best else one.why) for one in by_heading]
    return [*capped, replace(loud, score=min(loud.score, 0.6))]


def _by_cells_alone(named: Sequence[Hit], by_heading: list[Candidate], by_cells: list[Candidate]) -> list[Candidate]:
    """Return what the cells say where the heading names nothing that fits them; less surely where it says otherwise."""
    if not named:
        return by_cells
    denied = any(candidate.why == OTHERWISE for candidate in by_heading)
    why = OTHERWISE if denied else "another word in it changes the meaning"
    taken = {candidate.field for candidate in by_heading}
    spoilt = any(hit.score <= SPOILT for hit in named)
    most_sure = 0.55 if denied or spoilt else 0.7
    return [replace(one, score=min(one.score, most_sure), why=why) for one in by_cells if one.field not in taken]


def _without_unit(candidate: Candidate, cells: Cells, purpose: Purpose) -> Candidate:
    """Lower a candidate that needs a unit where neither heading nor cells have one."""
    if purpose.of_samples or candidate.unit or candidate.score < FLOOR or not lacks_unit(candidate.field, cells):
        return candidate
    score = candidate.score - 0.1 if candidate.score < SURE else DOUBT
    return replace(candidate, score=score, unit="", why="the numbers have no unit")


def _height_first(heading: str, candidate: Candidate) -> Candidate:
    """Lower a size whose heading names the height before another side: we read length, width, height."""
    words = [part for word in words_of(heading) for part in (word.split("x") if _LETTERS.fullmatch(word) else [word])]
    named = [word for word in words if word in SIDES]
    if candidate.field != "size" or len(named) < 2 or HEIGHTS.isdisjoint(named[:-1]):
        return candidate
    return replace(candidate, score=min(candidate.score, DOUBT), why="the height does not stand last")


def times_dearer(dividend: Column, divisor: Column, *, least: int = 3) -> tuple[float, ...]:
    """Return for each row how many times one column's amount is another's, ascending; () with fewer than `least`."""
    pairs = [
        (above, below)
        for left, right in zip(dividend.rows, divisor.rows, strict=False)
        if (above := amount(left)) is not None and (below := amount(right))
    ]
    return tuple(sorted(above / below for above, below in pairs)) if len(pairs) >= least else ()
