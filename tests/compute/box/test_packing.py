"""From the shop's items and boxes to the search: nothing is lost on the way."""

from decimal import Decimal
from typing import Any

from listkit.compute.box.fit import inside_of, single_pieces, verdict_in
from listkit.compute.box.searches import Searches
from listkit.model.packaging import Packaging
from tests.small_shop import BOX_S, GBP, facts, gift_set, item, settings

JAR = {"size": "72 x 72 x 64 mm", "shape": "cylinder", "upright": "yes", "fragile": "yes", "weight": "232 g"}
ITEMS = [item("B1"), item("J1", **JAR)]


def test_two_of_an_item_are_two_pieces_as_the_sheet_states_them() -> None:
    found = facts(ITEMS, gift_set([{"item": "B1", "quantity": 2}, {"item": "J1"}])).variants[0]
    pieces = single_pieces(found.pieces)
    assert [piece.code for piece in pieces] == ["B1", "B1", "J1"]
    jar = pieces[2]
    assert jar.sides == (Decimal(72), Decimal(72), Decimal(64))
    assert (jar.shape, jar.upright, jar.fragile) == ("cylinder", True, True)


def test_clearance_is_the_shops_and_the_layout_lies_within_it() -> None:
    box = Packaging.model_validate({"box": [BOX_S]}, context=GBP).boxes[0]
    packing = settings(packing={"clearance": "5 mm"}).packing
    assert inside_of(box, packing).free == (Decimal(157), Decimal(117), Decimal(65))
    found = facts(ITEMS, gift_set([{"item": "B1"}, {"item": "J1"}])).variants[0]
    verdict = verdict_in(box, found.pieces, packing, stacked=False, searches=Searches())
    assert verdict.fits
    for laid in verdict.layout:
        assert laid.x >= Decimal("2.5")
        assert laid.x + laid.length <= Decimal("159.5")
        assert laid.z + laid.height <= Decimal(65)


def test_smallest_is_the_least_volume_that_holds_every_variant() -> None:
    boxes: list[dict[str, Any]] = [
        {**BOX_S, "code": code, "inside": inside}
        for code, inside in (("L", "260 x 190 x 75 mm"), ("S", "162 x 82 x 70 mm"), ("P", "138 x 60 x 56 mm"))
    ]
    slot: list[dict[str, Any]] = [{"item": "B1"}, {"slot": "Jar", "choose": ["J1"]}]
    found = facts(ITEMS, gift_set(slot, box="smallest"), packaging={"box": boxes})
    assert found.box is not None
    assert found.box.code == "S"
    assert found.variants[0].full_cost.amount > 0
