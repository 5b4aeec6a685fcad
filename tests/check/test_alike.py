"""When two texts are the same to a reader.

Folding of case and accents is Unicode's; how near is near is common practice, no source.
"""

from hypothesis import given
from hypothesis import strategies as st

from listkit.check.alike import distance, folded, listed, nearly_same, words_of


def test_case_accents_spaces_and_the_word_and_do_not_tell_texts_apart() -> None:
    assert folded("  Clover  &  Cream ") == folded("clover and CREAM") == folded("Clóver&Cream")
    assert folded("Tilleul & avoine", "fr") == folded("tilleul et avoine", "fr")
    assert folded("Straße") == folded("STRASSE")


def test_known_distances() -> None:
    """Levenshtein's own kind of case, as in Wagner and Fischer, Journal of the ACM 21 (1974): kitten, sitting is 3."""
    assert distance("kitten", "sitting", 3) == 3
    assert distance("kitten", "sitting", 2) == 3
    assert distance("", "ab", 2) == 2
    assert distance("rosemary", "rosmary", 2) == 1


@given(st.text(max_size=12), st.text(max_size=12))
def test_distance_is_symmetric_and_zero_only_for_equals(one: str, other: str) -> None:
    assert distance(one, other, 20) == distance(other, one, 20)
    assert (distance(one, other, 20) == 0) == (one == other)


def test_only_long_words_may_differ_and_never_a_digit() -> None:
    def near(one: str, other: str) -> bool:
        return nearly_same(words_of(one), words_of(other), 2)

    assert near("chamomile soap", "chamomille soap")
    assert not near("rose soap", "rode soap")
    assert not near("honey", "honny")
    assert near("clover", "clovor")
    assert not near("scent2024 bar", "scent2025 bar")
    assert not near("chamomile soap", "chamomile soap")


def test_long_lists_are_cut_and_counted() -> None:
    assert listed([]) == ""
    assert listed(["a"]) == "a"
    assert listed(["a", "b", "c"]) == "a, b and c"
    assert listed(list("abcdefgh")) == "a, b, c, d, e and 3 more"
