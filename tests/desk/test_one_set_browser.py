"""The page of one set in a real browser: from a change to the file on disk, with the mouse and by keys alone."""

import re
import time
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, Route, expect

from listkit.desk.page import say
from listkit.edit.starter import copy_starter
from listkit.shipped import shipped_templates
from tests.desk.desks import CHROMIUM
from tests.desk.test_browser import Desk, Opened, open_desk, violations  # noqa: F401 (fixtures)
from tests.shops import clean_shop, edited

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed: apt install chromium")
DAWN = "sets/dawn/set.toml"


@pytest.fixture
def desk(open_desk: Opened, tmp_path: Path) -> Iterator[Desk]:  # noqa: F811
    desk = open_desk(clean_shop(tmp_path / "shop"))
    yield desk
    desk.leave()


def field(page: Page, name: str) -> str:
    return f'[id="f/{name}"]'


def stated(desk: Desk, file: str = DAWN) -> dict[str, object]:
    return tomllib.loads((desk.folder / file).read_text(encoding="utf-8"))


def until(holds: Callable[[], bool], seconds: float = 20.0) -> None:
    """Wait until something holds, as a file that is written behind the page."""
    end = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < end
        time.sleep(0.05)


def saved(page: Page) -> None:
    expect(page.locator("#said")).to_contain_text(say("one.saved"), timeout=20_000)


def test_a_change_shows_in_the_figures_without_leaving_the_page_and_is_taken_back(desk: Desk) -> None:
    before = (desk.folder / DAWN).read_bytes()
    page = desk.page("/sets/RRS-1")
    shown = page.inner_text("#strip")
    page.fill(field(page, "uplift"), "4.00")
    page.keyboard.press("Tab")
    saved(page)
    assert str(stated(desk)["uplift"]) == "4.0"
    assert page.inner_text("#strip") != shown
    assert page.evaluate("document.activeElement.id") == "f/ending"
    assert page.locator("#moved").is_hidden()
    page.locator("#said").get_by_role("button", name=say("back.take")).click()
    page.wait_for_selector(f"text={say('back.done')}")
    assert (desk.folder / DAWN).read_bytes() == before
    assert desk.faults == []


def test_what_cannot_be_stays_at_its_field_while_others_are_saved(desk: Desk) -> None:
    page = desk.page("/sets/RRS-1")
    page.fill(field(page, "uplift"), "much")
    page.keyboard.press("Tab")
    wrong = page.locator('[id="w/uplift"] .fault')
    expect(wrong).to_contain_text("much", timeout=20_000)
    page.fill(field(page, "theme"), "Before the birds.")
    page.keyboard.press("Tab")
    saved(page)
    assert stated(desk)["theme"] == "Before the birds."
    assert page.input_value(field(page, "uplift")) == "much"
    assert wrong.is_visible()
    assert violations(page) == []
    page.fill(field(page, "uplift"), "2.00")
    page.keyboard.press("Enter")
    expect(wrong).to_have_count(0, timeout=20_000)
    assert str(stated(desk)["uplift"]) == "2.0"


def test_entries_are_dragged_and_the_focus_follows_those_moved_by_keys(desk: Desk) -> None:
    page = desk.page("/sets/RRS-1")
    entries = page.locator(".contents > li")
    first = entries.nth(0).locator(".what").first.inner_text()
    order = stated(desk)["contents"]
    page.locator("#contents").evaluate("(at) => at.scrollIntoView()")  # both places are in sight before it is held
    entries.nth(0).locator(".grip").first.drag_to(entries.nth(1).locator(".what").first)
    saved(page)
    expect(entries.nth(1).locator(".what").first).to_have_text(re.compile(re.escape(first.split("\n")[0])))
    assert stated(desk)["contents"] == [order[1], order[0], *order[2:]]  # type: ignore[index]
    page.focus('[id="up/contents/1"]')
    page.keyboard.press("Enter")
    expect(page.locator('[id="down/contents/0"]')).to_be_focused(timeout=20_000)
    assert stated(desk)["contents"] == order


def test_the_focus_stays_where_an_entry_was_taken_out_though_the_page_has_other_parts_then(desk: Desk) -> None:
    file = desk.folder / DAWN
    file.write_text(file.read_text(encoding="utf-8") + '[[contents]]\nitem = "NO-SUCH"\n', encoding="utf-8")
    page = desk.page("/sets/RRS-1")
    assert page.locator("#s-figures").count() == 0
    page.locator(".contents > li:last-child .line [value^='take contents/']").press("Enter")
    page.wait_for_selector("#s-figures", timeout=20_000)  # so the page was loaded anew
    expect(page.locator('[id="q/contents"]')).to_be_focused(timeout=20_000)


