"""A ledger that an earlier version wrote is read on: history, changes, compare and taking a record back.

ledger-of-2026-11.sqlite3 is the demo shop's, with all its channels and the wholesale sheet recorded on 2026-11-25, and
again on 2026-11-28, when bar soap OH-B01 had gone from 7.50 to 8.00, the line sheet been issued a day later, and
Lamp-Lighting been reduced by 15 % from that day until 2026-12-11. The demo shop itself has none of these: held against
it, the ledger tells them the other way round. The demo's words have changed since, and which sets are out of season is
shown since. Figures are as the version that wrote the file printed them, typed in.
"""

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from listkit.ledger.moments import local_time
from tests.cli.published import Told

OLD = Path(__file__).with_name("ledger-of-2026-11.sqlite3")
TODAY = ("--today", "2026-11-29")
PLACES = ("web_shop", "hedgerow_fair", "stall", "web_shop_fr", "wholesale")


@pytest.fixture(scope="module")
def demo_with_ledger(tmp_path_factory: pytest.TempPathFactory, demo_folder: Path) -> Path:
    """The demo shop with the old ledger in it."""
    shop = tmp_path_factory.mktemp("old") / "shop"
    return Path(shutil.copytree(demo_folder, shop))


@pytest.fixture
def told(demo_with_ledger: Path, capsys: pytest.CaptureFixture[str]) -> Told:
    """The demo shop with the ledger as it was written."""
    shutil.copyfile(OLD, demo_with_ledger / "ledger.sqlite3")
    return Told(demo_with_ledger, capsys)


def prices(told: Told, code: str) -> list[tuple[str, str, str]]:
    """Day, channel and price of every line of a history."""
    assert told.run("history", code, *TODAY) == 0, told.err
    lines = [line.split("  ") for line in told.out.splitlines() if line.startswith("2026-")]
    cells = [[cell.strip() for cell in line if cell.strip()] for line in lines]
    return [(day, channel, price) for day, channel, price, _ in cells]


def test_every_price_is_in_its_history(told: Told) -> None:
    assert prices(told, "OHS-1-U01") == [
        *(("2026-11-25", channel, "29.00") for channel in PLACES[:4]),
        ("2026-11-25", "wholesale", "14.50"),
        *(("2026-11-28", channel, "29.50") for channel in PLACES[:4]),
        ("2026-11-28", "wholesale", "14.75"),
    ]
    assert "lowest on stall in the 30 days before 29 November 2026: £29.00" in told.out
    assert prices(told, "OH-B01") == [
        ("2026-11-25", "wholesale", "3.75"),
        ("2026-11-28", "wholesale", "4.00"),
        ("2026-11-25", "retail price", "7.50"),
        ("2026-11-28", "retail price", "8.00"),
    ]


def test_every_change_has_its_cause_and_its_figures(told: Told) -> None:
    changes = told.json("changes", *TODAY, status=1)
    assert set(changes) == set(PLACES)
    web = changes["web_shop"]
    moved = {one["code"]: (one["old"], one["new"]) for one in web["changed"] if one["field"] == "price"}
    assert moved == {
        "OHS-1-S03": ("27.50", "27.00"),
        "OHS-1-U01": ("29.50", "29.00"),
        "OHS-1-U02": ("29.50", "29.00"),
        "OHS-2-S01": ("34.00", "33.50"),
        "OHS-2-S02": ("34.00", "33.50"),
        "OHS-5-S02": ("28.90", "34.00"),
        "OHS-5-U01": ("30.60", "36.00"),
        "OHS-5-U02": ("30.60", "36.00"),
        "OHS-7-B01": ("8.00", "7.50"),
    }
    of_prices = [cause for cause in web["causes"] if any(field == "price" for _, field in cause["changed"])]
    assert sorted(cause["kind"] for cause in of_prices) == ["item price", "reduction"]
    turned = {cause["words"] for cause in web["causes"] if cause["kind"] == "season"}  # told since, and all of the day
    assert "spring has not begun (1 set, 3 variants)" in turned
    assert all(" has not begun (" in words for words in turned)
    [per_measure] = [one for one in web["changed"] if one["field"] == "pricePerMeasure"]
    assert (per_measure["old"], per_measure["new"]) == ("£7.27 per 100 g", "£6.82 per 100 g")
    tiers = {one["code"]: one["old"] for one in changes["wholesale"]["changed"] if one["field"] == "tierPrices"}
    assert tiers["OHS-1-S03"] == ["24: 12.93"]


def test_a_record_that_is_taken_back_uncovers_the_one_before(told: Told) -> None:
    for channel in ("web_shop", "wholesale"):
        assert told.run("record", channel, "--undo") == 0, told.err
        assert f"taken back: {channel} as of {local_time('2026-11-28T09:15:00+00:00')}." in told.out + told.err
    left = prices(told, "OHS-1-U01")
    assert ("2026-11-28", "web_shop", "29.50") not in left
    assert ("2026-11-28", "stall", "29.50") in left
    changed = told.json("changes", "web_shop", *TODAY, status=1)["web_shop"]["changed"]
    assert not [one for one in changed if one["field"] in ("price", "pricePerMeasure")]
    with closing(sqlite3.connect(told.shop / "ledger.sqlite3")) as ledger:
        assert ledger.execute("SELECT count(*) FROM record").fetchall() == [(12,)]
        assert ledger.execute("PRAGMA integrity_check").fetchall() == [("ok",)]


def test_an_export_is_held_against_the_shop_beside_it(told: Told, tmp_path: Path) -> None:
    export = tmp_path / "export.csv"
    export.write_text("sku,price\nOHS-1-U01,29.50\nOHS-1-U02,29.00\nOHS-9-X,1.00\n", encoding="utf-8")
    found = told.json("compare", "web_shop", str(export), *TODAY, status=1)
    [difference] = found["differences"]
    assert (difference["code"], difference["ours"], difference["theirs"]) == ("OHS-1-U01", "29.00", "29.50")
    assert found["unknown_there"] == ["OHS-9-X"]
    assert len(found["missing_there"]) == 27
