"""`listkit print market` and `print post`: papers of a day, and the sheet that comes back filled in."""

import csv
import re
import shutil
import subprocess
from itertools import pairwise
from pathlib import Path

import pikepdf
import pytest

from listkit.cli import main
from listkit.pipeline import open_shop
from tests.shops import clean_shop
from tests.write.pages import words_of as boxes_of

PDFTEXT = shutil.which("pdftotext")
needs_poppler = pytest.mark.skipif(PDFTEXT is None, reason="poppler is not installed (Debian: poppler-utils)")
STALL = 'hold_back = 0\n[singles]\nitems = ["RR-B1", "RR-J1"]\n'


def words_of(page: Path) -> str:
    return subprocess.run([str(PDFTEXT), "-layout", page, "-"], capture_output=True, text=True, check=True).stdout


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = clean_shop(tmp_path / "shop")
    with (folder / "channels/stall.toml").open("a", encoding="utf-8") as file:
        file.write(STALL)
    return folder


def printed(shop: Path, *words: str) -> int:
    return main(["print", *words, "--shop", str(shop), "--today", "2027-03-01"])


def on_hand(shop: Path) -> dict[str, int | None]:
    return {item.code: item.on_hand for item in open_shop(shop).shop.items}


@needs_poppler
@pytest.mark.parametrize(("paper", "size"), [("A4", (595, 842)), ("letter", (612, 792))])
def test_a_market_has_one_page_on_the_shops_paper(shop: Path, paper: str, size: tuple[int, int]) -> None:
    with (shop / "wholesale.toml").open("r+", encoding="utf-8") as file:
        text = file.read()
        file.seek(0)
        file.write(f'paper = "{paper}"\n{text}')
    assert printed(shop, "market", "--place", "Market stall", "--day", "2027-03-06") == 0
    page = shop / "out/print/asked/market-stall-2027-03-06.pdf"
    with pikepdf.open(page) as pdf:
        assert len(pdf.pages) == 1
        assert tuple(round(float(side)) for side in pdf.pages[0].mediabox[2:]) == size
    words = words_of(page)
    for said in ("Market stall", "6 March 2027", "RRS-1-J1", "came", "Boxes S, packed: 4", "Message cards: 4", "Float"):
        assert said in words


@needs_poppler
def test_crates_stand_level_with_what_else_goes_along(shop: Path) -> None:
    assert printed(shop, "market", "--place", "Market stall", "--day", "2027-03-06") == 0
    boxes = [word for word in boxes_of(shop / "out/print/asked/market-stall-2027-03-06.pdf") if word.text == "□"]
    along, crate = (next(word for word in boxes if (word.left > 105) is right) for right in (False, True))
    assert along.bottom == pytest.approx(crate.bottom, abs=0.02)


@needs_poppler
@pytest.mark.parametrize("paper", ["A4", "letter"])
@pytest.mark.parametrize("lines", [24, 30, 45])
def test_every_row_of_a_market_has_room_for_figures_written_with_a_pen(shop: Path, lines: int, paper: str) -> None:
    """Figures of 4 to 5 mm were drawn into pages of 19, 30 and 45 lines: rows of 3.0 and 4.6 mm could not be read."""
    with (shop / "wholesale.toml").open("r+", encoding="utf-8") as file:
        text = file.read()
        file.seek(0)
        file.write(f'paper = "{paper}"\n{text}')
    items = (shop / "items.csv").read_text(encoding="utf-8").splitlines()
    like = next(line for line in items if line.startswith("RR-B1,"))
    more = [f"RR-Z{at:02}" for at in range(lines - 4)]
    rows = [like.replace("RR-B1", code).replace("Sedge & Salt", f"Salt {at}") for at, code in enumerate(more)]
    (shop / "items.csv").write_text("\n".join((*items, *rows, "")), encoding="utf-8")
    stall = (shop / "channels/stall.toml").read_text(encoding="utf-8")
    listed = "".join(f'"{code}", ' for code in more)
    (shop / "channels/stall.toml").write_text(stall.replace('items = ["RR-B1"', f'items = [{listed}"RR-B1"'), "utf-8")
    assert printed(shop, "market", "--place", "stall", "--day", "2027-03-06") == 0
    page = shop / "out/print/asked/market-stall-2027-03-06.pdf"
    boxes = subprocess.run([str(PDFTEXT), "-bbox", page, "-"], capture_output=True, text=True, check=True).stdout
    tops = [
        [float(top) for top in re.findall(r'yMin="([\d.]+)"[^>]*>RR[\w-]+</word>', part)]
        for part in boxes.split("<page ")[1:]
    ]
    assert sum(map(len, tops)) == lines
    apart = [(later - top) * 25.4 / 72 for part in tops for top, later in pairwise(part)]
    assert min(apart) >= 6
    assert len(tops) == (2 if lines == 45 else 1)


