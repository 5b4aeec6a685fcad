"""What headings mean by their words alone."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.learn.hits import AMONG, EXACT, OWN, SPOILT, WITHIN, hits


@pytest.mark.parametrize(
    ("heading", "meaning", "score"),
    [
        ("weight (g)", "weight", OWN),
        ("Gewicht", "weight", EXACT),
        ("Verkaufspreis inkl. MwSt.", "retail", WITHIN),
        ("Cost per bar", "cost", WITHIN),
        ("Weight with string", "weight", AMONG),
        ("Supplier code", "code", SPOILT),
        ("Old price", "retail", 0.1),
        ("Minimum stock", "on hand", SPOILT),
        ("Case weight", "weight", SPOILT),
        ("Wieght (g)", "weight", AMONG),
    ],
)
def test_a_heading_is_as_sure_as_its_words(heading: str, meaning: str, score: float) -> None:
    found = {hit.meaning.name: hit.score for hit in hits(heading)}
    assert found[meaning] == pytest.approx(score)


def test_a_longer_phrase_hides_the_shorter_one_within_it() -> None:
    assert [hit.meaning.name for hit in hits("Net weight")] == ["net"]
    assert [hit.meaning.name for hit in hits("Wholesale price")] == ["wholesale"]


def test_a_unit_of_another_kind_speaks_against_a_meaning() -> None:
    assert [(hit.meaning.name, hit.score) for hit in hits("Size (ml)")] == [("net", 0.77), ("size", SPOILT)]
    assert hits("Size (mm)")[0].meaning.name == "size"
    assert hits("Size (mm)")[0].unit == "mm"


def test_a_word_with_several_uses_is_never_sure() -> None:
    headings = ("Price", "Type", "Qty", "Art", "Menge", "Cantidad")
    assert all(hit.score < 0.9 for heading in headings for hit in hits(heading))


@given(st.text(max_size=200))
def test_any_heading_has_meanings_in_order_with_scores_between_0_and_1(heading: str) -> None:
    scores = [hit.score for hit in hits(heading)]
    assert scores == sorted(scores, reverse=True)
    assert all(0 <= score <= 1 for score in scores)
