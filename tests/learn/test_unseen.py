"""Samples of invented places in five languages, one half looked at while the words were gathered, the other kept back.

The aim for both: nine in ten columns understood, none filled in wrongly, no sample under seven in ten.
"""

import pytest

from listkit.learn.matching import match_feed
from tests.learn.corpus import FRESH, FRESH_LAST, HALVES, LAST, OWN_SHEETS, Unseen, matched, samples, scored

ALL = [sample for half in (*HALVES, LAST, *FRESH, FRESH_LAST) for sample in samples(half)]
LATE = list(samples(LAST))
IDS = [sample.name for sample in ALL]


@pytest.mark.parametrize("half", HALVES + FRESH)
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


SHEETS = list(samples(OWN_SHEETS))


@pytest.mark.parametrize("sheet", SHEETS, ids=[sheet.name for sheet in SHEETS])
def test_so_it_is_with_owners_sheets_in_words_as_people_speak(sheet: Unseen) -> None:
    assert scored(sheet, sheet=True).share >= 0.9
    for rows in ((), sheet.rows[:1], sheet.rows):
        for match, truth in zip(matched(sheet, rows, sheet=True), sheet.truth, strict=True):
            assert not match.sure or match.field in truth, match
            assert match.sure or match.reason, match
