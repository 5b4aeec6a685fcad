"""The shelf without a browser: pages of the sheet, edits down to the file, what follows from a price, codes, boxes."""

import csv
import io
import re
import shutil
import tomllib
from collections.abc import Iterator
from decimal import Decimal
from functools import partial
from html import unescape
from pathlib import Path

import openpyxl
import pytest
from starlette.testclient import TestClient

from listkit.compute.build import build_catalog
from listkit.compute.sales import sale_on
from listkit.desk import boxes, shelf
from listkit.desk.edits import look
from listkit.desk.fields import sections_of
from listkit.desk.follows import follows
from listkit.desk.page import Desk, say
from listkit.desk.saving import shown_name
from listkit.desk.shelf import PAGE, TARGET, Asked, table
from listkit.desk.tables import lines_of
from listkit.edit.past_lines import digest_of
from listkit.model.item import Item
from listkit.pipeline import list_catalog
from listkit.present.gift_set import boxes_json, set_json
from listkit.read.shop import read_shop
from tests.desk.desks import DAY, form, new_desk, opened, text
from tests.shops import clean_shop, demo_photos, ods, ods_row, small_demo, xlsx
from tests.steps import python_calls

EVIL = '"><script>window.hit=1</script>'


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_demo(tmp_path_factory.mktemp("demo") / "shop")


def sheet(shop: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO((shop / "items.csv").read_text(encoding="utf-8"))))


def items_shown(shop: Path, file: str = "items.csv") -> dict[str, str]:
    return {shown_name(TARGET): digest_of((shop / file).read_bytes())}


def boxes_shown(shop: Path) -> dict[str, str]:
    return {shown_name(boxes.TARGET): digest_of((shop / "packaging.toml").read_bytes())}


def save(client: TestClient, desk: Desk, shop: Path, row: str, **cells: str) -> str:
    """Send cells of a row, as her page does, and return what the page then says."""
    fields = {f"cell/{name}": value for name, value in cells.items()}
    return text(client.post("/shelf/item", data=form(desk, row=row, **fields, **items_shown(shop))).text)


def in_a_workbook(shop: Path) -> Path:
    """Put the sheet of a shop into a workbook, numbers as numbers."""
    rows = list(csv.reader(io.StringIO((shop / "items.csv").read_text(encoding="utf-8"))))
    header, numbers = rows[0], {"retail", "cost", "on hand"}
    typed = [
        [float(cell) if header[at] in numbers and cell else cell for at, cell in enumerate(row)] for row in rows[1:]
    ]
    (shop / "items.xlsx").write_bytes(xlsx([header, *typed]))
    (shop / "items.csv").unlink()
    return shop


def shown_on(desk: Desk, asked: Asked) -> shelf.Shown:
    state = desk.shop_state
    seen, files = state.look(), look(state.folder)
    lines = lines_of("items.csv", (state.folder / "items.csv").read_bytes(), files.form(TARGET.role))
    return table(seen, lines, asked, seen.opened.problems)


@pytest.fixture
def on_demo(demo: Path) -> Iterator[Desk]:
    desk = new_desk(demo)
    yield desk
    desk.shop_state.end()


def test_the_table_has_every_row_of_the_sheet_as_it_is_written(demo: Path) -> None:
    with opened(demo) as (client, _):
        page = client.get("/shelf").text
    for row in sheet(demo):
        there = page.partition(f'data-row="{row["code"]}"')[2].partition("</tr>")[0]
        written = dict(re.findall(r'data-field="(\w+)" data-written="([^"]*)"', there))
        assert unescape(written["retail"]) == row["retail"], "what an edit of the cell begins with"
        assert unescape(written["cost"]) == row["cost"]
        assert unescape(written["on_hand"]) == row["on hand"]
        cells = dict(re.findall(r'data-field="(\w+)"[^>]*>([^<]*)</a>', there))
        assert unescape(cells["retail"]) == f"£{Decimal(row['retail']):.2f}"
        assert unescape(cells["on_hand"]) == (row["on hand"] or "–")
        assert unescape(cells["form"]) == row["form"]