def test_on_a_telephone_parts_are_folded_but_what_is_asked_for_and_no_variant_is_wider_than_the_page(
    desk: Desk,
) -> None:
    page = desk.page("/sets/RRS-1")
    page.set_viewport_size({"width": 360, "height": 800})
    page.goto(page.url + "?at=uplift")
    folds = page.locator(".folds").evaluate_all("(all) => all.filter((each) => each.open).map((each) => each.id)")
    assert folds[0] == "fold/1"
    assert len(folds) == 2
    assert page.locator(field(page, "uplift")).is_visible()
    assert page.locator(".variant-rows").evaluate("(at) => at.scrollWidth <= at.clientWidth")
    assert not page.locator(field(page, "story")).is_visible()
    page.locator(".on-page a[href='#story']").press("Enter")
    expect(page.locator(field(page, "story"))).to_be_visible()
    assert violations(page) == []


def test_who_went_on_while_something_was_saved_is_left_where_she_is(desk: Desk) -> None:
    page = desk.page("/sets/RRS-1")

    def late(route: Route) -> None:
        page.wait_for_timeout(300)
        route.continue_()

    page.route("**/change", late)
    page.locator('[id="down/contents/0"]').press("Enter")
    page.focus(field(page, "theme"))
    saved(page)
    expect(page.locator("body")).not_to_have_class(re.compile("saving"))
    expect(page.locator(field(page, "theme"))).to_be_focused()


def test_a_story_is_typed_with_what_can_be_filled_in_and_seen_as_it_will_read(desk: Desk) -> None:
    page = desk.page("/sets/RRS-1")
    story = page.locator(field(page, "story"))
    story.fill("")
    story.focus()
    page.keyboard.type("„Grüße aus dem Süden“ von {{ sh")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    page.keyboard.type("\n\n**Bis bald.**")
    look = page.frame_locator(".story iframe").first
    expect(look.locator("strong")).to_have_text("Bis bald.", timeout=20_000)
    expect(look.locator("p").first).to_contain_text("„Grüße aus dem Süden“ von Reed & Rushlight")
    page.focus("#f\\/name")
    saved(page)
    text = (desk.folder / "sets/dawn/story.md").read_text(encoding="utf-8")
    assert text == "„Grüße aus dem Süden“ von {{ shop.name }}\n\n**Bis bald.**"


TWINS = 'choose = ["RR-J1", { item = "RR-J2", says = "Willow Bark body butter" }]'


@pytest.mark.parametrize("scripts", [True, False])
def test_a_problem_of_an_option_leads_into_its_fold(
    open_desk: Opened,  # noqa: F811
    tmp_path: Path,
    scripts: bool,
) -> None:
    desk = open_desk(clean_shop(tmp_path / "shop", edited(DAWN, 'choose = ["RR-J1", "RR-J2"]', TWINS)))
    state = desk.server.desk.shop_state
    state.look(measured=True)
    assert state.full(wait=60) is not None
    page = desk.page("/today", scripts=scripts)
    page.get_by_role("link", name="Items to choose from of Dawn on the Weir").first.click()
    page.wait_for_url("**/sets/RRS-1?at=*")
    says = page.locator(field(page, "contents/1/choose/1/says"))
    expect(says).to_be_focused()
    assert says.is_visible()
    if scripts:
        page.locator("details[id='d/contents/1/choose/1']").evaluate("(at) => { at.open = false; }")
        page.locator("#wrong-list a[data-field='contents/1/choose/1']").click()
        expect(says).to_be_focused()
    desk.leave()


def test_two_windows_that_change_one_field_lose_nobodys_words(desk: Desk) -> None:
    first, second = desk.page("/sets/RRS-1"), desk.page("/sets/RRS-1")
    second.fill(field(second, "theme"), "Typed in the second")
    first.fill(field(first, "theme"), "Saved in the first")
    first.keyboard.press("Tab")
    saved(first)
    second.bring_to_front()
    second.focus(field(second, "name"))
    expect(second.locator("main h1")).to_have_text(say("not_saved.title"), timeout=20_000)
    assert "Saved in the first" in second.inner_text("main")
    assert "Typed in the second" in second.inner_text("main")
    assert stated(desk)["theme"] == "Saved in the first"
    second.get_by_role("button", name=say("not_saved.mine")).click()
    second.wait_for_selector("#fields", state="attached")
    assert stated(desk)["theme"] == "Typed in the second"


