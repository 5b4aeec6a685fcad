"""What came and went in a real browser: no fault of accessibility; a count, a tally dropped in and taken back."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page

from listkit.desk.page import say
from tests.actions.test_stock import BOXES
from tests.desk.desks import CHROMIUM
from tests.desk.test_browser import LOOKS, Desk, Opened, assert_no_faults, open_desk  # noqa: F401 (fixtures)
from tests.shops import clean_shop, edited

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed: apt install chromium")
TALLY = "code,sold,broken\nRRS-1-J1,3,\nRR-B1,2,1\n"
UNSURE = "Ref,One,Two,When\nRR-B1,3,4,05/06/2026\nSOAP,1,1,06/06/2026\n"
UNKNOWN = "code,sold\nSOAP,1\nRRS-1,2\n"


@pytest.fixture(scope="module")
def desk(open_desk: Opened, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:  # noqa: F811
    changes = {"packaging.toml": BOXES, **edited("shop.toml", "on_sale = 2027-02-01", "on_sale = 2026-09-01")}
    desk = open_desk(clean_shop(tmp_path_factory.mktemp("stock") / "shop", changes))
    yield desk
    desk.leave()


def moved_lines(desk: Desk) -> list[str]:
    file = desk.folder / "movements.csv"
    return file.read_text(encoding="utf-8").splitlines() if file.exists() else []


def assert_sound(page: Page) -> None:
    """Fail where a page has a fault in any look; it is as wide as before then."""
    assert_no_faults(page)
    page.set_viewport_size({"width": 1280, "height": 800})


def test_she_begins_counts_drops_a_tally_sees_before_and_after_and_takes_it_back(desk: Desk, tmp_path: Path) -> None:
    page = desk.page("/shelf")
    page.get_by_role("link", name=say("stock.link")).press("Enter")
    assert_sound(page)
    page.get_by_role("button", name=say("stock.start_do"), exact=True).press("Enter")
    page.wait_for_selector(f"text={say('stock.started_now', count=5)}")
    assert len(moved_lines(desk)) == 6

    page.get_by_label(say("stock.count_of", name="Sedge & Salt bar soap RR-B1")).fill("37")
    page.keyboard.press("Enter")
    page.wait_for_selector("#differ")
    assert say("stock.missing", count=3) in page.inner_text("#differ")
    assert "£4.20" in page.inner_text("#differ")
    assert len(moved_lines(desk)) == 6
    assert_sound(page)
    page.get_by_role("button", name=say("stock.write")).press("Enter")
    page.wait_for_url("**/shelf/stock/batch?**")
    assert moved_lines(desk)[-1].startswith("2026-11-29,counted,RR-B1,37,")

    page.get_by_role("link", name=say("stock.title")).click()
    (tmp_path / "stall.csv").write_text(TALLY, encoding="utf-8")
    page.set_input_files("#sheet", tmp_path / "stall.csv")
    page.get_by_role("button", name=say("stock.look")).first.click()
    page.wait_for_selector("#changes")
    row = page.locator("#changes tr", has_text="RR-J1")
    assert row.locator("td").all_inner_texts() == ["3 sold", "25", "22", "22"]
    before = moved_lines(desk)
    assert len(before) == 7
    assert_sound(page)
    page.get_by_role("button", name=say("stock.write")).press("Enter")
    page.wait_for_url("**/shelf/stock/batch?**")
    assert say("stock.added", count=7) in page.inner_text("main")
    assert len(moved_lines(desk)) == 14
    assert_sound(page)
    page.locator("#back summary").click()
    assert page.locator("#back tr", has_text="RR-J1").locator("td").all_inner_texts()[1:3] == ["22", "25"]
    page.get_by_role("button", name=say("stock.back_do")).press("Enter")
    page.wait_for_selector(f"text={say('stock.taken_back', count=7)}")
    assert moved_lines(desk)[:7] == before
    assert all(",not " in line for line in moved_lines(desk)[14:])
    jar = page.locator("#figures tr", has_text="RR-J1")
    assert jar.locator("td").first.inner_text() == "25"
    assert desk.faults == []


@LOOKS
def test_no_page_of_stock_or_of_the_two_days_has_a_fault_of_accessibility(
    desk: Desk, tmp_path: Path, *, every_look: bool
) -> None:
    page = desk.page("/shelf/stock")
    origin = desk.server.desk.keys.origin
    for path in (
        "/shelf/stock", "/shelf/stock/code?code=RR-B1", "/shelf/stock/code?code=fill+S", "/print/post",
        "/print/market?place=stall&day=2026-12-05", "/print/market", "/today",
    ):  # fmt: skip
        page.goto(origin + path)
        assert_no_faults(page, every_look=every_look)
    for name, sheet in (("unsure.csv", UNSURE), ("unknown.csv", UNKNOWN)):
        (tmp_path / name).write_text(sheet, encoding="utf-8")
        page.goto(origin + "/shelf/stock")
        page.set_input_files("#sheet", tmp_path / name)
        page.fill("#place", "Market stall")
        page.get_by_role("button", name=say("stock.look")).first.click()
        page.wait_for_selector("#unknown, #columns")
        assert_no_faults(page, every_look=every_look)
    assert desk.faults == []
