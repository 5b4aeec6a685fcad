"""Files as an office program opens them: LibreOffice reads our tables and gives the same cells back."""

from pathlib import Path
from typing import Any

import pytest

from listkit.listing.cells import guarded
from listkit.model.channel import Dialect
from listkit.save.save import save
from listkit.write import xlsx_feed
from listkit.write.context import WriteContext
from listkit.write.csv_feed import CsvForm, write_table
from listkit.write.xlsx_feed import SheetColumn, SheetForm, Type, write_sheet
from tests.office import needs_office, shown
from tests.write.two_sets import channel, listings

pytestmark = needs_office

Row = tuple[str, ...]
# What a spreadsheet is known to change: leading zeros, long numbers, codes like days and powers, formulas, line ends.
ROWS: list[Row] = [
    ("Code", "Barcode", "Price", "Words"),
    ("00123", "9520000010010", "29.00", 'Café “Été”, with "quotes"; and\nanother line'),
    ("1E5", "0061414100007", "7.50", guarded("=1+2")),
    ("3-5", "95200000100107", "1234567.00", "MAR-2"),
    ("1/2", "9520123456788", "0.50", "  spaces  "),
]


# With quoted fields taken for text, as the program offers when it opens a CSV; or with columns whose kind is 2, text.
# All numbers are codes of the program's own filter: of the separator, the quote, the encoding, then the first row.
CSV: dict[str, tuple[dict[str, Any], str]] = {
    "comma": ({"separator": ",", "quote": "all"}, "44,34,76,1,,0,true,false"),
    "semicolon": ({"separator": ";", "quote": "all"}, "59,34,76,1,,0,true,false"),
    "tab": ({"separator": "\t", "quote": "all"}, "9,34,76,1,,0,true,false"),
    "bar": ({"separator": "|", "quote": "all"}, "124,34,76,1,,0,true,false"),
    "utf-8": ({"encoding": "utf-8"}, "44,34,76,1,1/2/2/2/3/2/4/2"),
    "windows-1252": ({"encoding": "windows-1252"}, "44,34,1,1,1/2/2/2/3/2/4/2"),
    "utf-16": ({"encoding": "utf-16"}, "44,34,65535,1,1/2/2/2/3/2/4/2"),
}


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[Row]]:
    """The cells of ROWS as LibreOffice shows them, by how they were written."""
    folder, files = tmp_path_factory.mktemp("office"), dict[Path, str]()
    for name, (said, options) in CSV.items():
        path = folder / f"{name}.csv"
        write_table(path, ROWS, CsvForm.of(Dialect.model_validate(said)))
        files[path] = options
    columns = (SheetColumn(), SheetColumn(), SheetColumn(Type.NUMBER, "0.00"), SheetColumn())
    write_sheet(folder / "workbook.xlsx", ROWS, SheetForm("feed", columns, header=True))
    files[folder / "workbook.xlsx"] = ""
    return dict(zip((*CSV, "workbook"), shown(files), strict=True))


@pytest.mark.parametrize("name", [*CSV, "workbook"])
def test_a_table_is_opened_as_it_was_written(name: str, opened: dict[str, list[Row]]) -> None:
    assert opened[name] == ROWS


def test_a_feeds_days_and_figures_are_shown_as_the_channel_writes_them(tmp_path: Path) -> None:
    names = ("sku", "gtin", "price", "weight", "priceValidUntil", "inStock")
    made = channel(
        feed="xlsx", column=[{"heading": name, "value": name} for name in names], dialect={"date": "28.02.2027"}
    )
    saved = save(xlsx_feed.write(listings(made), WriteContext("1")), tmp_path / "out")
    assert saved.failures == ()
    [rows] = shown({tmp_path / "out/web_shop/feed.xlsx": ""})
    assert rows[0] == names
    assert rows[1] == ("OHS-1-M02-L01", "9520123456788", "23.50", "275.4", "10.05.2027", "yes")
    assert rows[5] == ("OHS-2", "9520000010003", "7.50", "119", "", "yes")
