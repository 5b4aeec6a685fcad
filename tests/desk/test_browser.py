"""The desk in a real browser: WCAG 2.2 through axe-core (from its wheel), zoom, keys, and stories from click to file.

One desk a module, many pages in one browser. Where Debian's Chromium is not installed nothing here runs.
"""

import threading
import tomllib
import zlib
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from PIL import Image
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Error, Locator, Page, Route, expect

from listkit.actions.build import Built, build_unless_braked
from listkit.desk import building
from listkit.desk.app import DeskServer
from listkit.desk.page import say
from listkit.edit.starter import copy_starter
from listkit.shipped import shipped_templates
from tests.cli.test_allot import allotting_shop
from tests.desk.desks import CHROMIUM, DAY, NOW
from tests.shops import clean_shop, small_demo

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed: apt install chromium")

TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
COLOURS = ["color-contrast", "link-in-text-block"]  # the rules of axe-core that look at colours
WIDTHS = (1280, 360)
# All that a rule can ask of a page but its colours: its elements, where each lies, and whether it is there to be seen.
LAYOUT = """() => document.documentElement.outerHTML + [...document.querySelectorAll("*")].map((each) => {
    const style = getComputedStyle(each), box = each.getBoundingClientRect();
    return [box.x, box.y, box.width, box.height, style.display, style.visibility, style.opacity, style.overflow,
      style.position, style.zIndex, style.fontSize, style.fontWeight, style.textDecorationLine, style.pointerEvents,
      style.clipPath, style.content].join();
  }).join(";")"""
PAGES = [
    "/today", "/sets", "/sets/new", "/sets/OHS-1", "/sets/OHS-1/photos", "/build", "/shelf", "/shelf/item?row=OH-B01",
    "/shelf/boxes", "/shelf/allotment", "/past", "/shop", "/sets/proposals", "/past/season?name=winter",
]  # fmt: skip
SMALL_PAGES = [
    "/sets/OHS-1/delete", "/sets/OHS-1/items?q=balm", "/nowhere", "/shelf/new", "/rename?old=OH-B01&new=OH-B77",
    "/shop?at=season&set=OHS-1", "/shop/table/postage", "/shop/table/ingredients",
    "/shelf/table/recipes", "/shelf/table/materials", "/shelf/table/plan",
    "/shelf/take?row=OH-B01", "/shelf/item?row=OH-M01&at=larger", "/sets/OHS-1?at=contents/2/choose/1",
]  # fmt: skip

PLACE_PAGES = [
    "/places", "/places/new", "/places/moves", "/place/web_shop", "/place/web_shop/columns", "/place/web_shop/feed",
    "/place/web_shop/publish", "/place/web_shop/compare", "/place/web_shop/delete", "/shops", "/shops/terms", "/print",
    "/print?kind=price-cards", "/print/measure", "/print/market", "/print/post", "/shelf/stock",
]  # fmt: skip


LEFT = "**/left"
"""Where a page waits for the next desk. It asks for nothing, not even an icon, and says of openers what the desk says:
otherwise Chromium begins another process on the way there and back (a fifth of a short story's CPU seconds)."""
_KEPT: list[Page] = []  # in each process, what desk after desk is shown on


def kept_page(browser: Browser) -> Page:
    """Return the page that is kept, which may show anything."""
    if not _KEPT or _KEPT[0].is_closed():
        _KEPT[:] = [browser.new_context().new_page()]
    return _KEPT[0]


def _emptied(route: Route) -> None:
    route.fulfill(
        body='<!doctype html><html lang="en"><title>left</title><link rel="icon" href="data:,">',
        content_type="text/html",
        headers={"cross-origin-opener-policy": "same-origin"},
    )


