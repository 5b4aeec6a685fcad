"""Rules of single columns: what a channel requires, how long a cell may be, which values it takes.

One pass over the rows for all rules. Each rule is told once, with the first row that breaks it and how many more do.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from functools import partial
from typing import Final

from listkit.check.alike import counted, listed
from listkit.check.rows import row_name
from listkit.listing.columns import FeedColumn
from listkit.listing.feed_files import FeedFile
from listkit.listing.listings import Listing
from listkit.listing.measure import MEASURES, UNIT_WORDS, Measure
from listkit.listing.rows import dialect_cells, feed_sources, rows_from
from listkit.listing.sorting import Rows
from listkit.listing.titles import cut_words
from listkit.model.channel import Column
from listkit.problem import Problem

_MOST_NAMED: Final = 5  # values told of one column
_LONGEST_QUOTE: Final = 100


@dataclass(slots=True)
class _Breaches:
    """How often one rule of one column is broken, the first row and cell, and some of the values."""

    count: int = 0
    number: int = 0
    cell: str = ""
    values: dict[str, None] = field(default_factory=dict)

    def add(self, number: int, cell: str) -> None:
        if not self.count:
            self.number, self.cell = number, cell
        self.count += 1
        if len(self.values) <= _MOST_NAMED:
            self.values.setdefault(cell)


def rule_problems(file: FeedFile, own: tuple[Listing, ...], columns: tuple[FeedColumn, ...]) -> Iterator[Problem]:
    """Yield what breaks the rules of the file's columns; cells are looked at before an apostrophe makes them safe."""
    stated = [(column, file.channel.columns[column.entry]) for column in columns if column.entry >= 0]
    ruled = [(column, rules) for column, rules in stated if rules.required or rules.longest or rules.allowed]
    if not ruled:
        return
    sources = partial(feed_sources, file.channel, own, columns)
    breaches = _breaches(file, sources(), ruled)
    for column, (shown, rules) in enumerate(ruled):
        for key, found in ((key, breaches[column, key]) for key in _KEYS if (column, key) in breaches):
            where = f'column "{shown.heading}", {row_name(found.number, sources())}'
            message, hint = _TOLD[key](_Case(found, rules, file.channel.limits.count))
            others = f" {counted(found.count - 1, 'more row')} {_like(found.count - 1)}." if found.count > 1 else ""
            place = file.column_place(shown.entry, key)
            yield Problem(place, _CODES[key], f"{where}: {message}{others}", hint)


def _like(count: int) -> str:
    return "are like it" if count > 1 else "is like it"


def _breaches(
    file: FeedFile, sources: Iterable[Rows], ruled: list[tuple[FeedColumn, Column]]
) -> dict[tuple[int, str], _Breaches]:
    dialect = file.channel.dialect.model_copy(update={"guard_formulas": False})
    bare = tuple(replace(column, once=False) for column, _ in ruled)
    size = MEASURES[file.channel.limits.count]
    found: dict[tuple[int, str], _Breaches] = {}
    for number, row in enumerate(rows_from(sources, bare, dialect_cells(dialect)), 1):
        for at, (cell, (_, rules)) in enumerate(zip(row, ruled, strict=True)):
            for key in _broken(cell, rules, size):
                found.setdefault((at, key), _Breaches()).add(number, cell)
    return found


def _broken(cell: str, rules: Column, size: Measure) -> Iterator[str]:
    """Yield the keys of the rules that a cell breaks; an empty one only breaks that it is required."""
    if not cell.strip():
        if rules.required:
            yield "required"
        return
    if rules.longest is not None and size(cell) > rules.longest:
        yield "longest"
    if rules.allowed and cell not in rules.allowed:
        yield "allowed"


@dataclass(frozen=True, slots=True)
class _Case:
    found: _Breaches
    rules: Column
    count: str


def _empty(_case: _Case) -> tuple[str, str]:
    hint = 'Fill it in, say what stands there instead with map = { "" = "..." }, or take required out.'
    return "it is empty, and the channel requires it.", hint


def _long(case: _Case) -> tuple[str, str]:
    size, most = MEASURES[case.count], case.rules.longest or 0
    has = size(case.found.cell)
    message = f"it has {counted(has, UNIT_WORDS[case.count])}, {has - most} over {most}."
    shorter = cut_words(case.found.cell, most, size)
    fits = f'Up to "{shorter}" it fits' if len(shorter) <= _LONGEST_QUOTE else f'Up to "… {shorter[-40:]}" it fits'
    inner = case.rules.value.strip().removesuffix("}}").removeprefix("{{").strip()
    plain = case.count == "characters" and "{" not in inner and "%" not in inner and "|" not in inner
    cut = f'; value = "{{{{ {inner} | cut({most}) }}}}" cuts every row.' if plain else "."
    return message, fits + cut


def _not_allowed(case: _Case) -> tuple[str, str]:
    values, allowed = list(case.found.values), case.rules.allowed
    named = listed([f'"{value}"' for value in values[:_MOST_NAMED]])
    more = " and others" if len(values) > _MOST_NAMED else ""
    choice = listed([f'"{one}"' for one in allowed[:_MOST_NAMED]]) + (" ..." if len(allowed) > _MOST_NAMED else "")
    verb = "is" if len(values) == 1 else "are"
    folded = {one.casefold(): one for one in allowed}
    near = get_close_matches(values[0].casefold()[:60], folded, 1) or list(folded)[:1]
    hint = f'Write map = {{ "{values[0]}" = "{folded[near[0]]}" }}, if that is meant, or add it to allowed.'
    return f"{named}{more} {verb} not among what it allows ({choice}).", hint


_KEYS: Final = ("required", "longest", "allowed")
_CODES: Final = {"required": "cell-empty", "longest": "cell-long", "allowed": "cell-not-allowed"}
_TOLD: Final = {"required": _empty, "longest": _long, "allowed": _not_allowed}
