"""The proof: every set as every place will show it, on a page that is whole HTML and lets nothing in."""

import base64
import hashlib
import json
import re
import shutil
import tomllib
from collections.abc import Iterator
from dataclasses import fields
from html import unescape
from pathlib import Path
from xml.etree.ElementTree import Element

import html5lib
import pytest
from playwright.sync_api import Browser, Page

from listkit.actions.build import build_shop
from listkit.actions.outputs import Outputs
from listkit.cli import main
from listkit.desk.page import say
from listkit.listing.formats import MEASURES
from listkit.listing.listings import Listing, Listings
from listkit.listing.proof import MOST_OFFERS, ProofWords, lines_of
from listkit.pipeline import Checked, check_shop
from listkit.problem import Level, Place, Problem
from listkit.save.save import Saved, save
from listkit.shipped import shipped_templates
from listkit.write import photo_crops, proof
from listkit.write.context import OwnersNotes, WriteContext
from listkit.write.proof import is_proof
from tests.desk.desks import CHROMIUM, DAY
from tests.desk.desks import opened as desk_opened
from tests.desk.test_browser import Opened, comes_true, open_desk, violations  # noqa: F401 (fixtures)
from tests.shops import CLEAN, clean_shop

EVIL = '"><script>window.hit=1</script><img src=x onerror=window.hit=1>'
TITLE = "Dawn on the Weir, a gift set in a box"
OF_SET = Problem(Place("sets/first-nectar/set.toml", 4), "title-long", "the title is long.", "Cut it.", Level.LOOK_AT)
OF_ITEMS = Problem(Place("items.csv", row="OH-B01"), "stock-shared", f"there is {EVIL}.", "", Level.LOOK_AT)
NOTES = OwnersNotes((OF_SET, OF_ITEMS), drafts=("Frost on the Panes",), broken=("Bent Lid",))
CONTEXT = WriteContext("test", notes=NOTES)
WORDS = tomllib.loads((shipped_templates() / "proof/en.toml").read_text(encoding="utf-8"))["proof"]


def read(text: str) -> Element:
    """Return the tree of a page by a parser that takes no error (html5lib, the parser of the HTML standard)."""
    parser = html5lib.HTMLParser(html5lib.getTreeBuilder("etree"), strict=True, namespaceHTMLElements=False)
    tree: Element = parser.parse(text)
    return tree


def texts(tree: Element) -> dict[str, str]:
    """Return what each element with an id says."""
    return {element.attrib["id"]: "".join(element.itertext()) for element in tree.iter() if "id" in element.attrib}


def made(listings: Listings, out: Path, context: WriteContext = CONTEXT) -> Saved:
    return save(tuple(proof.write(listings, context)), out)


@pytest.fixture(scope="module")
def page(demo: Listings, tmp_path_factory: pytest.TempPathFactory) -> str:
    """The proof of the demo."""
    out = tmp_path_factory.mktemp("proof")
    assert made(demo, out).failures == ()
    return (out / "proof.html").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def tree(page: str) -> Element:
    return read(page)


def by_set(listings: Listings) -> dict[str, list[Listing]]:
    sets: dict[str, list[Listing]] = {}
    for listing in listings:
        sets.setdefault(listing.facts.code, []).append(listing)
    return sets


def test_a_page_with_an_error_is_not_taken_by_the_parser(page: str) -> None:
    with pytest.raises(html5lib.html5parser.ParseError):
        read(page.replace("</article>", "", 1))


def test_every_text_that_is_copied_is_the_places_own_letter_for_letter(tree: Element, demo: Listings) -> None:
    said, count = texts(tree), 0
    for number, listings in enumerate(by_set(demo).values(), 1):
        for place, listing in enumerate(listings, 1):
            at = f"set-{number}-{place}"
            assert said[f"{at}-title"] == listing.title
            assert said[f"{at}-text"] == listing.description.replace("\r\n", "\n")
            assert said.get(f"{at}-keywords", "") == ", ".join(listing.keywords)
            count += 1
    assert count == len(demo.listings)
    assert {"fr", "en-GB"} == {element.attrib["lang"] for element in tree.iter("pre")}


