"""What came and went, on the desk without a browser: figures as the command has them, nothing half taken, all told."""

import datetime
import json
import re
import threading
from collections.abc import Iterator
from html import unescape
from itertools import count
from pathlib import Path
from typing import Any

import pytest
from starlette.responses import Response
from starlette.testclient import TestClient

from listkit.actions.stock import open_stock
from listkit.cli import main
from listkit.desk import stock as room
from listkit.desk.page import Desk, say
from listkit.model.movements import MOVE_KINDS
from listkit.pipeline import open_shop
from listkit.read.tally import HEADINGS
from tests.actions.test_stock import BOXES, EXPORT, START
from tests.desk.desks import DAY, NOW, form, opened, text
from tests.shops import clean_shop, lines

Opened = tuple[TestClient, Desk]
COUNTED = "2026-11-20"
STOCK = "/shelf/stock"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """The clean shop with 50 boxes."""
    return clean_shop(tmp_path / "shop", {"packaging.toml": BOXES})


@pytest.fixture
def desk(shop: Path) -> Iterator[Opened]:
    """The desk of the shop, all of it counted."""
    assert main(["stock", "start", "--day", COUNTED, "--shop", str(shop)]) == 0
    with opened(shop) as (client, desk):
        yield client, desk


def moved_lines(shop: Path) -> list[str]:
    file = shop / "movements.csv"
    return file.read_text(encoding="utf-8").splitlines() if file.exists() else []


def on_hand(shop: Path) -> dict[str, int | None]:
    read = open_shop(shop).shop
    return {item.code: item.on_hand for item in read.items} | {box.code: box.on_hand for box in read.packaging.boxes}


