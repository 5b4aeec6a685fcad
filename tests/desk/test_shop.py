"""Your shop: every key of shop.toml as a field, seasons from a form to the files, what follows seen before."""

import re
import tomllib
from collections.abc import Iterator
from html import escape
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlencode

import pytest
from starlette.testclient import TestClient

from listkit.desk import shop as room
from listkit.desk.edits import Edit
from listkit.desk.field_values import Input
from listkit.desk.fields import form
from listkit.desk.page import Desk, say
from listkit.desk.problems import accept_address, grouped
from listkit.desk.saving import shown_name
from listkit.edit.past_lines import digest_of
from listkit.edit.starter import copy_starter
from listkit.model.settings import Settings
from listkit.problem import Level, Place, Problem
from listkit.shipped import shipped_templates
from tests.desk import desks
from tests.desk.desks import opened, text
from tests.desk.test_fields import filled
from tests.shops import DEMO, PROBLEMS, broken_shop, clean_shop, edited, small_demo

SUMMER = {"season/1/name": "summer", "season/1/on_sale": "2027-06-01", "season/1/off_sale": "2027-08-31"}


class Sent(HTMLParser):
    """What a page's form sends that nobody typed into, and the ids on the page.

    As browsers do, a field of one line holds no end of a line, and one of a day nothing but a day (HTML Standard,
    4.10.5.1.2 and 4.10.5.1.7, value sanitization algorithm).
    """

    def __init__(self, html: str) -> None:
        super().__init__()
        self.fields: list[tuple[str, str]] = []
        self.ids: set[str] = set()
        self._select = self._area = ""
        self._chosen: str | None = None
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self.ids.add(given.get("id", ""))
        if tag == "option" and self._select and ("selected" in given or self._chosen is None):
            self._chosen = given.get("value", "")
        if given.get("form") != "fields" or "name" not in given or tag == "button":
            return
        if tag == "select":
            self._select, self._chosen = given["name"], None
        elif tag == "textarea":
            self._area = given["name"]
            self.fields.append((self._area, ""))
        elif given.get("type") != "checkbox" or "checked" in given:
            value = re.sub(r"[\r\n]", "", given.get("value", ""))
            if given.get("type") == "date" and not re.fullmatch(r"\d{4}-(0[1-9]|1[0-2])-[0-3]\d", value):
                value = ""
            self.fields.append((given["name"], value))

    def handle_data(self, data: str) -> None:
        if self._area:
            name, value = self.fields.pop()
            self.fields.append((name, (value + data).removeprefix("\n")))

    def handle_endtag(self, tag: str) -> None:
        if tag == "textarea":
            self._area = ""
        elif tag == "select" and self._select:
            self.fields.append((self._select, self._chosen or ""))
            self._select = ""


def fields_sent(desk: Desk, **fields: str) -> dict[str, str]:
    """Return a form of the page: its token, the digest of shop.toml as it is, and what was typed."""
    digest = digest_of((desk.folder / "shop.toml").read_bytes())
    return desks.form(desk, **{shown_name(room.TARGET): digest, **fields})


def stated(folder: Path) -> dict[str, object]:
    return tomllib.loads((folder / "shop.toml").read_text(encoding="utf-8"))


