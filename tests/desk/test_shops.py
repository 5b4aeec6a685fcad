"""The room of shops without a browser: orders from a dropped form to the ledger, stockists, terms and their papers."""

import io
import json
import re
import shutil
import sqlite3
import subprocess
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from httpx import Response
from PIL import Image
from starlette.testclient import TestClient

from listkit.cli import main
from listkit.desk import shops, terms
from listkit.desk.page import Desk, say
from listkit.desk.saving import shown_name
from listkit.edit.past_lines import digest_of
from listkit.ledger.orders import OrderState, orders
from listkit.read.source import Given
from listkit.save.out_folder import locked, real_folder
from listkit.write.print import page_pictures, print_pdf
from tests.desk.desks import DAY, form, opened, text
from tests.ledger.test_old_ledger import OLD
from tests.shops import demo_without_pictures

pytestmark = pytest.mark.usefixtures("pages_are_printed_once")

EVIL = '"><script>window.hit=1</script>'
Opened = tuple[TestClient, Desk]


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return demo_without_pictures(tmp_path_factory.mktemp("shops") / "shop")


@pytest.fixture
def shop(whole: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(whole, tmp_path / "shop"))


@pytest.fixture
def desk(shop: Path) -> Iterator[Opened]:
    with opened(shop) as (client, desk):
        yield client, desk


def order(*lines: str, number: str = "TD-118", name: str = "The Thistle Drawer", sheet: str = "") -> bytes:
    head = [f'Shop,"{name}"', f'Your order number,"{number}"', "First order (yes or no),no"]
    head += [f"Line sheet,{sheet}"] if sheet else []
    return "\n".join([*head, "code,quantity", *lines]).encode() + b"\n"


def steps_on(page: str) -> dict[str, str]:
    """Return how much had become of an order when a page was shown, as its form has it."""
    return dict(re.findall(r'name="(steps)" value="(\d+)"', page)[:1])


def drop(desk: Opened, content: bytes, name: str = "order.csv") -> tuple[str, str]:
    """Drop a form; return the address of its page, and what that shows."""
    client, opened_desk = desk
    answer = client.post("/shops/order", data=form(opened_desk), files={"form": (name, content)})
    return answer.url.path, answer.text


def confirm(desk: Opened, address: str, page: str, **more: str) -> Any:
    client, opened_desk = desk
    [shown] = re.findall(r'name="shown" value="(\w*)"', page)
    return client.post(address, data=form(opened_desk, shown=shown, **more))


