"""Shops in a real browser: no fault of accessibility; an order by an old sheet, from the drop to the day it is sent."""

import json
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from listkit.desk.page import say
from listkit.ledger.orders import OrderState, orders
from tests.desk.desks import CHROMIUM
from tests.desk.test_browser import Desk, Opened, assert_no_faults, open_desk  # noqa: F401 (fixtures)
from tests.ledger.test_old_ledger import OLD
from tests.shops import demo_without_pictures

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed: apt install chromium")


@pytest.fixture(scope="module")
def desk(open_desk: Opened, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:  # noqa: F811
    folder = demo_without_pictures(tmp_path_factory.mktemp("shops") / "shop")
    shutil.copyfile(OLD, folder / "ledger.sqlite3")
    desk = open_desk(folder)
    yield desk
    desk.leave()


def test_an_order_by_an_old_sheet_is_confirmed_rightly_and_sent(desk: Desk, tmp_path: Path) -> None:
    """On the sheet of 2026-11-28 OH-B01 cost 4.00, 3.76 from 24 on; today it is 3.75 and 3.55: 30 are 112.80."""
    with closing(sqlite3.connect(desk.folder / "ledger.sqlite3")) as ledger:
        lines = [json.loads(t) for (t,) in ledger.execute("SELECT text FROM content") if '"version"' in t]
    last = max(lines, key=lambda line: str(line["issued"]))["version"]
    form = tmp_path / "order.csv"
    form.write_text(
        f"Shop,The Thistle Drawer\nYour order number,TD-118\nLine sheet,{last}\nFirst order (yes or no),no\n"
        "code,quantity\nOH-B01,30\nOH-B99,2\n",
        encoding="utf-8",
    )
    page = desk.page("/shops")
    page.set_input_files("#form", form)
    page.get_by_role("button", name=say("shops.read")).press("Enter")
    assert "£112.80" in page.inner_text("main")
    assert 'There is no "OH-B99"' in page.inner_text("main")
    assert_no_faults(page)
    page.get_by_role("button", name=say("order.confirm_anyway")).click()
    page.wait_for_selector(f"text={say('order.confirmed')}")
    with page.expect_download() as download:
        page.get_by_role("link", name=say("order.paper.confirmation")).click()
    assert Path(download.value.path()).read_bytes().startswith(b"%PDF-1.")
    assert_no_faults(page)
    [kept] = orders(desk.folder / "ledger.sqlite3")
    assert (kept.buyer, kept.facts["sheet"], kept.facts["total"]) == ("ST-01", last, "112.80")
    page.goto(desk.server.desk.keys.origin + "/shops")
    assert_no_faults(page)
    page.get_by_role("button", name=say("shops.sent_named", shop="The Thistle Drawer", number="TD-118")).click()
    page.wait_for_selector(f"text={say('order.noted.sent')}")
    assert orders(desk.folder / "ledger.sqlite3")[0].state is OrderState.SENT
    assert desk.faults == []


def test_terms_are_changed_beside_their_pages(desk: Desk) -> None:
    page = desk.page("/shops/terms?paper=price-list")
    before = page.locator(".leaves img").first.get_attribute("src")
    assert page.locator(".leaves img").first.evaluate("(at) => at.decode().then(() => at.naturalWidth > 600)")
    assert_no_faults(page)
    page.set_viewport_size({"width": 1280, "height": 800})
    page.fill('[id="f/issued"]', "2027-01-18")
    page.get_by_role("button", name=say("terms.save")).first.click()
    page.wait_for_selector(f"text={say('terms.saved')}")
    assert "issued = 2027-01-18" in (desk.folder / "wholesale.toml").read_text(encoding="utf-8")
    assert page.locator(".leaves img").first.get_attribute("src") != before
    assert desk.faults == []
