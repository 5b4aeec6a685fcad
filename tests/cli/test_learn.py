"""`listkit learn`, as an owner runs it: every invented sample learnt, built, and read back."""

import csv
import io
import json
import tomllib
from pathlib import Path
from typing import Any

import pytest

from listkit.actions.learn import read_sample
from listkit.cli import main
from tests.learn.feed_samples import SAMPLES, FeedSample
from tests.shops import xlsx

TODAY = ["--today", "2026-11-25"]
CODECS = ("utf-8", "utf-8-sig", "cp1252", "utf-16")


@pytest.fixture(scope="module")
def starter(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A new shop, as `listkit new` makes it."""
    folder = tmp_path_factory.mktemp("starter") / "shop"
    assert main(["new", str(folder)]) == 0
    return folder


def text(sample: FeedSample, separator: str = ",", codec: str = "utf-8", quoting: Any = csv.QUOTE_MINIMAL) -> bytes:
    file = io.StringIO(newline="")
    csv.writer(file, delimiter=separator, quoting=quoting).writerows(sample.rows)
    return file.getvalue().encode(codec)


def learn(
    shop: Path, capsys: pytest.CaptureFixture[str], content: bytes, *, name: str = "Fair", file: str = "sample.csv"
) -> dict[str, Any]:
    """What `listkit learn --json` tells of a sample."""
    path = shop.parent / file
    path.write_bytes(content)
    capsys.readouterr()
    assert main(["learn", str(path), "--name", name, "--shop", str(shop), "--json"]) == 0
    told: dict[str, Any] = json.loads(capsys.readouterr().out)
    return told


def refused(shop: Path, capsys: pytest.CaptureFixture[str], path: Path, name: str = "Fair") -> str:
    """What is told on stderr of a sample that cannot be learnt from; nothing is written."""
    before = sorted(shop.rglob("*"))
    capsys.readouterr()
    assert main(["learn", str(path), "--name", name, "--shop", str(shop)]) == 1
    assert sorted(shop.rglob("*")) == before
    return capsys.readouterr().err.strip()


@pytest.mark.parametrize(("at", "sample"), list(enumerate(SAMPLES)), ids=[sample.name for sample in SAMPLES])
def test_a_channel_learnt_from_a_sample_builds_a_file_with_that_header(
    starter: Path, capsys: pytest.CaptureFixture[str], at: int, sample: FeedSample
) -> None:
    codec, separator = CODECS[at % 4], ",;\t|"[at // 4 % 4]
    name = f"Place {at}"
    told = learn(starter, capsys, text(sample, separator, codec, csv.QUOTE_ALL), name=name)
    assert (told["dialect"]["separator"], told["dialect"]["quote"]) == (separator, "all")
    assert [column["heading"] for column in told["columns"]] == list(sample.rows[0])
    build = ["build", "--shop", str(starter), "--channel", name, "--out", str(starter.parent / name), *TODAY, "--json"]
    decide(starter)
    assert main(build) == 0
    made = json.loads(capsys.readouterr().out)
    assert made["failed"] == []
    feed = starter.parent / name / f"place_{at}" / "feed.csv"
    with feed.open(encoding=codec, newline="") as file:
        rows = list(csv.reader(file, delimiter=separator))
    assert rows[0] == list(sample.rows[0])
    assert len(rows) == 3


def decide(shop: Path) -> None:
    """Let what is not known of any place stay empty, as an owner may."""
    for file in shop.glob("channels/*.toml"):
        lines = file.read_text(encoding="utf-8").splitlines(keepends=True)
        file.write_text("".join(line for line in lines if not line.startswith("# ?")), encoding="utf-8")


def test_a_place_is_held_back_until_every_column_of_it_is_decided(
    starter: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    decide(starter)
    learn(starter, capsys, b"Item number,Quantity,Lid colour\n", name="Open")
    build = ["build", "--shop", str(starter), "--out", str(starter.parent / "open"), *TODAY]
    assert main(build) == 1
    told = capsys.readouterr().err
    assert 'channels/open.toml, line 23: 2 columns wait for your word: "Quantity" and "Lid colour".' in told
    assert "Held back until its own file is mended: Open." in told
    assert not (starter.parent / "open" / "open").exists()
    assert (starter.parent / "open" / "web_shop" / "feed.csv").is_file()
    decide(starter)
    assert main(build) == 0
    assert (starter.parent / "open" / "open" / "feed.csv").is_file()


def test_a_workbook_is_learnt_from_and_built_as_one(starter: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = learn(starter, capsys, xlsx(SAMPLES[1].rows), name="Workbook", file="sample.xlsx")
    assert told["dialect"] == {"feed": "xlsx", "date": "2027-02-28", "header": True}
    assert [column["field"] for column in told["columns"]][:3] == ["sku", "name", "price"]
    out = starter.parent / "workbook"
    decide(starter)
    assert main(["build", "--shop", str(starter), "--channel", "workbook", "--out", str(out), *TODAY]) == 0
    assert (out / "workbook" / "feed.xlsx").is_file()


def test_the_answer_has_a_row_a_column_with_confidence_and_second_choice(
    starter: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = learn(starter, capsys, b"Item number,Quantity,Lid colour\n", name="Answer")
    assert told["dialect"] == {
        "feed": "csv", "separator": ",", "quote": "needed", "encoding": "utf-8", "byte_order_mark": False,
        "line_end": "lf", "decimal": ".", "date": "2027-02-28", "header": True,
    }  # fmt: skip
    assert told["columns"] == [
        {"heading": "Item number", "field": "sku", "confidence": 0.97, "second": None},
        {"heading": "Quantity", "field": "inventoryLevel", "confidence": 0.77, "second": "netContents"},
        {"heading": "Lid colour", "field": None, "confidence": 0.0, "second": None},
    ]
    drafted = tomllib.loads((starter / "channels" / "answer.toml").read_text(encoding="utf-8"))
    assert [column["value"] for column in drafted["column"]] == ["sku", "", ""]


def test_people_are_told_what_was_filled_in_and_what_is_theirs_to_decide(
    starter: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = starter.parent / "people.csv"
    path.write_bytes(b"Item number,Quantity,Lid colour\n")
    assert main(["learn", str(path), "--name", "People", "--shop", str(starter)]) == 0
    told = capsys.readouterr().out
    assert "people.toml: 3 columns, 1 filled in, 2 for you to decide." in told
    assert "Item number  The variant's code" in told
    assert "Quantity    How many the channel may sell? it may also mean: Net contents by item" in told
    assert "Lid colour  no word of it is known" in told


def test_a_channel_that_is_there_is_never_overwritten(starter: Path, capsys: pytest.CaptureFixture[str]) -> None:
    learn(starter, capsys, b"Item number,Price\n", name="Twice")
    before = (starter / "channels" / "twice.toml").read_bytes()
    path = starter.parent / "sample.csv"
    path.write_bytes(b"Price,Barcode\n")
    assert refused(starter, capsys, path, "Twice!").endswith(
        "twice.toml is there already. Take another name, or put that file away first."
    )
    assert (starter / "channels" / "twice.toml").read_bytes() == before


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "sample.csv: nothing stands in it. Ask the storefront for a sample with a row of headings."),
        (b"\n\n;;\n", "sample.csv: nothing stands in it."),
        (b"12-A,7.50,9520000010010\n12-B,8.50,9520123456788\n", "sample.csv: no row names the columns. Write the"),
        (b"\x89PNG\r\n\x1a\n", "sample.csv: it is a picture and no table."),
        (b"{\\rtf1\\ansi code", "sample.csv: it is a document of a word processor (RTF) and no table."),
        (b'{"code": "A-1"}', "sample.csv: it is JSON and no table. Ask the storefront for a sample as CSV or .xlsx."),
        (b'\xef\xbb\xbf [{"code": "A-1"}]', "sample.csv: it is JSON and no table."),
        (b"<?xml version='1.0'?><a/>", "sample.csv: it is XML or a page of the web and no table."),
        (b'Price,"Bar\nname', "sample.csv: line 1: a quotation mark is not closed. Close the quotes, or take them"),
        (b"PK\x03\x04 no workbook", "sample.csv: the workbook is damaged."),
        (xlsx([[]]), "sample.csv: nothing stands in it."),
        (xlsx([["12-A", 7.5]]), "sample.csv: no row names the columns."),
    ],
)
def test_what_cannot_be_learnt_from_is_told_with_what_to_do(
    starter: Path, capsys: pytest.CaptureFixture[str], content: bytes, told: str
) -> None:
    path = starter.parent / "sample.csv"
    path.write_bytes(content)
    assert refused(starter, capsys, path).startswith(told)


def test_a_sample_of_fifty_megabytes_is_not_read(starter: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = starter.parent / "large.csv"
    with path.open("wb") as file:
        file.write(b"Item number,Price\n")
        file.truncate(50_000_000)
    assert refused(starter, capsys, path) == (
        "large.csv: it has 50 MB, and more than 20 are not read. Keep its header and the first rows, and learn from "
        "that."
    )
    path.unlink()


def test_what_is_not_there_is_told(starter: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert refused(starter, capsys, starter / "no.csv") == (
        "no.csv: there is no such file. Look at the name, and where it lies."
    )
    assert refused(starter, capsys, starter).startswith("shop: ")


def test_a_heading_that_stands_twice_in_a_sample_is_told_and_marked(
    starter: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = starter.parent / "sample.csv"
    path.write_bytes(b"Item number,Price,Item number,Picture,Picture\n")
    assert main(["learn", str(path), "--name", "Same heading", "--shop", str(starter)]) == 0
    told = capsys.readouterr().out
    assert told.count("Several columns are headed") == 1  # pictures are a family, which is one entry
    assert 'Several columns are headed "Item number", and a feed has each heading once: keep one' in told
    written = (starter / "channels" / "same_heading.toml").read_text(encoding="utf-8")
    assert written.count("# ? a column above is headed the same") == 1
    (starter / "channels" / "same_heading.toml").unlink()  # the other tests' builds would stop at it


@pytest.mark.parametrize("name", ["🐝", "///", "Wholesale", "print"])
def test_a_name_that_makes_no_key_is_told(starter: Path, capsys: pytest.CaptureFixture[str], name: str) -> None:
    path = starter.parent / "sample.csv"
    path.write_bytes(b"Item number,Price\n")
    assert "cannot be the name of a channel" in refused(starter, capsys, path, name)


def test_without_a_shop_nothing_is_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "sample.csv"
    path.write_bytes(b"Item number,Price\n")
    assert main(["learn", str(path), "--name", "Fair", "--shop", str(tmp_path)]) == 1
    assert capsys.readouterr().err.startswith(f"there is no shop.toml in {tmp_path}.")
    assert list(tmp_path.iterdir()) == [path]


def test_a_title_above_the_header_and_empty_columns_behind_it_are_passed_over(tmp_path: Path) -> None:
    path = tmp_path / "sample.csv"
    path.write_bytes(b"For new sellers,,,\n,,,\nItem number,Price,,\nA-1,7.50,,\n")
    sample = read_sample(path)
    assert (sample.headings, sample.rows) == (("Item number", "Price"), (("A-1", "7.50"),))


def test_of_several_sheets_the_one_with_most_columns_is_read(tmp_path: Path) -> None:
    path = tmp_path / "sample.xlsx"
    path.write_bytes(xlsx([["Item number", "Price", "Barcode"]], title="Goods"))
    assert read_sample(path).headings == ("Item number", "Price", "Barcode")


HEADINGS = ["Item number", "Title", "Price", "Barcode", "Picture 1"]
GOODS = [
    ["A-1", "Box", "7.50", "9520000010010", "https://a.example/1.jpg"],
    ["A-2", "Tin", "8.50", "9520000010027", "https://a.example/2.jpg"],
]
OUT = ["sku", "name", "price", "gtin", "image_1"]


def rows(*cells: list[str]) -> bytes:
    file = io.StringIO(newline="")
    csv.writer(file).writerows(cells)
    return file.getvalue().encode()


@pytest.mark.parametrize(
    ("name", "content", "fields"),
    [
        ("no row", rows(HEADINGS), OUT),
        ("one row", rows(HEADINGS, GOODS[0]), OUT),
        (
            "a title, two rows of groups, and what goes in each column",
            rows(["Our fair"], [], ["", "Listing", "", "Numbers"], HEADINGS,
                 ["text, required", "max 72", "with tax", "13 digits", "full address"], *GOODS),
            OUT,
        ),
        ("two headings alike", rows(["Price", "Price"], ["7.50", "8.50"]), ["price", "price"]),
        ("headings that say nothing", rows(["F1", "F2", "F3", "F4"], *([row[0], *row[2:]] for row in GOODS)),
         ["sku", "price", "gtin", "image"]),
        ("utf-16", rows(HEADINGS, *GOODS).decode().encode("utf-16"), OUT),
        ("a long cell", rows(HEADINGS, [*GOODS[0][:1], "x" * 32_767, *GOODS[0][2:]]), OUT),
    ],
)  # fmt: skip
def test_a_sample_that_is_not_as_one_would_wish_is_drafted(
    starter: Path, capsys: pytest.CaptureFixture[str], name: str, content: bytes, fields: list[str]
) -> None:
    told = learn(starter, capsys, content, name=name)
    assert [column["field"] for column in told["columns"]] == fields
    doubtful = name in ("two headings alike", "headings that say nothing")
    assert all(column["confidence"] >= 0.9 for column in told["columns"]) is not doubtful
    (starter / "channels" / f"{name.replace(',', '').replace(' ', '_').replace('-', '_')}.toml").unlink()


def test_a_sample_of_four_hundred_columns_is_drafted(starter: Path, capsys: pytest.CaptureFixture[str]) -> None:
    headings = [*HEADINGS, *(f"Blorb {at} of {at * 7}" for at in range(395))]
    cells = ([f"{cell} {at}" for at in range(400)] for cell in "ab")
    told = learn(starter, capsys, rows(headings, *cells), name="Wide")
    assert len(told["columns"]) == 400
    (starter / "channels" / "wide.toml").unlink()
