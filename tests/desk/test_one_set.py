"""The page of one set: every key a field, figures as `listkit show --json` prints them, changes from form to file."""

import json
import re
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from decimal import Decimal
from html import unescape
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from listkit.desk.edits import Role, Target
from listkit.desk.field_values import Input
from listkit.desk.fields import form
from listkit.desk.page import PARTS_HEADER, Desk, say
from listkit.desk.saving import shown_name
from listkit.edit.past_lines import digest_of
from listkit.edit.toml import value_at
from listkit.model.gift_set import GiftSet
from tests.desk import desks
from tests.desk.desks import opened, text
from tests.desk.test_fields import filled, typed
from tests.shops import CLEAN, clean_shop, small_demo

NECTAR = "sets/first-nectar/set.toml"
DAWN = "sets/dawn/set.toml"


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_demo(tmp_path_factory.mktemp("demo") / "shop")


@pytest.fixture
def shop(demo: Path, tmp_path: Path) -> Path:
    shutil.copytree(demo, tmp_path / "shop")
    return tmp_path / "shop"


@pytest.fixture
def nectar(shop: Path) -> Path:
    """The demo with one set alone, where each change is followed by a look at the whole shop."""
    for folder in (shop / "sets").iterdir():
        if folder.name != "first-nectar":
            shutil.rmtree(folder)
    return shop


