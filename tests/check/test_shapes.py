"""Round pieces that are not round, boxes larger inside than outside, parcels that no rate takes.

Geometry by hand; no source.
"""

from typing import Any

from listkit.problem import Place
from tests.check.found import found, told
from tests.small_shop import BOX_S, item, shop


def test_a_cylinder_with_unlike_sides_is_told_and_a_lying_one_is_measured_as_it_stands() -> None:
    items = [
        item("A-1", shape="cylinder", size="72 x 70 x 64 mm"),
        item("A-2", shape="ball", size="60 x 60 x 58 mm"),
        item("A-3", shape="cylinder", size="18 x 18 x 70 mm"),
        item("A-4", shape="cylinder", size="72 x 70 x 64 mm", status="closed"),
    ]
    assert told("shape-wrong", shop(items, [])) == [
        "Must fix · items.csv, row A-1, column size: A-1 is a cylinder of 72 × 70 × 64 mm. "
        'Measure length and width again: they are alike. Or write "box" as its shape.',
        "Must fix · items.csv, row A-2, column size: A-2 is a ball of 60 × 60 × 58 mm. "
        'Measure all three sides again: they are alike. Or write "box" as its shape.',
    ]


def boxes(*cases: dict[str, Any], **says: Any) -> list[str]:
    of = shop([item("A-1")], [], packaging={"box": [{**BOX_S, **says}], "case": list(cases)})
    return told("inside-larger", of)


def test_a_box_larger_inside_than_outside_is_told_side_by_side() -> None:
    assert boxes(outside="166 x 126 x 74 mm") == []
    assert boxes(outside="162 x 122 x 70 mm") == []  # thin film has hardly any thickness
    assert boxes(outside="158 x 126 x 66 mm") == [
        "Must fix · packaging.toml: box S: length 162 mm inside and 158 mm outside and height 70 mm inside and 66 mm "
        "outside. Measure both again, length, width and height in the same order."
    ]


def test_a_closed_box_goes_into_its_carton_and_may_be_turned_in_it() -> None:
    carton = {"outside": "100 x 190 x 150 mm", "weight": "88 g"}
    assert boxes(outside="166 x 126 x 74 mm", carton=carton) == []
    small = {"outside": "190 x 150 x 70 mm", "weight": "88 g"}
    assert boxes(outside="166 x 126 x 74 mm", carton=small) == [
        "Must fix · packaging.toml: box S of 166 × 126 × 74 mm does not go into its carton of 190 × 150 × 70 mm. "
        "Measure both again; a carton is larger than the closed box in it."
    ]
    assert boxes(carton={**small, "outside": "190 x 150 x 69 mm"}) != []  # 70 mm high inside already


def test_a_case_is_larger_outside_too() -> None:
    case = {"code": "C", "inside": "410 x 310 x 260 mm", "outside": "420 x 300 x 272 mm", "weight": "410 g"}
    of = shop([item("A-1")], [], packaging={"box": [BOX_S], "case": [case]})
    [problem] = found("inside-larger", of)
    assert problem.place == Place("packaging.toml", key=("case", 0, "outside"))
    assert problem.message == "case C: width 310 mm inside and 300 mm outside."
