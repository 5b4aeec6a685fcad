"""Places in a real browser: a whole change of a price, from the first look to what each place shows; and by keys.

One server and one shop for all of it; a page is looked at in all looks where it stands.
"""

import csv
import re
import time
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from listkit.cli import main
from listkit.desk.page import say
from tests.cli.published import small_shop
from tests.desk.desks import CHROMIUM, DAY
from tests.desk.test_browser import LOOKS, Desk, Opened, assert_no_faults, open_desk  # noqa: F401 (fixtures)

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed: apt install chromium")
PAGES = (
    "/places", "/place/web", "/place/web/feed", "/place/web/columns", "/place/web/publish", "/place/web/compare",
    "/places/moves", "/places/new", "/place/web/delete",
)  # fmt: skip
SAMPLE = "Item number,Title,Price,Zorble,Pieces left\nA-1,A box of soap,12.00,q,3\nA-2,Another box,14.50,q,0\n"


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    shop = small_shop(tmp_path_factory.mktemp("places") / "shop")
    assert main(["build", "--shop", str(shop), "--today", str(DAY)]) == 0
    for key in ("web", "stall"):
        assert main(["record", key, "--shop", str(shop), "--today", str(DAY), "--at", "2026-11-20T09:00"]) == 0
    return shop


@pytest.fixture(scope="module")
def desk(open_desk: Opened, shop: Path) -> Desk:  # noqa: F811
    desk = open_desk(shop)
    state = desk.server.desk.shop_state
    state.look(measured=True)
    assert state.full(wait=60) is not None
    return desk


@pytest.fixture
def page(desk: Desk) -> Iterator[Page]:
    page = desk.page("/places")
    yield page
    assert desk.faults == []
    desk.leave()


def go(page: Page, desk: Desk, path: str) -> None:
    page.goto(desk.server.desk.keys.origin + path)


def until(holds: Callable[[], bool], seconds: float = 60.0) -> None:
    end = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < end
        time.sleep(0.1)


def checked(desk: Desk) -> None:
    state = desk.server.desk.shop_state
    state.look(measured=True)
    assert state.full(wait=60) is not None


