"""What does not agree in an order, on a small shop: each kind once, in the words that its owner reads.

The source of each rule is the terms in wholesale.toml; figures are worked out by hand.
"""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from listkit import bounds
from listkit.check.orders import OrderCase, check_order, is_first, no_version
from listkit.check.rules import leveled
from listkit.compute.build import build_catalog
from listkit.compute.given_out import GivenOut, LinePrices, PriceBook, SheetHistory
from listkit.compute.orders import book_of, build_order, quantities_of
from listkit.compute.wholesale import build_sheet
from listkit.model.shop import Shop
from listkit.model.wholesale import FormRow, OrderForm, Stockist
from listkit.problem import Level, Place
from listkit.units.spoken import Spoken
from tests.small_shop import BOX_S, CARD, gift_set, item, shop, wholesale
from tests.steps import calls

DISPLAYS = {"SET-1": "SET-1 display"}
TODAY = date(2027, 2, 1)
OLD = GivenOut("B4C6D", date(2027, 1, 15), date(2027, 1, 15), date(2027, 7, 1), 1)
NOW = SheetHistory("CN69X", (OLD,))
SPOKEN = Spoken("en-GB", "GBP")


def row(code: str, quantity: int, *prices: str) -> FormRow:
    place = Place("form.xlsx", 20, code, "Quantity")
    return FormRow(place, code, str(quantity), quantity, tuple(map(Decimal, prices)))


def small(**says: Any) -> Shop:
    """A set at half of 8.50, 4.25, and its bar at 3.75."""
    terms = wholesale("SET-1", "A-1", **says)
    return shop([item("A-1", on_hand="30")], [gift_set([{"item": "A-1"}])], wholesale=terms)


def told(
    *rows: FormRow,
    of: Shop | None = None,
    book: PriceBook | None = None,
    today: date = TODAY,
    first: bool | None = False,
    wanted_by: str = "",
) -> list[str]:
    made = of or small()
    sheet = build_sheet(build_catalog(made))
    assert sheet is not None
    form = OrderForm("form.xlsx", "CN69X", (("deliver_by", wanted_by),), rows)
    book = book or book_of(sheet, "CN69X", DISPLAYS)
    order = build_order(sheet, book, quantities_of(form), DISPLAYS)
    case = OrderCase(form, order, sheet, book, NOW, today, first, SPOKEN)
    return [f"{leveled(problem)}  {problem.code}" for problem in check_order(case, made)]


def test_a_form_without_its_sheet_may_have_the_prices_of_an_older_one() -> None:
    """It is for the owner to say which, before anybody is blamed for a changed cell."""
    made = small()
    sheet = build_sheet(build_catalog(made))
    assert sheet is not None
    form = OrderForm("form.xlsx", "", (), (row("SET-1", 6, "4.00"),))
    book = book_of(sheet, "CN69X", DISPLAYS)
    case = OrderCase(
        form, build_order(sheet, book, quantities_of(form), DISPLAYS), sheet, book, NOW, TODAY, False, SPOKEN
    )
    [found] = [one for one in check_order(case, made) if one.code == "price-differs"]
    assert found.hint.startswith("The form names no sheet: say which it was filled in by with --sheet.")


@pytest.mark.parametrize("wanted_by", ["2027-03-01", "2027-03-01 00:00:00"])
def test_a_day_before_anything_ships_is_told(wanted_by: str) -> None:
    of = small(window={"order_by": date(2027, 2, 28), "ships_from": date(2027, 3, 15)})
    assert told(row("SET-1", 6), of=of, wanted_by=wanted_by) == [
        'Look at · form.xlsx: it is wanted by 1 March 2027, and "Lines" ships from 15 March 2027. '
        "Ask whether later will do.  order-late"
    ]
    for later in ("2027-03-15", "before Mother's Day", ""):
        assert told(row("SET-1", 6), of=of, wanted_by=later) == []


def test_an_order_that_agrees_is_passed_in_silence() -> None:
    assert told(row("SET-1", 6, "4.25"), row("A-1", 12, "3.75")) == []


def test_a_code_that_is_not_on_the_sheet_is_told_with_its_nearest() -> None:
    assert told(row("A-1", 6), row("SET-11", 2)) == [
        'Must fix · form.xlsx, row SET-11: there is no "SET-11" on CN69X. Ask whether SET-1 is meant.  unknown-code'
    ]


def test_for_very_many_codes_that_are_not_on_the_sheet_none_is_looked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bounds, "FORM_COMPARED", 6)
    said = told(row("SET-2", 6), row("A-11", 6), row("A-12", 6))
    assert [each.split(". ")[1] for each in said[:3]] == [
        "Ask whether SET-1 is meant", "Ask whether A-1 is meant", "Ask what is meant",
    ]  # fmt: skip


