"""`listkit history`: every price that a variant had, where and when."""

import json
import sqlite3
from contextlib import closing
from pathlib import Path
from xml.etree import ElementTree

import pytest

from listkit.ledger.lines import canonical, digest_of
from listkit.ledger.store import LEDGER, standing
from tests.cli.published import Told, built_shop, small_shop


@pytest.fixture
def told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Told:
    """A shop with two prices on record, a month apart."""
    told = built_shop(tmp_path / "shop", capsys, ("web", "--at", "2026-09-01T10:00"))
    told.edit("items.csv", "100 g,6.50", "100 g,7.00")
    assert told.build() == 0
    assert told.run("record", "web", "--at", "2026-10-01T10:00", "--note", "dearer oil") == 0
    return told


def test_every_price_is_told_with_its_day_and_the_lowest_before(told: Told) -> None:
    assert told.run("history", "RRS-1-J1", "--today", "2026-10-20") == 0
    lines = [line.split() for line in told.out.splitlines()]
    assert lines[1] == ["2026-09-01", "web", "16.50"]
    assert lines[2][:3] == ["2026-10-01", "web", "17.00"]
    assert told.out.splitlines()[-1] == "lowest on web in the 30 days before 20 October 2026: £16.50"
    assert told.json("history", "RRS-1-J1", "--today", "2026-11-20")["lowest_prior"] == {"web": "17.00"}


def test_the_prices_are_drawn(told: Told) -> None:
    picture = told.shop.parent / "prices.svg"
    assert told.run("history", "RRS-1-J1", "--svg", str(picture)) == 0
    assert ElementTree.parse(picture).getroot().find("{http://www.w3.org/2000/svg}title") is not None


def test_a_drawing_in_a_folder_is_told_with_its_own_name(told: Told) -> None:
    folder = told.shop.parent / "drawings"
    folder.mkdir()
    assert told.run("history", "RRS-1-J1", "--svg", str(folder)) == 0
    assert told.err.startswith(f"{folder / 'RRS-1-J1.svg'}: 2 prices.")
    assert (folder / "RRS-1-J1.svg").exists()


def test_a_code_that_was_never_recorded_is_told(told: Told) -> None:
    assert told.run("history", "RRS-7") == 1
    assert told.err.startswith("no price of RRS-7 was ever recorded.")


def test_of_a_set_its_variants_are_named_and_of_a_slip_what_is_near(told: Told) -> None:
    assert told.run("history", "RRS-1") == 1
    assert "Name one of its variants: RRS-1-J1 and RRS-1-J2." in told.err
    assert told.run("history", "RRS-1-K1") == 1
    assert 'Perhaps "RRS-1-J1" is meant.' in told.err


def test_an_item_has_its_retail_price_whatever_channels_sell_it_in_a_set(told: Told) -> None:
    assert told.run("record", "stall", "--at", "2026-10-02T10:00") == 0
    assert told.run("history", "RR-B1", "--today", "2026-10-20") == 0
    lines = [line.split() for line in told.out.splitlines()[1:]]
    assert [line[:3] for line in lines] == [["2026-09-01", "retail", "price"], ["2026-10-01", "retail", "price"]]
    assert [line[3] for line in lines] == ["6.50", "7.00"]


def test_a_channel_that_is_called_retail_is_a_channel(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = Told(small_shop(tmp_path / "shop"), capsys)
    (told.shop / "channels/web.toml").rename(told.shop / "channels/retail.toml")
    assert told.build() == 0
    assert told.run("record", "retail", "--at", "2026-09-01T10:00") == 0
    assert told.json("history", "RRS-1-J1", "--today", "2026-09-20")["lowest_prior"] == {"retail": "16.50"}


def test_a_drawing_that_cannot_be_written_is_told(told: Told) -> None:
    assert told.run("history", "RRS-1-J1", "--svg", str(told.shop / "no/such/folder/prices.svg")) == 1
    assert "cannot be written to" in told.err


def recorded(told: Told, section: str, code: str, facts: dict[str, object]) -> None:
    """Put one more record of the web into the ledger, as somebody may hand it over: a right digest, one line."""
    line = canonical(facts)
    with closing(sqlite3.connect(told.shop / LEDGER, isolation_level=None)) as connection:
        at = "2026-10-05T10:00:00+00:00"
        connection.execute("INSERT INTO record (channel, at, note, version) VALUES ('web', ?, '', '')", (at,))
        connection.execute("INSERT INTO content (digest, text) VALUES (?, ?)", (digest_of(line), line))
        query = "INSERT INTO entry SELECT max(number), ?, ?, ? FROM record"
        connection.execute(query, (section, code, digest_of(line)))


def test_a_reduction_until_a_day_that_no_calendar_has_is_not_drawn(told: Told) -> None:
    recorded(told, "rules", "reduction RRS-1", {"prices": "10 % less until 2026-02-31"})
    picture = told.shop.parent / "prices.svg"
    assert told.run("history", "RRS-1-J1", "--svg", str(picture)) == 0
    assert "10 % less" not in picture.read_text(encoding="utf-8")


def test_a_reduction_on_record_without_prices_lowers_none(told: Told) -> None:
    recorded(told, "rules", "reduction RRS-1", {"x": "y"})
    assert told.build() == 0, told.err


def test_a_price_of_another_currency_is_shown_with_it_and_is_no_lowest_price(told: Told) -> None:
    row = json.loads(standing(told.shop / LEDGER, "web", "rows")["RRS-1-J1"])
    recorded(told, "rows", "RRS-1-J1", row | {"price": "9.00", "priceCurrency": "EUR"})
    assert told.run("history", "RRS-1-J1", "--today", "2026-10-20") == 0
    assert "9.00 EUR" in told.out
    assert told.out.splitlines()[-1] == "lowest on web in the 30 days before 20 October 2026: £16.50"


def test_a_price_that_grew_from_next_to_nothing_is_told(told: Told) -> None:
    row = json.loads(standing(told.shop / LEDGER, "web", "rows")["RRS-1-J1"])
    recorded(told, "rows", "RRS-1-J1", row | {"price": "1e-33"})
    changed = told.json("changes", "web", "--today", "2026-10-20", status=1)["web"]["changed"]
    assert changed[0]["share"] == pytest.approx(1.7e34)