def test_the_sheet_of_a_market_filled_in_is_what_stock_add_reads(shop: Path) -> None:
    assert main(["stock", "start", "--day", "2027-02-28", "--shop", str(shop)]) == 0
    assert printed(shop, "market", "--place", "stall", "--day", "2027-03-01") == 0
    sheet = shop / "out/print/asked/market-stall-2027-03-01.csv"
    with sheet.open(encoding="utf-8-sig", newline="") as file:
        headings, *rows = csv.reader(file)
    assert headings == [
        "Day",
        "Place",
        "Code",
        "What",
        "Take",
        "taken along",
        "sold",
        "came back",
        "broken",
        "given",
        "tester",
    ]
    assert [(row[2], row[5]) for row in rows] == [("RRS-1-J1", "2"), ("RRS-1-J2", "2"), ("RR-B1", "4"), ("RR-J1", "4")]
    rows[0][6] = "2"
    rows[1][7] = "2"
    rows[2][6:9] = ["2", "1", "1"]
    rows[3][6:11] = ["", "1", "", "1", "1"]
    filled = shop.parent / "filled.csv"
    with filled.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, delimiter=";").writerows([headings, *rows])
    assert main(["stock", "add", str(filled), "--shop", str(shop), "--today", "2027-03-02"]) == 0
    assert on_hand(shop) == {"RR-B1": 40 - 2 - 2 - 1, "RR-J1": 25 - 2 - 1 - 1 - 1, "RR-J2": 25, "RR-M1": 30}
    lines = (shop / "movements.csv").read_text(encoding="utf-8").splitlines()
    assert all(line.startswith("2027-03-01,") and ",stall," in line for line in lines[1:] if ",counted," not in line)


def test_a_german_shop_s_sheet_is_read_as_it_is_written(shop: Path) -> None:
    text = (shop / "shop.toml").read_text(encoding="utf-8")
    (shop / "shop.toml").write_text(text.replace('"en-GB"', '"de"'), encoding="utf-8")
    main(["stock", "start", "--day", "2027-02-28", "--shop", str(shop)])
    filled = shop.parent / "filled.csv"
    filled.write_text(
        "Tag;Ort;Nummer;Was;mitgenommen;verkauft;zurück\n2027-03-01;stall;RR-B1;;4;;1\n", encoding="utf-8"
    )
    assert main(["stock", "add", str(filled), "--shop", str(shop), "--today", "2027-03-02"]) == 0
    assert on_hand(shop)["RR-B1"] == 37


