"""Compositions: allergens summed over raw materials, and the order of lists, at their edges."""

import time
from decimal import Decimal
from typing import Any

import pytest

from listkit.compute.ingredients import (
    Composition,
    allergen_shares,
    composition,
    is_in_order,
    made_with,
    out_of_order,
    rinsed_off,
    to_be_named,
    unlisted,
)
from listkit.model.item import IngredientRow, Item


def made(*rows: tuple[str, str, str, str]) -> Composition:
    names = ("item", "ingredient", "cas", "percent")
    return composition(tuple(IngredientRow.model_validate(dict(zip(names, row, strict=True))) for row in rows))


def item(form: str = "bar soap", ingredients: str = "", **more: Any) -> Item:
    row = {"code": "B", "name": "Gorse", "form": form, "retail": "7.50", "cost": "2", "weight": "119 g"}
    row |= {"size": "86 x 58 x 28 mm", "ingredients": ingredients}
    return Item.model_validate(row | more, context={"currency": "GBP"})


def named(of: Item, composed: Composition) -> list[str]:
    return [one.allergen.name for one in to_be_named(of, composed)]


def test_a_perfume_of_three_per_cent_with_a_fifth_of_a_per_cent_citral_is_named_only_where_it_stays() -> None:
    """Regulation (EC) 1223/2009, Article 19(1)(g), Annex III, worked by hand: 3 % of 0.2 % is 0.006 %."""
    perfume = made(("B", "Parfum", "", "3"), ("Parfum", "Citral", "5392-40-5", "0.2"))
    [share] = allergen_shares(item(), perfume)
    assert (share.share, share.sources) == (Decimal("0.00006"), ("Parfum",))
    assert named(item("bar soap"), perfume) == []
    assert named(item("body butter"), perfume) == ["Citral"]


def test_lavender_oil_of_half_a_per_cent_names_its_linalool_in_both() -> None:
    """0.5 % of an oil with 35 % linalool is 0.175 %."""
    name = "Lavandula Angustifolia Oil"
    oil = made(("B", name, "", "0.5"), (name, "Linalool", "78-70-6", "35"))
    assert allergen_shares(item(), oil)[0].share == Decimal("0.00175")
    assert named(item("bar soap"), oil) == named(item("body butter"), oil) == ["Linalool"]


def test_exactly_the_limit_is_not_named() -> None:
    assert named(item("body butter"), made(("B", "Linalool", "", "0.001"))) == []
    assert named(item("body butter"), made(("B", "Linalool", "", "0.0010001"))) == ["Linalool"]


def test_one_allergen_from_two_raw_materials_is_summed_before_it_is_judged() -> None:
    """0.006 % and 0.006 %: neither exceeds 0.01 %, both together do."""
    both = made(
        ("B", "Hedge oil", "", "1"), ("Hedge oil", "Linalool", "78-70-6", "0.6"),
        ("B", "Moss oil", "", "1"), ("Moss oil", "Beta-Linalool of the maker", "78-70-6", "0.6"),
    )  # fmt: skip
    [share] = to_be_named(item("bar soap"), both)
    assert (share.allergen.name, share.share, share.sources) == (
        "Linalool", Decimal("0.00012"), ("Hedge oil", "Moss oil"),
    )  # fmt: skip


def test_a_raw_material_that_holds_itself_ends() -> None:
    base = ("B", "Base", "", "50"), ("Base", "Oil", "", "50")
    turned = made(*base, ("Oil", "Base", "", "50"), ("Oil", "Citral", "", "1"))
    assert [one.share for one in allergen_shares(item(), turned)] == [Decimal("0.0025")]


def test_raw_materials_that_hold_each_other_in_many_ways_are_gone_through_once() -> None:
    """Forty materials, each half of each later one: there are a trillion ways from the first to the last."""
    names = ["B", *(f"Oil {number}" for number in range(40))]
    rows = [(upper, lower, "", "1") for at, upper in enumerate(names) for lower in names[at + 1 :]]
    [share] = allergen_shares(item(), made(*rows, (names[-1], "Citral", "5392-40-5", "100")))
    assert share.share == Decimal("1.01") ** 39 * Decimal("0.01")


