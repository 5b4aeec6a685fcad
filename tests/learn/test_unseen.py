"""Samples of invented places in five languages, one half looked at while the words were gathered, the other kept back.

The aim for both: nine in ten columns understood, none filled in wrongly, no sample under seven in ten.
"""

import pytest

from listkit.learn.matching import match_feed, match_items
from tests.learn.corpus import (
    FRESH,
    FRESH_LAST,
    HALVES,
    LAST,
    MENDED_BY,
    OWN_SHEETS,
    PLAIN,
    PLAIN_KEPT_BACK,
    TRADE,
    TRADE_SHEETS,
    Unseen,
    matched,
    samples,
    scored,
)

HALVES_OF_ALL = (*HALVES, LAST, *FRESH, FRESH_LAST, MENDED_BY[0], PLAIN[0], PLAIN_KEPT_BACK[0], *TRADE)
ALL = [sample for half in HALVES_OF_ALL for sample in samples(half)]
LATE = list(samples(LAST))
IDS = [sample.name for sample in ALL]


@pytest.mark.parametrize("half", [*HALVES, *FRESH, PLAIN[0], *TRADE])
def test_nine_in_ten_columns_of_either_half_are_understood(half: str) -> None:
    scores = [scored(sample) for sample in samples(half)]
    assert sum(score.right for score in scores) >= 0.9 * sum(score.columns for score in scores)


@pytest.mark.parametrize("sample", ALL, ids=IDS)
def test_nothing_is_filled_in_wrongly_and_most_of_every_sample_is_understood(sample: Unseen) -> None:
    score = scored(sample)
    assert score.wrong == ()
    assert score.share >= 0.6 if sample in LATE else score.share >= 0.7


@pytest.mark.parametrize("sample", ALL, ids=IDS)
def test_nor_is_anything_without_example_rows_or_with_one(sample: Unseen) -> None:
    for rows in ((), sample.rows[:1]):
        for match, truth in zip(match_feed(sample.headings, rows), sample.truth, strict=True):
            assert not match.sure or match.field in truth, match


@pytest.mark.parametrize("sample", ALL, ids=IDS)
def test_whatever_is_not_sure_says_why(sample: Unseen) -> None:
    assert all(match.sure or match.reason for match in match_feed(sample.headings, sample.rows))


@pytest.mark.parametrize("sample", ALL, ids=IDS)
def test_the_order_of_the_columns_plays_no_part(sample: Unseen) -> None:
    plain = match_feed(sample.headings, sample.rows)
    turned = match_feed(sample.headings[::-1], [row[::-1] for row in sample.rows])
    assert turned[::-1] == plain


def test_nearly_nine_in_ten_columns_are_understood_of_samples_that_were_never_read() -> None:
    scores = [scored(sample) for sample in samples(PLAIN_KEPT_BACK[0])]
    assert sum(score.right for score in scores) >= 0.89 * sum(score.columns for score in scores)


SHEETS = [sheet for half in (OWN_SHEETS, MENDED_BY[1], PLAIN[1], PLAIN_KEPT_BACK[1]) for sheet in samples(half)]


@pytest.mark.parametrize("sheet", SHEETS, ids=[sheet.name for sheet in SHEETS])
def test_so_it_is_with_owners_sheets_in_words_as_people_speak(sheet: Unseen) -> None:
    assert scored(sheet, sheet=True).share >= 0.9
    for rows in ((), sheet.rows[:1], sheet.rows):
        for match, truth in zip(matched(sheet, rows, sheet=True), sheet.truth, strict=True):
            assert not match.sure or match.field in truth, match
            assert match.sure or match.reason, match


NOT_WHAT_THEY_SEEM = (
    ("Customer name", ("Ann Reed", "Bo Sedge", "Cy Moss")),
    ("Date de mise à jour", ("01/03/2027", "02/03/2027", "04/03/2027")),
    ("Label size", ("50 x 30 x 1 mm", "50 x 30 x 1 mm", "60 x 30 x 1 mm")),
    ("Mould size", ("80 x 55 x 25 mm", "80 x 55 x 25 mm", "85 x 55 x 28 mm")),
    ("Net", ("20.00", "21.00", "22.50")),
    ("Prix pro", ("3,25", "3,25", "4,50")),
    ("Age", ("6 weeks", "7 weeks", "6 weeks")),
    ("Foam", ("good", "good", "fair")),
    ("To make", ("20", "30", "10")),
    ("Tipologia cliente", ("A", "B", "A")),
    ("VAT", ("1.10", "1.20", "1.40")),
)


@pytest.mark.parametrize(("heading", "cells"), NOT_WHAT_THEY_SEEM)
def test_a_column_that_is_not_what_it_seems_is_never_filled_in(heading: str, cells: tuple[str, ...]) -> None:
    rows = [
        (f"A-{at}", name, cell) for at, (name, cell) in enumerate(zip(("Mill", "Weir", "Sluice"), cells, strict=True))
    ]
    for match in (match_feed, match_items):
        assert not match(("SKU", "Product title", heading), rows)[2].sure


@pytest.mark.parametrize("half", TRADE_SHEETS)
def test_nine_in_ten_columns_of_sheets_in_words_of_the_trade_are_understood(half: str) -> None:
    scores = [scored(sheet, sheet=True) for sheet in samples(half)]
    assert sum(score.right for score in scores) >= 0.89 * sum(score.columns for score in scores)
    assert all(score.wrong == () and score.share >= 0.7 for score in scores)
