"""Places without a browser: each page, each change down to the file on the disk, figures against the commands' own."""

import csv
import html
import io
import json
import re
import shutil
import sqlite3
import time
import tomllib
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from listkit.actions.learn import field_meanings
from listkit.cli import main
from listkit.desk.edits import Role, Target
from listkit.desk.feed import PAGE, fact_words, facts_by_use
from listkit.desk.field_values import Input
from listkit.desk.fields import form as fields_of
from listkit.desk.page import Desk, say
from listkit.desk.wording import page_words
from listkit.fields import FIELDS
from listkit.ledger.moments import local_time
from listkit.ledger.store import LEDGER, records
from listkit.model.channel import USUAL_BLOCKS, Channel
from listkit.present.compare import differing_words
from listkit.save.out_folder import locked_folder
from tests.cli.published import small_shop
from tests.desk.desks import DAY, form, hidden, opened, sure, text
from tests.desk.test_rooms import shown
from tests.shops import clean_shop, xlsx

TODAY = ["--today", str(DAY)]
DUSK = """code = "RRS-2"
name = "Dusk on the Weir"
theme = "When the mill is quiet again."
box = "S"
contents = [{ item = "RR-B1" }, { item = "RR-M1" }]
"""
WEB = Target(Role.CHANNEL, "web")


