"""Your shop in a real browser: a season made by keys, a set that takes it, a build; a box looked at first."""

import re
import tomllib
from pathlib import Path

import pytest
from playwright.sync_api import expect

from listkit.desk.page import say
from listkit.edit.starter import copy_starter
from listkit.shipped import shipped_templates
from tests.desk.desks import CHROMIUM
from tests.desk.test_browser import Desk, Opened, demo, open_desk, violations  # noqa: F401 (fixtures)

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed: apt install chromium")


def stated(desk: Desk, file: str) -> dict[str, object]:
    return tomllib.loads((desk.folder / file).read_text(encoding="utf-8"))


def test_she_makes_a_season_a_set_takes_it_and_it_is_built_with_keys_alone(
    open_desk: Opened,  # noqa: F811
    tmp_path: Path,
) -> None:
    copy_starter(shipped_templates() / "new_shop", tmp_path / "shop")
    desk = open_desk(tmp_path / "shop")
    page = desk.page("/sets/SET-1", width=360)
    link = page.get_by_role("link", name=say("shop.to_seasons"))
    page.locator("details.folds").filter(has=page.locator("a[href^='/shop?at=season']")).locator(
        ":scope > summary"
    ).press("Enter")
    link.press("Enter")
    page.wait_for_url(re.compile(r"/shop\?open=season&set=SET-1"))
    assert page.evaluate("document.activeElement.id") == "g/season"
    for _ in range(3):  # the season that is there, the fold of a new one, its name
        page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "f/season/1/name"
    assert page.locator("details[tabindex]").count() == 0, "whose summary no key would reach"
    page.keyboard.type("frost")
    page.keyboard.press("Tab")
    page.keyboard.type("11012026")
    page.focus('[id="f/season/1/off_sale"]')
    page.keyboard.type("01312027")
    page.keyboard.press("Enter")
    page.wait_for_selector(f"text={say('shop.season_made', name='frost')}")
    assert (str(stated(desk, "shop.toml")["season"][1]["on_sale"])) == "2026-11-01"  # type: ignore[index]
    assert violations(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    page.get_by_role("link", name=say("shop.back_to", name="").strip()).press("Enter")
    page.wait_for_url("**/sets/SET-1#season")
    page.locator('[id="f/season"]').select_option("frost")
    page.keyboard.press("Tab")
    expect(page.locator("#said")).to_contain_text(say("one.saved"), timeout=20_000)
    assert stated(desk, "sets/first-light/set.toml")["season"] == "frost"
    page.get_by_role("link", name=say("room.today")).press("Enter")
    page.get_by_role("button", name=say("today.build")).press("Enter")
    page.wait_for_selector(".result", timeout=60_000)
    assert desk.server.desk.builder.progress.step == "done"
    assert desk.faults == []
    desk.leave()


def test_a_box_is_looked_at_left_and_taken(open_desk: Opened, tmp_path: Path) -> None:  # noqa: F811
    copy_starter(shipped_templates() / "new_shop", tmp_path / "shop")
    file = tmp_path / "shop/packaging.toml"
    box = file.read_text(encoding="utf-8").partition("[[box]]")[2].partition("[card]")[0]
    dear = box.replace('"S"', '"L"').replace('"0.95"', '"3.95"')
    file.write_text(f"{file.read_text(encoding='utf-8')}\n[[box]]{dear}", encoding="utf-8")
    desk = open_desk(tmp_path / "shop")
    page = desk.page("/sets/SET-1")
    before = (tmp_path / "shop/sets/first-light/set.toml").read_bytes()
    page.locator('[id="f/box"]').select_option("L")
    page.wait_for_selector(f"h1 >> text={say('follows.title')}", timeout=20_000)
    assert violations(page) == []
    page.get_by_role("link", name=say("follows.leave")).click()
    expect(page.locator('[id="f/box"]')).to_be_visible(timeout=20_000)
    assert page.locator('[id="f/box"]').input_value() == "S"
    assert (tmp_path / "shop/sets/first-light/set.toml").read_bytes() == before
    page.locator('[id="f/box"]').select_option("L")
    page.get_by_role("button", name=say("follows.save")).press("Enter", timeout=20_000)
    page.wait_for_url(re.compile(r"/sets/SET-1\?note="))
    assert page.locator('[id="f/box"]').input_value() == "L"
    assert stated(desk, "sets/first-light/set.toml")["box"] == "L"
    assert desk.faults == []
    desk.leave()


def test_a_link_to_a_field_opens_what_is_folded_around_it(demo: Desk) -> None:  # noqa: F811
    page = demo.page("/shop?at=labels/faces")
    assert page.evaluate("document.activeElement.id") == "f/labels/faces"
    assert page.locator('[id="f/labels/faces"]').is_visible()
    assert not page.locator('[id="f/prices/wage"]').is_visible()
    demo.leave()
