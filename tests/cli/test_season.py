"""`listkit season`: what a season came to as text, JSON and CSV; last year's sets made anew; what cannot be."""

import csv
import datetime
import io
import json
import shutil
import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

import html5lib
import pytest

from listkit.cli import main
from listkit.compute.build import build_catalog
from listkit.ledger.orders import KeptOrder, add_order
from listkit.ledger.store import LEDGER, record
from listkit.pipeline import list_shop, open_shop
from tests.ledger.rows import at, order_facts, snapshot
from tests.shops import CLEAN, clean_shop, small_demo, with_files

MOVES = "day,kind,code,quantity,place,set,note,batch\n"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return clean_shop(tmp_path / "shop")


def season(shop: Path, *more: str) -> int:
    return main(["season", "spring", "--shop", str(shop), *more])


def as_json(shop: Path, capsys: pytest.CaptureFixture[str], day: str, *more: str) -> dict[str, Any]:
    capsys.readouterr()
    assert season(shop, "--today", day, "--json", *more) == 0
    answer: dict[str, Any] = json.loads(capsys.readouterr().out)
    return answer


def moves(shop: Path, *rows: str) -> None:
    (shop / "movements.csv").write_text(MOVES + "".join(f"{row}\n" for row in rows), encoding="utf-8")


def sold(shop: Path, day: str, number: int, place: str = "stall", kind: str = "sold") -> list[str]:
    """The lines of so many of the first variant of RRS-1."""
    facts = build_catalog(open_shop(shop, measure_at_most=0).shop).sets[0]
    variant = facts.variants[0]
    codes = [*(piece.item.code for piece in variant.pieces), f"box {facts.box.code if facts.box else ''}"]
    return [f"{day},{kind},{code},{number},{place},{variant.code},,1-00000000" for code in codes]


