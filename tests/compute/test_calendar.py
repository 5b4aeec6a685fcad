"""The days of a shop's year: which there are, in their order, and what counts those of one kind.

Which days an owner wants to see is common practice, no source; 30 days before a reduction: Directive 98/6/EC, Art. 6a.
"""

import datetime
from pathlib import Path

from listkit.compute.build import build_catalog
from listkit.compute.calendar import year_days
from listkit.compute.plan import make_plan
from listkit.pipeline import open_shop
from tests.compute.test_costs import EMPTY, MATERIALS, RECIPES, SHOP, WAYS
from tests.shops import CLEAN, clean_shop

D = datetime.date.fromisoformat
SEASON = "photograph = 2027-01-11\nlast_post = 2027-05-27\ntake_down = 2027-06-02\n"
SALE = '\n[[reduction]]\nname = "May sale"\nfrom = 2027-05-20\nuntil = 2027-05-31\nby = "10 %"\n'


def test_every_kind_of_day_is_in_the_calendar(tmp_path: Path) -> None:
    terms = (CLEAN / "wholesale.toml").read_text(encoding="utf-8").partition("window =")[0].partition("[")[0]
    terms += "\nwindow = { order_by = 2027-02-15, ships_from = 2027-02-22, ships_until = 2027-03-12 }\n"
    plan = "set or item,place,how many,by when\nRR-B1,stall,75,2027-05-03\nRR-B1,stall,5,2027-05-17\n"
    shop = open_shop(
        clean_shop(
            tmp_path,
            {
                "items.csv": EMPTY,
                "shop.toml": SHOP + SEASON + SALE + WAYS,
                "materials.csv": MATERIALS.replace("price,density", "price,density,days to get")
                .replace(",0.9\n", ",0.9,7\n")
                .replace("4.00,\n", "4.00,,\n")
                .replace("6.00,\n", "6.00,,\n"),
                "recipes.csv": RECIPES,
                "plan.csv": plan,
                "wholesale.toml": terms,
            },
        )
    ).shop
    today = D("2027-01-05")
    days = year_days(shop, make_plan(build_catalog(shop), today), today)
    assert [(str(day.day), day.kind, day.code, day.count, day.number) for day in days if day.kind != "buy"] == [
        ("2027-01-11", "photograph", "spring", "", 1),
        ("2027-01-15", "sheet", "wholesale", "", 1),
        ("2027-02-01", "on_sale", "spring", "", 1),
        ("2027-02-15", "order_by", "wholesale", "", 1),
        ("2027-02-22", "ships", "wholesale", "", 1),
        ("2027-03-22", "pour", "RR-B1", "2", 1),
        ("2027-04-05", "pour", "RR-B1", "1", 2),
        ("2027-04-20", "prior", "May sale", "30", 1),
        ("2027-05-03", "ready", "RR-B1", "38", 1),
        ("2027-05-17", "ready", "RR-B1", "19", 2),
        ("2027-05-27", "last_post", "spring", "", 1),
        ("2027-05-31", "off_sale", "spring", "", 1),
        ("2027-06-02", "take_down", "spring", "", 1),
    ]
    assert [(str(day.day), day.name) for day in days if day.kind == "buy"] == [
        ("2027-03-15", "olive oil"),
        ("2027-03-22", "lye"),
    ]
    assert [day.kind for day in year_days(shop, make_plan(build_catalog(shop), D("2027-06-01")), D("2027-06-01"))] == [
        "take_down"
    ]
