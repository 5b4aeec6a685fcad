"""Checks of words on small shops.

What is asked for is common practice, no source.
"""

from typing import Any

import pytest

from tests.check.found import found, run, told
from tests.listing.shops import ITEMS, folder, listed
from tests.listing.shops import channel as on_web
from tests.listing.shops import shop as listing_shop
from tests.small_shop import gift_set, item, shop

BAR = {"item": "A-1"}


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("bath gift", "bath gifts"),
        ("body butter", "bodybutter"),
        ("berry soap", "berries soap"),
        ("gift box", "gift boxes"),
        ("colour therapy", "color therapy"),
        ("Fête gift", "fete gift"),
        ("beekeeper gift", "beekeper gift"),
        ("herbs & honey", "herbs and honey"),
    ],
)
def test_plurals_and_spellings_of_one_keyword_are_twins(one: str, other: str) -> None:
    of = shop([item("A-1")], [gift_set([BAR], keywords=["winter", one, other])])
    assert told("keyword-twins", of) == [
        f'Look at · sets/set-1/set.toml: "{other}" and "{one}" are the same to those who look for them. '
        "Take one out, and write another."
    ]
    assert found("keyword-twins", of)[0].place.key == ("keywords", 2)


@pytest.mark.parametrize(
    "keywords",
    [["mini gift", "mini gift set"], ["soap", "soup"], ["gift for dad", "gift for mum"], ["2024 set", "2025 set"]],
)
def test_other_keywords_are_no_twins(keywords: list[str]) -> None:
    assert found("keyword-twins", shop([item("A-1")], [gift_set([BAR], keywords=keywords)])) == []


def test_a_mini_that_nothing_calls_one_is_told_once_with_its_sets() -> None:
    items = [item("A-1"), item("A-2", form="scrub", larger="A-1"), item("A-3", form="mini scrub", larger="A-1")]
    jar = {"slot": "Jar", "choose": ["A-2", "A-3"]}
    sets = [gift_set([jar], name="Dawn"), gift_set([{"item": "A-2"}], code="SET-2", name="Dusk")]
    assert told("mini-not-named", shop(items, sets)) == [
        "Look at · items.csv, row A-2, column form: A-2 is the mini of A-1; no name, form, choice or story says so in "
        'Dawn and Dusk. Write it in its form, as in "mini scrub", or in says = "...".'
    ]


@pytest.mark.parametrize(
    ("row", "slot", "story"),
    [({"container": "travel tin"}, "Jar", ""), ({}, "Mini jar", ""), ({}, "Jar", "With a little scrub for the road.")],
)
def test_a_mini_may_be_called_one_by_what_it_comes_in_by_the_slot_or_in_the_story(
    row: dict[str, str], slot: str, story: str
) -> None:
    items = [item("A-1"), item("A-2", form="scrub", larger="A-1", **row)]
    made = shop(items, [gift_set([{"slot": slot, "choose": ["A-1", "A-2"]}])], stories={"SET-1": story})
    assert found("mini-not-named", made) == []


@pytest.mark.parametrize("says", ["Travel scrub", "a little scrub", "Mini-scrub", "Petite scrub"])
def test_a_mini_may_be_called_one_where_it_is_chosen(says: str) -> None:
    items = [item("A-1"), item("A-2", form="scrub", larger="A-1")]
    jar = {"slot": "Jar", "choose": ["A-1", {"item": "A-2", "says": says}]}
    assert found("mini-not-named", shop(items, [gift_set([jar])])) == []


def test_a_story_that_says_one_price_as_two_is_told_once_and_not_where_it_asks() -> None:
    def said(story: str, **changes: Any) -> list[str]:
        items = [each | changes if each["code"] == "HH-U1" else each for each in ITEMS]
        made = listing_shop(folder(story=story), items=items, channels=[on_web(), on_web("fair", name="Fair")])
        return [problem.message for problem in run("range-of-one", listed(made))]

    ranged = "From {{ cheapest | in_currency }} to {{ dearest | in_currency }}."
    assert said(ranged) == []
    assert said(ranged, on_hand=0) == [
        "£27.00 is its lowest and its highest price on Web shop and Fair, and the story says both."
    ]
    assert said("From {{cheapest}} to {{  dearest | in_currency}}.", on_hand=0) == said(ranged, on_hand=0)
    assert said("From {{ cheapest | in_currency }}, {{ prices }}.", on_hand=0) == []
    assert said("{% if cheapest != dearest %}" + ranged + "{% endif %}", on_hand=0) == []