def test_each_text_stands_against_the_limit_of_its_place(tree: Element, demo: Listings) -> None:
    articles = list(tree.iter("article"))
    assert len(articles) == len(demo.listings)
    shown = [[span.text for span in article.iter("span") if span.get("class") == "size"] for article in articles]
    wanted = []
    for listing in (listing for listings in by_set(demo).values() for listing in listings):
        limits, measure = listing.channel.limits, MEASURES[listing.channel.limits.count]
        unit = {"bytes": "bytes"}.get(limits.count, "characters")  # no text of the demo has an emoji
        sizes = [(measure(listing.title), limits.title, unit), (measure(listing.description), limits.description, unit)]
        sizes += [(len(listing.keywords), limits.keywords, "words")] if listing.keywords else []
        wanted.append([f"{size}{f' of {limit}' if limit else ''} {unit}" for size, limit, unit in sizes])
    assert shown == wanted


def test_where_a_place_counts_an_emoji_as_two_the_size_says_so(tmp_path: Path) -> None:
    """RFC 2781: U+1F41D, a bee, is two units of UTF-16."""
    stall = 'name = "Fair"\nmake = ["feed"]\nfeed = "csv"\n[limits]\ncount = "utf-16 units"\n'
    gift = (
        (CLEAN / "sets/dawn/set.toml").read_text(encoding="utf-8").replace("theme =", 'title = "A \U0001f41d"\ntheme =')
    )
    shop = clean_shop(tmp_path / "shop", {"channels/stall.toml": stall, "sets/dawn/set.toml": gift})
    main(["build", "--shop", str(shop), "--today", "2027-03-01"])
    assert "4 characters (an emoji counts as two)" in (shop / "out/proof.html").read_text(encoding="utf-8")


def test_a_set_that_is_left_out_is_shown_with_how_much_is_too_long(tmp_path: Path) -> None:
    """What is too long must be mended, so no place gets the set; the owner sees it all the same."""
    shop = clean_shop(tmp_path / "shop")
    shutil.copytree(shop / "sets/dawn", shop / "sets/dusk")
    (shop / "sets/dusk/photos/detail.png").unlink()
    gift = (shop / "sets/dawn/set.toml").read_text(encoding="utf-8").replace("RRS-1", "RRS-2").replace("Dawn", "Dusk")
    (shop / "sets/dusk/set.toml").write_text(gift, encoding="utf-8")
    titled = gift.replace("RRS-2", "RRS-1").replace("Dusk on", "Dawn on").replace("theme", f'title = "{TITLE}"\ntheme')
    (shop / "sets/dawn/set.toml").write_text(titled, encoding="utf-8")
    (shop / "channels/web.toml").write_text(stall(name="Web", limits='sets = ["RRS-2"]'), encoding="utf-8")
    limits = 'sets = ["RRS-1"]\n[limits]\ntitle = 20\nkeywords = 1\n'
    (shop / "channels/stall.toml").write_text(stall(limits=limits), encoding="utf-8")
    checked = check_shop(shop, DAY)
    assert [each.code for each in checked.aside.broken] == ["RRS-1"], checked.problems
    assert build_shop(checked, shop / "out").failures == ()
    tree = read((shop / "out/proof.html").read_text(encoding="utf-8"))
    [listing] = checked.aside.listings
    assert (listing.title, len(listing.keywords)) == (TITLE, 2)
    section = next(each for each in tree.iter("section") if "RRS-1" in "".join(each.itertext())[:60])
    over = [each.text for each in section.iter() if each.get("class") == "over"]
    assert over == [WORDS["aside_mend"], f"{len(TITLE) - 20} too many", "1 too many"]
    assert list(section.iter("img")) == []
    assert {image.attrib["src"].partition("/")[0] for image in tree.iter("img")} == {"web"}
    for image in tree.iter("img"):
        assert (shop / "out" / image.attrib["src"]).is_file()


