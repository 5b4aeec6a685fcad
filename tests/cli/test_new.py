"""The owner's first hour: a shop from the starter, or around the sheet that she keeps already, however messy."""

import datetime
import hashlib
import io
import json
import os
import shlex
import time
import tomllib
from pathlib import Path

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from listkit.cli import main
from listkit.model.shop import Shop
from listkit.read.shop import read_shop
from tests.learn.messy_sheets import SHEETS, MessySheet
from tests.shops import ods, ods_row, xlsx

HEAD = ("Code", "Product", "Shop price", "Cost", "Weight", "Dimensions")
ROWS = (
    ("B-1", "Oat bar", "£6.00", "1.60", "4oz", "3 x 2.5 x 1 in"),
    ("B-2", "Hop bar", "£6.00", "£1.55", "1 lb 2 oz", "3in x 2 1/2in x 1in"),
    ("B-3", "Rye bar", "6.50", "1.70", "110 g", "80 x 55 x 25 mm"),
)
XLS = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 512
LOCKED = XLS + "EncryptedPackage".encode("utf-16-le") + b"\0" * 512
JPEG = b"\xff\xd8\xff\xe0\0\x10JFIF\0\x01" + bytes(range(256))


def lines(rows: object, separator: str = ",") -> bytes:
    return "".join(separator.join(map(str, row)) + "\n" for row in rows).encode()  # type: ignore[attr-defined]


