"""Samples of invented places, a column a line: heading, what it is, cells.

`built_on` was looked at while the words were gathered, `kept_back` was not; `written_last`, in words that nobody would
look for, was read once when all was done, and what it showed of the rules was mended then. `fresh_built_on` and
`fresh_kept_back` were gathered without the words, from plain trade words, schema.org and GS1, and
parted by a hash of their names; the second was measured when all was done, and what it showed was mended then.
`mended_by` and `mended_by_sheets` were written to see what the rules lack, and what they showed was mended.
`plain_built_on` and `plain_sheets_built_on`, gathered without the words and rules, were read and mended by;
`plain_kept_back` and `plain_sheets_kept_back` are every second of the same, of which the totals alone were looked at.
`trade_built_on` and `trade_sheets_built_on` are six of twelve in words of shops, wholesalers and spreadsheets,
gathered without the words; of the other six, `trade_kept_back` and `trade_sheets_kept_back`, the totals
alone were.
`fresh_last` and `fresh_sheets`, which are owners' own, are as people speak, and were measured before they were read.

"a/b" says that either is right, "-" that a set has no such thing.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from listkit.learn.matching import Match, match_feed, match_items

HERE: Final = Path(__file__).parent / "unseen"
HALVES: Final = ("built_on", "kept_back")
FRESH: Final = ("fresh_built_on", "fresh_kept_back")
LAST: Final = "written_last"
FRESH_LAST: Final = "fresh_last"
OWN_SHEETS: Final = "fresh_sheets"
PLAIN: Final = ("plain_built_on", "plain_sheets_built_on")
PLAIN_KEPT_BACK: Final = ("plain_kept_back", "plain_sheets_kept_back")
TRADE: Final = ("trade_built_on", "trade_kept_back")
TRADE_SHEETS: Final = ("trade_sheets_built_on", "trade_sheets_kept_back")
MENDED_BY: Final = ("mended_by", "mended_by_sheets")


@dataclass(frozen=True, slots=True)
class Unseen:
    """One sample: headings, rows, and for each column the fields that are right; none for what sets do not have."""

    name: str
    headings: tuple[str, ...]
    truth: tuple[frozenset[str], ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Score:
    """How many columns there are, are rightly understood, are filled in unasked, and are filled in wrongly."""

    columns: int
    right: int
    filled_in: int
    wrong: tuple[str, ...]

    @property
    def share(self) -> float:
        """The share understood."""
        return self.right / self.columns


def samples(half: str) -> Iterator[Unseen]:
    """Yield the samples of one half."""
    for block in (HERE / f"{half}.txt").read_text(encoding="utf-8").split("== ")[1:]:
        name, *lines = block.strip().split("\n")
        columns = [[cell.strip() for cell in line.split("|")] for line in lines]
        truth = tuple(frozenset(column[1].split("/")) - {"-"} for column in columns)
        rows = tuple(zip(*(column[2:] for column in columns), strict=True))
        yield Unseen(name, tuple(column[0] for column in columns), truth, rows)


def matched(sample: Unseen, rows: Sequence[tuple[str, ...]], *, sheet: bool = False) -> tuple[Match, ...]:
    """Return what the columns are, of a place's sample or of an owner's sheet."""
    return match_items(sample.headings, rows) if sheet else match_feed(sample.headings, rows)


def scored(sample: Unseen, *, sheet: bool = False) -> Score:
    """Return how a sample is understood; right is a right first guess, or nothing filled in where nothing fits."""
    matches = matched(sample, sample.rows, sheet=sheet)
    pairs = list(zip(matches, sample.truth, strict=True))
    return Score(
        len(pairs),
        sum(is_right(match, truth) for match, truth in pairs),
        sum(match.sure for match in matches),
        tuple(match.heading.text for match, truth in pairs if match.sure and match.field not in truth),
    )


def is_right(match: Match, truth: frozenset[str]) -> bool:
    return match.field in truth if truth else not match.sure
