"""box = "smallest each": every variant lies in the smallest box that holds it, and all that hangs on a box follows.

Sums by hand; no source.
"""

from collections.abc import Iterator
from decimal import Decimal
from itertools import permutations, product
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.build import build_catalog
from listkit.compute.catalog import SetFacts
from listkit.compute.orders import Order, OrderLine, lacking
from listkit.compute.wholesale import build_sheet
from tests.small_shop import CARD, facts, gift_set, item, settings, shop, wholesale

Sides = tuple[int, int, int]
NO_AIR = settings(packing={"clearance": "0 mm"})


def box(code: str, sides: Sides, **says: Any) -> dict[str, Any]:
    """A box of so many whole centimetres inside, that weighs and costs as many grams and pence as it has cm³."""
    volume = sides[0] * sides[1] * sides[2]
    inside = "x".join(f"{side * 10}" for side in sides)
    return {
        "code": code,
        "inside": f"{inside} mm",
        "outside": " x ".join(f"{side * 10 + 4}" for side in sides) + " mm",
        "weight": f"{volume} g",
        "cost": f"{Decimal(volume) / 100}",
        "carton": {"outside": " x ".join(f"{side * 10 + 20}" for side in sides) + " mm", "weight": "50 g"},
        **says,
    }


def piece(code: str, sides: Sides, **says: Any) -> Any:
    """A block of so many whole centimetres."""
    return item(code, size=" x ".join(f"{side * 10}" for side in sides) + " mm", **says)


def poses(sides: Sides) -> set[Sides]:
    """Every way a block may lie."""
    return set(permutations(sides))  # type: ignore[arg-type]


def lies(pieces: list[Sides], room: Sides, taken: frozenset[tuple[int, int]] = frozenset()) -> bool:
    """Whether all blocks lie side by side on the floor of a room, tried on every square centimetre of it."""
    if not pieces:
        return True
    for long, wide, high in poses(pieces[0]):
        if high > room[2]:
            continue
        for x, y in product(range(room[0] - long + 1), range(room[1] - wide + 1)):
            squares = frozenset(product(range(x, x + long), range(y, y + wide)))
            if not squares & taken and lies(pieces[1:], room, taken | squares):
                return True
    return False


SIDES = st.tuples(*[st.integers(1, 4)] * 3)


@given(
    fixed=st.lists(SIDES, min_size=1, max_size=2),
    options=st.lists(SIDES, min_size=2, max_size=3),
    rooms=st.lists(st.tuples(*[st.integers(2, 6)] * 3), min_size=1, max_size=3),
)
def test_each_variant_lies_in_the_smallest_box_in_which_a_way_is_found_by_trying_all(
    fixed: list[Sides], options: list[Sides], rooms: list[Sides]
) -> None:
    """Whole centimetres, so that blocks pushed to the left and to the front lie on whole centimetres too."""
    items = [piece(f"F-{at}", sides) for at, sides in enumerate(fixed)]
    items += [piece(f"O-{at}", sides) for at, sides in enumerate(options)]
    contents: list[dict[str, Any]] = [{"item": f"F-{at}"} for at in range(len(fixed))]
    contents.append({"slot": "Jar", "choose": [f"O-{at}" for at in range(len(options))]})
    boxes = [box(f"X{at}", room) for at, room in enumerate(rooms)]
    computed = facts(
        items, gift_set(contents, box="smallest each"), settings=NO_AIR, packaging={"box": boxes, "card": CARD}
    )
    by_size = sorted(range(len(rooms)), key=lambda at: (rooms[at][0] * rooms[at][1] * rooms[at][2], f"X{at}"))
    expected = [next((f"X{at}" for at in by_size if lies([*fixed, option], rooms[at])), None) for option in options]
    assert [each.box.code if each.box else None for each in computed.variants] == expected


SMALL, LARGE = box("S", (8, 6, 4), on_hand=3), box("L", (12, 10, 7), on_hand=5)
JAR: dict[str, Any] = {"slot": "Jar", "choose": ["J-1", "J-2"]}
ITEMS = [piece("B-1", (4, 5, 3)), piece("J-1", (4, 4, 4)), piece("J-2", (7, 7, 7))]