class Page(HTMLParser):
    """What a page's form would send, and the figures on it."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.sends: dict[str, str] = {}
        self.figures: dict[str, dict[str, str]] = {}
        self._variant = ""
        self._select = self._area = ""
        self._first = False
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self._variant = given.get("data-variant", given.get("data-figures", self._variant))
        if tag == "data" and "data-figure" in given:
            self.figures.setdefault(self._variant, {})[given["data-figure"]] = given["value"]
        if tag == "option" and self._select and ("selected" in given or self._first):
            self.sends[self._select] = given["value"]
            self._first = False
        if given.get("form") != "fields" or "name" not in given or tag == "button":
            return
        if tag == "select":
            self._select, self._first = given["name"], True
        elif tag == "textarea":
            self._area = given["name"]
            self.sends[self._area] = ""
        elif given.get("type") != "radio" or "checked" in given:
            self.sends[given["name"]] = given.get("value", "")

    def handle_data(self, data: str) -> None:
        if self._area:
            self.sends[self._area] += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "textarea":
            self.sends[self._area] = self.sends[self._area].removeprefix("\n")
            self._area = ""
        elif tag == "select":
            self._select = ""


def post(client: TestClient, desk: Desk, code: str, file: str, **fields: str) -> Any:
    """Send fields of a set as the page that shows its files now does."""
    shop = desk.shop_state.folder
    digests = {shown_name(Target(Role.SET, code)): digest_of((shop / file).read_bytes())}
    for story in (shop / file).parent.glob("story*.md"):
        language = story.name.removeprefix("story").removesuffix(".md").removeprefix(".")
        digests[shown_name(Target(Role.STORY, code, language))] = digest_of(story.read_bytes())
    for language in ("", "fr"):
        digests.setdefault(shown_name(Target(Role.STORY, code, language)), digest_of(None))
    return client.post(f"/sets/{code}/change", data=desks.form(desk, **digests, **fields))


def value(shop: Path, file: str, *key: str | int) -> Any:
    return value_at((shop / file).read_bytes(), key)


# The view


def test_every_key_that_a_set_may_have_is_a_field_of_its_page(tmp_path: Path) -> None:
    """Pictures have a room of their own, another code has a page of its own: it is sent there as `new`."""
    shop = clean_shop(tmp_path / "shop")
    (shop / DAWN).write_bytes(filled((shop / DAWN).read_bytes(), GiftSet))
    fields = form(GiftSet, value_at((shop / DAWN).read_bytes(), ())).every()  # type: ignore[arg-type]
    with opened(shop) as (client, _):
        page = client.get("/sets/RRS-1").text
    names = {unescape(name) for name in re.findall(r'name="([^"]*)"', page)}
    assert 'action="/rename"' in page
    assert '<input id="f/code" name="new" value="RRS-1"' in page
    for each in fields:
        if each.key == ("code",):
            assert 'id="w/code"' in page
        elif each.kind not in (Input.TABLE, Input.TABLES) and each.key[0] != "photos":
            assert each.name in names, each.name
            assert f'id="w/{each.name}"' in page, each.name


def test_figures_of_every_variant_are_those_of_the_command(demo: Path) -> None:
    command = [sys.executable, "-m", "listkit", "show", "--all", "--json", "--shop", str(demo)]
    shown = json.loads(subprocess.run(command, capture_output=True, text=True, check=True).stdout)
    assert len(shown) == 9
    with opened(demo) as (client, _):
        for gift_set in shown:
            figures = Page(client.get(f"/sets/{gift_set['code']}").text).figures
            assert set(figures) == {variant["code"] for variant in gift_set["variants"]}
            for variant in gift_set["variants"]:
                assert dict(wanted(variant)) == figures[variant["code"]]


def wanted(variant: dict[str, Any]) -> Iterator[tuple[str, str]]:
    for key in ("code", "price", "full_cost", "wholesale"):
        yield key, variant[key]
    for key in ("can_make", "gift_weight", "stock"):
        yield key, "" if variant[key] is None else str(variant[key])
    optional = ("parcel_weight", "volumetric_weight", "chargeable_weight", "fill_share", "length_and_girth")
    for key in (*optional, "small_packet"):
        if variant[key] is not None:
            yield key, str(variant[key])
    for at, step in enumerate(variant["steps"]):
        yield f"step/{at}/amount", step["amount"]
        yield f"step/{at}/running", step["running"]
    for place, taken in variant["taken"].items():
        yield f"kept/{place}", variant["kept"][place]
        for part, amount in taken.items():
            yield f"taken/{place}/{part}", amount
    for at, service in enumerate(variant["postage"]):
        yield f"postage/{at}/price", service["price"]


def live_parts(page: str) -> dict[str, tuple[str, list[tuple[str, str]]]]:
    """Return the stamp of each part of a page that moves by itself, and its figures."""
    parts: dict[str, tuple[str, list[tuple[str, str]]]] = {}
    for found in re.finditer(r'id="([^"]*)" data-live="([^"]*)"|<data value="([^"]*)"[^>]*>([^<]*)</data>', page):
        if found[1]:
            parts[unescape(found[1])] = found[2], []
        else:
            list(parts.values())[-1][1].append((unescape(found[3]), unescape(found[4])))
    return parts


def test_a_script_gets_the_parts_of_a_page_that_moved_and_no_others(shop: Path) -> None:
    def asking(parts: dict[str, tuple[str, list[tuple[str, str]]]]) -> dict[str, str]:
        return {PARTS_HEADER: ",".join(stamp for stamp, _ in parts.values())}

    with opened(shop) as (client, desk):
        desk.shop_state.look()
        assert desk.shop_state.full(wait=60) is not None
        before = live_parts(client.get("/sets/OHS-1").text)
        assert client.get("/sets/OHS-1", headers=asking(before)).json()["moved"] == {}
        client.headers.update(asking(before))
        head = post(client, desk, "OHS-1", "sets/first-nectar/set.toml", uplift="4.00").json()
        assert set(head["moved"]) == {"fields", "strip", "statuses"}
        assert say("one.saved") in head["note"]
        desk.shop_state.full(wait=60)
        rest = client.get("/sets/OHS-1").json()
        del client.headers[PARTS_HEADER]
        page = client.get("/sets/OHS-1").text
        after = live_parts(page)
        assert rest["names"] == list(after)
        assert set(rest["moved"]) == {name for name, part in after.items() if part[0] != before[name][0]}
        for name, part in rest["moved"].items():
            if isinstance(part, str):
                assert part in page
            else:
                assert part == [after[name][0], [list(each) for each in after[name][1]]]
        assert not isinstance(rest["moved"]["s-figures"], str)
        assert len(page) > 2 * len(json.dumps(rest))


def test_a_page_sent_back_as_it_is_changes_nothing(shop: Path) -> None:
    file = shop / "sets/long-evening/set.toml"
    file.write_text(file.read_text(encoding="utf-8").replace('default = "OH-U02"\n', ""), encoding="utf-8")
    with opened(shop) as (client, desk):
        for folder in sorted((shop / "sets").iterdir()):
            code = str(value(shop, f"sets/{folder.name}/set.toml", "code"))
            before = {path: path.read_bytes() for path in folder.glob("*.*")}
            page = client.get(f"/sets/{code}")
            answer = post(client, desk, code, f"sets/{folder.name}/set.toml", **Page(page.text).sends)
            assert answer.status_code == 200, text(answer.text)[:400]
            assert say("one.same") in answer.text
            assert {path: path.read_bytes() for path in folder.glob("*.*")} == before
        assert not (shop / ".listkit/past.jsonl").exists()


def test_what_another_box_does_is_seen_before_it_is_saved(tmp_path: Path) -> None:
    packaging = (CLEAN / "packaging.toml").read_text(encoding="utf-8")
    large = packaging.partition("[card]")[0].replace('"S"', '"L"').replace('"0.80"', '"2.80"').replace("160 x", "170 x")
    shop = clean_shop(tmp_path / "shop", {"packaging.toml": f"{large}\n{packaging}"})
    before = (shop / DAWN).read_bytes()
    with opened(shop) as (client, desk):
        shown = post(client, desk, "RRS-1", DAWN, box="L", at="s-3")
        assert say("follows.title") in text(shown.text)
        assert re.search("Box: S · [0-9× ]+mm → L · [0-9× ]+mm", text(shown.text))
        assert re.search("Market stall: £[0-9.]+ → £[0-9.]+", text(shown.text)), "what is kept, not the price"
        assert (shop / DAWN).read_bytes() == before
        by_script = client.post(
            "/sets/RRS-1/change", data=sent_again(shown.text), headers={PARTS_HEADER: "none"}, follow_redirects=False
        )
        assert by_script.status_code == 200
        assert value(shop, DAWN, "box") == "L"
        smallest = post(client, desk, "RRS-1", DAWN, box="smallest")
        assert say("one.smallest") in text(smallest.text).partition(say("follows.title"))[2]
        assert value(shop, DAWN, "box") == "L"
        draft = post(client, desk, "RRS-1", DAWN, status="draft")
        assert draft.status_code == 200
        assert say("one.saved") in text(post(client, desk, "RRS-1", DAWN, box="S").text), "nobody sees a draft"
        assert value(shop, DAWN, "box") == "S"


def sent_again(page: str) -> dict[str, str]:
    """Return what the button of a page that asks first sends."""
    hidden = re.findall(
        r'<input type="hidden" name="([^"]*)" value="([^"]*)">', page.partition('class="row fields"')[2]
    )
    return {unescape(name): unescape(text) for name, text in hidden} | {"sure": "yes"}


@pytest.mark.parametrize("line", ['shade = "red"', '"a b" = 1', "shade = { of = 2 }", '"<b>" = "x"'])
def test_a_key_that_no_set_has_is_taken_out(tmp_path: Path, line: str) -> None:
    shop = clean_shop(tmp_path / "shop")
    before = (shop / DAWN).read_bytes()
    (shop / DAWN).write_bytes(line.encode() + b"\n" + before)
    with opened(shop) as (client, desk):
        page = client.get("/sets/RRS-1").text
        (button,) = re.findall(r'value="(drop [^"]*)"', page)
        answer = post(client, desk, "RRS-1", DAWN, do=unescape(button))
        assert answer.status_code == 200, text(answer.text)[:300]
        assert 'value="drop' not in answer.text
        assert (shop / DAWN).read_bytes() == before
        assert post(client, desk, "RRS-1", DAWN, do="drop name").status_code == 422
        assert (shop / DAWN).read_bytes() == before, "a key that a set has is not dropped"


def test_what_was_changed_in_a_list_is_not_written_over_a_list_in_another_order(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    with opened(shop) as (client, desk):
        digests = {shown_name(Target(Role.SET, "RRS-1")): digest_of((shop / DAWN).read_bytes())}
        assert post(client, desk, "RRS-1", DAWN, do="move contents 0 1").status_code == 200
        moved = (shop / DAWN).read_bytes()
        for fields in ({"contents/0/quantity": "3"}, {"do": "take contents/0"}, {"do": "move contents 1 0"}):
            answer = client.post("/sets/RRS-1/change", data=desks.form(desk, **digests, **fields))
            assert answer.status_code == 409
            assert say("not_saved.misplaced") in unescape(answer.text)
            assert say("not_saved.mine") not in answer.text
        answer = client.post("/sets/RRS-1/change", data=desks.form(desk, **digests, theme="Mine."))
        assert say("not_saved.mine") in answer.text
    assert (shop / DAWN).read_bytes() == moved


def test_every_problem_of_a_set_stands_at_its_field(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    changed = (shop / DAWN).read_text(encoding="utf-8").replace('season = "', 'season = "un')
    changed = changed.replace('box = "', 'box = "Z')
    (shop / DAWN).write_text(f'shade = "red"\n{changed}', encoding="utf-8")
    with opened(shop) as (client, desk):
        desk.shop_state.look()
        full = desk.shop_state.full(wait=60)
        assert full is not None
        page = client.get("/sets/RRS-1").text
        problems = [each for each in full.problems if each.place.file.startswith("sets/dawn/")]
        assert problems
        for problem in problems:
            assert problem.message[1:] in text(page), problem.message


# Changes


@pytest.mark.parametrize("step", [2, pytest.param(1, marks=pytest.mark.long)])  # a save takes a twelfth of a second
def test_each_field_is_saved_alone_and_reads_back(nectar: Path, step: int) -> None:
    """What cannot be (another code's picture ...) stays on the page at its field, and nothing is written."""
    (nectar / NECTAR).write_bytes(filled((nectar / NECTAR).read_bytes(), GiftSet))
    before = (nectar / NECTAR).read_bytes()
    saved = 0
    with opened(nectar) as (client, desk):
        shown = form(GiftSet, value_at(before, ()))  # type: ignore[arg-type]
        tables = (Input.TABLE, Input.TABLES)
        fields = [each for each in shown.every() if each.kind not in tables and each.key[0] not in ("code", "photos")]
        for each in fields[::step]:
            sent = list(typed(each))[-1]
            answer = post(client, desk, "OHS-1", NECTAR, **{each.name: sent.replace("\n", "\r\n")})
            now = form(GiftSet, value_at((nectar / NECTAR).read_bytes(), ()))  # type: ignore[arg-type]
            read = next((again for again in now.every() if again.key == each.key), None)
            if answer.status_code == 422:
                assert (nectar / NECTAR).read_bytes() == before
                assert 'role="alert"' in answer.text
            else:
                assert answer.status_code == 200, (each.name, text(answer.text)[:300])
                assert read is not None
                held = read.value or read.usual
                assert held in (sent, f"{sent} %"), each.name
                saved += 1
            (nectar / NECTAR).write_bytes(before)
    assert saved > 40 // step


def test_a_wrong_value_stays_at_its_field_with_what_was_typed(shop: Path) -> None:
    before = (shop / NECTAR).read_bytes()
    with opened(shop) as (client, desk):
        answer = post(client, desk, "OHS-1", NECTAR, **{"contents/0/quantity": "lots", "name": "Nectar"})
        assert answer.status_code == 422
        at = answer.text.partition('id="w/contents/0/quantity"')[2].partition("</div>")[0]
        assert 'role="alert"' in at
        assert Page(answer.text).sends["contents/0/quantity"] == "lots"
        assert Page(answer.text).sends["name"] == "Nectar"
    assert (shop / NECTAR).read_bytes() == before


def test_entries_are_moved_taken_out_and_put_in(shop: Path) -> None:
    with opened(shop) as (client, desk):

        def do(action: str, **fields: str) -> None:
            answer = post(client, desk, "OHS-1", NECTAR, do=action, **fields)
            assert answer.status_code == 200, text(answer.text)[:300]

        do("move contents 0 1")
        assert [value(shop, NECTAR, "contents", at, "item") for at in (0, 1)] == ["OH-L01", "OH-B01"]
        do("put contents OH-T01")
        assert value(shop, NECTAR, "contents", 3) == {"item": "OH-T01"}
        do("take contents/0")
        assert value(shop, NECTAR, "contents", 0, "item") == "OH-B01"
        do("put contents/1/choose OH-S01")
        do("move contents/1/choose 3 0")
        assert value(shop, NECTAR, "contents", 1, "choose", 0) == "OH-S01"
        do("slot contents OH-B02", slot="Bar")
        assert value(shop, NECTAR, "contents", 3) == {"slot": "Bar", "choose": ["OH-B02"]}
        do("add reduction 0", **{
            "reduction/0/name": "Late nectar", "reduction/0/from": "2027-05-01", "reduction/0/until": "2027-05-09",
            "reduction/0/by": "10",
        })  # fmt: skip
        assert value(shop, NECTAR, "reduction", 0, "by") == "10 %"
        do("take reduction/0")
        assert not value(shop, NECTAR, "reduction")


def test_an_option_that_was_shown_first_is_so_no_more_once_it_is_taken_out(shop: Path) -> None:
    with opened(shop) as (client, desk):
        assert value(shop, NECTAR, "contents", 2, "default") == "OH-U01"
        assert post(client, desk, "OHS-1", NECTAR, do="take contents/2/choose/1").status_code == 200
        assert value(shop, NECTAR, "contents", 2, "default") is None
        assert value(shop, NECTAR, "contents", 2, "choose", 0) == "OH-S03"


@pytest.mark.parametrize(
    "action",
    ["take contents/9", "move contents 0 9", "move photos/x 0 1", "add name 0", "put ../x OH-B01", "burn contents/0",
     "take code/0", "slot contents OH-B01", "put contents OH B 01 \"]",
     "apart contents", "apart photos", "apart reduction", "apart variant"],
)  # fmt: skip
def test_what_no_button_says_changes_nothing(shop: Path, action: str) -> None:
    before = (shop / NECTAR).read_bytes()
    with opened(shop) as (client, desk):
        answer = post(client, desk, "OHS-1", NECTAR, do=action)
        assert answer.status_code in (409, 422)
        assert 'role="alert"' in answer.text
    assert (shop / NECTAR).read_bytes() == before


def test_what_is_written_in_a_row_of_a_variant_is_kept_of_that_variant(shop: Path) -> None:
    file = "sets/long-evening/set.toml"
    with opened(shop) as (client, desk):
        names = [name for name in Page(client.get("/sets/OHS-3").text).sends if name.endswith("/gtin")]
        assert len(names) == 3
        assert value(shop, file, "variant") is None
        status = names[1].replace("/gtin", "/status")
        answer = post(client, desk, "OHS-3", file, **{names[1]: "9520000010133", status: "last chance"})
        assert answer.status_code == 200
        assert value(shop, file, "variant") == [
            {"options": {"Jar": "OH-S03"}, "gtin": "9520000010133", "status": "last chance"}
        ]
        assert post(client, desk, "OHS-3", file, **{"variant/0/gtin": ""}).status_code == 200
        assert value(shop, file, "variant", 0) == {"options": {"Jar": "OH-S03"}, "status": "last chance"}
        wrong = post(client, desk, "OHS-3", file, **{names[0].replace("/gtin", "/price"): "dear"})
        assert wrong.status_code == 422
        name = names[0].replace("/gtin", "/price").replace("&", "&amp;")
        assert 'role="alert"' in wrong.text.partition(f'id="w/{name}"')[2].partition("</div>")[0]


@pytest.mark.parametrize(
    ("written", "page"), [('"OHS/1"', "/sets/OHS~11"), (r'"OHS\u002d1"', "/sets/OHS-1"), ("17", "/sets/17")]
)
def test_a_code_has_its_page_whatever_signs_it_has_and_however_it_is_written(
    shop: Path, written: str, page: str
) -> None:
    """A code may have a stroke in it; TOML has letters by their numbers, and a code of digits alone may be a number."""
    before = (shop / NECTAR).read_text(encoding="utf-8")
    (shop / NECTAR).write_text(re.sub(r"(?m)^code = .*", lambda _: f"code = {written}", before), encoding="utf-8")
    with opened(shop) as (client, desk):
        assert f'href="{page}"' in client.get("/sets").text
        said = client.get(page).text
        box = re.search(rf'"({page}/box/[^"]*)"', said)
        assert box is not None
        for address in (unescape(box[1]), f"{page}/photos", f"{page}/items", f"{page}/delete"):
            assert client.get(address).status_code == 200, address
        shown = re.search(r'name="(shown/set/[^"]*)" value="([^"]*)"', said)
        assert shown is not None
        data = desks.form(desk, **{shown[1]: shown[2]}, theme="Early hours")
        assert client.post(f"{page}/change", data=data).status_code == 200
    assert 'theme = "Early hours"' in (shop / NECTAR).read_text(encoding="utf-8")


def test_two_windows_that_change_one_field_lose_nothing(shop: Path) -> None:
    with opened(shop) as (client, desk):
        target = shown_name(Target(Role.SET, "OHS-1"))
        shown = digest_of((shop / NECTAR).read_bytes())
        first = client.post("/sets/OHS-1/change", data=desks.form(desk, **{target: shown, "theme": "Of the first"}))
        assert first.status_code == 200
        second = client.post("/sets/OHS-1/change", data=desks.form(desk, **{target: shown, "theme": "Of the second"}))
        assert second.status_code == 409
        assert "Of the first" in text(second.text)
        assert "Of the second" in text(second.text)
        assert value(shop, NECTAR, "theme") == "Of the first"
        digest = second.text.partition(f'name="{target}" value="')[2].partition('"')[0]
        chosen = client.post("/sets/OHS-1/change", data=desks.form(desk, **{target: digest, "theme": "Of the second"}))
        assert chosen.status_code == 200
        assert value(shop, NECTAR, "theme") == "Of the second"


def test_a_variant_that_has_a_note_by_now_keeps_it(shop: Path) -> None:
    """A row without a note is named by what is chosen, so that another order of notes leads to no other variant."""
    file = "sets/long-evening/set.toml"
    with opened(shop) as (client, desk):
        name = next(name for name in Page(client.get("/sets/OHS-3").text).sends if name.endswith("S03/gtin"))
        assert post(client, desk, "OHS-3", file, **{name: "9520000010133"}).status_code == 200
        assert post(client, desk, "OHS-3", file, **{name.replace("gtin", "code"): "OHS-3-X"}).status_code == 200
        assert value(shop, file, "variant") == [
            {"options": {"Jar": "OH-S03"}, "gtin": "9520000010133", "code": "OHS-3-X"}
        ]


def test_another_code_goes_through_all_files(shop: Path) -> None:
    with opened(shop) as (client, desk):
        shown = desks.text(client.get("/rename?old=OHS-1&new=OHS-11").text)
        assert "sets/first-nectar/set.toml" in shown
        assert value(shop, NECTAR, "code") == "OHS-1"
        answer = client.post("/rename", data=desks.form(desk, old="OHS-1", new="OHS-11"))
        assert answer.url.path == "/sets/OHS-11"
        assert value(shop, NECTAR, "code") == "OHS-11"
        assert "OHS-1" in str(value(shop, NECTAR, "old_codes"))
        taken = client.get("/rename?old=OHS-11&new=OHS-2")
        assert taken.status_code == 422
        assert 'role="alert"' in taken.text
        refused = client.post("/rename", data=desks.form(desk, old="OHS-11", new="OHS-2"))
        assert refused.status_code == 409
        assert value(shop, NECTAR, "code") == "OHS-11"


# Stories

GERMAN = "Sie sagte: „Für dich – ‚nur‘ für dich.“ Süß, größer, Straße.\n\n- eins\n- **zwei**\n"


def test_a_story_is_kept_letter_by_letter(shop: Path) -> None:
    file = shop / "sets/first-nectar/story.md"
    with opened(shop) as (client, desk):
        answer = post(client, desk, "OHS-1", NECTAR, story=GERMAN.replace("\n", "\r\n"))
        assert answer.status_code == 200
        assert file.read_text(encoding="utf-8") == GERMAN
        assert Page(client.get("/sets/OHS-1").text).sends["story"] == GERMAN
        french = post(client, desk, "OHS-1", NECTAR, **{"story/fr": "« Ça » {{ prices }}"})
        assert french.status_code == 200
        assert (shop / "sets/first-nectar/story.fr.md").read_text(encoding="utf-8") == "« Ça » {{ prices }}"
        assert post(client, desk, "OHS-1", NECTAR, **{"story/../../x": "out"}).status_code in (409, 422)
    assert not list(shop.rglob("*x.md"))


def test_placeholders_are_offered_with_their_values_in_the_language(demo: Path) -> None:
    with opened(demo) as (client, _):
        page = client.get("/sets/OHS-1").text
    offered = dict(
        re.findall(r'data-insert="([^"]*)" data-into="f/story"><[^>]*>[^<]*</span> <span>([^<]*)</span>', page)
    )
    assert offered["{{ set.name }}"] == "First Nectar"
    assert offered["{{ prices }}"] == "£27.00 (sugar scrub) or £29.00 (body butter)"
    assert offered["{{ season.off_sale | date }}"] == "10 May 2027"
    assert "Premier nectar" in text(page)


def test_a_story_is_seen_as_it_will_read_before_it_is_saved(demo: Path) -> None:
    before = (demo / "sets/first-nectar/story.md").read_bytes()
    with opened(demo) as (client, desk):
        look = client.post("/sets/OHS-1/story", data=desks.form(desk, text=GERMAN + "<b>{{ set.name }}</b>")).json()
        assert look["fault"] == ""
        assert "<strong>zwei</strong>" in look["page"]
        assert "„Für dich – ‚nur‘ für dich.“" in look["page"]
        assert "&lt;b&gt;First Nectar" in look["page"]
        wrong = client.post("/sets/OHS-1/story", data=desks.form(desk, text="{{ set.nam }}")).json()
        assert "nam" in wrong["fault"]
    assert (demo / "sets/first-nectar/story.md").read_bytes() == before


# Items, drawing, folders that are not sound


def test_items_are_found_by_parts_of_their_names_with_price_and_stock(demo: Path) -> None:
    with opened(demo) as (client, _):
        hits = client.get("/sets/OHS-1/items?at=contents&q=CREAM+butter").text
        assert "Clover &amp; Cream" in hits
        assert "£16.00" in hits
        assert say("one.on_hand", count=31) in hits
        assert "OH-B01" not in hits
        assert 'value="put contents OH-U01"' in hits
        assert say("one.hits", count=0) in client.get("/sets/OHS-1/items?q=%22%3E%3Cscript%3E").text


def test_the_box_is_drawn_for_each_variant_that_lies_in_it(demo: Path) -> None:
    with opened(demo) as (client, _):
        page = client.get("/sets/OHS-1").text
        addresses = sorted(set(re.findall(r'src="(/sets/OHS-1/box/[^"]*)"', page)))
        assert len(addresses) == 3
        for address in addresses:
            drawing = client.get(address)
            assert drawing.headers["content-type"] == "image/svg+xml"
            assert drawing.text.startswith("<svg")
            assert "default-src 'none'" in drawing.headers["content-security-policy"]
        assert client.get("/sets/OHS-1/box/nothing").status_code == 404


def test_a_change_shows_in_the_figures_of_the_page_that_follows(shop: Path) -> None:
    with opened(shop) as (client, desk):
        before = Page(client.get("/sets/OHS-1").text).figures["OHS-1-U01"]
        after = Page(post(client, desk, "OHS-1", NECTAR, uplift="3.50").text).figures["OHS-1-U01"]
        assert Decimal(after["price"]) - Decimal(before["price"]) == Decimal("2.50")


@pytest.mark.parametrize("content", [b"name = ", b"", b"\xff\xfe", b'contents = 3\nphotos = "x"\nvariant = [1]'])
def test_a_set_whose_file_is_not_sound_has_a_page_all_the_same(tmp_path: Path, content: bytes) -> None:
    shop = clean_shop(tmp_path / "shop")
    (shop / "sets/broken").mkdir()
    (shop / "sets/broken/set.toml").write_bytes(content)
    with opened(shop) as (client, desk):
        page = client.get("/sets/broken")
        assert page.status_code == 200
        assert say("one.unread") in text(page.text)
        answer = post(client, desk, "broken", "sets/broken/set.toml", name="Mended")
        assert answer.status_code in (200, 409, 422)


def test_goods_whose_codes_end_alike_are_named_and_given_unlike_endings_by_a_button(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    rows = (shop / "items.csv").read_text(encoding="utf-8")
    row = next(line for line in rows.splitlines() if line.startswith("RR-J1,"))
    twin = row.replace("RR-J1", "QQ-J1").replace(row.split(",")[1], "Teasel & Thyme")
    (shop / "items.csv").write_text(f"{rows.rstrip()}\n{twin}\n", encoding="utf-8")
    (file,) = (shop / "sets").glob("*/set.toml")
    file.write_text(file.read_text(encoding="utf-8").replace('"RR-J2"', '"QQ-J1"'), encoding="utf-8")
    with opened(shop) as (client, desk):
        desk.shop_state.look()
        desk.shop_state.full(wait=60)
        page, code = client.get("/sets/RRS-1").text, "RRS-1"
        said = text(page)
        plain = "Willow Bark body butter (RR-J1) and Teasel & Thyme body butter (QQ-J1) both end in J1,"
        assert f"{plain} so two versions would have the same code." in said
        assert plain in text(client.get("/today").text)
        assert "“Its ending in the codes of versions”" in said
        places = re.findall(r'value="apart (contents/\d+/choose)"', page)
        assert len(places) == 1
        shown = dict(re.findall(r'name="(shown/[^"]*)" value="([^"]*)"', page))
        done = client.post(f"/sets/{code}/change", data=desks.form(desk, **shown, do=f"apart {places[0]}"))
        assert done.status_code == 200, text(done.text)
        assert "Make their endings unlike" not in text(done.text)
        parts = tomllib.loads(file.read_text(encoding="utf-8"))["contents"][1]["choose"]
        assert parts == ["RR-J1", {"item": "QQ-J1", "part": "QQJ1"}]
        desk.shop_state.full(wait=60)
        assert "both end in" not in text(client.get(f"/sets/{code}").text)


@pytest.mark.parametrize("code", ["new", "proposals"])
def test_a_set_whose_code_is_the_name_of_another_page_has_one_too(tmp_path: Path, code: str) -> None:
    root = clean_shop(tmp_path / "shop")
    file = root / "sets" / "dawn" / "set.toml"
    file.write_text(file.read_text(encoding="utf-8").replace('code = "RRS-1"', f'code = "{code}"'), encoding="utf-8")
    with opened(root) as (client, _):
        assert f'href="/sets/~2{code}' in client.get("/sets").text
        assert "Dawn on the Weir" in text(client.get(f"/sets/~2{code}").text)
        assert client.get(f"/sets/~2{code}/photos").status_code == 200
        assert client.get(f"/sets/{code}").url.path == f"/sets/{code}"  # the page for a new one, or for proposals