class Desk:
    """A desk that answers, and the browser that has opened it.

    One page is kept for all desks, since Chromium begins two processes for each new one (0.7 CPU seconds); cookies,
    permissions, headers and routes are taken from it before the next desk. A second page beside it is a new one.
    """

    def __init__(self, folder: Path, browser: Browser) -> None:
        self.folder = folder
        self.server = DeskServer(folder, None, lambda: DAY, lambda: NOW)
        self.server.start()
        self._browser = browser
        with self._new() as context:
            assert context.request.get(self.server.address).ok
            self._known = context.storage_state()
        self._open: list[BrowserContext] = []
        self._kept: Page | None = None
        self.faults: list[str] = []

    def _new(self, **look: object) -> BrowserContext:
        return self._browser.new_context(**look)  # type: ignore[arg-type]

    def page(
        self, path: str, *, scheme: str = "light", width: int = 1280, height: int = 800, scripts: bool = True
    ) -> Page:
        """Return a page of the desk, on which no script and no rule of the policy may fail."""
        self.faults = []
        if scripts and self._kept is None:
            page = self._kept = self._cleared()
            page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
            page.set_viewport_size({"width": width, "height": height})
        else:
            look = {"color_scheme": scheme, "viewport": {"width": width, "height": height}}
            context = self._new(**look, storage_state=self._known, java_script_enabled=scripts)
            self._open.append(context)
            page = context.new_page()
        page.on("pageerror", self._failed)
        page.on("console", self._told)
        page.goto(self.server.desk.keys.origin + path)
        return page

    def _cleared(self) -> Page:
        """Return the page that is kept, knowing this desk alone."""
        page = kept_page(self._browser)
        page.unroute_all()
        page.context.clear_permissions()
        page.context.set_extra_http_headers({})
        page.context.clear_cookies()
        page.context.add_cookies(self._known["cookies"])  # type: ignore[arg-type]  # as storage_state gives them
        return page

    def _failed(self, fault: Error) -> None:
        self.faults.append(str(fault))

    def _told(self, message: ConsoleMessage) -> None:
        if message.type == "error":
            self.faults.append(message.text)

    def leave(self) -> None:
        """Close every page that was opened; what is kept goes where no script runs, or with a desk that is closed."""
        while self._open:
            self._open.pop().close()
        page, self._kept = self._kept, None
        if page is None or page.is_closed():
            return
        page.remove_listener("pageerror", self._failed)
        page.remove_listener("console", self._told)
        try:
            page.route(LEFT, _emptied)
            page.goto(self.server.desk.keys.origin + "/left")
            page.unroute(LEFT)
        except Error:
            page.context.close()


Opened = Callable[[Path], Desk]


@pytest.fixture(scope="module")
def open_desk(browser: Browser) -> Iterator[Opened]:
    desks: list[Desk] = []

    def open_desk(folder: Path) -> Desk:
        desks.append(Desk(folder, browser))
        return desks[-1]

    yield open_desk
    for desk in desks:
        desk.leave()
        desk.server.end()


@pytest.fixture(scope="module")
def demo(open_desk: Opened, tmp_path_factory: pytest.TempPathFactory) -> Desk:
    desk = open_desk(small_demo(tmp_path_factory.mktemp("demo") / "shop"))
    state = desk.server.desk.shop_state
    state.look(measured=True)
    assert state.full(wait=60) is not None
    return desk


def comes_true(page: Page, expression: str, arg: object = None) -> None:
    """Wait until a JavaScript expression holds, asked from outside: the desk's pages allow no `eval`, in which
    `Page.wait_for_function` asks again."""
    for _ in range(200):
        if page.evaluate(expression, arg):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"never true: {expression}")


