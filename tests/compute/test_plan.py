"""The make list: batches, days, what to buy, full weeks; followed to the day it leaves nothing unmade.

Working back from the day that something is wanted is common practice, no source; the figures were worked out by hand.
"""

import datetime
import re
from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest

from listkit import bounds
from listkit.compute.build import build_catalog
from listkit.compute.movements import sheet_stock
from listkit.compute.plan import MakePlan, make_plan
from listkit.compute.season_plan import proposed
from listkit.model.item import Item
from listkit.model.packaging import Packaging
from listkit.pipeline import open_shop
from tests.checked import problems_of
from tests.compute.test_costs import EMPTY, MATERIALS, RECIPES, SHOP, WAYS
from tests.shops import clean_shop, lines

D = datetime.date.fromisoformat
TODAY = D("2027-03-01")
HEAD = "set or item,place,how many,by when\n"


def planned(folder: Path, plan: str, today: datetime.date = TODAY, **files: str) -> MakePlan:
    """The make list of the clean shop with a recipe for its soap; 40 bars, 25 jars each are there."""
    names = {"shop": "shop.toml", "materials": "materials.csv", "moves": "movements.csv", "recipes": "recipes.csv"}
    texts = {"items.csv": EMPTY, "shop.toml": SHOP + WAYS, "materials.csv": MATERIALS, "recipes.csv": RECIPES}
    texts |= {"plan.csv": HEAD + plan} | {names[name]: text for name, text in files.items()}
    return make_plan(build_catalog(open_shop(clean_shop(folder, texts)).shop), today)


def test_batches_are_rounded_up_and_what_is_left_serves_what_is_wanted_next(tmp_path: Path) -> None:
    plan = planned(tmp_path, "RR-B1,stall,50,2027-05-03\nRR-B1,shop,9,2027-05-10\nRR-B1,shop,1,2027-05-17\n")
    # 40 are there; 19 good ones a batch: 10 short of the first day, 9 left for the second, 1 short of the third
    assert [(make.short, make.batches, make.pieces, make.by) for make in plan.makes] == [
        (10, 1, 19, D("2027-05-03")),
        (1, 1, 19, D("2027-05-17")),
    ]
    assert [(make.pour_by, make.ready_on) for make in plan.makes] == [
        (D("2027-03-22"), D("2027-05-03")),
        (D("2027-04-05"), D("2027-05-17")),
    ]


def test_where_less_than_one_of_a_batch_turns_out_good_more_batches_are_made(tmp_path: Path) -> None:
    one_by_one = WAYS.replace("batch_size = 20", "batch_size = 1").replace("95 %", "60 %")
    plan = planned(tmp_path, "RR-B1,stall,50,2027-05-03\n", shop=SHOP + one_by_one)
    (make,) = plan.makes  # 10 short: 16 times 0.6 are 9.6, 17 times are 10.2
    assert (make.short, make.batches, make.pieces, make.hours) == (10, 17, 10, Decimal("25.5"))


def test_a_set_is_packed_on_a_working_day_and_its_choices_are_shared_evenly(tmp_path: Path) -> None:
    plan = planned(tmp_path, "RRS-1,stall,61,2027-05-09\n")  # a Sunday
    assert [(each.code, each.quantity) for each in plan.wanted] == [("RRS-1-J1", 31), ("RRS-1-J2", 30)]
    (make,) = plan.makes
    assert (make.short, make.batches, make.by) == (21, 2, D("2027-05-07"))
    bought = {buy.name: (buy.needed, buy.there, buy.counted) for buy in plan.buys}
    assert bought["box S"] == (Fraction(61), Fraction(0), False)
    assert bought["Willow Bark body butter"] == (Fraction(31), Fraction(25), True)


def test_what_is_bought_is_ordered_before_it_is_poured_and_in_whole_packs(tmp_path: Path) -> None:
    materials = "material,unit,price,on hand,days to get\nolive oil,5 kg,30.00,0.5,10\nlye,kg,4.00,1 kg,5\n"
    plan = planned(tmp_path, "RR-B1,stall,59,2027-05-03\n", materials=materials)
    assert plan.makes[0].batches == 1
    assert plan.buys == ()  # 1.9 kg of half a pack, 190 g of a kilogram of lye
    two = planned(tmp_path / "two", "RR-B1,stall,90,2027-05-03\n", materials=materials)
    (oil,) = (each for each in two.buys if each.name == "olive oil")
    assert (oil.needed, oil.there, oil.packs, oil.price) == (Fraction(5700), Fraction(2500), 1, Fraction(30))
    assert (oil.by, oil.order_by) == (D("2027-03-22"), D("2027-03-12"))
    assert [each.name for each in two.buys] == ["olive oil"]