ALIKE = (
    "code,name,form,scent,net,retail,cost,weight (g),size (mm),on hand,cautions,larger,upright\n"
    "RR-B1,Oat soap,bar soap,oat,100g,6.50,1.40,104,80 x 55 x 25,40,external-use;avoid-eyes,,no\n"
    "RR-J1,Body butter,body butter,rose,100ml,9.00,2.10,180,70 x 70 x 60,25,external-use;avoid-eyes,,yes\n"
    "RR-J2,Body butter,body butter,lavender,100 ml,9.00,2.10,180,70 x 70 x 60,25,external-use;avoid-eyes,,yes\n"
    "RR-M1,Body butter,body butter,rose,30 ml,4.00,0.95,80,50 x 50 x 46,30,external-use;avoid-eyes,RR-J1,yes\n"
)


def test_what_tells_goods_of_one_name_apart_is_shown_wherever_they_are_chosen(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    (shop / "items.csv").write_text(ALIKE, encoding="utf-8")
    with opened(shop) as (client, _):
        rows = dict(
            re.findall(r'data-row="(RR-[^"]*)".*?<th scope="row">(.*?)</th>', client.get("/shelf").text, re.DOTALL)
        )
        beside = {code: re.findall(r'<span class="small">([^<]*)', cell) for code, cell in rows.items()}
        assert beside == {"RR-B1": [], "RR-J1": ["rose, 100 ml"], "RR-J2": ["lavender"], "RR-M1": ["rose, 30 ml"]}
        page = text(client.get("/sets/RRS-1").text)
        assert page.count("Body butter · lavender") > 1, "prices, drawings, figures"
        assert "lavender · £9.00" in page
        assert "soap bar soap" not in page.casefold()
        assert "lavender · £9.00" in text(client.get("/sets/RRS-1/items?q=lavender").text)
        assert "Body butter · lavender RR-J2" in text(client.get("/sets/RRS-1/photos").text)
        assert "Oat soap" in text(client.get("/sets/RRS-1/items?q=oat").text)


@pytest.mark.parametrize("workbook", [False, True])
def test_a_row_that_nothing_uses_is_taken_away_and_taken_back(tmp_path: Path, workbook: bool) -> None:
    shop = clean_shop(tmp_path / "shop")
    with (shop / "items.csv").open("a", encoding="utf-8") as target:
        target.write(",Soaps so far,soft,,,,,,97,,,\n")
    shop = in_a_workbook(shop) if workbook else shop
    file = "items.xlsx" if workbook else "items.csv"
    before = (shop / file).read_bytes()
    with opened(shop) as (client, desk):
        seen = desk.shop_state.look()
        line = next(at for at, row in enumerate(lines_of(file, before, look(shop).form(TARGET.role)).rows, 2)
                    if row.cells["name"] == "Soaps so far")  # fmt: skip
        assert f"/shelf/take?line={line}" in client.get(f"/shelf/item?line={line}").text
        assert "Soaps so far" in text(client.get(f"/shelf/take?line={line}").text)
        page = client.post("/shelf/take", data=form(desk, line=str(line), **items_shown(shop, file)))
        assert page.status_code == 200
        assert "Soaps so far" not in text(client.get("/shelf").text)
        assert desk.shop_state.look().opened.shop.items == seen.opened.shop.items
        number = page.text.partition('name="change" value="')[2].partition('"')[0]
        client.post("/past/back", data=form(desk, change=number, here="/shelf"))
        assert (shop / file).read_bytes() == before


def test_an_item_that_is_used_is_not_taken_away_and_links_to_what_uses_it(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    before = (shop / "items.csv").read_bytes()
    with opened(shop) as (client, desk):
        page = client.get("/shelf/take?row=RR-J1").text
        assert 'href="/sets/RRS-1"' in page
        assert "Dawn on the Weir" in text(page)
        assert "Little Willow" in text(page), "its mini names it"
        assert say("delete.do") not in re.findall(r"<button[^>]*>([^<]*)", page)
        client.post("/shelf/take", data=form(desk, row="RR-J1", **items_shown(shop)))
        (shop / "sets/dawn/set.toml").write_text("contents = [{ item = 'RR-B1' }", encoding="utf-8")
        assert (
            "Dawn" in text(client.get("/shelf/take?row=RR-B1").text)
            or "dawn" in client.get("/shelf/take?row=RR-B1").text
        )
    assert (shop / "items.csv").read_bytes() == before


def test_figures_read_alike_however_they_were_typed(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    sheet_there = (shop / "items.csv").read_text(encoding="utf-8")
    (shop / "items.csv").write_text(sheet_there.replace("6.50,1.40,104", "£6.5,1.4,104 g"), encoding="utf-8")
    with (shop / "items.csv").open("a", encoding="utf-8") as file:
        file.write(',Rush,bar soap,,"6,5",about 2,,,,,,\n')
    with opened(shop) as (client, _):
        page = client.get("/shelf").text
        there = page.partition('data-row="RR-B1"')[2].partition("</tr>")[0]
        unsound = page.partition('data-row="6"')[2].partition("</tr>")[0]
    assert re.findall(r'data-written="([^"]*)"[^>]*>([^<]*)</a>', unsound)[1:3] == [
        ("6,5", "£6.50"),
        ("about 2", "about 2"),
    ]
    assert re.findall(r'data-written="([^"]*)"[^>]*>([^<]*)</a>', there)[1:4] == [
        ("£6.5", "£6.50"), ("1.4", "£1.40"), ("104 g", "104 g"),
    ]  # fmt: skip


def test_every_field_of_an_item_stands_in_a_section_and_what_is_to_mend_stands_on_top(tmp_path: Path) -> None:
    assert sorted(name for _, names, _ in sections_of(Item) for name in names) == sorted(Item.model_fields)
    shop = clean_shop(tmp_path / "shop")
    with (shop / "items.csv").open("a", encoding="utf-8") as file:
        file.write("RR-X1,Rush,bar soap,100 g,6.50,,104,,40,,,no\n")
    with opened(shop) as (client, desk):
        assert desk.shop_state.look()
        assert desk.shop_state.full(wait=60)
        page = client.get("/shelf/item?row=RR-X1").text
        top = page.partition(say("item.mend_first", count=3))[2].partition("</ul>")[0]
        assert re.findall('href="#([a-z_]*)"', top) == ["cost", "size", "cautions"]
        assert "“Cost” is missing." in text(top)
        folded = re.findall(r"<details[^>]*>(.*?)</details>", page, re.DOTALL)
        assert [("cure" in each, 'id="larger"' in each) for each in folded] == [(True, False), (False, True)]
        assert 'id="cost"' not in "".join(folded)
        page = client.get("/shelf/item?row=RR-X1&at=larger").text
        assert re.search('id="larger"[^>]* autofocus', page)
        assert 'id="larger"' not in "".join(re.findall(r"<details[^>]*>(.*?)</details>", page, re.DOTALL))


def test_rows_are_looked_for_filtered_and_sorted(on_demo: Desk, demo: Path) -> None:
    rows = sheet(demo)
    named = shown_on(on_demo, Asked(q="rosemary soap"))
    assert {thing.code for thing in named.things} == {
        row["code"]
        for row in rows
        if all(word in " ".join(v for k, v in row.items() if k not in ("ingredients", "cautions")).casefold()
               for word in ("rosemary", "soap"))
    } != set()  # fmt: skip
    soaps = shown_on(on_demo, Asked(form="bar soap"))
    assert [thing.code for thing in soaps.things] == [row["code"] for row in rows if row["form"] == "bar soap"]
    dear = shown_on(on_demo, Asked(sort="retail", down="yes"))
    prices = [Decimal(thing.cells["retail"]) for thing in dear.things]
    assert prices == sorted((Decimal(row["retail"]) for row in rows), reverse=True)
    least = shown_on(on_demo, Asked(sort="on_hand")).things
    counted = [int(thing.cells["on_hand"]) for thing in least if thing.cells["on_hand"]]
    assert counted == sorted(counted)
    assert [bool(thing.cells["on_hand"]) for thing in least] == sorted(
        (bool(row["on hand"]) for row in rows), reverse=True
    ), "what is not counted comes last"
    everything = shown_on(on_demo, Asked())
    worth = sum(Decimal(row["cost"]) * int(row["on hand"] or 0) for row in rows)
    assert (everything.pieces, everything.worth) == (sum(int(row["on hand"] or 0) for row in rows), worth)


def test_an_address_that_means_nothing_shows_the_first_page(demo: Path) -> None:
    with opened(demo) as (client, _):
        for query in ("page=0", "page=99999", "page=-1", "page=x", "sort=nothing&down=yes", f"q={'x' * 5000}"):
            assert client.get(f"/shelf?{query}").status_code == 200
        assert client.get("/shelf/item?row=nothing").status_code == 404
        assert client.get("/shelf/item?line=1").status_code == 404


def test_stock_that_several_sets_share_is_shown_with_each(demo: Path, on_demo: Desk) -> None:
    catalog = build_catalog(read_shop(demo, photo_facts=demo_photos())[0])
    things = {thing.code: thing for thing in shown_on(on_demo, Asked()).things}
    for code, thing in things.items():
        assert [facts.code for facts in thing.sets] == [
            facts.code for facts in catalog.sets if any(item.code == code for item in facts.items)
        ]
    code = next(code for code, thing in things.items() if len(thing.sets) > 1)
    with opened(demo) as (client, _):
        said = text(client.get(f"/shelf/item?row={code}").text)
    for facts in things[code].sets:
        assert facts.name in said
        assert facts.can_make is None or str(facts.can_make) in said


def test_a_count_is_saved_at_once_and_taken_back_to_the_same_bytes(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    before, code = (shop / "items.csv").read_bytes(), sheet(shop)[0]["code"]
    with opened(shop) as (client, desk):
        page = client.post(
            "/shelf/item", data=form(desk, row=code, at="sort=cost", **{"cell/on_hand": "7"}, **items_shown(shop))
        )
        assert page.url.path == "/shelf"
        assert "sort=cost" in str(page.url)
        after = sheet(shop)
        assert after[0]["on hand"] == "7"
        assert after[1:] == list(csv.DictReader(io.StringIO(before.decode())))[1:]
        number, here = (
            page.text.partition(f'name="{name}" value="')[2].partition('"')[0] for name in ("change", "here")
        )
        back = client.post("/past/back", data=form(desk, change=number, here=here))
        assert back.status_code == 200
        assert (back.url.path, back.url.params["sort"]) == ("/shelf", "cost")
    assert (shop / "items.csv").read_bytes() == before


@pytest.mark.parametrize(
    ("typed", "price"),
    [
        ("+1.50", "9.00"),
        ("-0.20", "7.30"),
        ("\u2212 0.20", "7.30"),
        ("+5 %", "7.88"),
        ("-10%", "6.75"),
        ("+1,50", "9.00"),
    ],
)
def test_a_sum_with_a_sign_is_so_much_more_or_less_and_shown_as_that_first(
    demo: Path, tmp_path: Path, typed: str, price: str
) -> None:
    shop = shutil.copytree(demo, tmp_path / "shop")
    before = (shop / "items.csv").read_bytes()
    with opened(shop) as (client, desk):
        page = client.post("/shelf/item", data=form(desk, row="OH-B01", **{"cell/retail": typed}, **items_shown(shop)))
        assert f"Price: 7.50 → {price}" in text(page.text)
        assert say("follows.typed", typed=typed) in text(page.text)
        assert f'name="cell/retail" value="{price}"' in page.text
        assert (shop / "items.csv").read_bytes() == before


@pytest.mark.parametrize("typed", ["-8.00", "+x", "+1.505", "+1,500"])
def test_a_sum_that_cannot_be_added_is_asked_about_at_its_field(demo: Path, tmp_path: Path, typed: str) -> None:
    shop = shutil.copytree(demo, tmp_path / "shop")
    with opened(shop) as (client, desk):
        page = client.post("/shelf/item", data=form(desk, row="OH-B01", **{"cell/retail": typed}, **items_shown(shop)))
        assert page.status_code == 422
        assert re.search(rf'id="retail"[^>]*value="{re.escape(typed)}"[^>]*aria-invalid', page.text)
        new = {"cell/code": "OH-N1", "cell/name": "New", "cell/retail": "+1.50"}
        page = client.post("/shelf/new", data=form(desk, **new, **items_shown(shop)))
        assert say("follows.whole_price") in text(page.text)


def test_what_is_kept_is_shown_without_places_too_and_where_the_least_stays(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    for file in (shop / "channels").glob("*.toml"):
        file.unlink()
    with opened(shop) as (client, desk):
        said = save(client, desk, shop, "RR-J1", retail="13.50")
        # from the sheet: 6.50 + 9.00 + 1.00; and what both cost with their box, as the page of the set has it
        assert say("follows.by_hand") in said
        facts = desk.shop_state.look().catalog.sets[0]
        costs = {each.prices.price.amount - each.full_cost.amount for each in facts.variants}
        assert f"{min(costs)}" in said


def test_nothing_is_written_before_she_has_seen_what_follows_from_a_price(demo: Path, tmp_path: Path) -> None:
    shop = shutil.copytree(demo, tmp_path / "shop")
    before = (shop / "items.csv").read_bytes()
    with opened(shop) as (client, desk):
        page = client.post("/shelf/item", data=form(desk, row="OH-B01", **{"cell/retail": "8.00"}, **items_shown(shop)))
        assert (shop / "items.csv").read_bytes() == before
        assert say("follows.title") in page.text
        fields = dict(
            re.findall(
                r'<input type="hidden" name="([^"]*)" value="([^"]*)">',
                page.text.partition('<form class="closing"')[2].partition("</form>")[2],
            )
        )
        promised = {
            code: unescape(price)
            for code, price in re.findall(
                r'<span class="code">(OHS-[^<]*)</span></th>\s*<td>[^<]*→ <strong>([^<]*)</strong>', page.text
            )
        }
        client.post("/shelf/item", data=form(desk, **{**fields, "sure": "yes"}))
    assert {row["code"]: row["retail"] for row in sheet(shop)}["OH-B01"] == "8.00"
    now = build_catalog(read_shop(shop, photo_facts=demo_photos())[0])
    was = {facts.code: facts for facts in build_catalog(read_shop(demo, photo_facts=demo_photos())[0]).sets}
    assert promised
    assert set(promised) == {
        facts.code
        for facts in now.sets
        if (facts.cheapest, facts.dearest) != (was[facts.code].cheapest, was[facts.code].dearest)
    }
    for facts in now.sets:
        if facts.code in promised:
            shown = set_json(facts, facts.variants, now)  # what listkit show --json prints
            prices = sorted({Decimal(each["price"]) for each in shown["variants"]})
            assert [Decimal(each) for each in re.findall(r"[\d.]+", promised[facts.code])] == [
                prices[0], *prices[-1:][: len(prices) - 1]
            ]  # fmt: skip


def test_what_is_kept_of_each_set_is_as_it_is_once_saved(demo: Path, tmp_path: Path) -> None:
    catalog = build_catalog(read_shop(demo, photo_facts=demo_photos())[0])
    item = next(item for item in catalog.shop.items if item.code == "OH-B01")
    cheap = item.cost * Decimal(2)
    found = follows(list_catalog(catalog, DAY), item.model_copy(update={"cost": cheap}))
    assert found is not None
    shop = shutil.copytree(demo, tmp_path / "shop")
    file = shop / "items.csv"
    file.write_text(
        file.read_text(encoding="utf-8").replace(f",{item.cost.amount},", f",{cheap.amount},", 1), encoding="utf-8"
    )
    now = build_catalog(read_shop(shop, photo_facts=demo_photos())[0])
    sets = {facts.code: facts for facts in now.sets}
    checked = 0
    for then in found.sets:
        for channel in now.shop.channels:
            pair = dict(then.kept).get(channel.name)
            if pair is not None and then.code in sets:
                least = min(sale_on(channel, each, sets[then.code], now.shop).kept.amount
                            for each in sets[then.code].variants)  # fmt: skip
                assert f"{least:.2f}" in pair[1]
                checked += 1
    assert checked


@pytest.mark.parametrize(
    ("field", "value"),
    [("retail", "a lot"), ("on_hand", "-3"), ("weight", "heavy"), ("status", "sold"), ("shelf_life", "soon")],
)
def test_a_wrong_value_stays_on_the_page_beside_its_message(tmp_path: Path, field: str, value: str) -> None:
    shop = clean_shop(tmp_path / "shop")
    before, code = (shop / "items.csv").read_bytes(), sheet(shop)[0]["code"]
    with opened(shop) as (client, desk):
        page = client.post("/shelf/item", data=form(desk, row=code, **{f"cell/{field}": value}, **items_shown(shop)))
        assert page.status_code == 422
        at = page.text.partition(f'name="cell/{field}"')[2].partition('<div class="field')[0]
        assert value in at.partition("</div>")[0]
        assert 'class="fault"' in at
    assert (shop / "items.csv").read_bytes() == before


def test_a_sheet_that_was_changed_meanwhile_is_not_overwritten(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    code = sheet(shop)[0]["code"]
    with opened(shop) as (client, desk):
        fields = items_shown(shop)
        file = shop / "items.csv"
        theirs = file.read_text(encoding="utf-8").replace(",yes", ",no", 1) + "\n"
        file.write_text(theirs, encoding="utf-8")
        page = client.post("/shelf/item", data=form(desk, row=code, **{"cell/retail": "99.00"}, **fields))
        assert page.status_code == 409
        assert "99.00" in text(page.text)
        assert file.read_text(encoding="utf-8") == theirs


def test_a_price_in_a_workbook_is_changed_in_its_cell_alone(tmp_path: Path) -> None:
    shop = in_a_workbook(clean_shop(tmp_path / "shop"))
    file = shop / "items.xlsx"
    before = [[cell.value for cell in row] for row in openpyxl.load_workbook(file).active.rows]
    code = str(before[1][0])
    retail = before[0].index("retail")
    with opened(shop) as (client, desk):
        shown = items_shown(shop, "items.xlsx")
        asked = client.post("/shelf/item", data=form(desk, row=code, **{"cell/retail": "8.25"}, **shown))
        assert say("follows.title") in asked.text
        page = client.post("/shelf/item", data=form(desk, row=code, sure="yes", **{"cell/retail": "8.25"}, **shown))
        assert page.status_code == 200, text(page.text)
    after = [[cell.value for cell in row] for row in openpyxl.load_workbook(file).active.rows]
    assert after[1][retail] == 8.25
    before[1][retail] = 8.25
    assert after == before


def test_an_opendocument_sheet_is_shown_and_only_read(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    rows = list(csv.reader(io.StringIO((shop / "items.csv").read_text(encoding="utf-8"))))
    (shop / "items.csv").unlink()
    content = ods("".join(ods_row(row) for row in rows))
    (shop / "items.ods").write_bytes(content)
    with opened(shop) as (client, desk):
        page = client.get("/shelf").text
        assert say("shelf.read_only", file="items.ods") in unescape(page)
        assert 'class="cell"' not in page
        assert rows[1][1] in unescape(page)
        fields = {"cell/on_hand": "1", **items_shown(shop, "items.ods")}
        answer = client.post("/shelf/item", data=form(desk, row=rows[1][0], **fields))
        assert answer.status_code == 422
        assert "can only be read here" in text(answer.text)
        assert '<input type="text"' not in answer.text
    assert (shop / "items.ods").read_bytes() == content


def test_a_row_is_added_and_a_code_that_is_there_is_told(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    first = sheet(shop)[0]
    with opened(shop) as (client, desk):
        like = client.get(f"/shelf/new?like={first['code']}").text
        assert f'value="{first["retail"]}"' in like
        cells = {"cell/code": "NEW-1", "cell/name": "Oat & Honey", "cell/retail": "6.00", "cell/cost": "1.50",
                 "cell/weight": "100 g", "cell/size": "80 x 55 x 25 mm"}  # fmt: skip
        page = client.post("/shelf/new", data=form(desk, **cells, **items_shown(shop)))
        assert page.status_code == 200, text(page.text)
        assert say("item.added", name="Oat & Honey") in unescape(page.text)
        row = sheet(shop)[-1]
        assert (row["code"], row["name"], row["retail"]) == ("NEW-1", "Oat & Honey", "6.00")
        assert "NEW-1" in {item.code for item in desk.shop_state.look().opened.shop.items}
        before = (shop / "items.csv").read_bytes()
        again = client.post("/shelf/new", data=form(desk, **cells, **items_shown(shop)))
        assert again.status_code == 422
        assert 'value="Oat &amp; Honey"' in again.text
        none = client.post("/shelf/new", data=form(desk, **{**cells, "cell/code": ""}, **items_shown(shop)))
        assert say("item.code_missing") in text(none.text)
        assert (shop / "items.csv").read_bytes() == before


def test_an_item_is_closed_once_she_has_seen_what_follows(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    code = sheet(shop)[0]["code"]
    with opened(shop) as (client, desk):
        assert say("follows.title") in save(client, desk, shop, code, status="closed")
        fields = {"cell/status": "closed", "sure": "yes", **items_shown(shop)}
        client.post("/shelf/item", data=form(desk, row=code, **fields))
        assert code in client.get("/shelf?status=closed").text
    assert sheet(shop)[0]["status"] == "closed"


def test_a_code_is_changed_in_every_file_that_names_it_and_taken_back(demo: Path, tmp_path: Path) -> None:
    shop = shutil.copytree(demo, tmp_path / "shop")
    files = {path: path.read_bytes() for path in shop.rglob("*") if path.suffix in (".csv", ".toml", ".md")}
    naming = {path for path, content in files.items() if re.search(rb"\bOH-B01\b", content) and path.name != "story.md"}
    with opened(shop) as (client, desk):
        shown = text(client.get("/rename?old=OH-B01&new=OH-B77").text)
        assert {path: path.read_bytes() for path in files} == files
        for path in naming:
            assert path.relative_to(shop).as_posix() in shown
        page = client.post("/rename", data=form(desk, old="OH-B01", new="OH-B77"))
        assert page.status_code == 200, text(page.text)
        assert {path for path in files if path.read_bytes() != files[path]} >= naming
        assert {item.code for item in desk.shop_state.look().opened.shop.items} & {"OH-B01", "OH-B77"} == {"OH-B77"}
        number = page.text.partition('name="change" value="')[2].partition('"')[0]
        client.post("/past/back", data=form(desk, change=number, here="/shelf"))
        assert {path: path.read_bytes() for path in files} == files
        taken = client.get("/rename?old=OH-B01&new=OH-B02")
        assert taken.status_code == 422
        assert 'value="OH-B02"' in taken.text


def test_each_box_is_shown_with_the_sets_in_it_and_a_picture(demo: Path) -> None:
    catalog = build_catalog(read_shop(demo, photo_facts=demo_photos())[0])
    with opened(demo) as (client, _):
        page, others = client.get("/shelf/boxes").text, set[str]()
        for box in catalog.shop.packaging.boxes:
            part = page.partition(say("boxes.box", code=box.code))[2].partition('<div class="grid">')[0]
            inside, beside = (
                [unescape(name) for name in re.findall(r'<a href="/sets/[^"]*">([^<]*)</a>', each)]
                for each in part.partition(say("boxes.would_fit"))[::2]
            )
            assert inside == [facts.name for facts in catalog.sets if box in facts.boxes]
            assert beside == [
                facts.name
                for facts in catalog.sets
                if box not in facts.boxes
                and box.code in {each["code"] for each in boxes_json(facts, facts.variants, catalog) if each["fits"]}
            ]
            others.update(beside)
        assert others, "some set of the demo would go into another box too"
        pictures = re.findall(r'<img src="([^"]*)"', page)
        assert pictures
        for address in pictures:
            assert client.get(unescape(address)).headers["content-type"] == "image/jpeg"


def test_boxes_are_changed_added_and_taken_away_in_their_file(demo: Path, tmp_path: Path) -> None:
    shop = shutil.copytree(demo, tmp_path / "shop")
    file = shop / "packaging.toml"
    before = tomllib.loads(file.read_text(encoding="utf-8"))
    with opened(shop) as (client, desk):
        client.post(
            "/shelf/boxes", data=form(desk, **{"box/1/cost": "1.05", "box/1/fill/cost": "0.12"}, **boxes_shown(shop))
        )
        after = tomllib.loads(file.read_text(encoding="utf-8"))
        assert (after["box"][1].pop("cost"), after["box"][1]["fill"].pop("cost")) == ("1.05", "0.12")
        del before["box"][1]["cost"], before["box"][1]["fill"]["cost"]
        assert after == before
        new = {"box/4/code": "XL", "box/4/inside": "300 x 220 x 80 mm", "box/4/weight": "180 g", "box/4/cost": "2.40",
               "box/4/fill/weight": "30 g", "box/4/fill/cost": "0.30"}  # fmt: skip
        wrong = client.post(
            "/shelf/boxes", data=form(desk, do="add box", **{**new, "box/4/cost": "much"}, **boxes_shown(shop))
        )
        assert wrong.status_code == 422
        assert 'value="much"' in wrong.text
        client.post("/shelf/boxes", data=form(desk, do="add box", **new, **boxes_shown(shop)))
        added = tomllib.loads(file.read_text(encoding="utf-8"))["box"][4]
        assert added["code"] == "XL"
        assert added["fill"]["weight"] == "30 g"
        assert desk.shop_state.look().opened.shop.packaging.boxes[4].code == "XL"
        client.post("/shelf/boxes", data=form(desk, do="take box/4", **boxes_shown(shop)))
        assert len(tomllib.loads(file.read_text(encoding="utf-8"))["box"]) == 4
        used = client.post("/shelf/boxes", data=form(desk, do="take box/1", **boxes_shown(shop)))
        assert used.status_code == 409
        assert len(tomllib.loads(file.read_text(encoding="utf-8"))["box"]) == 4


def test_a_box_that_a_set_with_a_fault_names_is_not_taken_away(tmp_path: Path) -> None:
    shop = small_demo(tmp_path / "shop")
    packaging, file = shop / "packaging.toml", shop / "sets/pocket-hive/set.toml"
    vast = '\n[[box]]\ncode = "XL"\ninside = "900 x 900 x 900 mm"\nweight = "180 g"\ncost = "2.40"\n'
    packaging.write_text(packaging.read_text(encoding="utf-8") + vast, encoding="utf-8")
    text_now = file.read_text(encoding="utf-8").replace('box = "P"', 'box = "XL"')
    (shop / "sets/begun").mkdir()
    with opened(shop) as (client, desk):
        for content in ("name = [", re.sub(r'(?m)^item = ".*"', 'item = "nothing"', text_now)):
            file.write_text(content, encoding="utf-8")
            assert "OHS-6" not in [each.code for each in desk.shop_state.look().catalog.sets]
            client.post("/shelf/boxes", data=form(desk, do="take box/4", **boxes_shown(shop)))
            assert 'code = "XL"' in packaging.read_text(encoding="utf-8")
        file.write_text(text_now.replace('box = "XL"', 'box = "P"'), encoding="utf-8")
        client.post("/shelf/boxes", data=form(desk, do="take box/4", **boxes_shown(shop)))
        assert 'code = "XL"' not in packaging.read_text(encoding="utf-8")


def test_a_shop_whose_every_text_is_markup_shows_it_as_text(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    rows = list(csv.reader(io.StringIO((shop / "items.csv").read_text(encoding="utf-8"))))
    target = io.StringIO(newline="")
    csv.writer(target).writerows([rows[0], *([EVIL] * len(rows[0]) for _ in rows[1:])])
    (shop / "items.csv").write_text(target.getvalue(), encoding="utf-8")
    (shop / "packaging.toml").write_text(f"[[box]]\ncode = '{EVIL}'\ninside = '{EVIL}'\n", encoding="utf-8")
    with opened(shop) as (client, desk):
        for path in ("/shelf", "/shelf/item?line=2", "/shelf/new", "/shelf/boxes", f"/shelf?q={EVIL}&form={EVIL}"):
            page = client.get(path)
            assert page.status_code == 200, path
            assert "<script>window" not in page.text
        for path in (f"/rename?old={EVIL}&new={EVIL}", f"/shelf/item?row={EVIL}"):
            assert "<script>window" not in client.get(path).text
        fields = {"line": "2", "cell/retail": EVIL + "2", "cell/name": EVIL + "3", **items_shown(shop)}
        assert "<script>window" not in client.post("/shelf/item", data=form(desk, **fields)).text
        assert "<script>window" not in client.post("/shelf/new", data=form(desk, **{"cell/code": EVIL})).text


# Many items


def many(shop: Path, count: int) -> Path:
    """Give a shop's sheet so many rows in all, like its first."""
    rows = list(csv.reader(io.StringIO((shop / "items.csv").read_text(encoding="utf-8"))))
    code, gtin = rows[0].index("code"), rows[0].index("gtin") if "gtin" in rows[0] else None
    for number in range(count - len(rows) + 1):
        row = list(rows[1])
        row[code] = f"ZZ-{number:05}"
        if gtin is not None:
            row[gtin] = ""
        rows.append(row)
    target = io.StringIO(newline="")
    csv.writer(target).writerows(rows)
    (shop / "items.csv").write_text(target.getvalue(), encoding="utf-8")
    return shop


def test_a_page_of_five_thousand_items_is_as_large_as_one_of_a_thousand(tmp_path: Path) -> None:
    sizes = {}
    for count in (1_000, 5_000):
        with opened(many(clean_shop(tmp_path / str(count)), count)) as (client, _):
            page = client.get("/shelf").text
            assert page.count("<tr id=") == PAGE
            assert say("shelf.page", page=1, pages=count // PAGE) in page
            last = client.get(f"/shelf?page={count // PAGE}").text
            assert last.count("<tr id=") == PAGE
            sizes[count] = len(page.encode())
    assert sizes[5_000] <= sizes[1_000] * 1.01
    assert sizes[5_000] <= 600_000


def test_the_steps_of_a_page_grow_with_its_rows_and_hardly_with_the_sheet(tmp_path: Path) -> None:
    """Calls of Python functions, which no other work on the machine changes: at most ten a row of the sheet."""
    shop = many(clean_shop(tmp_path / "shop"), 5_000)
    desk = new_desk(shop)
    seen = desk.shop_state.look()
    lines = lines_of("items.csv", (shop / "items.csv").read_bytes(), look(shop).form(TARGET.role))
    for asked in (Asked(), Asked(q="zz", page=9), Asked(sort="retail", down="yes")):
        assert len(table(seen, lines, asked, ()).things) == PAGE
        calls = python_calls(partial(table, seen, lines, asked, ()))
        assert calls <= 10 * 5_000, (asked, calls)
    desk.shop_state.end()
