"""What is made, on the desk: two weeks of the make list on Today, a recipe's steps on an item's page."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from listkit import bounds
from listkit.desk import rows
from listkit.desk.edits import Target
from listkit.desk.page import Desk, say
from listkit.desk.saving import shown_name
from listkit.edit.past_lines import digest_of
from tests.compute.test_costs import EMPTY, MATERIALS, RECIPES, SHOP, WAYS
from tests.desk.desks import form, opened, text
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


def test_today_says_where_not_all_that_closed_days_move_was_looked_at(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bounds, "CLOSED_MOVES", 0)
    shop = SHOP + WAYS + "\n[workshop]\nclosed = [2026-12-07]\n"
    with opened(clean_shop(tmp_path, {**FILES, "shop.toml": shop, "plan.csv": PLAN})) as (client, _):
        says = "Not all that closed days from 7 December 2026 on move was looked at: it is too much."
        assert says in text(client.get("/").text)
        french = text(client.get("/", headers={"accept-language": "fr"}).text)
        assert "à partir du 7 décembre 2026 n’a pas été regardé en entier : il y en a trop." in french


def test_today_says_what_is_too_late_and_nothing_where_nothing_is_planned(tmp_path: Path) -> None:
    late = clean_shop(tmp_path / "late", {**FILES, "plan.csv": PLAN.replace("2027-01-18", "2027-01-04")})
    with opened(late) as (client, _):
        assert "Too late for 4 January 2027: 19 × Sedge & Salt bar soap (RR-B1)." in text(client.get("/").text)
        french = text(client.get("/", headers={"accept-language": "fr"}).text)
        assert "Trop tard pour le 4 janvier 2027 : il manque 19 × Sedge & Salt bar soap (RR-B1)." in french
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


# The tables on Shelf.

TABLES = {name: f"/shelf/table/{name}" for name in ("recipes", "materials", "plan")}


def sent(desk: Desk, name: str, **fields: str) -> dict[str, str]:
    """Return a form of a table as its page showed it."""
    role = rows.TABLES[name]
    content = (desk.folder / f"{role}.csv").read_bytes() if (desk.folder / f"{role}.csv").exists() else None
    return form(desk, **{shown_name(Target(role)): digest_of(content), **fields})


@pytest.fixture
def shelf(tmp_path: Path) -> Iterator[tuple[TestClient, Desk]]:
    """A desk of the shop with recipes whose items have no cost of their own."""
    with opened(clean_shop(tmp_path / "shop", {**FILES, "plan.csv": PLAN})) as (client, desk):
        yield client, desk


def file_of(desk: Desk, name: str) -> str:
    return (desk.folder / f"{name}.csv").read_text(encoding="utf-8")


def test_before_a_price_is_saved_the_costs_sets_and_margins_that_move_are_shown(
    shelf: tuple[TestClient, Desk],
) -> None:
    """By hand: 1.9 kg at 30.00 for 5 kg are 11.40 of 19 bars; at 33.00 they are 12.54, so a bar costs 0.06 more."""
    client, desk = shelf
    before = file_of(desk, "materials")
    line = next(at for at, row in enumerate(before.splitlines(), 1) if row.startswith("olive oil"))
    cell = f"cell/{line}/price"
    page = client.post(TABLES["materials"], data=sent(desk, "materials", **{cell: "+10 %"}))
    said = text(page.text)
    assert file_of(desk, "materials") == before
    assert "olive oil, Price: 30.00 → 33.00" in said
    assert "Sedge & Salt RR-B1 : £1.59 → £1.65" in said
    assert "Dawn on the Weir RRS-1" in said
    assert 'value="33.00"' in page.text.partition(f'name="{cell}"')[2][:40]
    answer = client.post(TABLES["materials"], data=sent(desk, "materials", **{cell: "33.00", "sure": "yes"}))
    assert say("one.saved") in text(answer.text)
    assert file_of(desk, "materials") == before.replace("30.00", "33.00")
    costs = {item.code: str(item.cost) for item in desk.shop_state.look().opened.shop.items}
    assert costs["RR-B1"] == "1.65"
    client.post("/past/back", data=form(desk, change="1"))
    assert file_of(desk, "materials") == before


def test_a_recipe_is_typed_and_its_steps_are_shown(tmp_path: Path) -> None:
    """A shop without any of it: a material, then what a batch takes of it; the steps are of the item's own columns."""
    items = (clean_shop(tmp_path / "other") / "items.csv").read_text(encoding="utf-8").splitlines()
    items = [f"{row},{extra}" for row, extra in zip(items, ("batch size", "10", *[""] * len(items)), strict=False)]
    with opened(clean_shop(tmp_path / "shop", {"items.csv": "\n".join(items) + "\n"})) as (client, desk):
        assert say("rows.none") in text(client.get(TABLES["recipes"]).text)
        oil = {"cell//material": "olive oil", "cell//unit": "kg", "cell//price": "6.00"}
        assert client.post(TABLES["materials"], data=sent(desk, "materials", **oil)).status_code == 200
        row = {"cell//item": "RR-B1", "cell//material": "olive oil", "cell//amount": "1500 g"}
        page = text(client.post(TABLES["recipes"], data=sent(desk, "recipes", **row)).text)
        assert file_of(desk, "materials") == "material,unit,price\nolive oil,kg,6.00\n"
        assert file_of(desk, "recipes") == "item,material,amount\nRR-B1,olive oil,1500 g\n"
        assert "olive oil 1500 g 6.00 a kg 0.9000" in page
        assert say("make.typed") in page
        of = client.get(f"{TABLES['recipes']}?of=RR-B1").text
        assert 'value="RR-B1" autocomplete="off" list="offered-item" id="new-item"' in of
        client.post(TABLES["recipes"], data=sent(desk, "recipes", do="take 2", of="RR-B1"))
        assert file_of(desk, "recipes") == "item,material,amount\n"


