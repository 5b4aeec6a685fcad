"""Samples of invented places, a column a line: heading, what it is, cells. `built_on` was looked at, `kept_back` not.

"a/b" says that either is right, "-" that a set has no such thing. `python -m tests.learn.corpus` prints the figures.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from listkit.learn.feed_header import FeedMatch, match_feed

HERE: Final = Path(__file__).parent / "unseen"
HALVES: Final = ("built_on", "kept_back")


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


def scored(sample: Unseen) -> Score:
    """Return how a sample is understood: right is a first guess that is right, or nothing filled in where nothing is."""
    matches = match_feed(sample.headings, sample.rows)
    pairs = list(zip(matches, sample.truth, strict=True))
    return Score(
        len(pairs),
        sum(_right(match, truth) for match, truth in pairs),
        sum(match.sure for match in matches),
        tuple(match.heading.text for match, truth in pairs if match.sure and match.field not in truth),
    )


def _right(match: FeedMatch, truth: frozenset[str]) -> bool:
    return match.field in truth if truth else not match.sure


if __name__ == "__main__":
    import sys

    for half in sys.argv[1:] or HALVES:
        scores = [(sample.name, scored(sample)) for sample in samples(half)]
        total = sum(score.columns for _, score in scores)
        print(f"{half}: {total} columns in {len(scores)} samples;", end=" ")
        print(f"right {sum(score.right for _, score in scores) / total:.1%},", end=" ")
        print(f"filled in {sum(score.filled_in for _, score in scores) / total:.1%},", end=" ")
        print(f"wrong and sure {[(name, score.wrong) for name, score in scores if score.wrong]},", end=" ")
        print(f"lowest {min((score.share, name) for name, score in scores)}")
        if half == "built_on":
            for sample in samples(half):
                print("  ", sample.name, f"{scored(sample).share:.0%}")
                matches = match_feed(sample.headings, sample.rows)
                for match, truth in zip(matches, sample.truth, strict=True):
                    if not _right(match, truth) or (truth and not match.sure):
                        mark = "  " if _right(match, truth) else "XX"
                        print("    ", mark, match.heading.text, "|", "/".join(sorted(truth)), "|", match.field,
                              match.confidence, "|", match.second, "|", match.reason)
