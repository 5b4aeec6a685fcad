"""A file that another program changed between showing a page and sending it: nothing of that is written over unseen.

What is typed was typed against the file as the page showed it, also where the page comes back with a fault first; and
rows without a code, and entries of lists, are named by places that they may have left.
"""

import re
import shutil
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from listkit.desk.page import Desk, say
from tests.desk.desks import form, opened, text
from tests.shops import DEMO, clean_shop

Opened = tuple[TestClient, Desk, Path]


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Opened]:
    folder = clean_shop(tmp_path / "shop")
    for name in ("rates.csv", "materials.csv", "recipes.csv"):
        shutil.copy(DEMO / name, folder / name)
    with opened(folder) as (client, opened_desk):
        yield client, opened_desk, folder


def shown_on(page: str) -> dict[str, str]:
    return {unescape(name): digest for name, digest in re.findall(r'name="(shown/[^"]*)" value="(\w*)"', page)}


def fields_on(page: str) -> dict[str, str]:
    """Return what the cells of a page hold."""
    found = re.findall(r'<input[^>]* name="(cell[/-][^"]*)"[^>]* value="([^"]*)"', page)
    return {unescape(name): unescape(value) for name, value in found}


def test_what_another_program_wrote_stays_where_a_page_comes_back_with_a_fault(desk: Opened) -> None:
    client, opened_desk, folder = desk
    address, items = "/shelf/item?row=RR-J1", folder / "items.csv"
    page = client.get(address).text
    row = next(line for line in items.read_text(encoding="utf-8").splitlines() if line.startswith("RR-J1,"))
    renamed = row.replace(row.split(",")[1], "Named elsewhere")
    items.write_text(items.read_text(encoding="utf-8").replace(row, renamed), encoding="utf-8")
    moved = items.read_bytes()
    typed = form(
        opened_desk, **{**shown_on(page), "row": "RR-J1", "cell/name": row.split(",")[1], "cell/retail": "-99.00"}
    )
    again = client.post("/shelf/item", data=typed)
    assert again.status_code == 422
    assert shown_on(again.text) == shown_on(page), "it was typed against the file that was shown"
    answer = client.post("/shelf/item", data={**typed, **shown_on(again.text), "cell/retail": "7.50"})
    assert (answer.status_code, items.read_bytes()) == (409, moved)
    assert say("not_saved.mine") in text(answer.text)
    assert "Named elsewhere" in answer.text


def test_a_change_that_is_made_is_shown_with_the_file_as_it_is_then(desk: Opened) -> None:
    client, opened_desk, _ = desk
    page = client.get("/shop/table/postage").text
    answer = client.post("/shop/table/postage", data=form(opened_desk, **shown_on(page), **{"cell/2/price": "2.15"}))
    assert say("one.saved") in text(answer.text)
    assert shown_on(answer.text) != shown_on(page)
    assert shown_on(answer.text) == shown_on(client.get("/shop/table/postage").text)


@pytest.mark.parametrize(
    ("address", "file", "typed"),
    [
        ("/shop/table/postage", "rates.csv", {"cell/3/price": "9.15"}),
        ("/shop/table/postage", "rates.csv", {"do": "take 3"}),
        ("/shelf/table/recipes", "recipes.csv", {"cell/3/amount": "9 g"}),
        ("/shelf/table/materials", "materials.csv", {"do": "take 2"}),
    ],
)
def test_rows_are_not_written_over_others_that_came_in_their_places(
    desk: Opened, address: str, file: str, typed: dict[str, str]
) -> None:
    client, opened_desk, folder = desk
    shown = shown_on(client.get(address).text)
    head, *rows = (folder / file).read_text(encoding="utf-8").splitlines(keepends=True)
    (folder / file).write_text("".join([head, rows[-1], *rows[:-1]]), encoding="utf-8")
    moved = (folder / file).read_bytes()
    answer = client.post(address, data=form(opened_desk, **shown, **typed))
    assert answer.status_code == 409
    assert say("not_saved.misplaced") in unescape(answer.text)
    assert say("not_saved.mine") not in answer.text
    assert (folder / file).read_bytes() == moved


def test_a_row_without_a_code_is_not_written_over_another_on_its_line(desk: Opened) -> None:
    client, opened_desk, folder = desk
    items = folder / "items.csv"
    head, *rows = items.read_text(encoding="utf-8").splitlines(keepends=True)
    nameless = "," + rows[0].partition(",")[2]
    items.write_text("".join([head, nameless, *rows]), encoding="utf-8")
    for address, fields in (
        ("/shelf/item", {"line": "2", "cell/name": "Mine"}),
        ("/shelf/codes", {"code/2": "RR-Z9"}),
        ("/shelf/take", {"line": "2"}),
    ):
        items.write_text("".join([head, nameless, *rows]), encoding="utf-8")
        shown = shown_on(client.get("/shelf/item?line=2").text)
        items.write_text("".join([head, nameless.replace(",", ",More ", 1), nameless, *rows]), encoding="utf-8")
        moved = items.read_bytes()
        answer = client.post(address, data=form(opened_desk, **shown, **fields))
        assert (answer.status_code, items.read_bytes()) == (409, moved), address
        assert say("not_saved.mine") not in answer.text, address


@pytest.mark.parametrize(
    ("address", "file", "button"),
    [
        ("/place/stall/columns", "channels/stall.toml", "take column/0"),
        ("/place/stall/change", "channels/stall.toml", "take crop/0"),
        ("/shops/terms", "wholesale.toml", "take group/0"),
    ],
)
def test_a_list_of_a_place_or_of_the_terms_is_not_written_over_one_in_another_order(
    desk: Opened, address: str, file: str, button: str
) -> None:
    client, opened_desk, folder = desk
    path = folder / file
    if file == "channels/stall.toml":
        lists = "".join(f'\n[[column]]\nheading = "{name}"\nfield = "{name}"\n' for name in ("code", "name"))
        lists += "".join(f'\n[[crop]]\nname = "{name}"\nratio = "1:1"\nwidth = 600\n' for name in ("one", "two"))
        path.write_text(path.read_text(encoding="utf-8") + lists, encoding="utf-8")
    page = client.get(address.removesuffix("/columns").removesuffix("/change")).text
    path.write_text("# by another program\n" + path.read_text(encoding="utf-8"), encoding="utf-8")
    moved = path.read_bytes()
    answer = client.post(address, data=form(opened_desk, **shown_on(page), do=button))
    assert (answer.status_code, path.read_bytes()) == (409, moved)
    assert say("not_saved.misplaced") in unescape(answer.text)
    assert say("not_saved.mine") not in answer.text
