"""Boxes: what does not fit, what would lie down, what looks empty or may not close.

The limits are the shop's own; what looks empty or stuffed is common practice, no source.
"""

from typing import Any

from listkit.compute.build import build_catalog
from listkit.model.shop import Shop
from tests.check.found import found
from tests.small_shop import BOX_S, gift_set, item, shop

JAR = {"size": "72 x 72 x 64 mm", "shape": "cylinder", "upright": "yes", "weight": "232 g"}
ITEMS = [item("B1"), item("J1", **JAR), item("J2", **JAR)]
TWO: list[dict[str, Any]] = [{"item": "B1"}, {"slot": "Jar", "choose": ["J1", "J2"]}]


def told(code: str, of: Shop) -> list[str]:
    """Lines with one code; one function finds most codes of boxes."""
    return [str(problem) for problem in found(code, of) if problem.code == code]


def boxed(inside: str, *more: dict[str, Any], items: Any = None, **says: Any) -> Shop:
    """A bar and a jar to choose, in box S with this inside."""
    boxes = [{**BOX_S, "inside": inside, **says}, *more]
    return shop(items or ITEMS, [gift_set(TWO)], packaging={"box": boxes})


def test_a_box_that_holds_everything_snugly_gives_nothing() -> None:
    """A bar of 86 × 58 × 28 and a jar of 72 × 64 in 162 × 82 × 70 fill half of it; 3 mm are left free each way."""
    for code in ("box-too-small", "box-loose", "box-full", "lies-down", "box-overloaded"):
        assert told(code, boxed("162 x 82 x 70 mm")) == []


def test_one_millimetre_less_than_pieces_and_clearance_is_too_small() -> None:
    """Side by side the two take 86 + 72 = 158 mm, with 3 mm of clearance 161."""
    flat = [item("B1", size="86 x 72 x 64 mm"), *ITEMS[1:]]
    assert told("box-too-small", boxed("161 x 75 x 67 mm", items=flat)) == []
    for inside in ("160 x 75 x 67 mm", "161 x 74 x 67 mm", "161 x 75 x 66 mm"):
        assert len(told("box-too-small", boxed(inside, items=flat))) == 1


def test_the_next_larger_box_is_named_and_what_is_too_large_by_itself() -> None:
    larger = {**BOX_S, "code": "M", "inside": "210 x 160 x 75 mm"}
    assert told("box-too-small", boxed("162 x 70 x 70 mm", larger)) == [
        "Must fix · sets/set-1/set.toml: First Set does not fit in box S: J1 alone is too large, 72 mm where "
        "67 mm are free. Box M holds it."
    ]


def test_what_fits_only_when_stacked_is_told_so_before_a_larger_box_is_asked_for() -> None:
    """Two bars of 28 mm lie above each other in 60 mm of height, and nowhere beside each other in 90 × 62 mm."""
    bars = [item("B1"), item("B2")]
    two = gift_set([{"item": "B1"}, {"item": "B2"}])
    small = {**BOX_S, "inside": "90 x 62 x 60 mm"}
    free = "side by side the pieces do not go into the 87 × 59 × 57 mm that are free"
    told_of = f"First Set does not fit in box S: {free}. It fits when pieces lie above each other"
    begins = f"Must fix · sets/set-1/set.toml: {told_of}"
    assert told("box-too-small", shop(bars, [two], packaging={"box": [small]})) == [f"{begins}: write stacked = true."]
    larger = {**BOX_S, "code": "M", "inside": "182 x 62 x 60 mm"}
    assert told("box-too-small", shop(bars, [two], packaging={"box": [small, larger]})) == [
        f"{begins}: write stacked = true, or take box M."
    ]
    for word in ("smallest", "smallest each"):
        one = gift_set([{"item": "B1"}, {"item": "B2"}], box=word)
        [line] = told("box-too-small", shop(bars, [one], packaging={"box": [small]}))
        assert "Stacked they go into box S: write stacked = true." in line


def test_a_variant_that_no_box_holds_is_named_where_each_has_its_own() -> None:
    items = [ITEMS[0], ITEMS[1], item("J2", **{**JAR, "size": "90 x 90 x 64 mm"})]
    each = gift_set(TWO, box="smallest each")
    assert told("box-too-small", shop(items, [each], packaging={"box": [{**BOX_S, "inside": "165 x 82 x 70 mm"}]})) == [
        "Must fix · sets/set-1/set.toml: no box holds J2, large as it is, even alone. "
        "Add a larger box to packaging.toml, or take something out."
    ]


def test_one_variant_alone_is_named_when_the_others_fit() -> None:
    items = [ITEMS[0], ITEMS[1], item("J2", **{**JAR, "size": "90 x 90 x 64 mm"})]
    assert told("box-too-small", boxed("165 x 82 x 70 mm", items=items)) == [
        "Must fix · sets/set-1/set.toml: SET-1-J2 does not fit in box S: J2 alone is too large, 90 mm where "
        "79 mm are free. No box in packaging.toml holds it: add a larger one."
    ]


def test_a_jar_that_would_have_to_lie_is_told_as_such_and_not_as_a_small_box() -> None:
    tall = [ITEMS[0], *(item(code, **{**JAR, "size": "60 x 60 x 90 mm"}) for code in ("J1", "J2"))]
    low = boxed("190 x 95 x 70 mm", items=tall)
    assert told("box-too-small", low) == []
    assert told("lies-down", low) == [
        "Must fix · sets/set-1/set.toml: in box S J1 of First Set would have to lie down. "
        "No box in packaging.toml holds it: add a larger one."
    ]


