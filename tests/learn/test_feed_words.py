"""The words of feeds."""

from collections import defaultdict

from listkit.fields import FIELDS
from listkit.learn.feed_words import FEED_MEANINGS
from listkit.learn.folding import words_of


def test_every_meaning_is_of_a_field_of_ours_or_of_none() -> None:
    assert {meaning.feed for meaning in FEED_MEANINGS} - {""} <= FIELDS.keys()
    assert {meaning.item for meaning in FEED_MEANINGS} == {""}


def test_no_sure_word_means_two_things() -> None:
    sure: dict[tuple[str, ...], set[str]] = defaultdict(set)
    for meaning in FEED_MEANINGS:
        for word in meaning.words:
            sure[words_of(word)].add(meaning.feed or meaning.name)
    assert {words: fields for words, fields in sure.items() if len(fields) > 1} == {}


def test_a_word_that_is_doubtful_for_one_field_is_not_sure_for_it_as_well() -> None:
    for meaning in (one for one in FEED_MEANINGS if one.feed):
        assert not set(map(words_of, meaning.words)) & set(map(words_of, meaning.weak)), meaning.name