def test_every_key_of_the_file_has_its_field_on_the_page(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    content = filled((shop / "shop.toml").read_bytes(), Settings)
    (shop / "shop.toml").write_bytes(content + b"\n[labels]\n[cards]\n[singles]\n")
    fields = form(Settings, stated(shop))
    with opened(shop) as (client, _):
        ids = Sent(client.get("/shop").text).ids
    parts = {Input.TABLE: "g", Input.TABLES: "g"}
    lacking = [each.name for each in fields.every() if f"{parts.get(each.kind, 'f')}/{each.name}" not in ids]
    assert lacking == []
    blanks = [each.name for field in fields.every() for blank in field.blanks for each in blank.fields]
    assert [name for name in blanks if f"f/{name}" not in ids] == []


@pytest.mark.parametrize("is_filled", [False, True])
def test_a_page_that_nobody_typed_into_changes_nothing(tmp_path: Path, is_filled: bool) -> None:
    content = (DEMO / "shop.toml").read_bytes()
    shop = small_demo(tmp_path / "shop")
    content = filled(content, Settings) if is_filled else content
    (shop / "shop.toml").write_bytes(content)
    with opened(shop) as (client, desk):
        sent: dict[str, list[str]] = {}
        for name, value in Sent(client.get("/shop").text).fields:
            sent.setdefault(name, []).append(value)
        answer = client.post("/shop", data={**fields_sent(desk), **sent})
    assert say("one.same") in text(answer.text)
    assert (shop / "shop.toml").read_bytes() == content


# Seasons


def test_a_season_is_made_and_a_set_is_offered_it(tmp_path: Path) -> None:
    with opened(clean_shop(tmp_path / "shop")) as (client, desk):
        assert "/shop?at=season&amp;set=RRS-1" in client.get("/sets/RRS-1").text
        came = client.get("/shop?at=season&set=RRS-1")
        assert unquote(str(came.url)).endswith("/shop?open=season&set=RRS-1#g/season")
        assert say("shop.back_to", name="Dawn on the Weir (RRS-1)") in text(came.text)
        answer = client.post("/shop", data=fields_sent(desk, do="add season 0", set="RRS-1", **SUMMER))
        assert say("shop.season_made", name="summer") in text(answer.text)
        assert "set=RRS-1" in str(answer.url)
        assert '<option value="summer">' in client.get("/sets/RRS-1").text
        written = (desk.folder / "shop.toml").read_text(encoding="utf-8")
    assert written.endswith('[[season]]\nname = "summer"\non_sale = 2027-06-01\noff_sale = 2027-08-31\n')


def test_a_season_that_was_typed_is_made_whichever_button_is_pressed(tmp_path: Path) -> None:
    with opened(clean_shop(tmp_path / "shop")) as (client, desk):
        answer = client.post("/shop", data=fields_sent(desk, at="name", name="Reed & Rush", **SUMMER))
        assert say("shop.season_made", name="summer") in text(answer.text)
        assert stated(desk.folder)["name"] == "Reed & Rush"
        assert len(stated(desk.folder)["season"]) == 2  # type: ignore[arg-type]


def test_a_season_without_a_last_day_stays_on_the_page(tmp_path: Path) -> None:
    with opened(clean_shop(tmp_path / "shop")) as (client, desk):
        before = (desk.folder / "shop.toml").read_bytes()
        typed = {**SUMMER, "season/1/off_sale": ""}
        answer = client.post("/shop", data=fields_sent(desk, do="add season 0", **typed))
        assert answer.status_code == 422
        at_field = answer.text.partition('id="w/season/1/off_sale"')[2][:300]
        assert 'role="alert"' in at_field
        assert 'value="summer"' in answer.text
        assert (desk.folder / "shop.toml").read_bytes() == before


def test_what_names_a_season_follows_its_new_name_and_all_is_taken_back_at_once(tmp_path: Path) -> None:
    shop = small_demo(tmp_path / "shop")
    picture = next(shop.glob("sets/*/photos/*.jpg")).read_bytes()
    (shop / "photos").mkdir()
    (shop / "photos/spring.jpg").write_bytes(picture)
    seasons = [each["name"] for each in stated(shop)["season"]]  # type: ignore[attr-defined]
    before = {path: path.read_bytes() for path in shop.rglob("*.toml")}
    with opened(shop) as (client, desk):
        field = f"season/{seasons.index('spring')}/name"
        answer = client.post("/shop", data=fields_sent(desk, **{field: "first flowers"}))
        assert say("one.saved") in text(answer.text)
        moved = {path.relative_to(shop).as_posix() for path, content in before.items() if path.read_bytes() != content}
        assert moved == {"shop.toml", "sets/first-nectar/set.toml", "wholesale.toml", "languages/fr.toml"}
        assert (shop / "photos/first-flowers.jpg").read_bytes() == picture
        assert not (shop / "photos/spring.jpg").exists()
        seen = desk.shop_state.look()
        assert seen.facts("OHS-1") is not None
        assert [name for name, _ in seen.opened.shop.season_photos] == ["first flowers"]
        assert not [each for each in seen.opened.problems if "season" in each.message]
        number = answer.text.partition('name="change" value="')[2].partition('"')[0]
        client.post("/past/back", data=desks.form(desk, change=number, here="/shop"))
    assert {path: path.read_bytes() for path in before} == before
    assert (shop / "photos/spring.jpg").read_bytes() == picture


def test_words_of_a_season_that_come_while_it_is_renamed_are_not_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shop = small_demo(tmp_path / "shop")
    words, renaming = shop / "languages/fr.toml", room._renaming
    seasons = [each["name"] for each in stated(shop)["season"]]  # type: ignore[attr-defined]

    def translated_meanwhile(*args: Any) -> Iterator[Edit]:
        words.write_text(words.read_text(encoding="utf-8").replace("de printemps", "du renouveau"), encoding="utf-8")
        yield from renaming(*args)

    with opened(shop) as (client, desk):
        sent = fields_sent(desk, **{f"season/{seasons.index('spring')}/name": "first flowers"})
        monkeypatch.setattr(room, "_renaming", translated_meanwhile)
        client.post("/shop", data=sent)
    told = tomllib.loads(words.read_text(encoding="utf-8"))["seasons"]
    assert told["first flowers"] == "du renouveau"


def test_a_season_of_a_set_with_a_fault_is_not_taken_away(tmp_path: Path) -> None:
    shop = small_demo(tmp_path / "shop")
    seasons = [each["name"] for each in stated(shop)["season"]]  # type: ignore[attr-defined]
    (file,) = (each for each in shop.glob("sets/*/set.toml") if 'season = "spring"' in each.read_text(encoding="utf-8"))
    file.write_text(re.sub(r'(?m)^item = ".*"', 'item = "nothing"', file.read_text(encoding="utf-8"), count=1))
    before = (shop / "shop.toml").read_bytes()
    with opened(shop) as (client, desk):
        answer = client.post("/shop", data=fields_sent(desk, do=f"take season/{seasons.index('spring')}"))
        assert answer.status_code == 422
        assert "First Nectar" in text(answer.text)
    assert (shop / "shop.toml").read_bytes() == before


@pytest.mark.parametrize("day", ["10:30:00", "2026-12-01T10:30:00Z", "0001-01-01", "0x" + "f" * 5_000])
def test_what_is_no_day_in_the_place_of_one_breaks_no_page(tmp_path: Path, day: str) -> None:
    """TOML has times without a day, and whole numbers in hexadecimals, of any length."""
    shop = small_demo(tmp_path / "shop")
    text_now = (shop / "shop.toml").read_text(encoding="utf-8")
    (shop / "shop.toml").write_text(re.sub(r"on_sale = .*", f"on_sale = {day}", text_now), encoding="utf-8")
    with opened(shop) as (client, _):
        assert [client.get(address).status_code for address in ("/shop", "/today", "/sets")] == [200] * 3


def test_a_season_that_sets_are_in_is_kept_and_another_taken_away(tmp_path: Path) -> None:
    with opened(clean_shop(tmp_path / "shop")) as (client, desk):
        before = (desk.folder / "shop.toml").read_bytes()
        answer = client.post("/shop", data=fields_sent(desk, do="take season/0"))
        assert answer.status_code == 422
        assert "Sets are still in the season spring: Dawn on the Weir." in text(answer.text)
        client.post("/shop", data=fields_sent(desk, do="add season 0", **SUMMER))
        assert 'value="take season/1"' in client.get("/shop").text
        client.post("/shop", data=fields_sent(desk, do="take season/1"))
        assert stated(desk.folder) == tomllib.loads(before.decode())


# What follows is seen first


def test_what_an_uplift_does_to_prices_is_seen_before_it_is_saved(tmp_path: Path) -> None:
    with opened(clean_shop(tmp_path / "shop")) as (client, desk):
        before = (desk.folder / "shop.toml").read_bytes()
        sent = fields_sent(desk, **{"prices/uplift": "3.00", "prices/bands": "20\n30", "at": "prices"})
        first = client.post("/shop", data=sent)
        assert say("follows.title") in text(first.text)
        assert "Added for box, fill and card: 1.00 → 3.00" in text(first.text)
        assert "Dawn on the Weir" in text(first.text)
        assert (desk.folder / "shop.toml").read_bytes() == before
        client.post("/shop", data={**sent, "sure": "yes"})
        prices = stated(desk.folder)["prices"]
        assert (prices["uplift"], prices["bands"]) == ("3.00", [20, 30])  # type: ignore[index]


def test_what_moves_no_price_is_saved_at_once(tmp_path: Path) -> None:
    with opened(clean_shop(tmp_path / "shop")) as (client, desk):
        answer = client.post("/shop", data=fields_sent(desk, **{"prices/lowest_margin": "22"}))
        assert say("one.saved") in text(answer.text)
        assert stated(desk.folder)["prices"]["lowest_margin"] == "22 %"  # type: ignore[index]


# Lists, tables, and what is in the way


def test_boxes_are_ticked_into_the_file_in_its_own_order(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    with (shop / "shop.toml").open("a", encoding="utf-8") as stream:
        stream.write('\n[shots]\nrequired = ["detail", "open box"]\n')
    with opened(shop) as (client, desk):
        content = (shop / "shop.toml").read_bytes()
        name = "shots/required"
        client.post("/shop", data={**fields_sent(desk, ticked=name), name: ["open box", "detail"]})
        assert (shop / "shop.toml").read_bytes() == content
        client.post("/shop", data={**fields_sent(desk, ticked=name), name: ["open box"]})
        assert stated(shop)["shots"] == {"required": ["open box"]}
        client.post("/shop", data=fields_sent(desk, ticked=name))
        assert "shots" not in stated(shop)


def test_labels_are_begun_with_nothing_stated_and_ended(tmp_path: Path) -> None:
    with opened(clean_shop(tmp_path / "shop")) as (client, desk):
        client.post("/shop", data=fields_sent(desk, do="begin labels"))
        assert stated(desk.folder)["labels"] == {}
        client.post("/shop", data=fields_sent(desk, phone="01632 960146"))
        assert stated(desk.folder)["labels"] == {}, "a table that says nothing stays while nobody empties it"
        client.post("/shop", data=fields_sent(desk, **{"labels/faces": "2"}))
        assert stated(desk.folder)["labels"] == {"faces": 2}
        client.post("/shop", data=fields_sent(desk, do="end labels"))
        assert "labels" not in stated(desk.folder)


def test_what_cannot_be_stays_at_its_field_and_nothing_is_written(tmp_path: Path) -> None:
    with opened(clean_shop(tmp_path / "shop")) as (client, desk):
        before = (desk.folder / "shop.toml").read_bytes()
        answer = client.post("/shop", data=fields_sent(desk, email="nobody", phone="01632 960146"))
        assert answer.status_code == 422
        assert 'role="alert"' in answer.text.partition('id="w/email"')[2][:200]
        assert 'value="01632 960146"' in answer.text
        assert (desk.folder / "shop.toml").read_bytes() == before


def test_a_file_that_was_changed_meanwhile_is_not_overwritten(tmp_path: Path) -> None:
    with opened(clean_shop(tmp_path / "shop")) as (client, desk):
        file, sent = desk.folder / "shop.toml", fields_sent(desk, **{"prices/uplift": "3.00"})
        file.write_text(file.read_text(encoding="utf-8").replace('"1.00"', '"2.00"'), encoding="utf-8")
        content = file.read_bytes()
        answer = client.post("/shop", data=sent)
        assert answer.status_code == 409
        assert say("not_saved.mine") in text(answer.text)
        assert file.read_bytes() == content


def test_a_file_that_is_no_toml_is_told_and_not_written(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    (shop / "shop.toml").write_text('name = "Reed\n', encoding="utf-8")
    with opened(shop) as (client, desk):
        assert say("shop.unread", file="shop.toml") in text(client.get("/shop").text)
        assert client.get("/shop?at=prices/wage").status_code == 200
        assert client.post("/shop", data=fields_sent(desk, name="Reed")).status_code == 409
    assert (shop / "shop.toml").read_text(encoding="utf-8") == 'name = "Reed\n'


def test_a_key_that_no_shop_has_is_told_and_taken_out(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    file = shop / "shop.toml"
    file.write_text('emial = "x"\n' + file.read_text(encoding="utf-8"), encoding="utf-8")
    with opened(shop) as (client, desk):
        assert say("shop.strange", name="emial", value="x") in text(client.get("/shop").text)
        client.post("/shop", data=fields_sent(desk, do="drop emial"))
    assert "emial" not in stated(shop)


@pytest.mark.parametrize(
    ("key", "address"),
    [
        (("prices", "wage"), "/shop?open=prices/wage#f/prices/wage"),
        (("labels", "size"), "/shop?open=labels#g/labels"),  # there are none yet
        (("season", 0, "on_sale"), "/shop?open=season/0/on_sale#f/season/0/on_sale"),
        (("season", 0), "/shop?open=season/0#g/season/0"),
        (("prices", "bands", 2), "/shop?open=prices/bands#f/prices/bands"),
        (("checks", "band-missed"), "/shop?open=checks#f/checks"),
        (("seasn",), "/shop"),
    ],
)
def test_a_problem_of_the_file_leads_to_its_field(
    clean: tuple[TestClient, Desk], key: tuple[str | int, ...], address: str
) -> None:
    client, desk = clean
    problem = Problem(Place("shop.toml", key=key), "bad-value", "it is wrong.")
    group = grouped((problem,), desk.shop_state.look().opened.shop, ())[0]
    came = client.get(group.told[0].address)
    assert unquote(str(came.url)).removeprefix(desks.ORIGIN) == address
    mark = address.partition("#")[2]
    assert not mark or mark in Sent(came.text).ids


@pytest.fixture(scope="module")
def clean(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[TestClient, Desk]]:
    with opened(clean_shop(tmp_path_factory.mktemp("clean") / "shop")) as both:
        yield both


# Figures that came with the shop


def test_figures_that_came_with_the_shop_are_told_until_they_are_the_owners(tmp_path: Path) -> None:
    copy_starter(shipped_templates() / "new_shop", tmp_path / "shop")
    before = {file: (tmp_path / "shop" / file).read_bytes() for file in ("shop.toml", "packaging.toml")}
    with opened(tmp_path / "shop") as (client, desk):
        shown = {each.label: (each.value, each.address) for each in room.examples(desk)}
        assert shown["Wage for an hour"] == ("14.00", "/shop?at=prices/wage")
        assert shown["Wholesale price of an item"] == ("50 %", "/shop?at=prices/wholesale")
        assert shown["Cost"] == ("0.95", "/shelf/boxes")
        assert say("shop.examples") in text(client.get("/today").text)
        client.post("/shop", data=fields_sent(desk, sure="yes", **{"prices/wage": "15.50"}))
        assert "Wage for an hour" not in {each.label for each in room.examples(desk)}
        answer = client.post("/shop/examples", data=desks.form(desk))
        assert say("shop.examples_kept") in text(answer.text)
        assert room.examples(desk) == ()
        assert say("shop.examples") not in text(client.get("/today").text)
        for file, content in before.items():
            document = tomllib.loads(content.decode())
            if file == "shop.toml":
                document["prices"]["wage"] = "15.50"
            assert tomllib.loads((tmp_path / "shop" / file).read_text(encoding="utf-8")) == document


def test_a_remark_leads_to_the_form_that_takes_it_as_it_is_and_is_silent_then(tmp_path: Path) -> None:
    def remarks(desk: Desk) -> list[Problem]:
        assert desk.state is not None
        desk.state.look()
        full = desk.state.full(wait=60)
        assert full is not None
        return [each for each in full.problems if each.code == "caution-missing"]

    shop = clean_shop(tmp_path / "shop", edited("items.csv", "external-use;avoid-eyes", "avoid-eyes"))
    with opened(shop) as (client, desk):
        before = remarks(desk)
        of = before[0].place.row
        address = f"/shop?accept=caution-missing&of={of}&open=accepted"
        link = f'href="{escape(address)}#g/accepted">{say("problem.as_wanted")}</a>'
        assert link in client.get("/today").text
        assert link in client.get(f"/shelf/item?row={of}").text
        page = client.get(address).text
        sent = dict(Sent(page).fields)
        assert (sent["accepted/0/check"], sent["accepted/0/at"]) == ("caution-missing", of)
        assert re.search(r'<details class="entry new" open>\s*<summary>One more remark that', page)
        sent |= {"accepted/0/reason": "read by me", "do": "add accepted 0"}
        sent |= {shown_name(room.TARGET): digest_of((shop / "shop.toml").read_bytes())}
        assert client.post("/shop", data=desks.form(desk, **sent)).status_code == 200
        assert of not in {each.place.row for each in remarks(desk)}


@pytest.mark.parametrize(
    ("fault", "address", "of"),
    [
        ("photo-dark", "/sets/RRS-1/photos", "RRS-1"),
        ("gtin-missing+column", "/place/stall/feed", "channels/stall.toml"),
    ],
)
def test_pages_of_photos_and_tables_lead_to_that_form_too(tmp_path: Path, fault: str, address: str, of: str) -> None:
    shop, check = broken_shop(tmp_path / "shop", PROBLEMS / fault), fault.partition("+")[0]
    with opened(shop) as (client, desk):
        assert desk.state is not None
        desk.state.look(measured=True)
        desk.state.full(wait=60)
        page = client.get(address).text
        accept = f"/shop?{urlencode({'accept': check, 'of': of, 'open': 'accepted'})}"
        assert f'href="{escape(accept)}#g/accepted">{say("problem.as_wanted")}</a>' in page
        assert dict(Sent(client.get(accept).text).fields)["accepted/0/at"] == of


def test_what_must_be_mended_cannot_be_taken_as_it_is() -> None:
    place = Place("items.csv", row="S1")
    assert accept_address(Problem(place, "caution-missing", "", own_level=Level.LOOK_AT))
    assert not accept_address(Problem(place, "caution-missing", "", own_level=Level.MUST_FIX))


def test_what_a_browser_cannot_hold_in_one_line_or_as_a_day_is_sent_back_as_it_is(tmp_path: Path) -> None:
    """A field of a day would be sent back empty for one that is written in another way, and take it out of the file."""
    season = '[[season]]\nname = "summer"\non_sale = 2027-06-01\noff_sale = "31.08.2027"\n'
    folder = clean_shop(tmp_path / "shop")
    file = folder / "shop.toml"
    file.write_text('phone = """01632 960146\nfrom 9 to 5"""\n' + file.read_text("utf-8") + season, "utf-8")
    with opened(folder) as (client, desk):
        page = client.get("/shop").text
        there = {name: "" for name, _ in Sent(page).fields}
        for name, value in Sent(page).fields:
            there[name] = f"{there[name]}\n{value}".strip("\n")
        assert (there["season/1/off_sale"], there["phone"]) == ("31.08.2027", "01632 960146\nfrom 9 to 5")
        before = file.read_bytes()
        client.post("/shop", data=fields_sent(desk, **there))
        assert file.read_bytes() == before
