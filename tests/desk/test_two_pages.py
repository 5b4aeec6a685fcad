"""Two pages of one desk at once, and pages that are left from before: none of them speaks of what the other shows.

What is kept between two requests, as a table whose columns are being looked at, is the desk's and not the page's.
"""

import re
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from listkit.actions import what_if
from listkit.cli import main
from listkit.desk import moves
from listkit.desk.changes import see
from listkit.desk.edits import look
from listkit.desk.item_codes import users_of
from listkit.desk.page import Desk, say
from listkit.desk.places import place_files
from listkit.desk.shelf import TARGET, sheet_lines
from tests.desk.desks import form, opened, text
from tests.shops import DEMO, clean_shop

Opened = tuple[TestClient, Desk, Path]
SAMPLES = {"one.csv": b"Titel,Preis\nRose,5.00\n", "two.csv": b"Preis,Titel\n5.00,Rose\n"}


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Opened]:
    folder = clean_shop(tmp_path / "shop")
    with opened(folder) as (client, opened_desk):
        yield client, opened_desk, folder


def hidden(page: str) -> dict[str, str]:
    return dict(re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)"', page))


def test_what_was_chosen_for_one_sample_is_not_done_with_another(desk: Opened) -> None:
    client, opened_desk, folder = desk
    pages = [
        client.post("/places/new/sample", data=form(opened_desk, name="Fair"), files={"sample": (name, content)}).text
        for name, content in SAMPLES.items()
    ]
    chosen = {"name": "Fair", "column-0": "name", "column-1": "price"}
    answer = client.post("/places/new/columns", data=form(opened_desk, **hidden(pages[0]), **chosen))
    assert answer.status_code == 422
    assert say("columns.moved") in text(answer.text)
    assert not (folder / "channels" / "fair.toml").exists()
    turned = {"name": "Fair", "column-0": "price", "column-1": "name"}
    client.post("/places/new/columns", data=form(opened_desk, **hidden(answer.text), **turned))
    assert (folder / "channels" / "fair.toml").exists()


def test_what_was_chosen_for_one_sheet_is_not_done_with_another(tmp_path: Path) -> None:
    with opened(tmp_path / "shop") as (client, opened_desk):
        pages = [
            client.post("/start/sheet", data=form(opened_desk), files={"sheet": (name, content)}).text
            for name, content in SAMPLES.items()
        ]
        stated = {"name": "Bee", "currency": "GBP", "country": "GB", "column-0": "name", "column-1": "retail"}
        answer = client.post("/start/columns", data=form(opened_desk, **hidden(pages[0]), **stated))
        assert answer.status_code == 422
        assert say("columns.moved") in text(answer.text)
        assert opened_desk.state is None


def test_no_shop_is_made_within_the_one_that_is_open(desk: Opened) -> None:
    client, opened_desk, folder = desk
    before = sorted(folder.iterdir())
    for address in ("/start/small", "/start/columns"):
        stated = form(opened_desk, name="Other", currency="GBP", country="GB")
        answer = client.post(address, data=stated)
        assert answer.url.path == "/today"
        assert say("start.there") in text(answer.text)
    assert sorted(folder.iterdir()) == before
    assert opened_desk.folder == folder


def test_prices_are_not_written_over_a_sheet_that_is_saved_meanwhile(
    desk: Opened, monkeypatch: pytest.MonkeyPatch
) -> None:
    client, opened_desk, folder = desk
    sheet = folder / "items.csv"
    asked = form(opened_desk, way="all", share="5")
    page = client.post("/places/moves", data=asked).text
    real = what_if.changed_sheet

    def saved_meanwhile(*args: object) -> bytes:
        changed: bytes = real(*args)  # type: ignore[arg-type]
        sheet.write_bytes(sheet.read_bytes().replace(b"Sedge", b"Marsh"))
        return changed

    monkeypatch.setattr(moves, "changed_sheet", saved_meanwhile)
    answer = client.post("/places/moves", data={**asked, **hidden(page), "sure": "yes"})
    assert answer.status_code == 409
    assert b"Marsh" in sheet.read_bytes()


def test_a_note_is_read_while_others_are_left(desk: Opened) -> None:
    _, opened_desk, _ = desk
    done, faults = threading.Event(), list[Exception]()

    def leave() -> None:
        while not done.is_set():
            opened_desk.note("said")

    threads = [threading.Thread(target=leave) for _ in range(3)]
    for thread in threads:
        thread.start()
    try:
        for _ in range(3_000):
            opened_desk.noted("0")
    except RuntimeError as fault:  # the deque was mutated during iteration
        faults.append(fault)
    done.set()
    for thread in threads:
        thread.join()
    assert not faults


def test_the_record_that_a_page_showed_is_taken_back_and_no_other(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    sheet = shop / "items.csv"
    for price in ("6.50", "6.60"):
        sheet.write_text(sheet.read_text(encoding="utf-8").replace("6.50", price), encoding="utf-8")
        assert main(["build", "--shop", str(shop)]) == 0
        assert main(["record", "stall", "--shop", str(shop)]) == 0
    with opened(shop) as (client, opened_desk):
        opened_desk.shop_state.look()
        opened_desk.shop_state.full(wait=60)
        page = client.get("/place/stall/publish").text
        sent = form(opened_desk, record=re.findall(r'name="record" value="(\d+)"', page)[0])
        assert client.post("/place/stall/unpublish", data=sent).status_code == 200
        again = client.post("/place/stall/unpublish", data=sent)
        assert again.status_code == 409
        assert text(say("publish.moved")[1:]) in text(again.text)


def test_what_uses_an_item_is_found_however_its_file_is_written(tmp_path: Path) -> None:
    folder = clean_shop(tmp_path / "shop")
    (folder / "recipes.csv").write_bytes((DEMO / "recipes.csv").read_text(encoding="utf-8").encode("utf-16"))
    with opened(folder) as (_, opened_desk):
        files = look(folder)
        lines = sheet_lines(files, see(folder, TARGET, files))
        code = "soap base"  # of the demo's recipes

        def users() -> list[str]:
            return [name for name, _ in users_of(opened_desk, opened_desk.shop_state.look(), lines, code)]

        assert users() == ["recipes.csv"]
        (folder / "shop.toml").write_text(
            (folder / "shop.toml").read_text(encoding="utf-8")
            + '\n[[accepted]]\ncheck = "band-missed"\nat = "\\u0073oap base"\nreason = "so"\n',
            encoding="utf-8",
        )
        assert users() == ["shop.toml", "recipes.csv"]


def test_a_hidden_file_is_no_place(desk: Opened) -> None:
    _, opened_desk, folder = desk
    (folder / "channels" / "._web.toml").write_bytes(b"\x00\x05\x16\x07")
    assert "._web" not in place_files(opened_desk)
