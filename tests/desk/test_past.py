"""Past: prices, publications and changes as the ledger and the past of files have them; a search; taking back."""

import csv
import datetime
import io
import json
import re
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from html import unescape
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest
from playwright.sync_api import expect
from starlette.testclient import TestClient

from listkit.cli import main
from listkit.desk import changes
from listkit.desk import past as room
from listkit.desk.edits import Edit, Put, Role, Target
from listkit.desk.page import Desk, say
from listkit.desk.past import change_then
from listkit.desk.tables import PutCell
from listkit.edit.past import opened as past_opened
from listkit.edit.past_lines import FileChange, PastChange, PastFile, Patch, digest_of
from listkit.ledger.store import LEDGER
from listkit.pipeline import open_shop
from tests.desk.desks import CHROMIUM, NOW, form, opened, text
from tests.desk.test_browser import Opened, assert_no_faults, open_desk  # noqa: F401 (fixtures)
from tests.shops import clean_shop

SVG = "{http://www.w3.org/2000/svg}"
DAWN = "sets/dawn/set.toml"
EVIL = '"><script>window.hit=1</script>'


@pytest.fixture(scope="module")
def recorded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The clean shop with two publications of its stall, and a higher price between them."""
    without: dict[str, str | bytes | None] = {"wholesale.toml": None, "stockists.csv": None}
    shop = clean_shop(tmp_path_factory.mktemp("past") / "shop", without)
    common = ["--shop", str(shop)]
    for day, old, new in (("2026-10-01", "", ""), ("2026-11-20", "6.50", "7.00")):
        items = (shop / "items.csv").read_text(encoding="utf-8")
        assert old in items
        (shop / "items.csv").write_text(items.replace(old, new, 1) if old else items, encoding="utf-8")
        assert main(["build", *common, "--today", day, "--accept-large-changes"]) == 0
        assert main(["record", "--all", *common, "--at", f"{day}T10:00:00+00:00", "--note", f"fair {day[:4]}"]) == 0
    return shop


@pytest.fixture
def shop(recorded: Path, tmp_path: Path) -> Path:
    return shutil.copytree(recorded, tmp_path / "shop")


@pytest.fixture
def desk(shop: Path) -> Iterator[tuple[TestClient, Desk]]:
    with opened(shop) as both:
        yield both


def history(shop: Path, code: str, capsys: pytest.CaptureFixture[str]) -> dict[str, list[dict[str, str]]]:
    capsys.readouterr()
    assert main(["history", code, "--shop", str(shop), "--json", "--today", "2026-11-29"]) == 0
    told: dict[str, list[dict[str, str]]] = json.loads(capsys.readouterr().out)
    return told


def change(shop: Path, old: str, new: str, *, file: str = DAWN, minutes: int = 0) -> int:
    """Change a file as a room does; return the number of the change."""
    content = (shop / file).read_bytes()
    assert old.encode() in content
    changed = content.replace(old.encode(), new.encode())
    with past_opened(shop) as kept:
        when = NOW + datetime.timedelta(minutes=minutes)
        return kept.write([FileChange(file, digest_of(content), changed)], what=f"{file}: name", when=when).number


def test_every_price_is_that_of_the_command(
    desk: tuple[TestClient, Desk], shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    client, _ = desk
    for code in ("RRS-1-J1", "RRS-1-J2", "RR-B1"):
        page = client.get(room.prices_address(code))
        assert page.status_code == 200
        prices = history(shop, code, capsys)["prices"]
        assert prices
        shown = re.findall(r'<data value="([^"]*)">', page.text)
        assert shown == [each["price"] for each in reversed(prices) if each["price"] is not None]


def test_the_picture_has_axis_currency_names_and_a_mark_for_each_publication(desk: tuple[TestClient, Desk]) -> None:
    client, _ = desk
    page = client.get(room.prices_address("RRS-1-J1"))
    [address] = re.findall(r'<img src="([^"]+)"', page.text)
    answer = client.get(unescape(address))
    assert answer.headers["content-type"] == "image/svg+xml"
    root = ElementTree.fromstring(answer.text)
    said = {each.text for each in root.iter(f"{SVG}text")}
    assert {"Market stall", "2026-10-01", "2026-11-29"} <= said
    assert say("past.axis", currency="GBP") in said
    marks = [each for each in root.iter(f"{SVG}path") if each.find(f"{SVG}title") is not None]
    assert {each.findtext(f"{SVG}title") for each in marks} == {"2026-10-01", "2026-11-20"}


def test_a_set_leads_to_its_variants_and_what_was_never_recorded_is_told(desk: tuple[TestClient, Desk]) -> None:
    client, _ = desk
    answer = client.get(room.prices_address("RRS-1"))
    assert "RRS-1-J1" in answer.text
    assert f'href="{room.prices_address("RRS-1-J2")}"' in client.get(room.prices_address("RRS-1-J1")).text
    nothing = client.get(room.prices_address(EVIL))
    assert nothing.status_code == 404
    assert "was ever recorded" in text(nothing.text)
    assert "<script>window" not in nothing.text
    assert client.get("/past/drawing", params={"code": EVIL}).status_code == 404


def test_the_page_names_goods_publications_and_changes(desk: tuple[TestClient, Desk], shop: Path) -> None:
    client, _ = desk
    first = change(shop, 'name = "Dawn on the Weir"', 'name = "Dusk"')
    page = client.get("/past")
    said = text(page.text)
    assert f'href="{room.prices_address("RRS-1-J1")}"' in page.text
    assert said.count("fair 2026") >= 2
    assert "Dusk: Name" in said
    assert 'name = "Dawn on the Weir"' in said
    assert 'name = "Dusk"' in said
    assert re.findall(r'name="change" value="(\d+)"', page.text) == [str(first)]


def test_a_change_is_called_by_what_it_is_of_and_each_field_once(shop: Path) -> None:
    edits = [
        Edit(Target(Role.SET, "RRS-1"), Put(("box",), "M")),
        Edit(Target(Role.SET, "RRS-1"), Put(("keywords",), ["river gift"])),
        Edit(Target(Role.SET, "RRS-1"), Put(("keywords",), ["river gift", "soap"])),
    ]
    digest = changes.see(shop, edits[0].target).digest
    done = changes.apply(shop, edits, {edits[0].target: digest}, changes.Kind(NOW))
    assert done.number, done
    sheet = Edit(Target(Role.ITEMS), PutCell("RR-J2", "retail", "9.50"))
    done = changes.apply(shop, [sheet], {sheet.target: changes.see(shop, sheet.target).digest}, changes.Kind(NOW))
    changes.take_back(shop, done.number, changes.Kind(NOW))
    with opened(shop) as (client, _):
        said = text(client.get("/past").text)
        assert "Dawn on the Weir: Box, What buyers look for " in said
        assert "Water Mint body butter: Price" in said
        assert "Taken back: Water Mint body butter: Price" in said
        assert "items.csv: RR-J2" not in said
        assert "Dawn on the Weir" in text(client.get("/past?q=weir box").text)


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("Salt and Pepper", "Your words in fr"),
        ("salt, and 2 more, pepper", ""),
        ("and 2 more", "Your words in fr"),
        ("salt and " + "9" * 5_000 + " more", ""),
    ],
)
def test_a_key_with_words_of_a_list_in_it_is_shown(shop: Path, name: str, shown: str) -> None:
    """A season may be called Salt and Pepper, and a file of words names it so."""
    key, fr = f"seasons.{name}", "languages/fr.toml"
    for what in (f"shop.toml: season.0.name, {fr}: {key} and 1 more", f"{fr}: {key}", f"{fr}: {key} and 2 more"):
        files = tuple(PastFile(path, "0" * 64, "1" * 64) for path in ("shop.toml", fr))
        said = room.what_words(PastChange(1, NOW, what, files), open_shop(shop, shop / "out").shop)
        assert said
        assert shown in said or said == what


def test_words_of_another_program_that_fill_a_file_are_cut(shop: Path) -> None:
    """90 MB of them gave a page of 180 MB."""
    change = PastChange(1, NOW, "x" * 1_000_000, (PastFile("shop.toml", "0" * 64, "1" * 64),))
    said = room.what_words(change, open_shop(shop, shop / "out").shop)
    assert said.endswith("…")
    assert len(said) <= 300


def test_a_change_is_taken_back_and_that_again(desk: tuple[TestClient, Desk], shop: Path) -> None:
    client, served = desk
    before = (shop / DAWN).read_bytes()
    number = change(shop, "Dawn on the Weir", "Dusk")
    after = (shop / DAWN).read_bytes()
    answer = client.post("/past/back", data=form(served, change=str(number), here="/past?q=dusk"))
    assert answer.status_code == 200
    assert answer.url.path == "/past"
    assert (shop / DAWN).read_bytes() == before
    page = client.get("/past")
    assert say("past.is_back") in text(page.text)
    assert re.findall(r'name="change" value="(\d+)"', page.text)[-1] == str(number + 1)
    assert client.post("/past/back", data=form(served, change=str(number + 1), here="/past")).status_code == 200
    assert (shop / DAWN).read_bytes() == after


def test_what_was_changed_since_in_the_same_place_is_shown_and_nothing_is_lost(
    desk: tuple[TestClient, Desk], shop: Path
) -> None:
    client, served = desk
    number = change(shop, "Dawn on the Weir", "Dusk")
    now = (shop / DAWN).read_text(encoding="utf-8").replace("Dusk", "Noon")
    (shop / DAWN).write_text(now, encoding="utf-8")
    answer = client.post("/past/back", data=form(served, change=str(number), here="/past"))
    assert answer.status_code == 409
    assert "Noon" in text(answer.text)
    assert (shop / DAWN).read_text(encoding="utf-8") == now


@pytest.mark.parametrize(
    ("asked", "goods", "published", "changes"),
    [
        ("", True, 2, 2), ("DUSK", True, 0, 1), ("fair", False, 2, 0), ("rrs-1-j2", True, 0, 0),
        ("october", False, 1, 0), ("items.csv", False, 0, 1), ("nothing of the kind", False, 0, 0),
    ],
)  # fmt: skip
def test_a_search_goes_through_prices_publications_and_changes(
    desk: tuple[TestClient, Desk], shop: Path, asked: str, goods: bool, published: int, changes: int
) -> None:
    client, _ = desk
    change(shop, "Dawn on the Weir", "Dusk")
    change(shop, "7.00", "7.25", file="items.csv", minutes=5)
    page = client.get("/past", params={"q": asked}).text
    assert ("/past/prices?code=" in page) == goods
    places = page[page.index('id="published"') :]
    assert places.count("fair 2026") == published
    assert page.count('name="change"') == changes


def test_a_ledger_of_a_newer_listkit_is_told_and_changes_are_there_all_the_same(
    desk: tuple[TestClient, Desk], shop: Path
) -> None:
    client, _ = desk
    change(shop, "Dawn on the Weir", "Dusk")
    with closing(sqlite3.connect(shop / LEDGER)) as ledger:
        ledger.execute("PRAGMA user_version = 99")
        ledger.commit()
    page = client.get("/past")
    assert page.status_code == 200
    assert "it was written by a newer listkit" in text(page.text)
    assert "Use that one, or a newer one." in text(page.text)
    assert page.text.count('name="change"') == 1
    prices = client.get(room.prices_address("RRS-1-J1"))
    assert prices.status_code == 409
    assert "it was written by a newer listkit" in text(prices.text)


def test_many_changes_come_in_pages(desk: tuple[TestClient, Desk], shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(room, "PAGE", 2)
    names = ["Dawn on the Weir", "One", "Two", "Three", "Four", "Five"]
    for minutes, (old, new) in enumerate(pairwise(names)):
        change(shop, f'"{old}"', f'"{new}"', minutes=minutes)
    client, _ = desk
    seen = []
    for number in (1, 2, 3):
        page = client.get("/past", params={"changes": number}).text
        seen += re.findall(r'name="change" value="(\d+)"', page)
        assert say("past.page", page=number, pages=3) in text(page)
    assert seen == ["5", "4", "3", "2", "1"]
    assert client.get("/past", params={"changes": "99"}).text.count('name="change"') == 1


def test_a_shop_without_a_ledger_has_a_past_of_changes_alone(tmp_path: Path) -> None:
    with opened(clean_shop(tmp_path / "shop")) as (client, _):
        said = text(client.get("/past").text)
    assert say("past.no_prices") in said
    assert say("past.none_published") in said
    assert say("past.no_changes") in said


def test_markup_in_notes_names_and_changes_is_text(desk: tuple[TestClient, Desk], shop: Path) -> None:
    client, _ = desk
    assert main(["record", "--undo", "stall", "--shop", str(shop), "--at", "2026-11-21T10:00:00+00:00"]) in (0, 1, 2)
    change(shop, "Dawn on the Weir", EVIL.replace('"', "'"))
    for path in ("/past", f"/past?q={EVIL}", room.prices_address("RRS-1-J1")):
        assert "<script>window" not in client.get(path).text


# In a real browser

needs_browser = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed: apt install chromium")


@needs_browser
def test_prices_and_changes_are_for_everybody(open_desk: Opened, shop: Path) -> None:  # noqa: F811
    change(shop, "Dawn on the Weir", "Dusk")
    served = open_desk(shop)
    page = served.page("/past")
    page.locator("details").first.locator("summary").click()
    assert_no_faults(page)
    page.goto(served.server.desk.keys.origin + room.prices_address("RRS-1-J1"))
    assert page.evaluate("document.querySelector('.over-time img').naturalWidth") > 0
    assert_no_faults(page)
    served.leave()
    assert served.faults == []


@needs_browser
def test_a_change_is_found_and_taken_back_by_keys_alone(open_desk: Opened, shop: Path) -> None:  # noqa: F811
    before = (shop / DAWN).read_bytes()
    change(shop, "Dawn on the Weir", "Dusk")
    change(shop, "spring gift", "evening gift", minutes=1)
    served = open_desk(shop)
    page = served.page("/past")
    page.focus("#q")
    page.keyboard.type("evening")
    page.keyboard.press("Enter")
    button = page.get_by_role("button", name=say("back.take"))
    expect(button).to_have_count(1)
    button.focus()
    page.keyboard.press("Enter")
    expect(page.locator(".note").first).to_contain_text(say("back.done"))
    assert (shop / DAWN).read_bytes() == before.replace(b"Dawn on the Weir", b"Dusk")
    served.leave()


@pytest.mark.parametrize(
    ("path", "before", "after", "moved"),
    [
        ("sets/dawn/set.toml", 'price = "5.50"  # since May\n', 'price = "7.00"\n', [("5.50", "7.00")]),
        ("shop.toml", "hold_back = 1\n", "hold_back = 2\n", [("1", "2")]),
        ("shop.toml", "[season]\n", "[seasons]\n", []),
        ("shop.toml", "", "hold_back = 2\n", []),
    ],
)
def test_a_change_of_a_value_says_what_it_was_and_is(
    path: str, before: str, after: str, moved: list[tuple[str, str]], tmp_path: Path
) -> None:
    shop = open_shop(clean_shop(tmp_path / "shop")).shop
    patch = Patch(0, before, after, "", "", "utf-8")
    change = PastChange(1, NOW, "", (PastFile(path, "a" * 64, "b" * 64, patch=patch),))
    assert [(each.before, each.after) for each in change_then(change, shop).files[0].moves] == moved


def test_a_table_with_a_heading_of_her_own_is_shown_by_it(tmp_path: Path) -> None:
    shop = open_shop(clean_shop(tmp_path / "shop")).shop
    (shop.root / "materials.csv").write_text("material,unit,price,Our own note\noil,kg,5,red\n", encoding="utf-8")
    patch = Patch(0, "oil,kg,5,red\n", "oil,kg,5,blue\n", "", "", "utf-8")
    change = PastChange(1, NOW, "", (PastFile("materials.csv", "a", "b", patch=patch),))
    moves = change_then(change, shop).files[0].moves
    assert [(each.label, each.before, each.after) for each in moves] == [("Our own note", "red", "blue")]


def test_a_changed_cell_of_an_item_is_shown_from_and_to(tmp_path: Path) -> None:
    shop = open_shop(clean_shop(tmp_path / "shop")).shop
    heading, row, *_ = (shop.root / "items.csv").read_text(encoding="utf-8").splitlines()
    at = heading.split(",").index("name")
    cells = next(csv.reader([row]))
    told = io.StringIO()
    csv.writer(told, lineterminator="\n").writerow([*cells[:at], "Another, name", *cells[at + 1 :]])
    patch = Patch(0, f"{row}\n", told.getvalue(), "", "", "utf-8")
    change = PastChange(1, NOW, "", (PastFile("items.csv", "a", "b", patch=patch),))
    moves = change_then(change, shop).files[0].moves
    assert [(each.label, each.before, each.after) for each in moves] == [("Name", cells[at], "Another, name")]


@pytest.mark.parametrize(
    ("path", "before", "after"),
    [
        ("items.csv", "code,name\rA,Bar", "code,name\rA,Soap"),
        ("items.csv", "A," + "x" * 140_000, "A," + "y" * 140_000),
        ("shop.toml", "a = " + "9" * 5_000, "a = 1"),
        ("shop.toml", "a = " + "[" * 15_000, "a = 1"),
        ("shop.toml", "a = 0x" + "f" * 5_000, "a = 1"),
        ("shop.toml", ".".join("ab" * 5_000) + " = 1", "a = 1"),
    ],
)
def test_lines_of_any_kind_are_shown(shop: Path, path: str, before: str, after: str) -> None:
    """A table of old programs ends its lines with CR alone; numbers of thousands of digits are no TOML that is read."""
    (shop / path).write_bytes((before if path.endswith(".csv") else "").encode() + (shop / path).read_bytes())
    patch = Patch(0, before, after, lead="", tail="", encoding="utf-8")
    change = PastChange(1, NOW, path, (PastFile(path, "0" * 64, "1" * 64, patch=patch),))
    assert change_then(change, open_shop(shop, shop / "out").shop).files[0].before == before
