"""The first day with an own sheet: it carries its units, has no codes, and is then counted and sold from."""

import re
import time
from pathlib import Path

from httpx import Response
from starlette.testclient import TestClient

from listkit.desk.page import Desk, homely
from listkit.desk.set_files import EMPTY
from listkit.read.shop import read_shop
from tests.desk.desks import form, hidden, opened, text

ROOT = Path(homely.__code__.co_filename).parents[2]
HEAD = "Code,Product,Price,What it costs me,Weighs,How big\n"


def test_sizes_that_carry_their_unit_are_taken_as_the_page_chose_and_others_are_asked_for_it(tmp_path: Path) -> None:
    columns = ("code", "name", "retail", "cost", "weight", "size")
    chosen = {f"column-{at}": says for at, says in enumerate(columns)}
    bare = f"{HEAD}A1,Oat soap,6.50,1.90,100g,80x55x25\nA2,Rye soap,6.50,1.90,110g,80x55x25\n"
    with opened(tmp_path / "new") as (client, desk):
        stated = {"name": "Bee", "currency": "GBP", "country": "GB", **chosen}
        page = client.post("/start/sheet", data=form(desk), files={"sheet": ("a.csv", bare.encode(), "text/csv")})
        asked = client.post("/start/columns", data={**hidden(page.text), **stated})
        assert asked.status_code == 422
        ways = "“Outside size, in millimetres”, “Outside size, in centimetres”, or “Outside size, in inches” for it."
        wanted = f"The numbers of “How big” do not say in what they are measured. Choose {ways}"
        assert wanted in text(asked.text)
        sized = bare.replace("25\n", "25mm\n").encode()
        page = client.post("/start/sheet", data=form(desk), files={"sheet": ("a.csv", sized, "text/csv")})
        assert '<option value="size" selected>' in page.text
        assert client.post("/start/columns", data={**hidden(page.text), **stated}).url.path == "/today"
    shop, _ = read_shop(tmp_path / "new")
    assert [item.size.length.mm for item in shop.items] == [80, 80]


SHEET = """Product,Kind,Price,What it costs me,Weighs,How big,Left
Lavender soap,bar soap,6.50,"2,10",100g,80x55x25mm,24
Oat soap,bar soap,6.50,"1,90",110g,80x55x25mm,22
Rose candle,candle,14.00,"4,10",35?,70x70x90mm,10
"""


def begin(client: TestClient, desk: Desk, sheet: str = SHEET) -> str:
    """Make a shop around a sheet, and return the page that says what is in it."""
    page = client.post("/start/sheet", data=form(desk), files={"sheet": ("my.csv", sheet.encode(), "text/csv")})
    chosen = ("name", "form", "retail", "cost", "weight", "size", "on hand")
    columns = {f"column-{at}": says for at, says in enumerate(chosen)}
    stated = {"name": "Bee", "currency": "GBP", "country": "GB", **columns}
    made = client.post("/start/columns", data={**hidden(page.text), **stated})
    assert made.url.path == "/today", text(made.text)
    assert "3 things of your sheet have no code yet" in text(made.text)
    return text(page.text)


def make_codes(client: TestClient, desk: Desk, **instead: str) -> Response:
    """Send the page of proposed codes as it is, but for what is typed `instead`."""
    page = client.get("/shelf/codes").text
    fields = dict(re.findall(r'name="(code/\d+)" value="([^"]*)"', page))
    shown = dict(re.findall(r'name="(shown/[^"]*)" value="([^"]*)"', page))
    sent: Response = client.post("/shelf/codes", data=form(desk, **{**fields, **shown, **instead}))
    return sent