def test_an_empty_looking_box_and_a_full_one_are_told_once_a_set() -> None:
    [loose] = told("box-loose", boxed("260 x 190 x 75 mm"))
    assert loose.startswith("Look at · sets/set-1/set.toml: SET-1-J1 fills 13 % of box S; ")
    [full] = told("box-full", boxed("103 x 89 x 67 mm"))
    assert full.startswith("Look at · sets/set-1/set.toml: SET-1-J1 fills 77 % of box S.")


def test_a_box_carries_what_its_maker_says() -> None:
    assert told("box-overloaded", boxed("162 x 82 x 70 mm", most_weight="351 g")) == []
    assert told("box-overloaded", boxed("162 x 82 x 70 mm", most_weight="350 g")) == [
        "Must fix · sets/set-1/set.toml: the pieces weigh up to 351 g; box S carries 350 g. "
        "Take a stronger box, or take something out."
    ]


def test_smallest_takes_the_smallest_that_holds_every_variant() -> None:
    boxes = [
        {**BOX_S, "code": code, "inside": inside}
        for code, inside in (("L", "260 x 190 x 75 mm"), ("S", "162 x 82 x 70 mm"), ("P", "138 x 60 x 56 mm"))
    ]
    own = shop(ITEMS, [gift_set(TWO, box="smallest")], packaging={"box": boxes})
    assert told("box-too-small", own) == []
    small = [{**BOX_S, "inside": "138 x 77 x 70 mm"}]
    none = shop(ITEMS, [gift_set(TWO, box="smallest")], packaging={"box": small})
    assert told("box-too-small", none) == [
        "Must fix · sets/set-1/set.toml: no box holds every variant. "
        "Add a larger box to packaging.toml, or take something out."
    ]


def test_without_a_smallest_box_what_is_too_large_is_named() -> None:
    box = {**BOX_S, "inside": "162 x 82 x 70 mm"}
    vase = item("V1", size="90 x 90 x 300 mm", upright="yes")
    own = shop([*ITEMS, vase], [gift_set([*TWO, {"item": "V1"}], box="smallest")], packaging={"box": [box]})
    assert told("box-too-small", own) == [
        "Must fix · sets/set-1/set.toml: no box holds V1, large as it is, even alone. "
        "Add a larger box to packaging.toml, or take something out."
    ]
    wide = [*ITEMS[:2], item("J2", **{**JAR, "size": "79 x 79 x 64 mm"})]
    own = shop(wide, [gift_set(TWO, box="smallest")], packaging={"box": [box]})
    assert told("box-too-small", own) == [
        "Must fix · sets/set-1/set.toml: no box holds SET-1-J2. "
        "Add a larger box to packaging.toml, or take something out."
    ]


def test_a_box_much_higher_than_its_pieces_is_told_once_a_set_of_the_lowest_variant() -> None:
    """The jar is 64 mm high: 94 mm of height leave the 30 mm that are ours, 95 mm leave more."""
    assert told("box-high", boxed("162 x 82 x 94 mm")) == []
    assert told("box-high", boxed("162 x 82 x 95 mm")) == [
        "Look at · sets/set-1/set.toml: SET-1-J1 leaves 31 of the 95 mm of height in box S free. "
        "Above 30 mm a box looks deep: raise the pieces on fill, or take a lower one."
    ]


def test_smallest_takes_a_box_that_carries_the_heaviest_variant() -> None:
    weak, strong = {**BOX_S, "most_weight": "350 g"}, {**BOX_S, "code": "M", "inside": "210 x 160 x 75 mm"}
    heavier = [*ITEMS[:2], item("J2", **{**JAR, "weight": "232 g"})]
    for items, code in ((heavier, "M"), ([item("B1", weight="118 g"), *ITEMS[1:]], "S")):
        facts = build_catalog(shop(items, [gift_set(TWO, box="smallest")], packaging={"box": [weak, strong]})).sets[0]
        assert facts.box is not None
        assert facts.box.code == code
    none = shop(ITEMS, [gift_set(TWO, box="smallest")], packaging={"box": [weak]})
    assert told("box-too-small", none) == [
        "Must fix · sets/set-1/set.toml: no box carries the 351 g of First Set. "
        "Add a larger box to packaging.toml, or take something out."
    ]


def test_of_variants_with_the_same_sides_the_one_too_heavy_for_every_box_that_holds_it_is_named() -> None:
    """S holds both and carries 360 g, T carries all and holds neither: 351 g go into S, 419 g nowhere."""
    boxes = [{**BOX_S, "most_weight": "360 g"}, {**BOX_S, "code": "T", "inside": "89 x 75 x 67 mm"}]
    heavy = [*ITEMS[:2], item("J2", **{**JAR, "weight": "300 g"})]
    assert told("box-too-small", shop(heavy, [gift_set(TWO, box="smallest")], packaging={"box": boxes})) == [
        "Must fix · sets/set-1/set.toml: no box holds SET-1-J2. "
        "Add a larger box to packaging.toml, or take something out."
    ]


def test_the_larger_box_that_is_named_carries_the_heaviest_of_all_that_do_not_fit() -> None:
    weak = {**BOX_S, "code": "M", "inside": "210 x 160 x 75 mm", "most_weight": "360 g"}
    strong = {**BOX_S, "code": "L", "inside": "260 x 190 x 75 mm"}
    heavy = [*ITEMS[:2], item("J2", **{**JAR, "weight": "300 g"})]
    assert told("box-too-small", boxed("162 x 70 x 70 mm", weak, strong, items=heavy)) == [
        "Must fix · sets/set-1/set.toml: First Set does not fit in box S: J1 alone is too large, 72 mm where "
        "67 mm are free. Box L holds it."
    ]