def violations(page: Page, rules: Sequence[str] = ()) -> list[str]:
    """Return what axe-core finds by some rules, or by all of TAGS, a line each; its script is read once a page."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE_SCRIPT)
    asked = {"type": "rule", "values": rules} if rules else {"type": "tag", "values": TAGS}
    options = {"runOnly": asked, "resultTypes": ["violations"]}
    found = page.evaluate("async (options) => (await axe.run(options)).violations", options)
    return [f"{each['id']}: {node['target']} {node['failureSummary']}" for each in found for node in each["nodes"]]


def assert_no_faults(page: Page, *, every_look: bool = False) -> None:
    """Fail where a page that is loaded has a fault, or is wider than its window, light or dark, in any of WIDTHS.

    In the dark it may differ in colours alone, so that no other rule can find anything else there. axe-core costs a
    third of a second a look: by default one width is looked at in the light and the other in the dark, which is which
    in turn by the page's path; `every_look` asks all four.
    """
    page.wait_for_load_state()  # a page whose style is still to come has what was waited for, and other colours
    of_light = WIDTHS[zlib.crc32(urlsplit(page.url).path.encode()) % len(WIDTHS)]
    for width in WIDTHS:
        page.emulate_media(color_scheme="light")
        page.set_viewport_size({"width": width, "height": 800})
        if every_look or width == of_light:
            assert violations(page) == [], (page.url, "light", width)
        across = page.evaluate("document.documentElement.scrollWidth")
        assert across <= width, f"{page.url} is {across} wide in {width}"
        for _ in range(20):  # pictures that come meanwhile move what is below them
            page.emulate_media(color_scheme="light")
            light = page.evaluate(LAYOUT)
            page.emulate_media(color_scheme="dark")
            if (dark := page.evaluate(LAYOUT)) == light:
                break
            page.wait_for_timeout(100)
        assert dark == light, (page.url, "the dark differs in more than colours", width)
        if every_look or width != of_light:
            assert violations(page, COLOURS) == [], (page.url, "dark", width)


# Every page is looked at by every rule in the light and by those of colours in the dark; in all four looks by hand.
LOOKS = pytest.mark.parametrize(
    "every_look", [pytest.param(False, id="in turn"), pytest.param(True, id="every look", marks=pytest.mark.long)]
)


def test_what_looks_for_faults_finds_them(browser: Browser) -> None:
    page = kept_page(browser)
    page.set_content("<html lang=en><title>x</title><main><h1>x</h1><img src=x><input></main>")
    assert {line.partition(":")[0] for line in violations(page)} == {"image-alt", "label"}


def test_every_rule_that_looks_at_colours_is_asked_in_the_dark(browser: Browser) -> None:
    """Those that axe-core itself files under colour, of the levels that are asked for."""
    page = kept_page(browser)
    page.evaluate(AXE_SCRIPT)
    rules = page.evaluate("axe.getRules(['cat.color']).map((rule) => [rule.ruleId, rule.tags])")
    assert [rule for rule, tags in rules if {*tags} & {*TAGS}] == COLOURS


def test_a_page_that_is_laid_out_otherwise_in_the_dark_is_seen(browser: Browser) -> None:
    page = kept_page(browser)
    page.set_content(
        "<html lang=en><title>x</title><style>@media (prefers-color-scheme: dark) { p { opacity: .3 } }</style>"
        "<main><h1>x</h1><p>x</p></main>"
    )
    with pytest.raises(AssertionError, match="differs in more than colours"):
        assert_no_faults(page)


def assert_targets_are_large(page: Page) -> None:
    """WCAG 2.2, 2.5.8: 24 by 24 CSS pixels; links within a line of text are excepted."""
    page.set_viewport_size({"width": 360, "height": 800})
    small = page.evaluate(
        """[...document.querySelectorAll("button, input:not([type=hidden]), select, nav a, a.button, summary")]
        .map((each) => [each.outerHTML.slice(0, 80), each.getBoundingClientRect()])
        .filter(([, box]) => box.width && (box.width < 24 || box.height < 24)).map(([html]) => html)"""
    )
    assert small == [], page.url


def assert_fits_when_zoomed(page: Page) -> None:
    """WCAG 2.2, 1.4.10: 1280 pixels at 400 % are 320 CSS pixels."""
    page.set_viewport_size({"width": 320, "height": 256})
    assert page.evaluate("document.documentElement.scrollWidth") <= 320, page.url


@LOOKS
def test_no_room_has_a_fault_of_accessibility(demo: Desk, *, every_look: bool) -> None:
    """Each page is opened once: for axe-core, for the size of what is clicked, and for the zoom."""
    page = demo.page(PAGES[0])
    for path in (*PAGES, *SMALL_PAGES):
        page.goto(demo.server.desk.keys.origin + path)
        assert_no_faults(page, every_look=every_look)
        if path in PAGES:
            assert_targets_are_large(page)
        assert_fits_when_zoomed(page)
    demo.leave()


def test_the_start_has_no_fault_of_accessibility(open_desk: Opened, tmp_path: Path) -> None:
    desk = open_desk(tmp_path / "new")
    page = desk.page("/start")
    assert_no_faults(page)
    (tmp_path / "stock.csv").write_text(
        "No;What;Price £;Makes me;Wt;Notes;Wt\nS1;Oat soap;6.00;1.60;108;nice;1\nS2;Rose;6.50;1.70;110;;2\n",
        encoding="utf-8",
    )
    page.set_input_files("#sheet", tmp_path / "stock.csv")
    page.get_by_role("button", name=say("start.read_it")).click()
    assert "Oat soap" in page.inner_text("main")
    assert_no_faults(page)
    desk.leave()


def test_pieces_are_shared_out_at_a_button_on_a_page_without_faults(open_desk: Opened, tmp_path: Path) -> None:
    desk = open_desk(allotting_shop(tmp_path / "shop"))
    page = desk.page("/shelf")
    page.get_by_role("link", name=say("shelf.allotment")).click()
    assert_no_faults(page)
    page.get_by_role("button", name=say("allotment.again")).click()
    expect(page.get_by_role("table").first).to_contain_text("RRS-1")
    assert_no_faults(page)
    page.set_viewport_size({"width": 360, "height": 740})
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    desk.leave()


# Besides being looked at in 360 pixels above, pages take turns in being seen in French.
BOTH_TURNS = pytest.mark.parametrize("step", [2, pytest.param(1, marks=pytest.mark.long)])


@BOTH_TURNS
def test_pages_in_french_need_no_scrolling_sideways_on_a_telephone(demo: Desk, step: int) -> None:
    """French words are longer: one look, without the checks of every page in English."""
    page = demo.page(PAGES[0], width=360)
    page.context.set_extra_http_headers({"accept-language": "fr"})
    for path in (*PAGES, *SMALL_PAGES, *PLACE_PAGES)[step - 1 :: step]:
        page.goto(demo.server.desk.keys.origin + path)
        assert page.evaluate("[document.documentElement.lang, document.documentElement.scrollWidth]") == ["fr", 360], (
            path
        )
    demo.leave()


def test_every_stop_of_the_tab_key_is_seen(demo: Desk) -> None:
    """WCAG 2.2, 2.4.7: whatever has the focus has an outline, or the tile around it has."""
    page = demo.page("/sets")
    for _ in range(12):
        page.keyboard.press("Tab")
        seen = page.evaluate(
            """(() => { const at = document.activeElement;
            const outlined = (each) => parseFloat(getComputedStyle(each).outlineWidth) >= 2
              && getComputedStyle(each).outlineStyle !== "none";
            const tile = at.closest(".tile");
            return at === document.body || outlined(at) || (tile && outlined(tile)); })()"""
        )
        assert seen, page.evaluate("document.activeElement.outerHTML")
    demo.leave()


def test_the_listing_is_framed_without_scripts_and_its_pictures_show(demo: Desk) -> None:
    page = demo.page("/sets/OHS-1", height=2600)
    framed = page.locator(".as-shown iframe").first
    framed.scroll_into_view_if_needed()
    frame = framed.element_handle().content_frame()
    assert frame is not None
    frame.wait_for_load_state("load")
    assert "First Nectar" in frame.inner_text("h1")
    assert frame.evaluate("[...document.images].map((each) => each.naturalWidth > 0)") == [True] * 3
    assert frame.evaluate("getComputedStyle(document.querySelector('main')).maxWidth") != "none"
    assert demo.faults == []
    demo.leave()


def test_a_foreign_page_can_neither_read_nor_change_nor_frame_the_desk(demo: Desk, tmp_path: Path) -> None:
    page = demo.page("/today")
    origin = demo.server.desk.keys.origin
    page.route(
        "http://attacker.example/**",
        lambda route: route.fulfill(
            content_type="text/html",
            body=f'<form id=f method=post action="{origin}/sets/new"><input name=name value=Stolen></form>'
            f'<iframe src="{origin}/today"></iframe>',
        ),
    )
    page.goto("http://attacker.example/")
    assert page.evaluate(f"fetch('{origin}/news').then(() => 'read', () => 'refused')") == "refused"
    assert all("Today" not in frame.content() for frame in page.frames[1:])
    with page.expect_navigation():
        page.evaluate("document.getElementById('f').submit()")
    assert not (demo.folder / "sets/stolen").exists()
    demo.leave()


# Stories: from click to file on disk


def test_she_makes_a_shop_from_her_sheet_a_set_and_a_build_with_keys_alone(open_desk: Opened, tmp_path: Path) -> None:
    sheet = tmp_path / "stock.csv"
    sheet.write_text(
        "code,name,form,retail,cost,weight (g),size (mm),on hand\n"
        "S1,Oat,bar soap,6.00,1.60,108,80 x 55 x 25,40\nS2,Rose,bar soap,6.50,1.70,110,80 x 55 x 25,22\n"
        "B1,Mint,lip balm,4.00,0.95,10,18 x 18 x 70,60\n",
        encoding="utf-8",
    )
    desk = open_desk(tmp_path / "shop")
    page = desk.page("/start")
    page.focus("#name")
    page.keyboard.type("Bee & Bramble")
    page.keyboard.press("Tab")
    page.keyboard.type("GBP")
    page.keyboard.press("Tab")
    page.keyboard.type("GB")
    page.set_input_files("#sheet", sheet)
    page.get_by_role("button", name=say("start.read_it")).press("Enter")
    page.get_by_role("button", name=say("columns.make")).press("Enter")
    assert (tmp_path / "shop/stock.csv").read_bytes() == sheet.read_bytes()
    page.get_by_role("link", name=say("room.sets")).press("Enter")
    page.get_by_role("link", name=say("sets.new")).press("Enter")
    page.focus("#name")
    page.keyboard.type("First Frost")
    page.keyboard.press("Enter")
    page.wait_for_url("**/sets/SET-1*")
    assert (tmp_path / "shop/sets/first-frost/set.toml").is_file()
    page.get_by_role("button", name=say("status.on_sale")).press("Enter")
    page.wait_for_selector("text=It is on sale now.")
    assert 'status = "draft"' not in (tmp_path / "shop/sets/first-frost/set.toml").read_text(encoding="utf-8")
    page.get_by_role("link", name=say("room.today")).press("Enter")
    page.get_by_role("button", name=say("today.build")).press("Enter")
    page.wait_for_selector(".result", timeout=60_000)
    desk.leave()


def test_she_changes_a_price_in_its_cell_sees_what_follows_and_saves(open_desk: Opened, tmp_path: Path) -> None:
    desk = open_desk(small_demo(tmp_path / "shop"))
    file = desk.folder / "items.csv"
    before = file.read_text(encoding="utf-8")
    page = desk.page("/shelf?q=rosemary&sort=retail")
    row = page.locator('tr[data-row="OH-B01"]')
    row.locator('a[data-field="retail"]').click()
    page.keyboard.press("Escape")
    assert row.locator("form").count() == 0
    row.locator('a[data-field="retail"]').press("Enter")
    page.keyboard.type("8.00")
    page.keyboard.press("Enter")
    page.wait_for_selector(f"h1 >> text={say('follows.title')}", timeout=60_000)
    assert "First Nectar" in page.inner_text("main")
    assert file.read_text(encoding="utf-8") == before
    assert violations(page) == []
    page.get_by_role("button", name=say("follows.save")).press("Enter")
    page.wait_for_url("**/shelf?q=rosemary&sort=retail*")
    assert row.locator('a[data-field="retail"]').inner_text() == "£8.00"
    assert file.read_text(encoding="utf-8") == before.replace(",7.50,", ",8.00,", 1)
    page.get_by_role("button", name=say("back.take")).click()
    page.wait_for_selector(f"text={say('back.done')}")
    assert file.read_text(encoding="utf-8") == before
    assert desk.faults == []
    desk.leave()


def test_a_build_is_watched_left_and_come_back_to(
    open_desk: Opened, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    go_on = threading.Event()

    def held_up(*args: Any, **kwargs: Any) -> Built:
        go_on.wait(60)
        return build_unless_braked(*args, **kwargs)

    monkeypatch.setattr(building, "build_unless_braked", held_up)
    copy_starter(shipped_templates() / "new_shop", tmp_path / "shop")
    desk = open_desk(tmp_path / "shop")
    page = desk.page("/today")
    page.get_by_role("button", name=say("today.build")).click()
    page.wait_for_selector(f"text={say('build.making')}")
    assert violations(page) == []
    page.get_by_role("link", name=say("room.sets")).click()
    page.get_by_role("link", name=say("building")).click()
    go_on.set()
    page.wait_for_selector(".result", timeout=60_000)
    progress = desk.server.desk.builder.progress
    assert progress.step == "done", progress.lines
    assert violations(page) == []
    link = page.get_by_role("link", name="feed.csv", exact=True).first
    with page.expect_download() as download:
        link.click()
    target = tmp_path / "kept.csv"
    download.value.save_as(target)
    path = (link.get_attribute("href") or "").removeprefix("/made/")
    assert target.read_bytes() == (desk.folder / "out" / path).read_bytes()
    desk.leave()


def test_a_change_in_another_program_shows_when_the_window_comes_back(open_desk: Opened, tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    desk = open_desk(shop)
    page = desk.page("/sets")
    assert "Dawn on the Weir" in page.inner_text("main")
    file = shop / "sets/dawn/set.toml"
    file.write_text(file.read_text(encoding="utf-8").replace("Dawn on the Weir", "Dusk"), encoding="utf-8")
    page.evaluate("window.dispatchEvent(new Event('focus'))")
    page.wait_for_selector("main >> text=Dusk")
    desk.leave()


def test_what_she_is_typing_is_not_taken_from_her_when_a_file_changes(open_desk: Opened, tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    desk = open_desk(shop)
    page = desk.page("/sets/new")
    page.fill("#name", "Half a na")
    file = shop / "sets/dawn/set.toml"
    file.write_text(file.read_text(encoding="utf-8").replace("Dawn on the Weir", "Dusk"), encoding="utf-8")
    page.evaluate("window.dispatchEvent(new Event('focus'))")
    page.wait_for_selector("#moved:not([hidden])")
    assert page.input_value("#name") == "Half a na"
    desk.leave()


def test_a_shop_whose_every_text_is_markup_runs_no_script(open_desk: Opened, tmp_path: Path) -> None:
    evil = '\\"><script>window.hit=1</script><img src=x onerror=window.hit=1>'
    shop = clean_shop(tmp_path / "shop")
    file = shop / "sets/dawn/set.toml"
    lines = file.read_text(encoding="utf-8").splitlines()
    lines = [f'name = "{evil}"' if line.startswith("name = ") else line for line in lines]
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    desk = open_desk(shop)
    page = desk.page("/today")
    for path in ("/today", "/sets", "/sets/RRS-1", "/sets/RRS-1/listing/stall", "/sets/RRS-1/delete", "/shelf/boxes"):
        page.goto(desk.server.desk.keys.origin + path)
        page.evaluate(
            """() => Promise.all([...document.querySelectorAll("iframe[loading=lazy]")].map((each) => new Promise(
            (loaded) => { each.addEventListener("load", loaded); each.loading = "eager"; })))"""
        )
        assert "<script>window.hit=1</script>" in page.inner_text("body") or path.startswith("/shelf")
        assert [frame.evaluate("window.hit || 0") for frame in page.frames] == [0] * len(page.frames)
    desk.leave()


def test_the_desk_is_closed_from_its_page(open_desk: Opened, tmp_path: Path) -> None:
    desk = open_desk(clean_shop(tmp_path / "shop"))
    page = desk.page("/today")
    page.get_by_role("button", name=say("close")).click()
    assert say("closed.title") in page.inner_text("main")
    assert desk.server.wait(10)
    desk.leave()


def test_forms_work_without_scripts(browser: Browser, tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    server = DeskServer(shop, None, lambda: DAY, lambda: NOW)
    server.start()
    try:
        with browser.new_context(java_script_enabled=False) as context:
            page = context.new_page()
            page.goto(server.address)
            page.goto(server.desk.keys.origin + "/sets/new")
            page.fill("#name", "First Frost")
            page.get_by_role("button", name=say("new_set.make")).click()
            assert "First Frost" in page.inner_text("h1")
            assert (shop / "sets/first-frost/set.toml").is_file()
            page.goto(server.desk.keys.origin + "/shelf")
            page.locator("a.cell[data-field=on_hand]").first.click()
            page.fill("#on_hand", "77")
            page.get_by_role("button", name=say("item.save")).click()
            assert page.input_value("#on_hand") == "77"
        assert ",77," in (shop / "items.csv").read_text(encoding="utf-8")
    finally:
        server.end()


# Photos of a set


def entry_of(desk: Desk, name: str, file: str = "sets/first-nectar/set.toml") -> dict[str, Any]:
    document = tomllib.loads((desk.folder / file).read_text(encoding="utf-8"))
    return next((each for each in document.get("photos", ()) if each["file"] == name), {})


def saved(page: Page, photo: Locator) -> None:
    """Wait until a picture's change is in the file."""
    comes_true(page, "(at) => at.textContent === at.dataset.saved", arg=photo.locator(".state").element_handle())


