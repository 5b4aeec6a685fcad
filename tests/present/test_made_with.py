"""What a variant is made with, as `show` tells it."""

from listkit.present.gift_set import made_with_json, made_with_text
from tests.small_shop import facts, gift_set, item, settings, shop

SHOP = shop([], [])


def test_what_all_hold_and_what_people_ask_for_is_told_by_code() -> None:
    items = [item("A-1", ingredients="Sodium Cocoate, Mel, Linalool"), item("A-2", ingredients="Linalool, Citral")]
    one = facts(items, gift_set([{"item": "A-1"}, {"item": "A-2"}])).variants[0]
    assert [line.split() for line in made_with_text(one, SHOP).splitlines()] == [
        ["all", "hold", "Linalool"], ["made", "with", "nuts", "A-1"], ["made", "with", "bees", "A-1"],
    ]  # fmt: skip
    assert made_with_json(one, SHOP) == {
        "allergens": ["Linalool", "Citral"],
        "shared_allergens": ["Linalool"],
        "made_with": {"nuts": ["A-1"], "bees": ["A-1"]},
    }


def test_without_ingredients_nothing_is_said() -> None:
    one = facts([item("A-1")], gift_set([{"item": "A-1"}])).variants[0]
    assert made_with_text(one, SHOP) == ""


def test_an_allergen_that_the_owner_adds_is_told_too() -> None:
    minty = shop([], [], settings=settings(allergen=[{"name": "Menthol"}]))
    one = facts([item("A-1", ingredients="Aqua, Menthol")], gift_set([{"item": "A-1"}])).variants[0]
    assert made_with_json(one, minty)["allergens"] == ["Menthol"]
