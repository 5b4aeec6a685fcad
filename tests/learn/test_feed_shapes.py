"""Shapes of cells in samples."""

import pytest

from listkit.learn.cell_shapes import (
    day_forms,
    has_markup,
    is_address,
    is_measure_price,
    is_picture,
    is_stock_word,
    stock_words,
)


@pytest.mark.parametrize(
    ("cell", "forms"),
    [
        ("2027-02-28", {"2027-02-28"}),
        ("28.02.2027", {"28.02.2027"}),
        ("1.3.2027", {"28.02.2027"}),
        ("28/02/2027", {"28/02/2027"}),
        ("02/28/2027", {"02/28/2027"}),
        ("02/03/2027", {"28/02/2027", "02/28/2027"}),
        ("20270228", {"20270228"}),
        ("20271328", set()),
        ("99999999", set()),
        ("13.13.2027", set()),
        ("2027", set()),
    ],
)
def test_a_day_is_known_in_the_forms_that_it_can_have(cell: str, forms: set[str]) -> None:
    assert day_forms(cell) == forms


def test_addresses_pictures_and_markup_are_told_apart() -> None:
    assert is_address("https://a.example/b")
    assert not is_picture("https://a.example/b")
    assert all(map(is_picture, ("b-1.JPG", "https://a.example/b.webp?w=9")))
    assert all(map(has_markup, ("<p>One</p>", "a &amp; b")))
    assert not has_markup("a < b & c > d")


def test_words_for_being_in_stock_are_known_in_four_languages() -> None:
    assert all(map(is_stock_word, ("In stock", "InStock", "ausverkauft", "En stock", "épuisé", "AGOTADO")))
    assert not any(map(is_stock_word, ("12", "yes", "blue", "")))


def test_the_terms_of_schema_org_are_words_for_being_in_stock_by_name_and_by_address() -> None:
    """ItemAvailability of schema.org, whose members are addresses."""
    members = ("https://schema.org/InStock", "http://schema.org/OutOfStock", "SoldOut", "https://schema.org/PreOrder")
    assert all(map(is_stock_word, members))
    assert stock_words(members[:2]) == members[:2]
    assert not is_stock_word("https://a.example/blue")


def test_a_price_for_a_measure_has_a_unit_behind_a_stroke() -> None:
    assert all(map(is_measure_price, ("6,63 €/100 g", "£6.82 / 100 ml", "66.33 €/kg", "$1.20/oz")))
    assert not any(map(is_measure_price, ("6.63", "100 g", "1/2 oz", "3/4", "a/b", "")))


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        (["auf Lager", "ausverkauft", "auf Lager"], ("auf Lager", "ausverkauft")),
        (["in stock"], ("in stock", "")),
        (["in stock", "available", "sold out"], ("", "sold out")),
        (["blue"], ("", "")),
    ],
)
def test_the_word_for_each_is_told_where_there_is_just_one(cells: list[str], words: tuple[str, str]) -> None:
    assert stock_words(cells) == words