def drawn_anew(page: Page, photo: Locator, before: str | None) -> None:
    comes_true(
        page,
        "([at, before]) => at.dataset.drawn && at.dataset.drawn !== before && !at.dataset.cutting",
        arg=[photo.element_handle(), before],
    )


def test_a_focus_box_is_dragged_and_moved_by_keys_into_the_file(open_desk: Opened, tmp_path: Path) -> None:
    desk = open_desk(small_demo(tmp_path / "shop"))
    desk.server.desk.shop_state.look(measured=True)
    page = desk.page("/sets/OHS-1/photos", height=1000)
    photo = page.locator("article.photo[data-name='open-box.jpg']")
    box = photo.locator("svg .box")
    box.scroll_into_view_if_needed()
    at, whole = box.bounding_box(), photo.locator("svg").bounding_box()
    assert at is not None
    assert whole is not None
    middle = at["x"] + at["width"] / 2, at["y"] + at["height"] / 2
    page.mouse.move(*middle)
    page.mouse.down()
    page.mouse.move(middle[0] + whole["width"] / 10, middle[1], steps=4)
    page.mouse.up()
    saved(page, photo)
    focus = entry_of(desk, "open-box.jpg")["focus"]
    assert focus == pytest.approx([0.15, 0.158, 0.822, 0.842], abs=0.004)
    assert photo.locator("canvas").count() == 4, "every cut was drawn anew"
    before = photo.get_attribute("data-drawn")
    photo.locator(".state").evaluate("(at) => { at.textContent = ''; }")
    box.focus()
    for key in ("ArrowLeft", "ArrowLeft", "ArrowDown", "Shift+ArrowLeft"):
        page.keyboard.press(key)
    drawn_anew(page, photo, before)
    comes_true(page, "document.querySelector('.note')?.textContent.includes('open-box.jpg')")
    expected = [focus[0] - 0.02, focus[1] + 0.01, focus[2] - 0.03, focus[3] + 0.01]
    saved(page, photo)
    assert entry_of(desk, "open-box.jpg")["focus"] == pytest.approx(expected, abs=0.002)
    assert photo.locator("input[name=left]").input_value() == f"{expected[0] * 100:.1f}".removesuffix(".0")
    assert violations(page) == []
    page.get_by_role("button", name=say("back.take")).click()
    page.wait_for_selector(f"text={say('back.done')}")
    assert entry_of(desk, "open-box.jpg")["focus"] == focus
    assert desk.faults == []
    desk.leave()


