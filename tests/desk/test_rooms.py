"""What rooms show and do, without a browser: Today, Sets, one set, Build, the start; and back to files on the disk."""

import re
import shutil
import time
import tomllib
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from html import unescape
from pathlib import Path

import pytest

from listkit.compute.build import build_catalog
from listkit.desk.edits import Role, Target
from listkit.desk.page import ROOMS, Desk, say
from listkit.desk.problems import grouped, plain
from listkit.desk.saving import shown_name
from listkit.desk.sets import wall
from listkit.desk.today import days_ahead, running_short
from listkit.desk.wording import page_words
from listkit.edit.past_lines import digest_of
from listkit.present.season import WORDS
from listkit.problem import Place, Problem
from listkit.read.shop import read_shop
from listkit.shipped import shipped_templates
from listkit.write.proof import is_proof
from tests.desk.desks import DAY, form, hidden, new_desk, opened, text
from tests.shops import clean_shop, demo_photos, demo_without_pictures, edited, small_demo

SHEET = (
    "No;What;Price;Makes;Weight (g);L x W x H (mm);In stock;Scent\n"
    "S1;Oat soap;6.00;1.60;108;80 x 55 x 25;40;oat\n"
    "S2;Rose soap;6.50;1.70;110;80 x 55 x 25;22;rose\n"
    "J1;Body butter;14.00;3.60;230;72 x 72 x 62;12;lavender\n"
)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_demo(tmp_path_factory.mktemp("demo") / "shop")


def shown(target: Target, shop: Path, file: str) -> dict[str, str]:
    return {shown_name(target): digest_of((shop / file).read_bytes())}


def checked(desk: Desk) -> None:
    assert desk.state is not None
    desk.state.look()
    assert desk.state.full(wait=60) is not None


def test_a_name_that_turns_the_text_around_is_shown_and_not_obeyed(tmp_path: Path) -> None:
    """U+202E shows what follows from right to left (Unicode Standard Annex 9, Bidirectional Algorithm)."""
    shop = clean_shop(tmp_path / "shop")
    with (shop / "items.csv").open("a", encoding="utf-8") as file:
        file.write("RR-Q1,\u202eRush & Mint,bar soap,100 g,6.50,,104,80 x 55 x 25,40,,,no\n")
    with opened(shop) as (client, desk):
        checked(desk)
        page = client.get("/today").text
    assert "\ufffdRush &amp; Mint</a>" in page
    assert "\u202e" not in page


