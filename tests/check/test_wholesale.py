"""Checks of wholesale on small shops.

Margins and months are common practice of the trade, no source; GTINs by GS1 General Specifications, from memory.
"""

from datetime import date
from decimal import Decimal
from typing import Any

from listkit.model.shop import Shop
from listkit.problem import Level
from tests.check.found import found, told
from tests.small_shop import channel, gift_set, item, settings, shop, wholesale

ONE = gift_set([{"item": "A-1"}])


def test_a_set_below_one_and_a_half_times_its_cost_is_looked_at() -> None:
    """7.50 + 1.00 = 8.50, half is 4.25; cost 0.60 + 2.43 = 3.03; 4.25 / 3.03 = 1.40."""
    assert told("wholesale-thin", shop([item("A-1", cost="0.60")], [ONE], wholesale=wholesale())) == [
        "Look at · sets/set-1/set.toml: SET-1 goes to shops at £4.25, 1.40 times its full cost. "
        "1.5 times is usual: write another wholesale rule or a higher price, or take it off the line sheet."
    ]


def test_a_set_below_one_and_a_fifth_must_be_mended() -> None:
    """4.25 / (1.85 + 2.43) = 0.99."""
    (problem,) = found("wholesale-thin", shop([item("A-1")], [ONE], wholesale=wholesale()))
    assert problem.level is Level.MUST_FIX


def test_exactly_one_and_a_half_times_is_enough() -> None:
    """8.00 + 1.00 = 9.00, half is 4.50; cost 0.57 + 2.43 = 3.00."""
    enough, thin = (item("A-1", retail="8.00", cost=cost) for cost in ("0.57", "0.58"))
    assert found("wholesale-thin", shop([enough], [ONE], wholesale=wholesale())) == []
    assert len(found("wholesale-thin", shop([thin], [ONE], wholesale=wholesale()))) == 1


def test_with_wholesale_terms_only_their_lines_are_looked_at_items_too() -> None:
    """3.75 / 3.20 = 1.17."""
    items = [item("A-1", cost="0.10"), item("A-2", cost="3.20"), item("A-3", cost="3.20")]
    (problem,) = found("wholesale-thin", shop(items, [ONE], wholesale=wholesale("A-2")))
    assert (problem.place.row, problem.place.column, problem.level) == ("A-2", "retail", Level.MUST_FIX)
    assert found("wholesale-thin", shop(items, [gift_set([{"item": "A-2"}])], wholesale=wholesale("A-1"))) == []


def test_without_wholesale_terms_sets_are_looked_at_and_no_items() -> None:
    """8.50 at half is 4.25, 1.40 times 3.03; the item alone, 3.75 of 3.20, is on no line sheet."""
    thin = shop([item("A-1", cost="0.60"), item("A-2", cost="3.20")], [ONE])
    (problem,) = found("wholesale-thin", thin)
    assert (problem.place.file, problem.level) == ("sets/set-1/set.toml", Level.LOOK_AT)


def test_the_times_are_the_owners_to_choose() -> None:
    own = settings(checks={"wholesale-thin": "1.4"})
    of = shop([item("A-1", cost="0.60")], [ONE], settings=own, wholesale=wholesale())
    assert found("wholesale-thin", of) == []
    assert Decimal("4.25") / Decimal("3.03") > Decimal("1.4")


def terms(**says: Any) -> Shop:
    return shop([item("A-1", cost="0.60")], [ONE], wholesale=wholesale("SET-1", **says))


def test_a_sheet_is_stale_on_the_day_after_its_last() -> None:
    of = terms(valid_until=date(2027, 7, 14))
    assert found("sheet-stale", of, date(2027, 7, 14)) == []
    assert told("sheet-stale", of, date(2027, 7, 15)) == [
        "Must fix · wholesale.toml: the prices held until 14 July 2027. "
        "Look the prices through, and write a new issued and valid_until."
    ]


def test_a_sheet_holds_180_days_at_most() -> None:
    """Demo dates: from 2027-01-15 to 2027-07-14 are 180 days."""
    assert found("sheet-long", terms(issued=date(2027, 1, 15), valid_until=date(2027, 7, 14))) == []
    (line,) = told("sheet-long", terms(issued=date(2027, 1, 15), valid_until=date(2027, 7, 15)))
    assert "hold 181 days, more than 180. Write 2027-07-14 at the latest: with it they hold 180." in line


def test_of_a_window_the_first_pair_out_of_order_is_told_and_groups_have_their_own() -> None:
    window = {"order_by": date(2027, 4, 1), "ships_from": date(2027, 3, 1), "ships_until": date(2027, 2, 1)}
    late = {"ships_from": date(2027, 9, 2), "ships_until": date(2027, 9, 1)}
    group = {"title": "Late", "lines": ["SET-1"], "window": late}
    assert [(one.place.key, one.message) for one in found("window-order", terms(window=window, group=[group]))] == [
        (("window", "order_by"), "order_by is 1 April 2027, after ships_from 1 March 2027."),
        (("group", 0, "window", "ships_from"), "ships_from is 2 September 2027, after ships_until 1 September 2027."),
    ]