@pytest.mark.parametrize(
    ("form", "rinsed"),
    [
        ("bar soap", True), ("sugar scrub", True), ("bath salts", True), ("hand wash", True), ("shampoo bar", True),
        ("body butter", False), ("lip balm", False), ("perfume", False), ("", False), ("savon", True),
        ("Badesalz", True),
    ],
)  # fmt: skip
def test_what_is_rinsed_off_follows_from_the_form_and_in_doubt_it_stays(form: str, rinsed: bool) -> None:
    assert rinsed_off(item(form)) is rinsed


def test_the_owner_knows_better() -> None:
    assert rinsed_off(item("body butter", rinse_off="yes"))
    assert not rinsed_off(item("bath oil", rinse_off="no"))


ONE = made(("B", "Aqua", "", "60"), ("B", "Mel", "", "1"), ("B", "Tocopherol", "", "0.4"))


def test_exactly_one_per_cent_is_free_in_the_united_states_and_in_its_place_in_europe() -> None:
    """21 CFR 701.3(f)(2): "1 percent or less"; Regulation (EC) 1223/2009, Article 19(1)(g): less than 1 %."""
    at_one = item(ingredients="Aqua, Tocopherol, Mel")
    assert out_of_order(at_one, ONE, "US") is None
    assert out_of_order(at_one, ONE, "FR") == out_of_order(at_one, ONE, "GB") == ("Tocopherol", "Mel")
    assert out_of_order(at_one, ONE, "CA") is None
    assert (is_in_order(Decimal("0.01"), "US"), is_in_order(Decimal("0.01"), "DE")) == (False, True)


def test_below_one_per_cent_any_order_is_right_and_above_it_the_highest_is_first() -> None:
    small = ("B", "Mel", "", "0.9"), ("B", "Tocopherol", "", "0.4")
    rows = made(("B", "Aqua", "", "60"), *small, ("B", "Glycerin", "", "5"))
    assert out_of_order(item(ingredients="Aqua, Glycerin, Tocopherol, Mel"), rows, "DE") is None
    assert out_of_order(item(ingredients="Glycerin, Aqua, Mel"), rows, "US") == ("Glycerin", "Aqua")
    assert out_of_order(item(ingredients="Aqua, Mel, Glycerin"), rows, "US") == ("Mel", "Glycerin")


def test_colours_and_what_has_no_percentage_stand_where_they_like() -> None:
    rows = made(("B", "Aqua", "", "60"), ("B", "CI 77492", "", "2"), ("B", "Mel", "", "0.9"))
    assert out_of_order(item(ingredients="Sodium Olivate, Aqua, Mel, CI 77492"), rows, "DE") is None


def test_what_the_table_has_and_the_list_has_not_is_found_and_perfume_has_many_names() -> None:
    perfume = ("B", "Fragrance", "", "1"), ("B", "Citral", "", "0.001")
    rows = made(("B", "Aqua", "", "60"), *perfume, ("B", "Mel", "", "1"))
    assert unlisted(item(ingredients="Aqua (Water), Parfum"), rows) == ("Mel",)


def test_two_perfumes_are_told_apart_by_their_remark_and_both_are_parfum_in_a_list() -> None:
    rows = made(
        ("B", "Parfum (clover)", "", "1"), ("Parfum (clover)", "Coumarin", "91-64-5", "4"),
        ("C", "Parfum (linden)", "", "1"), ("Parfum (linden)", "Farnesol", "4602-84-0", "4"),
    )  # fmt: skip
    one = item("body butter", "Mel, Parfum")
    assert named(one, rows) == ["Coumarin"]
    assert unlisted(one, rows) == ()


def test_what_is_made_with_something_is_found_in_step_with_the_rows() -> None:
    """Of 29,000 raw materials within each other the rows were gone through as often as there are: over 100 seconds."""
    rows = [
        IngredientRow.model_construct(item=f"SOAP {at}", ingredient=f"soap  {at + 1}", cas="", percent=Decimal(1))
        for at in range(20_000)
    ]
    made_of = item()
    top = made_of.model_copy(update={"code": "Soap 0"})
    before = time.process_time()
    assert made_with(["soap 20000"], [made_of, top], rows) == {"Soap 0"}
    assert time.process_time() - before < 5
