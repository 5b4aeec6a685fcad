"""The print room without a browser: what is printed is what the command prints; what is measured in is on the paper."""

import io
import re
import shutil
import tomllib
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pikepdf
import pytest
from starlette.testclient import TestClient

from listkit.check.text import STARTER_ADDRESS
from listkit.cli import main
from listkit.desk import paper
from listkit.desk.page import Desk, say
from listkit.desk.saving import shown_name
from listkit.edit.past_lines import digest_of
from listkit.ledger.orders import KeptOrder, OrderState, add_order, add_step, orders
from listkit.save.out_folder import locked, real_folder
from tests.desk.desks import DAY, form, opened, text
from tests.ledger.rows import order_facts
from tests.shops import CLEAN, clean_shop

pytestmark = pytest.mark.usefixtures("pages_are_printed_once")

Opened = tuple[TestClient, Desk]
MM = Decimal("25.4") / 72  # of a point
READ = {
    "kind": "price-cards", "sheet": "A4", "line": "100", "columns": "2", "rows": "4", "left": "8", "right": "96",
    "next_left": "106.5", "top": "13.5", "bottom": "69.5", "next_top": "77.25",
}  # fmt: skip


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The clean shop with labels and cards."""
    settings = (CLEAN / "shop.toml").read_text(encoding="utf-8")
    settings += '\n[labels]\nsize = "90 x 90 mm"  # as they come\n\n[cards]\nsize = "88 x 56 mm"\n'
    return clean_shop(tmp_path_factory.mktemp("paper") / "shop", {"shop.toml": settings})


@pytest.fixture
def shop(whole: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(whole, tmp_path / "shop"))


@pytest.fixture
def desk(shop: Path) -> Iterator[Opened]:
    with opened(shop) as (client, desk):
        yield client, desk


def codes_in(page: str) -> list[str]:
    return re.findall(r'name="count/([^"]+)"', page)


def counts_in(page: str) -> dict[str, str]:
    return {code: count for code, count in re.findall(r'name="count/([^"]+)" value="(\d*)"', page) if count}


def settings_shown(shop: Path) -> dict[str, str]:
    return {shown_name(paper.TARGET): digest_of((shop / "shop.toml").read_bytes())}


def asked(shop: Path) -> dict[str, bytes]:
    folder = shop / "out/print/asked"
    return {path.name: path.read_bytes() for path in folder.iterdir()} if folder.is_dir() else {}


@pytest.mark.parametrize("kind", ["labels", "price-cards", "packing", "inserts"])
def test_what_is_printed_is_what_the_command_prints(desk: Opened, shop: Path, tmp_path: Path, kind: str) -> None:
    client, opened_desk = desk
    codes = codes_in(client.get(f"/print?kind={kind}").text)[:2]
    wanted = dict(zip(codes, ("3", "1"), strict=False))
    start = "1" if kind == "packing" else "2"
    sent = form(opened_desk, kind=kind, start=start, **{f"count/{code}": count for code, count in wanted.items()})
    page = client.post("/print", data=sent)
    assert page.status_code == 200, text(page.text)
    assert say("count.labels", count=sum(map(int, wanted.values()))) in text(page.text)
    [name] = re.findall(r'href="/print/files/([\w.-]+)"', page.text)
    got = client.get(f"/print/files/{name}").content
    twin = Path(shutil.copytree(shop, tmp_path / "twin", ignore=shutil.ignore_patterns("out", ".listkit")))
    table = tmp_path / "counts.csv"
    table.write_text("code,quantity\n" + "".join(f"{code},{count}\n" for code, count in wanted.items()), "utf-8")
    words = ["print", kind, "--shop", str(twin), "--today", str(DAY), "--counts", str(table), "--start", start]
    assert main(words) == 0
    assert got == (twin / "out/print/asked" / name).read_bytes()


def test_counts_are_proposed_from_what_was_ordered_and_can_be_made(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    codes = codes_in(client.get("/print?kind=labels").text)
    ledger = shop / "ledger.sqlite3"

    def ordered(number: str, lines: dict[str, int]) -> None:
        add_order(ledger, KeptOrder(0, "MILL", number, DAY, order_facts(lines)), orders(ledger))

    ordered("1", {codes[0]: 4, "OH-NOTHING": 9})
    ordered("2", {codes[0]: 2, codes[1]: 1})
    ordered("3", {codes[1]: 50})
    add_step(ledger, 3, OrderState.SENT, DAY, known=orders(ledger))
    assert counts_in(client.get("/print?kind=labels&from=ordered").text) == {codes[0]: "6", codes[1]: "1"}
    [set_code, *_] = codes_in(client.get("/print?kind=inserts").text)
    assert counts_in(client.get("/print?kind=inserts&from=ordered").text) == {set_code: "7"}
    facts = opened_desk.shop_state.look().facts(set_code)
    assert facts is not None
    can = {each.code: str(each.can_make) for each in facts.variants if each.can_make}
    assert counts_in(client.get("/print?kind=labels&from=stock").text) == {
        code: can[code] for code in codes if code in can
    }
    assert set(counts_in(client.get("/print?kind=labels&from=one").text).values()) == {"1"}


@pytest.mark.parametrize(
    ("start", "count", "words"),
    [("0", "1", "none is number 0"), ("7", "1", "none is number 7"), ("one", "1", '"one" is no number'),
     ("1", "", say("print.none_asked")), ("1", "many", '"many" is no number'), ("1", "1000", '"1000" is no number'),
     ("9" * 5000, "1", '"999'), ("1", "9" * 5000, '"999')],
)  # fmt: skip
def test_what_cannot_be_printed_is_told_and_stays_typed(
    desk: Opened, shop: Path, start: str, count: str, words: str
) -> None:
    client, opened_desk = desk
    code = codes_in(client.get("/print?kind=labels").text)[0]
    page = client.post("/print", data=form(opened_desk, kind="labels", start=start, **{f"count/{code}": count}))
    assert (page.status_code, words in text(page.text)) == (422, True), text(page.text)
    assert f'name="count/{code}" value="{count}"' in page.text
    assert asked(shop) == {}


def test_nothing_is_half_printed_while_a_build_runs(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    code = codes_in(client.get("/print?kind=labels").text)[0]
    with locked(real_folder(shop / "out")):
        page = client.post("/print", data=form(opened_desk, kind="labels", start="1", **{f"count/{code}": "1"}))
    assert "another build" in text(page.text).casefold()
    assert asked(shop) == {}


def test_message_cards_come_from_a_dropped_table_and_no_page_repeats_the_words(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    table = b"order,set,message,from,to\n501,RRS-1,Dearest Ann all my love,Tom,Ann\n"
    sent = form(opened_desk, kind="messages", start="1")
    page = client.post("/print", data=sent, files={"orders": ("orders.csv", table)})
    assert list(asked(shop)) == ["message-cards-501.pdf"]
    assert "all my love" not in page.text
    assert say("print.words_kept") in text(page.text)
    assert say("print.no_orders") in client.post("/print", data=sent).text


# Measured in


def outlines(content: bytes) -> list[tuple[Decimal, Decimal, Decimal, Decimal]]:
    """Return left, top, width and height in mm of every area that the first page outlines, as pikepdf reads it."""
    with pikepdf.open(io.BytesIO(content)) as pdf:
        page = pdf.pages[0]
        high = Decimal(str(page.mediabox[3]))
        matrix, kept, points, found = [Decimal(at) for at in (1, 0, 0, 1, 0, 0)], [], [], []
        for step in pikepdf.parse_content_stream(page):
            name, numbers = str(step.operator), [Decimal(str(each)) for each in step.operands if _is_number(each)]
            if name == "q":
                kept.append(matrix)
            elif name == "Q":
                matrix = kept.pop()
            elif name == "cm":
                a, b, c, d, e, f = numbers
                m = matrix
                matrix = [
                    a * m[0] + b * m[2], a * m[1] + b * m[3], c * m[0] + d * m[2], c * m[1] + d * m[3],
                    e * m[0] + f * m[2] + m[4], e * m[1] + f * m[3] + m[5],
                ]  # fmt: skip
            elif name in ("m", "l"):
                x, y = numbers
                points.append((x * matrix[0] + y * matrix[2] + matrix[4], x * matrix[1] + y * matrix[3] + matrix[5]))
            elif name == "re":
                x, y, wide, tall = numbers
                for at, up in ((x, y), (x + wide, y + tall)):
                    points.append(
                        (at * matrix[0] + up * matrix[2] + matrix[4], at * matrix[1] + up * matrix[3] + matrix[5])
                    )
            elif name in ("S", "s", "n", "f", "f*", "B"):
                xs, ys = {x for x, _ in points}, {y for _, y in points}
                if name in ("S", "s") and len(points) >= 2 and len(xs) >= 2 and len(ys) >= 2:
                    sides = (min(xs), high - max(ys), max(xs) - min(xs), max(ys) - min(ys))
                    found.append(tuple(side * MM for side in sides))
                points = []
    return found  # type: ignore[return-value]


def _is_number(value: object) -> bool:
    try:
        Decimal(str(value))
    except ArithmeticError:
        return False
    return True


def test_what_is_read_off_a_sheet_is_kept_and_is_the_pitch_on_the_paper(desk: Opened, shop: Path) -> None:
    """Cards of 88 x 56 mm, 98.5 mm apart across and 63.75 mm down, 8 mm from the left and 13.5 mm from above."""
    client, opened_desk = desk
    before = (shop / "shop.toml").read_text(encoding="utf-8")
    page = client.post("/print/measure", data=form(opened_desk, **READ, **settings_shown(shop)))
    assert page.url.path == "/print", text(page.text)
    assert say("measure.saved") in page.text
    after = (shop / "shop.toml").read_text(encoding="utf-8")
    assert after.startswith(before.rstrip())
    assert tomllib.loads(after)["cards"] == {
        "size": "88 x 56 mm", "sheet": "A4", "columns": 2, "rows": 4, "margin_left": "8 mm", "margin_top": "13.5 mm",
        "pitch_across": "98.5 mm", "pitch_down": "63.75 mm",
    }  # fmt: skip
    found = outlines(client.get("/print/test.pdf?kind=price-cards").content)
    cards = [each for each in found if abs(each[2] - 88) < 1 and abs(each[3] - 56) < 1]
    expected = [(8 + Decimal("98.5") * (at % 2), Decimal("13.5") + Decimal("63.75") * (at // 2)) for at in range(8)]
    assert len(cards) == 8
    for (left, top, wide, high), (x, y) in zip(sorted(cards, key=lambda c: (round(c[1]), c[0])), expected, strict=True):
        for there, typed in ((left, x), (top, y), (wide, 88), (high, 56)):
            assert abs(there - typed) < Decimal("0.01"), (there, typed)
    again = client.get("/print/measure?kind=price-cards").text
    for name in ("left", "right", "next_left", "top", "bottom", "next_top", "columns", "rows"):
        assert f'name="{name}" value="{READ[name]}"' in again


def test_the_ruler_is_as_long_as_it_says(desk: Opened) -> None:
    client, _ = desk
    content = client.get("/print/ruler.pdf?sheet=letter").content
    with pikepdf.open(io.BytesIO(content)) as pdf:
        sides = [Decimal(str(side)) * MM for side in pdf.pages[0].mediabox]
    assert [round(side, 1) for side in sides] == [0, 0, Decimal("215.9"), Decimal("279.4")]


@pytest.mark.parametrize(
    ("typed", "field", "words"),
    [
        ({"left": ""}, "left", "measure.no_reading"),
        ({"top": "a finger"}, "top", "measure.no_reading"),
        ({"right": "4"}, "right", "measure.turned"),
        ({"next_left": ""}, "next_left", "measure.no_next"),
        ({"columns": "none"}, "columns", "measure.no_count"),
        ({"rows": "0"}, "rows", "measure.no_count"),
        ({"rows": "9" * 5000}, "rows", "measure.no_count"),
        ({"line": "97"}, "line", "measure.scaled"),
        ({"columns": "3"}, "columns", ""),
        ({"next_left": "90"}, "next_left", ""),
    ],
)
def test_a_reading_that_cannot_be_is_told_at_its_field_and_nothing_is_kept(
    desk: Opened, shop: Path, typed: dict[str, str], field: str, words: str
) -> None:
    client, opened_desk = desk
    before = (shop / "shop.toml").read_bytes()
    page = client.post("/print/measure", data=form(opened_desk, **{**READ, **typed}, **settings_shown(shop)))
    assert page.status_code == 422
    [told] = re.findall(rf'id="w-{field}">(.*?)</div>', page.text, re.DOTALL)
    assert 'role="alert"' in told
    assert not words or text(told) == say(words, length=100)
    assert (shop / "shop.toml").read_bytes() == before


def test_inches_and_commas_are_readings_too() -> None:
    values, wrong = paper.stated({**READ, "left": "0.5 in", "right": "101,6 mm", "columns": "1", "next_left": ""})
    assert wrong == {}
    assert (values["margin_left"], values["size"], values["pitch_across"]) == ("12.7 mm", "88.9 x 56 mm", None)


def test_a_size_that_no_text_fits_is_told_and_nothing_is_printed(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    small = {**READ, "kind": "labels", "right": "24", "next_left": "26", "bottom": "25.5", "next_top": "27.5"}
    page = client.post("/print/measure", data=form(opened_desk, **small, **settings_shown(shop)))
    assert page.url.path == "/print"
    assert tomllib.loads((shop / "shop.toml").read_text(encoding="utf-8"))["labels"]["size"] == "16 x 12 mm"
    assert opened_desk.shop_state.full(wait=60) is not None
    page = client.get("/print?kind=labels")
    assert "cannot hold the text of Dawn on the Weir in the smallest type allowed." in text(page.text)
    code = codes_in(page.text)[0]
    made = client.post("/print", data=form(opened_desk, kind="labels", start="1", **{f"count/{code}": "1"}))
    assert (made.status_code, "cannot hold its text" in text(made.text)) == (422, True)
    assert asked(shop) == {}


def test_a_shop_without_labels_is_led_to_measuring(desk: Opened, shop: Path) -> None:
    client, opened_desk = desk
    file = shop / "shop.toml"
    file.write_text(file.read_text(encoding="utf-8").partition("\n[labels]")[0] + "\n", encoding="utf-8")
    page = client.get("/print?kind=labels")
    assert say("print.nothing_yet") in text(page.text)
    assert "/print/measure?kind=labels" in page.text
    read = {**READ, "kind": "labels", "right": "96", "bottom": "69.5"}
    client.post("/print/measure", data=form(opened_desk, **read, **settings_shown(shop)))
    assert tomllib.loads(file.read_text(encoding="utf-8"))["labels"]["pitch_down"] == "63.75 mm"
    assert codes_in(client.get("/print?kind=labels").text)


def test_no_address_leads_out_of_what_was_printed(desk: Opened, shop: Path) -> None:
    client, _ = desk
    (shop / "out/print/asked").mkdir(parents=True)
    (shop / "out/print/asked/link.pdf").symlink_to(shop / "shop.toml")
    for name in ("..%2f..%2f..%2fshop.toml", "nothing.pdf", "link.pdf", ".asked.json"):
        assert client.get(f"/print/files/{name}").status_code == 404
    assert client.get("/print/test.pdf?kind=packing").status_code == 404


@pytest.mark.parametrize("address", ["", "the starter's", "Oat Lane Soaps, 4 Oat Lane, Bristol BS1 4ND"])
def test_labels_that_name_nobody_who_answers_for_the_goods_are_warned_of(address: str, tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    stated = STARTER_ADDRESS if address == "the starter's" else address
    settings = shop / "shop.toml"
    kept = re.sub(r"(?m)^address = .*\n", "", settings.read_text(encoding="utf-8"))
    settings.write_text((f'address = "{stated}"\n' if stated else "") + kept, encoding="utf-8")
    with opened(shop) as (client, _):
        page = client.get("/print?kind=labels").text
        assert ('<a href="/shop?at=address">' in page) is not address.startswith("Oat")
        assert "/shop?at=address" not in client.get("/print?kind=packing").text
