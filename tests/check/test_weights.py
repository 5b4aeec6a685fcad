"""Checks of weights on small shops.

Sums by hand; limits are common practice, no source.
"""

from tests.check.found import found, told
from tests.small_shop import BOX_S, CARD, gift_set, item, shop


def test_a_weight_of_nothing_is_told_for_items_boxes_and_cartons() -> None:
    box = {**BOX_S, "weight": "0 g", "carton": {**BOX_S["carton"], "weight": "0 g"}}
    of = shop([item("A-1", weight="0 g"), item("A-2", weight="0 g", status="closed")], [], packaging={"box": [box]})
    assert told("weight-missing", of) == [
        "Must fix · items.csv, row A-1, column weight: A-1 weighs 0 g. Weigh one piece, filled and closed.",
        "Must fix · packaging.toml: box S weighs 0 g. Weigh an empty one.",
        "Must fix · packaging.toml: the carton of box S weighs 0 g. Weigh an empty one.",
    ]
    assert found("weight-below-net", of) == []


def test_gross_is_never_below_net_but_millilitres_are_not_compared() -> None:
    items = [
        item("A-1", net="4 x 25 g", weight="99.9 g"),
        item("A-2", net="110 g", weight="110 g"),
        item("A-3", net="100 ml", weight="90 g"),
        item("A-4", net="4 oz", weight="113 g"),
    ]
    assert told("weight-below-net", shop(items, [])) == [
        "Must fix · items.csv, row A-1, column weight: A-1 weighs 99.9 g, less than the 4 x 25 g in it. "
        "Weigh one piece, filled and closed, or mend its net content.",
        "Must fix · items.csv, row A-4, column weight: A-4 weighs 113 g, less than the 4 oz in it. "
        "Weigh one piece, filled and closed, or mend its net content.",
    ]


def test_a_box_without_carton_is_told_once_with_its_sets() -> None:
    box = {key: value for key, value in BOX_S.items() if key != "carton"}
    sets = [gift_set([{"item": "A-1"}], code=f"S-{n}", name=f"Set {n}") for n in (1, 2)]
    loose = gift_set([{"item": "A-1"}], code="S-3", box="none")
    (problem,) = found("carton-missing", shop([item("A-1")], [*sets, loose], packaging={"box": [box], "card": CARD}))
    assert problem.message == "box S has no carton, so there is no parcel weight for Set 1 and Set 2."
    assert problem.place.key == ("box", 0)
