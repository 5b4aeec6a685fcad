"""What is made, on the desk: two weeks of the make list on Today, a recipe's steps on an item's page."""

from pathlib import Path

from tests.compute.test_costs import EMPTY, MATERIALS, RECIPES, SHOP, WAYS
from tests.desk.desks import opened, text
from tests.shops import clean_shop

PLAN = "set or item,place,how many,by when\n"
PLAN += "RR-B1,stall,59,2027-01-18\nRR-B1,stall,5,2027-03-01\nRR-J1,stall,4,2026-12-12\n"
FILES = {
    "items.csv": EMPTY, "shop.toml": SHOP + WAYS, "recipes.csv": RECIPES,
    "materials.csv": MATERIALS.replace("price,density", "price,density,days to get").replace(",0.9\n", ",0.9,7\n")
    .replace("4.00,\n", "4.00,,\n").replace("6.00,\n", "6.00,,\n"),
}  # fmt: skip


def test_today_has_the_next_two_weeks_of_the_make_list(tmp_path: Path) -> None:
    folder = clean_shop(tmp_path, {**FILES, "plan.csv": PLAN})
    with opened(folder) as (client, _):
        page = text(client.get("/").text)
    assert "To make and to order Order olive oil 30 November 2026, tomorrow" in page
    assert "Pour Sedge & Salt bar soap, batches: 1 7 December 2026, in 8 days" in page
    assert "18 January" not in page.partition("Days that come")[0]


def test_today_says_what_is_too_late_and_nothing_where_nothing_is_planned(tmp_path: Path) -> None:
    late = clean_shop(tmp_path / "late", {**FILES, "plan.csv": PLAN.replace("2027-01-18", "2027-01-04")})
    with opened(late) as (client, _):
        assert "Too late for 2027-01-04: 19 of RR-B1." in text(client.get("/").text)
    with opened(clean_shop(tmp_path / "none", FILES)) as (client, _):
        assert "To make and to order" not in client.get("/").text


def test_the_page_of_an_item_shows_what_its_cost_follows_from(tmp_path: Path) -> None:
    with opened(clean_shop(tmp_path, FILES)) as (client, _):
        page = text(client.get("/shelf/item?row=RR-B1").text)
        assert "olive oil 1.9 kg 30.00 for 5 kg 0.6000" in page
        assert "Together 1.59" in page
        assert "stands all the same" not in page
        assert "by its recipe" not in client.get("/shelf/item?row=RR-J1").text
    typed = clean_shop(tmp_path / "typed", {**FILES, "items.csv": EMPTY.replace(",6.50,,", ",6.50,1.40,")})
    with opened(typed) as (client, _):
        assert "stands all the same" in client.get("/shelf/item?row=RR-B1").text