def test_a_season_that_runs_and_one_without_any_movement_are_said(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert season(shop, "--today", "2027-03-01") == 0
    shown = capsys.readouterr().out
    assert "It is not over: these are the figures so far." in shown
    assert "Nothing moved of these sets" in shown
    assert "listkit stock add sales.csv" in shown
    assert season(shop, "--today", "2026-01-01") == 0
    shown = capsys.readouterr().out
    assert "It has not begun: there is nothing to clear yet." in shown
    assert "figures so far" not in shown


def test_what_is_not_there_is_said_with_what_is(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["season", "sprnig", "--shop", str(shop)]) == 1
    assert 'there is no season "sprnig". Perhaps "spring" is meant.' in capsys.readouterr().err
    assert season(shop, "--scarce", "XX-9") == 1
    assert '"XX-9" is no item, box or card.' in capsys.readouterr().err
    for file in shop.glob("sets/*/set.toml"):
        text = file.read_text("utf-8")
        file.write_text(text.replace('season = "spring"', 'status = "draft"\nseason = "spring"'), "utf-8")
    assert season(shop) == 1
    assert 'no finished set is in the season "spring"' in capsys.readouterr().err
    assert main(["season", "spring", "--shop", str(shop / "nowhere")]) == 1


def test_items_whose_keeping_time_is_unknown_are_named(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert season(shop, "--today", "2027-03-01") == 0
    shown = capsys.readouterr().out
    assert "keeps is not known: the sheet has no shelf life for it." in shown
    text = (shop / "items.csv").read_text("utf-8").splitlines()
    rows = [f"{text[0]},shelf life (months)", *(f"{row},12" for row in text[1:])]
    (shop / "items.csv").write_text("\n".join([*rows, ""]), "utf-8")
    assert season(shop, "--today", "2027-03-01") == 0
    shown = capsys.readouterr().out
    assert "keeps is not known: no line of movements.csv says when it was made." in shown
    assert "no shelf life" not in shown


def test_figures_are_the_same_in_text_json_and_csv(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    moves(shop, *sold(shop, "2027-03-06", 3), *sold(shop, "2027-03-08", 1, kind="came back"))
    answer = as_json(shop, capsys, "2027-04-01")
    [first] = answer["sets"]
    assert (first["went"], first["takings"]) == (2, "33.00")
    assert season(shop, "--today", "2027-04-01", "--csv") == 0
    rows = list(csv.reader(io.StringIO(capsys.readouterr().out)))
    assert rows[0] == ["about", "code", "place", "figure", "value"]
    assert ["set", "RRS-1", "", "kept", first["kept"]] in rows
    assert ["set", "RRS-1", "stall", "went", "2"] in rows
    assert season(shop, "--today", "2027-04-01") == 0
    shown = capsys.readouterr().out
    assert f"Market stall 2 for £{first['kept']}" in shown
    assert "The price of 4 sets is today's" in shown


def test_years_stand_side_by_side_from_the_second_on(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    moves(shop, *sold(shop, "2027-03-06", 3))
    assert len(as_json(shop, capsys, "2027-04-01")["years"]) == 1
    moves(shop, *sold(shop, "2026-03-07", 5), *sold(shop, "2027-03-06", 3))
    years = as_json(shop, capsys, "2027-04-01")["years"]
    assert [(year["from"][:4], year["sets"]) for year in years] == [("2027", 3), ("2026", 5)]
    assert season(shop, "--today", "2027-04-01") == 0
    shown = capsys.readouterr().out
    assert "Season over season" in shown
    assert ["2027", "so", "far", "2026"] in [line.split() for line in shown.splitlines()]


def test_what_is_scarce_is_found_or_stated(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    moves(shop, "2027-03-01,counted,RR-B1,12,,,,1-00000001", *sold(shop, "2027-03-06", 12))
    answer = as_json(shop, capsys, "2027-04-01")
    [first] = answer["sets"]
    assert (answer["scarce"], first["scarce_pieces"]) == ("RR-B1", 12)
    assert first["kept_per_scarce"] == f"{float(first['kept']) / 12:.2f}"
    stated = as_json(shop, capsys, "2027-04-01", "--scarce", "box S")
    assert stated["scarce"] == "box S"


# Reductions: Directive 98/6/EC, Art. 6a: against the lowest price of the 30 days before, which the ledger must know.


def recorded(shop: Path, day: str, uplift: str) -> None:
    text = (CLEAN / "shop.toml").read_text("utf-8")
    [line] = [line for line in text.splitlines() if line.startswith("uplift")]
    (shop / "shop.toml").write_text(text.replace(line, f'uplift = "{uplift}"'), "utf-8")
    words = ("--shop", str(shop), "--today", day)
    assert main(["build", *words, "--accept-large-changes", "--jobs", "1"]) == 0
    assert main(["record", "stall", "--at", f"{day}T08:00", *words]) == 0


def test_what_may_be_announced_goes_by_the_lowest_price_of_thirty_days(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of a price that was lower in these days less is announced than it goes down by; without one nothing."""
    text = (CLEAN / "shop.toml").read_text("utf-8")
    [uplift] = [line.split('"')[1] for line in text.splitlines() if line.startswith("uplift")]
    lower = f"{float(uplift) - 0.75:.2f}"
    for day, amount in (("2026-08-01", uplift), ("2026-09-10", lower), ("2026-09-15", uplift)):
        recorded(shop, day, amount)
    toml = (shop / "shop.toml").read_text("utf-8")
    days = toml.replace("2027-02-01", "2026-02-01").replace("2027-05-31", "2026-12-31")
    assert days != toml
    (shop / "shop.toml").write_text(days, "utf-8")
    [cut] = as_json(shop, capsys, "2026-10-01")["reductions"]
    usual, by, price = 16.50, float(cut["by"]), float(cut["price"].split()[-1])
    assert price == int(usual * (1 - by) * 100) / 100
    assert float(cut["announced"]) == int((usual - 0.75 - price) / (usual - 0.75) * 10000) / 10000
    assert "the lowest of the 30 days before" in cut["reason"]
    [late] = as_json(shop, capsys, "2026-08-10")["reductions"]
    assert (late["announced"], "known since" in late["reason"]) == ("0", True)


def test_a_sale_goes_by_the_price_that_the_ledger_has_of_its_day(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Prices of 16.50 from August on and 17.00 from 10 September; fees none, full cost of the variant of today."""
    recorded(shop, "2026-08-01", "1.00")
    recorded(shop, "2026-09-10", "1.50")
    text = (shop / "shop.toml").read_text("utf-8")
    (shop / "shop.toml").write_text(
        text.replace("2027-02-01", "2026-02-01").replace("2027-05-31", "2026-12-31"), "utf-8"
    )
    moves(shop, *sold(shop, "2026-07-30", 1), *sold(shop, "2026-09-09", 2), *sold(shop, "2026-09-12", 4))
    answer = as_json(shop, capsys, "2026-10-01")
    [first] = answer["sets"]
    cost = build_catalog(open_shop(shop, measure_at_most=0).shop).sets[0].variants[0].full_cost.amount
    takings = 1 * Decimal("17.00") + 2 * Decimal("16.50") + 4 * Decimal("17.00")  # that of July by today's price
    assert (answer["prices_of_today"], Decimal(first["takings"])) == (1, takings)
    assert Decimal(first["kept"]) == takings - 7 * cost


def test_what_shops_bought_goes_by_the_wholesale_price(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    moves(shop, *sold(shop, "2027-01-20", 6, place="wholesale", kind="sent"))
    [first] = as_json(shop, capsys, "2027-03-01")["sets"]
    variant = build_catalog(open_shop(shop, measure_at_most=0).shop).sets[0].variants[0]
    assert first["places"] == [
        {
            "place": "wholesale",
            "went": 6,
            "takings": f"{6 * variant.wholesale.amount}",
            "kept": f"{6 * (variant.wholesale.amount - variant.full_cost.amount)}",
        }
    ]


def test_the_page_has_every_figure_and_is_written_over_its_older_one_alone(
    shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    moves(shop, *sold(shop, "2027-03-06", 3))
    page = tmp_path / "spring.html"
    assert season(shop, "--today", "2027-04-01", "--page", str(page)) == 0
    capsys.readouterr()
    assert season(shop, "--today", "2027-04-01") == 0
    text = page.read_text("utf-8")
    document = html5lib.HTMLParser(strict=True).parse(text)
    shown = " ".join("".join(document.itertext()).split())
    rows = [" ".join(line.split()) for line in capsys.readouterr().out.splitlines() if line]
    for row in rows:
        assert all(word.rstrip(",:") in shown for word in row.split()), row
    assert text.count('class="bar"') == 1
    assert text.count("data:image/jpeg;base64,") == 1
    assert "<script" not in text
    moves(shop, *sold(shop, "2027-03-06", 3), *sold(shop, "2027-03-20", 4))
    assert as_json(shop, capsys, "2027-04-02", "--page", str(page))["season"] == "spring"
    assert page.read_text("utf-8") != text
    assert season(shop, "--today", "2027-04-02", "--page", str(shop / "sets" / "spring.html")) == 1
    assert not (shop / "sets" / "spring.html").exists()
    page.write_text("hers", "utf-8")
    capsys.readouterr()
    assert season(shop, "--today", "2027-04-01", "--page", str(page)) == 1
    assert "spring.html" in capsys.readouterr().err
    assert page.read_text("utf-8") == "hers"


# Over to next year


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_demo(tmp_path_factory.mktemp("again") / "shop")


def test_sets_are_made_again_as_drafts_with_days_moved_and_pictures_marked(
    demo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shop = Path(shutil.copytree(demo, tmp_path / "shop"))
    before = {path: path.read_bytes() for path in shop.rglob("*") if path.is_file() and path.name != "shop.toml"}
    assert main(["season", "winter", "--again", "2028", "--shop", str(shop), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert (answer["season"], answer["from"], answer["until"]) == ("winter 2028", "2028-10-12", "2028-12-24")
    [again] = answer["sets"]
    assert (again["code"], again["begun_with"], again["folder"]) == ("OHS-10", "OHS-5", "sets/lamp-lighting-2028")
    made = tomllib.loads((shop / "sets/lamp-lighting-2028/set.toml").read_text("utf-8"))
    old = tomllib.loads((shop / "sets/lamp-lighting/set.toml").read_text("utf-8"))
    assert (made["status"], made["season"], made["contents"]) == ("draft", "winter 2028", old["contents"])
    assert [f"{each['from']}" for each in made["reduction"]] == ["2028-12-14"]
    assert [{**each, "file": each["file"].removeprefix("last-years-")} for each in made["photos"]] == old["photos"]
    for each in old["photos"]:
        copied = shop / "sets/lamp-lighting-2028/photos" / f"last-years-{each['file']}"
        assert copied.read_bytes() == (shop / "sets/lamp-lighting/photos" / each["file"]).read_bytes()
    story = shop / "sets/lamp-lighting-2028/story.md"
    assert story.read_bytes() == (shop / "sets/lamp-lighting/story.md").read_bytes()
    assert all(path.read_bytes() == content for path, content in before.items())
    assert [price["now"] for price in again["prices"]] == ["36.00", "36.00", "34.00"]
    main(["check", "--shop", str(shop), "--json"])
    problems = json.loads(capsys.readouterr().out)["problems"]
    assert [each for each in problems if each["level"] == "must fix" and not each.get("draft")] == []
    assert main(["season", "winter", "--again", "2028", "--shop", str(shop), "--json"]) == 0
    twice = json.loads(capsys.readouterr().out)
    assert (twice["sets"], twice["new"], twice["there"]) == ([], False, ["lamp-lighting-2028"])


def test_two_sets_of_one_name_are_both_made_again(
    demo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """They were given one folder, and the second was told as there already."""
    shop = Path(shutil.copytree(demo, tmp_path / "shop"))
    twin = Path(shutil.copytree(shop / "sets/lamp-lighting", shop / "sets/lamp-lighting-small"))
    text = (twin / "set.toml").read_text("utf-8")
    (twin / "set.toml").write_text(text.replace("OHS-5", "OHS-55"), "utf-8")
    assert main(["season", "winter", "--again", "2028", "--shop", str(shop), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert [(each["begun_with"], each["folder"]) for each in answer["sets"]] == [
        ("OHS-5", "sets/lamp-lighting-2028"),
        ("OHS-55", "sets/lamp-lighting-2028-2"),
    ]
    assert len({each["code"] for each in answer["sets"]}) == 2
    assert main(["season", "winter", "--again", "2028", "--shop", str(shop), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["there"] == ["lamp-lighting-2028", "lamp-lighting-2028-2"]


def test_a_year_that_is_not_later_makes_nothing(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert season(shop, "--again", "2027") == 1
    assert "which is not before 2027" in capsys.readouterr().err
    assert season(shop, "--again", "99999") == 1
    assert capsys.readouterr().err == "the year 99999 cannot be meant. Write one from 1900 to 2199.\n"
    assert len(list((shop / "sets").iterdir())) == len(list((CLEAN / "sets").iterdir()))


def test_what_moved_a_price_is_named(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    recorded(shop, "2026-08-01", "1.50")
    text = (shop / "items.csv").read_text("utf-8")
    [facts] = build_catalog(open_shop(shop, measure_at_most=0).shop).sets
    bar = facts.variants[0].pieces[0].item
    row = next(line for line in text.splitlines() if line.startswith(bar.code))
    dearer = row.replace(f",{bar.retail.amount},", f",{bar.retail.amount + 1},")
    assert dearer != row
    (shop / "items.csv").write_text(text.replace(row, dearer), "utf-8")
    capsys.readouterr()
    assert season(shop, "--again", "2028", "--json") == 0
    [again] = json.loads(capsys.readouterr().out)["sets"]
    first = again["prices"][0]
    assert first["why"] == [f"{bar.code} £{bar.retail.amount} → £{bar.retail.amount + 1}"]


def test_what_shops_pay_is_no_price_of_last_year(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    recorded(shop, "2026-08-01", "1.50")
    [facts] = build_catalog(open_shop(shop, measure_at_most=0).shop).sets
    lines = [{"sku": variant.code, "wholesalePrice": "4.50"} for variant in facts.variants]
    record(shop / LEDGER, "wholesale", snapshot(*lines), at(25))
    capsys.readouterr()
    assert season(shop, "--again", "2028", "--json") == 0
    [again] = json.loads(capsys.readouterr().out)["sets"]
    assert [price["before"] for price in again["prices"]] == [price["now"] for price in again["prices"]]


# What goes off where: each line is held against what the day after the season really gives.


def test_what_a_feed_is_said_to_have_after_the_season_it_has(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    feeds = {"market": 'after = "leave out"\n', "web": "", "hidden": 'sold_out = "hide"\n', "idle": ""}
    for key, more in feeds.items():
        make = "[]" if key == "idle" else '["feed"]'
        text = f'name = "{key}"\nmake = {make}\nfeed = "csv"\n{more}'
        (shop / "channels" / f"{key}.toml").write_text(text, "utf-8")
    lines = {each["place"]: each for each in as_json(shop, capsys, "2027-06-02")["leaving"]}
    after = list_shop(shop, datetime.date(2027, 6, 1))  # the season's last day is 31 May
    for key in ("market", "web", "hidden"):
        left = [offer.variant.code for each in after.listings_of(key) for offer in each.offers]
        assert lines[key]["codes"] == ["RRS-1-J1", "RRS-1-J2"], key
        assert f"{key}/feed.csv" in lines[key]["what"]
        assert ("it is without these" in lines[key]["what"]) == (not left), key
        assert ("it has these as sold out" in lines[key]["what"]) == (left == ["RRS-1-J1", "RRS-1-J2"]), key
    assert "idle" not in lines
    assert season(shop, "--today", "2027-06-02", "--csv") == 0
    rows = list(csv.reader(io.StringIO(capsys.readouterr().out)))
    assert [row[1] for row in rows if row[0] == "to send" and row[2] == "web"] == ["RRS-1-J1", "RRS-1-J2"]
    assert [row[1] for row in rows if row[0] == "redirect"] == ["RRS-1-J1", "RRS-1-J2"]


def test_shops_that_ordered_are_told_whether_the_set_is_a_line_now_or_not(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert [(each["place"], each["codes"]) for each in as_json(shop, capsys, "2027-06-02")["leaving"][1:]] == [
        ("Line sheet", ["RRS-1"]),
        ("Stockists", []),
    ]
    line = {"code": "RRS-1-J1", "quantity": 6, "each": "8.00"}
    facts = order_facts({"RRS-1-J1": 6}, shop="The Sluice Shop", lines=[line], total="48.00")
    add_order(shop / LEDGER, KeptOrder(0, "MILL", "", datetime.date(2027, 2, 3), facts), ())
    terms = shop / "wholesale.toml"
    for lines in ('["RRS-1", "RR-B1"]', '["RR-B1"]'):
        terms.write_text(terms.read_text("utf-8").replace('["RRS-1", "RR-B1"]', lines), "utf-8")
        leaving = as_json(shop, capsys, "2027-06-02")["leaving"]
        assert (leaving[-1]["place"], leaving[-1]["codes"]) == ("The Sluice Shop", ["RRS-1"])
        assert [each["place"] for each in leaving].count("Line sheet") == ("RRS-1" in lines)


def test_what_was_recorded_is_in_the_list_until_it_is_recorded_without(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Built and recorded as an owner does it: the feed that has the set, and the version that shops hold in hand."""
    with_files(shop, {"channels/stall.toml": 'name = "Market stall"\nmake = ["feed"]\nfeed = "csv"\n'})
    terms = shop / "wholesale.toml"

    def published(day: str) -> str:
        """Build and record; return the version of the sheet that was recorded."""
        words = ("--shop", str(shop), "--today", day)
        assert main(["build", *words, "--accept-large-changes", "--jobs", "1"]) == 0
        for place in ("stall", "wholesale"):
            assert main(["record", place, "--at", f"{day}T08:00", *words]) == 0
        printed = capsys.readouterr()
        return f"{printed.out}{printed.err}".partition("The sheet is ")[2][:5]

    def lines() -> dict[str, dict[str, Any]]:
        return {each["place"]: each for each in as_json(shop, capsys, "2027-06-02")["leaving"]}

    before = lines()
    assert "your last record" not in before["Market stall"]["what"]
    assert before["Line sheet"]["what"].endswith("listkit record wholesale")
    first = published("2026-11-02")
    assert lines()["Market stall"]["what"].endswith("; your last record has them")
    assert lines()["Market stall"]["codes"] == ["RRS-1-J1", "RRS-1-J2"]
    assert lines()["Line sheet"]["what"].endswith(f"; {first}, which shops have, is valid until 1 July 2027")
    text = terms.read_text("utf-8")
    terms.write_text(text.replace('["RRS-1", "RR-B1"]', '["RR-B1"]'), "utf-8")
    sheet = lines()["Line sheet"]
    assert sheet["codes"] == ["RRS-1"]
    assert sheet["what"].startswith("withdrawn: wholesale.toml is without these already; build")
    assert f"{first}, which shops have," in sheet["what"]
    published("2026-11-04")
    assert "Line sheet" not in lines()
    terms.write_text(text.replace("valid_until = 2027-07-01\n", ""), "utf-8")
    last = published("2026-11-06")
    assert len({first, last, ""}) == 3
    assert lines()["Line sheet"]["what"].endswith(f"; {last}, which shops have, has no last day")


def test_what_replaces_a_code_is_no_draft_but_next_years_set(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A draft that shares pieces is shown nowhere; the same set of another year is what the old code leads to."""
    text = (shop / "sets/dawn/set.toml").read_text("utf-8").partition("[[variant]]")[0]
    other = text.replace("RRS-1", "RRS-2").replace("Dawn on the Weir", "Mist").replace('season = "spring"\n', "")
    with_files(shop, {"sets/mist/set.toml": other.replace("theme", 'status = "draft"\ntheme')})
    redirects = as_json(shop, capsys, "2027-06-02")["redirects"]
    assert [each["instead"] for each in redirects] == [None, None]
    with_files(shop, {"sets/mist/set.toml": other})
    redirects = as_json(shop, capsys, "2027-06-02")["redirects"]
    assert [each["instead"] for each in redirects] == ["RRS-2", "RRS-2"]
    assert season(shop, "--again", "2028") == 0
    redirects = as_json(shop, capsys, "2027-06-02")["redirects"]
    assert [each["instead"] for each in redirects] == ["RRS-3-J1", "RRS-3-J2"]


def test_a_draft_is_in_no_year_and_is_named(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A set that sold and is a draft again: the year is the sum of what is above it, and it is named."""
    text = (shop / "sets/dawn/set.toml").read_text("utf-8").partition("[[variant]]")[0]
    other = text.replace("RRS-1", "RRS-2").replace("Dawn on the Weir", "Mist")
    with_files(shop, {"sets/mist/set.toml": other})
    rows = [row.replace("RRS-1", "RRS-2") for row in sold(shop, "2027-03-06", 4)]
    rows += [row.replace("RRS-1", "RRS-2") for row in sold(shop, "2026-03-06", 2)]
    moves(shop, *sold(shop, "2027-03-06", 3), *rows)
    answer = as_json(shop, capsys, "2027-04-01")
    assert [year["sets"] for year in answer["years"]] == [7, 2]
    with_files(shop, {"sets/mist/set.toml": other.replace("theme", 'status = "draft"\ntheme')})
    answer = as_json(shop, capsys, "2027-04-01")
    assert ([year["sets"] for year in answer["years"]], answer["drafts"]) == ([3], ["RRS-2"])
    assert sum(each["went"] for each in answer["sets"]) == 3
    assert season(shop, "--today", "2027-04-01") == 0
    assert "as they are drafts, which are not counted: RRS-2." in capsys.readouterr().out
