"""Tables with a page of their own: postage and ingredients, from a cell on the page to the file."""

import csv
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from listkit.desk import rows
from listkit.desk.edits import Target
from listkit.desk.page import Desk, say
from listkit.desk.saving import shown_name
from listkit.edit.past_lines import digest_of
from tests.desk import desks
from tests.desk.desks import opened, text
from tests.shops import DEMO, clean_shop

POSTAGE = "/shop/table/postage"


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[tuple[TestClient, Desk, Path]]:
    folder = clean_shop(tmp_path / "shop")
    shutil.copy(DEMO / "rates.csv", folder / "rates.csv")
    with opened(folder) as (client, desk):
        yield client, desk, folder / "rates.csv"


def sent(desk: Desk, file: Path, **fields: str) -> dict[str, str]:
    role = next(role for role in rows.TABLES.values() if f"{role}.csv" == file.name)
    digest = digest_of(file.read_bytes() if file.exists() else None)
    return desks.form(desk, **{shown_name(Target(role)): digest, **fields})


def cells(file: Path) -> list[list[str]]:
    with file.open(encoding="utf-8", newline="") as stream:
        return list(csv.reader(stream))


def test_every_cell_is_a_field_and_a_page_sent_back_changes_nothing(shop: tuple[TestClient, Desk, Path]) -> None:
    client, desk, file = shop
    page, before, stated = client.get(POSTAGE).text, file.read_bytes(), cells(file)
    fields = {f"cell/{line}/service": row[0] for line, row in enumerate(stated[1:], 2)}
    assert all(f'name="{name}" value="{value}"' in page for name, value in fields.items())
    assert say("rows.heading", heading="up to (g)") in page
    assert say("one.same") in text(client.post(POSTAGE, data=sent(desk, file, **fields)).text)
    assert file.read_bytes() == before


def test_a_price_is_changed_a_row_added_and_one_taken_out(shop: tuple[TestClient, Desk, Path]) -> None:
    client, desk, file = shop
    before = cells(file)
    client.post(POSTAGE, data=sent(desk, file, **{"cell/2/price": "2.15"}))
    new = {"service": "Marsh Parcel", "zone": "home", "up_to": "9000", "price": "9.10"}
    answer = client.post(POSTAGE, data=sent(desk, file, **{f"cell//{name}": value for name, value in new.items()}))
    assert say("one.saved") in text(answer.text)
    client.post(POSTAGE, data=sent(desk, file, do="take 3"))
    changed = [before[0], [*before[1][:4], "2.15", *before[1][5:]], *before[3:]]
    assert cells(file) == [*changed, ["Marsh Parcel", "home", "", "9000", "9.10", ""]]
    assert 9000 in {rate.up_to.grams for rate in desk.shop_state.look().opened.shop.rates}


def test_what_cannot_be_stays_in_its_cell(shop: tuple[TestClient, Desk, Path]) -> None:
    client, desk, file = shop
    before = file.read_bytes()
    answer = client.post(POSTAGE, data=sent(desk, file, **{"cell/2/price": "much", "cell/3/price": "2.60"}))
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text.partition('id="w-cell/2/price"')[2][:200]
    assert 'value="much"' in answer.text
    assert file.read_bytes() == before


def test_a_table_that_is_not_there_is_begun(tmp_path: Path) -> None:
    with opened(clean_shop(tmp_path / "shop")) as (client, desk):
        assert say("rows.none") in text(client.get("/shop/table/ingredients").text)
        file = desk.folder / "ingredients.csv"
        row = {"cell//item": "RR-B1", "cell//ingredient": "Aqua", "cell//percent": "100 %"}
        client.post("/shop/table/ingredients", data=sent(desk, file, **row))
        assert cells(file) == [["item", "ingredient", "percent"], ["RR-B1", "Aqua", "100 %"]]


@pytest.mark.parametrize("page", ["0", "-1", "x", "9" * 5000])
def test_a_page_that_is_none_is_the_first_or_the_last(shop: tuple[TestClient, Desk, Path], page: str) -> None:
    client, _, _ = shop
    answer = client.get(f"{POSTAGE}?page={page}")
    assert (answer.status_code, 'name="cell/2/price"' in answer.text) == (200, True)


def test_there_is_no_page_of_another_table(shop: tuple[TestClient, Desk, Path]) -> None:
    client, desk, _ = shop
    assert client.get("/shop/table/stockists").status_code == 404
    assert client.post("/shop/table/items", data=desks.form(desk)).status_code == 404


@pytest.mark.parametrize(
    ("name", "field", "typed"),
    [
        ("postage", "price", "9.15"),
        ("ingredients", "percent", "7"),
        ("materials", "price", "7.00"),
        ("recipes", "amount", "7 g"),
        ("plan", "how_many", "7"),
    ],
)
def test_a_change_of_any_table_is_told_in_the_past_by_its_field(
    tmp_path: Path, name: str, field: str, typed: str
) -> None:
    role = rows.TABLES[name]
    file, address = f"{role}.csv", f"/{'shelf' if name in rows.ON_SHELF else 'shop'}/table/{name}"
    folder = clean_shop(tmp_path / "shop")
    shutil.copy(DEMO / file, folder / file)
    with opened(folder) as (client, desk):
        for change in ({f"cell/3/{field}": typed}, {"do": "take 3"}):
            before = (folder / file).read_bytes()
            client.post(address, data=sent(desk, folder / file, sure="yes", **change))
            assert (folder / file).read_bytes() != before
        page = client.get("/past")
        assert page.status_code == 200, page.text
        assert say(f"rows.field.{field}") in text(page.text)
