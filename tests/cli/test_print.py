"""`listkit print`: labels and cards in numbers, on sheets that were begun, cards with buyers' words, and bad input."""

import csv
import json
import re
import shutil
import subprocess
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pikepdf
import pytest

from listkit.cli import main
from listkit.write.asked_pages import shown_words
from listkit.write.barcodes import LEAST_MODULE, QUIET_MODULES, qr_code
from tests.shops import CLEAN, clean_shop
from tests.write.pages import barcodes_of, pages_of, text_of, words_of

DAY = "2027-03-01"
needs_poppler = pytest.mark.skipif(
    shutil.which("pdftotext") is None, reason="poppler is not installed (Debian: poppler-utils)"
)
LABELS = '\n[labels]\nsize = "90 x 90 mm"\n\n[cards]\nsize = "88 x 56 mm"\n'
SHEET = ["order number", "set", "gift message", "from", "to"]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The clean shop with labels, cards and an address of its pages."""
    settings = (CLEAN / "shop.toml").read_text(encoding="utf-8") + LABELS
    stall = 'listing_address = "https://reed.example/sets/"\n' + (CLEAN / "channels/stall.toml").read_text("utf-8")
    return clean_shop(tmp_path / "shop", {"shop.toml": settings, "channels/stall.toml": stall})


def printed(folder: Path, kind: str, *options: str) -> tuple[int, Path]:
    """The exit status, and the folder of what was printed."""
    status = main(["print", kind, "--shop", str(folder), "--today", DAY, *options])
    return status, folder / "out/print/asked"


def table(folder: Path, rows: list[list[str]], name: str = "table.csv") -> str:
    path = folder.parent / name
    with path.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows(rows)
    return str(path)


def codes(folder: Path) -> list[str]:
    """The variants' codes, as one of each is printed."""
    status, out = printed(folder, "labels")
    assert status == 0
    return re.findall(r"No\. (\S+)", text_of(out / "outside-labels.pdf"))