def command(shop: Path, capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    capsys.readouterr()
    main([*words, "--shop", str(shop), "--today", str(DAY), "--json"])
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def holds(shop: Path) -> dict[str, bytes]:
    """Every file below the output folder but its lock, and the ledger."""
    files = [*(shop / "out").rglob("*"), shop / "ledger.sqlite3"]
    return {str(path.relative_to(shop)): path.read_bytes() for path in files if path.is_file() and path.name != ".lock"}


def test_an_order_is_confirmed_with_the_figures_of_the_command_and_its_papers_are_had(
    desk: Opened, shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """60 x 3.55 is 213.00, 4 x 13.50 is 54.00."""
    client, _ = desk
    address, page = drop(desk, order("OH-B01,60", "OHS-1-S03,4"))
    said = text(page)
    assert "Order of The Thistle Drawer" in said
    assert "Together 64 £267.00" in said
    assert say("order.agrees") in said
    answer = confirm(desk, address, page)
    assert answer.url.path == "/shops/orders/1"
    assert say("order.confirmed") in text(answer.text)
    log = command(shop, capsys, "orders")
    assert log["orders"][0]["total"] == "267.00"
    for line in log["orders"][0]["lines"]:
        assert f"{line['code']} {line['quantity']} £{line['each']} £{line['total']}" in text(answer.text)
    for paper in ("confirmation", "pick-list"):
        got = client.get(f"/shops/orders/1/{paper}")
        assert "attachment" in got.headers["content-disposition"]
        with pikepdf.open(io.BytesIO(got.content)) as pdf:
            assert len(pdf.pages) >= 1
    (tmp_path / "twin").mkdir()
    (tmp_path / "order.csv").write_bytes(order("OH-B01,60", "OHS-1-S03,4"))
    twin = demo_without_pictures(tmp_path / "twin/shop")
    told = command(twin, capsys, "order", str(tmp_path / "order.csv"))
    assert [(shop / "out" / path).read_bytes() for path in told["files"]] == [
        (twin / "out" / path).read_bytes() for path in told["files"]
    ], "the command writes the very same papers"


def test_an_order_by_an_old_sheet_is_confirmed_at_its_prices(
    desk: Opened, shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """On the line sheet of 2026-11-28 OH-B01 cost 4.00 and today 3.75: 30 x 3.76 and 30 x 3.55, both from 24 on."""
    shutil.copyfile(OLD, shop / "ledger.sqlite3")
    with closing(sqlite3.connect(shop / "ledger.sqlite3")) as ledger:
        lines = [json.loads(t) for (t,) in ledger.execute("SELECT text FROM content") if '"version"' in t]
    last = max(lines, key=lambda line: str(line["issued"]))["version"]
    filled = order("OH-B01,30", sheet=f"spring-2027-01-16-{last}")
    (tmp_path / "order.csv").write_bytes(filled)
    address, page = drop(desk, filled)
    assert f"By line sheet {last}" in text(page)
    confirm(desk, address, page, **({} if say("order.agrees") in page else {"anyway": "yes"}))
    [kept] = orders(shop / "ledger.sqlite3")
    assert (kept.facts["sheet"], kept.facts["total"]) == (last, "112.80")
    told = command(shop, capsys, "order", str(tmp_path / "order.csv"))
    assert (told["total"], told["sheet"]) == ("112.80", last)
    address, page = drop(desk, order("OH-B01,30", number="TD-119"))
    confirm(desk, address, page)
    assert orders(shop / "ledger.sqlite3")[1].facts["total"] == "106.50"


def test_what_does_not_agree_is_told_and_confirmed_only_when_she_says_so(desk: Opened, shop: Path) -> None:
    address, page = drop(desk, order("OH-B01,60", "OHS-1-S03,5", "OH-B99,3"))
    said = text(page)
    assert 'There is no "OH-B99" on' in said
    assert "1 more make full cases of 2" in said
    before = holds(shop)
    answer = confirm(desk, address, page)
    assert answer.status_code == 409
    assert say("order.not_confirmed") in text(answer.text)
    assert holds(shop) == before
    confirm(desk, address, page, anyway="yes")
    [kept] = orders(shop / "ledger.sqlite3")
    assert [(line["code"], line["quantity"]) for line in kept.facts["lines"]] == [("OHS-1-S03", 5), ("OH-B01", 60)]


@pytest.mark.parametrize(("number", "agrees"), [(4, True), (6, True), (5, False), (0, True)])
def test_another_number_than_the_form_asks_for_is_confirmed(
    desk: Opened, shop: Path, number: int, agrees: bool
) -> None:
    """A case holds 2 of OHS-1 and the form asks for 5: 4 or 6 agree, 5 does when she says so, and 0 leaves it out."""
    client, opened_desk = desk
    address, page = drop(desk, order("OH-B01,60", "OHS-1-S03,5"))
    assert 'value="grant OHS-1-S03 4"' in page
    assert 'value="grant OHS-1-S03 6"' in page
    changed = {"grant/OHS-1-S03": str(number), "grant/OH-B01": "60"}
    page = client.post(address, data=form(opened_desk, do="look", **changed)).text
    assert (say("order.anyway_why") in page) is not agrees
    answer = confirm(desk, address, page, **changed, **_carried(page))
    assert answer.url.path == "/shops/orders/1"
    [kept] = orders(shop / "ledger.sqlite3")
    lines = {line["code"]: line["quantity"] for line in kept.facts["lines"]}
    assert lines == {"OH-B01": 60, **({"OHS-1-S03": number} if number else {})}
    assert kept.facts["asked"] == {"OH-B01": 60, "OHS-1-S03": 5}
    paper = "".join(_words_of(client.get("/shops/orders/1/confirmation").content).split())
    assert (f"OHS-1-S03:5ordered,{number}confirmed" in paper) is (number != 5)


def test_numbers_that_were_not_looked_at_are_shown_before_anything_is_confirmed(desk: Opened, shop: Path) -> None:
    address, page = drop(desk, order("OH-B01,60", "OHS-1-S03,5"))
    answer = confirm(desk, address, page, anyway="yes", **{"grant/OHS-1-S03": "4"})
    assert answer.status_code == 409
    assert say("order.other_counts") in text(answer.text)
    assert orders(shop / "ledger.sqlite3") == ()
    confirm(desk, address, answer.text, **{"grant/OHS-1-S03": "4"}, **_carried(answer.text))
    assert orders(shop / "ledger.sqlite3")[0].facts["pieces"] == 64


def _carried(page: str) -> dict[str, str]:
    """Return the hidden fields of the form that confirms."""
    return dict(re.findall(r'name="(granted|anyway)" value="([^"]*)"', page))


def _words_of(pdf: bytes) -> str:
    run = subprocess.run(["pdftotext", "-", "-"], input=pdf, capture_output=True, check=True)
    return run.stdout.decode()


def test_a_shop_that_never_had_an_order_is_not_told_that_all_are_sent(desk: Opened) -> None:
    client, _ = desk
    assert say("shops.none_came") in text(client.get("/shops").text)
    address, page = drop(desk, order("OH-B01,60"))
    confirm(desk, address, page)
    client, opened_desk = desk
    client.post("/shops/orders/1", data=form(opened_desk, do="sent", **steps_on(client.get("/shops").text)))
    assert say("shops.nothing_to_send") in text(client.get("/shops").text)


def test_an_order_twice_adds_nothing_and_another_of_its_number_waits_for_the_first_to_be_cancelled(
    desk: Opened, shop: Path
) -> None:
    client, opened_desk = desk
    confirm(desk, *drop(desk, order("OH-B01,60")))
    before = holds(shop)
    _, page = drop(desk, order("OH-B01,60"), "the same.csv")
    assert say("order.on_record") in text(page)
    assert say("order.nothing_new") in text(page)
    address, page = drop(desk, order("OH-B01,72"))
    assert say("order.on_record_other") in text(page)
    assert "OH-B01 60, not 72" in text(page)
    assert client.post(address, data=form(opened_desk, shown="", anyway="yes")).status_code == 409
    assert holds(shop) == before
    answer = client.post("/shops/orders/1", data=form(opened_desk, do="cancelled", here=address, **steps_on(page)))
    assert answer.url.path == address
    confirm(desk, address, answer.text)
    assert [(each.facts["total"], each.state) for each in orders(shop / "ledger.sqlite3")] == [
        ("213.00", OrderState.CANCELLED), ("255.60", OrderState.CONFIRMED),
    ]  # fmt: skip


def test_an_order_is_followed_until_it_is_sent_and_a_slip_is_taken_back(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    confirm(desk, *drop(desk, order("OH-B01,60")))
    first = steps_on(client.get("/shops/orders/1").text)
    page = client.post("/shops/orders/1", data=form(opened_desk, do="sent", day="2026-12-03", **first)).text
    assert say("order.noted.sent") in text(page)
    assert "sent 3 December 2026" in text(client.get("/shops").text)
    then = steps_on(page)
    again = client.post("/shops/orders/1", data=form(opened_desk, do="sent", day="2026-12-03", **then))
    assert (again.status_code, "it is sent already" in again.text) == (409, True)
    early = client.post("/shops/orders/1", data=form(opened_desk, do="back", day="2026-12-01", **then))
    assert (early.status_code, "lies before" in early.text) == (409, True)
    client.post("/shops/orders/1", data=form(opened_desk, do="back", day="2026-12-03", **then))
    [kept] = orders(shop / "ledger.sqlite3")
    assert [state.value for state, _ in kept.steps] == ["sent", "confirmed"]
    assert client.post("/shops/orders/9", data=form(opened_desk, do="sent")).status_code == 409
    assert client.post("/shops/orders/1", data=form(opened_desk, do="burn")).status_code == 404


def test_what_became_of_an_order_on_another_page_is_shown_before_anything_is_taken_back(
    desk: Opened, shop: Path
) -> None:
    client, opened_desk = desk
    confirm(desk, *drop(desk, order("OH-B01,60")))

    def follow(do: str, steps: dict[str, str]) -> Response:
        answer: Response = client.post("/shops/orders/1", data=form(opened_desk, do=do, **steps))
        return answer

    old = steps_on(follow("sent", steps_on(client.get("/shops/orders/1").text)).text)
    page = follow("back", old).text
    follow("cancelled", steps_on(page))
    for steps in (old, {}, {"steps": "x"}):
        answer = follow("back", steps)
        assert (answer.status_code, say("order.followed_elsewhere") in text(answer.text)) == (409, True)
    [kept] = orders(shop / "ledger.sqlite3")
    assert kept.state is OrderState.CANCELLED
    follow("back", steps_on(answer.text))
    [kept] = orders(shop / "ledger.sqlite3")
    assert kept.state is OrderState.CONFIRMED


def test_what_moved_since_the_page_was_shown_is_shown_before_anything_is_confirmed(desk: Opened, shop: Path) -> None:
    address, page = drop(desk, order("OH-B01,60"))
    file = shop / "items.csv"
    file.write_text(file.read_text(encoding="utf-8").replace(",7.50,", ",9.50,"), encoding="utf-8")
    answer = confirm(desk, address, page)
    assert (answer.status_code, say("order.moved") in text(answer.text)) == (409, True)
    assert not (shop / "ledger.sqlite3").exists()
    confirm(desk, address, answer.text)
    assert len(orders(shop / "ledger.sqlite3")) == 1


def test_nothing_is_half_written_while_a_build_runs_and_a_newer_ledger_is_left_alone(desk: Opened, shop: Path) -> None:
    client, _ = desk
    address, page = drop(desk, order("OH-B01,60"))
    before = holds(shop) if (shop / "out").exists() else {}
    with locked(real_folder(shop / "out")):
        answer = confirm(desk, address, page)
    assert (answer.status_code, "another build" in answer.text.casefold()) == (409, True)
    assert not (shop / "ledger.sqlite3").exists()
    confirm(desk, address, page)
    with closing(sqlite3.connect(shop / "ledger.sqlite3")) as newer:
        newer.execute("PRAGMA user_version = 99")
        newer.commit()
    before = holds(shop)
    assert "newer listkit" in text(client.get("/shops").text)
    answer = client.get(drop(desk, order("OH-B02,60", number="9"))[0])
    assert (answer.status_code, "newer listkit" in answer.text) == (409, True)
    assert holds(shop) == before


def test_a_form_that_says_neither_who_nor_by_which_sheet_is_asked_about(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    address, page = drop(desk, b"code,quantity\nOH-B01,60\n")
    assert say("order.who") in page
    chosen = client.get(f"{address}?stockist=ST-03&sheet=")
    assert "Order of Pennywort Provisions" in text(chosen.text)
    assert client.get(f"{address}?stockist=ST-99").status_code == 409
    [shown] = re.findall(r'name="shown" value="(\w*)"', chosen.text)
    client.post(address, data=form(opened_desk, shown=shown, stockist="ST-03", anyway="yes"))
    [kept] = orders(shop / "ledger.sqlite3")
    assert kept.buyer == "ST-03"


@pytest.mark.parametrize("content", [b"", b"%PDF-1.7", b"PK\x03\x04", b"dear all", EVIL.encode()])
def test_what_is_no_form_is_told_with_a_remedy_and_its_name_is_text(desk: Opened, content: bytes) -> None:
    _, page = drop(desk, content, f"{EVIL}.csv")
    assert say("order.must") in page
    assert "<script>window" not in page


def test_a_form_that_is_no_longer_kept_and_papers_of_no_order_are_nothing(desk: Opened) -> None:
    client, opened_desk = desk
    assert client.get("/shops/order/0123456789").status_code == 404
    assert client.post("/shops/order/0123456789", data=form(opened_desk)).status_code == 404
    confirm(desk, *drop(desk, order("OH-B01,60")))
    for path in ("/shops/orders/2/confirmation", "/shops/orders/1/..%2f..%2fshop.toml", "/shops/orders/1/nothing"):
        assert client.get(path).status_code == 404
    assert say("shops.no_form") in client.post("/shops/order", data=form(opened_desk)).text


def test_only_the_last_forms_are_kept() -> None:
    kept = shops.Dropped()
    keys = [kept.keep(Given(f"{at}.csv", b"x")) for at in range(10)]
    assert [kept.get(key) is None for key in keys] == [True] * 2 + [False] * 8


# Stockists


def held(shop: Path) -> dict[str, str]:
    return {shown_name(shops.STOCKISTS): digest_of((shop / "stockists.csv").read_bytes())}


def test_who_holds_an_unknown_version_is_told_and_the_right_one_is_written(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    file = shop / "stockists.csv"
    file.write_text(
        file.read_text(encoding="utf-8").replace("Hexenby,,", "Hexenby,line-sheet-qqqqq.pdf,"), encoding="utf-8"
    )
    before, page = file.read_text(encoding="utf-8"), client.get("/shops").text
    assert say("shops.holds_unknown", version="QQQQQ") in text(page)
    [version] = re.findall(r'<p class="version">(\w+)</p>', page)
    untouched = client.post("/shops/stockists", data=form(opened_desk, **{"sheet/ST-02": "QQQQQ"}, **held(shop)))
    assert untouched.status_code == 200
    assert file.read_text(encoding="utf-8") == before, "nothing was chosen anew"
    client.post("/shops/stockists", data=form(opened_desk, **{"sheet/ST-02": version}, **held(shop)))
    assert file.read_text(encoding="utf-8") == before.replace("line-sheet-qqqqq.pdf", version)
    assert say("shops.holds_current") in text(client.get("/shops").text)


def test_a_new_stockist_is_a_row_more(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    before = (shop / "stockists.csv").read_text(encoding="utf-8")
    new = {"new/code": "ST-05", "new/name": "Inkwell & Daughter", "new/area": "Wharling"}
    short = client.post("/shops/stockists", data=form(opened_desk, do="add", **{"new/code": "ST-05"}, **held(shop)))
    assert (short.status_code, say("shops.new_missing") in short.text) == (422, True)
    client.post("/shops/stockists", data=form(opened_desk, do="add", **new, **held(shop)))
    after = (shop / "stockists.csv").read_text(encoding="utf-8")
    assert after.startswith(before)
    assert after.removeprefix(before).startswith("ST-05,Inkwell & Daughter,")
    twice = client.post("/shops/stockists", data=form(opened_desk, do="add", **new, **held(shop)))
    assert (twice.status_code, "is there already" in twice.text) == (422, True)
    assert (shop / "stockists.csv").read_text(encoding="utf-8") == after


def test_a_shop_that_became_a_stockist_has_its_earlier_orders(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    confirm(desk, *drop(desk, order("OH-B01,60", name="Inkwell & Daughter")))
    assert say("shops.others") in client.get("/shops").text
    new = {"new/code": "ST-05", "new/name": "Inkwell & Daughter"}
    client.post("/shops/stockists", data=form(opened_desk, do="add", **new, **held(shop)))
    page = client.get("/shops").text
    assert say("shops.others") not in page
    assert "Inkwell & Daughter ST-05 today £213.00" in text(page)


# Terms and papers


def terms_shown(shop: Path) -> dict[str, str]:
    return {shown_name(terms.TARGET): digest_of((shop / "wholesale.toml").read_bytes())}


def pages_in(page: str) -> list[str]:
    return re.findall(r'src="(/shops/terms/\w+/\d+\.png)"', page)


def test_a_term_is_saved_in_its_place_and_the_pages_are_new(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    before, page = (shop / "wholesale.toml").read_text(encoding="utf-8"), client.get("/shops/terms").text
    first = pages_in(page)
    with Image.open(io.BytesIO(client.get(first[0]).content)) as picture:
        assert picture.size == (661, 935), "A4 at 80 pixels an inch, ISO 216"
    answer = client.post(
        "/shops/terms", data=form(opened_desk, opening="300", beside="line-sheet", **terms_shown(shop))
    )
    assert (shop / "wholesale.toml").read_text(encoding="utf-8") == before.replace('opening = "240"', 'opening = "300"')
    assert say("terms.saved") in text(answer.text)
    assert not {*pages_in(answer.text)} & {*first}
    wrong = client.post("/shops/terms", data=form(opened_desk, opening="much", **terms_shown(shop)))
    assert (wrong.status_code, 'value="much"' in wrong.text) == (422, True)
    assert '"300"' in (shop / "wholesale.toml").read_text(encoding="utf-8")


def test_each_paper_has_the_pages_of_its_pdf(desk: Opened, tmp_path: Path) -> None:
    client, opened_desk = desk
    seen = opened_desk.shop_state.look(measured=True)
    for paper in terms.PAPERS:
        shown = pages_in(client.get(f"/shops/terms?paper={paper}").text)
        laid = terms.laid_out(seen, paper)
        assert laid is not None
        _, layout, pictures = laid
        assert len(shown) == len(page_pictures(layout, pictures, ppi=20))
        if paper != "order-form":  # that one is a workbook, and drawn for the page alone
            for name, content in pictures:
                (tmp_path / name).write_bytes(content)
            print_pdf(tmp_path / "paper.pdf", layout, tuple((name, tmp_path / name) for name, _ in pictures))
            with pikepdf.open(tmp_path / "paper.pdf") as pdf:
                assert len(pdf.pages) == len(shown)
        assert all(client.get(address).status_code == 200 for address in shown)
    assert client.get("/shops/terms/0123456789abcdef/1.png").status_code == 404


def test_the_file_of_a_paper_that_looks_otherwise_by_now_is_said_to_be_older(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    assert say("terms.not_built") in text(client.get("/shops/terms").text)
    assert main(["build", "--shop", str(shop), "--today", str(DAY)]) == 0
    file = shop / "wholesale.toml"
    stated = file.read_text(encoding="utf-8")
    for look, is_older in (("quiet", False), ("bold", True)):  # which a sheet's version does not state
        file.write_text(f'design = "{look}"\n{stated}', encoding="utf-8")
        opened_desk.shop_state.again()
        opened_desk.shop_state.look(measured=True)
        opened_desk.shop_state.full(wait=60)
        page = client.get("/shops/terms").text
        assert 'href="/made/wholesale/line-sheet-' in page
        for shown in (page, client.get("/places").text):  # it was never published
            assert (say("behind.files") in text(shown)) is is_older


def test_a_page_of_a_paper_is_had_large_enough_to_be_read(desk: Opened) -> None:
    client, _ = desk
    page = client.get("/shops/terms?paper=price-list").text
    way = re.search(r'<a href="(/shops/terms/\w+/1\?paper=price-list)"', page)
    assert way is not None
    leaf = client.get(way[1]).text
    assert 'href="/shops/terms?paper=price-list#paper"' in leaf
    small, large = (client.get(f"{way[1].partition('?')[0]}.png{more}").content for more in ("", "?large=1"))
    with Image.open(io.BytesIO(small)) as before, Image.open(io.BytesIO(large)) as after:
        assert after.width > 1.8 * before.width
    assert client.get(way[1].replace("/1?", "/999?")).status_code == 404
    assert client.get(way[1].replace("price-list", "nothing")).status_code == 404


def test_an_entry_of_a_list_is_added_and_taken_out(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    before = (shop / "wholesale.toml").read_text(encoding="utf-8")
    new = {"tier/1/from": "96", "tier/1/wholesale": "45 %", "do": "add tier 0"}
    client.post("/shops/terms", data=form(opened_desk, **new, **terms_shown(shop)))
    assert before in (shop / "wholesale.toml").read_text(encoding="utf-8") + "\n"
    assert [tier.start for tier in wholesale_of(opened_desk).tiers] == [24, 96]
    client.post("/shops/terms", data=form(opened_desk, do="take tier/1", **terms_shown(shop)))
    assert [tier.start for tier in wholesale_of(opened_desk).tiers] == [24]
    gone = client.post("/shops/terms", data=form(opened_desk, do="take tier/7", **terms_shown(shop)))
    assert gone.status_code == 422


def wholesale_of(desk: Desk) -> Any:
    return desk.shop_state.look().opened.shop.wholesale


def test_a_shop_without_terms_begins_with_a_first_one(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    (shop / "wholesale.toml").unlink()
    assert say("shops.no_terms") in text(client.get("/shops").text)
    page = client.get("/shops/terms")
    assert (page.status_code, say("terms.no_sheet") in text(page.text)) == (200, True)
    client.post("/shops/terms", data=form(opened_desk, opening="150.00", **{shown_name(terms.TARGET): ""}))
    assert pages_in(client.get("/shops/terms").text)


def test_a_file_of_terms_that_cannot_be_read_is_told_and_left(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    (shop / "wholesale.toml").write_text("opening = = 3\n", encoding="utf-8")
    page = client.get("/shops/terms")
    assert (page.status_code, say("terms.unread") in text(page.text)) == (200, True)
    assert client.post("/shops/terms", data=form(opened_desk, opening="3", **terms_shown(shop))).status_code == 409
    assert (shop / "wholesale.toml").read_text(encoding="utf-8") == "opening = = 3\n"


def test_a_key_of_the_terms_that_nothing_reads_is_told_on_their_page(desk: Opened, shop: Path) -> None:
    """Its sentence names a key, as the words of a page are asked for by one."""
    path = shop / "wholesale.toml"
    path.write_text('shade = "deep"\n' + path.read_text(encoding="utf-8"), encoding="utf-8")
    answer = desk[0].get("/shops/terms")
    assert answer.status_code == 200
    assert "The file has a key that nothing reads: shade = deep" in text(answer.text)
