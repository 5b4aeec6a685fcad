"""A reduction from the first look to the briefing: show, build, record, changes, check, as an owner would."""

import csv
import datetime
import json
from decimal import Decimal
from pathlib import Path
from xml.etree import ElementTree

import pytest

from listkit.cli import main
from tests.shops import CLEAN, clean_shop

SVG = "{http://www.w3.org/2000/svg}"
SALE = '\n[[reduction]]\nname = "Weir week"\nfrom = 2027-03-01\nuntil = 2027-03-07\nby = "10 %"\n'


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """The clean shop, with a reduction yet to come."""
    text = (CLEAN / "shop.toml").read_text(encoding="utf-8") + SALE
    return clean_shop(tmp_path / "shop", {"shop.toml": text})


def run(shop: Path, *words: str) -> int:
    return main([*words, "--shop", str(shop)])


def test_show_tells_the_step_and_what_each_channel_leaves(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(shop, "show", "RRS-1", "--today", "2027-02-20") == 0
    told = capsys.readouterr().out
    assert "Weir week: 10 % less from 1 March 2027 until 7 March 2027, Market stall" in told
    assert "RRS-1-J1  16.50      -1.65  14.85" in told
    assert "not announced" not in told
    assert run(shop, "show", "RRS-1", "--today", "2027-03-02") == 0
    assert "not announced: no price of the 30 days before is known." in capsys.readouterr().out
    assert run(shop, "show", "RRS-1", "--today", "2027-03-08") == 0
    assert "Weir week" not in capsys.readouterr().out


def test_show_all_has_the_prices_in_force_and_what_they_leave(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(shop, "show", "--all", "--csv", "--today", "2027-03-02") == 0
    [during] = csv.DictReader(capsys.readouterr().out.splitlines())
    assert run(shop, "show", "--all", "--csv", "--today", "2027-03-08") == 0
    [after] = csv.DictReader(capsys.readouterr().out.splitlines())
    assert (during["price"], after["price"]) == ("14.85", "16.50")
    assert Decimal(after["kept, Market stall"]) - Decimal(during["kept, Market stall"]) == Decimal("1.65")


def test_show_gives_scripts_the_lower_prices(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(shop, "show", "RRS-1", "--json") == 0
    [one] = json.loads(capsys.readouterr().out)["reductions"]
    assert (one["from"], one["until"], one["channels"]) == ("2027-03-01", "2027-03-07", ["stall"])
    assert one["prices"]["RRS-1-J1"] == "14.85"


def test_the_day_that_a_reduction_begins_explains_every_change(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """No file of the owner's changes on that day, and still nothing is left without a cause."""
    at = datetime.datetime.now(datetime.UTC).date() - datetime.timedelta(1)
    sale = SALE.replace("2027-03-01", str(at + datetime.timedelta(1)))
    (shop / "shop.toml").write_text((CLEAN / "shop.toml").read_text(encoding="utf-8") + sale, encoding="utf-8")
    assert run(shop, "build", "--today", str(at)) == 0
    assert run(shop, "record", "stall", "--at", f"{at}T00:30", "--today", str(at)) == 0
    capsys.readouterr()
    assert run(shop, "changes", "stall", "--json", "--today", str(at)) == 0
    assert json.loads(capsys.readouterr().out)["stall"]["changed"] == []
    assert run(shop, "changes", "stall", "--json", "--today", str(at + datetime.timedelta(1))) == 1
    told = json.loads(capsys.readouterr().out)["stall"]
    assert {one["kind"] for one in told["causes"]} == {"reduction"}
    assert {one["field"] for one in told["changed"]} >= {"price", "priceValidUntil"}
    assert sum(len(one["changed"]) for one in told["causes"]) == len(told["changed"])


def test_a_reduction_is_shaded_in_the_drawing_also_when_the_file_no_longer_says_it(shop: Path, tmp_path: Path) -> None:
    sale = SALE.replace("2027-03", "2026-11")  # nothing is recorded for a day that is yet to come
    (shop / "shop.toml").write_text((CLEAN / "shop.toml").read_text(encoding="utf-8") + sale, encoding="utf-8")
    for day in ("2026-10-15", "2026-11-02"):
        assert run(shop, "build", "--today", day, "--accept-large-changes") == 0
        assert run(shop, "record", "stall", "--at", f"{day}T10:00:00+00:00", "--today", day) == 0

    def shaded(name: str) -> list[str | None]:
        assert run(shop, "history", "RRS-1-J1", "--svg", str(tmp_path / name), "--today", "2026-12-01") == 0
        root = ElementTree.parse(tmp_path / name).getroot()
        return [
            each.findtext(f"{SVG}title") for each in root.iter(f"{SVG}rect") if each.find(f"{SVG}title") is not None
        ]

    assert shaded("stated.svg") == ["Weir week: 10 % less: 2026-11-01 – 2026-11-07"]
    (shop / "shop.toml").write_text((CLEAN / "shop.toml").read_text(encoding="utf-8"), encoding="utf-8")
    assert shaded("recorded.svg") == ["10 % less: 2026-11-02 – 2026-11-07"]