def test_what_is_too_late_is_told_with_the_day_on_which_it_had_to_begin(tmp_path: Path) -> None:
    slow = MATERIALS.replace("price,density", "price,density,days to get").replace("0.9\n", "0.9,30\n")
    slow = slow.replace("4.00,\n", "4.00,,\n").replace("6.00,\n", "6.00,,\n")
    plan = planned(tmp_path, "RR-B1,stall,50,2027-04-26\n", materials=slow)
    (late,) = plan.late
    # poured by 15 March, the oil ordered 30 days before; ordered today it is here on the 31st, ready on 12 May
    assert (late.pour_by, late.start_by, late.earliest) == (D("2027-03-15"), D("2027-02-13"), D("2027-05-12"))
    soon = planned(tmp_path / "soon", "RR-B1,stall,50,2027-04-11\n")
    assert [(each.pour_by, each.earliest) for each in soon.late] == [(D("2027-02-26"), D("2027-04-12"))]


def test_hours_are_those_of_pouring_and_packing_by_week_and_closed_days_take_their_share(tmp_path: Path) -> None:
    shop = SHOP + WAYS + "\n[workshop]\nhours_a_week = 5\nclosed = [2027-03-23, 2027-05-14]\n"
    plan = planned(tmp_path, "RR-B1,stall,59,2027-05-04\nRRS-1,stall,20,2027-05-15\n", shop=shop)
    # 59 take a batch of the 40 that are there; the sets take 20 more, another batch
    weeks = {week.monday: (week.hours, week.has) for week in plan.weeks}
    assert weeks[D("2027-03-22")] == (Fraction("1.5"), Fraction(4))
    assert weeks[D("2027-05-10")] == (Fraction(1), Fraction(4))  # 20 boxes of 3 minutes
    assert not any(week.full for week in plan.weeks)
    (first, *_) = plan.closed
    assert first.day == D("2027-03-23")
    assert first.moves == (("RR-B1", D("2027-03-22"), D("2027-03-23")),)
    full = planned(tmp_path / "full", "RR-B1,stall,400,2027-05-04\n", shop=shop)
    assert [week.full for week in full.weeks] == [True]


def test_what_closed_days_move_is_looked_at_for_so_many_pourings_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shop = SHOP + WAYS + "\n[workshop]\nclosed = [2027-03-23, 2027-05-14]\n"
    rows = "RR-B1,stall,59,2027-05-04\nRRS-1,stall,20,2027-05-15\n"
    whole = planned(tmp_path / "all", rows, shop=shop)
    assert (bool(whole.closed), whole.closed_unseen) == (True, None)
    monkeypatch.setattr(bounds, "CLOSED_MOVES", 0)
    none = planned(tmp_path / "none", rows, shop=shop)
    assert (none.closed, none.closed_unseen) == ((), datetime.date(2027, 3, 23))


def test_a_plan_ends_where_it_comes_to_more_than_any_shop_makes_and_that_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rows = "RR-B1,stall,1,2027-05-04\nRRS-1,stall,20,2027-05-15\nRR-B1,stall,1,2027-05-20\n"
    assert planned(tmp_path / "all", rows).beyond == ()
    monkeypatch.setattr("listkit.compute.plan.PLANNED", 2)  # a set of two variants counts twice
    plan = planned(tmp_path / "some", rows)
    assert ([each.code for each in plan.wanted], plan.beyond) == (["RR-B1"], (3, 4))
    assert [line for line in lines(problems_of(tmp_path / "some", TODAY)) if "reckoned with" in line] == [
        "Look at · plan.csv, line 3, column set or item: with it the plan comes to more than can be reckoned with; "
        "it and the rows behind it are left out. A row of a set counts for each variant, each piece for each of its "
        "days, 100,000 of either at most: plan what you make soon, or fewer variants.  plan-unclear"
    ]


def test_an_item_that_another_is_made_with_is_wanted_when_that_one_is_poured(tmp_path: Path) -> None:
    recipes = RECIPES + "RR-B1,RR-M1,3\nRR-M1,lye,1 kg\n"
    items_ways = SHOP + WAYS + '\n[[making]]\nform = "body butter"\nbatch_size = 10\n'
    plan = planned(tmp_path, "RR-B1,stall,250,2027-05-03\n", recipes=recipes, shop=items_ways)
    soap, minis = (next(make for make in plan.makes if make.code == code) for code in ("RR-B1", "RR-M1"))
    assert (soap.batches, minis.short, minis.by) == (12, 6, soap.pour_by)  # 3 × 12 of the 30 that are there