def test_today_links_each_problem_to_its_field(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop", edited("sets/dawn/set.toml", 'season = "spring"', 'season = "sprung"'))
    with opened(shop) as (client, desk):
        checked(desk)
        page = client.get("/today")
        assert page.status_code == 200
        assert say("today.fix") in page.text
        assert 'href="/sets/RRS-1?at=season"' in page.text
        assert re.search(r'<select id="f/season"[^>]* autofocus', client.get("/sets/RRS-1?at=season").text)


def test_today_names_goods_without_a_code_and_links_to_the_field_that_is_to_mend(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    with (shop / "items.csv").open("a", encoding="utf-8") as file:
        file.write(",Rush & Mint,bar soap,100 g,6.50,,104,80 x 55 x 25,40,external-use;avoid-eyes,,no\n")
    with opened(shop) as (client, desk):
        checked(desk)
        page = client.get("/today").text
        links = dict(re.findall(r'<a href="([^"]*)">([^<]*Rush &amp; Mint)</a>', page))
        assert links == {
            "/shelf/item?line=6": "Rush &amp; Mint",
            "/shelf/item?line=6&amp;at=code": "Code of Rush &amp; Mint",
            "/shelf/item?line=6&amp;at=cost": "Cost of Rush &amp; Mint",
        }
        assert "“Cost” is missing." in text(page)
        assert re.search(r'<input [^>]*id="cost"[^>]* autofocus', client.get("/shelf/item?line=6&at=cost").text)


def test_today_shows_of_a_thousand_problems_some_and_all_where_asked(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    sheet = shop / "items.csv"
    sheet.write_text(sheet.read_text("utf-8") + "".join(f"Q{at},n\n" for at in range(1_000)), "utf-8")
    with opened(shop) as (client, desk):
        checked(desk)
        page = client.get("/today").text
        assert page.count('<li class="problem') <= 400
        assert re.search(r"\d more like these are not shown: show all", text(page))
        link = re.search(r'href="(/today\?all=yes#fix)"', page)
        assert link
        whole = client.get(link[1]).text
        assert whole.count('<li class="problem') > 1_000
        assert "more like these" not in text(whole)
        client.headers["accept-language"] = "fr"
        assert "de plus du même genre ne sont pas montrés" in text(client.get("/today").text)


def test_today_without_anything_to_do_says_so(tmp_path: Path) -> None:
    with opened(clean_shop(tmp_path / "shop", edited("shop.toml", "2027-02-01", "2026-02-01"))) as (client, desk):
        checked(desk)
        assert say("today.nothing") in text(client.get("/today").text)


def test_the_wall_has_every_set_once_by_season_with_what_the_command_shows(demo: Path) -> None:
    desk = new_desk(demo)
    assert desk.state is not None
    seen = desk.state.look(measured=True)
    shelves = tuple(wall(seen, ()))
    tiles = [tile for shelf in shelves for tile in shelf.tiles]
    shop, _ = read_shop(demo, photo_facts=demo_photos())
    facts = {each.code: each for each in build_catalog(shop).sets}
    assert sorted(tile.code for tile in tiles) == sorted(facts)
    assert [shelf.title for shelf in shelves][:2] == ["winter", "all year"], "what is on now comes first"
    for tile in tiles:
        each = facts[tile.code]
        assert f"{each.cheapest.amount}" in tile.price
        assert f"{each.dearest.amount}" in tile.price
        assert (tile.stock == say("sets.can_make", count=each.can_make)) == (each.can_make is not None)
    desk.state.end()


def test_drafts_stand_apart_and_what_cannot_be_computed_is_not_lost(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop", edited("sets/dawn/set.toml", "name =", 'status = "draft"\nname ='))
    broken = shop / "sets/broken/set.toml"
    broken.parent.mkdir()
    broken.write_text("name = [", encoding="utf-8")
    with opened(shop) as (client, desk):
        checked(desk)
        said = text(client.get("/sets").text)
        assert said.index(say("sets.drafts")) < said.index("Dawn on the Weir") < said.index(say("sets.lost"))
        assert "broken" in said.partition(say("sets.lost"))[2]
        assert client.get("/sets/broken").status_code == 200


def test_a_new_set_is_a_draft_in_its_folder_and_a_name_that_cannot_be_stays_on_the_page(tmp_path: Path) -> None:
    with opened(clean_shop(tmp_path / "shop")) as (client, desk):
        page = client.post("/sets/new", data=form(desk, name="Frost on the Panes"))
        assert page.status_code == 200
        assert (tmp_path / "shop/sets/frost-on-the-panes/set.toml").is_file()
        assert "Frost on the Panes" in page.text
        again = client.post("/sets/new", data=form(desk, name="Frost on the Panes"))
        assert again.status_code == 422
        assert 'value="Frost on the Panes"' in again.text


@pytest.mark.parametrize("begin", ["empty", "RRS-1"])
def test_a_new_set_begins_empty_or_with_another_and_is_taken_back(tmp_path: Path, begin: str) -> None:
    shop = clean_shop(tmp_path / "shop")
    with opened(shop) as (client, desk):
        page = client.post("/sets/new", data=form(desk, name="Frost on the Panes", begin=begin))
        assert page.status_code == 200
        made = tomllib.loads((shop / "sets/frost-on-the-panes/set.toml").read_text(encoding="utf-8"))
        old = tomllib.loads((shop / "sets/dawn/set.toml").read_text(encoding="utf-8"))
        assert made["status"] == "draft"
        assert "<title>Frost on the Panes" in page.text
        assert (made.get("contents") == old["contents"]) is (begin == "RRS-1")
        number = page.text.partition('name="change" value="')[2].partition('"')[0]
        client.post("/past/back", data=form(desk, change=number, here="/sets"))
        assert not (shop / "sets/frost-on-the-panes").exists()


def test_a_set_is_put_on_sale_and_taken_back_to_the_same_bytes(tmp_path: Path) -> None:
    shop, file = clean_shop(tmp_path / "shop"), "sets/dawn/set.toml"
    before = (shop / file).read_bytes()
    with opened(shop) as (client, desk):
        fields = shown(Target(Role.SET, "RRS-1"), shop, file)
        page = client.post("/sets/RRS-1/status", data=form(desk, status="draft", **fields))
        assert page.status_code == 200
        assert tomllib.loads((shop / file).read_text(encoding="utf-8"))["status"] == "draft"
        assert say("back.take") in page.text
        number = page.text.partition('name="change" value="')[2].partition('"')[0]
        back = client.post("/past/back", data=form(desk, change=number, here="/sets/RRS-1"))
        assert say("back.done") in back.text
    assert (shop / file).read_bytes() == before


def _on_sale_again(shop: Path) -> str:
    """Return what the page says once a set is put on sale."""
    with opened(shop) as (client, desk):
        fields = shown(Target(Role.SET, "RRS-1"), shop, "sets/dawn/set.toml")
        return text(client.post("/sets/RRS-1/status", data=form(desk, status="on sale", **fields)).text)


def _as_draft(shop: Path) -> Path:
    file = shop / "sets/dawn/set.toml"
    file.write_text(f'status = "draft"\n{file.read_text(encoding="utf-8")}', encoding="utf-8")
    return shop


def test_of_a_set_put_on_sale_it_is_said_which_places_show_it_and_why_another_does_not(tmp_path: Path) -> None:
    shop, other = _as_draft(clean_shop(tmp_path / "shop")), _as_draft(clean_shop(tmp_path / "other"))
    place = next((other / "channels").glob("*.toml"))
    name = tomllib.loads(place.read_text(encoding="utf-8"))["name"]
    assert f"Shown on {name}." in _on_sale_again(shop)
    place.write_text(f'leave_out = ["RRS-1"]\n{place.read_text(encoding="utf-8")}', encoding="utf-8")
    said = _on_sale_again(other)
    assert f"{name} leaves it out by its own settings." in said
    assert "Shown on" not in said


def test_of_a_set_put_on_sale_without_places_it_is_said_that_none_shows_it(tmp_path: Path) -> None:
    shop = _as_draft(clean_shop(tmp_path / "shop"))
    for each in (shop / "channels").glob("*.toml"):
        each.unlink()
    assert "No place shows it, as there is none yet" in _on_sale_again(shop)


def test_of_a_set_put_on_sale_before_its_season_it_is_said_which_place_waits(tmp_path: Path) -> None:
    shop = _as_draft(clean_shop(tmp_path / "shop"))
    for each in (shop / "channels").glob("*.toml"):
        each.write_text(f'before = "leave out"\n{each.read_text(encoding="utf-8")}', encoding="utf-8")
    settings, file = shop / "shop.toml", shop / "sets/dawn/set.toml"
    season = '\n[[season]]\nname = "thaw"\non_sale = 2027-02-01\noff_sale = 2027-03-31\n'
    settings.write_text(settings.read_text(encoding="utf-8") + season, encoding="utf-8")
    written = file.read_text(encoding="utf-8")
    file.write_text('season = "thaw"\n' + re.sub(r"(?m)^season = .*\n", "", written), encoding="utf-8")
    assert "shows it once its season has begun" in _on_sale_again(shop)


def test_a_wrong_value_is_told_and_nothing_is_written(tmp_path: Path) -> None:
    shop, file = clean_shop(tmp_path / "shop"), "sets/dawn/set.toml"
    before = (shop / file).read_bytes()
    with opened(shop) as (client, desk):
        fields = shown(Target(Role.SET, "RRS-1"), shop, file)
        page = client.post("/sets/RRS-1/status", data=form(desk, status="sold", **fields))
        assert page.status_code == 409
        assert "sold" in text(page.text)
    assert (shop / file).read_bytes() == before


def test_a_file_changed_elsewhere_is_not_overwritten_until_she_chooses(tmp_path: Path) -> None:
    shop, file = clean_shop(tmp_path / "shop"), "sets/dawn/set.toml"
    with opened(shop) as (client, desk):
        fields = shown(Target(Role.SET, "RRS-1"), shop, file)
        theirs = 'status = "last chance"\n' + (shop / file).read_text(encoding="utf-8")
        (shop / file).write_text(theirs, encoding="utf-8")
        page = client.post("/sets/RRS-1/status", data=form(desk, status="closed", **fields))
        assert page.status_code == 409
        assert (shop / file).read_text(encoding="utf-8") == theirs
        assert "last chance" in text(page.text)
        assert "closed" in text(page.text)
        name = shown_name(Target(Role.SET, "RRS-1"))
        digest = page.text.partition(f'name="{name}" value="')[2].partition('"')[0]
        chosen = client.post("/sets/RRS-1/status", data=form(desk, status="closed", **{name: digest}))
        assert chosen.status_code == 200
        assert tomllib.loads((shop / file).read_text(encoding="utf-8"))["status"] == "closed"


def test_a_set_is_taken_away_whole_and_comes_back_whole(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    folder = shop / "sets/dawn"
    before = {path.relative_to(shop): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    with opened(shop) as (client, desk):
        assert "Dawn on the Weir" in client.get("/sets/RRS-1/delete").text
        fields = shown(Target(Role.SET, "RRS-1"), shop, "sets/dawn/set.toml")
        page = client.post("/sets/RRS-1/delete", data=form(desk, **fields))
        assert page.status_code == 200
        assert not folder.exists()
        number = page.text.partition('name="change" value="')[2].partition('"')[0]
        client.post("/past/back", data=form(desk, change=number, here="/sets"))
    assert {path.relative_to(shop): path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before


def test_take_back_leads_to_no_other_site(tmp_path: Path) -> None:
    with opened(clean_shop(tmp_path / "shop")) as (client, desk):
        for here in ("//attacker.example/", "https://attacker.example/", "/\\attacker.example"):
            page = client.post("/past/back", data=form(desk, change="1", here=here), follow_redirects=False)
            assert "attacker" not in page.headers.get("location", "")
            assert "attacker" not in page.text.replace(here, "")


def built(desk: Desk, seconds: float = 120.0) -> None:
    end = time.monotonic() + seconds
    while desk.builder.running and time.monotonic() < end:
        time.sleep(0.05)
    assert not desk.builder.running


def test_a_build_shows_what_was_made_and_gives_every_file(tmp_path: Path, demo: Path) -> None:
    shop = shutil.copytree(demo, tmp_path / "shop")
    with opened(shop) as (client, desk):
        assert client.post("/build", data=form(desk)).status_code == 200
        built(desk)
        page = client.get("/build")
        progress = desk.builder.progress
        assert progress.step == "done", progress.lines
        entries = [entry for place in progress.places for entry in place.entries]
        assert progress.made == len(entries)
        for entry in entries:
            assert f'href="/made/{entry.path}"' in page.text
            assert say("build.keep_named", file=entry.path) in page.text
        for word, name in (("record", "record.jsonl"), ("datapackage", "datapackage.json")):
            count = sum(entry.path.endswith(name) for entry in entries)
            assert text(page.text).count(say(f"build.{word}")) == count > 0, name
        kinds = {entry.path.rpartition(".")[2]: entry for entry in entries if not is_proof(entry.path)}
        assert {"csv", "jpg", "pdf", "html"} <= set(kinds)
        for ending, entry in kinds.items():
            answer = client.get(f"/made/{entry.path}")
            assert answer.content == (shop / "out" / entry.path).read_bytes()
            inline = answer.headers["content-disposition"].startswith("inline")
            assert inline == (ending in {"jpg", "png", "webp", "avif", "pdf", "html", "txt", "md", "svg"})
            if ending in {"html", "svg"}:
                assert "sandbox" in answer.headers["content-security-policy"]
        events = client.get("/build/events").text
        assert '"running": false' in events
        checked(desk)
        assert "Hedgerow Fair online" in text(client.get("/today").text)


def test_a_build_is_stopped_and_leaves_no_half_file(tmp_path: Path, demo: Path) -> None:
    shop = shutil.copytree(demo, tmp_path / "shop")
    with opened(shop) as (client, desk):
        client.post("/build", data=form(desk))
        client.post("/build/stop", data=form(desk))
        built(desk)
        assert desk.builder.progress.step == "stopped"
        assert say("build.stopped") in text(client.get("/build").text)
    assert not [path for path in (shop / "out").rglob("*") if ".part" in path.name]


def test_days_ahead_come_in_their_order_and_no_later_than_two_months(demo: Path) -> None:
    shop, _ = read_shop(demo, photo_facts=demo_photos())
    days = tuple(days_ahead(shop, DAY))
    assert [day.left for day in days] == sorted(day.left for day in days)
    assert [(day.what, day.left) for day in days] == [("last day of winter", 25)]


def test_what_runs_short_is_counted_with_what_is_held_back(demo: Path) -> None:
    shop, _ = read_shop(demo, photo_facts=demo_photos())
    catalog = build_catalog(shop)
    most = 3 + shop.settings.stock.hold_back
    expected = [each.name for each in catalog.sets if each.can_make is not None and each.can_make <= most]
    assert sorted(short.name for short in running_short(catalog)) == sorted(expected)


# The start


def test_without_a_shop_every_room_leads_to_the_start(tmp_path: Path) -> None:
    with opened(tmp_path) as (client, _):
        for room in ("", *ROOMS, "build"):
            assert client.get(f"/{room}", follow_redirects=True).url.path == "/start"


def test_the_small_example_has_her_name_currency_and_country_and_opens(tmp_path: Path) -> None:
    with opened(tmp_path / "new") as (client, desk):
        page = client.post("/start/small", data=form(desk, name='Bee "&" \\1 Bramble', currency="EUR", country="fr"))
        assert page.url.path == "/today"
        stated = tomllib.loads((tmp_path / "new/shop.toml").read_text(encoding="utf-8"))
        assert (stated["name"], stated["currency"], stated["country"]) == ('Bee "&" \\1 Bramble', "EUR", "FR")
        checked(desk)
        assert say("today.fix") not in text(client.get("/today").text)


@pytest.mark.parametrize(
    ("fields", "key"),
    [
        ({"name": "", "currency": "GBP", "country": "GB"}, "start.name_missing"),
        ({"name": "Bee", "currency": "", "country": "GB"}, "start.currency_missing"),
        ({"name": "Bee", "currency": "GBP", "country": ""}, "start.country_missing"),
        ({"name": "Bee", "currency": "GBP", "country": "é1"}, "start.country_missing"),
    ],
)
def test_what_is_missing_is_told_and_what_was_typed_stays(tmp_path: Path, fields: dict[str, str], key: str) -> None:
    with opened(tmp_path / "new") as (client, desk):
        page = client.post("/start/small", data=form(desk, **fields))
        assert page.status_code == 422
        assert say(key) in text(page.text)
        assert f'value="{fields["name"]}"' in page.text
    assert not (tmp_path / "new").exists()


def test_her_own_sheet_becomes_a_shop_with_what_she_chose(tmp_path: Path) -> None:
    (tmp_path / "else.txt").write_text("hers", encoding="utf-8")
    with opened(tmp_path) as (client, desk):
        sheet = {"sheet": ("C:\\stock\\my stock.csv", SHEET.encode(), "text/csv")}
        page = client.post("/start/sheet", data=form(desk, name="Bee & Bramble"), files=sheet)
        assert page.status_code == 200
        for cell in ("Oat soap", "6.50", "72 x 72 x 62", "What", "Makes"):
            assert cell in page.text
        columns = {"0": "code", "1": "name", "2": "retail", "3": "cost", "4": "weight (g)", "5": "size (mm)",
                   "6": "on hand", "7": "-"}  # fmt: skip
        chosen = {f"column-{at}": says for at, says in columns.items()}
        stated = {**hidden(page.text), "name": "Bee & Bramble", "currency": "GBP", "country": "GB"}
        twice = client.post(
            "/start/columns",
            data={**stated, **chosen, "column-3": "retail"},
        )
        assert twice.status_code == 422
        assert "cannot both be “Price”: leave one of them alone." in text(twice.text)
        made = client.post("/start/columns", data={**stated, **chosen})
        assert made.url.path == "/today"
        shop = tmp_path / "bee-bramble"
        assert (shop / "my stock.csv").read_bytes() == SHEET.encode()
        read, _ = read_shop(shop)
        assert [(item.code, str(item.retail), item.on_hand) for item in read.items] == [
            ("S1", "6.00", 40), ("S2", "6.50", 22), ("J1", "14.00", 12)
        ]  # fmt: skip
        assert all(item.scent == "" for item in read.items), "a column that she left alone is not read"
    assert (tmp_path / "else.txt").read_text(encoding="utf-8") == "hers"


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("photo.csv", b"\xff\xd8\xff\xe0 no sheet"),
        ("../shop.toml", b"name = 1"),
        (".hidden.csv", b"code,name\n"),
        ("empty.csv", b""),
        ("rates.csv", b"code,name\nA,B\n"),
        ("zip.xlsx", b"PK\x03\x04 nothing"),
    ],
)
def test_what_is_no_sheet_is_told(tmp_path: Path, name: str, content: bytes) -> None:
    with opened(tmp_path / "new") as (client, desk):
        page = client.post("/start/sheet", data=form(desk), files={"sheet": (name, content, "text/csv")})
        assert page.status_code == 422
        assert 'role="alert"' in page.text
        assert desk.sheet is None


# Words and templates


def test_every_word_is_used_and_every_word_that_is_used_is_there() -> None:
    folder = shipped_templates() / "desk"
    sources = [*folder.glob("*.html"), *(Path(say.__code__.co_filename).parent).glob("*.py")]
    used = "\n".join(source.read_text(encoding="utf-8") for source in sources)

    # words that name what a count within them counts
    counted = re.findall(r"\{\w+:(\w+)\}", (folder / "words" / "en.toml").read_text(encoding="utf-8"))
    used += "".join(f'"count.{name}"' for name in counted)

    def keys(table: object, begin: str) -> list[str]:
        if not isinstance(table, dict) or set(table) == {"single", "several"}:
            return [begin]
        return [key for name, inner in table.items() for key in keys(inner, f"{begin}.{name}".lstrip("."))]

    # the last part of these is put together
    families = (
        "room.", "build.", "moved.", "status.", "not_saved.", "one.field.", "item.field.", "shelf.column.",
        "one.step.", "columns.why.", "columns.unit.", "today.fix", "today.look", "today.drafts",
        "photos.side.", "photos.says.", "places.gets.", "place.none.", "place.tick.", "place.ticks.", "place.singles.",
        "new_place.kinds.", "moves.done.", "stock.kind.", "stock.did.", "stock.column.", "fact.", "away.names.",
        "shops.field.", "order.state.", "order.step.", "order.noted.", "order.paper.",
        "order.back_", "terms.paper.", "print.kind.", "print.from.", "measure.read.",
        "shop.at.", "shop.why.", "shop.begin.", "shop.begin_why.", "shop.end.", "shop.new.", "shop.add.",
        "rows.title.", "rows.lead.", "rows.field.", "word.", "shot.", "stock.pack.", "file.",
        "season.", "shown_by.",
    )  # fmt: skip
    for key in keys(page_words(), ""):
        assert f'"{key}"' in used or key.startswith(families), key


@pytest.mark.parametrize(
    ("place", "label", "address"),
    [
        (Place("sets/dawn/set.toml", key=("contents", 0, "item")), "Item", "/sets/RRS-1?at=contents%2F0%2Fitem"),
        (Place("sets/dawn/set.toml"), "", "/sets/RRS-1"),
        (Place("sets/dawn/photos/open box.png"), "Photos", "/sets/RRS-1/photos?at=open+box.png"),
        (Place("sets/dawn/set.toml", key=("photos", 0)), "Photos", "/sets/RRS-1/photos?at=photos%2F0"),
        (Place("sets/dawn/story.fr.md", 3), "Story", "/sets/RRS-1?at=story%2Ffr"),
        (Place("items.csv", 1, column="Preis"), "", "/shelf"),
        (Place("packaging.toml", key=("box", 0, "inside")), "Inside size", "/shelf/boxes?at=box%2F0%2Finside"),
        (Place("channels/stall.toml", key=("fee",)), "Its share of a sale", "/place/stall#fee"),
        (Place("shop.toml", key=("season", 0, "off_sale")), "Last day", "/shop?at=season%2F0%2Foff_sale"),
    ],
)  # fmt: skip
def test_a_problem_knows_its_field_and_its_address(tmp_path: Path, place: Place, label: str, address: str) -> None:
    shop, _ = read_shop(clean_shop(tmp_path / "shop"))
    (group,) = grouped((Problem(place, "x", "m"),), shop, ())
    assert [(each.label, each.address) for each in group.told] == [(label, address)]


def test_keys_of_a_table_are_called_as_in_that_table() -> None:
    said = plain('[[silenced]] caution = "patch-test", items = ["OH-B01"], reason = "..."', "items.csv")
    assert said == "“Cautions that are not printed” “Caution”: patch-test, “Left off”: OH-B01, “Why”"


def test_a_message_that_looks_like_an_entry_without_end_takes_no_time() -> None:
    """Where a value ended was tried at each of its letters, in each of its parts: 14 took minutes."""
    said = plain("Write { a = " + " = ".join(["bbbbbb"] * 40), "shop.toml")
    assert said.startswith("Write { a = bbbbbb")


def test_today_says_in_sentences_what_the_day_comes_to(tmp_path: Path) -> None:
    """Out of what the shop says: its next season, and one thing to mend in one set."""
    change = edited("sets/dawn/set.toml", 'season = "spring"', 'season = "sprung"')
    season = edited("shop.toml", "2027-02-01", "2026-12-24")
    with opened(clean_shop(tmp_path / "shop", {**change, **season})) as (client, desk):
        checked(desk)
        said = text(client.get("/today").text.partition('<div class="of-the-day">')[2].partition("</div>")[0])
        assert "In 25 days, on 24 December 2026: spring begins ." in said
        assert "Before anything goes out, 1 thing must be mended : in Dawn on the Weir." in said


def test_no_message_of_ours_speaks_of_a_key_on_the_desk() -> None:
    """Every message that the folders of problems show, as the desk words it."""
    pattern = re.compile(r"(?:Must fix|Look at) · ([^:,]*)[^:]*: (.*?)  [a-z-]+$")
    said = [
        plain(match[2], match[1])
        for file in sorted(Path("tests/problems").glob("*/expected.txt"))
        for line in file.read_text(encoding="utf-8").splitlines()
        if (match := pattern.search(line)) and match[1]
    ]
    assert len(said) > 100
    bare = re.compile(r"\[\[|[a-z] = [\"\[{]|\b(uplift|GTIN|byte order mark)\b|(?<![\w\"./])[a-z]+_[a-z]+(?![\w/])")
    assert [text for text in said if bare.search(re.sub(r'"[^"]*"|{{.*?}}', '""', text))] == []


# A folder that anybody may have written


def test_a_shop_whose_every_text_is_markup_is_shown_as_text(tmp_path: Path) -> None:
    evil = '\\"><script>alert(1)</script><img src=x onerror=alert(2)>'
    shop = clean_shop(tmp_path / "shop")
    for file, keys in {
        "shop.toml": ("name", "address"),
        "sets/dawn/set.toml": ("name", "theme", "season", "title"),
        "channels/stall.toml": ("name",),
    }.items():
        lines = (shop / file).read_text(encoding="utf-8").splitlines()
        at = next((at for at, line in enumerate(lines) if line.startswith("[")), len(lines))
        kept = [line for line in lines[:at] if line.partition(" = ")[0] not in keys]
        lines = [*kept, *(f'{key} = "{evil}"' for key in keys), *lines[at:]]
        (shop / file).write_text("\n".join(lines) + "\n", encoding="utf-8")
    (shop / "sets/dawn/story.md").write_text('"><script>alert(3)</script>\n', encoding="utf-8")
    with opened(shop) as (client, desk):
        checked(desk)
        for path in ("/today", "/sets", "/sets/RRS-1", "/sets/RRS-1/listing/stall", "/sets/RRS-1/delete", "/build",
                     "/sets/new", '/sets/"><script>alert(1)</script>', "/start"):  # fmt: skip
            page = client.get(path)
            assert page.status_code in (200, 404)
            assert "<script>" not in page.text, path
            assert "<img src=x" not in page.text, path
        answer = client.post("/sets/new", data=form(desk, name='"><script>alert(4)</script>' * 5))
        assert "<script>" not in answer.text


def test_a_proposal_is_made_into_a_set_by_its_card_and_what_cannot_be_stays_there(tmp_path: Path) -> None:
    shop = demo_without_pictures(tmp_path / "shop")
    with opened(shop) as (client, desk):
        cards = re.findall(r'name="codes" value="([^"]+)"', client.get("/sets/proposals").text)
        assert len(cards) == 10
        nameless = client.post("/sets/proposals", data=form(desk, name="", codes=cards[1]))
        assert (nameless.status_code, say("sets.name_missing") in text(nameless.text)) == (422, True)
        gone = client.post("/sets/proposals", data=form(desk, name="Grey Morning", codes="OH-B01 OH-X99"))
        assert say("proposals.moved") in text(gone.text)
        assert client.post("/sets/proposals", data=form(desk, name="Grey Morning", codes=cards[1])).status_code == 200
        made = tomllib.loads((shop / "sets/grey-morning/set.toml").read_text(encoding="utf-8"))
        fixed = [each["item"] for each in made["contents"] if "item" in each]
        [choose] = [each["choose"] for each in made["contents"] if "choose" in each]
        assert sorted((*fixed, *choose)) == sorted(cards[1].split())
        assert cards[1] not in client.get("/sets/proposals").text


def test_proposals_for_a_place_and_of_one_scent_and_a_place_that_takes_nothing(tmp_path: Path) -> None:
    shop = demo_without_pictures(tmp_path / "shop")
    (shop / "channels").mkdir()
    (shop / "channels/idle.toml").write_text('name = "Idle"\nmake = []\n', encoding="utf-8")
    (shop / "channels/dear.toml").write_text('name = "Dear"\nmake = ["listings"]\nfee = "75 %"\n', encoding="utf-8")
    (shop / "channels/fair.toml").write_text('name = "Fair"\nmake = ["listings"]\n', encoding="utf-8")
    with opened(shop) as (client, desk):
        assert "leaves too little" in text(client.get("/sets/proposals").text)
        fair = client.get("/sets/proposals?place=fair&one_scent=on").text
        cards = re.findall(r'name="codes" value="([^"]+)"', fair)
        assert len(cards) == 10
        assert 'name="one_scent" checked' in fair
        idle = client.get("/sets/proposals?place=idle")
        assert (idle.status_code, "Idle takes nothing" in text(idle.text)) == (422, True)
        assert client.get("/sets/proposals?place=nowhere").status_code == 422
        sent = form(desk, name="One Hedge", codes=cards[0], place="fair", one_scent="on")
        assert client.post("/sets/proposals", data=sent).status_code == 200
        assert (shop / "sets/one-hedge/set.toml").is_file()
        lines = (shop / "items.csv").read_text(encoding="utf-8").splitlines()
        (shop / "items.csv").write_text("\n".join(lines[:2]) + "\n", encoding="utf-8")
        assert "only one of the items is on sale" in text(client.get("/sets/proposals").text)


def test_a_season_is_looked_back_on_in_the_past(tmp_path: Path) -> None:
    with opened(demo_without_pictures(tmp_path / "shop")) as (client, _desk):
        assert "/past/season?name=winter" in client.get("/past").text
        said = text(client.get("/past/season?name=winter").text)
        assert "Nothing moved of these sets" in said
        assert "Juniper & Pine bath salts" in said
        assert client.get("/past/season?name=nowhere").status_code == 404


def test_the_words_of_a_season_are_those_of_the_command_and_the_readers_own(tmp_path: Path) -> None:
    """English as the command has it, no word more or less; in French its headings and columns are French."""
    assert page_words()["season"] == WORDS
    with opened(demo_without_pictures(tmp_path / "shop")) as (client, _desk):
        client.headers["accept-language"] = "fr"
        said = client.get("/past/season?name=winter").text
    assert "Comment l’écouler" in text(said)
    assert "se garde jusqu’au" in text(said)
    assert '<span lang="en">Nothing moved of these sets' in said
    assert WORDS["clearing"] not in text(said)


def test_a_season_looked_back_on_shows_a_picture_and_a_bar_of_each_set(tmp_path: Path) -> None:
    """Two of the first variant went at the web shop and one at the stall: a bar of two parts, with the words beside."""
    shop = small_demo(tmp_path / "shop")
    parts = ("OH-X01", "OH-C01", "OH-U01", "box L")
    rows = [
        f"2026-11-{day},sold,{code},{number},{place},OHS-5-U01,,1-0000000{number}"
        for day, number, place in (("20", 2, "web_shop"), ("21", 1, "stall"))
        for code in parts
    ]
    heading = "day,kind,code,quantity,place,set,note,batch"
    (shop / "movements.csv").write_text("\n".join([heading, *rows, ""]), encoding="utf-8")
    with opened(shop) as (client, _desk):
        page = client.get("/past/season?name=winter").text
        [picture] = re.findall(r'<img src="(/sets/OHS-5/photos/[^"]+)"', page)
        assert client.get(unescape(picture)).headers["content-type"] == "image/jpeg"
        [bar] = re.findall(r'<svg class="bar".*?</svg>', page)
        lengths = [float(each) for each in re.findall(r' width="([0-9.]+)"', bar)]
        assert len(lengths) == 2
        assert lengths[0] > lengths[1]
        assert abs(sum(lengths) - 100) < 0.2
        assert "Own web shop 2 for " in text(page)
        assert "Saturday stall 1 for " in text(page)


def test_a_save_that_keeps_a_set_on_sale_back_says_so_and_the_wall_shows_it(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    items = Target(Role.ITEMS)
    with opened(shop) as (client, desk):
        checked(desk)
        seen = desk.shop_state.look()
        item = next(each for each in seen.catalog.sets[0].items if each.cautions)
        names = [each.name for each in seen.opened.shop.folders if item.code in each.items and not each.draft]
        fields = {"row": item.code, "cell/cautions": "Keep-away"}
        sent = form(desk, **fields, **shown(items, shop, "items.csv"))
        said = client.post("/shelf/item", data=sent)
        assert names
        assert all(name in text(said.text) for name in names)
        assert "not sent out until this is mended" in text(said.text)
        note = text(said.text).partition("this is mended")[2][:200]
        assert "there is no caution" in note.lower(), note
        assert f'href="/shelf/item?row={item.code}&amp;at=cautions"' in said.text
        checked(desk)
        assert "1 thing to mend" in text(client.get("/sets").text)
        sent = form(desk, **{**fields, "cell/cautions": "external-use"}, **shown(items, shop, "items.csv"))
        assert "not sent out" not in text(client.post("/shelf/item", data=sent).text)


@pytest.mark.parametrize(("measure", "unit"), [("", "mm"), ('measure = "customary"\n', "in")])
def test_a_size_without_its_unit_is_taken_in_that_of_the_shop_and_said(tmp_path: Path, measure: str, unit: str) -> None:
    shop = clean_shop(tmp_path / "shop", edited("shop.toml", 'currency = "', f'{measure}currency = "'))
    sheet = (shop / "items.csv").read_text(encoding="utf-8").replace("size (mm)", "size")
    (shop / "items.csv").write_text(re.sub(r"(\d+ x \d+ x \d+)", r"\1 mm", sheet), encoding="utf-8")
    with opened(shop) as (client, desk):
        assert desk.state is not None
        code = desk.state.look().opened.shop.items[0].code
        sent = {"row": code, "cell/size": "2 x 2 x 1.5", **shown(Target(Role.ITEMS), shop, "items.csv")}
        page = text(client.post("/shelf/item", data=form(desk, **sent)).text)
        assert f"Outside size is taken as 2 x 2 x 1.5 {unit}." in page
        item = desk.state.look().opened.shop.items[0]
        assert item.size.height.mm == {"mm": Decimal("1.5"), "in": Decimal("38.1")}[unit]


def test_numbers_with_a_comma_have_their_button_where_they_are_told_and_on_the_shelf(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    sheet = (shop / "items.csv").read_text(encoding="utf-8")
    (shop / "items.csv").write_text(sheet.replace("9.00", '"9,00"'), encoding="utf-8")
    with opened(shop) as (client, desk):
        checked(desk)
        assert 'action="/shelf/points"' in client.get("/today").text.partition('id="fix"')[2]
        assert 'action="/shelf/points"' in client.get("/shelf").text
        sent = form(desk, here="/shelf", **shown(Target(Role.ITEMS), shop, "items.csv"))
        page = client.post("/shelf/points", data=sent)
        assert page.url.path == "/shelf"
        assert 'action="/shelf/points"' not in page.text
        assert (shop / "items.csv").read_text(encoding="utf-8").replace('"9.00"', "9.00") == sheet


def test_today_without_a_set_leads_to_the_first_one(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    shutil.rmtree(shop / "sets")
    with opened(shop) as (client, desk):
        checked(desk)
        page = client.get("/today").text
        assert 'href="/sets/new">make your first one</a>' in page
        assert say("today.nothing_to_fix") not in page


def test_the_last_day_to_post_is_among_the_days_that_come(demo: Path) -> None:
    shop, _ = read_shop(demo, photo_facts=demo_photos())
    seasons = [each.model_copy(update={"last_post": DAY + timedelta(19)}) for each in shop.settings.seasons[:1]]
    shop = replace(shop, settings=shop.settings.model_copy(update={"seasons": tuple(seasons)}))
    first = next(iter(days_ahead(shop, DAY)))
    assert (first.what, first.left) == (f"last day to post for {seasons[0].name}", 19)