def test_a_code_of_the_shop_that_shops_do_not_buy_is_not_taken_for_another() -> None:
    made = shop(
        [item("A-1", on_hand="30"), item("A-2")],
        [gift_set([{"item": "A-1"}]), gift_set([{"slot": "Bar", "choose": ["A-1", "A-2"]}], code="SET-2")],
        wholesale=wholesale("SET-1", "A-1", "SET-2"),
    )
    only = shop([item("A-1"), item("A-2")], [gift_set([{"item": "A-1"}])], wholesale=wholesale("SET-1", "A-1"))
    assert told(row("A-2", 6), row("SET-1", 6), of=only) == [
        "Must fix · form.xlsx, row A-2: A-2 is no line of CN69X. It is not sold to shops; offer something else.  "
        "unknown-code"
    ]
    [which] = told(row("SET-2", 6), row("SET-1", 6), of=made)
    assert "SET-2 comes in several choices. Ask which is meant: SET-2-1 and SET-2-2.  unknown-code" in which
    [small_letters] = told(row("set-1", 6), row("A-1", 6))
    assert "Ask whether SET-1 is meant." in small_letters


def test_a_line_of_an_older_sheet_that_is_gone_is_no_longer_made() -> None:
    prices = (("SET-1", LinePrices(Decimal("4.25"))), ("OLD-1", LinePrices(Decimal("5.00"))))
    lines = told(row("OLD-1", 2), row("SET-1", 2), book=PriceBook("B4C6D", date(2027, 7, 1), prices))
    assert lines == [
        "Look at · form.xlsx: it is ordered by B4C6D, and the sheet of today is CN69X. "
        "The prices of the older one hold; send the new one too.  order-late",
        "Must fix · form.xlsx, row OLD-1: OLD-1 is no longer made. Offer something else.  unknown-code",
    ]


def test_a_line_that_is_newer_than_the_sheet_is_told_with_the_sheet_that_has_it() -> None:
    book = PriceBook("B4C6D", date(2027, 7, 1), (("SET-1", LinePrices(Decimal("4.25"))),))
    _, line = told(row("A-1", 6), row("SET-1", 2), book=book)
    assert "A-1 does not stand on B4C6D yet. Ask for an order by CN69X, which has it.  unknown-code" in line


def test_prices_that_have_ended_are_not_confirmed() -> None:
    ended = PriceBook("B4C6D", date(2027, 1, 31), (("SET-1", LinePrices(Decimal("4.25"))),))
    [line] = told(row("SET-1", 2), book=ended)
    assert line.startswith("Must fix · form.xlsx: the prices of B4C6D held until 31 January 2027.")


def test_a_price_cell_that_was_changed_is_told() -> None:
    assert told(row("SET-1", 6, "4.00")) == [
        "Must fix · form.xlsx, row SET-1: the form says £4.00 for SET-1; CN69X says £4.25. "
        "A cell was changed; tell the shop that the sheet's price holds.  price-differs"
    ]
    assert told(row("SET-1", 6, "4.250")) == []
    [line] = told(row("SET-1", 6, "4.25", "3.00"))
    assert "the form says £3.00 for SET-1; CN69X says no such price." in line


def test_cases_and_minimums_are_asked_for_with_what_is_missing() -> None:
    packed = small(case_pack={"items": 6}, minimum={"sets": 4})
    assert told(row("A-1", 7), row("SET-1", 3), of=packed) == [
        "Must fix · form.xlsx, row SET-1, column Quantity: 3 of SET-1 are ordered; 1 more make the least of 4. "
        "Ask for so many more, or fewer.  order-packs",
        "Must fix · form.xlsx, row A-1, column Quantity: 7 of A-1 are ordered; 5 more make full cases of 6. "
        "Ask for so many more, or fewer.  order-packs",
    ]


def test_a_display_set_alone_is_told() -> None:
    [line] = told(row("A-1", 6), row("SET-1 display", 1), of=small(display={"price": "half"}))
    assert "1 of SET-1 display is ordered. One goes with each kind of set that is ordered." in line


@pytest.mark.parametrize(
    ("first", "level", "says"),
    [
        (True, Level.MUST_FIX, "it comes to £45.00, £55.00 short of £100.00 for a first order."),
        (None, Level.LOOK_AT, "it comes to £45.00, £55.00 short of £100.00 if it is a first order."),
        (False, None, ""),
    ],
)
def test_the_least_sum_of_a_first_order_holds_for_first_orders(
    first: bool | None, level: Level | None, says: str
) -> None:
    lines = told(row("A-1", 12), of=small(opening="100", reorder="40"), first=first)
    assert len(lines) == (level is not None)
    assert all(line.startswith(f"{level} · form.xlsx: {says}") for line in lines)


def test_a_later_order_has_a_least_sum_too_and_an_empty_one_is_told() -> None:
    [line] = told(row("A-1", 6), of=small(opening="100", reorder="40"))
    assert "it comes to £22.50, £17.50 short of £40.00 for an order." in line
    [line] = told()
    assert "nothing is ordered." in line


