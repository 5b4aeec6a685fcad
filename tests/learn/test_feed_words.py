"""The words of samples and of sheets: of fields of ours, and without contradictions."""

from collections import defaultdict

import pytest

from listkit.fields import FIELDS
from listkit.learn.words import FEEDS, ITEMS, MEANINGS, Vocabulary


def test_every_meaning_is_of_a_field_of_ours_or_of_none() -> None:
    assert {meaning.feed for meaning in MEANINGS.values()} - {""} <= FIELDS.keys()
    assert {meaning for phrases in FEEDS.by_words.values() for meaning in (one.meaning.name for one in phrases)} <= set(
        MEANINGS
    )


@pytest.mark.parametrize("vocabulary", [FEEDS, ITEMS])
def test_no_sure_word_means_two_things(vocabulary: Vocabulary) -> None:
    sure: dict[tuple[str, ...], set[str]] = defaultdict(set)
    for words, phrases in vocabulary.by_words.items():
        sure[words] |= {vocabulary.field(one.meaning) or one.meaning.name for one in phrases if not one.weak}
    assert {words: fields for words, fields in sure.items() if len(fields) > 1} == {}
