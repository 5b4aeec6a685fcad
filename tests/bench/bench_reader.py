"""How samples of invented places are understood, in figures; `python -m tests.bench.bench_reader`.

The half that was looked at is shown column by column, the half kept back by its figures alone.
"""

from listkit.learn.matching import match_feed
from tests.learn.corpus import (
    FRESH,
    FRESH_LAST,
    HALVES,
    LAST,
    OWN_SHEETS,
    TRADE,
    TRADE_SHEETS,
    is_right,
    samples,
    scored,
)


def show_figures(half: str) -> None:
    """Print what share is right, filled in unasked and filled in wrongly, and the sample understood least."""
    scores = [(sample.name, scored(sample, sheet="sheets" in half)) for sample in samples(half)]
    total = sum(score.columns for _, score in scores)
    right = sum(score.right for _, score in scores) / total
    filled_in = sum(score.filled_in for _, score in scores) / total
    share, name = min((score.share, name) for name, score in scores)
    wrong = [heading for _, score in scores for heading in score.wrong]
    print(f"{half}: {total} columns of {len(scores)} samples: right {right:.1%}, filled in {filled_in:.1%}")
    print(f"  filled in wrongly: {wrong or 'none'}; least understood: {name}, {share:.0%}")


def show_columns(half: str) -> None:
    """Print every column that is not rightly filled in."""
    for sample in samples(half):
        print(" ", sample.name)
        for match, truth in zip(match_feed(sample.headings, sample.rows), sample.truth, strict=True):
            if truth and not (match.sure and is_right(match, truth)):
                mark = "asked" if is_right(match, truth) else "WRONG"
                words = (match.field, match.confidence, match.second, match.reason)
                print("   ", mark, match.heading.text, sorted(truth), *words)


if __name__ == "__main__":
    show_columns(HALVES[0])
    for half in (*HALVES, LAST, *FRESH, FRESH_LAST, OWN_SHEETS, *TRADE, *TRADE_SHEETS):
        show_figures(half)