@needs_poppler
def test_labels_come_in_the_numbers_of_the_table_and_in_its_order(folder: Path) -> None:
    known = codes(folder)
    wanted = table(folder, [["Code", "How many"], [known[-1], "3"], [known[0], "2"]])
    status, out = printed(folder, "labels", "--counts", wanted)
    assert status == 0
    numbers = [word for word in words_of(out / "outside-labels.pdf") if word.text in known]
    in_rows = sorted(numbers, key=lambda word: (word.page, word.top // 90, word.left))  # labels of 90 mm
    assert [word.text for word in in_rows] == [known[-1]] * 3 + [known[0]] * 2


@needs_poppler
def test_printing_begins_at_the_first_place_that_is_free(folder: Path) -> None:
    """Two columns of three labels of 90 mm lie on A4; the fourth place is the right one of the second row."""
    known = codes(folder)
    wanted = table(folder, [["code", "quantity"], [known[0], "4"]])
    _, out = printed(folder, "labels", "--counts", wanted, "--start", "4")
    numbers = [word for word in words_of(out / "outside-labels.pdf") if word.text == known[0]]
    assert [word.page for word in numbers] == [1, 1, 1, 2]
    first, second = numbers[0], numbers[1]
    assert first.left > 105 > second.left
    assert 3 * 90 > first.top > 90
    assert second.top > 180


@needs_poppler
def test_a_label_too_tall_is_told_and_the_others_are_printed_as_they_were_counted(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The first jar has very many cautions: the label of its set alone is missing, and no other takes its place."""
    short, other = "RRS-1-J1", "RRS-1-J2"
    items = (folder / "items.csv").read_text(encoding="utf-8")
    long = "".join(f";Keep away from {'draught, damp and geese, ' * 20}and house {number}." for number in range(40))
    row = next(line for line in items.splitlines() if line.startswith("RR-J1,"))
    whole = row.replace("external-use;avoid-eyes", f'"external-use;avoid-eyes{long}"')
    (folder / "items.csv").write_text(items.replace(row, whole), encoding="utf-8")
    wanted = table(folder, [["code", "quantity"], [short, "2"], [other, "3"], [short, "1"]])
    status, out = printed(folder, "labels", "--counts", wanted)
    said = " ".join(capsys.readouterr().err.split())
    assert status == 1
    assert f"has no label of {short}." in said
    assert "3 in" in said
    assert re.findall(r"No\. (\S+)", text_of(out / "outside-labels.pdf")) == [other] * 3


@needs_poppler
def test_cards_inserts_and_packing_cards_are_printed_and_a_build_leaves_them(folder: Path) -> None:
    for kind in ("price-cards", "inserts", "packing"):
        assert printed(folder, kind)[0] == 0
    out = folder / "out/print/asked"
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    assert set(before) == {"price-cards.pdf", "insert-cards.pdf", "packing-cards.pdf"}
    assert main(["build", "--shop", str(folder), "--today", DAY]) == 0
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before
    assert "print/asked" not in (folder / "out/manifest.json").read_text(encoding="utf-8")


@needs_poppler
def test_a_packing_card_is_a5_with_the_box_first_the_drawing_and_the_weight(folder: Path) -> None:
    """ISO 216: A5 is 148 × 210 mm."""
    _, out = printed(folder, "packing")
    with pikepdf.open(out / "packing-cards.pdf") as pdf:
        wide, high = (float(side) * 25.4 / 72 for side in pdf.pages[0].MediaBox[2:])
    assert (round(wide), round(high)) == (148, 210)
    text = text_of(out / "packing-cards.pdf")
    assert text.index("Lay in, in this order") < text.index("Box S") < text.index("On the scales, closed")
    assert re.search(r"\d g ± 5 g", text)
    assert "From above" in text


@needs_poppler
@pytest.mark.parametrize(
    ("kind", "stem", "room"), [("inserts", "insert-cards", 50), ("packing", "packing-cards", 122.5)]
)
def test_a_long_word_runs_over_no_neighbour_and_off_no_paper(kind: str, stem: str, room: float, folder: Path) -> None:
    """A German compound as a set's name."""
    long = "Ringelblumengeschenkschachtel"
    page = folder / "sets/dawn/set.toml"
    page.write_text(re.sub(r'(?m)^name = ".*"', f'name = "{long}"', page.read_text("utf-8"), count=1), "utf-8")
    status, out = printed(folder, kind)
    assert status == 0
    words = [word for word in words_of(out / f"{stem}.pdf") if word.text.replace("\u200b", "") == long]
    assert words
    assert all(word.right - word.left <= room for word in words)


@needs_poppler
def test_a_packing_card_without_a_box_speaks_of_nothing_to_lay_in_or_to_close(folder: Path) -> None:
    page = folder / "sets/dawn/set.toml"
    page.write_text(page.read_text(encoding="utf-8").replace('box = "S"', 'box = "none"'), encoding="utf-8")
    _, out = printed(folder, "packing")
    text = text_of(out / "packing-cards.pdf")
    assert re.search(r"Pick\s+1 ", text)
    assert re.search(r"On the scales:\s+\d+ g", text)


@needs_poppler
def test_the_qr_code_of_an_insert_card_is_read_from_the_page_at_300_dots_an_inch(folder: Path, tmp_path: Path) -> None:
    """ISO/IEC 18004, read by zxing-cpp from what poppler draws."""
    _, out = printed(folder, "inserts")
    assert barcodes_of(out / "insert-cards.pdf", tmp_path) == ["https://reed.example/sets/dawn"]


@pytest.mark.parametrize("length", [30, 60, 110])
def test_a_qr_code_has_its_quiet_zone_and_no_module_finer_than_is_read(length: int) -> None:
    """ISO/IEC 18004:2015, 6.3.8: four modules of quiet zone; 17 + 4 × version modules a side (5.1)."""
    code = qr_code("https://reed.example/".ljust(length, "a"), Decimal(40))
    modules = int(re.findall(r'viewBox="0 0 (\d+) ', code.svg)[0])
    assert (modules - 2 * QUIET_MODULES - 17) % 4 == 0
    assert code.side / modules >= LEAST_MODULE
    starts = [int(x) for x in re.findall(r'd="M(\d+) ', code.svg)]
    assert min(starts) == QUIET_MODULES


def test_a_place_that_cannot_be_read_is_told_where_cards_lack_its_code(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stall = folder / "channels/stall.toml"
    stall.write_text(
        stall.read_text("utf-8").replace("https://reed.example/sets/", "https://reed.example/my sets/"),
        encoding="utf-8",
    )
    printed(folder, "inserts")
    assert "begins no address" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("address", "says"),
    [
        ("reed.example/sets/", "is no address of a page"),
        ("ftp://reed.example/sets/", "is no address of a page"),
        ("javascript:alert(1)//", "is no address of a page"),
        ("https:///sets/", "is no address of a page"),
        ("https://reed.example/" + "long-way-to-it/" * 60, "needs"),
        ("https://reed.example/" + "x" * 4000 + "/", "too long for a QR code"),
    ],
)
def test_an_address_that_is_none_or_too_long_is_told(
    address: str, says: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stall = folder / "channels/stall.toml"
    stall.write_text(stall.read_text("utf-8").replace("https://reed.example/sets/", address), encoding="utf-8")
    status, out = printed(folder, "inserts")
    assert status == 1
    assert says in capsys.readouterr().err
    assert not (out / "insert-cards.pdf").exists()


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ([["code", "quantity"], ["RRS-1", "0"]], "0 are asked for"),
        ([["code", "quantity"], ["RRS-1", "100000"]], "100000 are asked for; at most 10000"),
        ([["code", "quantity"], ["RRS-1", "two"]], '"two" is no whole number'),
        ([["code", "quantity"], ["RRS-1", "2.5"]], '"2.5" is no whole number'),
        ([["code", "quantity"], ["RRS-1", "1/2"]], '"1/2" is no whole number'),
        ([["code", "quantity"], ["RRS-1", "-3"]], '"-3" is no whole number'),
        ([["code", "quantity"], ["RRS-1", "9" * 30]], "are asked for; at most 10000"),
        ([["code", "quantity"], ["RRS-1", ""]], "no number is stated"),
        ([["code", "quantity"], ["", "3"]], 'there is no label of ""'),
        ([["code", "quantity"], ["NO-1", "2"]], 'there is no label of "NO-1"'),
        ([["code", "quantity"]], "no row asks for anything"),
        ([["sort", "colour"], ["a", "b"]], 'no row has the headings "code" and "quantity"'),
    ],
)
def test_counts_that_cannot_be_printed_are_told_and_nothing_is(
    rows: list[list[str]], says: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status, out = printed(folder, "labels", "--counts", table(folder, rows))
    assert status == 1
    assert says in capsys.readouterr().err
    assert not out.exists()


@pytest.mark.parametrize("start", ["-1", "0", "7", "100000"])
def test_a_first_place_that_no_sheet_has_is_told(start: str, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert printed(folder, "labels", "--start", start)[0] == 1
    assert f"a sheet has 6 places, and none is number {start}. Write --start 1 to 6." in capsys.readouterr().err


@needs_poppler
def test_a_label_that_does_not_fit_is_told_once_and_nothing_is_printed(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    settings = folder / "shop.toml"
    wide = settings.read_text("utf-8").replace('size = "88 x 56 mm"', 'size = "30 x 14 mm"')
    settings.write_text(wide, encoding="utf-8")
    status, out = printed(folder, "price-cards")
    assert status == 1
    told = capsys.readouterr().err
    assert "a card of this size cannot hold its text" in told
    assert not (out / "price-cards.pdf").exists()


def wishes(folder: Path, *rows: list[str], name: str = "orders.csv") -> str:
    return table(folder, [SHEET, *rows], name)


@needs_poppler
def test_words_go_on_cards_with_their_order_and_a_list_to_tick_off(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    orders = wishes(
        folder, ["17", "RRS-1", "Happy birthday!\nSee you soon.", "Ben", "Ann"], ["18", "", "Thanks", "", ""]
    )
    status, out = printed(folder, "messages", "--orders", orders)
    assert status == 0
    text = text_of(out / "message-cards-17-to-18.pdf")
    for part in ("Happy birthday!", "See you soon.", "Ben", "Ann", "Thanks", "Order 17", "Order 18", "To tick off"):
        assert part in text
    assert len(list(pages_of(out / "message-cards-17-to-18.pdf", tmp_path, 30))) == 2
    told = capsys.readouterr()
    assert "delete the file when it is printed" in told.err
    assert "birthday" not in told.err + told.out


@needs_poppler
def test_words_that_a_line_may_part_go_on_a_card_and_long_order_numbers_stay_in_their_column(folder: Path) -> None:
    number = "2026-0000123456-ABCDEFGHIJ"
    orders = table(folder, [SHEET, [number, "RRS-1", "with-much-love/" * 12, "", "Ann"]])
    status, out = printed(folder, "messages", "--orders", orders)
    assert status == 0
    [cards] = out.glob("message-cards-*.pdf")
    ticks = [word for word in words_of(cards) if word.page == max(word.page for word in words_of(cards))]
    assert max(word.right for word in ticks if word.text.replace("\u200b", "")[:4] in ("2026", "0000")) < 65


def test_words_of_buyers_stay_in_no_other_file(folder: Path) -> None:
    status, _ = printed(folder, "messages", "--orders", wishes(folder, ["17", "RRS-1", "Zauberwort", "", ""]))
    assert status == 0
    kept = [path for path in folder.rglob("*") if path.is_file() and b"Zauberwort" in path.read_bytes()]
    assert kept == []  # in the PDF they are compressed glyphs
    assert not list(folder.glob("ledger*"))


def test_orders_come_as_workbooks_too(folder: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in (SHEET, [17, "RRS-1", "All the best", "", "Ann"]):
        sheet.append(row)
    path = folder.parent / "orders.xlsx"
    book.save(path)
    assert printed(folder, "messages", "--orders", str(path))[0] == 0


LONG = "All of us wish you well. " * 200  # 5,000 letters


@pytest.mark.parametrize(
    ("row", "status", "says"),
    [
        (
            ["17", "RRS-1", LONG, "", ""],
            1,
            r"order 17: its words are \d{3,4} letters too many for a card of 95 × 138 mm\.",
        ),
        (["17", "RRS-1", "Well done \U0001f600", "", ""], 1, r'order 17: our font has no "\U0001f600" \(U\+1F600\)\.'),
        (["17", "RRS-1", "x" * 300, "", ""], 1, "order 17: one of its words is wider than a card of 95 × 138 mm"),
        (["17", "RRS-1", "Good", "x" * 300, ""], 1, "order 17: one of its words is wider than a card"),
        (["17", "RRS-1", "Well done" + "\u0301" * 90, "", ""], 1, "order 17: 90 marks stand upon one letter"),
        (["17", "RRS-1", "Well done \u6f22", "", ""], 1, r"our font has no .+ \(U\+6F22\)\."),
        (["17", "RRS-1", "\u0639\u064a\u062f", "", ""], 0, "order 17: its Arabic letters are those of a typewriter"),
        (["17", "RRS-1", "", "", ""], 0, "it has no words, so it gets no card"),
        (["", "RRS-1", "Hello", "", ""], 0, "it has no order number"),
        (["17", "GONE-1", "Hello", "", ""], 0, 'there is no set "GONE-1" any more'),
        (["1", "RRS-1", "Hello", "", ""], 0, "order 1 stands here twice; both get a card"),
    ],
)
def test_odd_orders_are_told_by_their_number_and_never_by_their_words(
    row: list[str], status: int, says: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    orders = wishes(folder, ["1", "RRS-1", "Good words", "", ""], row)
    assert printed(folder, "messages", "--orders", orders)[0] == status
    told = capsys.readouterr()
    assert re.search(says, told.err)
    assert "Good words" not in told.err + told.out
    assert "wish you" not in told.err
    assert len(list((folder / "out/print/asked").glob("message-cards-1*.pdf"))) == 1  # the good words are printed


def test_each_card_with_a_letter_that_no_font_has_is_told_with_its_own(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    odd = ["", "\u6f22", "\u5b57 \u6f22", "\U0001f600", "", "o" + "\u0301" * 40 + "\u6f22", "\ue000"]
    rows = [[str(at), "RRS-1", f"Well done {sign}", "", ""] for at, sign in enumerate(odd, 1)]
    assert printed(folder, "messages", "--orders", wishes(folder, *rows))[0] == 1
    told = re.findall(r"order (\d): (?:our font has no .*?(U\+\w+)|(\d+ marks))", capsys.readouterr().err)
    assert sorted(told) == [
        *(("2", "U+6F22", ""), ("3", "U+6F22", ""), ("4", "U+1F600", "")),
        *(("6", "", "40 marks"), ("7", "U+E000", "")),
    ]


@needs_poppler
def test_right_to_left_words_are_set_from_the_right(folder: Path) -> None:
    """Hebrew: the first word of the line lies at the right; Unicode Standard Annex 9."""
    _, out = printed(
        folder, "messages", "--orders", wishes(folder, ["17", "", "\u05e9\u05dc\u05d5\u05dd \u05dc\u05da", "", ""])
    )
    found = subprocess.run(
        ["pdftotext", "-bbox", str(out / "message-cards-17.pdf"), "-"], capture_output=True, text=True, check=True
    ).stdout
    places = {word: float(x) for x, word in re.findall(r'xMin="([\d.]+)"[^>]*>([\u0590-\u05ff]+)<', found)}
    assert len(places) == 2
    first, second = (
        next(x for word, x in places.items() if set(word) == set(of))
        for of in ("\u05e9\u05dc\u05d5\u05dd", "\u05dc\u05da")
    )
    assert first > second


def test_signs_without_a_look_of_their_own_are_left_out() -> None:
    assert shown_words("a\u202eb\u0000c\td\r\ne") == "abc d\ne"


def test_what_is_printed_is_told_to_scripts(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    printed(folder, "inserts", "--json")
    told: dict[str, Any] = json.loads(capsys.readouterr().out)
    assert (told["files"], told["count"]) == (["print/asked/insert-cards.pdf"], 1)


def test_a_file_of_the_owners_is_not_written_over(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    own = folder / "out/print/asked/insert-cards.pdf"
    own.parent.mkdir(parents=True)
    own.write_bytes(b"mine")
    assert printed(folder, "inserts")[0] == 1
    assert own.read_bytes() == b"mine"


def test_all_orders_whose_words_cannot_be_set_are_told_at_once(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = [["1", "RRS-1", LONG, "", ""], ["2", "", "\U0001f600", "", ""], ["3", "", "\U0001f41d", "", ""]]
    assert printed(folder, "messages", "--orders", wishes(folder, *rows, ["4", "", "\U0001f600", "", ""]))[0] == 1
    told = capsys.readouterr().err
    assert [len(re.findall(rf"order {number}: ", told)) for number in (1, 2, 3, 4)] == [1, 1, 1, 1]
