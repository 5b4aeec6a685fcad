"""Contents in words."""

from typing import Any

import pytest

from listkit.compute.build import build_catalog
from listkit.compute.catalog import SetFacts
from listkit.listing.offers import offered, shown_slots
from listkit.listing.texts import care_lines
from listkit.listing.titles import MOST_OPENING, content_lines, inside_sentence, items_phrase
from listkit.listing.translate import read_language
from listkit.problem import Place
from tests.listing.shops import DISH, ITEMS, folder, listed, shop
from tests.listing.test_words import english

JAR_SLOT = {"slot": "Jar", "choose": ["HH-U1", "HH-S1"]}
SALTS = DISH | {"code": "HH-X1", "name": "Kelp", "form": "bath salts", "container": "pouch", "net": "250 g"}


BAR = DISH | {"code": "HH-B2", "name": "Hop", "form": "bar soap", "container": "", "net": "110 g"}


def facts(*contents: dict[str, Any], **changes: Any) -> SetFacts:
    made = shop(folder(contents=contents, **changes), items=(*ITEMS, SALTS, BAR))
    return build_catalog(made).sets[0]


def lines(of: SetFacts) -> list[str]:
    made = shop()
    variants = offered(of, made.channels[0], build_catalog(made))
    return [line.text for line in content_lines(english(), of, shown_slots(of, variants, "GBP"))]


def test_the_contents_are_told_in_words_with_the_choice_left_to_the_buyer() -> None:
    told = items_phrase(english(), facts({"item": "HH-B1"}, {"item": "HH-L1"}, JAR_SLOT))
    assert told == "a bar of soap, a lip balm and a jar of your choosing"


def test_two_choices_say_once_that_they_are_the_buyer_s() -> None:
    bar = {"slot": "Bar", "choose": ["HH-B1", "HH-B2"]}
    assert items_phrase(english(), facts(bar, JAR_SLOT)) == "a bar of soap and a jar of your choosing"
    told = items_phrase(english(), facts({"item": "HH-L1"}, bar, JAR_SLOT))
    assert told == "a lip balm, and a bar of soap and a jar of your choosing"


def test_a_slot_of_one_option_is_a_piece_like_another_and_nobody_is_asked_to_choose() -> None:
    alone = {"slot": "Jar", "choose": ["HH-U1"]}
    of = facts({"item": "HH-B1"}, alone)
    assert "choosing" not in items_phrase(english(), of)
    assert not any("choosing" in line for line in lines(of))
    two = facts({"item": "HH-B1"}, JAR_SLOT, not_together=[["HH-B1", "HH-U1"]])
    assert [choice.item.code for variant in two.variants for choice in variant.choices] == ["HH-S1"]
    assert "choosing" not in items_phrase(english(), two)


@pytest.mark.parametrize(
    ("language", "choice", "both"),
    [
        ("en", "body butter or sugar scrub.", "bath salts, and body butter or sugar scrub."),
        ("fr", "body butter ou sugar scrub.", "bath salts, ainsi que body butter ou sugar scrub."),
        ("de", "body butter oder sugar scrub.", "bath salts und body butter oder sugar scrub."),
        ("es", "body butter o sugar scrub.", "bath salts, además de body butter o sugar scrub."),
    ],
)
def test_what_keeps_least_is_joined_by_or_where_a_box_holds_one_of_it(language: str, choice: str, both: str) -> None:
    spoken, _ = read_language(shop(), language, Place("shop.toml"))
    assert spoken is not None
    words = spoken.words
    of = facts({"item": "HH-B1"}, JAR_SLOT)
    assert choice in care_lines(words, of, of.items)[-1]
    salts = SALTS | {"shelf_life": "12 months"}
    made = shop(folder(contents=({"item": "HH-B1"}, {"item": "HH-X1"}, JAR_SLOT)), items=(*ITEMS, salts))
    salted = build_catalog(made).sets[0]
    assert both in care_lines(words, salted, salted.items)[-1]


def test_what_two_slots_let_choose_is_said_of_each() -> None:
    jars = {"slot": "Jar", "choose": ["HH-U1", "HH-S1"]}
    minis = {"slot": "Mini", "choose": ["HH-M1", "HH-U1"]}
    of = facts({"item": "HH-B1"}, jars, minis)
    told = care_lines(english(), of, of.items)[-1]
    assert "12 months of making: body butter or sugar scrub, and body butter or mini butter." in told


@pytest.mark.parametrize("others", [("HH-S1",), ("HH-S1", "HH-M1")])
def test_an_option_that_is_closed_does_not_say_how_long_the_set_keeps(others: tuple[str, ...]) -> None:
    brief = tuple(item | {"shelf_life": "3 months"} if item["code"] == "HH-U1" else item for item in ITEMS)
    closed = {"options": {"Jar": "HH-U1"}, "status": "closed"}
    contents = ({"item": "HH-B1"}, {"slot": "Jar", "choose": ["HH-U1", *others]})
    (listing,) = listed(shop(folder(contents=contents, variant=[closed]), items=brief))
    assert "3 months" not in listing.plain
    assert " of making: ." not in listing.plain


def test_alike_items_are_counted_together() -> None:
    assert items_phrase(english(), facts({"item": "HH-B1", "quantity": 2}, {"item": "HH-X1"})) == (
        "two bars of soap and a pouch of bath salts"
    )
    assert items_phrase(english(), facts({"item": "HH-B1"}, {"item": "HH-B1"})) == "two bars of soap"


def test_the_first_sentence_names_the_items_while_it_is_short() -> None:
    of = facts({"item": "HH-B1"}, JAR_SLOT)
    assert inside_sentence(english(), of) == "Gorse & Salt bar soap and a jar of your choosing, in a gift box."
    of = facts({"item": "HH-B1"}, JAR_SLOT, box="none")
    assert inside_sentence(english(), of) == "Gorse & Salt bar soap and a jar of your choosing."


def test_beside_a_long_theme_the_first_sentence_tells_forms() -> None:
    theme = "For somebody who has waited long enough for the tide to turn, and for the kettle to boil, and for us."
    of = facts({"item": "HH-B1"}, JAR_SLOT, theme=theme)
    assert inside_sentence(english(), of) == "A bar of soap and a jar of your choosing, in a gift box."
    assert len(theme) + 1 + len(inside_sentence(english(), of)) <= MOST_OPENING


def test_each_line_tells_item_form_and_size_and_a_slot_the_sizes_of_its_options() -> None:
    of = facts({"item": "HH-B1", "quantity": 2}, {"item": "HH-D1"}, JAR_SLOT)
    assert lines(of) == [
        "2 × Gorse & Salt bar soap, 110 g",
        "Slatted soap dish",
        "A jar of your choosing, 150 g or 100 ml",
    ]


def test_a_slot_with_an_option_of_no_size_tells_none() -> None:
    assert lines(facts({"slot": "Treat", "choose": ["HH-B1", "HH-D1"]})) == ["A treat of your choosing"]
