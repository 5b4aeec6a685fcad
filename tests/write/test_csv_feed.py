"""Tests of the CSV feed."""

import csv
from pathlib import Path
from typing import Any

from listkit.save.job import File, Job
from listkit.save.save import save
from listkit.write import csv_feed
from listkit.write.context import WriteContext
from tests.write.two_sets import channel, listings


def feed(folder: Path, **said: Any) -> tuple[str, File]:
    """Return the feed's text and what is said of its file."""
    job = jobs(**said)[0]
    path = folder / "feed.csv"
    job.recipe(*job.inputs, (path,))
    [file] = job.files
    assert file.verify is not None
    assert file.verify(path, job.recipe, job.inputs) == ""
    return path.read_bytes().decode(), file


def jobs(**said: Any) -> list[Job]:
    return list(csv_feed.write(listings(channel(**said)), WriteContext("1")))


def test_a_feed_has_the_owners_headings_and_one_line_a_variant(tmp_path: Path) -> None:
    columns = [
        {"heading": "Item number", "value": "sku"},
        {"heading": "Price", "value": "price"},
        {"heading": "Story", "value": "plainDescription", "once": True},
    ]
    text, _ = feed(tmp_path, column=columns)
    assert text == (
        "Item number,Price,Story\r\n"
        'OHS-1-M02-L01,23.50,"First Nectar, with “care” & thyme."\r\n'
        "OHS-1-M02-L02,23.50,\r\n"
        "OHS-1-M03-L01,25.50,\r\n"
        "OHS-1-M03-L02,25.50,\r\n"
        'OHS-2,7.50,"One Bar, with “care” & thyme."\r\n'
    )


def test_a_feed_speaks_the_channels_dialect(tmp_path: Path) -> None:
    dialect = {"separator": ";", "decimal": ",", "line_end": "lf", "header": False, "weight": "kg", "quote": "all"}
    columns = [
        {"heading": "a", "value": "sku"},
        {"heading": "b", "value": "price"},
        {"heading": "c", "value": "weight"},
    ]
    text, _ = feed(tmp_path, column=columns, dialect=dialect, rows="listing")
    assert text == '"OHS-1";"23,50";"0,275"\n"OHS-2";"7,50";"0,119"\n'


def test_the_file_tells_its_rows_prices_and_codes(tmp_path: Path) -> None:
    _, file = feed(tmp_path)
    assert (file.path, file.channel, file.guarded) == ("web_shop/feed.csv", "web_shop", True)
    assert file.prices == ("23.50", "23.50", "25.50", "25.50", "7.50")
    assert file.codes[:4] == ("OHS-1", "OHS-1-M02-L01", "OH-B01", "OH-M02")
    assert len(set(file.codes)) == len(file.codes)


def test_only_channels_that_take_a_csv_feed_get_one() -> None:
    assert [file.path for job in jobs() for file in job.files] == ["web_shop/feed.csv", "web_shop/datapackage.json"]
    assert jobs(feed="json") == []
    assert jobs(make=["price list"]) == []


def test_a_channel_may_take_several_files_each_told_by_itself(tmp_path: Path) -> None:
    extra = [
        {"name": "stock", "columns": ["sku", "inventoryLevel"], "dialect": {"separator": ";", "guard_formulas": False}},
        {"name": "prices", "columns": ["sku", "price"], "rows": "listing", "sort": "price"},
    ]
    saved = save(csv_feed.write(listings(channel(file=extra)), WriteContext("1")), tmp_path)
    assert saved.failures == ()
    entries = {entry.path: entry for entry in saved.entries}
    stock, prices = entries["web_shop/stock.csv"], entries["web_shop/prices.csv"]
    assert (stock.rows, stock.sum_of_prices, stock.guarded) == (5, None, False)
    assert (prices.rows, prices.lowest_price, prices.sum_of_prices, prices.guarded) == (2, "7.50", "31.00", True)
    assert (tmp_path / "web_shop/stock.csv").read_bytes().splitlines()[1] == b"OHS-1-M02-L01;12"
    assert (tmp_path / "web_shop/prices.csv").read_bytes() == b"sku,price (GBP)\r\nOHS-2,7.50\r\nOHS-1,23.50\r\n"


def test_exactly_the_files_that_the_manifest_calls_guarded_have_no_cell_that_could_be_a_formula(tmp_path: Path) -> None:
    """OWASP, CSV Injection; OWASP ASVS 5.0, 1.2.10."""
    columns = [{"heading": "@a", "value": f"{sign}1+2"} for sign in "=+-@"] + [{"heading": "b", "value": "\t=1"}]
    extra = [{"name": "bare", "dialect": {"guard_formulas": False}}]
    saved = save(csv_feed.write(listings(channel(file=extra, column=columns)), WriteContext("1")), tmp_path)
    for entry in (entry for entry in saved.entries if entry.path.endswith(".csv")):
        with (tmp_path / entry.path).open(encoding="utf-8", newline="") as file:
            cells = [cell for row in csv.reader(file) for cell in row]
        assert entry.guarded is not any(cell.startswith(("=", "+", "-", "@", "\t")) for cell in cells)
