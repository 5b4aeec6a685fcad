"""Typed sizes, counts and prices against the set; the story has them in prose, as owners write.

What is asked for is common practice, no source.
"""

import pytest

from listkit.model.shop import Shop
from listkit.problem import Problem
from tests.check.found import found
from tests.small_shop import BOX_S, CARD, gift_set, item, settings, shop

ITEMS = [
    item("A-1", name="Rosemary & Rind", net="110 g", weight="119 g", retail="7.50"),
    item("A-2", name="Oat Milk", form="bath sachets", net="4 x 25 g", weight="122 g", size="130 x 90 x 34 mm"),
    item("A-3", name="Clover & Cream", form="body butter", net="100 ml", weight="232 g"),
    item("A-4", name="Ash-wood", form="soap dish", net="118 x 80 mm", size="119 x 81 x 18 mm"),
]
OF_SET = [{"item": one.code} for one in ITEMS]


def told(story: str, of: Shop | None = None, language: str = "en-GB") -> list[Problem]:
    box = {**BOX_S, "outside": "166 x 126 x 74 mm"}
    rules = settings(language=language)
    told_of = of or shop(
        ITEMS, [gift_set(OF_SET)], stories={"SET-1": story}, settings=rules, packaging={"box": [box], "card": CARD}
    )
    return found("text-disagrees", told_of)


@pytest.mark.parametrize(
    "story",
    [
        "A bar of 110 g, cut by hand.",
        "The 110g bar and four sachets of 25 g, 100 g in all.",
        "A jar of 100 ml (3.4 fl oz).",
        "About 3.9 oz of soap.",  # 110 g is 3.880 oz
        "A dish of 118 x 80 mm in a box of 166 × 126 × 74 mm, or 16.6 x 12.6 x 7.4 cm.",
        "The bar alone is £7.50.",
        "All four for £{{ cheapest | in_currency }}",
        "Four pieces, a set of four.",
        "Delivery is free over £50. Choose one of 3 items.",
        "Add 50 g to a warm bath. We make 40 g a day.",
        "Use 5 ml per 10 litres of water, at 37 °C, within 12 months.",
        "We planted 300 herbs in 2019 and 20 m of hedge.",
        "Two pieces of string, one item at a time, from 40 products.",
        "Wash at 10.30 in the morning, 3 times a week.",
        "See https://ottermarl.example/250g/ for more.",
        "Weighs 1.2 kg/m³ of air.",
    ],
)
def test_what_agrees_or_speaks_of_something_else_is_let_pass(story: str) -> None:
    assert told(story) == []


@pytest.mark.parametrize(
    ("story", "words"),
    [
        ("A bar of 105 g.", "105 g"),
        ("A jar of 120ml.", "120ml"),
        ("A 4.1 oz bar.", "4.1 oz"),
        ("A dish of 118 x 90 mm.", "118 x 90 mm"),
        ("Only £27.50, while they last.", "£27.50"),
        ("Nur 27,50 £!", "27,50 £"),
        ("29 GBP the box.", "29 GBP"),
        ("Three pieces in straw.", "Three pieces"),
        ("A five-piece gift.", "five-piece"),
        ("A set of three.", "set of three"),
        ("It holds 6 items.", "6 items"),
    ],
)
def test_what_disagrees_is_quoted(story: str, words: str) -> None:
    (problem,) = told(story)
    assert problem.message.startswith(f'"{words}" is not of this set: "')


def test_the_place_is_the_line_in_the_story_as_the_owner_wrote_it() -> None:
    (problem,) = told("First.\n{{ set.name }} is\nthe box with a 90 g bar.")
    assert (problem.place.file, problem.place.line) == ("sets/set-1/story.md", 3)
    assert problem.message == '"90 g" is not of this set: "…is the box with a 90 g bar".'


def test_counts_are_read_in_the_language_of_the_text() -> None:
    assert [one.message.split('"')[1] for one in told("Trois pièces et 110 g.", language="fr")] == ["Trois pièces"]
    assert told("Quatre pièces.", language="fr") == []
    assert told("Three pieces.", language="fr") == []


def test_the_title_and_theme_are_read_too() -> None:
    of = shop(ITEMS, [gift_set(OF_SET, title="Three-piece gift set", theme="With a bar of 90 g.")])
    assert [one.place.key for one in told("", of)] == [("title",), ("theme",)]


@pytest.mark.parametrize(
    "story",
    ["It holds s\u0131x pieces.", "It holds \u017fix pieces.", "A tray of 4 x 3 \u0131nches.", "9 x 9 \u0130nch."],
)
def test_letters_that_are_matched_as_others_are_no_words_of_ours(story: str) -> None:
    """Where case does not matter a dotless i is an i to a pattern, and no lookup finds it (CaseFolding.txt)."""
    assert isinstance(told(story), list)