def test_a_box_moved_by_keys_alone_is_stated_then_and_what_is_taken_back_leaves_the_focus_there(
    open_desk: Opened, tmp_path: Path
) -> None:
    desk = open_desk(clean_shop(tmp_path / "shop"))
    desk.server.desk.shop_state.look(measured=True)
    page = desk.page("/sets/RRS-1/photos", height=1000)
    photo = page.locator("article.photo[data-name='detail.png']")
    assert say("photos.not_stated") in photo.inner_text()
    photo.locator("svg .box").focus()
    page.keyboard.press("Shift+ArrowLeft")
    saved(page, photo)
    assert say("photos.stated") in photo.inner_text()
    assert say("photos.guessed") not in photo.inner_text()
    assert photo.locator("svg.guessed").count() == 0
    page.get_by_role("button", name=say("back.take")).focus()
    page.keyboard.press("Enter")
    page.wait_for_selector(f"text={say('back.done')}")
    comes_true(page, "document.activeElement.dataset.name === 'detail.png'")
    assert "focus" not in entry_of(desk, "detail.png", "sets/dawn/set.toml")
    desk.leave()


def test_a_focus_box_is_dragged_by_touch_at_its_corner(open_desk: Opened, tmp_path: Path) -> None:
    desk = open_desk(small_demo(tmp_path / "shop"))
    desk.server.desk.shop_state.look(measured=True)
    page = desk.page("/sets/OHS-1/photos", width=360)
    page.evaluate("document.addEventListener('pointercancel', () => { window.cancelled = true; })")
    photo = page.locator("article.photo[data-name='group.jpg']")
    corner = photo.locator("[data-corner=rb]")
    corner.scroll_into_view_if_needed()
    at, whole = corner.bounding_box(), photo.locator("svg").bounding_box()
    assert at is not None
    assert whole is not None
    assert min(at["width"], at["height"]) >= 24
    x, y = at["x"] + at["width"] / 2, at["y"] + at["height"] / 2
    touch = page.context.new_cdp_session(page)
    points = [(x, y), (x - whole["width"] / 20, y), (x - whole["width"] / 10, y)]
    for kind, place in zip(("touchStart", "touchMove", "touchMove"), points, strict=True):
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": place[0], "y": place[1]}]})
        page.wait_for_timeout(50)
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    saved(page, photo)
    assert not page.evaluate("window.cancelled"), "the page was scrolled instead"
    assert entry_of(desk, "group.jpg")["focus"] == pytest.approx([0.128, 0.118, 0.755, 0.865], abs=0.006)
    desk.leave()


