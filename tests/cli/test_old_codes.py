"""After a rename everything that goes by the old code elsewhere is understood, and told once."""

import csv
import datetime
import io
from decimal import Decimal
from pathlib import Path

import pytest

from listkit.ledger.history import PricePoint
from listkit.ledger.old_codes import in_order, renamed_lines
from tests.cli.published import Told, built_shop


@pytest.fixture
def told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Told:
    """A shop published on its web shop, whose set and one of whose jars then get other codes."""
    told = built_shop(tmp_path / "shop", capsys, ("web",))
    (tmp_path / "export.csv").write_text(told.made("web/feed.csv"), encoding="utf-8", newline="")
    assert told.run("rename", "RRS-1", "RRS-A", "--apply") == 0
    assert told.run("rename", "RR-J2", "RR-WM", "--apply") == 0
    return told


def test_changes_tell_another_code_and_neither_new_nor_gone_things(told: Told) -> None:
    found = told.json("changes", "web", status=1)["web"]
    assert (found["new"], found["gone"]) == ([], [])
    assert [(one["code"], one["field"], one["old"]) for one in found["changed"]] == [
        ("RRS-A-J1", "sku", "RRS-1-J1"),
        ("RRS-A-WM", "sku", "RRS-1-J2"),
    ]
    assert {cause["kind"] for cause in found["causes"]} == {"code"}
    told.run("changes", "web")
    assert "RR-J2 is RR-WM now and RRS-1 is RRS-A now (1 set, 1 variant)" in told.out
    assert "  RRS-1-J2 is RRS-A-WM  Dawn on the Weir gift set, Water Mint body butter, £16.50" in told.out


def test_the_rows_to_send_and_to_take_down_speak_of_both_codes(told: Told) -> None:
    told.run("changes", "web")
    assert [row["Item number"] for row in told.rows("web/changes/changes.csv")] == ["RRS-A-J1", "RRS-A-WM"]
    assert [row["code"] for row in told.rows("web/changes/take-down.csv")] == ["RRS-1-J1", "RRS-1-J2"]


def test_a_price_that_moves_with_the_code_is_told_as_that(told: Told) -> None:
    told.edit("items.csv", "RR-WM,Water Mint,body butter,100 ml,9.00", "RR-WM,Water Mint,body butter,100 ml,9.50")
    found = told.json("changes", "web", status=1)["web"]
    prices = [(one["code"], one["old"], one["new"]) for one in found["changed"] if one["field"] == "price"]
    assert prices == [("RRS-A-WM", "16.50", "17.00")]


def test_no_brake_takes_it_for_another_thing_and_once_recorded_it_is_over(told: Told) -> None:
    assert told.build() == 0, told.err
    assert told.run("record", "web") == 0
    assert told.run("changes", "web") == 0
    assert "Nothing differs" in told.out


def test_prices_under_the_old_code_are_the_history_of_the_new_one(told: Told) -> None:
    told.build()
    told.run("record", "web")
    for code in ("RRS-A-WM", "RRS-1-J2"):
        history = told.json("history", code)
        assert [point["price"] for point in history["prices"]] == ["16.50"], history


def test_an_export_with_old_codes_differs_in_nothing_and_they_are_named_once(told: Told) -> None:
    assert told.run("compare", "web", str(told.shop.parent / "export.csv")) == 0
    assert told.out.splitlines()[0] == "old codes there: RRS-1-J1 (RRS-A-J1 now), RRS-1-J2 (RRS-A-WM now)"
    assert told.json("compare", "web", str(told.shop.parent / "export.csv"))["old_codes"] == {
        "RRS-1-J1": "RRS-A-J1",
        "RRS-1-J2": "RRS-A-WM",
    }


def test_a_form_with_old_codes_is_an_order_for_the_new_ones(told: Told) -> None:
    told.build()
    form = told.shop.parent / "form.csv"
    text = io.StringIO()
    csv.writer(text).writerows([("code", "quantity"), ("RRS-1-J2", 6), ("RR-B1", 60)])
    form.write_text(text.getvalue(), encoding="utf-8")
    told.run("order", str(form), "--today", "2027-03-01")
    assert "RRS-1-J2 is RRS-A-WM now. It is confirmed under that code.  old-code" in told.out + told.err
    assert "unknown-code" not in told.out + told.err


def test_what_stands_in_a_line_is_read_in_todays_codes_and_a_code_in_use_keeps_its_line() -> None:
    """Lines as the ledger holds them; a code that means another thing today is none of the old one's."""
    lines = {"A-1": '{"contents":["OH-1","Jar: OH-2 first"],"name":"OH-1"}', "B-1": '{"itemCodes":["OH-1"]}'}
    assert renamed_lines(lines, {"OH-1": "OH-9", "A-1": "A-9"}) == {
        "A-9": '{"contents":["OH-9","Jar: OH-2 first"],"name":"OH-1"}',
        "B-1": '{"itemCodes":["OH-9"]}',
    }
    assert set(renamed_lines(lines, {"A-1": "B-1"})) == {"A-1", "B-1"}


def test_prices_are_joined_without_the_end_that_was_none() -> None:
    def point(day: int, price: str | None) -> PricePoint:
        return PricePoint("web", datetime.date(2027, 3, day), None if price is None else Decimal(price))

    old = [point(1, "8.00"), point(9, None)]
    assert in_order(old, [point(9, "8.00"), point(20, "8.50")]) == (point(1, "8.00"), point(20, "8.50"))
    assert in_order(old, [point(12, "8.00")]) == (point(1, "8.00"), point(9, None), point(12, "8.00"))
