"""Ingredients by item and by set."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.ingredients import (
    by_product,
    named_allergens,
    origins_of,
    shared_allergens,
    unbalanced,
)
from listkit.compute.materials import split_ingredients
from listkit.model.item import Item


def item(code: str, ingredients: str, **more: Any) -> Item:
    row = {"code": code, "name": code, "retail": "7.50", "cost": "2.00", "weight": "119 g", "size": "86 x 58 x 28 mm"}
    return Item.model_validate(row | {"ingredients": ingredients} | more, context={"currency": "GBP"})


def test_a_comma_within_brackets_divides_nothing() -> None:
    text = "Aqua, Parfum (Fragrance, natural), Methyl 2-Octynoate,, CI 77492."
    assert split_ingredients(text) == ("Aqua", "Parfum (Fragrance, natural)", "Methyl 2-Octynoate", "CI 77492")


@pytest.mark.parametrize(
    ("text", "bracket"),
    [("Aqua (Water)", ""), ("Aqua (Water", "("), ("Aqua Water)", ")"), ("Aqua (a [b)]", ")"), ("", "")],
)
def test_a_bracket_without_its_other_half_is_found(text: str, bracket: str) -> None:
    assert unbalanced(text) == bracket


@given(st.text(max_size=60))
def test_any_text_can_be_divided(text: str) -> None:
    assert all(part == part.strip() and part for part in split_ingredients(text))
    assert unbalanced(text) in {*"()[]{}", ""}


def test_a_set_has_a_row_a_product_as_written() -> None:
    bar, dish = item("B", "Sodium Olivate, Aqua"), item("D", "")
    rows = by_product((bar, dish, bar))
    assert [(row.item.code, row.text, row.names) for row in rows] == [
        ("B", "Sodium Olivate, Aqua", ("Sodium Olivate", "Aqua"))
    ]


def test_what_all_products_with_ingredients_share_is_told_and_a_dish_does_not_count() -> None:
    bar, balm = item("B", "Aqua, Linalool, Citral"), item("L", "Cera Alba, Limonene, LINALOOL*")
    assert named_allergens(bar) == ("Linalool", "Citral")
    assert shared_allergens((bar, balm, item("D", ""))) == ("Linalool",)
    assert shared_allergens((bar, item("D", ""))) == ()
    assert shared_allergens((bar, item("S", "Aqua"))) == ()


@pytest.mark.parametrize(
    ("ingredient", "keys"),
    [
        ("Prunus Amygdalus Dulcis Oil", ["nuts"]), ("Butyrospermum Parkii Butter", ["nuts"]),
        ("Macadamia Ternifolia Seed Oil", ["nuts"]), ("Corylus Avellana Seed Oil", ["nuts"]),
        ("Juglans Regia Shell Powder", ["nuts"]), ("Argania Spinosa Kernel Oil", ["nuts"]),
        ("Arachis Hypogaea Oil", ["nuts"]), ("Cocos Nucifera Oil", ["nuts"]), ("Sodium Cocoate", ["nuts"]),
        ("Cera Alba", ["bees"]), ("Mel", ["bees"]), ("Melilotus Officinalis Extract", []),
        ("Melaleuca Alternifolia Leaf Oil", []),
        ("Whole Dry Milk", ["milk"]), ("Caprae Lac", ["milk"]), ("Lactic Acid", []),
        ("Avena Sativa Kernel Milk", ["cereals"]),
        ("Lanolin", ["wool"]), ("Secale Cereale Seed Extract", ["cereals"]), ("Theobroma Cacao Seed Butter", []),
    ],
)  # fmt: skip
def test_what_people_ask_for_is_known_by_its_name_in_the_list(ingredient: str, keys: list[str]) -> None:
    """Which oils and butters are of nuts: common practice, no source; shea and coconut are counted among them."""
    assert [origin.key for origin in origins_of((item("B", f"Aqua, {ingredient}"),))] == keys


def test_an_origin_names_its_items() -> None:
    bar, salts = item("B", "Sodium Cocoate, Mel"), item("X", "Sodium Chloride")
    assert [(origin.key, [one.code for one in origin.items]) for origin in origins_of((bar, salts))] == [
        ("nuts", ["B"]),
        ("bees", ["B"]),
    ]
