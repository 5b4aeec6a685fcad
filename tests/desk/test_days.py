"""Market day and post day without a browser: the papers are the command's, the sheet comes back, no words are kept."""

import csv
import io
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from listkit.cli import main
from listkit.desk.page import Desk, say
from tests.actions.test_stock import BOXES
from tests.desk.desks import DAY, form, opened, text
from tests.desk.test_stock import moved_lines, on_hand, rows_of, written
from tests.shops import clean_shop, edited

Opened = tuple[TestClient, Desk]
SATURDAY = "2026-12-05"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    changes = {"packaging.toml": BOXES, **edited("shop.toml", "on_sale = 2027-02-01", "on_sale = 2026-09-01")}
    folder = clean_shop(tmp_path / "shop", changes)
    with (folder / "channels/stall.toml").open("a", encoding="utf-8") as file:
        file.write('hold_back = 0\n[singles]\nitems = ["RR-B1", "RR-J1"]\n')
    assert main(["stock", "start", "--day", "2026-11-20", "--shop", str(folder)]) == 0
    return folder


@pytest.fixture
def desk(shop: Path) -> Iterator[Opened]:
    with opened(shop) as (client, desk):
        yield client, desk


def asked(shop: Path) -> dict[str, bytes]:
    folder = shop / "out/print/asked"
    return {path.name: path.read_bytes() for path in folder.iterdir()} if folder.is_dir() else {}


def takes(page: str) -> dict[str, str]:
    return dict(re.findall(r'name="count/([^"]+)" value="(\d*)"', page))


def twin(shop: Path, *words: str) -> dict[str, bytes]:
    """Return what the command prints of the same shop."""
    copy = Path(shutil.copytree(shop, shop.parent / "twin", ignore=shutil.ignore_patterns("out")))
    assert main(["print", *words, "--shop", str(copy)]) == 0
    return asked(copy)


@pytest.mark.parametrize("day", [SATURDAY, str(DAY)])
def test_the_market_page_and_its_sheet_are_those_of_the_command(desk: Opened, shop: Path, day: str) -> None:
    client, opened_desk = desk
    page = client.get(f"/print/market?place=stall&day={day}")
    assert say("days.evenly") in text(page.text)
    sent = {f"count/{code}": number for code, number in takes(page.text).items()}
    answer = client.post("/print/market", data=form(opened_desk, place="stall", day=day, **sent))
    assert answer.status_code == 200, text(answer.text)
    names = [f"market-stall-{day}.pdf", f"market-stall-{day}.csv"]
    assert re.findall(r'href="/print/files/([\w.-]+)"', answer.text) == names
    ours = {name: client.get(f"/print/files/{name}").content for name in names}
    assert ours == twin(shop, "market", "--place", "stall", "--day", day)
    assert "attachment" in client.get(f"/print/files/{names[1]}").headers["content-disposition"]