def test_what_shops_ordered_and_is_not_there_is_made_as_well(tmp_path: Path) -> None:
    moves = "day,kind,code,quantity,place,set,note,batch\n"
    moves += "2027-02-01,counted,RR-B1,10,,,,\n2027-02-02,ordered,RR-B1,24,,,,\n"
    plan = planned(tmp_path, "RR-B1,stall,2,2027-09-01\n", moves=moves)
    assert [(each.place, each.quantity) for each in plan.wanted] == [("stall", 2), ("shop orders", 24)]
    assert sum(make.short for make in plan.makes if not make.wanted[0]) == 14


def test_followed_to_the_day_the_list_leaves_no_set_unmade(tmp_path: Path) -> None:
    """Every day what is due is poured; when its day comes, what is ready covers all that is wanted by then."""
    rows = [
        ("RRS-1", 30, "2027-04-30"),
        ("RR-B1", 25, "2027-05-14"),
        ("RRS-1", 44, "2027-06-30"),
        ("RR-B1", 7, "2027-07-01"),
    ]
    plan = planned(tmp_path, "".join(f"{code},stall,{number},{by}\n" for code, number, by in rows))
    assert not plan.late
    there, taken = 40, 0
    for _, number, by in rows:
        taken += number
        ready = sum(make.pieces for make in plan.makes if make.ready_on is not None and make.ready_on <= D(by))
        assert there + ready >= taken
        fewer = sum(make.batches for make in plan.makes if make.by <= D(by)) - 1
        assert there + fewer * 19 < taken or not plan.makes, "no batch too many"


def test_a_plan_is_proposed_from_what_the_season_sold_a_year_before(tmp_path: Path) -> None:
    moves = "day,kind,code,quantity,place,set,note,batch\n2026-03-01,sold,RR-B1,10,stall,RRS-1-J1,,\n"
    moves += "2026-03-01,sold,RR-J1,10,stall,RRS-1-J1,,\n2026-03-01,sold,box S,10,stall,RRS-1-J1,,\n"
    moves += "2026-07-01,sold,box S,99,stall,RRS-1-J1,,\n"
    shop = clean_shop(tmp_path, {"movements.csv": moves})
    rows, looked = proposed(build_catalog(open_shop(shop).shop), D("2027-01-05"), Decimal("1.25"))
    assert [(row.set_or_item, row.place, row.how_many, row.by_when) for row in rows] == [
        ("RRS-1-J1", "stall", 13, D("2027-02-01"))
    ]
    assert [(first, last) for _, first, last in looked] == [(D("2026-02-01"), D("2026-05-31"))]


MOVED = (
    "day,kind,code,quantity,place,set,note,batch\n2026-01-01,counted,RR-B1,60,,,,\n2026-01-01,counted,RR-J1,90,,,,\n"
)
MOVED += "2026-01-01,counted,RR-J2,90,,,,\n"


def sales(*lines: tuple[str, str, int, str]) -> str:
    """Sales by day, code, number and place; of the set's two codes a bar and a jar go each time."""
    rows = []
    for day, code, number, place in lines:
        of = code if code.startswith("RRS-1-") else ""
        pieces = ("RR-B1", f"RR-{code[-2:]}") if of else (code,)
        rows += [f"{day},sold,{piece},{number},{place},{of},,\n" for piece in pieces]
    return MOVED + "".join(rows)


def off(plan: MakePlan) -> list[tuple[str, str, int, int, str]]:
    return [(each.code, each.place, each.sold, each.asked, str(each.since)) for each in plan.sold]


def test_what_a_place_has_sold_since_the_row_before_is_taken_off(tmp_path: Path) -> None:
    """Of 30 by May those 6 that the stall sold after the row of February: 4 of that row, 3 elsewhere do not count."""
    rows = "RR-B1,stall,9,2027-02-10\nRR-B1,stall,30,2027-05-03\nRR-B1,shop,8,2027-05-03\n"
    moves = sales(
        ("2027-02-09", "RR-B1", 4, "stall"), ("2027-02-11", "RR-B1", 5, "stall"), ("2027-02-28", "RR-B1", 1, "stall"),
        ("2027-02-12", "RR-B1", 3, "shop"),
    )  # fmt: skip
    plan = planned(tmp_path, rows, moves=moves)
    assert off(plan) == [("RR-B1", "stall", 6, 30, "2027-02-11"), ("RR-B1", "shop", 3, 8, "2027-02-01")]
    assert [(each.place, each.quantity) for each in plan.wanted] == [("stall", 24), ("shop", 5)]
    assert plan.makes == ()  # 60 less 13 sold are 47