def test_windows_that_have_closed_are_told_once_each() -> None:
    window = {"order_by": date(2027, 1, 31), "ships_from": date(2027, 2, 10), "ships_until": date(2027, 3, 1)}
    of = small(window=window)
    assert told(row("A-1", 6), row("SET-1", 2), of=of, today=date(2027, 1, 31)) == []
    [line] = told(row("A-1", 6), row("SET-1", 2), of=of)
    assert line.startswith('Look at · form.xlsx: "Lines" was to be ordered by 31 January 2027.')
    [line] = told(row("A-1", 6), of=of, today=date(2027, 3, 2))
    assert line.startswith('Must fix · form.xlsx: "Lines" was sent until 1 March 2027.')


def test_what_is_not_on_hand_is_told_where_it_is_counted() -> None:
    assert told(row("A-1", 25), row("SET-1", 6)) == [
        "Must fix · items.csv, row A-1, column on hand: 31 pieces of A-1 are ordered, 30 are on hand. "
        "Make 1 more before it ships.  order-stock"
    ]


def test_boxes_fills_and_cards_that_are_not_on_hand_are_told_where_they_are_counted() -> None:
    """Fifty boxed sets of seventeen boxes: 33 are missing."""
    box = {**BOX_S, "on_hand": 17, "fill": {"weight": "10 g", "cost": "0.10", "on_hand": 49}}
    packaging = {"box": [box], "card": {**CARD, "on_hand": 50}}
    of = shop([item("A-1")], [gift_set([{"item": "A-1"}])], wholesale=wholesale("SET-1"), packaging=packaging)
    assert told(row("SET-1", 50), of=of) == [
        "Must fix · packaging.toml: box S is needed 50 times, 17 are on hand. "
        "Get 33 more before it ships.  order-stock",
        "Must fix · packaging.toml: fill of box S is needed 50 times, 49 are on hand. "
        "Get 1 more before it ships.  order-stock",
    ]
    assert told(row("SET-1", 17), of=of) == []


def test_a_code_in_two_rows_is_added_up_and_told() -> None:
    [line] = told(row("A-1", 6), row("A-1", 6))
    assert line.startswith("Look at · form.xlsx, row A-1, column Quantity: A-1 stands in 2 rows; they are added up.")


def test_of_a_version_that_never_was_the_known_ones_are_named() -> None:
    assert str(no_version(Place("form.xlsx"), "QQQQQ", NOW)) == (
        'Must fix · form.xlsx: there was no line sheet "QQQQQ". '
        "Ask which sheet was ordered by; known are CN69X and B4C6D."
    )


def test_whether_it_is_a_first_order_is_what_the_form_says_else_what_stockists_say() -> None:
    known = (Stockist(code="ST-1", name="The Sluice Shop", email="shop@mill.example", since="2025"),)

    def first(**says: str) -> bool | None:
        return is_first(OrderForm("form.xlsx", "", tuple(says.items()), ()), ("yes", "no"), known)

    assert (first(first_order="Yes"), first(first_order="no", shop="New")) == (True, False)
    assert first(first_order="Yes please", shop="the sluice shop") is None
    assert (first(shop="the sluice shop"), first(email="SHOP@mill.example"), first(shop="New")) == (False, False, None)


def test_the_terms_decide_what_becomes_of_an_order_beyond_the_stock() -> None:
    for terms, level in (("ask", "Must fix"), ("refuse", "Must fix"), ("confirm", "Look at")):
        made = shop(
            [item("A-1", on_hand="30")], [gift_set([{"item": "A-1"}])],
            wholesale=wholesale("SET-1", "A-1", beyond_stock=terms),
        )  # fmt: skip
        [line] = told(row("A-1", 31), of=made)
        assert line.startswith(f"{level} · items.csv, row A-1, column on hand: 31 pieces of A-1 are ordered")


def test_a_choice_that_is_no_line_is_answered_with_the_two_that_are_most_like_it() -> None:
    slot = {"slot": "Bar", "choose": ["A-1", "A-2", "B-7"]}
    made = shop([item("A-1"), item("A-2"), item("B-7")], [gift_set([slot], code="SET-2")], wholesale=wholesale("SET-2"))
    line, *_ = told(row("SET-2-9", 6), of=made)
    assert line == (
        "Must fix · form.xlsx, row SET-2-9: SET-2-9 is no line of CN69X. Ask which is meant: of SET-2 there are "
        "SET-2-1 and SET-2-2.  unknown-code"
    )


def steps_of(count: int) -> int:
    """Return the calls for as many wrong codes as there are items beside those of the small shop."""
    whole = small()
    many = replace(whole, items=(*whole.items, *(item(f"Z{at}") for at in range(count))))
    rows = tuple(row(f"Y{at}-A", 1) for at in range(count))
    return calls(lambda: told(*rows, of=many))


def test_four_times_as_many_wrong_codes_cost_four_times_as_much() -> None:
    """Each was held against every item."""
    assert steps_of(800) < 6 * steps_of(200)
