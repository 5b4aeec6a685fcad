"""Files as an office program opens them: LibreOffice reads our tables and gives the same cells back."""

import csv
import shutil
import subprocess
from pathlib import Path

import pytest

from listkit.listing.cells import guarded
from listkit.model.channel import Dialect
from listkit.save.save import save
from listkit.write import xlsx_feed
from listkit.write.context import WriteContext
from listkit.write.csv_feed import CsvForm, write_table
from listkit.write.xlsx_feed import SheetColumn, SheetForm, Type, write_sheet
from tests.office import profile
from tests.write.two_sets import channel, listings

OFFICE = shutil.which("soffice")
pytestmark = pytest.mark.skipif(OFFICE is None, reason="LibreOffice is not installed (Debian: libreoffice-calc)")

Row = tuple[str, ...]
# What a spreadsheet is known to change: leading zeros, long numbers, codes like days and powers, formulas, line ends.
ROWS: list[Row] = [
    ("Code", "Barcode", "Price", "Words"),
    ("00123", "9520000010010", "29.00", 'Café “Été”, with "quotes"; and\nanother line'),
    ("1E5", "0061414100007", "7.50", guarded("=1+2")),
    ("3-5", "95200000100107", "1234567.00", "MAR-2"),
    ("1/2", "9520123456788", "0.50", "  spaces  "),
]


def opened(path: Path, folder: Path, infilter: str = "") -> list[Row]:
    """Return the cells as LibreOffice shows them, which it saves as CSV."""
    assert OFFICE is not None
    comma_quote_utf8 = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,true,true"  # cells as they are shown
    subprocess.run(
        [OFFICE, f"-env:UserInstallation=file://{profile()}", "--headless", *([infilter] if infilter else []),
         "--convert-to", comma_quote_utf8, "--outdir", str(folder / "shown"), str(path)],
        check=True,
        capture_output=True,
        timeout=120,
    )  # fmt: skip
    with (folder / "shown" / f"{path.stem}.csv").open(encoding="utf-8", newline="") as file:
        return [tuple(row) for row in csv.reader(file)]


@pytest.mark.parametrize(("separator", "sign"), [(",", 44), (";", 59), ("\t", 9), ("|", 124)])
def test_a_csv_with_quotes_around_all_is_opened_as_it_was_written(tmp_path: Path, separator: str, sign: int) -> None:
    """With quoted fields taken for text, as the program offers when it opens a CSV."""
    dialect = Dialect.model_validate({"separator": separator, "quote": "all"})
    write_table(tmp_path / "feed.csv", ROWS, CsvForm.of(dialect))
    assert opened(tmp_path / "feed.csv", tmp_path, f"--infilter=CSV:{sign},34,76,1,,0,true,false") == ROWS


@pytest.mark.parametrize(("encoding", "code"), [("utf-8", 76), ("windows-1252", 1), ("utf-16", 65535)])
def test_a_csv_is_opened_as_it_was_written_when_its_columns_are_text(tmp_path: Path, encoding: str, code: int) -> None:
    """The columns' kind is 2, text, in the codes of the program's own filter."""
    dialect = Dialect.model_validate({"encoding": encoding})
    write_table(tmp_path / "feed.csv", ROWS, CsvForm.of(dialect))
    assert opened(tmp_path / "feed.csv", tmp_path, f"--infilter=CSV:44,34,{code},1,1/2/2/2/3/2/4/2") == ROWS


def test_a_workbook_is_opened_as_it_was_written(tmp_path: Path) -> None:
    columns = (SheetColumn(), SheetColumn(), SheetColumn(Type.NUMBER, "0.00"), SheetColumn())
    write_sheet(tmp_path / "feed.xlsx", ROWS, SheetForm("feed", columns, header=True))
    assert opened(tmp_path / "feed.xlsx", tmp_path) == ROWS


def test_a_feeds_days_and_figures_are_shown_as_the_channel_writes_them(tmp_path: Path) -> None:
    names = ("sku", "gtin", "price", "weight", "priceValidUntil", "inStock")
    made = channel(
        feed="xlsx", column=[{"heading": name, "value": name} for name in names], dialect={"date": "28.02.2027"}
    )
    saved = save(xlsx_feed.write(listings(made), WriteContext("1")), tmp_path / "out")
    assert saved.failures == ()
    shown = opened(tmp_path / "out/web_shop/feed.xlsx", tmp_path)
    assert shown[0] == names
    assert shown[1] == ("OHS-1-M02-L01", "9520123456788", "23.50", "275.4", "10.05.2027", "yes")
    assert shown[5] == ("OHS-2", "9520000010003", "7.50", "119", "", "yes")
