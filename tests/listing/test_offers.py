"""Offers: one variant each, as a channel shows it."""

from decimal import Decimal
from typing import Any

import pytest

from listkit.listing.listings import Offer
from tests.listing.shops import BALM, BAR, JAR, SCRUB, channel, folder, listed, shop

# The names of schema.org's ItemAvailability, release 30.0.
ITEM_AVAILABILITY = {
    "BackOrder", "Discontinued", "InStock", "InStoreOnly", "LimitedAvailability", "MadeToOrder", "OnlineOnly",
    "OutOfStock", "PreOrder", "PreSale", "Reserved", "SoldOut",
}  # fmt: skip


def offers(*items: dict[str, Any], fee: str = "0 %", fixed_fee: str | None = None, **changes: Any) -> tuple[Offer, ...]:
    to = channel(fee=fee, fixed_fee=fixed_fee)
    return listed(shop(folder(**changes), items=items or (BAR, BALM, JAR, SCRUB), channels=[to])).listings[0].offers


def test_contents_are_counted_piece_by_piece() -> None:
    contents = [{"item": "HH-B1", "quantity": 2}, {"slot": "Jar", "choose": ["HH-U1"]}]
    offer = offers(contents=contents)[0]
    assert offer.contents == ("2 × Gorse & Salt bar soap, 110 g", "1 × Meadow body butter, 100 ml")
    assert offer.net_contents == ("2 × 110 g", "100 ml")
    assert offer.item_codes == ("HH-B1", "HH-U1")
    assert offer.shelf_life == 12


def test_ingredients_and_cautions_of_alike_items_stand_once() -> None:
    contents = [{"item": "HH-B1"}, {"slot": "Jar", "choose": ["HH-U1"]}, {"slot": "Other jar", "choose": ["HH-U1"]}]
    offer = offers(contents=contents)[0]
    assert offer.ingredients == (
        "Gorse & Salt bar soap: Sodium Olivate, Aqua",
        "Meadow body butter: Cera Alba, Parfum",
    )
    assert offer.cautions == (
        "For external use only.",
        "Keep away from the eyes. If it gets into them, rinse well with water.",
        "Keep out of reach.",
        "Try a little on the inside of the arm first. Stop using it if the skin turns red or itches.",
        "Keep cool and out of the sun; it melts when it gets warm.",
    )


def test_a_candle_in_a_box_brings_its_caution_to_the_outside_though_no_row_names_it() -> None:
    """ASTM F2058-07(2021): at the point of sale the warning is seen; a box that hides the candle must carry it."""
    lights = BAR | {"code": "HH-C1", "form": "tea lights", "cautions": [], "ingredients": "Cera Alba"}
    offer = offers(BAR, lights, contents=[{"item": "HH-B1"}, {"item": "HH-C1"}])[0]
    assert any(sentence.startswith("WARNING: Never leave a burning candle alone.") for sentence in offer.cautions)


def test_an_item_without_ingredients_or_size_leaves_no_empty_words() -> None:
    bare = BAR | {"net": None, "ingredients": "", "cautions": [], "form": "soap dish"}
    offer = offers(bare, contents=[{"item": "HH-B1"}])[0]
    assert (offer.contents, offer.ingredients, offer.cautions) == (("1 × Gorse & Salt soap dish",), (), ())
    assert offer.net_contents == ("",)


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({}, "InStock"),
        ({"status": "last chance"}, "LimitedAvailability"),
    ],
)
def test_last_chance_is_limited(changes: dict[str, Any], told: str) -> None:
    assert {offer.availability for offer in offers(**changes)} == {told}
    assert told in ITEM_AVAILABILITY


def test_a_set_that_holds_an_item_s_last_pieces_is_limited_too() -> None:
    told = [offer.availability for offer in offers(BAR, BALM, JAR | {"status": "last chance"}, SCRUB)]
    assert told == ["LimitedAvailability", "InStock"]
    gone = [offer.availability for offer in offers(BAR, BALM, JAR | {"status": "last chance", "on_hand": 0}, SCRUB)]
    assert gone == ["OutOfStock", "InStock"]
    assert {*told, *gone} <= ITEM_AVAILABILITY


def test_what_is_kept_is_what_fees_and_costs_leave() -> None:
    """29.00 less 3 × 1.85 for the items, 0.95 for the box and 0.18 for the card: 22.32.

    At 10 % and 0.50 the fees take 3.40 more.
    """
    assert offers()[0].kept.amount == Decimal("22.32")
    assert offers(fee="10 %", fixed_fee="0.50")[0].kept.amount == Decimal("18.92")


def test_net_contents_are_declared_by_kind_and_allergens_are_those_of_all_pieces() -> None:
    contents = [{"item": "HH-B1", "quantity": 2}, {"slot": "Jar", "choose": ["HH-U1"]}]
    bar = BAR | {"ingredients": "Sodium Olivate, Linalool, Limonene"}
    offer = offers(bar, JAR | {"ingredients": "Cera Alba, Linalool, Coumarin"}, contents=contents)[0]
    assert offer.net_declaration == "2 bars of soap, 110 g each; 1 body butter, 100 ml"
    assert offer.allergens == ("Linalool", "Limonene", "Coumarin")
    assert offer.unit_price == ""


def test_a_channel_in_the_united_states_declares_ounces_first() -> None:
    to = channel(country="US", language="en-US")
    one = listed(shop(folder(contents=[{"item": "HH-B1"}]), items=(BAR,), channels=[to])).listings[0].offers[0]
    assert one.net_declaration == "Net wt 3.88 oz (110 g)"
