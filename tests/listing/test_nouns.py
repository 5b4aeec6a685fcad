"""Nouns within a sentence."""

from decimal import Decimal

import pytest

from listkit.compute.catalog import Piece
from listkit.listing.formats import measure_text, sides_text
from listkit.listing.words import (
    beside,
    capital,
    counted,
    many,
    one,
    piece_text,
    size_text,
    slot_noun,
    small,
)
from listkit.model.gift_set import Slot
from tests.listing.shops import item
from tests.listing.test_words import english


@pytest.mark.parametrize(
    ("noun", "container", "told"),
    [
        ("bar soap", "paper band", "a bar of soap"),
        ("oil", "bottle", "an oil"),
        ("bath salts", "pouch", "a pouch of bath salts"),
        ("bath sachets", "sleeve", "a sleeve of bath sachets"),
        ("tea lights", "box", "a box of tea lights"),
        ("tea lights", "", "tea lights"),
        ("bath crayons", "tin", "a set of bath crayons"),
        ("drinking glass", "", "a drinking glass"),
    ],
)
def test_a_form_is_told_with_its_article_or_by_its_container(noun: str, container: str, told: str) -> None:
    assert one(english(), noun, container) == told


@pytest.mark.parametrize(
    ("noun", "quantity", "container", "told"),
    [
        ("bar soap", 1, "", "a bar of soap"),
        ("bar soap", 2, "", "two bars of soap"),
        ("bar soap", 12, "", "12 bars of soap"),
        ("bath salts", 3, "pouch", "three pouches of bath salts"),
        ("soap dish", 2, "", "two soap dishes"),
    ],
)
def test_several_are_counted_in_words_up_to_ten(noun: str, quantity: int, container: str, told: str) -> None:
    assert counted(english(), noun, quantity, container) == told


def test_plurals_that_do_not_follow_the_rule_stand_in_the_language_s_table() -> None:
    assert [many(english(), noun) for noun in ("jar", "box", "pouch", "bath salts")] == [
        "jars", "boxes", "pouches", "bath salts",
    ]  # fmt: skip


def test_a_slot_is_written_small_within_a_sentence_but_not_an_abbreviation() -> None:
    assert small(english(), "Mini jar") == "mini jar"
    assert small(english(), "LED lamp") == "LED lamp"
    assert capital("a jar") == "A jar"


def test_a_slot_whose_options_are_all_of_one_form_is_told_by_it() -> None:
    slot = Slot(slot="Bar", choose=("A", "B"))
    assert slot_noun(english(), slot, {"A": item(), "B": item(form="Bar soap")}) == "bar soap"


def test_a_slot_whose_options_all_are_minis_says_so() -> None:
    slot = Slot(slot="Jar", choose=("A", "B"))
    forms = {"A": item(form="mini scrub"), "B": item(form="mini butter")}
    assert slot_noun(english(), slot, forms) == "mini jar"
    assert slot_noun(english(), slot, {"A": item(form="sugar scrub"), "B": item(form="body butter")}) == "jar"


def test_sizes_stand_as_their_owner_wrote_them_with_a_sign_between_sides() -> None:
    assert measure_text("4 x 25 g", "en-GB") == "4 × 25 g"
    assert measure_text("118x80 mm", "en-GB") == "118 × 80 mm"
    assert size_text(item(net="4.5 g"), "en-GB") == "4.5 g"
    assert size_text(item(net=None), "en-GB") == ""
    assert sides_text((Decimal(162), Decimal("122.5"), Decimal(70)), "en-GB") == "162 × 122.5 × 70 mm"


def test_sides_are_told_in_inches_where_that_is_usual() -> None:
    """One inch is 25.4 mm exactly (NIST Special Publication 811): a box of 8 × 6 × 3 1/4 in."""
    sides = Decimal("203.2"), Decimal("152.4"), Decimal("82.55")
    assert sides_text(sides, "en-US") == "8 × 6 × 3.25 in"
    assert sides_text(sides, "en-CA") == "203.2 × 152.4 × 82.55 mm"


def test_a_decimal_point_becomes_the_sign_of_the_language() -> None:
    """Unicode CLDR, number symbols: French and German write a comma."""
    assert measure_text("4.5 g", "fr") == "4,5 g"
    assert measure_text("4.50 g", "de") == "4,50 g"


def test_a_line_of_the_contents_names_item_form_and_size_and_how_many() -> None:
    assert piece_text(english(), Piece(item())) == "Gorse & Salt bar soap, 110 g"
    assert piece_text(english(), Piece(item(), 2)) == "2 × Gorse & Salt bar soap, 110 g"
    assert piece_text(english(), Piece(item(net=None))) == "Gorse & Salt bar soap"
    assert english().naming.of(item(form="")) == "Gorse & Salt"


@pytest.mark.parametrize(
    ("noun", "container", "left"),
    [
        ("mini scrub", "mini jar", "jar"),
        ("bar soap", "bar", ""),
        ("lip balm tin", "tin", ""),
        ("exfoliante de azúcar", "tarro de cristal", "tarro de cristal"),
        ("tarro de exfoliante", "tarro de cristal", "cristal"),
        ("pot de gommage", "pot en verre", "verre"),
    ],
)
def test_a_container_goes_without_what_the_noun_says_and_keeps_what_joins_its_words(
    noun: str, container: str, left: str
) -> None:
    assert beside(noun, container) == left
