"""Figures that cannot be: what is denser than stone, lighter than a sponge, or holds more than has room in it."""

from decimal import Decimal
from typing import Any

import pytest

from listkit.check.measures import AIRIEST, HEAVIEST, LIGHTEST
from tests.check.found import found, told
from tests.small_shop import BOX_S, CARD, item, shop

JAR = {"size": "72 x 72 x 64 mm", "shape": "cylinder", "net": "100 ml", "weight": "232 g"}


def weighed(**says: Any) -> list[str]:
    return told("weight-unlikely", shop([item("A-1", **says)], []))


def test_milligrams_for_grams_and_kilograms_for_grams_are_told_with_what_they_come_to() -> None:
    """A bar of 86 × 58 × 28 mm is 139.664 cm³, a balm of 68 × 68 × 25 mm 115.6 cm³."""
    slip = "Look at both again: perhaps g and kg, or mm and cm, are mixed up."
    assert weighed(weight="115 mg") == [
        "Look at · items.csv, row A-1, column weight: A-1 weighs 0.115 g and is 86 × 58 × 28 mm: "
        f"0.000823 g in each cm³, lighter than a sponge. {slip}"
    ]
    assert weighed(weight="18 kg", size="68 x 68 x 25 mm", net="50 g") == [
        "Look at · items.csv, row A-1, column weight: A-1 weighs 18000 g and is 68 × 68 × 25 mm: "
        f"156 g in each cm³, heavier than stone or glass. {slip}"
    ]


def test_sides_in_the_wrong_unit_are_told_by_the_same_rule() -> None:
    assert weighed(size="86 x 58 x 28 cm")
    assert weighed(size="86 x 58 x 2.8 mm")
    assert weighed(size="3 3/8 x 2 1/4 x 1 1/8 in") == []


@pytest.mark.parametrize(
    ("what", "density"),
    [("dry air", "0.00120479"), ("iron", "7.874"), ("copper", "8.96"), ("gold", "19.32")],
)
def test_what_no_gift_set_is_made_of_is_told(what: str, density: str) -> None:
    """Densities in g/cm³: NIST, ESTAR data base, composition of materials; a litre of each."""
    assert weighed(size="10 x 10 x 10 cm", weight=f"{Decimal(density) * 1000} g", net=None), what


@pytest.mark.parametrize(
    ("what", "density"),
    [
        *(("marble", "2.80"), ("aluminium", "2.70"), ("plate glass", "2.40"), ("water", "1.00"), ("paraffin", "0.93")),
        *(("ethyl alcohol", "0.789"), ("a natural sponge, common practice", "0.02")),
    ],
)
def test_what_a_gift_set_may_hold_gives_nothing(what: str, density: str) -> None:
    """Densities in g/cm³: NIST, ESTAR data base, composition of materials; a litre of each, without any air in it."""
    assert LIGHTEST < Decimal(density) < HEAVIEST
    assert weighed(size="10 x 10 x 10 cm", weight=f"{Decimal(density) * 1000} g", net=None) == [], what


def test_a_weight_that_nobody_took_and_a_closed_item_are_not_judged() -> None:
    assert weighed(weight="0 g") == []
    assert weighed(weight="18 kg", status="closed") == []


def nets(**says: Any) -> list[str]:
    return [problem.message for problem in found("net-unlikely", shop([item("A-1", **says)], []))]


def test_more_millilitres_than_the_jar_is_large_are_told() -> None:
    """72 × 72 × 64 mm is 331.776 ml with the glass."""
    for net in ("1000 ml", "2 x 170 ml"):
        told_of = f"A-1: {net} do not go into 72 × 72 × 64 mm, which is 332 ml outside."
        assert nets(**{**JAR, "net": net}) == [told_of]
    assert nets(**{**JAR, "net": "330 ml"}) == []


def test_too_light_for_its_millilitres_and_too_heavy_for_its_net_are_told() -> None:
    """A litre of the lightest liquid in use, ethyl alcohol, weighs 789 g (NIST, ESTAR); whipped things weigh less."""
    assert Decimal("0.789") > AIRIEST
    assert nets(**{**JAR, "weight": "29 g"}) == ["A-1: 29 g is too light for 100 ml, even of something whipped."]
    assert nets(**{**JAR, "weight": "31 g"}) == []
    assert nets(net="110 mg") == ["A-1: 119 g is 1080 times the 110 mg in it."]
    assert nets(net="2 kg") == ["A-1: 2 kg in 86 × 58 × 28 mm would be heavier than stone."]
    assert nets(net="118 x 80 mm") == nets(net="6 pieces") == nets(net=None) == []


def packed(box: dict[str, Any], **more: Any) -> list[str]:
    of = shop([item("A-1")], [], packaging={"box": [{**BOX_S, **box}], "card": CARD, **more})
    return [f"{problem.place.key} {problem.message}" for problem in found("weight-unlikely", of)]


def test_boxes_cartons_fill_and_card_are_judged_by_what_they_are() -> None:
    assert packed({}) == []
    assert packed({"weight": "58 kg"})[0].startswith("('box', 0, 'weight') box S weighs 58000 g for 162 × 122 × 70 mm:")
    assert packed({"weight": "58 mg"})[0].endswith("g in each m² of its walls, less than tissue paper.")
    assert packed({"fill": {"weight": "10 kg", "cost": "0.10"}}) == [
        "('box', 0, 'fill', 'weight') 10000 g of fill in box S of 162 × 122 × 70 mm is no fill."
    ]
    carton = {"outside": "190 x 150 x 100 mm", "weight": "88 kg"}
    assert packed({"carton": carton})[0].startswith("('box', 0, 'carton', 'weight') the carton of box S weighs 88000 g")
    assert packed({}, card={"weight": "14 kg", "cost": "0.18"}) == [
        "('card', 'weight') the card weighs 14000 g, more than any card."
    ]
    case = {"code": "C", "inside": "410 x 310 x 260 mm", "outside": "420 x 320 x 272 mm", "weight": "410 g"}
    assert packed({}, case=[case]) == []
    assert packed({}, case=[{**case, "weight": "4 g"}])[0].startswith("('case', 0, 'weight') case C weighs 4 g")