def test_pictures_are_put_in_order_by_dragging_and_by_buttons(open_desk: Opened, tmp_path: Path) -> None:
    desk = open_desk(small_demo(tmp_path / "shop"))
    desk.server.desk.shop_state.look(measured=True)
    page = desk.page("/sets/OHS-1/photos")

    def order() -> list[str]:
        document = tomllib.loads((desk.folder / "sets/first-nectar/set.toml").read_text(encoding="utf-8"))
        return [each["file"] for each in document["photos"]]

    places = page.locator(".in-order li")
    with page.expect_navigation():
        places.nth(0).drag_to(places.nth(2))
    assert order()[:3] == ["open-box.jpg", "group.jpg", "styled.jpg"]
    with page.expect_navigation():
        page.get_by_role("button", name=say("photos.earlier_named", name="styled.jpg")).press("Enter")
    assert order()[:3] == ["open-box.jpg", "styled.jpg", "group.jpg"]
    desk.leave()


def test_photos_of_a_set_can_be_worked_with_without_scripts(browser: Browser, tmp_path: Path) -> None:
    shop = small_demo(tmp_path / "shop")
    server = DeskServer(shop, None, lambda: DAY, lambda: NOW)
    server.start()
    try:
        server.desk.shop_state.look(measured=True)
        with browser.new_context(java_script_enabled=False) as context:
            page = context.new_page()
            page.goto(server.address)
            page.goto(server.desk.keys.origin + "/sets/OHS-1/photos")
            photo = page.locator("article.photo").first
            assert photo.locator(".crop img").count() == 4
            photo.locator("input[name=left]").fill("12.5")
            photo.locator("textarea[name=alt]").fill("Jar, bar & balm")
            photo.get_by_role("button", name=say("photos.save"), exact=True).click()
            assert say("photos.saved", name="styled.jpg") in page.inner_text("main")
            Image.new("RGB", (900, 700), "#557755").save(tmp_path / "On the shelf.png")
            page.set_input_files("#pictures", tmp_path / "On the shelf.png")
            page.get_by_role("button", name=say("photos.add")).click()
            assert "on-the-shelf.png" in page.inner_text("main")
        text = (shop / "sets/first-nectar/set.toml").read_text(encoding="utf-8")
        assert "focus = [0.125, 0.015, 0.737, 0.930]" in text
        assert 'alt = "Jar, bar & balm"' in text
        assert (shop / "sets/first-nectar/photos/on-the-shelf.png").is_file()
    finally:
        server.end()


