"""`listkit changes`, as an owner runs it when a price moves: every place that must follow is named."""

import re
from pathlib import Path

import openpyxl
import pytest

from tests.cli.published import Told, built_shop, bytes_of, small_shop


@pytest.fixture
def told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Told:
    """A shop whose places are built and recorded."""
    return built_shop(tmp_path / "shop", capsys, ("web",), ("stall",), ("wholesale",))


def test_what_was_never_recorded_is_told_in_numbers(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = Told(small_shop(tmp_path / "shop"), capsys)
    assert told.run("changes", "web") == 1
    assert "Nothing was recorded of it before; everything is new." in told.out
    assert "new: web/listings/dawn.html" in told.out
    assert "new: 3 files in web\n" in told.out


def test_nothing_differs_right_after_a_record(told: Told) -> None:
    assert told.run("changes") == 0
    assert told.out.count("Nothing differs.") == 3
    assert not list((told.shop / "out").rglob("changes*"))


def test_a_price_that_moves_names_every_place_that_must_follow(told: Told) -> None:
    told.edit("items.csv", "100 g,6.50", "100 g,7.00")
    assert told.run("changes") == 1
    alike, *own = told.out.split("What changes on ")
    stall, web, _ = own
    assert alike.startswith("On Market stall, Own web shop and Wholesale alike\n\n")
    assert "\nOn Market stall and Own web shop alike\n\nWhy\n" in alike
    assert "RR-B1 6.50 → 7.00 moves 1 set, 2 variants" in alike
    assert "RRS-1-J1  Dawn on the Weir" in alike
    assert "16.50  17.00       +0.50    +3.0 %" in alike
    assert [page.partition("\n")[0] for page in own] == ["Market stall", "Own web shop", "Wholesale"]
    for path in ("web/feed.csv", "web/prices.csv"):
        assert f"  {path}\n" in web
    assert "  stall/price-list.csv\n" in stall
    for path in ("wholesale/price-list.pdf", "wholesale/order-form.xlsx"):
        assert f"  {path}\n" in alike
    assert "The Sluice Shop: what they pay for RRS-1, RR-B1 moves." in alike


def test_another_currency_moves_every_line_for_shops_though_its_amount_is_the_same(told: Told) -> None:
    """Rows for shops state no currency, so nothing differed; and the next record did not make their prices pounds."""
    told.edit("shop.toml", 'currency = "GBP"', 'currency = "EUR"')
    assert told.run("changes", "wholesale") == 1
    assert "shop, currency GBP → EUR moves" in told.out
    assert re.search(r"price currency +GBP +EUR +RRS-1", told.out)
    assert told.run("history", "RR-B1") == 0
    assert re.search(r"wholesale +\d+\.\d\d GBP", told.out)
    told.run("build")
    assert "RRS-1-J1 was £8.25 and is €8.25 now" in told.err
    told.edit("wholesale.toml", "2027-01-15", "2027-01-16")
    assert told.run("build") == 0
    assert told.run("record", "wholesale") == 0
    assert told.run("changes", "wholesale") == 0
    assert told.run("history", "RR-B1") == 0
    assert re.search(r"wholesale +\d+\.\d\d\n", told.out)


def test_what_places_have_in_common_is_printed_once_and_nothing_is_lost(told: Told) -> None:
    told.edit("items.csv", "100 g,6.50", "100 g,7.00")
    assert told.run("changes") == 1
    together = told.out.splitlines()
    each = {place: (told.run("changes", place), told.out)[1].splitlines() for place in ("web", "stall", "wholesale")}
    assert set(together) - {line for page in each.values() for line in page} == {
        "On Market stall, Own web shop and Wholesale alike", "On Market stall and Own web shop alike",
    }  # fmt: skip
    assert {line for page in each.values() for line in page} <= set(together)
    prices = [line for line in together if line.startswith("  RRS-1-J1") and "16.50" in line]
    assert len(prices) == 1
    assert sum(line.startswith("  RRS-1-J1") and "16.50" in line for page in each.values() for line in page) == 2


def test_the_briefing_and_the_changed_rows_are_written_in_the_channels_own_columns(told: Told) -> None:
    told.edit("items.csv", "RR-J2,Water Mint,body butter,100 ml,9.00", "RR-J2,Water Mint,body butter,100 ml,9.50")
    assert told.run("changes", "web") == 1
    [row] = told.rows("web/changes/changes.csv")
    assert (row["Item number"], row["Price"]) == ("RRS-1-J2", "17.00")
    assert list(row) == ["Item number", "Title", "Price", "Pieces left", "Jar"]
    page = told.made("web/changes/changes.md")
    assert page.startswith("# What changes on Own web shop\n")
    assert "RR-J2 9.00 → 9.50 moves 1 set, 1 variant" in page


def test_putting_the_changed_rows_into_the_old_feed_gives_the_new_one(told: Told) -> None:
    old = told.rows("web/feed.csv")
    told.edit("items.csv", "RR-J2,Water Mint,body butter,100 ml,9.00", "RR-J2,Willow Leaf,body butter,100 ml,9.50")
    assert told.run("changes", "web") == 1
    changed = {row["Item number"]: row for row in told.rows("web/changes/changes.csv")}
    told.edit("wholesale.toml", "issued = 2027-01-15", "issued = 2027-03-01")  # new prices, a new sheet
    assert told.build() == 0
    assert [changed.get(row["Item number"], row) for row in old] == told.rows("web/feed.csv")


def test_what_is_gone_is_to_be_taken_down(told: Told) -> None:
    told.edit("sets/dawn/set.toml", 'choose = ["RR-J1", "RR-J2"]', 'choose = ["RR-J1"]')
    told.edit("sets/dawn/set.toml", '[[variant]]\noptions = { Jar = "RR-J2" }\nphoto = "open-box.png"\n', "")
    told.edit("sets/dawn/set.toml", 'shows = ["RR-J2"]', 'shows = ["RR-J1"]')
    assert told.json("changes", "web", status=1)["web"]["gone"] == ["RRS-1-J2"]
    assert [(row["code"], row["price"]) for row in told.rows("web/changes/take-down.csv")] == [("RRS-1-J2", "16.50")]


def test_files_of_changes_are_taken_away_when_nothing_differs_any_more(told: Told) -> None:
    told.edit("items.csv", "100 g,6.50", "100 g,7.00")
    assert told.run("changes", "web") == 1
    told.edit("items.csv", "100 g,7.00", "100 g,6.50")
    assert told.run("changes", "web") == 0
    assert not list((told.shop / "out/web/changes").glob("*"))


@pytest.mark.parametrize(("words", "prices"), [
    (("--set-item", "RR-B1", "retail=7.00"), ["17.00", "17.00"]),
    (("--all-retail", "+10%"), ["18.05", "18.05"]),
])  # fmt: skip
def test_what_if_shows_the_same_and_touches_no_file(told: Told, words: tuple[str, ...], prices: list[str]) -> None:
    """6.50 and 9.00 by 10 per cent are 7.15 and 9.90, with 1.00 for the box 18.05."""
    before = bytes_of(told.shop)
    changed = told.json("changes", "web", *words)["web"]["changed"]
    assert [change["new"] for change in changed if change["field"] == "price"] == prices
    assert bytes_of(told.shop) == before


def test_apply_writes_one_cell_and_leaves_every_other_byte(told: Told) -> None:
    before = bytes_of(told.shop)
    assert told.run("changes", "web", "--set-item", "RR-B1", "retail=7.00", "--apply") == 0
    assert "items.csv: 1 cell written" in told.err
    before["items.csv"] = before["items.csv"].replace(b"100 g,6.50", b"100 g,7.00")
    assert bytes_of(told.shop) == before


def test_of_a_workbook_the_cells_are_named(told: Told) -> None:
    book = openpyxl.Workbook()
    for line in (told.shop / "items.csv").read_text(encoding="utf-8").splitlines():
        book.active.append(line.split(","))
    book.save(told.shop / "items.xlsx")
    (told.shop / "items.csv").unlink()
    before = bytes_of(told.shop)
    assert told.run("changes", "web", "--set-item", "RR-B1", "retail=7.00", "--apply") == 0
    assert "E2: 7.00 (RR-B1, retail)" in told.err
    assert bytes_of(told.shop) == before


@pytest.mark.parametrize(("words", "said"), [
    (("--set-item", "RR-B9", "retail=7.00"), 'there is no item "RR-B9"'),
    (("--set-item", "RR-B1", "retial"), "sets no field of an item"),
    (("--set-item", "RR-B1", "retail=seven"), '"seven"'),
    (("--set-item", "RR-B1", "weight=7"), '"7" has no unit'),
    (("--all-retail", "5%"), '"+5%"'),
    (("--all-retail", "-100%"), "leaves nothing"),
])  # fmt: skip
def test_a_slip_in_what_is_supposed_is_told_and_nothing_is_written(
    told: Told, words: tuple[str, ...], said: str
) -> None:
    before = bytes_of(told.shop)
    words = (f"{words[0]}={words[1]}",) if words[0] == "--all-retail" else words
    assert told.run("changes", "web", *words, "--apply") == 1
    assert said in told.err
    assert bytes_of(told.shop) == before


def test_apply_without_anything_to_apply_is_a_usage_mistake(told: Told) -> None:
    assert told.run("changes", "--apply") == 2


def test_a_price_that_moves_too_far_stops_the_build_until_it_is_accepted(told: Told) -> None:
    feed = told.made("web/feed.csv")
    told.edit("items.csv", "100 g,6.50", "100 g,65.00")
    told.edit("wholesale.toml", "issued = 2027-01-15", "issued = 2027-03-01")
    assert told.build() == 1
    assert "RRS-1-J1" in told.err
    assert "--accept-large-changes" in told.err
    assert told.made("web/feed.csv") == feed
    assert told.build("--accept-large-changes") == 0
    assert told.rows("web/feed.csv")[0]["Price"] == "75.00"


def test_a_code_that_vanished_stops_the_build_until_it_is_accepted(told: Told) -> None:
    told.edit("sets/dawn/set.toml", 'code = "RRS-1"', 'code = "RRS-9"')
    told.edit("wholesale.toml", '"RRS-1"', '"RRS-9"')
    assert told.build() == 1
    assert "RRS-1-J1" in told.err


def test_a_code_that_was_published_as_something_else_is_told_with_what_to_do(told: Told) -> None:
    parts = '{ item = "RR-J1", part = "J2" }, { item = "RR-J2", part = "J1" }'
    told.edit("sets/dawn/set.toml", 'choose = ["RR-J1", "RR-J2"]', f"choose = [{parts}]")
    assert told.run("changes", "web") == 1
    assert "Must look: these codes were published as something else\n" in told.out
    line = "RRS-1-J1 was published as Willow Bark body butter and is Water Mint body butter now"
    assert f"{line}: give the new one a code of its own.\n" in told.out
    assert [each["code"] for each in told.json("changes", "web", status=1)["web"]["other_goods"]] == [
        "RRS-1-J2", "RRS-1-J1",
    ]  # fmt: skip


def test_a_choice_that_only_reads_otherwise_is_no_other_thing(told: Told) -> None:
    told.edit("items.csv", "RR-J2,Water Mint,", "RR-J2,Pond Mint,")
    assert told.run("changes", "web") == 1
    assert "published as something else" not in told.out


def test_labels_and_cards_to_be_printed_again_are_named_with_their_codes(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = Told(small_shop(tmp_path / "shop"), capsys)
    told.edit("shop.toml", "[prices]", '[labels]\nsize = "120 x 160 mm"\n\n[cards]\n\n[prices]')
    assert told.build() == 0
    assert told.run("record", "web") == 0
    told.edit("items.csv", "RR-J2,Water Mint,body butter,100 ml,9.00", "RR-J2,Water Mint,body butter,100 ml,9.50")
    assert told.run("changes", "web") == 1
    again = told.out.partition("Print or send again\n")[2]
    assert "  print/price-cards.pdf: RRS-1-J2\n" in again
    assert "outside-labels" not in again
    told.edit("items.csv", "RR-J2,Water Mint,body butter,100 ml", "RR-J2,Water Mint,body butter,90 ml")
    assert told.run("changes", "web") == 1
    assert "  print/outside-labels.pdf: RRS-1-J2\n" in told.out


def test_a_reduction_of_which_the_day_has_come_or_gone_is_built_unasked(told: Told) -> None:
    file = told.shop / "shop.toml"
    sale = '\n[[reduction]]\nfrom = 2027-03-02\nuntil = 2027-03-07\nby = "40 %"\n'
    file.write_text(file.read_text(encoding="utf-8") + sale, encoding="utf-8")
    for day, price in (("2027-03-02", "9.90"), ("2027-03-08", "16.50")):
        assert told.run("build", "--today", day) == 0, told.err
        assert told.rows("web/feed.csv")[0]["Price"] == price
        assert told.run("record", "web", "--today", day) == 0, told.err
    told.edit("items.csv", "100 g,6.50", "100 g,65.00")
    assert told.run("build", "--today", "2027-03-08") == 1
