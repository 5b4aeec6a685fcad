"""Versions of the line sheet from record to record: marks on what moved, the prices of an older one."""

import json
import re
import shutil
import subprocess
from datetime import date
from pathlib import Path

import pytest

from listkit.actions.orders import price_book
from listkit.cli import main
from listkit.compute.wholesale import build_sheet
from listkit.pipeline import check_shop, list_shop
from tests.shops import clean_shop

PDFTEXT = shutil.which("pdftotext")
TIER = '\n[[tier]]\nfrom = 12\nwholesale = "45 %"\n'


def built(folder: Path) -> None:
    assert main(["build", "--shop", str(folder), "--today", "2027-03-01", "--accept-large-changes"]) == 0


def recorded(folder: Path) -> None:
    assert main(["record", "wholesale", "--shop", str(folder)]) == 0


def edit(file: Path, old: str, new: str) -> None:
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), encoding="utf-8")


@pytest.fixture
def moved(tmp_path: Path) -> Path:
    """A shop whose bar went up from 6.50 to 7.00 after its sheet was given out."""
    folder = clean_shop(tmp_path / "shop")
    file = folder / "wholesale.toml"
    file.write_text(file.read_text(encoding="utf-8") + TIER, encoding="utf-8")
    built(folder)
    recorded(folder)
    edit(folder / "items.csv", "100 g,6.50", "100 g,7.00")
    edit(file, "2027-01-15", "2027-02-20")
    built(folder)
    return folder


def sheet(folder: Path) -> Path:
    [found] = (folder / "out/wholesale").glob("line-sheet-*.pdf")
    return found


@pytest.mark.skipif(PDFTEXT is None, reason="poppler is not installed (Debian: poppler-utils)")
def test_a_new_sheet_says_what_it_replaces_and_marks_the_lines_that_moved(moved: Path) -> None:
    """Bar 6.50 to 7.00: half is 3.25 and 3.50; the set of 6.50 + 9.00 + 1.00 goes from 8.25 to 8.50."""
    history = check_shop(moved, date(2027, 3, 1)).sheets
    told = subprocess.run([str(PDFTEXT), "-layout", str(sheet(moved)), "-"], capture_output=True, text=True, check=True)
    words = " ".join(told.stdout.split())
    assert history.previous is not None
    assert f"Version {history.current} · Replaces {history.previous.version}" in words
    table = words[words.index("What has moved") :]
    assert re.search(r"RRS-1-J1.{0,80}Wholesale £8\.25 £8\.50", table), table  # one row for both jars
    assert re.search(r"RR-B1.{0,80}Suggested retail £6\.50 £7\.00", table), table
    assert words.count("was £8.25") == 2  # both jars
    assert words.count("was £3.25") == 1


def test_to_record_a_sheet_changes_nothing_about_it(moved: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = sheet(moved).read_bytes()
    recorded(moved)
    assert ", which replaces " in capsys.readouterr().err
    built(moved)
    assert sheet(moved).read_bytes() == before
    assert main(["changes", "wholesale", "--shop", str(moved)]) == 0


def test_the_prices_of_a_sheet_that_was_given_out_are_known_with_their_tiers(moved: Path) -> None:
    """45 % of 6.50 is 2.925, half up 2.93; of 16.50 it is 7.425, 7.43."""
    truth = list_shop(moved, date(2027, 3, 1))
    history = check_shop(moved, date(2027, 3, 1)).sheets
    of = build_sheet(truth.catalog)
    assert of is not None
    assert history.previous is not None
    old = price_book(truth.shop, of, history, history.previous.version)
    new = price_book(truth.shop, of, history, history.current)
    assert old is not None
    assert new is not None
    prices = dict(old.prices)
    assert (str(prices["RR-B1"].each(11)), str(prices["RR-B1"].each(12))) == ("3.25", "2.93")
    assert str(prices["RRS-1-J1"].each(12)) == "7.43"
    assert str(dict(new.prices)["RR-B1"].each(1)) == "3.50"
    assert (old.valid_until, price_book(truth.shop, of, history, "QQQQQ")) == (date(2027, 7, 1), None)


def test_an_order_by_an_older_sheet_is_held_against_its_own_prices(
    moved: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The older sheet says 3.25 for the bar and 2.93 from twelve; the new one says 3.50."""
    old = check_shop(moved, date(2027, 3, 1)).sheets.previous
    assert old is not None
    (tmp_path / "order.csv").write_text("code,quantity\nRR-B1,11\nRRS-1-J1,12\n", encoding="utf-8")
    form = str(tmp_path / "order.csv")
    words = ["order", form, "--shop", str(moved), "--sheet", old.version, "--today", "2027-03-01"]
    capsys.readouterr()
    assert main([*words, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [(one["code"], one["each"]) for one in told["lines"]] == [("RRS-1-J1", "7.43"), ("RR-B1", "3.25")]
    assert told["sheet"] == old.version
    assert "order-late" in [one["code"] for one in told["problems"]]
    assert main([*words[:-1], "2027-07-02"]) == 1
    assert "held until 1 July 2027" in capsys.readouterr().err


def test_a_ledger_that_cannot_be_used_is_told_and_the_shop_is_checked_all_the_same(tmp_path: Path) -> None:
    folder = clean_shop(tmp_path, {"ledger.sqlite3": "no ledger at all, but text that is long enough"})
    [problem] = check_shop(folder, date(2027, 3, 1)).problems
    assert str(problem).startswith("Look at · ledger.sqlite3: it is no SQLite file.")
