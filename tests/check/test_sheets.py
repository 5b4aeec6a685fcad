"""Checks of line sheets in other hands on small shops."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from listkit.check.wholesale import version_of
from listkit.compute.given_out import GivenLine, GivenOut, PreviousSheet, SheetHistory
from listkit.model.shop import Shop
from listkit.model.wholesale import Stockist
from listkit.problem import Level
from listkit.units.money import Money
from tests.check.found import found, run, told
from tests.small_shop import channel, gift_set, item, listings, settings, shop, wholesale

ONE = gift_set([{"item": "A-1"}])
OLD = GivenOut("B4C6D", date(2027, 1, 15), date(2027, 1, 15), date(2027, 7, 1), 1)
NEW = GivenOut("LCGXF", date(2027, 2, 1), date(2027, 2, 1), date(2027, 8, 1), 2)


def lines(code: str, of: Shop, history: SheetHistory, today: date = date(2027, 3, 1)) -> list[str]:
    return [str(problem) for problem in run(code, listings(of), today, history)]


def holding(*sheets: str) -> Shop:
    held = tuple(Stockist(code=f"S{at}", name=f"Shop {at}", sheet=sheet) for at, sheet in enumerate(sheets))
    return shop([item("A-1")], [ONE], wholesale=wholesale("SET-1"), stockists=held)


def test_stockists_with_a_sheet_that_was_replaced_are_named_once_a_version() -> None:
    of = holding("B4C6D", "LCGXF", "", "spring-2027-01-15-b4c6d.pdf")
    assert lines("stockist-stale", of, SheetHistory("LCGXF", (OLD, NEW))) == [
        "Look at · stockists.csv, row S0, column sheet: Shop 0 and Shop 3 hold B4C6D, recorded on 15 January 2027, "
        "which LCGXF replaced. Send LCGXF, the one of today, and write that here."
    ]


def test_while_the_next_sheet_is_made_the_last_one_counts_until_its_prices_end() -> None:
    history = SheetHistory("ZZZZZ", (OLD, NEW))
    assert lines("stockist-stale", holding("LCGXF"), history, date(2027, 8, 1)) == []
    [line] = lines("stockist-stale", holding("LCGXF"), history, date(2027, 8, 2))
    assert "Shop 0 holds LCGXF, whose prices held until 1 August 2027. Send ZZZZZ" in line


def test_a_version_that_nobody_recorded_is_told_and_without_terms_for_shops_nothing_is() -> None:
    [line] = lines("stockist-stale", holding("QQQQQ"), SheetHistory("LCGXF"))
    assert "Shop 0 holds QQQQQ, which is no version that was recorded." in line
    assert lines("stockist-stale", holding("QQQQQ"), SheetHistory()) == []


@pytest.mark.parametrize("text", ["CN69X", " cn69x ", "spring-2027-01-15-CN69X", "line-sheet-CN69X.pdf"])
def test_a_version_is_found_in_whatever_its_owner_copied(text: str) -> None:
    assert version_of(text) == "CN69X"


def gbp(amount: str) -> Money:
    return Money(Decimal(amount), "GBP")


def test_prices_that_moved_need_a_later_day_of_issue() -> None:
    before = PreviousSheet("B4C6D", (GivenLine("SET-1", gbp("4.00"), gbp("8.50")),), date(2027, 1, 15))
    history = SheetHistory("LCGXF", (OLD,), before)

    def of(issued: date) -> Shop:
        return shop([item("A-1")], [ONE], wholesale=wholesale("SET-1", issued=issued))

    [line] = lines("sheet-older", of(date(2027, 1, 15)), history)
    assert line.startswith(
        "Must fix · wholesale.toml: the sheet is of 15 January 2027, older than its prices: on B4C6D SET-1 was £4.00 "
        "and is £4.25 now. Write the day of the new one: issued = 2027-03-01."
    )
    assert lines("sheet-older", of(date(2027, 1, 16)), history) == []
    assert lines("sheet-older", of(date(2027, 1, 15)), SheetHistory("LCGXF")) == []


def test_lines_that_came_or_went_make_no_sheet_older() -> None:
    before = PreviousSheet("B4C6D", (GivenLine("GONE", gbp("4.00"), gbp("8.50")),), date(2027, 1, 15))
    of = shop([item("A-1")], [ONE], wholesale=wholesale("SET-1", issued=date(2027, 1, 15)))
    assert lines("sheet-older", of, SheetHistory("LCGXF", (OLD,), before)) == []


def test_what_shops_buy_keeps_nine_months_when_it_arrives() -> None:
    """Common practice, no source: nine months at dispatch."""

    def of(months: int, **says: Any) -> Shop:
        terms = wholesale("SET-1", **says)
        return shop([item("A-1", shelf_life=f"{months} months")], [ONE], wholesale=terms)

    assert found("arrival-short", of(9)) == []
    assert found("arrival-short", of(11, oldest="2 months")) == []
    assert told("arrival-short", of(10, oldest="2 months"))[0].startswith(
        "Look at · items.csv, row A-1, column shelf life: A-1 keeps 8 months when it reaches a shop, "
        "being up to 2 months old; 9 are usual."
    )
    assert found("arrival-short", of(2, oldest="2 months"))[0].level is Level.MUST_FIX
    assert found("arrival-short", shop([item("A-1", shelf_life="1 month")], [ONE])) == []


def test_the_retail_price_that_is_suggested_is_our_own() -> None:
    """A bar alone at 7.50 on the sheet, and at 7.95 in our own shop; a foreign channel has prices of its own."""
    bar = gift_set([{"item": "A-1"}], code="BAR", box="none", uplift="0.45")
    own, abroad = channel(), channel(key="abroad", name="Abroad", country="FR")
    terms = wholesale("A-1", "BAR")
    assert told("retail-unlike", shop([item("A-1")], [bar], channels=(own, abroad), wholesale=terms)) == [
        "Look at · items.csv, row A-1, column retail: the line sheet suggests £7.50 for A-1, and Stall asks £7.95. "
        "Buyers compare: let both say one price, or take the line off the sheet."
    ]
    assert found("retail-unlike", shop([item("A-1")], [bar], channels=(abroad,), wholesale=terms)) == []
    assert found("retail-unlike", shop([item("A-1")], [bar], channels=(own,))) == []
    plain = gift_set([{"item": "A-1"}], code="BAR", box="none")
    assert found("retail-unlike", shop([item("A-1")], [plain], channels=(own,), wholesale=terms)) == []


def test_a_display_with_the_code_of_an_item_suggests_no_price_for_it() -> None:
    tray = {"code": "A-1", "name": "Tray", "holds": {"A-2": 4}, "price": "20.00"}
    bar = gift_set([{"item": "A-1"}], box="none")
    terms = wholesale("A-2", display_set=[tray])
    of = shop([item("A-1"), item("A-2")], [bar], channels=(channel(),), wholesale=terms)
    assert found("retail-unlike", of) == []


def test_a_cost_above_the_retail_price_before_tax_is_told() -> None:
    """7.50 with 20 % tax brings 6.25 (HMRC's way: a sixth is tax)."""
    taxed = settings(prices={"tax": "20 %"})
    assert found("cost-above-retail", shop([item("A-1", cost="6.25")], [ONE], settings=taxed)) == []
    [line] = told("cost-above-retail", shop([item("A-1", cost="6.26")], [ONE], settings=taxed))
    assert "A-1 costs £6.26 to make and brings £6.25 before tax." in line
    assert found("cost-above-retail", shop([item("A-1", cost="9.00", status="closed")], [ONE])) == []