def two_boxes(**says: Any) -> SetFacts:
    """A bar with a small or a large jar, each in its own box."""
    return facts(
        ITEMS,
        gift_set([{"item": "B-1"}, JAR], box="smallest each"),
        settings=NO_AIR,
        packaging={"box": [LARGE, SMALL], "card": CARD},
        **says,
    )


def test_weight_cost_parcel_fill_and_stock_are_those_of_the_variants_own_box() -> None:
    """By hand: 2 × 119 g of pieces, 14 g of card, a box of 192 g or 840 g, a carton of 50 g."""
    small, large = two_boxes().variants
    assert (small.box and small.box.code, large.box and large.box.code) == ("S", "L")
    assert [each.weights.gift.grams for each in (small, large)] == [444, 1092]
    assert [each.weights.parcel and each.weights.parcel.grams for each in (small, large)] == [494, 1142]
    assert [each.full_cost.amount for each in (small, large)] == [Decimal("5.80"), Decimal("12.28")]
    assert [each.fill_share for each in (small, large)] == [Decimal(60 + 64) / 192, Decimal(60 + 343) / 840]
    assert [each.can_make for each in (small, large)] == [3, 5]
    assert small.price == large.price  # the uplift is the shop's, not the box's


def test_a_set_is_shown_with_the_largest_of_its_boxes_and_takes_of_both() -> None:
    computed = two_boxes()
    assert (computed.box and computed.box.code, [each.code for each in computed.boxes]) == ("L", ["S", "L"])
    assert [pack.name for pack in computed.packs] == ["box S", "box L", "the card"]


def test_a_wholesale_rule_that_goes_by_cost_and_the_papers_follow_the_box() -> None:
    rules = settings(packing={"clearance": "0 mm"}, prices={"set_wholesale": "margin 50 %"})
    made = shop(
        ITEMS,
        [gift_set([{"item": "B-1"}, JAR], box="smallest each")],
        settings=rules,
        packaging={"box": [LARGE, SMALL], "card": CARD},
        wholesale=wholesale("SET-1"),
    )
    sheet = build_sheet(build_catalog(made))
    assert sheet is not None
    [entry] = sheet.entries
    assert [line.wholesale.amount for line in entry.lines] == [Decimal("11.60"), Decimal("24.56")]
    assert [[side / 10 for side in size.sides] for size in entry.outsides] == [
        [Decimal("8.4"), Decimal("6.4"), Decimal("4.4")],
        [Decimal("12.4"), Decimal("10.4"), Decimal("7.4")],
    ]
    lines = tuple(
        OrderLine(line.code, sheet.groups[0], entry, line, quantity=4, each=line.wholesale, total=line.wholesale)
        for line in entry.lines
    )
    short = [(each.of.name, each.ordered, each.on_hand) for each in lacking(Order("", lines, (), lines[0].total))]
    assert short == [("box S", 4, 3)]


def counts(most: int, kinds: int) -> Iterator[tuple[int, ...]]:
    """Every number of each of so many kinds."""
    return product(range(most + 1), repeat=kinds)


@given(hand=st.tuples(*[st.integers(0, 4)] * 3), boxes=st.tuples(*[st.one_of(st.none(), st.integers(0, 4))] * 2))
def test_how_many_can_be_made_of_all_is_what_trying_every_number_of_each_gives(
    hand: tuple[int, int, int], boxes: tuple[int | None, int | None]
) -> None:
    small, large = ({**each, "on_hand": number} for each, number in zip((SMALL, LARGE), boxes, strict=True))
    items = [each.model_copy(update={"on_hand": number}) for each, number in zip(ITEMS, hand, strict=True)]
    computed = facts(
        items,
        gift_set([{"item": "B-1"}, JAR], box="smallest each"),
        settings=NO_AIR,
        packaging={"box": [large, small]},
    )
    most = max(
        one + two
        for one, two in counts(4, 2)
        if one + two <= hand[0]
        and one <= hand[1]
        and two <= hand[2]
        and (boxes[0] is None or one <= boxes[0])
        and (boxes[1] is None or two <= boxes[1])
    )
    assert computed.can_make == most