def test_own_numbers_are_taken_as_far_as_they_can_be_had(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    counts = shop.parent / "counts.csv"
    counts.write_text("code,quantity\nRR-B1,50\nRRS-1-J2,3\n", encoding="utf-8")
    assert printed(shop, "market", "--place", "stall", "--counts", str(counts)) == 0
    assert "RR-B1: 50 are wanted, 37 can be had." in capsys.readouterr().err
    counts.write_text("code,quantity\nRR-X,5\n", encoding="utf-8")
    assert printed(shop, "market", "--place", "stall", "--counts", str(counts)) == 1


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("market",), "which market?"),
        (("market", "--place", "nowhere"), 'There is no channel "nowhere"'),
        (("post",), "need a table of orders"),
        (("post", "none.csv"), "there is no such file"),
    ],
)
def test_what_is_missing_is_asked(
    shop: Path, words: tuple[str, ...], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert printed(shop, *words) == 1
    assert said in capsys.readouterr().err
    assert not (shop / "out/print").exists()


ORDERS = (
    "Order number,SKU,Qty,Gift message,From,To,Address\n"
    "W-2,RRS-1-J2,1,Happy birthday!,Bo,Ann,1 Secret Lane\nW-1,RR-B1,2,,,,\nW-1,RRS-1-J1,1,,,,\n"
)


@needs_poppler
def test_a_post_day_has_its_papers_in_the_order_of_the_table_and_keeps_nobodys_address(shop: Path) -> None:
    orders = shop.parent / "orders.csv"
    orders.write_text(ORDERS, encoding="utf-8")
    assert printed(shop, "post", str(orders)) == 0
    folder = shop / "out/print/asked"
    assert sorted(path.name for path in folder.glob("*.pdf")) == [
        "message-cards-w-2-to-w-1.pdf", "packing-cards-w-2-to-w-1.pdf", "post-list-w-2-to-w-1.pdf"
    ]  # fmt: skip
    words = words_of(folder / "post-list-w-2-to-w-1.pdf")
    assert words.index("W-2") < words.index("W-1")
    assert "Orders: 2, parcels: 4" in words
    packing = words_of(folder / "packing-cards-w-2-to-w-1.pdf")
    places = [packing.index(words) for words in ("RRS-1-J2", "Order W-2", "RRS-1-J1", "Order W-1")]
    assert places == sorted(places)
    everything = b"".join(path.read_bytes() for path in shop.rglob("*") if path.is_file())
    assert b"Secret" not in everything
    assert "Happy" not in words + packing
    assert "Happy birthday!" in words_of(folder / "message-cards-w-2-to-w-1.pdf")


def test_a_post_day_with_a_code_that_is_not_sold_prints_nothing(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    orders = shop.parent / "orders.csv"
    orders.write_text("order,set\nW-1,RRS-1\nW-2,XX\nW-3,RR-B1\nW-4,RR-M1\n", encoding="utf-8")
    assert printed(shop, "post", str(orders)) == 1
    said = capsys.readouterr().err
    assert "RRS-1 has choices. Write which one it is: RRS-1-J1, RRS-1-J2." in said
    assert 'there is no set or single piece "XX".' in said
    assert "RR-M1 is listed alone nowhere. List it in [singles] of shop.toml, or write the set it is in." in said
    assert not (shop / "out/print").exists()


@needs_poppler
def test_papers_of_other_orders_stay_and_those_of_the_same_are_replaced_and_told(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    orders, folder = shop.parent / "orders.csv", shop / "out/print/asked"
    orders.write_text("order,set\nW-1,RRS-1-J1\nW-2,RRS-1-J2\n", encoding="utf-8")
    assert printed(shop, "post", str(orders)) == 0
    assert "in place of" not in capsys.readouterr().err
    first = (folder / "post-list-w-1-to-w-2.pdf").read_bytes()
    orders.write_text("order,set\nW-3,RRS-1-J1\n", encoding="utf-8")
    assert printed(shop, "post", str(orders)) == 0
    assert "W-3" in words_of(folder / "post-list-w-3.pdf")
    assert (folder / "post-list-w-1-to-w-2.pdf").read_bytes() == first
    capsys.readouterr()
    assert printed(shop, "post", str(orders)) == 0
    assert "post-list-w-3.pdf, in place of the one before" in capsys.readouterr().err


@needs_poppler
def test_a_card_whose_words_do_not_go_on_it_stops_no_other_paper_of_the_day(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    orders, folder = shop.parent / "orders.csv", shop / "out/print/asked"
    rows = "W-1,RRS-1-J1,Good day\nW-2,RRS-1-J2,Well done \U0001f600\n"
    orders.write_text(f"order,set,words\n{rows}", encoding="utf-8")
    assert printed(shop, "post", str(orders)) == 1
    assert "order W-2: our font has no" in capsys.readouterr().err
    assert "parcels: 2" in words_of(folder / "post-list-w-1-to-w-2.pdf")
    cards = words_of(folder / "message-cards-w-1-to-w-2.pdf")
    assert "Good day" in cards
    assert "Well done" not in cards
