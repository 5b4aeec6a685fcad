"""The print room in a real browser: no fault of accessibility; labels for Saturday on a sheet that was begun."""

import io
from collections.abc import Iterator
from pathlib import Path

import pikepdf
import pytest

from listkit.desk.page import say
from tests.desk.desks import CHROMIUM
from tests.desk.test_browser import Desk, Opened, assert_no_faults, open_desk  # noqa: F401 (fixtures)
from tests.shops import CLEAN, clean_shop
from tests.write.pages import text_of

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed: apt install chromium")


@pytest.fixture(scope="module")
def desk(open_desk: Opened, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:  # noqa: F811
    settings = (CLEAN / "shop.toml").read_text(encoding="utf-8") + '\n[labels]\nsize = "90 x 90 mm"\n'
    desk = open_desk(clean_shop(tmp_path_factory.mktemp("paper") / "shop", {"shop.toml": settings}))
    yield desk
    desk.leave()


def test_labels_for_saturday_are_printed_on_a_sheet_that_was_begun(desk: Desk, tmp_path: Path) -> None:
    """Six places a sheet, the first four used: two labels go on it and the third on a new one."""
    page = desk.page("/print")
    assert_no_faults(page)
    page.set_viewport_size({"width": 1280, "height": 800})
    page.locator('[data-place="5"]').click()
    assert page.input_value("#start") == "5"
    assert page.locator("rect.used").count() == 4
    fields = page.locator('input[name^="count/"]')
    fields.first.fill("3")
    assert say("print.sum", all=3, count=2) in page.inner_text("#sum")
    page.get_by_role("button", name=say("print.make")).press("Enter")
    page.wait_for_selector("#made")
    assert page.locator("rect.used").count() == 4
    name = page.locator("#made a").first.get_attribute("href")
    assert name is not None
    with pikepdf.open(io.BytesIO(page.request.get(desk.server.desk.keys.origin + name).body())) as pdf:
        for at, sheet in enumerate(pdf.pages):
            with pikepdf.new() as alone:
                alone.pages.append(sheet)
                alone.save(tmp_path / f"{at}.pdf")
    assert [text_of(tmp_path / f"{at}.pdf").count("No. ") for at in range(len(list(tmp_path.iterdir())))] == [2, 1]
    assert desk.faults == []


def test_a_sheet_is_measured_in_by_keys(desk: Desk) -> None:
    page = desk.page("/print/measure?kind=labels")
    assert_no_faults(page)
    for name, text in {"left": "10", "right": "95", "next_left": "100", "top": "12", "bottom": "97"}.items():
        page.focus(f"#{name}")
        page.keyboard.press("Control+A")
        page.keyboard.type(text)
    page.keyboard.press("Enter")
    page.wait_for_selector(f"text={say('measure.saved')}")
    assert 'pitch_across = "90 mm"' in (desk.folder / "shop.toml").read_text(encoding="utf-8")
    page.goto(desk.server.desk.keys.origin + "/print?kind=messages")
    assert_no_faults(page)
    assert desk.faults == []
