"""Titles that shout, sell, or do not say what they are; options that are gone.

What is loud, and 60 characters of a title, is common practice, no source.
"""

from typing import Any

import pytest

from tests.check.found import found, told
from tests.small_shop import gift_set, item, shop

JAR = {"slot": "Jar", "choose": ["A-1", "A-2"]}


def named(title: str, **says: Any) -> Any:
    return shop([item("A-1")], [gift_set([{"item": "A-1"}], title=title, **says)])


@pytest.mark.parametrize(
    ("title", "what"),
    [
        ("AMAZING gift set", '"AMAZING" is in capitals'),
        ("BIG BOX gift set", '"BIG BOX" is in capitals'),
        ("МЫЛО ручной работы", '"МЫЛО" is in capitals'),
        ("Gift set 🎁 of soap", '"🎁" is a picture, no letter'),
        ("Gift set of soap!", 'it has a "!"'),
        ("Best gift set", '"Best" is a word of selling'),
        ("Gift set, free soap", '"free" is a word of selling'),
        ("Coffret cadeau en promo", '"promo" is a word of selling'),
        ("Soap gift set with soap", '"soap" stands in it 2 times'),
    ],
)
def test_what_is_loud_in_a_title_is_told(title: str, what: str) -> None:
    assert [one.message for one in found("title-loud", named(title))] == [f"{what}."]


@pytest.mark.parametrize(
    "title",
    [
        *("LED lamp gift set", "Scent-free soap", "Gift set, 3 × 50 g", "Fête & Été gift set", "Freesia soap"),
        *("مرحبا بالعالم", "שלום עולם", "ชาวโลก", "你好世界礼盒", "नमस्ते"),  # scripts without capitals
        *("мыло ручной работы", "χειροποίητο σαπούνι", "mydło różane", "łąka čšžř"),  # small letters of other alphabets
    ],
)
def test_a_quiet_title_is_left_alone(title: str) -> None:
    assert found("title-loud", named(title)) == []


def test_an_item_s_name_is_a_title_too() -> None:
    of = shop([item("A-1", name="LAVENDER")], [gift_set([{"item": "A-1"}])])
    assert told("title-loud", of)[0].startswith('Look at · items.csv, row A-1, column name: "LAVENDER" is in capitals.')


def test_the_front_of_a_stated_title_says_what_it_is() -> None:
    late = "Low tide and the rocks are bare, nobody is about and all is still: bar soap"
    assert "does not say what it is" in told("title-front", named(late))[0]
    for good in ("Low tide bar soap, for the hour when the rocks are bare and nobody is about", "Gift set", ""):
        assert told("title-front", named(good)) == []


def closed(*codes: str) -> Any:
    items = [item("A-1", name="Rosemary & Rind"), item("A-2", name="Clover & Cream")]
    notes = [{"options": {"Jar": code}, "status": "closed"} for code in codes]
    story = "One line.\nTake Rosemary & Rind, or clover & cream."
    return shop(items, [gift_set([JAR], variant=notes)], stories={"SET-1": story})


def test_an_option_that_is_closed_in_every_variant_is_no_longer_described() -> None:
    assert told("option-not-offered", closed("A-2")) == [
        "Must fix · sets/set-1/story.md, line 2: it speaks of Clover & Cream, which nobody can choose any more. "
        "Take it out, or open a variant with it again."
    ]
    assert told("option-not-offered", closed()) == []