def feed(shop: Path) -> list[list[str]]:
    with (shop / "out/web/feed.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


SMALL_TARGETS = """[...document.querySelectorAll(
  "button, input:not([type=hidden]), select, a.button, summary, .place-ways a")]
.map((each) => [each.outerHTML.slice(0, 90), each.getBoundingClientRect()])
.filter(([, box]) => box.width && (box.width < 24 || box.height < 24)).map(([html]) => html)"""


@LOOKS
def test_no_page_of_the_room_has_a_fault_of_accessibility(desk: Desk, page: Page, *, every_look: bool) -> None:
    """Also WCAG 2.2, 1.4.10 and 2.5.8: at 400 % nothing is wider than its window, and targets are large enough."""
    for path in PAGES:
        go(page, desk, path)
        assert_no_faults(page, every_look=every_look)
        page.set_viewport_size({"width": 320, "height": 256})
        assert page.evaluate("document.documentElement.scrollWidth") <= 320, path
        assert page.evaluate(SMALL_TARGETS) == [], path
        page.set_viewport_size({"width": 1280, "height": 800})


def test_what_a_column_holds_is_shown_while_it_is_typed_and_a_field_is_put_in_by_choosing(
    desk: Desk, page: Page, shop: Path
) -> None:
    go(page, desk, "/place/web/columns")
    column = page.locator("#column-1")
    value = page.locator('[id="f/column/1/value"]')
    shown, says, pick = page.locator("#sample-1"), column.locator("[data-says]"), column.locator("[data-pick]")
    column.get_by_text(say("cols.change")).click()
    pick.select_option("theme")
    expect(value).to_have_value("theme")
    expect(says).to_contain_text(say("fact.theme"))
    column.locator('[id="f/column/1/heading"]').fill("In a line")
    expect(column.locator("[data-heading]")).to_have_text("In a line")
    expect(says).to_contain_text("In a line")
    value.fill("")
    expect(pick).to_have_value("")
    page.locator("#fields-there-are summary").click()
    page.locator('[data-field="setName"]').click()
    expect(value).to_have_value("setName")
    expect(shown).to_contain_text("Dawn on the Weir")
    value.fill("{{ setName | upper }} ")
    page.locator('[data-field="price"]').click()
    expect(value).to_have_value("{{ setName | upper }} {{ price }}")
    expect(shown).to_contain_text(re.compile(r"DAWN ON THE WEIR \d"))
    value.fill("{{ setNam }}")
    expect(shown.locator(".fault")).to_contain_text("setNam")
    assert_no_faults(page)
    written = tomllib.loads((shop / "channels/web.toml").read_text(encoding="utf-8"))
    assert written["column"][1]["value"] == "name", "nothing is kept while it is typed"


def test_a_place_is_made_from_a_sample_by_choosing_with_keys_alone(desk: Desk, page: Page, shop: Path) -> None:
    file = shop.parent / "sample.csv"
    file.write_text(SAMPLE, encoding="utf-8")
    go(page, desk, "/places/new")
    page.locator("#name").press_sequentially("The Fair")
    page.set_input_files("#sample", file)
    page.get_by_role("button", name=say("start.read_it")).press("Enter")
    expect(page.locator("h1")).to_have_text(say("sample.title"))
    assert_no_faults(page)
    page.locator("#column-3").select_option("theme")
    page.get_by_role("button", name=say("new_place.make")).press("Enter")
    expect(page.locator("h1")).to_have_text("The Fair")
    made = tomllib.loads((shop / "channels/the_fair.toml").read_text(encoding="utf-8"))
    assert [each["heading"] for each in made["column"]] == SAMPLE.partition("\n")[0].split(",")
    assert made["column"][3]["value"] == "theme"
    page.get_by_role("button", name=say("back.take")).press("Enter")
    expect(page.locator("h1")).to_have_text(say("places.title"))
    expect(page.locator(".note").first).to_contain_text(say("back.done"))
    assert not (shop / "channels/the_fair.toml").exists()


def test_a_butter_goes_up_and_every_place_is_brought_to_date(desk: Desk, page: Page, shop: Path) -> None:
    checked(desk)
    old = feed(shop)
    go(page, desk, "/places")
    expect(page.locator("#web dd").first).to_have_text(say("moved.nothing"))
    page.get_by_role("link", name=say("moves.title")).click()
    page.locator("#item").select_option("RR-J1")
    page.locator("#price").fill("10.50")
    page.locator("#one").get_by_role("button").click()
    expect(page.locator("h1")).to_have_text(say("moves.follow"))
    expect(page.locator("main")).to_contain_text("+1.50")
    assert_no_faults(page)
    assert "10.50" not in (shop / "items.csv").read_text(encoding="utf-8")
    page.get_by_role("button", name=say("moves.do")).click()
    until(lambda: "10.50" in (shop / "items.csv").read_text(encoding="utf-8"))

    for key in ("web", "stall"):
        expect(page.locator(f"#{key} dd").first).to_contain_text(say("moved.prices", count=1), timeout=60_000)
    go(page, desk, "/today")
    page.get_by_role("button", name=say("today.build")).click()
    expect(page.locator(".good")).to_be_visible(timeout=60_000)
    checked(desk)
    for key in ("web", "stall"):
        go(page, desk, f"/place/{key}/publish")
        page.get_by_label(say("publish.note")).fill("butter")
        page.get_by_role("button", name=say("publish.do")).click()
        expect(page.locator(f"#{key} dd").first).to_have_text(say("moved.nothing"), timeout=60_000)
        expect(page.locator(f"#{key}")).to_contain_text("butter")

    _compare(desk, page, shop, old)


def _compare(desk: Desk, page: Page, shop: Path, old: list[list[str]]) -> None:
    """Drop in an export that still has one old price, and get the row that mends it."""
    new = feed(shop)
    dearer = [row[0] for row, before in zip(new, old, strict=True) if row[2] != before[2]]
    assert dearer
    export = shop.parent / "export.csv"  # the place still shows one of the old prices
    with export.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(before if row[0] == dearer[0] else row for row, before in zip(new, old, strict=True))
    go(page, desk, "/place/web/compare")
    page.set_input_files("#export", export)
    page.get_by_role("button", name=say("compare.do")).click()
    row = page.locator("tbody tr")
    expect(row).to_have_count(1)
    expect(row.locator("th")).to_have_text(dearer[0])
    assert_no_faults(page)
    with page.expect_download() as download:
        page.get_by_role("button", name=say("compare.mend", count=1)).click()
    with download.value.path().open(encoding="utf-8", newline="") as file:
        assert list(csv.reader(file)) == [new[0], next(row for row in new if row[0] == dearer[0])]