@pytest.fixture
def made(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> "Made":
    return Made(tmp_path, capsys)


class Made:
    """Runs `listkit new` on one sheet."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.folder, self.capsys = folder, capsys
        self.shop = folder / "shop"

    def new(self, name: str, content: bytes, *more: str) -> tuple[int, str, str]:
        (self.folder / name).write_bytes(content)
        status = main(["new", str(self.shop), "--items", str(self.folder / name), *more])
        told = self.capsys.readouterr()
        assert "Traceback" not in told.err
        return status, told.out, told.err

    def read(self) -> tuple[Shop, list[str]]:
        shop, problems = read_shop(self.shop)
        return shop, [f"{problem}" for problem in problems]

    def columns(self) -> dict[str, str]:
        columns: dict[str, str] = tomllib.loads((self.shop / "shop.toml").read_text("utf-8"))["items"]["columns"]
        return columns

    @property
    def left(self) -> list[str]:
        return sorted(path.name for path in self.folder.iterdir())


def test_the_starter_is_made_whole_and_builds(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop = tmp_path / "a" / "my shop"
    assert main(["new", str(shop)]) == 0
    told = capsys.readouterr().out
    typed = next(line.partition("    see what")[0] for line in told.splitlines() if "listkit build --shop" in line)
    assert shlex.split(typed, posix=os.name != "nt")[2:] in (["--shop", str(shop)], ["--shop", f'"{shop}"'])
    assert main(["build", "--shop", str(shop), "--jobs", "1", "--today", "2027-01-15"]) == 0
    assert (shop / "out" / "manifest.json").is_file()


def test_a_folder_that_holds_something_is_refused_and_kept(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    assert main(["new", str(tmp_path)]) == 1
    assert "there already and not empty" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_an_empty_folder_is_filled(tmp_path: Path, made: Made) -> None:
    made.shop.mkdir()
    assert made.new("stock.csv", lines((HEAD, *ROWS)))[0] == 0
    assert {"shop.toml", "stock.csv", "packaging.toml", "channels"} == {path.name for path in made.shop.iterdir()}


def test_her_sheet_is_copied_byte_for_byte_and_read_where_it_can_be(made: Made) -> None:
    content = "\ufeff".encode() + lines((HEAD, *ROWS), ";").replace(b"\n", b"\r\n")
    before = hashlib.sha256(content).hexdigest()
    status, told, _ = made.new("Lager Stock (neu).csv", content)
    assert status == 0
    for path in (made.folder / "Lager Stock (neu).csv", made.shop / "Lager Stock (neu).csv"):
        assert hashlib.sha256(path.read_bytes()).hexdigest() == before
    shop, problems = made.read()
    assert problems == []
    assert [item.code for item in shop.items] == ["B-1", "B-2", "B-3"]
    assert made.columns() == {
        "Code": "code", "Product": "name", "Shop price": "retail", "Cost": "cost", "Weight": "weight",
        "Dimensions": "size",
    }  # fmt: skip
    assert told.splitlines()[-1] == f'Next: listkit add "The name of your first set" --shop {made.shop}'


OF_US = (
    ("Code", "Product", "Price", "Cost", "Weight", "Dimensions"),
    ("B-1", "Oat bar", "$6.00", "$1.60", "4 oz", "3 x 2.5 x 1 in"),
    ("B-2", "Hop bar", "$6.50", "$1.55", "1 lb 2 oz", "8in x 2 1/2in x 3in"),
)
OF_GB = (OF_US[0], ("B-1", "Oat bar", "£6.00", "£1.60", "110 g", "80 x 55 x 25 mm"))
OF_EURO = (OF_US[0], ("B-1", "Oat bar", "6,00 €", "1,60 €", "110 g", "80 x 55 x 25 mm"))
MEASURED = (OF_US[0], ("B-1", "Oat bar", "$6.00", "$1.60", "110 g", "80 x 55 x 25 mm"))
BARE = (OF_US[0], ("B-1", "Oat bar", "$6.00", "$1.60", "4", "3 x 2.5 x 1"))
MIXED = (OF_US[0], ("B-1", "Oat bar", "£6.00", "£1.60", "4 oz", "80 x 55 x 25 mm"))
HEADED = (("Code", "Product", "Price ($)", "Cost", "Weight (oz)", "Size (in)"), *BARE[1:])


@pytest.mark.parametrize(
    ("rows", "currency", "country", "language", "measure"),
    [
        (OF_US, "USD", "US", "en-US", "customary"),
        (HEADED, "USD", "US", "en-US", "customary"),
        (OF_GB, "GBP", "GB", "en-GB", "metric"),
        (OF_EURO, "EUR", "", "en-GB", "metric"),
        (MEASURED, "", "", "en-GB", "metric"),
        (BARE, "", "", "en-GB", None),
        (MIXED, "GBP", "GB", "en-GB", None),
    ],
)
def test_measure_language_and_country_are_guessed_from_her_sheet(
    made: Made, rows: tuple[tuple[str, ...], ...], currency: str, country: str, language: str, measure: str | None
) -> None:
    """CLDR has measurementSystem "US" for the United States alone (supplemental data, from memory)."""
    assert made.new("stock.csv", lines(rows, ";"))[0] == 0
    says = tomllib.loads((made.shop / "shop.toml").read_text("utf-8"))
    assert (says["currency"], says["country"], says["language"]) == (currency, country, language)
    assert says.get("measure") == measure


def test_what_is_guessed_is_told_and_marked_to_be_looked_at(made: Made) -> None:
    told = made.new("stock.csv", lines(OF_US))[1]
    text = (made.shop / "shop.toml").read_text("utf-8")
    assert "Guessed, to be looked at in shop.toml:" in told
    for key, value in {"currency": "USD", "country": "US", "language": "en-US", "measure": "customary"}.items():
        [line] = [each for each in text.splitlines() if each.startswith(f"{key} = ")]
        assert line.startswith(f'{key} = "{value}" ')
        assert f"  {key}" in told
        assert f'"{value}"' in told
        if key != "country":
            assert "guessed" in line
            assert "look at it" in line
    assert made.read()[0].settings.measures.customary


def test_what_is_guessed_is_in_json_too(made: Made) -> None:
    status, told, _ = made.new("stock.csv", lines(OF_US), "--json")
    guessed = {"currency": "USD", "country": "US", "language": "en-US", "measure": "customary"}
    assert (status, json.loads(told)["items"]["guessed"]) == (0, guessed)


def test_what_is_doubtful_is_left_empty_with_the_choices_beside_it(made: Made) -> None:
    head = ("Code", "Product", "Price", "Weight", "Qty", "Size")
    rows = [(f"B-{at}", f"Bar {at}", "7.00", "110", "4", "80 x 55 x 25 mm") for at in range(5)]
    status, told, _ = made.new("s.csv", lines((head, *rows)))
    assert status == 0
    assert made.columns() == {"Code": "code", "Product": "name", "Size": "size", "Price": "", "Weight": "", "Qty": ""}
    text = (made.shop / "shop.toml").read_text("utf-8")
    assert '"Price" = ""            # ? "retail", or "cost": it may be the cost as well\n' in text
    assert (
        '# ? "weight (g)" or "weight (kg)" or "weight (oz)" or "weight (lb)", or "" to leave it alone: '
        "the numbers have no unit\n"
    ) in text
    assert '"Qty" = ""              # ? "on hand", or "net": the word is used for other things as well\n' in text
    assert "# Missing: cost. What one piece costs to make" in text
    assert told.splitlines()[-1].startswith(f'Next: open {made.shop / "shop.toml"}, fill in the lines with "?"')


def test_check_then_tells_the_settings_first_and_the_sheet_after(made: Made) -> None:
    made.new("items.csv", lines((HEAD[:3], *(row[:3] for row in ROWS))))
    made.capsys.readouterr()
    assert main(["check", "--shop", str(made.shop)]) == 1
    told = made.capsys.readouterr().out.splitlines()
    (made.shop / "shop.toml").write_text((made.shop / "shop.toml").read_text("utf-8").replace('"GBP"', '""'), "utf-8")
    main(["check", "--shop", str(made.shop)])
    again = made.capsys.readouterr().out.splitlines()
    assert [line.split(",")[0] for line in told[:3]] == ["Must fix · items.csv"] * 3
    assert again[0].startswith("Must fix · shop.toml, line 3: currency")
    assert again[-1] == "4 to fix, 3 to look at. Begin with shop.toml."


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_every_messy_sheet_becomes_a_shop_whose_columns_are_read_as_they_were_understood(
    sheet: MessySheet, made: Made
) -> None:
    if sheet.name == "no words that help, only cells":
        assert made.new("s.csv", lines(sheet.rows, "\t"))[0] == 1
        return
    status, told, _ = made.new("s.csv", lines(sheet.rows, "\t"), "--json")
    assert status == 0
    columns = json.loads(told)["items"]["columns"]
    filled = {one["heading"]: one["field"] for one in columns if one["filled_in"]}
    written = made.columns()
    assert {heading: says.split(" (")[0] for heading, says in written.items() if says} == filled
    truth = dict(zip((" ".join(cell.split()) for cell in sheet.rows[0]), sheet.fields, strict=True))
    assert all(truth[heading] == field for heading, field in filled.items())


def test_a_workbook_with_titles_groups_units_and_totals_is_read(made: Made) -> None:
    book = openpyxl.Workbook()
    book.active.title = "Read me"
    book.active["A1"] = "Hello"
    page = book.create_sheet("Products 2027")
    page.append(["Hill Farm Soaps: stock list"])
    page.merge_cells("A1:F1")
    page.append([])
    page.append(["Product", None, "Prices", None, "Post", None])
    page.merge_cells("C3:D3")
    page.append(["Item code", "Item name", "Retail", "Unit cost", "Packed\nweight", "Outside size", "Best before"])
    page.append([None, None, "(£)", "(£)", "g", "mm"])
    page.append(["S-1", "Oat", 6, 1.6, 108, "80 x 55 x 25", datetime.date(2027, 3, 1)])
    page.append([])
    page.append(["S-2", "Hop", 6.5, 1.1 + 0.5, 108.5, "80 x 55 x 25", None])
    page.append(["Total", None, 12.5, 3.2])
    target = io.BytesIO()
    book.save(target)
    status, told, _ = made.new("Stock.xlsx", target.getvalue())
    assert status == 0
    assert 'Its headings stand in sheet "Products 2027", row 4.' in told
    shop, problems = made.read()
    assert problems == []
    assert [(item.code, str(item.retail), f"{item.weight.grams}") for item in shop.items] == [
        ("S-1", "6.00", "108"), ("S-2", "6.50", "108.5"),
    ]  # fmt: skip
    assert shop.settings.currency == "GBP"


def test_an_ods_is_read_too(made: Made) -> None:
    assert made.new("stock.ods", ods("".join(ods_row(row) for row in (HEAD, *ROWS))))[0] == 0
    assert len(made.read()[0].items) == 3


def test_other_encodings_and_dialects_are_read(made: Made) -> None:
    head = ("Code", "Désignation", "Prix de vente", "Coût", "Poids", "Mesures")
    text = lines((head, ("E1", "Crème", "7.50 €", "2", "9 g", "1 x 1 x 1 mm")), ";").decode()
    for number, content in enumerate((text.encode("windows-1252"), text.encode("utf-16"), b"sep=;\n" + text.encode())):
        made.shop = made.folder / f"shop{number}"
        assert made.new("s.csv", content)[0] == 0
        assert [item.name for item in made.read()[0].items] == ["Crème"]


def test_what_a_spreadsheet_spoilt_is_told_with_its_cell(made: Made) -> None:
    head = ("Code", "Product", "Retail", "Cost", "Weight", "Size", "Barcode")
    rows: list[tuple[object, ...]] = [
        (datetime.date(2027, 3, 1), "Mar bar", 6, 1.6, "108 g", "80 x 55 x 25 mm", 9520000010010.0),
        ("1E5", "Exponent", 6, 1.6, "108 g", "80 x 55 x 25 mm", "9.52E+12"),
        ("B-3", "Twin", 6, 1.6, "108 g", "80 x 55 x 25 mm", None),
        ("B-3", "Twin again", 6, 1.6, "108 g", "80 x 55 x 25 mm", None),
        ("B-4", "Comma", "6,50", 1.6, "108", "80 x 55", None),
        ("B-5", "Good", "£6.50", 1.6, "108 g", "80 x 55 x 25 mm", 9520000010010.0),
    ]
    status, told, _ = made.new("s.xlsx", xlsx([head, *rows]))
    assert status == 0
    assert "2 rows can be read as they are." in told
    shop, problems = made.read()
    assert [(item.code, item.gtin) for item in shop.items] == [
        ("2027-03-01", "9520000010010"), ("1E5", ""), ("B-3", ""), ("B-5", "9520000010010"),
    ]  # fmt: skip
    cells = [f"cell {cell}: " for cell in ("A2", "A3", "G3", "C6", "E6", "F6")]
    for said in (*cells, "in row 4 and again in row 5"):
        assert sum(said in problem for problem in problems) == 1, said


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("s.csv", b"", "it is empty"),
        ("s.csv", b" \n\n", "it is empty"),
        ("s.csv", b",,\n,,\n", "nothing stands in it"),
        ("s.csv", JPEG, "is a picture and no sheet"),
        ("s.csv", b"%PDF-1.7\n", "is a PDF document and no sheet"),
        ("s.csv", b"{\\rtf1\\ansi code", "is a document of a word processor (RTF) and no sheet"),
        ("s.csv", XLS, "it is a workbook and no CSV"),
        ("s.xls", XLS, "workbook of the old kind"),
        ("s.xlsx", LOCKED, "locked with a password"),
        ("s.xlsx", b"PK\x03\x04 broken", "damaged"),
        ("s.xlsx", b"code,name\n", "it is not a workbook"),
        ("s.csv", lines(ROWS), "no row names the columns"),
        ("s.csv", b"a\0b", "NUL"),
        ("stockists.csv", lines((HEAD, *ROWS)), "cannot be the name of an items table"),
        (".s.csv", lines((HEAD, *ROWS)), "cannot be the name of an items table"),
        *(
            (name, xlsx([HEAD, *ROWS]), "cannot be the name of an items table")
            for name in ("shop.toml", "Packaging.toml", "channels", "sets", "Photos", "ledger.sqlite3")
        ),
    ],
)
def test_what_is_no_sheet_is_told_and_nothing_is_half_made(made: Made, name: str, content: bytes, told: str) -> None:
    status, out, err = made.new(name, content)
    assert (status, out) == (1, "")
    assert told in err
    assert made.left == [name]


def test_without_a_header_the_needed_headings_are_told_and_what_the_cells_look_like(made: Made) -> None:
    err = made.new("s.csv", lines(ROWS))[2]
    assert "Write a row of headings above the first row" in err
    assert "A code" in err
    assert "F size" in err


def test_a_sheet_that_is_not_there_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", str(tmp_path / "shop"), "--items", str(tmp_path / "no.csv")]) == 1
    assert "there is no file" in capsys.readouterr().err
    assert main(["new", str(tmp_path / "shop"), "--items", str(tmp_path)]) == 1
    assert list(tmp_path.iterdir()) == []


def test_an_unreadable_column_that_items_can_do_without_spoils_no_row(made: Made) -> None:
    rows = [(*row, "ja", "aktiv") for row in ROWS]
    made.new("s.csv", lines(((*HEAD, "Fragile", "Status"), *rows)))
    assert made.columns()["Fragile"] == made.columns()["Status"] == ""
    assert len(made.read()[0].items) == 3


def test_sides_in_columns_of_their_own_are_joined_by_a_formula(made: Made) -> None:
    head = (*HEAD[:5], "Length (cm)", "Width (cm)", "Height (cm)")
    _, told, _ = made.new("s.csv", lines((("Our goods",), head, *((*row[:5], 8, 5.5, 2.5) for row in ROWS))))
    assert '=F3&" x "&G3&" x "&H3&" cm"' in told
    round_pieces = (*HEAD[:5], "Diameter (mm)", "Height (mm)")
    made.shop = made.folder / "second"
    _, told, _ = made.new("t.csv", lines((round_pieces, *((*row[:5], 70, 60) for row in ROWS))))
    assert '=F2&" x "&F2&" x "&G2&" mm"' in told


def test_two_columns_of_one_heading_are_both_left_to_her(made: Made) -> None:
    head = ("Code", "Product", "Price", "Price", "Cost", "Weight", "Size")
    rows = [(f"B-{at}", f"Bar {at}", "7.00", "4.00", "2.00", "110 g", "80 x 55 x 25 mm") for at in range(4)]
    assert made.new("s.csv", lines((head, *rows)))[0] == 0
    assert made.columns()["Price"] == ""
    assert "two columns have this heading" in (made.shop / "shop.toml").read_text("utf-8")


def test_headings_with_quotes_and_signs_of_toml_are_written_safely(made: Made) -> None:
    head = ("Code", 'Product "name" \\ #1', "Retail = £", "Cost", "Weight", "Size [mm]")
    rows = [(f"B-{at}", f"Bar {at}", "7.00", "2.00", "110 g", "80 x 55 x 25") for at in range(3)]
    status, *_ = made.new("s.xlsx", xlsx([head, *rows]))
    assert status == 0
    assert "Size [mm]" in made.columns()


def test_five_thousand_rows_are_taken_in_seconds(made: Made) -> None:
    rows = [(f"B-{at}", f"Bar {at}", "7.00", "2.00", "110 g", "80 x 55 x 25 mm") for at in range(5000)]
    started = time.perf_counter()
    assert made.new("s.xlsx", xlsx([HEAD, *rows]))[0] == 0
    assert time.perf_counter() - started < 30
    assert len(made.read()[0].items) == 5000


CELLS = st.one_of(
    st.text(max_size=8),
    st.sampled_from(["Code", "Name", "Price", "Cost", "Weight (g)", "Size", "7.50", "B-1", "110 g", '"', "#"]),
)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(st.lists(CELLS, max_size=7), max_size=6),
    st.sampled_from([",", ";", "\t"]),
    st.sampled_from(["utf-8", "utf-16"]),
)
def test_any_sheet_becomes_a_shop_or_is_told(
    tmp_path_factory: pytest.TempPathFactory,
    capsys: pytest.CaptureFixture[str],
    rows: list[list[str]],
    separator: str,
    encoding: str,
) -> None:
    folder = tmp_path_factory.mktemp("any")
    content = "\n".join(separator.join(row) for row in rows).encode(encoding, "replace")
    (folder / "s.csv").write_bytes(content)
    status = main(["new", str(folder / "shop"), "--items", str(folder / "s.csv")])
    told = capsys.readouterr()
    if status:
        assert told.err
        assert [path.name for path in folder.iterdir()] == ["s.csv"]
        return
    assert (folder / "shop" / "s.csv").read_bytes() == content
    tomllib.loads((folder / "shop" / "shop.toml").read_text("utf-8"))
    main(["check", "--shop", str(folder / "shop"), "--today", "2027-01-15"])
    assert "syntax" not in [line.split()[-1] for line in capsys.readouterr().out.splitlines() if "shop.toml" in line]