def test_without_a_row_before_sales_count_from_where_the_season_begins(tmp_path: Path) -> None:
    """A sale counts for one row alone, here the earlier of two that ask for the same; of July no season is."""
    moves = sales(
        ("2026-12-20", "RRS-1-J1", 20, "stall"), ("2027-02-01", "RRS-1-J1", 7, "stall"),
        ("2027-02-20", "RRS-1-J2", 3, "stall"), ("2027-02-21", "RR-J1", 5, "stall"),
    )  # fmt: skip
    rows = "RRS-1,stall,20,2027-05-03\nRRS-1-J2,stall,2,2027-05-02\nRR-J1,,9,2028-07-01\n"
    plan = planned(tmp_path, rows, moves=moves)
    assert off(plan) == [("RRS-1", "stall", 8, 20, "2027-02-01"), ("RRS-1-J2", "stall", 2, 2, "2027-02-01")]
    assert [(each.code, each.quantity) for each in plan.wanted] == [("RRS-1-J1", 6), ("RRS-1-J2", 6), ("RR-J1", 9)]


def test_what_is_poured_already_is_not_poured_again(tmp_path: Path) -> None:
    """19 poured on 22 March are ready on 3 May, six weeks on: those 10 of that day, and 9 of what is wanted next."""
    rows = "RR-B1,stall,70,2027-05-03\nRR-B1,shop,9,2027-05-10\nRR-B1,shop,1,2027-05-17\n"
    poured = MOVED + "2027-03-22,poured,RR-B1,19,,,,\n"
    plan = planned(tmp_path, rows, D("2027-03-23"), moves=poured)
    assert [(each.code, each.pieces, str(each.ready_on)) for each in plan.coming] == [("RR-B1", 19, "2027-05-03")]
    assert [(make.short, make.by) for make in plan.makes] == [(1, D("2027-05-17"))]
    early = planned(tmp_path / "early", "RR-B1,stall,70,2027-05-02\n", D("2027-03-23"), moves=poured)
    assert [(make.short, make.late) for make in early.makes] == [(10, True)], "it is ready a day after it is wanted"
    made = poured + "2027-05-03,made,RR-B1,17,,,,\n"
    later = planned(tmp_path / "made", rows.replace("05-03", "05-04"), D("2027-05-03"), moves=made)
    assert later.coming == (), "two of them did not turn out well"
    assert [(make.short, make.by) for make in later.makes] == [(2, D("2027-05-10"))]
    part = planned(tmp_path / "part", rows, D("2027-04-23"), moves=poured + "2027-04-20,made,RR-B1,4,,,,\n")
    assert [each.pieces for each in part.coming] == [15], "four were unmoulded early"


def test_stock_is_what_it_was_while_something_is_poured(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path, {"movements.csv": MOVED + "2027-03-22,poured,RR-B1,19,,,,\n"})
    stock = open_shop(shop).shop.stock
    assert stock is not None
    assert stock.figures["RR-B1"].free == 60


def test_what_the_sheet_has_is_looked_up_once_however_much_is_made(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    looks: list[object] = []

    def looked(items: Iterable[Item], packaging: Packaging) -> dict[str, int]:
        looks.append(items)
        return sheet_stock(items, packaging)

    monkeypatch.setattr("listkit.compute.plan.sheet_stock", looked)
    rows = "".join(f"RR-B1,stall,50,{TODAY + datetime.timedelta(at)}\n" for at in range(30))
    assert len(planned(tmp_path, rows).makes) > 20
    assert len(looks) == 1


def test_a_season_that_ends_before_it_begins_is_no_season_to_propose_for(tmp_path: Path) -> None:
    moves = "day,kind,code,quantity,place,set,note,batch\n2026-03-01,sold,box S,10,stall,RRS-1-J1,,\n"
    shop = clean_shop(tmp_path, {"movements.csv": moves})
    text = (shop / "shop.toml").read_text()
    assert text.count("off_sale = ") == 1
    (shop / "shop.toml").write_text(re.sub("off_sale = .*", "off_sale = 2027-01-20", text))
    assert proposed(build_catalog(open_shop(shop).shop), D("2027-01-05"), Decimal(1)) == ((), ())


def test_a_sale_counts_for_one_row_whether_that_names_its_place_or_all(tmp_path: Path) -> None:
    """Of 15 at the stall 12 are of its own row, 3 of the row of all places with 7 of the market's 15; 8 are left."""
    moves = sales(("2027-02-10", "RRS-1-J1", 15, "stall"), ("2027-02-11", "RRS-1-J1", 15, "market"))
    rows = "RRS-1-J1,stall,12,2027-05-02\nRRS-1-J1,,10,2027-05-03\nRRS-1-J1,market,20,2027-05-04\n"
    plan = planned(tmp_path, rows, moves=moves)
    assert [(place, sold) for _, place, sold, _, _ in off(plan)] == [("stall", 12), ("", 10), ("market", 8)]