def test_a_tier_is_never_dearer_than_the_price_before_it() -> None:
    """8.50 before tax: half is 4.25, 47 % is 4.00 (3.995 half up), 48 % is 4.08, 51 % is 4.34 (4.335 half up)."""
    assert found("tier-dearer", terms(tier=[{"from": 24, "wholesale": "47 %"}])) == []
    assert told("tier-dearer", terms(tier=[{"from": 24, "wholesale": "51 %"}])) == [
        "Must fix · wholesale.toml: from 24 on SET-1 costs £4.34, more than £4.25 for fewer. "
        "Write a lower share, or take the tier out."
    ]
    steps = [{"from": 48, "wholesale": "48 %"}, {"from": 24, "wholesale": "47 %"}]
    (problem,) = found("tier-dearer", terms(tier=steps))
    assert problem.place.key == ("tier", 0, "wholesale")
    assert problem.message == "from 48 on SET-1 costs £4.08, more than £4.00 for fewer."


def test_a_tier_of_another_rule_is_compared_by_its_price() -> None:
    """Sum of items: 3.75 + packing 2.43 = 6.18; margin 50 %: 3.03 x 2 = 6.06."""
    for rule, price in (("sum of items", "6.18"), ("margin 50 %", "6.06")):
        (line,) = told("tier-dearer", terms(tier=[{"from": 9, "wholesale": rule}]))
        assert f"SET-1 costs £{price}, more than £4.25" in line


def test_a_shops_share_is_told_once_where_one_rule_is_the_cause() -> None:
    """56 % of the price leaves a shop 44 %; a set of its own rule is told on its own: 6.18 of 8.50 leaves 27.3 %."""
    rules = settings(prices={"set_wholesale": "56 %"})
    own = gift_set([{"item": "A-1"}], code="S-3", wholesale="sum of items")
    sets = [ONE, gift_set([{"item": "A-1"}], code="SET-2"), own]
    lines = told("shop-margin-low", shop([item("A-1", cost="0.60")], sets, settings=rules, wholesale=wholesale()))
    assert lines == [
        "Look at · shop.toml: a shop keeps 44.0 % of SET-1 and 1 other line. "
        "45 % before tax is usual; lower the wholesale price, or raise the retail one.",
        "Look at · sets/s-3/set.toml: a shop keeps 27.3 % of S-3. "
        "45 % before tax is usual; lower the wholesale price, or raise the retail one.",
    ]


def test_of_a_rule_that_is_no_share_every_variant_is_looked_at_and_an_own_share_is_told_at_its_set() -> None:
    """Sum of items: 20.00 + 2.43 of 41.00 leaves 45.3 %; 3.75 + 2.43 of 8.50 leaves 27.3 %."""
    items = [item("A-1", retail="40.00"), item("A-2")]
    jars = gift_set([{"slot": "Jar", "choose": ["A-1", "A-2"]}], wholesale="sum of items")
    [problem] = found("shop-margin-low", shop(items, [jars], wholesale=wholesale()))
    assert problem.message == "a shop keeps 27.3 % of SET-1-2."
    own = gift_set([{"item": "A-1"}], wholesale="56 %")
    assert found("shop-margin-low", shop(items, [own], wholesale=wholesale()))[0].place.file == "sets/set-1/set.toml"


def test_tax_is_taken_off_before_a_shops_share_is_counted() -> None:
    """HMRC's way: 8.50 with 20 % has 7.0833 before tax; half of it leaves half."""
    taxed = settings(prices={"tax": "20 %"})
    assert found("shop-margin-low", shop([item("A-1")], [ONE], settings=taxed, wholesale=wholesale())) == []


def test_gtins_are_missed_only_where_a_column_or_the_sheet_asks_for_them() -> None:
    items = [item("A-1", gtin="9520000000011"), item("A-2")]
    note = {"options": {"Jar": "A-1"}, "gtin": "9520000010010"}
    jars = gift_set([{"slot": "Jar", "choose": ["A-1", "A-2"]}], variant=[note])
    asking = channel(column=[{"heading": "Barcode", "value": "gtin"}])
    sheet = wholesale("SET-1", "A-1", "A-2", gtins=True)
    of = shop(items, [jars], channels=(asking, channel(key="other")), wholesale=sheet)
    assert told("gtin-missing", of) == [
        'Look at · channels/stall.toml: the column "Barcode" stays empty for SET-1-2. '
        "Write their gtin in set.toml; never make one up.",
        "Look at · wholesale.toml: the line sheet asks a GTIN of every line, and A-2 and SET-1-2 have none. "
        "Write them; never make one up.",
    ]
    assert found("gtin-missing", shop(items, [jars], channels=(channel(),), wholesale=wholesale("SET-1"))) == []


def test_without_terms_for_shops_nothing_is_said_of_what_they_would_keep() -> None:
    of = shop([item("A-1")], [gift_set([{"item": "A-1"}], wholesale="56 %")])
    assert found("shop-margin-low", of) == []
