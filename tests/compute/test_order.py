"""Orders in figures on a small shop: tiers, cases, minimums, displays, stock."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.build import build_catalog
from listkit.compute.catalog import Pack
from listkit.compute.orders import (
    Lacking,
    Order,
    book_of,
    build_order,
    lacking,
    odd_displays,
    short_of,
    shorts,
    with_own_displays,
)
from listkit.compute.wholesale import Sheet, build_sheet
from listkit.units.money import Money
from tests.small_shop import CARD, gift_set, item, shop, wholesale

JARS = gift_set([{"item": "A-1"}, {"slot": "Jar", "choose": ["J-1", "J-2"]}], box="M")
BOX = {"code": "M", "inside": "200 x 160 x 90 mm", "weight": "80 g", "cost": "1.00"}
ITEMS = [
    item("A-1", on_hand="20"),
    item("J-1", retail="9.00", on_hand="10"),
    item("J-2", retail="11.00"),
]
DISPLAYS = {"SET-1": "SET-1 display"}


def sheet(**says: Any) -> Sheet:
    """Sets at half of 17.50 and 19.50 (7.50 + 9.00 or 11.00 + 1.00), from twelve at 45 %; the bar at 3.75."""
    terms = wholesale("SET-1", "A-1", **{"tier": [{"from": 12, "wholesale": "45 %"}], **says})
    made = build_sheet(build_catalog(shop(ITEMS, [JARS], wholesale=terms, packaging={"box": [BOX]})))
    assert made is not None
    return made


def order(of: Sheet, **wanted: int) -> Order:
    codes = {code.replace("_", "-").replace("-display", " display"): number for code, number in wanted.items()}
    return build_order(of, book_of(of, "CN69X", DISPLAYS), codes, DISPLAYS)


def test_lines_stand_in_the_order_of_the_sheet_and_add_up() -> None:
    """6 x 8.75 = 52.50, 4 x 3.75 = 15.00."""
    made = order(sheet(), A_1=4, SET_1_1=6)
    assert [(one.code, one.quantity, str(one.each), str(one.total)) for one in made.lines] == [
        ("SET-1-1", 6, "8.75", "52.50"),
        ("A-1", 4, "3.75", "15.00"),
    ]
    assert (str(made.total), made.pieces, made.sets) == ("67.50", 10, 6)


def test_all_choices_of_a_set_count_together_for_a_lower_price() -> None:
    """45 % of 17.50 is 7.875, half up 7.88; of 19.50 it is 8.775, 8.78."""
    eleven = order(sheet(), SET_1_1=6, SET_1_2=5)
    twelve = order(sheet(), SET_1_1=6, SET_1_2=6)
    assert [str(one.each) for one in eleven.lines] == ["8.75", "9.75"]
    assert [str(one.each) for one in twelve.lines] == ["7.88", "8.78"]
    assert str(twelve.total) == "99.96"


def test_cases_are_full_over_all_choices_where_they_may_be_mixed_else_for_each() -> None:
    mixed = sheet(case_pack={"sets": 6, "mixed": True})
    apart = sheet(case_pack={"sets": 6})
    assert list(shorts(order(mixed, SET_1_1=4, SET_1_2=2))) == []
    told = [(one.codes, one.missing, one.of, one.case) for one in shorts(order(apart, SET_1_1=7, SET_1_2=6))]
    assert told == [(("SET-1-1",), 5, 6, True)]


def test_a_minimum_is_told_beside_the_case() -> None:
    packed = sheet(case_pack={"items": 6}, minimum={"items": 12})
    told = [(one.ordered, one.missing, one.of, one.case) for one in shorts(order(packed, A_1=7))]
    assert told == [(7, 5, 12, False), (7, 5, 6, True)]


def test_a_display_set_goes_with_each_set_and_is_free_from_so_many() -> None:
    """Half of the cheapest, 8.75, is 4.375, half up 4.38."""
    of = sheet(display={"price": "half", "free_from": 12})
    few = order(of, SET_1_1=11, SET_1_display=1)
    many = order(of, SET_1_1=12, SET_1_display=1)
    assert (str(few.lines[-1].each), str(many.lines[-1].each), many.pieces) == ("4.38", "0.00", 12)
    assert list(odd_displays(few)) == []
    assert [one.code for one in odd_displays(order(of, SET_1_1=11, SET_1_display=2))] == ["SET-1 display"]
    assert [one.code for one in odd_displays(order(of, A_1=6, SET_1_display=1))] == ["SET-1 display"]


def test_displays_that_go_with_nothing_are_not_confirmed() -> None:
    """11 x 8.75 and one display at 4.38 are 100.63; six bars at 3.75 alone are 22.50."""
    of = sheet(display={"price": "half"})
    fewer = with_own_displays(order(of, SET_1_1=11, SET_1_display=3))
    assert [(one.code, one.quantity) for one in fewer.lines] == [("SET-1-1", 11), ("SET-1 display", 1)]
    assert str(fewer.total) == "100.63"
    alone = with_own_displays(order(of, A_1=6, SET_1_display=1))
    assert ([one.code for one in alone.lines], str(alone.total)) == (["A-1"], "22.50")
    agreed = order(of, SET_1_1=11, SET_1_display=1)
    assert with_own_displays(agreed) == agreed


def test_codes_that_the_sheet_has_not_are_strange() -> None:
    made = order(sheet(), A_1=6, NOBODY=2)
    assert (made.strange, made.pieces) == (("NOBODY",), 6)


def test_pieces_in_sets_and_alone_are_taken_from_one_shelf() -> None:
    """15 sets and 6 bars take 21 bars of 20; what is not counted is not told."""
    short = list(lacking(order(sheet(), SET_1_2=15, A_1=6)))
    assert short == [Lacking(ITEMS[0], 21, 20)]
    assert list(lacking(order(sheet(), SET_1_2=14, A_1=6))) == []


def test_every_set_takes_a_box_its_fill_and_a_card_and_so_does_its_display() -> None:
    """By hand: 11 sets and one display set are 12 boxes."""
    box = {**BOX, "on_hand": 11, "fill": {"weight": "9 g", "cost": "0.10", "on_hand": 10}}
    made = build_sheet(
        build_catalog(
            shop(
                ITEMS,
                [JARS],
                wholesale=wholesale("SET-1", "A-1", display={"price": "half"}),
                packaging={"box": [box], "card": {**CARD, "on_hand": 12}},
            )
        )
    )
    assert made is not None
    short = list(lacking(order(made, SET_1_2=11, SET_1_display=1, A_1=6)))
    assert short == [Lacking(Pack("box", "M", 11), 12, 11), Lacking(Pack("fill", "M", 10), 12, 10)]
    assert list(lacking(order(made, SET_1_2=10, A_1=6))) == []


def test_what_is_short_of_a_least_sum_is_exact() -> None:
    made = order(sheet(), A_1=4)
    assert str(short_of(made, Money(Decimal("15.01"), "GBP"))) == "0.01"
    assert short_of(made, Money(Decimal("15.00"), "GBP")) is None
    assert short_of(made, None) is None


@given(st.dictionaries(st.sampled_from(["SET-1-1", "SET-1-2", "A-1"]), st.integers(1, 400)))
def test_the_sum_is_that_of_the_lines_and_more_never_costs_less_each(wanted: dict[str, int]) -> None:
    of = sheet()
    book = book_of(of, "CN69X", DISPLAYS)
    made = build_order(of, book, wanted, DISPLAYS)
    more = build_order(of, book, {code: number + 12 for code, number in wanted.items()}, DISPLAYS)
    assert made.total.amount == sum(one.quantity * one.each.amount for one in made.lines)
    assert all(one.each.amount >= other.each.amount for one, other in zip(made.lines, more.lines, strict=True))


@pytest.mark.parametrize(("cost", "markup", "price"), [("311.00", "60 %", "497.60"), ("100", "25 %", "125.00")])
def test_margins_and_markups_are_two_names_of_one_price(cost: str, markup: str, price: str) -> None:
    """OpenStax, Contemporary Mathematics (2023), 6.2: cost 311.00 with a markup of 60 % sells at 497.60; a price of 125
    over a cost of 100 is 25 % on cost and 20 % on price (college guides): a rule "margin m" is the markup m/(1-m).
    """
    k = Decimal(markup.rstrip(" %")) / 100
    margin = k / (1 + k) * 100
    one = gift_set([{"item": "A-1"}], box="none", wholesale=f"margin {margin:.10f} %")
    of = shop([item("A-1", retail="2000", cost=cost)], [one], wholesale=wholesale("SET-1"))
    made = build_sheet(build_catalog(of))
    assert made is not None
    assert str(next(made.lines).wholesale) == price


def test_keystone_is_half_of_the_retail_price_before_tax() -> None:
    """Common practice, no source: keystone doubles what the shop pays; a markup of 100 % is a margin of 50 %."""
    one = gift_set([{"item": "A-1"}], box="none", wholesale="50 %")
    made = build_sheet(build_catalog(shop([item("A-1", retail="29.00")], [one], wholesale=wholesale("SET-1"))))
    assert made is not None
    line = next(made.lines)
    assert line.retail.amount == 2 * line.wholesale.amount == Decimal(29)


TRAY = {"code": "TRAY", "name": "Tray", "holds": {"SET-1-2": 2, "A-1": 3}, "price": "30", "free_from": "41.25"}


def test_a_display_set_takes_what_it_holds_and_is_free_from_the_worth_of_the_rest() -> None:
    """2 x 2 + 2 x 3 bars of A-1 for two trays, and 11 more: 21 of 20."""
    of = sheet(display_set=[TRAY])
    made = order(of, A_1=11, TRAY=2)  # 11 x 3.75
    assert [(one.code, str(one.total)) for one in made.lines] == [("A-1", "41.25"), ("TRAY", "0.00")]
    assert (str(made.total), made.sets) == ("41.25", 0)
    assert [(lack.ordered, lack.on_hand) for lack in lacking(made)] == [(21, 20)]
    assert str(order(of, A_1=10, TRAY=2).total) == "97.50"  # 37.50, and 60.00
    assert list(shorts(made)) == []


def test_the_sets_in_a_display_set_take_boxes() -> None:
    box = {**BOX, "on_hand": "11"}
    terms = wholesale("SET-1", "A-1", display_set=[TRAY])
    found = build_sheet(build_catalog(shop(ITEMS, [JARS], wholesale=terms, packaging={"box": [box]})))
    assert found is not None
    assert [(lack.ordered, lack.on_hand) for lack in lacking(order(found, TRAY=6)) if isinstance(lack.of, Pack)] == [
        (12, 11)
    ]


def test_a_display_set_of_very_many_sets_is_reckoned_and_not_laid_out() -> None:
    box = {**BOX, "on_hand": "11"}
    terms = wholesale("SET-1", "A-1", display_set=[{**TRAY, "holds": {"SET-1": 999_999_999}}])
    found = build_sheet(build_catalog(shop(ITEMS, [JARS], wholesale=terms, packaging={"box": [box]})))
    assert found is not None
    [boxes] = [lack for lack in lacking(order(found, TRAY=2)) if isinstance(lack.of, Pack)]
    assert (boxes.ordered, boxes.on_hand) == (1_999_999_998, 11)