def test_what_is_looked_for_stays_while_the_page_takes_in_what_moved_elsewhere(desk: Desk) -> None:
    page = desk.page("/sets/RRS-1")
    page.fill('[id="q/contents"]', "w")
    page.wait_for_selector(".hits .cards")
    before = page.locator(".contents").inner_text()
    sheet = desk.folder / "items.csv"
    sheet.write_text(sheet.read_text(encoding="utf-8").replace("6.50", "7.50"), encoding="utf-8")
    page.evaluate("dispatchEvent(new Event('focus'))")
    expect(page.locator(".contents")).not_to_have_text(before, use_inner_text=True, timeout=20_000)
    assert page.input_value('[id="q/contents"]') == "w"
    assert page.locator(".hits .cards").is_visible()
    assert page.evaluate("document.activeElement.id") == "q/contents"


def test_once_a_key_that_no_set_has_is_taken_out_the_figures_come(desk: Desk) -> None:
    file = desk.folder / DAWN
    before = file.read_bytes()
    file.write_bytes(b'seasn = "spring"\n' + before)
    page = desk.page("/sets/RRS-1")
    assert page.locator("#s-figures").count() == 0
    page.get_by_role("button", name=say("one.drop", name="seasn")).click()
    expect(page.locator("#s-figures")).to_be_visible(timeout=20_000)
    assert file.read_bytes() == before
    assert desk.faults == []


def test_a_set_is_made_from_nothing_by_keys_alone(open_desk: Opened, tmp_path: Path) -> None:  # noqa: F811
    copy_starter(shipped_templates() / "new_shop", tmp_path / "shop")
    desk = open_desk(tmp_path / "shop")
    page = desk.page("/sets/new")
    page.focus("#name")
    page.keyboard.type("Slow Sunday")
    page.keyboard.press("Enter")
    page.wait_for_url("**/sets/SET-*")
    file = "sets/slow-sunday/set.toml"
    while page.locator(".contents > li").count() > 1:
        count = page.locator(".contents > li").count()
        page.locator('.contents > li > .line [value^="take contents/"]').last.press("Enter")
        expect(page.locator(".contents > li")).to_have_count(count - 1, timeout=20_000)
    there = stated(desk, file)["contents"]
    with (tmp_path / "shop/items.csv").open(encoding="utf-8") as items:
        codes = [line.partition(",")[0] for line in items][1:]
    page.focus('[id="q/contents"]')
    page.keyboard.type(codes[1])
    page.wait_for_selector(".hits .cards")
    page.keyboard.press("Tab")  # to Find
    page.keyboard.press("Tab")  # the word for what is chosen
    page.keyboard.press("ControlOrMeta+A")
    page.keyboard.type("Jar")
    page.keyboard.press("Tab")  # Put it in
    page.keyboard.press("Tab")  # Let buyers choose
    page.keyboard.press("Enter")
    expect(page.locator(".contents > li.slot")).to_have_count(1, timeout=20_000)
    assert page.evaluate("document.activeElement.id") == "q/contents"
    page.focus('[id="q/contents/1/choose"]')
    page.keyboard.type(codes[2])
    page.wait_for_selector(".hits .cards")
    for key in ("Tab", "Tab", "Enter"):
        page.keyboard.press(key)
    expect(page.locator(".options > li")).to_have_count(2, timeout=20_000)
    assert stated(desk, file)["contents"] == [*there, {"slot": "Jar", "choose": codes[1:3]}]  # type: ignore[misc]
    page.locator('[id="f/contents/1/default/1"]').focus()
    page.keyboard.press("Space")
    until(lambda: stated(desk, file)["contents"][-1].get("default") == codes[2])  # type: ignore[index]
    page.get_by_role("button", name=say("status.on_sale")).press("Enter", timeout=5000)
    page.wait_for_selector("text=It is on sale now.")
    desk.leave()


def test_without_scripts_the_same_form_is_sent_by_its_buttons(open_desk: Opened, tmp_path: Path) -> None:  # noqa: F811
    desk = open_desk(clean_shop(tmp_path / "shop"))
    context = desk._new(storage_state=desk._known, java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{desk.server.desk.keys.origin}/sets/RRS-1")
    page.fill(field(page, "theme"), "Without any script.")
    page.get_by_role("button", name=say("one.save"), exact=True).first.click()
    page.wait_for_selector(f"text={say('one.saved')}")
    assert stated(desk)["theme"] == "Without any script."
    page.fill('[id="q/contents"]', "a")
    page.locator('form:has([id="q/contents"]) button').click()
    page.get_by_role("button", name=re.compile(say("one.put_what", what=""))).first.click()
    page.wait_for_selector(f"text={say('one.saved')}")
    context.close()