def test_her_own_numbers_typed_or_dropped_are_those_of_the_page(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    page = client.get(f"/print/market?place=stall&day={SATURDAY}").text
    first, *rest = takes(page)
    sent = {f"count/{code}": "" for code in rest} | {f"count/{first}": "3"}
    client.post("/print/market", data=form(opened_desk, place="stall", day=SATURDAY, **sent))
    typed = asked(shop)
    table = client.get(f"/print/market/counts.csv?place=stall&day={SATURDAY}")
    rows = list(csv.DictReader(io.StringIO(table.content.decode("utf-8-sig"))))
    assert {row["code"]: row["quantity"].replace("0", "") for row in rows} == takes(page)
    mine = f"code,quantity\n{first},3\n".encode()
    sent = {f"count/{code}": number for code, number in takes(page).items()}
    asks = form(opened_desk, place="stall", day=SATURDAY, **sent)
    client.post("/print/market", data=asks, files={"counts": ("mine.csv", mine)})
    assert asked(shop) == typed
    lines = typed[f"market-stall-{SATURDAY}.csv"].decode("utf-8-sig").splitlines()
    assert len(lines) == 2
    assert lines[1].startswith(f"{SATURDAY},stall,{first},")
    (shop.parent / "mine.csv").write_bytes(mine)
    words = ("market", "--place", "stall", "--day", SATURDAY, "--counts", str(shop.parent / "mine.csv"))
    assert twin(shop, *words) == typed


def test_the_filled_in_sheet_leads_to_what_it_changes(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    page = client.get(f"/print/market?place=stall&day={DAY}").text
    sent = {f"count/{code}": number for code, number in takes(page).items()}
    client.post("/print/market", data=form(opened_desk, place="stall", day=str(DAY), **sent))
    [headings, first, *_] = csv.reader(
        io.StringIO(asked(shop)[f"market-stall-{DAY}.csv"].decode("utf-8-sig"), newline="")
    )
    first[headings.index("sold")] = "1"
    first[headings.index("broken")] = "1"
    filled = io.StringIO(newline="")
    csv.writer(filled).writerows([headings, first])
    before = on_hand(shop)
    page = client.post(
        "/shelf/stock/add", data=form(opened_desk, place="stall"), files={"sheet": ("s.csv", filled.getvalue())}
    )
    code = first[headings.index("code")] if "code" in headings else first[2]
    assert "taken along" in text(page.text)
    assert rows_of(page.text), code
    written(client, page)
    after = on_hand(shop)
    assert after["S"] == (before["S"] or 0) - 2
    assert {line.split(",")[1] for line in moved_lines(shop)[6:]} == {"sold", "broken"}


@pytest.mark.parametrize(
    ("sent", "says"),
    [({"place": "nowhere"}, "nowhere"), ({"place": "stall", "count/RR-NONE": "2"}, "RR-NONE"),
     ({"place": "stall", "count/RRS-1-J1": "many"}, '"many" is no number of copies'),
     ({"place": "stall", "count/RRS-1-J1": ""}, say("print.none_asked"))],
)  # fmt: skip
def test_what_cannot_be_taken_is_told_and_nothing_is_printed(
    desk: Opened, shop: Path, sent: dict[str, str], says: str
) -> None:
    client, opened_desk = desk
    answer = client.post("/print/market", data=form(opened_desk, day=SATURDAY, **sent))
    assert (answer.status_code, says in text(answer.text)) == (422, True), text(answer.text)
    assert asked(shop) == {}


ORDERS = (
    "order,set,quantity,message,from,to,address\n"
    "501,RRS-1-J1,1,Dearest Ann all my love,Tom Otter,Ann,7 Weir Lane\n502,RR-B1,2,,,,9 Mill Row\n"
)


def test_a_post_day_has_all_its_papers_and_nothing_of_the_buyers_is_kept(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    before = {path for path in shop.rglob("*") if path.is_file()}
    answer = client.post("/print/post", data=form(opened_desk), files={"orders": ("day.csv", ORDERS.encode())})
    assert answer.status_code == 200, text(answer.text)
    assert say("days.made_post") in text(answer.text)
    names = re.findall(r'href="/print/files/([\w.-]+)"', answer.text)
    assert "post-list-501-to-502.pdf" in names
    assert "message-cards-501-to-502.pdf" in names
    private = ("all my love", "Tom Otter", "Weir Lane", "Mill Row")
    assert not [words for words in private if words in answer.text]
    later = client.get("/print/post").text + client.get("/past").text + client.get("/today").text
    assert not [words for words in private if words in later]
    for path in {path for path in shop.rglob("*") if path.is_file()} - before:
        if path.name != "message-cards-501-to-502.pdf":
            assert not [words for words in private if words.encode() in path.read_bytes()], path
    (shop.parent / "day.csv").write_text(ORDERS, encoding="utf-8")
    theirs = twin(shop, "post", str(shop.parent / "day.csv"), "--today", str(DAY))
    assert {name: client.get(f"/print/files/{name}").content for name in names} == theirs


def test_orders_of_what_is_not_sold_are_told_and_nothing_is_printed(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    assert say("print.no_orders") in text(client.post("/print/post", data=form(opened_desk)).text)
    table = b"order,set,message\n501,RRS-1,My love\n502,NOTHING,\n"
    answer = client.post("/print/post", data=form(opened_desk), files={"orders": ("day.csv", table)})
    assert answer.status_code == 422
    assert "RRS-1 has choices." in text(answer.text)
    assert "My love" not in answer.text
    assert asked(shop) == {}


def test_a_name_that_looks_like_a_formula_is_none_in_the_table_of_numbers(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    for file in (shop / "sets").glob("*/set.toml"):
        told = re.sub(r"^name = .*$", 'name = "=1+1"', file.read_text(encoding="utf-8"), flags=re.MULTILINE)
        file.write_text(re.sub(r"^(season|status) = .*$", "", told, flags=re.MULTILINE), encoding="utf-8")
    with opened(shop) as (client, desk):
        assert desk.state is not None
        desk.state.look()
        desk.state.full(wait=60)
        table = client.get("/print/market/counts.csv", params={"place": "stall"}).text
    names = [row["name"] for row in csv.DictReader(io.StringIO(table))]
    assert names
    assert all(name.startswith("'=1+1") for name in names)
