"""Who gets which piece on the desk: shared out, kept, taken back, what is scarce marked, refusals told."""

import csv
import datetime
import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from listkit import pipeline
from listkit.actions import allot as allotting
from listkit.desk.page import say
from listkit.pipeline import Opened, list_shop
from tests.cli.test_allot import allotting_shop
from tests.desk.desks import form, opened, text
from tests.shops import clean_shop

ADDRESS = "/shelf/allotment"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return allotting_shop(tmp_path / "shop", '[[allotment.wish]]\nplace = "web"\nof = ["RRS-1"]\nleast = 6\n')


def test_pieces_are_shared_out_shown_and_taken_back(shop: Path) -> None:
    with opened(shop) as (client, desk):
        assert say("allotment.nothing") in text(client.get(ADDRESS).text)
        assert f'href="{ADDRESS}"' in client.get("/shelf").text
        page = client.post(ADDRESS, data=form(desk)).text
        assert say("allotment.done") in text(page)
        with (shop / "allotment.csv").open(encoding="utf-8", newline="") as file:
            rows = {(row["place"], row["code"]): int(row["pieces"]) for row in csv.DictReader(file)}
        at_web = rows["web", "RRS-1-J1"] + rows["web", "RRS-1-J2"]
        at_stall = rows["stall", "RRS-1-J1"] + rows["stall", "RRS-1-J2"]
        line = text(page).partition("RRS-1 ")[2]
        assert line.startswith(f"{at_stall} {at_web} {at_stall + at_web} ")
        assert "RR-B1 40 40 0" in text(page)
        assert say("allotment.same") in text(client.post(ADDRESS, data=form(desk)).text)
        client.post("/past/back", data=form(desk, change="1", here="/past"))
        assert not (shop / "allotment.csv").exists()


def test_the_page_shows_what_the_feeds_publish(shop: Path) -> None:
    with opened(shop) as (client, desk):
        client.post(ADDRESS, data=form(desk))
        page = text(client.get(ADDRESS).text)
    listed = list_shop(shop, datetime.date(2027, 3, 1))  # in its season, before which nothing can be bought
    shown = [
        sum(offer.stock or 0 for offer in listing.offers)
        for key in ("stall", "web")
        for listing in listed.listings_of(key)
        if listing.facts.code == "RRS-1"
    ]
    assert page.partition("RRS-1 ")[2].startswith(f"{shown[0]} {shown[1]} {sum(shown)} ")
    assert all(shown)


def test_wishes_that_cannot_be_kept_are_told_on_the_page(shop: Path) -> None:
    allotting_shop(shop, '[[allotment.wish]]\nplace = "web"\nof = ["RRS-1"]\nleast = 41\n')
    with opened(shop) as (client, desk):
        page = text(client.post(ADDRESS, data=form(desk)).text)
    assert "40 can be had" in page
    assert not (shop / "allotment.csv").exists()


def test_a_shop_that_asks_for_no_allotment_has_no_such_page_on_its_shelf(tmp_path: Path) -> None:
    with opened(clean_shop(tmp_path / "shop")) as (client, _):
        assert ADDRESS not in client.get("/shelf").text
        assert say("allotment.unasked") in text(client.get(ADDRESS).text)


def test_what_all_sets_want_more_of_is_marked(shop: Path) -> None:
    """A second set of the same bar: both could be made 40 times, of 40 bars."""
    shutil.copytree(shop / "sets/dawn", shop / "sets/dusk")
    dusk = (shop / "sets/dusk/set.toml").read_text(encoding="utf-8").replace("RRS-1", "RRS-2").replace("Dawn", "Dusk")
    (shop / "sets/dusk/set.toml").write_text(dusk, encoding="utf-8")
    with opened(shop) as (client, desk):
        page = text(client.post(ADDRESS, data=form(desk)).text)
    assert f"RR-B1 {say('allotment.scarce')} {say('allotment.wanted', needed=80, there=40)} 40 40 0" in page
    assert re.search(rf"RRS-2 \d+ \d+ \d+ {say('allotment.scarce')} RR-B1", page)


def test_an_allotment_that_is_written_while_it_is_shared_out_stays(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file, real = shop / "allotment.csv", pipeline.open_shop

    def written_meanwhile(*args: Any, **options: Any) -> Opened:
        seen = real(*args, **options)
        file.write_text("place,code,pieces\nweb,RRS-1-J1,1\n", encoding="utf-8")
        return seen

    monkeypatch.setattr(allotting, "open_shop", written_meanwhile)
    with opened(shop) as (client, desk):
        page = client.post(ADDRESS, data=form(desk))
        assert "allotment.csv was changed meanwhile" in text(page.text)
    assert file.read_text(encoding="utf-8") == "place,code,pieces\nweb,RRS-1-J1,1\n"