def test_a_sheet_without_codes_is_given_them_in_one_change_that_is_taken_back_in_one(tmp_path: Path) -> None:
    with opened(tmp_path / "new") as (client, desk):
        said = begin(client, desk)
        assert "“Make codes for these” on Shelf writes them" in said
        assert 'Add a column "Code"' not in said
        assert 'href="/shelf/codes"' in client.get("/shelf").text
        sheet = tmp_path / "new" / "my.csv"
        twice = make_codes(client, desk, **{"code/3": "bs-01"})
        assert twice.status_code == 422
        assert "“bs-01” is the code of something else already" in text(twice.text)
        bad = make_codes(client, desk, **{"code/3": "b s"})
        assert bad.status_code == 422
        assert "is not a code" in text(bad.text)
        assert sheet.read_text(encoding="utf-8") == SHEET
        done = make_codes(client, desk)
        assert done.url.path == "/shelf"
        assert "3 codes are in your sheet" in text(done.text)
        lines = sheet.read_text(encoding="utf-8").splitlines()
        assert [line.rpartition(",")[2] for line in lines] == ["code", "BS-01", "BS-02", "CA-01"]
        assert [item.code for item in read_shop(tmp_path / "new")[0].items] == ["BS-01", "BS-02"], "a bad row too"
        assert "Everything in your sheet has its code" in text(client.get("/shelf/codes").text)
        client.post("/past/back", data=form(desk, change="1", here="/shelf"))
        assert sheet.read_text(encoding="utf-8") == SHEET


def test_a_column_of_decimal_commas_is_understood_cell_by_cell_and_kept(tmp_path: Path) -> None:
    with opened(tmp_path / "new") as (client, desk):
        begin(client, desk)
        make_codes(client, desk)
        page = client.get("/shelf/item?row=BS-01").text
        shown = dict(re.findall(r'name="(shown/[^"]*)" value="([^"]*)"', page))
        fields = {"row": "BS-01", "cell/name": "Lavender bar", "cell/cost": "2.15", "sure": "yes"}
        saved = client.post("/shelf/item", data=form(desk, **shown, **fields))
        assert saved.status_code == 200, text(saved.text)
        assert "has a comma" not in text(saved.text)
    sheet = (tmp_path / "new" / "my.csv").read_text(encoding="utf-8")
    assert 'Lavender bar,bar soap,6.50,"2,15",100g' in sheet, "the column goes on writing commas"
    assert [str(item.cost) for item in read_shop(tmp_path / "new")[0].items] == ["2.15", "1.90"]


def test_what_is_uncounted_can_be_begun_with_as_long_as_anything_is(tmp_path: Path) -> None:
    with opened(tmp_path / "new") as (client, desk):
        begin(client, desk, SHEET.replace("35?", "350g"))
        make_codes(client, desk)
        looked = client.post("/shelf/stock/count", data=form(desk, **{"count/BS-01": "22", "day": "2026-11-29"}))
        assert "24 by your sheet" in text(looked.text)
        shown = dict(re.findall(r'name="(shown|guessed_place)" value="([^"]*)"', looked.text))
        client.post(looked.url.path, data=form(desk, do="write", **shown))
        page = client.get("/shelf/stock")
        assert "Begin with what your sheet says" in text(page.text)
        assert "box S never counted" in text(re.sub("<td[^>]*>(–|)</td>", "", page.text))
        assert "2 numbers are counted" in text(client.post("/shelf/stock/start", data=form(desk)).text)
        assert "Begin with what your sheet says" not in text(client.get("/shelf/stock").text)


def test_no_message_of_the_desk_names_a_command_of_the_stock() -> None:
    """All that the code says of `listkit ...` as a remedy, with the page's own words for it."""
    sources = [
        path
        for room in ("actions", "check")
        for path in (ROOT / "listkit" / room).glob("*.py")
        if path.name != "rules.py"
    ]
    remedies = re.findall(
        r'f?"([^"\n]*listkit (?:stock|order|allot) [^"\n]*)"', "\n".join(map(Path.read_text, sources))
    )
    assert len(remedies) > 5
    for each in remedies:
        assert not re.search(r"listkit (stock|order|allot)", homely(each)), each