def command_json(shop: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    capsys.readouterr()
    assert main(["stock", "show", "--shop", str(shop), "--json"]) == 0
    return dict(json.loads(capsys.readouterr().out))


def rows_of(page: str) -> dict[str, list[str]]:
    """Return the cells of each row of the page's tables, by its code."""
    rows = {}
    for row in re.findall(r"<tr>(.*?)</tr>", page, re.DOTALL):
        head = re.search(r'<th scope="row">(.*?)</th>', row, re.DOTALL)
        if head:
            code = re.search(r'<span class="code">(.*?)</span>', head[1])
            rows[unescape(code[1]) if code else text(head[1])] = [
                text(cell) for cell in re.findall(r"<td[^>]*>(.*?)</td>", row, re.DOTALL)
            ]
    return rows


def fields_of(page: str) -> dict[str, str]:
    """Return what a browser would send of the page's sheet form: hidden fields, and what is selected."""
    inner = re.search(r'<form class="fields" method="post" action="/shelf/stock/add/.*?</form>', page, re.DOTALL)
    assert inner is not None, text(page)
    sent = {}
    for tag in re.findall(r"<input[^>]*>", inner[0]):
        name, value = re.search(r'name="([^"]*)"', tag), re.search(r'value="([^"]*)"', tag)
        if name and ('type="checkbox"' not in tag or " checked" in tag):
            sent[unescape(name[1])] = unescape(value[1]) if value else ""
    for name, options in re.findall(r'<select[^>]*name="([^"]*)"[^>]*>(.*?)</select>', inner[0], re.DOTALL):
        chosen = re.search(r'<option(?: value="([^"]*)")? selected>([^<]*)', options)
        sent[unescape(name)] = unescape(chosen[1] or chosen[2]) if chosen else ""
    return sent


def drop(client: TestClient, desk: Desk, sheet: str, *, place: str = "", name: str = "sheet.csv") -> Any:
    return client.post(f"{STOCK}/add", data=form(desk, place=place), files={"sheet": (name, sheet.encode())})


def again(client: TestClient, page: Any, **changed: str) -> Any:
    """Send the page's form with something changed."""
    return client.post(page.url.path, data={**fields_of(page.text), "do": "look", **changed})


def written(client: TestClient, page: Any, **changed: str) -> Any:
    return again(client, page, do="write", **changed)


# Figures


def test_the_page_has_the_figures_of_the_command(desk: Opened, shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    client, opened_desk = desk
    sheet = "code,sold,broken,day\nRRS-1-J1,3,,2026-11-22\nRR-B1,2,1,2026-11-23\nRR-J2,,25,2026-11-24\n"
    assert written(client, drop(client, opened_desk, sheet)).url.path == f"{STOCK}/batch"
    assert main(["stock", "add", str(count_sheet(shop)), "--day", "2026-11-26", "--shop", str(shop)]) == 0
    figures = client.get(STOCK).text.partition('id="batches"')[0]
    rows, told = rows_of(figures), command_json(shop, capsys)
    by_code = {each["code"]: each for each in told["stock"]}
    shown = {code: cells[:4] for code, cells in rows.items() if cells[0] not in ("–", "") and code in by_code}
    assert shown == {
        code: [str(each[key]) for key in ("on_hand", "reserved", "free", "sheet")] for code, each in by_code.items()
    }
    assert len(shown) == 5
    batches = re.findall(r"batch\?batch=([\w-]+)", client.get(STOCK).text)
    assert batches == [each["batch"] for each in reversed(told["batches"])]
    [differs] = told["counts"]
    counts = client.get(STOCK).text.partition('id="counts"')[2]
    assert rows_of(counts)[differs["code"]][1:4] == [str(differs["book"]), str(differs["counted"]), "3 missing"]
    seen = opened_desk.shop_state.look()
    assert room.stock_of_desk(seen).stock() == open_stock(shop)[0].stock()


def count_sheet(shop: Path) -> Path:
    """A count of bars that differs from the books by three."""
    file = shop.parent / "count.csv"
    file.write_text("code,counted\nRR-B1,31\n", encoding="utf-8")
    return file


def test_a_code_s_page_has_each_line_with_the_stock_after_it(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    rows = "".join(f"RR-B1,1,2026-11-{day},line {day}\n" for day in (21, 22, 23))
    written(client, drop(client, opened_desk, f"code,sold,day,note\n{rows}", place="Market stall"))
    page = client.get(f"{STOCK}/code?code=RR-B1").text
    assert re.findall(r"(\d+)</td>\s*<td class=\"number\" data-label=\"On hand\">(\d+)", page) == [
        ("1", "37"), ("1", "38"), ("1", "39"), ("40", "40"),
    ]  # fmt: skip
    assert say("stock.since", number=40, day="20 Nov 2026") in text(page)
    assert say("stock.in_all", sums=say("stock.did.sold", count=3)) in text(page)
    assert client.get(f"{STOCK}/code?code=nothing").status_code == 404
    assert client.get(f"{STOCK}/batch?batch=nothing").status_code == 404


def test_many_lines_come_in_pages(desk: Opened, shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    client, opened_desk = desk
    days = [datetime.date(2026, 11, 21) + datetime.timedelta(at % 9) for at in range(240)]
    rows = "".join(f"RR-M1,1,{day},{at}\n" for at, day in enumerate(days))
    written(client, drop(client, opened_desk, f"code,made,day,note\n{rows}"))
    pages = [client.get(f"{STOCK}/code?code=RR-M1&page={at}").text for at in (1, 2, 3, 99)]
    assert [page.count("<tr>") - 1 for page in pages] == [100, 100, 41, 41]
    monkeypatch.setattr(room, "PAGE", 2)
    parts = (client.get(f"{STOCK}?page={at}").text.partition('id="batches"')[0] for at in (1, 2))
    [first, second] = map(set, map(rows_of, parts))
    assert len(first) == len(second) == 2
    assert not first & second
    shown = client.get(f"{STOCK}?q=water+mint").text.partition('id="batches"')[0]
    assert set(rows_of(shown)) == {"RR-J2"}


# Beginning


def test_a_shop_without_movements_is_offered_to_begin(shop: Path) -> None:
    with opened(shop) as (client, desk):
        page = client.get(STOCK).text
        assert say("stock.start_why", count=5) in text(page)
        answer = client.post(f"{STOCK}/start", data=form(desk, day="2026-12-24"))
        assert (answer.status_code, moved_lines(shop)) == (422, [])
        answer = client.post(f"{STOCK}/start", data=form(desk, day=""))
        assert say("stock.started_now", count=5) in text(answer.text)
        assert moved_lines(shop)[1].startswith("2026-11-28,counted,RR-B1,40,")
        assert 'id="start"' not in answer.text
        again = client.post(f"{STOCK}/start", data=form(desk, day=""))
        assert (again.status_code, len(moved_lines(shop))) == (409, 6)


# Counting, by hand


def test_a_count_shows_what_differs_with_its_worth_before_it_is_written(desk: Opened, shop: Path) -> None:
    """Three bars of 1.40 are missing, one jar of 2.10 is over; nothing is written before she says so."""
    client, opened_desk = desk
    before = moved_lines(shop)
    sent = form(opened_desk, day=str(DAY), **{"count/RR-B1": "37", "count/RR-J1": "", "count/RR-J2": "26"})
    page = client.post(f"{STOCK}/count", data=sent)
    differ = rows_of(page.text.partition('id="differ"')[2].partition('id="changes"')[0])
    assert [cells[1:] for cells in differ.values()] == [
        ["40", "37", "3 missing", "£4.20"], ["25", "26", "1 over", "£2.10"],
    ]  # fmt: skip
    assert say("stock.together", missing="£4.20", over="£2.10") in text(page.text)
    assert moved_lines(shop) == before
    done = written(client, page)
    assert say("stock.added", count=2) in text(done.text)
    assert on_hand(shop) == START | {"RR-B1": 37, "RR-J2": 26}
    assert [line.split(",")[:4] for line in moved_lines(shop)[-2:]] == [
        [str(DAY), "counted", "RR-B1", "37"], [str(DAY), "counted", "RR-J2", "26"],
    ]  # fmt: skip


def test_the_same_count_may_be_typed_again_and_is_no_file_twice(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    ticks = count()
    opened_desk.now = lambda: NOW + datetime.timedelta(seconds=next(ticks))
    for _ in range(2):
        page = client.post(f"{STOCK}/moved", data=form(opened_desk, code="RR-B1", kind="broken", quantity="1"))
        done = written(client, page)
        assert done.url.path == f"{STOCK}/batch"
    assert on_hand(shop)["RR-B1"] == 38
    once_more = written(client, page)
    assert say("stock.twice") in text(once_more.text), "the same page sent twice"
    assert on_hand(shop)["RR-B1"] == 38


@pytest.mark.parametrize("kind", ["made", "broken", "given", "taken", "sold", "came back"])
def test_what_was_made_broken_or_given_is_written_by_a_form(desk: Opened, shop: Path, kind: str) -> None:
    client, opened_desk = desk
    sent = form(opened_desk, code="rr-b1", kind=kind, quantity="4", day="2026-11-28", place="Market stall", note="x")
    written(client, client.post(f"{STOCK}/moved", data=sent))
    assert moved_lines(shop)[-1].startswith(f"2026-11-28,{kind},RR-B1,4,stall,,x,1-")
    assert on_hand(shop)["RR-B1"] == 40 + (4 if kind in ("made", "came back") else -4)


@pytest.mark.parametrize(
    ("path", "sent", "says"),
    [("moved", {"code": "", "quantity": "1"}, say("stock.no_code")),
     ("moved", {"code": "RR-B1", "quantity": "0"}, say("stock.too_few", code="RR-B1", least=1)),
     ("moved", {"code": "RR-B1", "quantity": "half"}, '"half" is no number of pieces.'),
     ("count", {"count/RR-B1": "-2"}, say("stock.too_few", code="RR-B1", least=0)),
     ("count", {"count/RR-B1": "12.5"}, '"12.5" is no number of pieces.'),
     ("count", {"count/RR-B1": ""}, say("stock.none_counted"))],
)  # fmt: skip
@pytest.mark.parametrize("of", ["", "RR-B1"])
def test_what_a_form_cannot_mean_is_told_and_stays_typed(
    desk: Opened, shop: Path, path: str, sent: dict[str, str], says: str, of: str
) -> None:
    client, opened_desk = desk
    before = moved_lines(shop)
    answer = client.post(f"{STOCK}/{path}", data=form(opened_desk, **sent, of=of))
    assert (answer.status_code, says in text(answer.text)) == (422, True), text(answer.text)
    for name, value in sent.items():
        assert not value or f'name="{name}" value="{value}"' in answer.text
    assert moved_lines(shop) == before


def test_a_set_s_pieces_are_made_and_not_the_set_and_a_day_to_come_is_told(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    for sent, says in (
        ({"code": "RRS-1-J1", "kind": "made", "quantity": "2"}, "its pieces are what is made"),
        ({"code": "RR-B1", "kind": "sold", "quantity": "2", "day": "2026-12-24"}, "24 December 2026 is a day to come."),
    ):
        page = client.post(f"{STOCK}/moved", data=form(opened_desk, **sent))
        assert says in text(page.text)
        assert 'value="write"' not in page.text
        assert written(client, page).url == page.url
    assert len(moved_lines(shop)) == 6


# Sheets


def test_a_tally_shows_its_columns_and_before_and_after_then_is_written_and_taken_back(
    desk: Opened, shop: Path
) -> None:
    client, opened_desk = desk
    page = drop(client, opened_desk, "Code,Name,Sold,Broken\nRRS-1-J1,Dawn,3,\nRR-B1,Bar,2,1\n", place="Market stall")
    assert "Code → the code, Sold → sold, Broken → broken" in text(page.text)
    assert rows_of(page.text)["RR-B1"] == ["5 sold, 1 broken", "40", "34", "34"]
    assert rows_of(page.text)["box S"] == ["3 sold", "50", "47", "47"]
    assert rows_of(page.text)["fill S"] == ["3 sold", "–", "–", "–"]
    assert len(moved_lines(shop)) == 6
    batch = written(client, page)
    assert on_hand(shop) == START | {"RR-B1": 34, "RR-J1": 22, "S": 47}
    assert len(moved_lines(shop)) == 13
    lines_before = moved_lines(shop)
    shown = re.search(r'name="batch" value="([^"]+)"><input type="hidden" name="shown" value="([^"]+)"', batch.text)
    assert shown is not None
    back = client.post(f"{STOCK}/undo", data=form(opened_desk, batch=shown[1], shown=shown[2]))
    assert say("stock.taken_back", count=7) in text(back.text)
    assert on_hand(shop) == START
    assert moved_lines(shop)[:13] == lines_before, "what was there stays"
    assert all(",not " in line for line in moved_lines(shop)[13:])
    twice = client.post(f"{STOCK}/undo", data=form(opened_desk, batch=shown[1], shown=shown[2]))
    assert (twice.status_code, len(moved_lines(shop))) == (409, 20)


def test_the_same_sheet_twice_is_told_and_taken_where_it_happened_twice(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    sheet = "code,sold\nRR-B1,2\n"
    written(client, drop(client, opened_desk, sheet))
    page = drop(client, opened_desk, sheet, name="another-name.csv")
    assert say("stock.twice") in text(page.text)
    assert 'value="write"' not in page.text
    written(client, page)
    assert on_hand(shop)["RR-B1"] == 38
    page = again(client, page, again="yes")
    assert rows_of(page.text)["RR-B1"][1:3] == ["38", "36"]
    written(client, page, again="yes")
    assert on_hand(shop)["RR-B1"] == 36


def test_a_sheet_that_was_cut_off_shows_and_adds_what_is_missing(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    sheet = "code,sold\nRR-B1,2\nRR-J1,3\nRR-J2,4\n"
    written(client, drop(client, opened_desk, sheet))
    whole = (shop / "movements.csv").read_text(encoding="utf-8")
    (shop / "movements.csv").write_text(whole[: whole.index("sold,RR-J1") + 8], encoding="utf-8")
    batch = whole.rpartition(",")[2].strip()
    page = client.get(f"{STOCK}/batch?batch={batch}")
    assert say("stock.cut_off_why", count=1, size=3) in text(page.text)
    page = drop(client, opened_desk, sheet)
    changes = rows_of(page.text)
    assert {code: cells[1:3] for code, cells in changes.items()} == {"RR-J1": ["25", "22"], "RR-J2": ["25", "21"]}
    written(client, page)
    assert on_hand(shop) == START | {"RR-B1": 38, "RR-J1": 22, "RR-J2": 21}


BROKEN = "code,sold,day\nRR-B1,2,\nRR-J1,x,\nRR-J2,1,2026-12-24\n"


def test_half_a_sheet_broken_is_told_and_nothing_of_it_taken(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    before = moved_lines(shop)
    page = drop(client, opened_desk, BROKEN)
    assert '"x" is no number of pieces.' in text(page.text)
    assert "24 December 2026 is a day to come." in text(page.text)
    assert say("stock.settle_why") in text(page.text)
    written(client, page)
    assert moved_lines(shop) == before


def test_stock_below_nothing_and_days_before_the_count_are_told_and_can_be_written(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    page = drop(client, opened_desk, "code,sold,day\nRR-J1,27,2026-11-21\nRR-B1,1,2026-11-19\n")
    assert "RR-J1 would be -2. Was something made and not written down" in text(page.text)
    assert "so without effect: RR-B1" in text(page.text)
    written(client, page)
    assert rows_of(client.get(STOCK).text)["RR-J1"][:3] == ["-2", "0", "-2"]


def test_unknown_codes_are_asked_about_by_choosing_and_the_place_remembers(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    sheet = EXPORT.replace("2027", "2026").replace("02/2026", "11/2026")
    sheet += "4,26/11/2026,X,POST,Postage,1\n5,26/11/2026,X,0815,Bar,1\n6,26/11/2026,X,RRS-1,Set,1\n"
    page = drop(client, opened_desk, sheet, place="Market stall")
    assert re.findall(r'name="code/([^"]+)"', page.text) == ["POST", "0815", "RRS-1"]
    assert "there is nothing with the code" not in text(page.text), "it is asked once, by choosing"
    likely = re.search(r'name="code/RRS-1".*?<optgroup[^>]*>(.*?)</optgroup>', page.text, re.DOTALL)
    assert likely is not None
    assert re.findall(r'value="([^"]+)"', likely[1]) == ["RRS-1-J1", "RRS-1-J2"]
    assert 'value="write"' not in page.text
    chosen = {"code/POST": "-", "code/0815": "RR-B1", "code/RRS-1": "RRS-1-J2"}
    page = again(client, page, **chosen)
    assert rows_of(page.text)["RR-B1"][1:3] == ["40", "36"]
    assert len(moved_lines(shop)) == 6
    written(client, page)
    assert on_hand(shop) == START | {"RR-B1": 36, "RR-J2": 23, "S": 48}
    file = (shop / "channels/stall.toml").read_text(encoding="utf-8")
    assert 'not_ours = ["POST"]' in file
    assert lines(list(open_shop(shop).problems)) == []
    page = drop(client, opened_desk, sheet.replace("4,26", "4,27"), place="stall")
    assert 'id="unknown"' not in page.text
    assert 'value="write"' in page.text


def test_codes_chosen_for_a_sheet_of_no_place_are_taken_and_kept_nowhere(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    page = drop(client, opened_desk, "code,sold\nsoap,2\n")
    written(client, again(client, page, **{"code/soap": "RR-B1"}))
    assert on_hand(shop)["RR-B1"] == 38
    assert not any("soap" in file.read_text(encoding="utf-8") for file in (shop / "channels").glob("*.toml"))


def test_a_code_that_is_chosen_and_is_none_is_asked_about_again(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    page = drop(client, opened_desk, "code,sold\nsoap,2\n", place="stall")
    page = again(client, page, **{"code/soap": "RR-NONE"})
    assert re.findall(r'name="code/([^"]+)"', page.text) == ["soap"]
    assert 'value="write"' not in page.text


def test_columns_that_are_not_sure_are_chosen_and_the_place_remembers(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    page = drop(client, opened_desk, "Ref,One,Two,Buyer\nRR-B1,3,4,Ann Otter\n", place="stall")
    assert say("stock.doubt", what=say("stock.column.quantity"), headings="One, Two") in text(page.text)
    assert "Ann Otter" not in page.text
    page = again(client, page, **{"column/Two": "quantity"})
    assert rows_of(page.text)["RR-B1"] == ["4 sold", "40", "36", "36"]
    written(client, page)
    assert 'Two = "quantity"' in (shop / "channels/stall.toml").read_text(encoding="utf-8")
    assert "Ann" not in (shop / "movements.csv").read_text(encoding="utf-8")
    page = drop(client, opened_desk, "Ref,One,Two,Buyer\nRR-B1,3,1,Bea\n", place="stall")
    assert rows_of(page.text)["RR-B1"] == ["1 sold", "36", "35", "35"]


def test_columns_of_a_sheet_of_no_place_are_chosen_too_kinds_among_them(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    page = drop(client, opened_desk, "Ref,One,Two\nRR-B1,3,4\n")
    page = again(client, page, **{"column/One": "made", "column/Two": "broken"})
    assert rows_of(page.text)["RR-B1"] == ["3 made, 4 broken", "40", "39", "39"]
    written(client, page)
    assert on_hand(shop)["RR-B1"] == 39


def test_days_that_may_be_turned_round_are_asked_about(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    page = drop(client, opened_desk, "Item number,Paid on,Sold\nRR-B1,05/11/2026,2\n", place="stall")
    assert say("stock.doubt_days", heading="Paid on") in text(page.text)
    page = again(client, page, date="02/28/2027")
    assert "so without effect: RR-B1" in text(page.text)
    written(client, page)
    assert moved_lines(shop)[-1].startswith("2026-05-11,sold,RR-B1,2,stall")


def test_another_place_is_looked_at_by_its_own_columns(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    with (shop / "channels/stall.toml").open("a", encoding="utf-8") as file:
        file.write('\n[sales.columns]\n"Ref" = "code"\n"Two" = "quantity"\n')
    page = drop(client, opened_desk, "Ref,One,Two\nRR-B1,3,4\n")
    page = again(client, page, place="stall")
    assert rows_of(page.text)["RR-B1"][0] == "4 sold"


def test_a_sheet_that_is_none_is_told(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    assert say("stock.no_file") in text(client.post(f"{STOCK}/add", data=form(opened_desk)).text)
    for content in (b"\x00\x01\x02", b"", b"code,sold\n", b"code,sold\nRR-B1,0\n"):
        page = client.post(f"{STOCK}/add", data=form(opened_desk), files={"sheet": ("x.xlsx", content)})
        assert page.status_code in (200, 422)
        assert 'value="write"' not in page.text, content
    assert client.get(f"{STOCK}/add/nothing").status_code == 404
    assert client.post(f"{STOCK}/add/nothing", data=form(opened_desk)).status_code == 404


# Guards


def test_nothing_is_written_over_what_another_program_added_meanwhile(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    page = drop(client, opened_desk, "code,sold\nRR-B1,2\n")
    assert main(["stock", "add", str(count_sheet(shop)), "--day", "2026-11-26", "--shop", str(shop)]) == 0
    before = moved_lines(shop)
    answer = written(client, page)
    assert (answer.status_code, say("stock.moved_on") in text(answer.text)) == (409, True)
    assert moved_lines(shop) == before
    assert rows_of(answer.text)["RR-B1"][1:3] == ["31", "29"]
    written(client, answer)
    assert on_hand(shop)["RR-B1"] == 29


def test_two_pages_that_write_at_once_leave_both_whole(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    pages = [drop(client, opened_desk, f"code,sold\nRR-B1,{number}\n") for number in (2, 3)]
    answers: list[Response] = []
    threads = [threading.Thread(target=lambda page=page: answers.append(written(client, page))) for page in pages]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert len(answers) == 2
    sold = [int(line.split(",")[3]) for line in moved_lines(shop) if ",sold," in line]
    assert sold in ([2], [3], [2, 3], [3, 2])
    assert on_hand(shop)["RR-B1"] == 40 - sum(sold)


def test_a_form_without_the_desk_s_token_writes_nothing(desk: Opened, shop: Path) -> None:
    client, _ = desk
    for path in ("start", "undo", "add", "count", "moved"):
        assert client.post(f"{STOCK}/{path}", data={"count/RR-B1": "1", "code": "RR-B1"}).status_code == 403
    assert len(moved_lines(shop)) == 6


def test_a_torn_last_line_is_told_on_the_page_and_left(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    with (shop / "movements.csv").open("a", encoding="utf-8") as file:
        file.write("2026-11-22,sold,RR-B1,3,st")
    page = client.get(STOCK)
    assert "the last line has no end" in text(page.text).casefold()
    written(client, drop(client, opened_desk, "code,sold\nRR-B1,2\n"))
    assert "RR-B1,3,st,cut off" in moved_lines(shop)[6]
    assert on_hand(shop)["RR-B1"] == 38


def test_movements_that_cannot_be_read_stop_every_form_and_the_page_says_where(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    page = drop(client, opened_desk, "code,sold\nRR-B1,2\n")
    with (shop / "movements.csv").open("a", encoding="utf-8") as file:
        file.write("2026-11-22,sold,RR-B1,-3,,,,\n")
    before = moved_lines(shop)
    shown = client.get(STOCK)
    assert say("stock.stopped") in text(shown.text)
    assert "The kind says which way" in text(shown.text)
    written(client, page)
    client.post(f"{STOCK}/start", data=form(opened_desk))
    assert moved_lines(shop) == before


def test_what_a_set_that_is_gone_took_stays_and_can_be_taken_back(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    batch = written(client, drop(client, opened_desk, "code,sold\nRRS-1-J1,3\n"))
    for file in sorted((shop / "sets/dawn").rglob("*"), reverse=True):
        file.unlink() if file.is_file() else file.rmdir()
    (shop / "sets/dawn").rmdir()
    page = client.get(f"{batch.url.path}?{batch.url.query.decode()}")
    assert "RRS-1-J1" in page.text
    shown = re.search(r'name="batch" value="([^"]+)"><input type="hidden" name="shown" value="([^"]+)"', page.text)
    assert shown is not None
    client.post(f"{STOCK}/undo", data=form(opened_desk, batch=shown[1], shown=shown[2]))
    assert on_hand(shop) == START


def test_what_an_order_reserved_is_taken_back_in_shops_alone(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    with (shop / "movements.csv").open("a", encoding="utf-8") as file:
        file.write("2026-11-22,ordered,RR-B1,8,wholesale,,order 7,1-0123abcd\n")
    assert rows_of(client.get(STOCK).text)["RR-B1"][:3] == ["40", "8", "32"]
    page = client.get(f"{STOCK}/batch?batch=1-0123abcd")
    assert say("stock.of_order") in text(page.text)
    assert f'action="{STOCK}/undo"' not in page.text
    assert client.post(f"{STOCK}/undo", data=form(opened_desk, batch="1-0123abcd")).status_code == 409
    assert len(moved_lines(shop)) == 7


def test_markup_in_codes_and_names_of_files_is_text(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    evil = '"><script>1</script>'
    page = drop(client, opened_desk, f"code,sold,{evil.replace(chr(34), '')}\n{evil[1:]},2,x\n", name=f"{evil}.csv")
    assert "<script>1" not in page.text


def test_every_kind_and_column_has_its_words() -> None:
    for kind in MOVE_KINDS:
        assert say(f"stock.kind.{kind.replace(' ', '_')}")
        assert kind == "counted" or say(f"stock.did.{kind.replace(' ', '_')}", count=2)
    for column in HEADINGS:
        assert say(f"stock.column.{column.replace(' ', '_')}")


# Today


def test_today_says_what_runs_short_and_why(desk: Opened, shop: Path) -> None:
    """20 of 25 jars were sold in four weeks: 5 are left and 10 sell in two. 44 bars are promised, and there are 40."""
    client, opened_desk = desk
    written(client, drop(client, opened_desk, "code,sold,day\nRR-J1,20,2026-11-22\nRR-M1,5,2026-11-22\n"))
    with (shop / "movements.csv").open("a", encoding="utf-8") as file:
        file.write("2026-11-22,ordered,RR-B1,44,wholesale,,order 7,1-0123abcd\n")
    page = client.get("/today").text
    assert f'<a href="{STOCK}/code?code=RR-J1">' in page
    assert say("stock.sells", free=5, sells=10) in text(page)
    assert say("stock.lacks", count=4) in text(page)
    assert f"{STOCK}/code?code=RR-M1" not in page, "25 are left, and 3 sell"