class _Form(HTMLParser):
    """Collects what a browser would send of the form that has an id, whichever way its fields belong to it."""

    def __init__(self, wanted: str) -> None:
        super().__init__()
        self.wanted, self.sent = wanted, dict[str, list[str]]()
        self._within, self._select, self._area = False, "", ""
        self._options: list[tuple[str, bool]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "form":
            self._within = given.get("id") == self.wanted
        name, ours = given.get("name", ""), given.get("form", self.wanted if self._within else "") == self.wanted
        if tag == "option" and self._select:
            self._options.append((given.get("value", ""), "selected" in given))
        elif not ours or not name:
            return
        elif tag == "select":
            self._select, self._options = name, []
        elif tag == "textarea":
            self._area = name
            self.sent.setdefault(name, [""])
        elif tag == "input" and (given.get("type") not in ("checkbox", "radio", "file") or "checked" in given):
            self.sent.setdefault(name, []).append(given.get("value", ""))

    def handle_data(self, data: str) -> None:
        if self._area:
            self.sent[self._area][-1] += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._within = False
        elif tag == "textarea" and self._area:
            self.sent[self._area][-1] = self.sent[self._area][-1].removeprefix("\n")
            self._area = ""
        elif tag == "select" and self._select:
            chosen = [value for value, is_chosen in self._options if is_chosen]
            self.sent[self._select] = chosen[:1] or [self._options[0][0]]
            self._select = ""


def sent_of(page: str, wanted: str = "fields") -> dict[str, list[str]]:
    """Return what a browser would send of a form as it stands on the page."""
    parser = _Form(wanted)
    parser.feed(page)
    return parser.sent


@contextmanager
def desk_of(shop: Path) -> Iterator[tuple[TestClient, Desk]]:
    """Yield a client of a desk whose shop is checked already."""
    with opened(shop) as (client, desk):
        ready(desk)
        yield client, desk


def ready(desk: Desk) -> None:
    assert desk.state is not None
    desk.state.look(measured=True)
    assert desk.state.full(wait=60) is not None


def run(command: str, shop: Path, *given: str) -> int:
    days = TODAY if command in ("build", "record", "changes", "compare") else []
    return main([command, *given, "--shop", str(shop), *days])


def asked(capsys: pytest.CaptureFixture[str], command: str, shop: Path, *given: str) -> Any:
    """Return what a command says to a script."""
    capsys.readouterr()
    run(command, shop, *given, "--json")
    return json.loads(capsys.readouterr().out)


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    shop = small_shop(tmp_path_factory.mktemp("built") / "shop")
    dusk = shop / "sets/dusk"
    dusk.mkdir()
    (dusk / "set.toml").write_text(DUSK, encoding="utf-8")
    (dusk / "story.md").write_text("Two small things for the evening, made on the river.\n", encoding="utf-8")
    assert run("build", shop) == 0
    return shop


@pytest.fixture
def shop(built: Path, tmp_path: Path) -> Path:
    """A shop with a web shop and a stall, built and never published."""
    return Path(shutil.copytree(built, tmp_path / "shop"))


def channel_toml(shop: Path, key: str = "web") -> dict[str, Any]:
    return tomllib.loads((shop / f"channels/{key}.toml").read_text(encoding="utf-8"))


# One place


def test_every_key_of_a_place_is_a_field_of_its_pages(shop: Path) -> None:
    file = shop / "channels/web.toml"
    file.write_text(
        file.read_text(encoding="utf-8").replace('text = "html"', 'text = "html"\n[singles]\n[unit_price]\n')
        .replace('name = "Own web shop"', 'name = "Own web shop"', 1), encoding="utf-8",
    )  # fmt: skip
    with desk_of(shop) as (client, _):
        pages = client.get("/place/web").text + client.get("/place/web/columns").text
    names = {html.unescape(name) for name in re.findall(r'name="([^"]*)"', pages)}
    document = channel_toml(shop)
    walked = [each for each in fields_of(Channel, document).every() if each.kind not in (Input.TABLE, Input.TABLES)]
    assert len(walked) > 80
    assert [each.name for each in walked if each.name not in names] == []


@pytest.mark.parametrize("path", ["/place/web", "/place/web/columns", "/place/stall"])
def test_a_page_sent_back_as_it_is_changes_nothing(shop: Path, path: str) -> None:
    before = {file: file.read_bytes() for file in (shop / "channels").iterdir()}
    with desk_of(shop) as (client, _):
        sent = sent_of(client.get(path).text)
        assert len(sent) > 10
        answer = client.post(path if path.endswith("columns") else f"{path}/change", data=sent)
        assert answer.status_code == 200
        assert say("one.same") in text(answer.text)
    assert {file: file.read_bytes() for file in (shop / "channels").iterdir()} == before


def test_what_a_place_takes_is_ticked_and_all_of_it_is_no_list(shop: Path) -> None:
    before = (shop / "channels/web.toml").read_bytes()
    with desk_of(shop) as (client, _):
        sent = sent_of(client.get("/place/web").text)
        assert sent["sets"] == sent["every_set"], "all are ticked where the file says nothing"
        codes = sent["sets"]
        client.post(
            "/place/web/change", data={**sent, "sets": codes[1:], "make": ["feed"], "leave_out": ["", "RR-B1 RR-J2"]}
        )
        assert channel_toml(shop)["sets"] == codes[1:]
        assert channel_toml(shop)["make"] == ["feed"]
        assert channel_toml(shop)["leave_out"] == ["RR-B1", "RR-J2"]
        again = sent_of(client.get("/place/web").text)
        assert again["sets"] == codes[1:]
        assert again["leave_out"] == ["RR-B1", "RR-J2", ""]
        del again["leave_out"]
        client.post("/place/web/change", data={**again, "sets": codes, "make": ["feed", "listings"]})
        assert (shop / "channels/web.toml").read_bytes() == before
        none = {name: values for name, values in again.items() if name != "sets"}
        none |= {
            name: value for name, value in sent_of(client.get("/place/web").text).items() if name.startswith("shown/")
        }
        refused = client.post("/place/web/change", data=none)
        assert refused.status_code == 422
        assert say("place.tick.sets") in text(refused.text)
        assert (shop / "channels/web.toml").read_bytes() == before


def test_blocks_of_a_text_are_ticked_and_put_in_order(shop: Path) -> None:
    with desk_of(shop) as (client, _):
        sent = sent_of(client.get("/place/web").text)
        assert tuple(sent["blocks"]) == USUAL_BLOCKS
        client.post("/place/web/change", data={**sent, "do": "down blocks opening"})
        wanted = [USUAL_BLOCKS[1], USUAL_BLOCKS[0], *USUAL_BLOCKS[2:]]
        assert channel_toml(shop)["blocks"] == wanted
        sent = sent_of(client.get("/place/web").text)
        assert sent["blocks"] == wanted
        bare = {name: values for name, values in sent.items() if name != "blocks"}
        refused = client.post("/place/web/change", data=bare)
        assert refused.status_code == 422
        assert say("place.tick.blocks") in text(refused.text)
        client.post("/place/web/change", data={**sent, "blocks": wanted[:-3], "if_long": ["care", "story"]})
        assert channel_toml(shop)["blocks"] == wanted[:-3]
        assert channel_toml(shop)["if_long"] == ["care", "story"]


@pytest.mark.parametrize(
    ("how", "wanted"),
    [("all", {}), ("none", {"items": []}), ("chosen", {"items": ["RR-B1"]}), ("shop", None)],
)
def test_items_listed_alone_are_chosen(shop: Path, how: str, wanted: object) -> None:
    with desk_of(shop) as (client, _):
        sent = sent_of(client.get("/place/web").text)
        client.post("/place/web/change", data={**sent, "singles/how": how, "singles/items": ["RR-B1"]})
        assert channel_toml(shop).get("singles") == wanted
        assert sent_of(client.get("/place/web").text)["singles/how"] == [how]


def test_a_wrong_value_stays_on_the_page_and_nothing_is_written(shop: Path) -> None:
    before = (shop / "channels/web.toml").read_bytes()
    with desk_of(shop) as (client, _):
        sent = sent_of(client.get("/place/web").text)
        answer = client.post("/place/web/change", data={**sent, "fee": ["much"], "name": ["Another"]})
        assert answer.status_code == 422
        assert sent_of(answer.text)["fee"] == ["much"]
        assert sent_of(answer.text)["name"] == ["Another"]
    assert (shop / "channels/web.toml").read_bytes() == before


def test_pictures_are_added_ordered_and_taken_out(shop: Path) -> None:
    with desk_of(shop) as (client, _):
        for at, name in enumerate(("square", "wide")):
            sent = sent_of(client.get("/place/web").text)
            new = {f"crop/{at}/name": [name], f"crop/{at}/ratio": ["1:1"], f"crop/{at}/width": ["600"]}
            assert client.post("/place/web/change", data={**sent, **new, "do": "add crop 0"}).status_code == 200
        assert [crop["name"] for crop in channel_toml(shop)["crop"]] == ["square", "wide"]
        sent = sent_of(client.get("/place/web").text)
        client.post("/place/web/change", data={**sent, "do": "move crop 1 0"})
        assert [crop["name"] for crop in channel_toml(shop)["crop"]] == ["wide", "square"]
        sent = sent_of(client.get("/place/web").text)
        client.post("/place/web/change", data={**sent, "do": "take crop/0"})
        assert [crop["name"] for crop in channel_toml(shop)["crop"]] == ["square"]


def test_photos_that_are_ticked_and_cut_by_nothing_are_told_beside_the_tick(shop: Path) -> None:
    with desk_of(shop) as (client, _):
        page = client.get("/place/web").text
        assert say("place.uncut") not in page
        sent = sent_of(page)
        client.post("/place/web/change", data={**sent, "make": [*sent["make"], "photos"]})
        page = client.get("/place/web").text
        assert say("place.uncut") in page
        client.post("/place/web/change", data={**sent_of(page), "do": "crop"})
        assert channel_toml(shop)["crop"] == [{"name": "square", "ratio": "1:1", "width": 1200}]
        assert say("place.uncut") not in client.get("/place/web").text


def test_a_place_whose_file_is_no_toml_is_told_and_the_others_stay(shop: Path) -> None:
    (shop / "channels/web.toml").write_text("name = [", encoding="utf-8")
    with desk_of(shop) as (client, _):
        assert "Market stall" in client.get("/places").text
        page = client.get("/place/web")
        assert page.status_code == 200
        assert "channels/web.toml cannot be read" in text(page.text)


# Its table and its columns


def feed_rows(shop: Path) -> list[list[str]]:
    return list(csv.reader(io.StringIO((shop / "out/web/feed.csv").read_text(encoding="utf-8"), newline="")))


def table_of(page: str) -> list[list[str]]:
    """Return the rows of a page's table, as cells that are not opened."""
    body = page.partition("<tbody>")[2].partition("</tbody>")[0]
    rows = []
    for row in body.split("<tr>")[1:]:
        cells = [
            re.sub(r"<summary>.*?</summary>|<p class=\"says-must\">.*?</p>", "", cell)
            for cell in re.findall(r"<td.*?</td>", row, re.DOTALL)
        ]
        rows.append([html.unescape(re.sub(r"<[^>]*>", "", cell)) for cell in cells])
    return rows


def test_the_table_has_the_rows_that_a_build_writes(shop: Path) -> None:
    with desk_of(shop) as (client, _):
        page = client.get("/place/web/feed").text
    headings, *rows = feed_rows(shop)
    assert [html.unescape(each) for each in re.findall(r'<th scope="col">([^<]*)</th>', page)] == headings
    assert table_of(page) == rows


def many_options(shop: Path, count: int) -> None:
    """Give a set so many variants, and the shop the items for them."""
    sheet = shop / "items.csv"
    rows = [
        f"Q{at},Clover {at},body butter,100 ml,9.00,2.10,180,70 x 70 x 60,25,external-use;avoid-eyes,,yes"
        for at in range(count)
    ]
    sheet.write_text(sheet.read_text(encoding="utf-8").rstrip("\n") + "\n" + "\n".join(rows) + "\n", encoding="utf-8")
    options = ", ".join(f'"Q{at}"' for at in range(count))
    folder = shop / "sets/many"
    folder.mkdir()
    (folder / "set.toml").write_text(
        'code = "MANY"\nname = "Many"\ntheme = "One of many butters."\nbox = "none"\n'
        f'contents = [{{ slot = "Jar", choose = [{options}] }}]\n',
        encoding="utf-8",
    )
    (folder / "story.md").write_text("One of many butters, made in small pans.\n", encoding="utf-8")


def test_a_long_table_comes_in_pages_of_two_hundred(tmp_path: Path) -> None:
    shop = small_shop(tmp_path / "shop")
    many_options(shop, 450)
    with desk_of(shop) as (client, desk):
        state = desk.shop_state
        full = state.full()
        assert full is not None
        assert full.checked is not None
        count = sum(len(each.offers) for each in full.checked.listings_of("web"))
        assert count > 450
        pages = [table_of(client.get(f"/place/web/feed?page={number}").text) for number in (1, 2, 3)]
        assert [len(page) for page in pages] == [PAGE, PAGE, count - 2 * PAGE]
        assert table_of(client.get("/place/web/feed?page=99").text) == pages[2], "past the end is the last"
        run("build", shop)
        assert [row for page in pages for row in page] == feed_rows(shop)[1:]


def test_the_table_says_why_marks_are_in_its_texts_and_why_stock_is_0(shop: Path) -> None:
    with desk_of(shop) as (client, _):
        plain = text(client.get("/place/stall/feed").text)
        assert say("feed.has_marks") not in plain
        assert "In stock 0" not in plain
    web = shop / "channels/web.toml"
    described = '\n[[column]]\nheading = "Text"\nvalue = "description"\n'
    web.write_text(web.read_text(encoding="utf-8").replace("[[file]]", f"{described}\n[[file]]"), encoding="utf-8")
    with desk_of(shop) as (client, _):
        said = text(client.get("/place/web/feed").text)
        assert say("feed.has_marks") in said
        assert say("feed.out_of_season", sets="Dawn on the Weir") in said


def test_a_problem_stands_at_its_cell_in_the_words_of_the_check(shop: Path) -> None:
    file = shop / "channels/web.toml"
    file.write_text(
        file.read_text(encoding="utf-8").replace('value = "name"', 'value = "name"\nlongest = 12'), encoding="utf-8"
    )
    with desk_of(shop) as (client, desk):
        page = client.get("/place/web/feed").text
        full = desk.shop_state.full()
        assert full is not None
        told = next(each for each in full.problems if each.code == "cell-long")
    wrong = re.findall(r'<td class="wrong">(.*?)</td>', page, re.DOTALL)
    rows = feed_rows(shop)[1:]
    assert len(wrong) == sum(len(row[1]) > 12 for row in rows)
    first = text(wrong[0])
    assert told.hint in first
    assert told.message.partition(": ")[2].partition(" over 12.")[0].partition(", ")[2] in first


def test_a_column_is_shown_with_three_rows_as_it_is_typed(shop: Path) -> None:
    rows = feed_rows(shop)[1:]
    with desk_of(shop) as (client, desk):
        page = client.get("/place/web/columns").text
        cells = [
            html.unescape(each)
            for each in re.findall(r"<li>([^<]*)</li>", page.partition('id="sample-1"')[2].partition("</div>")[0])
        ]
        assert cells == [row[1] for row in rows[:3]]
        after = client.get("/place/web/columns?from=3").text
        cells = [
            html.unescape(each)
            for each in re.findall(r"<li>([^<]*)</li>", after.partition('id="sample-1"')[2].partition("</div>")[0])
        ]
        assert cells == [row[1] for row in rows[3:6]]
        typed = {"column": "2", "column/2/value": "{{ price | places(0) }} for {{ sku }}"}
        sample = client.post("/place/web/columns/sample", data=form(desk, **typed)).json()
        assert sample["fault"] == ""
        assert [cell.split(" for ")[1] for cell in sample["cells"]] == [row[0] for row in rows[:3]]
        wrong = client.post(
            "/place/web/columns/sample", data=form(desk, **{**typed, "column/2/value": "{{ prise }}"})
        ).json()
        assert wrong["cells"] == []
        assert "prise" in wrong["fault"]
        begun = time.monotonic()
        loops = "".join(f"{{% for {each} in story | words %}}" for each in "abc")
        endless = loops + "{{ story }}" + "{% endfor %}" * 3
        long = client.post("/place/web/columns/sample", data=form(desk, **{**typed, "column/2/value": endless})).json()
        assert long["fault"] or long["cells"]
        assert time.monotonic() - begun < 30
        assert channel_toml(shop)["column"][2]["value"] == "price", "nothing is kept"


@pytest.mark.parametrize("number", ["", "-1", "9", "1" * 5_000, "²", "٣"])
def test_a_column_that_is_not_there_has_no_sample(shop: Path, number: str) -> None:
    with desk_of(shop) as (client, desk):
        answer = client.post("/place/web/columns/sample", data=form(desk, column=number))
        assert answer.json() == {"cells": [], "fault": ""}


def test_a_column_says_in_a_sentence_what_the_place_gets_under_its_heading(shop: Path) -> None:
    rows = feed_rows(shop)
    with desk_of(shop) as (client, desk):
        page = client.get("/place/web/columns").text
        example = say("cols.example", cell=rows[1][2])
        assert say("cols.under", heading="Price", what=say("fact.price"), example=example) in text(page)
        for value, sentence in (
            ("GIFTS", say("cols.under_same", heading="Price", text="GIFTS")),
            ("", say("cols.under_nothing", heading="Price")),
            ("{{ setName }}, {{ price }}", f"{say('fact.setName')}, {say('fact.price')}"),
        ):
            typed = {"column": "2", "column/2/heading": "Price", "column/2/value": value}
            answer = client.post("/place/web/columns/sample", data=form(desk, **typed)).json()
            assert sentence in answer["says"]
            assert answer["heading"] == "Price"


def test_what_a_column_holds_is_chosen_from_words_and_what_is_typed_goes_before(shop: Path) -> None:
    with desk_of(shop) as (client, _):
        sent = sent_of(client.get("/place/web/columns").text)
        assert sent["pick/column/2/value"] == ["price"]
        client.post("/place/web/columns", data={**sent, "pick/column/2/value": ["wholesalePrice"]})
        assert channel_toml(shop)["column"][2]["value"] == "wholesalePrice"
        sent = sent_of(client.get("/place/web/columns").text)
        client.post("/place/web/columns", data={**sent, "column/2/value": ["{{ price }} all in"]})
        assert channel_toml(shop)["column"][2]["value"] == "{{ price }} all in"
        sent = sent_of(client.get("/place/web/columns").text)
        assert sent["pick/column/2/value"] == [""]
        new = {"column/5/heading": ["Kind"], "pick/column/5/value": ["category"]}
        client.post("/place/web/columns", data={**sent, **new, "do": "add column 0"})
        assert channel_toml(shop)["column"][5] == {"heading": "Kind", "value": "category"}


def test_every_fact_has_the_owners_words_and_no_other_word_is_kept() -> None:
    assert list(page_words()["fact"]) == list(FIELDS)
    offered = [name for _, facts in facts_by_use() for name, _ in facts]
    assert sorted(offered) == sorted(name for name, _ in field_meanings())
    assert fact_words("image_3") == say("cols.member", what=say("fact.image"), number="3")
    assert fact_words("price_3") == fact_words("nothing") == ""


def test_columns_are_changed_moved_added_and_taken_out(shop: Path) -> None:
    with desk_of(shop) as (client, _):
        sent = sent_of(client.get("/place/web/columns").text)
        client.post("/place/web/columns", data={**sent, "column/2/heading": ["Cost to you"]})
        assert channel_toml(shop)["column"][2]["heading"] == "Cost to you"
        sent = sent_of(client.get("/place/web/columns").text)
        client.post("/place/web/columns", data={**sent, "do": "move column 2 0"})
        assert channel_toml(shop)["column"][0] == {"heading": "Cost to you", "value": "price", "required": True}
        sent = sent_of(client.get("/place/web/columns").text)
        new = {"column/5/heading": ["Kind"], "column/5/value": ["{{ theme }}"]}
        client.post("/place/web/columns", data={**sent, **new, "do": "add column 0"})
        assert channel_toml(shop)["column"][5] == {"heading": "Kind", "value": "{{ theme }}"}
        sent = sent_of(client.get("/place/web/columns").text)
        looked = client.post("/place/web/columns", data={**sent, "column/1/value": ["{{ nothing }}"], "do": "look"})
        assert "nothing" in text(looked.text.partition('id="sample-1"')[2].partition("</div>")[0])
        assert channel_toml(shop)["column"][2]["value"] == "name"
        sent = sent_of(client.get("/place/web/columns").text)
        client.post("/place/web/columns", data={**sent, "do": "take column/5"})
        assert len(channel_toml(shop)["column"]) == 5


def test_a_place_without_columns_begins_with_ours(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop", {"channels/web.toml": 'name = "Web"\nmake = ["feed"]\n'})
    run("build", shop)
    before = (shop / "out/web/feed.csv").read_bytes()
    with desk_of(shop) as (client, _):
        sent = sent_of(client.get("/place/web/columns").text)
        client.post("/place/web/columns", data={**sent, "do": "begin"})
    run("build", shop)
    assert (shop / "out/web/feed.csv").read_bytes() == before
    assert [each["heading"] for each in channel_toml(shop)["column"]] == feed_rows(shop)[0]


# What goes out, and what it shows


def test_everything_for_a_place_is_one_zip_of_what_was_built(shop: Path) -> None:
    with desk_of(shop) as (client, _):
        answer = client.get("/place/web/zip")
        assert answer.status_code == 200
        assert 'filename="web.zip"' in answer.headers["content-disposition"]
        with zipfile.ZipFile(io.BytesIO(answer.content)) as packed:
            assert packed.testzip() is None
            assert packed.read("feed.csv") == (shop / "out/web/feed.csv").read_bytes()
            assert "what-to-do.txt" in packed.namelist()
        with locked_folder(shop / "out"):
            during = client.get("/place/web/zip")
            assert during.status_code == 409
            assert "build" in text(during.text)


def test_a_zip_of_what_was_not_built_is_told(tmp_path: Path) -> None:
    with desk_of(small_shop(tmp_path / "shop")) as (client, _):
        answer = client.get("/place/web/zip")
        assert answer.status_code == 409
        assert "uild" in text(answer.text)


def test_a_proof_that_somebody_has_changed_is_shown_all_the_same(shop: Path) -> None:
    proof = shop / "out/proof.html"
    with desk_of(shop) as (client, _):
        back = f'<a href="/places">{say("place.back")}</a>'
        assert back in client.get("/made/proof.html").text
        proof.write_bytes(proof.read_bytes().replace(b"<body", b"\xe9<body", 1))
        assert back in client.get("/made/proof.html").text
        with proof.open("ab") as stream:
            stream.truncate(60_000_000)
        large = client.get("/made/proof.html")
        assert large.status_code == 200
        assert back.encode() not in large.content


def test_files_of_before_the_last_change_are_not_handed_out_unsaid(shop: Path) -> None:
    run("record", shop, "web")
    with desk_of(shop) as (client, desk):
        assert say("behind.files") not in text(client.get("/places").text)
        sheet = shop / "items.csv"
        sheet.write_text(sheet.read_text(encoding="utf-8").replace(",9.00,", ",9.50,"), encoding="utf-8")
        ready(desk)
        for path in ("/today", "/places", "/place/web"):
            page = client.get(path).text
            assert say("behind.files") in text(page), path
            assert "/made/web/feed.csv" not in page, path
        assert say("behind.files") in text(client.get("/made/proof.html").text)
        asked_first = client.get("/place/web/zip")
        assert asked_first.status_code == 409
        assert say("behind.why") in text(asked_first.text)
        old = client.get("/place/web/zip?as=built")
        with zipfile.ZipFile(io.BytesIO(old.content)) as packed:
            assert packed.read("feed.csv") == (shop / "out/web/feed.csv").read_bytes()
        assert run("build", shop) == 0
        desk.shop_state.again()
        ready(desk)
        section = client.get("/places").text.partition('id="web"')[2].partition("</section>")[0]
        assert say("behind.files") not in text(section)
        assert 'href="/made/web/feed.csv"' in section
        assert client.get("/place/web/zip").headers["content-type"] == "application/zip"


def test_a_code_that_was_something_else_must_be_looked_at_wherever_changes_are_told(shop: Path) -> None:
    run("record", shop, "web")
    file = shop / "sets/dawn/set.toml"
    parts = '{ item = "RR-J1", part = "J2" }, { item = "RR-J2", part = "J1" }'
    with desk_of(shop) as (client, desk):
        file.write_text(file.read_text(encoding="utf-8").replace('"RR-J1", "RR-J2"', parts, 1), encoding="utf-8")
        ready(desk)
        full = desk.shop_state.full()
        assert full is not None
        (web,) = (each for each in full.changes if each.key == "web")
        was, now = (next(iter(rows["RRS-1-J1"]["choice"])) for rows in (web.old, web.new))
        for path in ("/today", "/places", "/place/web", "/place/web/publish"):
            said = text(client.get(path).text)
            assert say("moved.other_goods", code="RRS-1-J1", was=was, now=now) in said, path


def test_publishing_says_what_is_remembered_and_remembers_that(
    shop: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    twin = Path(shutil.copytree(shop, tmp_path / "twin"))
    with desk_of(shop) as (client, desk):
        page = client.get("/place/web/publish")
        rows = len(feed_rows(shop)) - 1
        assert "<h1>Is Own web shop published?</h1>" in page.text
        assert say("count.rows", count=rows) in text(page.text)
        assert "web/feed.csv" in page.text
        assert not (shop / "ledger.sqlite3").exists(), "nothing is written before she says so"
        sent = {**sent_of(page.text.replace('class="fields"', 'id="fields"')), "note": ["spring prices"]}
        done = client.post("/place/web/publish", data=sent)
        assert done.status_code == 200
        ready(desk)
        assert "spring prices" in text(client.get("/places").text)
    assert run("record", twin, "web", "--note", "spring prices") == 0
    ours, theirs = (sqlite3.connect(folder / "ledger.sqlite3") for folder in (shop, twin))
    tables = [name for (name,) in ours.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")]
    for table in tables:
        rows_of = [sorted(map(repr, each.execute(f'SELECT * FROM "{table}"'))) for each in (ours, theirs)]
        without_time = [[re.sub(r"'\d{4}-\d\d-\d\dT[^']*'", "''", row) for row in rows] for rows in rows_of]
        assert without_time[0] == without_time[1], table
    told = [asked(capsys, "changes", folder)["web"] for folder in (shop, twin)]
    assert [each.pop("record")["number"] for each in told] == [1, 1]
    assert told[0] == told[1]


def test_what_has_moved_since_the_page_was_shown_is_not_remembered(shop: Path) -> None:
    with desk_of(shop) as (client, desk):
        sent = sent_of(client.get("/place/web/publish").text.replace('class="fields"', 'id="fields"'))
        sheet = shop / "items.csv"
        sheet.write_text(sheet.read_text(encoding="utf-8").replace("9.00", "9.50"), encoding="utf-8")
        ready(desk)
        answer = client.post("/place/web/publish", data=sent)
        assert answer.status_code == 409
        assert not (shop / "ledger.sqlite3").exists()


def test_a_ledger_of_a_newer_listkit_is_told_and_stays(shop: Path) -> None:
    run("record", shop, "web")
    with sqlite3.connect(shop / "ledger.sqlite3") as ledger:
        ledger.execute("PRAGMA user_version = 999")
    ledger.close()
    before = (shop / "ledger.sqlite3").read_bytes()
    with desk_of(shop) as (client, desk):
        page = client.get("/place/web/publish")
        assert page.status_code == 409
        assert "newer" in text(page.text)
        assert "newer" in text(client.get("/places").text)
        for path in ("publish", "unpublish"):
            answer = client.post(f"/place/web/{path}", data=form(desk, seal="x"))
            assert answer.status_code == 409
            assert "newer" in text(answer.text)
    assert (shop / "ledger.sqlite3").read_bytes() == before


def test_the_last_time_of_publishing_is_taken_back(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run("record", shop, "web")
    with desk_of(shop) as (client, desk):
        assert say("publish.take_back") in client.get("/place/web/publish").text
        record = re.findall(r'name="record" value="(\d+)"', client.get("/place/web/publish").text)[0]
        client.post("/place/web/unpublish", data=form(desk, record=record))
        ready(desk)
        assert say("publish.take_back") not in client.get("/place/web/publish").text


def export_of(shop: Path, *, dearer: str = "") -> bytes:
    """Return the web shop's table as it gives it out, with the price of one row wrong."""
    lines = (shop / "out/web/feed.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    out = [line.replace(line.split(",")[-3], "99.00") if dearer and line.startswith(dearer) else line for line in lines]
    return "".join(out).encode()


def test_an_export_is_compared_and_the_rows_that_mend_it_are_given_out(
    shop: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    code = feed_rows(shop)[1][0]
    export = export_of(shop, dearer=code)
    assert export != export_of(shop)
    with desk_of(shop) as (client, desk):
        page = client.post("/place/web/compare", data=form(desk), files={"export": ("theirs.csv", export)})
        assert page.status_code == 200
        rows = re.findall(r"<tr><th.*?>(.*?)</th><td>(.*?)</td><td.*?>(.*?)</td><td.*?>(.*?)</td></tr>", page.text)
        (tmp_path / "theirs.csv").write_bytes(export)
        told = asked(capsys, "compare", shop, "web", str(tmp_path / "theirs.csv"))
        assert [tuple(re.sub("<[^>]*>", "", cell) for cell in row) for row in rows] == [
            (each["code"], each["field"], each["ours"], each["theirs"]) for each in told["differences"]
        ]
        assert "<mark>99</mark>" in rows[0][3]
        mended = (shop / "out/web/changes/corrections.csv").read_bytes()
        (shop / "out/web/changes/corrections.csv").unlink()
        seal = re.findall(r'name="seal" value="(\w+)"', page.text)[0]
        given = client.post("/place/web/corrections", data=form(desk, seal=seal))
        assert given.content == mended
        assert "attachment" in given.headers["content-disposition"]
        same = client.post("/place/web/compare", data=form(desk), files={"export": ("same.csv", export_of(shop))})
        assert say("compare.same", count=len(feed_rows(shop)) - 1) in text(same.text)


@pytest.mark.parametrize("name", ["theirs.csv", "../../theirs.csv", "C:\\x\\theirs.csv"])
def test_an_export_of_another_place_is_told_and_kept_nowhere(shop: Path, name: str) -> None:
    fair = 'name = "Fair"\nmake = ["feed"]\n' + "".join(
        f'[[column]]\nheading = "{heading}"\nvalue = "{value}"\n'
        for heading, value in (("Ref", "sku"), ("What", "name"), ("Asks", "price"))
    )
    (shop / "channels/fair.toml").write_text(fair, encoding="utf-8")
    run("build", shop)
    export = (shop / "out/fair/feed.csv").read_bytes()
    with desk_of(shop) as (client, desk):
        before = sorted(path for path in shop.rglob("*") if path.is_file())
        page = client.post("/place/web/compare", data=form(desk), files={"export": (name, export)})
        assert page.status_code == 422
        assert "Fair" in text(page.text)
        assert "theirs.csv: " in text(page.text).casefold()
        for content in (b"", b"\x00\x01", b'sku,price\n"open', b"<html>"):
            bad = client.post("/place/web/compare", data=form(desk), files={"export": (name, content)})
            assert bad.status_code == 422
        assert client.post("/place/web/compare", data=form(desk)).status_code == 422
        assert sorted(path for path in shop.rglob("*") if path.is_file()) == before


def test_long_texts_that_differ_are_marked_without_delay() -> None:
    ours = " ".join(f"word{at}" for at in range(20_000))
    theirs = ours.replace("word1 ", "another ").replace("word19000 ", "other ")
    begun = time.process_time()
    left, right = differing_words(ours, theirs)
    assert time.process_time() - begun < 2
    assert "".join(part for part, _ in left) == ours
    assert "".join(part for part, _ in right) == theirs


# Moves


def test_one_price_shows_what_follows_before_it_is_done_and_is_taken_back(
    shop: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    sheet, twin = shop / "items.csv", Path(shutil.copytree(shop, tmp_path / "twin"))
    before = sheet.read_bytes()
    with desk_of(shop) as (client, desk):
        move = form(desk, way="one", item="RR-J1", price="10.50")
        page = client.post("/places/moves", data=move)
        assert page.status_code == 200
        assert sheet.read_bytes() == before
        told = asked(capsys, "changes", shop, "--set-item", "RR-J1", "retail=10.50")
        prices = [change for change in told["web"]["changed"] if change["field"] == "price"]
        assert prices
        said = text(page.text)
        for change in prices:
            assert change["code"] in said
            assert change["new"] in said
        done = client.post("/places/moves", data={**move, **hidden(page.text), "sure": sure(page.text)})
        assert "10.50" in text(done.text)
        assert run("changes", twin, "--set-item", "RR-J1", "retail=10.50", "--apply") == 0
        assert sheet.read_bytes() == (twin / "items.csv").read_bytes()
        number = done.text.partition('name="change" value="')[2].partition('"')[0]
        client.post("/past/back", data=form(desk, change=number, here="/places"))
        assert sheet.read_bytes() == before


def test_a_share_over_all_prices_is_that_of_the_command(shop: Path, tmp_path: Path) -> None:
    twin = Path(shutil.copytree(shop, tmp_path / "twin"))
    with desk_of(shop) as (client, desk):
        move = form(desk, way="all", share="+5")
        page = client.post("/places/moves", data=move).text
        client.post("/places/moves", data={**move, **hidden(page), "sure": sure(page)})
    assert run("changes", twin, "--all-retail=+5%", "--apply") == 0
    assert (shop / "items.csv").read_bytes() == (twin / "items.csv").read_bytes()


def test_prices_in_a_workbook_are_moved_cell_by_cell(tmp_path: Path) -> None:
    rows = list(csv.reader(io.StringIO((clean_shop(tmp_path / "shop") / "items.csv").read_text(encoding="utf-8"))))
    shop = clean_shop(tmp_path / "shop", {"items.csv": None, "items.xlsx": xlsx(rows)})
    with desk_of(shop) as (client, desk):
        move = form(desk, way="all", share="10 %")
        before = client.post("/places/moves", data=move).text
        page = client.post("/places/moves", data={**move, **hidden(before), "sure": sure(before)})
        assert page.status_code == 200
        ready(desk)
        items = {item.code: item.retail for item in desk.shop_state.look().opened.shop.items}
    assert str(items["RR-J1"]) == "9.90"


def test_a_season_reduction_shows_its_first_day_and_is_written(shop: Path) -> None:
    file = shop / "shop.toml"
    before = file.read_bytes()
    with desk_of(shop) as (client, desk):
        days = {"from": "2027-03-01", "until": "2027-03-14"}
        move = form(desk, way="season", name="Spring days", by="20", channels="web", **days)
        page = client.post("/places/moves", data=move)
        assert page.status_code == 200
        assert "Own web shop" in text(page.text)
        assert re.search(r"-20\.\d %|-19\.\d %", text(page.text)), "prices on the first day are a fifth less"
        assert file.read_bytes() == before
        client.post("/places/moves", data={**move, **hidden(page.text), "sure": sure(page.text)})
        written = tomllib.loads(file.read_text(encoding="utf-8"))["reduction"][-1]
        assert written["by"] == "20 %"
        assert written["channels"] == ["web"]
        assert str(written["from"]) == "2027-03-01"


@pytest.mark.parametrize(
    "typed",
    [
        {"way": "one", "item": "", "price": ""},
        {"way": "one", "item": "NOPE", "price": "3.00"},
        {"way": "one", "item": "RR-J1", "price": "cheap"},
        {"way": "one", "item": "RR-J1", "price": "9.00"},
        {"way": "all", "share": "a lot"},
        {"way": "all", "share": "-100"},
        {"way": "season", "name": "x", "from": "2027-03-14", "until": "2027-03-01", "by": "20 %"},
        {"way": "season", "name": "x", "from": "soon", "until": "2027-03-01", "by": "20 %"},
        {"way": "season", "name": "x", "from": "2027-03-01", "until": "2027-03-14", "by": "nothing"},
    ],
)
def test_a_move_that_cannot_be_stays_on_its_page_with_what_was_typed(shop: Path, typed: dict[str, str]) -> None:
    with desk_of(shop) as (client, desk):
        page = client.post("/places/moves", data=form(desk, **typed, sure="yes"))
        assert page.status_code == 422
        assert 'role="alert"' in page.text
        for value in typed.values():
            assert html.escape(value) in page.text or value in ("NOPE", "soon")


def test_a_reduction_is_agreed_to_with_all_that_follows_whichever_file_it_is_of(shop: Path) -> None:
    sheet, before = shop / "items.csv", (shop / "shop.toml").read_bytes()
    with desk_of(shop) as (client, desk):
        days = {"from": "2027-03-01", "until": "2027-03-14"}
        asked = form(desk, way="season", name="Spring days", by="20", channels="web", **days)
        page = client.post("/places/moves", data=asked).text
        sheet.write_bytes(sheet.read_bytes().replace(b"6.50", b"17.50"))
        for agreed in (sure(page), "yes"):
            answer = client.post("/places/moves", data={**asked, **hidden(page), "sure": agreed}).text
            assert say("moves.shop_moved") in text(answer)
            assert (shop / "shop.toml").read_bytes() == before
        client.post("/places/moves", data={**asked, **hidden(answer), "sure": sure(answer)})
        assert b"Spring days" in (shop / "shop.toml").read_bytes()


def test_a_sheet_that_was_changed_meanwhile_is_looked_at_again(shop: Path) -> None:
    with desk_of(shop) as (client, desk):
        old = shown(Target(Role.ITEMS), shop, "items.csv")
        sheet = shop / "items.csv"
        sheet.write_text(sheet.read_text(encoding="utf-8").replace("6.50", "6.60"), encoding="utf-8")
        before = sheet.read_bytes()
        page = client.post("/places/moves", data=form(desk, way="one", item="RR-J1", price="10.50", sure="yes", **old))
        assert say("moves.shop_moved") in text(page.text)
        assert sheet.read_bytes() == before


# A new place


@pytest.mark.parametrize("kind", ["own-shop", "marketplace", "stall", "bookkeeper"])
def test_a_place_of_a_kind_is_that_of_the_command_and_can_be_taken_back(shop: Path, tmp_path: Path, kind: str) -> None:
    twin = clean_shop(tmp_path / "twin")
    with desk_of(shop) as (client, desk):
        page = client.post("/places/new", data=form(desk, name="The Fair", kind=kind))
        assert page.status_code == 200
        assert run("place", twin, "The Fair", "--kind", kind) == 0
        assert (shop / "channels/the_fair.toml").read_bytes() == (twin / "channels/the_fair.toml").read_bytes()
        again = client.post("/places/new", data=form(desk, name="The Fair", kind=kind))
        assert again.status_code == 422
        number = page.text.partition('name="change" value="')[2].partition('"')[0]
        client.post("/past/back", data=form(desk, change=number, here="/places"))
        assert not (shop / "channels/the_fair.toml").exists()


SAMPLE = "Item number,Title,Price,Zorble,Pieces left\nA-1,A box of soap,12.00,q,3\nA-2,Another box,14.50,q,0\n"


def test_a_sample_is_decided_by_choosing_and_learnt_as_the_command_does(shop: Path, tmp_path: Path) -> None:
    twin = clean_shop(tmp_path / "twin")
    (tmp_path / "sample.csv").write_text(SAMPLE, encoding="utf-8")
    assert run("learn", twin, str(tmp_path / "sample.csv"), "--name", "The Fair") == 0
    learnt = tomllib.loads((twin / "channels/the_fair.toml").read_text(encoding="utf-8"))
    with desk_of(shop) as (client, desk):
        page = client.post(
            "/places/new/sample", data=form(desk, name="The Fair"), files={"sample": ("sample.csv", SAMPLE.encode())}
        )
        assert page.status_code == 200
        assert re.findall(r'<h2 id="heading-\d">([^<]*)</h2>', page.text) == SAMPLE.partition("\n")[0].split(",")
        assert "A box of soap" in page.text
        assert "% sure" not in page.text
        chosen = {f"column-{at}": value for at, value in enumerate(("sku", "name", "price", "theme", "inventoryLevel"))}
        client.post("/places/new/columns", data={**hidden(page.text), "name": "The Fair", **chosen})
    made = channel_toml(shop, "the_fair")
    assert [each["value"] for each in made["column"]] == ["sku", "name", "price", "theme", "inventoryLevel"]
    assert "?" not in (shop / "channels/the_fair.toml").read_text(encoding="utf-8").partition("[[column]]")[2]
    assert {key: made[key] for key in ("feed", "rows", "dialect")} == {
        key: learnt[key] for key in ("feed", "rows", "dialect")
    }
    assert run("build", shop) == 0
    assert (shop / "out/the_fair/feed.csv").read_text(encoding="utf-8").partition("\n")[0].strip() == SAMPLE.partition(
        "\n"
    )[0]


def test_a_sample_of_two_hundred_columns_is_decided_on_one_page(shop: Path) -> None:
    headings = ["Item number", "Title", "Price", *(f"Zorble {chr(97 + at % 26)}{at}" for at in range(197))]
    sample = (",".join(headings) + "\n" + ",".join(["x"] * 200) + "\n").encode()
    with desk_of(shop) as (client, desk):
        page = client.post("/places/new/sample", data=form(desk), files={"sample": ("wide.csv", sample)})
        assert page.status_code == 200
        assert page.text.count('<li class="choice') == 200
        sent = sent_of(page.text.replace('class="fields"', 'id="fields"'))
        sent = {name: [value or "-" for value in values] for name, values in sent.items()}
        made = client.post(
            "/places/new/columns", data={**sent, "name": ["Wide"], "column-0": ["sku"], "column-2": ["price"]}
        )
        assert made.status_code == 200
    columns = channel_toml(shop, "wide")["column"]
    assert sum(each.get("repeat", 1) for each in columns) == 200
    assert columns[2]["value"] == "price"


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("sample.csv", b""), ("sample.pdf", b"%PDF-1.4"), ("photo.jpg", b"\xff\xd8\xff\xe0"),
        ("x.csv", b"a\x00b,c\n1,2\n"), ("sample.xlsx", b"PK\x03\x04 broken"), ("page.html", b"<html><body>"),
    ],
)  # fmt: skip
def test_what_is_no_sample_is_told_and_nothing_is_written(shop: Path, name: str, content: bytes) -> None:
    with desk_of(shop) as (client, desk):
        before = sorted(shop.rglob("*"))
        page = client.post("/places/new/sample", data=form(desk, name="Fair"), files={"sample": (name, content)})
        assert page.status_code == 422
        assert 'value="Fair"' in page.text
        assert client.post("/places/new/sample", data=form(desk)).status_code == 422
        assert sorted(shop.rglob("*")) == before


# All places


def test_places_say_what_is_still_to_be_published(shop: Path) -> None:
    run("record", shop, "--all")
    with desk_of(shop) as (client, desk):
        said = text(client.get("/places").text)
        assert said.count(say("moved.nothing")) == 3, said
        sheet = shop / "items.csv"
        sheet.write_text(sheet.read_text(encoding="utf-8").replace(",9.00,", ",9.50,"), encoding="utf-8")
        ready(desk)
        page = client.get("/places").text
        section = page.partition('id="web"')[2].partition("</section>")[0]
        full = desk.shop_state.full()
        assert full is not None
        moved = next(each for each in full.changes if each.key == "web")
        prices = {change.code for change in moved.found.changed if change.field == "price"}
        assert say("moved.prices", count=len(prices)) in text(section)
        assert say("behind.files") in text(section)
        assert "web/feed.csv" not in section


def test_what_is_not_there_is_told(shop: Path) -> None:
    with desk_of(shop) as (client, desk):
        for path in ("", "/feed", "/columns", "/publish", "/compare"):
            assert client.get(f"/place/nowhere{path}").status_code == 404, path
        assert client.get("/place/..%2F..%2Fshop").status_code == 404
        assert client.get("/place/nowhere/zip").status_code == 409
        assert client.post("/place/nowhere/change", data=form(desk)).status_code == 409
        assert client.post("/place/web/change", data=form(desk, do="take crop/7")).status_code == 409
        assert client.post("/places/moves", data=form(desk, way="up")).status_code == 409


def test_a_form_that_lacks_its_fields_is_no_mistake_of_ours(shop: Path) -> None:
    before = {file: file.read_bytes() for file in shop.rglob("*") if file.is_file()}
    with desk_of(shop) as (client, desk):
        posts = [
            *(("/places/moves", {"way": way}) for way in ("one", "all", "season")),
            *(("/place/web/change", {"do": do}) for do in ("", "up", "down blocks", "take", "move crop", "add crop 9")),
            *(("/place/web/columns", {"do": do}) for do in ("", "take", "take column/x", "look", "move column 1 99")),
            *(("/place/web/columns/sample", {"column": column}) for column in ("", "x", "99", "-1")),
            ("/places/new", {}), ("/places/new/sample", {}), ("/places/new/columns", {}), ("/place/web/publish", {}),
            ("/place/web/compare", {}), ("/place/web/corrections", {}), ("/place/web/unpublish", {}),
        ]  # fmt: skip
        for path, typed in posts:
            answer = client.post(path, data=form(desk, **typed))
            assert answer.status_code in (200, 409, 422), (path, typed, answer.text[-300:])
    after = {file: file.read_bytes() for file in shop.rglob("*") if file.is_file() and file.parts[-1][:1] != "."}
    assert {file: content for file, content in before.items() if file in after} == after


def test_a_place_is_taken_away_with_what_was_published_named_and_comes_back(shop: Path) -> None:
    assert run("record", shop, "web") == 0
    (recorded,) = records(shop / LEDGER, "web")
    before = (shop / "channels/web.toml").read_bytes()
    with desk_of(shop) as (client, desk):
        page = client.get("/place/web/delete").text
        codes = [row[0] for row in feed_rows(shop)[1:]]
        counted = say("count.rows", count=len(codes))
        assert say("away.published_on", day=local_time(recorded.at), rows=counted) in text(page)
        assert all(code in page for code in codes)
        answer = client.post("/place/web/delete", data=sent_of(page, "away"), follow_redirects=False)
        assert answer.status_code == 303
        assert not (shop / "channels/web.toml").exists()
        places = client.get(answer.headers["location"]).text
        assert say("away.done", name="Own web shop") in text(places)
        assert client.get("/place/web").status_code == 404
        number = re.search(r'name="change" value="(\d+)"', places)
        assert number is not None
        client.post("/past/back", data=form(desk, change=number[1], here="/places"))
    assert (shop / "channels/web.toml").read_bytes() == before


def test_a_place_that_was_changed_since_it_was_shown_is_not_taken_away(shop: Path) -> None:
    file = shop / "channels/stall.toml"
    with desk_of(shop) as (client, _):
        page = client.get("/place/stall/delete")
        assert say("away.never") in text(page.text)
        file.write_text(file.read_text("utf-8") + "\n# more\n", encoding="utf-8")
        assert client.post("/place/stall/delete", data=sent_of(page.text, "away")).status_code == 409
    assert file.exists()


def test_what_names_a_place_is_told_before_it_is_taken_away(shop: Path) -> None:
    file = shop / "channels/stall.toml"
    file.write_text(f'photos_of = "web"\n{file.read_text("utf-8")}', encoding="utf-8")
    with desk_of(shop) as (client, _):
        assert say("away.names.photos", name="Market stall") in text(client.get("/place/web/delete").text)
        assert client.get("/place/nowhere/delete").status_code == 404