@pytest.mark.parametrize(
    ("name", "fields", "words"),
    [
        ("recipes", {"cell/2/amount": "much"}, "much"),
        ("recipes", {"cell/2/amount": "0 g"}, "is nothing at all"),
        ("materials", {"cell/2/price": "dear"}, "dear"),
        ("materials", {"cell/2/days_to_get": "soon"}, "is no number of days"),
        ("materials", {"cell/2/density": "-1"}, "density"),
        ("plan", {"cell/2/by_when": "by Christmas"}, "by Christmas"),
        ("plan", {"cell/2/likely": "some"}, "does not say how many may be asked for"),
    ],
)
def test_what_cannot_be_stays_at_its_field(
    shelf: tuple[TestClient, Desk], name: str, fields: dict[str, str], words: str
) -> None:
    client, desk = shelf
    before, ((cell, value),) = file_of(desk, name), fields.items()
    answer = client.post(TABLES[name], data=sent(desk, name, **fields))
    assert answer.status_code == 422
    told = answer.text.partition(f'id="w-{cell}"')[2][:400]
    assert 'role="alert"' in told
    assert words in text(told)
    assert f'value="{value}"' in answer.text
    assert file_of(desk, name) == before


@pytest.mark.parametrize(
    ("name", "fields", "field", "words"),
    [
        ("materials", {"cell/2/price": ""}, "price", "has no price, and recipes take it"),
        ("recipes", {"cell/3/amount": "200 ml"}, "amount", "by volume, and lye is bought by weight"),
        ("recipes", {"cell/3/material": "RR-B1"}, "material", "in a circle: RR-B1 takes RR-B1"),
    ],
)
def test_what_does_not_come_out_is_told_at_its_field_once_it_is_saved(
    shelf: tuple[TestClient, Desk], name: str, fields: dict[str, str], field: str, words: str
) -> None:
    client, desk = shelf
    first = client.post(TABLES[name], data=sent(desk, name, **fields))
    assert say("follows.title") in text(first.text), "sets that cannot be priced then are shown before"
    assert say("follows.no_cost") in text(first.text)
    client.post(TABLES[name], data=sent(desk, name, sure="yes", **fields))
    desk.shop_state.full(wait=60)
    told = text(client.get(TABLES[name]).text.partition(f'id="w-cell/{next(iter(fields))[5]}/{field}"')[2][:600])
    assert words in told, told