def test_a_text_that_no_page_could_hold_is_left_to_the_files(tmp_path: Path) -> None:
    changes: dict[str, str | bytes | None] = {
        "sets/dawn/story.md": "Long. " * 9_000,
        "channels/stall.toml": stall(),
    }
    checked = check_shop(clean_shop(tmp_path / "shop", changes), DAY)
    assert len(checked.listings.listings[0].description) > 50_000
    assert made(checked.listings, tmp_path / "out", WriteContext("test", notes=OwnersNotes())).failures == ()
    page = (tmp_path / "out/proof.html").read_text(encoding="utf-8")
    assert len(page) < 40_000
    assert WORDS["unseen"] in page
    assert 'data-of="set-1-1-text"' not in page
    read(page)


def test_prices_and_what_is_kept_are_those_of_show_json(
    tree: Element, demo: Listings, demo_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    articles = iter(tree.iter("article"))
    for code, listings in by_set(demo).items():
        capsys.readouterr()
        assert main(["show", code, "--shop", str(demo_folder), "--json", "--today", str(DAY)]) == 0
        variants = {each["code"]: each for each in json.loads(capsys.readouterr().out)["variants"]}
        for listing in listings:
            rows = [row for row in next(articles).iter("tr") if row.find("td") is not None]
            assert len(rows) == min(len(listing.offers), MOST_OFFERS)
            for row in rows:
                figures = variants[row.findall("td")[0].text or ""]
                price, kept = (data.attrib["value"] for data in row.iter("data"))
                assert (price, kept) == (figures["price"], figures["kept"][listing.channel.key])


def test_pictures_are_the_files_that_a_build_makes_each_with_words(tree: Element, demo: Listings) -> None:
    built = {file.path for job in photo_crops.write(demo, CONTEXT) for file in job.files}
    shown = [(image.attrib["src"], image.attrib.get("alt")) for image in tree.iter("img")]
    assert {source for source, _ in shown} == built
    assert all(alt for _, alt in shown)
    lent = [article for article in tree.iter("article") if "those of Own web shop" in "".join(article.itertext())]
    assert len(lent) == len([listing for listing in demo if listing.channel.key == "web_shop_fr"])
    assert all(image.attrib["src"].startswith("web_shop/") for article in lent for image in article.iter("img"))


def test_the_tick_list_is_what_lies_in_the_box(tree: Element) -> None:
    """By hand from the demo's sets/first-nectar/set.toml and packaging.toml."""
    section = next(each for each in tree.iter("section") if "First Nectar" in "".join(each.itertext())[:40])
    ticks = ["".join(label.itertext()).strip() for label in section.iter("label")]
    assert len(list(section.iter("input"))) == len(ticks)
    assert ticks[0] == "Rosemary & Rind bar soap, 110 g"
    butters = "Clover & Cream body butter (100 ml) or Linden & Oat body butter (100 ml)"
    assert f"Jar, one of: Elderflower & Verbena sugar scrub (150 g), {butters}" in ticks
    assert ticks[-4:] == [WORDS["card"], WORDS["names"], WORDS["pictures_right"], WORDS["price_right"]]


def test_what_is_to_be_mended_is_at_its_set_or_at_the_top(tree: Element) -> None:
    marked = [each for each in tree.iter("section") if "mends" in each.attrib["class"]]
    assert ["The title is long. Cut it." in "".join(each.itertext()) for each in marked] == [True]
    top = next(each for each in tree.iter("div") if each.get("class") == "mend")
    said = " ".join("".join(top.itertext()).split())
    assert f"There is {EVIL}." in said
    assert "Bent Lid left out until it is mended" in said
    assert "Frost on the Panes a draft" in said
    assert [link.attrib["href"] for link in top.iter("a")] == [f"#{marked[0].attrib['id']}"]


def test_the_page_fetches_nothing_and_runs_its_own_script_alone(page: str, tree: Element) -> None:
    for element in tree.iter():
        for name in ("src", "href", "action", "srcset", "data"):
            assert not re.match(r"(?i)\s*(https?:)?//|\s*javascript:", element.get(name, "")), element.attrib
        assert not [name for name in element.attrib if name.startswith("on")]
    script, policy = page.partition("<script>")[2].partition("</script>")[0], page.partition('Policy" content="')[2]
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    policy = policy.partition('"')[0]
    rules = dict(rule.split(" ", 1) for rule in unescape(policy).split("; "))
    assert rules == {
        "default-src": "'none'", "img-src": "'self' file:", "style-src": "'unsafe-inline'",
        "script-src": f"'sha256-{digest}'", "form-action": "'none'", "base-uri": "'none'",
    }  # fmt: skip


def stall(*, name: str = "Market stall", limits: str = "") -> str:
    """Return the file of a place that takes texts and pictures."""
    return f"""name = "{name}"
make = ["feed", "listings", "photos"]
{limits}
[[crop]]
name = "square"
ratio = "1:1"
width = 40
"""


def hostile(folder: Path) -> Checked:
    """Return the clean shop with the markup of somebody else in every text that a place shows."""
    escaped = EVIL.replace('"', '\\"')
    shop, gift = ((CLEAN / path).read_text(encoding="utf-8") for path in ("shop.toml", "sets/dawn/set.toml"))
    for was in ("Dawn on the Weir", "The quiet hour before the mill wakes.", "spring gift"):
        assert was in gift
        gift = gift.replace(was, f"{was[:6]}{escaped}")
    changes: dict[str, str | bytes | None] = {
        "shop.toml": re.sub(r'(?m)^name = "(?=[A-Z])', f'name = "{escaped}'.replace("\\", "\\\\"), shop, count=1),
        "sets/dawn/set.toml": gift.replace('shows = ["RR-J2"]', f'shows = ["RR-J2"]\nalt = "{escaped}"'),
        "sets/dawn/story.md": f"{EVIL}\n",
        "channels/stall.toml": stall(name=escaped),
    }
    return check_shop(clean_shop(folder, changes), DAY)


@pytest.fixture
def hostile_page(tmp_path: Path) -> Path:
    checked = hostile(tmp_path / "shop")
    assert any(EVIL in listing.title for listing in checked.listings)
    saved = made(checked.listings, tmp_path / "out", WriteContext("test", notes=OwnersNotes(checked.problems)))
    assert saved.failures == ()
    return tmp_path / "out/proof.html"


def test_markup_in_an_owners_texts_is_text(hostile_page: Path) -> None:
    page = hostile_page.read_text(encoding="utf-8")
    assert page.count(EVIL.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace('"', "&#34;")) > 5
    tree = read(page)
    assert len(list(tree.iter("script"))) == 1
    assert not [image for image in tree.iter("img") if "onerror" in image.attrib or image.get("src") == "x"]


def test_a_large_shop_has_pages_that_name_each_other_and_each_set_once(
    demo: Listings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(proof, "MOST_SETS", 7)
    saved = made(demo, tmp_path)
    paths = ["proof.html", "proof-2.html", "proof-3.html"]
    assert sorted(saved.made) == sorted(paths)
    assert all(map(is_proof, saved.made))
    shown: list[str] = []
    for number, path in enumerate(paths, 1):
        tree = read((tmp_path / path).read_text(encoding="utf-8"))
        shown += [each.text or "" for each in tree.iter("h2") if each.get("id", "").endswith("-name")]
        links = [link for link in tree.iter("a") if link.attrib["href"].startswith("proof")]
        assert [link.attrib["href"] for link in links] == paths
        assert [link.get("aria-current") for link in links].index("page") == number - 1
        assert ("Bent Lid" in "".join(tree.itertext())) == (number == 1)
    assert shown == [next(iter(listings)).as_stated.name for listings in by_set(demo).values()]


def test_another_language_has_every_word_and_the_shop_decides_which(tmp_path: Path) -> None:
    for path in sorted((shipped_templates() / "proof").glob("*.toml")):
        words = tomllib.loads(path.read_text(encoding="utf-8"))["proof"]
        assert words.keys() == {field.name for field in fields(ProofWords)}, path
        assert words["language"] == path.stem
    shop = (CLEAN / "shop.toml").read_text(encoding="utf-8")
    for language, wanted in (("fr", "Épreuve\u00a0: "), ("nl", "Proof: ")):
        text = re.sub(r"(?m)^language = .*$", f'language = "{language}"', shop)
        folder = clean_shop(tmp_path / language, {"shop.toml": text})
        checked = check_shop(folder, DAY)
        if language == "nl":  # whose words listkit has not, so that there are no listings either
            assert not checked.listings.listings
            continue
        made(checked.listings, folder / "out", WriteContext("test", notes=NOTES))
        assert wanted in (folder / "out/proof.html").read_text(encoding="utf-8")


def test_a_fault_in_the_owners_words_of_the_proof_is_told_and_stops_nothing_else(tmp_path: Path) -> None:
    words = (shipped_templates() / "proof/en.toml").read_text(encoding="utf-8").replace("{shop}", "{shup}")
    checked = check_shop(clean_shop(tmp_path / "shop", {"templates/proof/en.toml": words}), DAY)
    saved = build_shop(checked, tmp_path / "shop/out")
    [failure] = saved.failures
    assert failure.paths == ("proof.html",)
    assert "templates/proof/en.toml" in failure.message
    assert "{shup}" in failure.message
    assert saved.made


def test_every_build_writes_it_and_no_place_is_said_to_have_it(tmp_path: Path) -> None:
    checked = check_shop(clean_shop(tmp_path / "shop"), DAY)
    saved = build_shop(checked, tmp_path / "shop/out")
    assert "proof.html" in saved.made
    assert not [path for path in Outputs(checked, tmp_path / "shop/out").expected if is_proof(path)]
    assert main(["record", "--all", "--shop", str(tmp_path / "shop"), "--today", str(DAY)]) == 0
    assert b"proof.html" not in (tmp_path / "shop/ledger.sqlite3").read_bytes()
    again = build_shop(checked, tmp_path / "shop/out")
    assert again.made == ()


def test_a_page_that_lacks_a_picture_does_not_take_its_place(demo: Listings, tmp_path: Path) -> None:
    [job] = proof.write(demo, CONTEXT)
    job.recipe(*job.inputs, (tmp_path / "page.html",))
    assert proof.verify_page(tmp_path / "page.html", job.recipe, job.inputs) == ""
    text = (tmp_path / "page.html").read_text(encoding="utf-8")
    (tmp_path / "page.html").write_text(re.sub(r"<img [^>]*>", "", text, count=1), encoding="utf-8")
    assert "missing" in proof.verify_page(tmp_path / "page.html", job.recipe, job.inputs)


def test_lines_of_a_text_are_what_is_read_whatever_its_markup() -> None:
    text = "<p>One<br>two</p><div>three <em>four</em></div><ol><li>five<li>six</ol><script>alert(1)</script><p>"
    assert [(line.kind, line.text) for line in lines_of(text)] == [
        ("plain", "One"), ("plain", "two"), ("plain", "three four"), ("item", "five"), ("item", "six"),
        ("plain", "alert(1)"),
    ]  # fmt: skip


# In a real browser, from a file


@pytest.fixture
def opened(browser: Browser, hostile_page: Path, request: pytest.FixtureRequest) -> Iterator[Page]:
    scheme, width = request.param
    context = browser.new_context(color_scheme=scheme, viewport={"width": width, "height": 800})
    page = context.new_page()
    page.goto(hostile_page.as_uri())
    yield page
    context.close()


needs_browser = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed: apt install chromium")


@needs_browser
@pytest.mark.parametrize("opened", [("light", 1280), ("dark", 360)], indirect=True)
def test_the_page_is_for_everybody_and_nothing_of_the_texts_runs(opened: Page) -> None:
    assert violations(opened) == []
    assert opened.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert opened.evaluate("window.hit") is None


@needs_browser
@pytest.mark.parametrize("opened", [("light", 1280)], indirect=True)
def test_a_text_is_copied_or_selected_where_a_file_has_no_clipboard_by_keys_alone(opened: Page) -> None:
    """Chromium lets no page write the clipboard that was not allowed to; then what is to be copied is selected."""
    title = opened.inner_text("#set-1-1-title")
    opened.focus("button[data-of=set-1-1-title]")
    opened.evaluate("() => { navigator.clipboard.writeText = async text => { window.copied = text; }; }")
    opened.keyboard.press("Enter")
    comes_true(opened, "window.copied")
    assert opened.evaluate("window.copied") == title
    assert opened.inner_text("#says") == WORDS["copied"]
    opened.evaluate("() => { navigator.clipboard.writeText = async () => { throw new Error('no'); }; }")
    text = opened.evaluate("document.getElementById('set-1-1-text').textContent")
    opened.focus("button[data-of=set-1-1-text]")
    opened.keyboard.press("Space")
    comes_true(opened, "getSelection().toString().length > 0")
    assert opened.inner_text("#says") == WORDS["selected"]
    assert opened.evaluate("getSelection().toString()").split() == text.split()


@needs_browser
def test_the_desk_shows_it_with_its_pictures_its_buttons_and_a_way_back(open_desk: Opened, tmp_path: Path) -> None:  # noqa: F811
    shop = hostile(tmp_path / "shop").shop.root
    assert build_shop(check_shop(shop, DAY), shop / "out").failures == ()
    desk = open_desk(shop)
    page = desk.page("/made/proof.html")
    comes_true(page, "[...document.images].some(image => image.naturalWidth > 0)")
    assert page.evaluate("window.hit") is None
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    page.focus("button[data-of=set-1-1-title]")
    page.keyboard.press("Enter")
    comes_true(page, "document.getElementById('says').textContent")
    assert page.inner_text("#says") == WORDS["copied"]
    assert page.evaluate("navigator.clipboard.readText()") == page.inner_text("#set-1-1-title")
    assert violations(page) == []
    page.get_by_role("link", name=say("build.back")).press("Enter")
    page.wait_for_url("**/build")
    assert desk.faults == []
    desk.leave()


def test_a_script_that_was_put_into_the_file_does_not_run_on_the_desk(tmp_path: Path) -> None:
    """Its policy knows the script of the template, whatever the file says; every other one is stopped."""
    shop = hostile(tmp_path / "shop").shop.root
    assert build_shop(check_shop(shop, DAY), shop / "out").failures == ()
    file = shop / "out/proof.html"
    script = re.search(r"<script>(.*?)</script>", file.read_text("utf-8"), re.DOTALL)
    assert script is not None
    digest = base64.b64encode(hashlib.sha256(script[1].encode()).digest()).decode()
    file.write_text(file.read_text("utf-8").replace(script[0], "<script>window.hit = 1</script>"), encoding="utf-8")
    with desk_opened(shop) as (client, _):
        answer = client.get("/made/proof.html")
        policy = dict(each.strip().partition(" ")[::2] for each in answer.headers["content-security-policy"].split(";"))
        assert policy["script-src"] == f"'sha256-{digest}'"
        assert (policy["default-src"], policy["form-action"], policy["frame-ancestors"]) == ("'none'",) * 3
        kept = client.get("/made/proof.html?keep=1")
        assert kept.content == file.read_bytes()
        assert client.get("/made/proof-9.html").status_code == 404