def test_goods_that_a_sheet_of_sales_names_are_chosen_already(tmp_path: Path) -> None:
    with opened(tmp_path / "new") as (client, desk):
        begin(client, desk, SHEET.replace("35?", "350g"))
        make_codes(client, desk)
        sales = "Item,Sold\nLAVENDER soap,2\nOat bar soap,1\nrose,1\nMuesli,1\n"
        sheet = {"sheet": ("sales.csv", sales.encode(), "text/csv")}
        page = client.post("/shelf/stock/add", data=form(desk), files=sheet)
        chosen = re.findall(r'<option value="([^"]+)" selected>[^<]*: ', page.text)
        assert chosen == ["BS-01", "BS-02", "CA-01"], text(page.text)
        assert "BS-01: Lavender soap" in page.text, "her name stays as it is"
        assert 'What is "Muesli"?' in text(page.text)


def test_a_sheet_without_a_column_that_all_need_is_told_in_plain_words_with_what_mends_it(tmp_path: Path) -> None:
    with opened(tmp_path / "new") as (client, desk):
        begin(client, desk)
        desk.shop_state.full(wait=60)
        page = client.get("/today").text
        assert "The things in your sheet have no codes yet, and places know things by their codes." in text(page)
        assert '<a class="button" href="/shelf/codes">Make codes for these</a>' in page
        assert "There is no column" not in text(page)
        client.headers["accept-language"] = "fr"
        assert "n’ont pas encore de codes" in text(client.get("/today").text)
        client.headers["accept-language"] = "en"
        sheet = tmp_path / "new" / "my.csv"
        sheet.write_text("\n".join(line.replace("What it costs me", "Zorb") for line in SHEET.splitlines()), "utf-8")
        toml = tmp_path / "new" / "shop.toml"
        toml.write_text(toml.read_text("utf-8").replace('"What it costs me"', '"What else"'), "utf-8")
        desk.shop_state.look()
        desk.shop_state.full(wait=60)
        said = text(client.get("/today").text)
        assert "Your sheet has no column for “Cost” yet, which every thing needs." in said
        assert "with the heading “Cost”" in said


def test_an_empty_set_and_a_shop_without_a_whole_set_are_told_in_plain_words(tmp_path: Path) -> None:
    with opened(tmp_path / "new") as (client, desk):
        begin(client, desk, SHEET.replace("35?", "350g"))
        make_codes(client, desk)
        made = client.post("/sets/new", data=form(desk, name="First Light", begin=EMPTY))
        assert "Nothing is in it yet. Look for a thing below and put it in." in text(made.text)
        file = tmp_path / "new" / "sets" / "first-light" / "set.toml"
        file.write_text(file.read_text("utf-8").replace('status = "draft"', 'status = "on sale"'), "utf-8")
        desk.shop_state.look()
        desk.shop_state.full(wait=60)
        today = text(client.get("/today").text)
        assert "Nothing is in it yet." in today
        assert "is missing" not in today
        client.post("/build", data=form(desk))
        while desk.builder.running:
            time.sleep(0.05)
        built = client.get("/build").text
        assert "Nothing was built: no set can be made yet." in text(built)
        assert 'href="/today#fix"' in built


MIXED = SHEET.replace("35?", "350g").replace("6.50,", '"6,50",', 1).replace('"2,10"', "2.10").replace('"4,10"', "4.10")
MIXED = MIXED.replace('"1,90"', "1.90")


def test_numbers_with_a_comma_among_points_are_written_with_a_point_in_one_change(tmp_path: Path) -> None:
    with opened(tmp_path / "new") as (client, desk):
        begin(client, desk, MIXED)
        make_codes(client, desk)
        sheet = tmp_path / "new" / "my.csv"
        before = sheet.read_text(encoding="utf-8")
        page = client.get("/today").text
        assert "1 number in your sheet has a comma, the others have points." in text(page)
        shown = dict(re.findall(r'name="(shown/[^"]*)" value="([^"]*)"', page))
        done = client.post("/shelf/points", data=form(desk, **shown))
        assert "1 number is written with a point now." in text(done.text)
        assert "has a comma" not in text(done.text)
        assert sheet.read_text(encoding="utf-8") == before.replace('"6,50"', '"6.50"')
        assert str(read_shop(tmp_path / "new")[0].items[0].retail) == "6.50"
