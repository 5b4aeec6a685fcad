"""The facts of a set, against the worked figures of the trade.

Sums by hand; no source beyond them.
"""

from decimal import Decimal
from typing import Any

import pytest

from listkit.units.weight import Weight
from tests.small_shop import BOX_S, facts, gift_set, item, settings

BAR = item("B01", gtin="9520123456788")
BALM = item(
    "L01", retail="4.50", cost="1.05", weight="10 g", size="18 x 18 x 70 mm", shape="cylinder", gtin="9520000010010"
)
JAR = item("U01", retail="16.00", cost="3.95", weight="232 g", size="72 x 72 x 64 mm", shape="cylinder", on_hand=31)
SCRUB = item("S03", retail="14.00", cost="3.50", weight="296 g", size="72 x 72 x 64 mm", shape="cylinder", on_hand=9)
THREE: list[dict[str, Any]] = [{"item": "B01"}, {"item": "L01"}, {"slot": "Jar", "choose": ["S03", "U01"]}]


def amounts(**says: Any) -> dict[str, Any]:
    """The figures of the body-butter variant."""
    found = facts([BAR, BALM, JAR, SCRUB], gift_set(THREE, **says.pop("of_set", {})), **says).variants[1]
    return {"price": str(found.price), "full_cost": str(found.full_cost), "wholesale": str(found.wholesale)}


def test_the_worked_set_of_the_trade_comes_out_to_the_penny() -> None:
    """Worked by hand, common practice without source: 7.50 + 16.00 + 4.50 + 1.00 = 29.00; full cost
    6.85 + 1.23 + 1.20 = 9.28; half is 14.50; the sum of item wholesale and packing is 16.43.
    """
    assert amounts() == {"price": "29.00", "full_cost": "9.28", "wholesale": "14.50"}
    assert amounts(of_set={"wholesale": "sum of items"})["wholesale"] == "16.43"
    assert amounts(of_set={"wholesale": "margin 40 %"})["wholesale"] == "15.47"  # 9.28 / 0.6 = 15.4666…


def test_weights_add_box_fill_card_and_carton() -> None:
    weights = facts([BAR, BALM, JAR, SCRUB], gift_set(THREE)).variants[1].weights
    assert weights.gift == Weight(Decimal(119 + 10 + 232 + 58 + 10 + 14))
    assert weights.parcel == Weight(Decimal(443 + 88))
    assert weights.volumetric == Weight(Decimal(570))  # 19 · 15 · 10 cm³ / 5000
    assert weights.chargeable == Weight(Decimal(570))


def test_fill_share_is_blocks_over_inside() -> None:
    found = facts([BAR, BALM, JAR, SCRUB], gift_set(THREE)).variants[1]
    blocks = 86 * 58 * 28 + 18 * 18 * 70 + 72 * 72 * 64
    assert found.fill_share == Decimal(blocks) / (162 * 122 * 70)


def test_a_set_without_box_has_no_uplift_fill_card_or_minutes() -> None:
    [only] = facts([BAR, BALM], gift_set([{"item": "B01"}, {"item": "L01"}], box="none")).variants
    assert (str(only.price), str(only.full_cost)) == ("12.00", "2.90")
    assert (only.fill_share, only.weights.parcel, only.weights.chargeable, only.gtin) == (None, None, None, "")


def test_a_set_without_box_may_state_an_uplift_and_a_carton() -> None:
    carton = {"outside": "20 x 25 x 20 cm", "weight": "60 g"}
    [only] = facts([BAR], gift_set([{"item": "B01"}], box="none", uplift="0.50", carton=carton)).variants
    assert str(only.price) == "8.00"
    assert only.weights.volumetric == Weight(Decimal(2000))  # 10,000 cm³ / 5000 = 2.000 kg


def test_one_piece_without_box_has_its_items_gtin_and_a_boxed_one_does_not() -> None:
    assert facts([BAR], gift_set([{"item": "B01"}], box="none")).variants[0].gtin == "9520123456788"
    assert facts([BAR], gift_set([{"item": "B01"}])).variants[0].gtin == ""


def test_a_card_may_be_left_out_and_a_box_may_lack_a_carton() -> None:
    bare = {key: value for key, value in BOX_S.items() if key != "carton"}
    [only] = facts([BAR], gift_set([{"item": "B01"}], card=False), packaging={"box": [bare]}).variants
    assert only.weights.gift == Weight(Decimal(119 + 58 + 10))
    assert only.weights.parcel is None


def test_unlike_options_may_all_cost_what_the_dearest_does() -> None:
    found = facts([BAR, BALM, JAR, SCRUB], gift_set(THREE, option_prices="dearest"))
    assert {str(one.price) for one in found.variants} == {"29.00"}
    assert [str(step.amount) for step in found.variants[0].prices.steps] == ["26.00", "1.00", "0.00", "2.00"]


def test_cheapest_dearest_and_how_many_can_be_made() -> None:
    found = facts([BAR, BALM, JAR, SCRUB], gift_set(THREE))
    assert (str(found.cheapest), str(found.dearest)) == ("27.00", "29.00")
    assert [variant.can_make for variant in found.variants] == [9, 31]
    assert found.can_make == 40


@pytest.mark.parametrize("tax", ["20 %", "0 %"])
def test_wholesale_is_a_share_of_retail_before_tax(tax: str) -> None:
    with_tax = settings(prices={"tax": tax})
    expected = {"20 %": "12.08", "0 %": "14.50"}[tax]  # 29 / 1.2 / 2 = 12.0833…
    assert amounts(settings=with_tax)["wholesale"] == expected