def test_names_of_pictures_that_are_markup_or_addresses_are_neither(open_desk: Opened, tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    names = ['"><img src=x onerror=window.hit=1>.jpg', "50%25&a=b#c?d.jpg", "'); window.hit=1;.jpg"]
    for number, name in enumerate(names):
        Image.new("RGB", (1200, 900), (90 * number, 120, 90)).save(shop / "sets/dawn/photos" / name)
    desk = open_desk(shop)
    desk.server.desk.shop_state.look(measured=True)
    page = desk.page("/sets/RRS-1/photos", height=4000)
    for name in names:
        photo = page.locator("article.photo").filter(has=page.locator("h2", has_text=name))
        expect(photo.locator(".never-cut img")).to_have_js_property("naturalWidth", 800)
        photo.locator("svg .box").focus()
        page.keyboard.press("Shift+ArrowLeft")
        saved(page, photo)
        assert entry_of(desk, name, "sets/dawn/set.toml")["focus"]
    assert page.evaluate("window.hit || 0") == 0
    assert desk.faults == []
    desk.leave()


def test_what_cannot_be_saved_is_told_beside_the_picture(open_desk: Opened, tmp_path: Path) -> None:
    desk = open_desk(small_demo(tmp_path / "shop"))
    desk.server.desk.shop_state.look(measured=True)
    page = desk.page("/sets/OHS-1/photos")
    photo = page.locator("article.photo").first
    photo.locator("input[name=left]").fill("90")
    photo.locator("input[name=left]").press("Tab")
    page.wait_for_selector(".fault")
    assert say("photos.focus_turned")[1:] in photo.inner_text()
    assert photo.locator("input[name=left]").input_value() == "90"
    file = desk.folder / "sets/first-nectar/set.toml"
    file.write_text(file.read_text(encoding="utf-8").replace("0.040", "0.030"), encoding="utf-8")
    photo.locator("input[name=left]").fill("5")
    photo.locator("input[name=left]").press("Tab")
    page.wait_for_selector(f"text={say('not_saved.mine')}")
    page.get_by_role("button", name=say("not_saved.mine")).click()
    page.wait_for_selector(f"text={say('photos.saved', name='styled.jpg')}")
    assert entry_of(desk, "styled.jpg")["focus"] == [0.05, 0.015, 0.737, 0.93]
    desk.leave()
