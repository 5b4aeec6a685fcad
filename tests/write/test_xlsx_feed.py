"""Tests of the feed as a workbook."""

import datetime
import io
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter  # type: ignore[import-untyped]
from python_calamine import CalamineWorkbook

from listkit.save.job import File, Job
from listkit.save.save import save
from listkit.write import xlsx_feed
from listkit.write.context import WriteContext
from listkit.write.xlsx_feed import worksheet_name
from tests.write.two_sets import channel, listings

NAMES = ("sku", "gtin", "price", "weight", "width", "priceValidUntil", "inventoryLevel", "inStock", "name")


def jobs(**said: Any) -> list[Job]:
    columns = [{"heading": name, "value": name} for name in NAMES]
    return list(xlsx_feed.write(listings(channel(**{"feed": "xlsx", "column": columns} | said)), WriteContext("1")))


def feed(folder: Path, **said: Any) -> tuple[list[list[object]], File]:
    """Return the feed's cells as an independent reader gives them, and what is said of its file."""
    job, path = jobs(**said)[0], folder / "feed.xlsx"
    job.recipe(*job.inputs, (path,))
    [file] = job.files
    assert file.verify is not None
    assert file.verify(path, job.recipe, job.inputs) == ""
    rows = CalamineWorkbook.from_path(path).get_sheet_by_index(0).to_python(skip_empty_area=False)
    return [list(row) for row in rows], file


def test_a_workbook_has_the_headings_and_one_row_a_variant_in_their_types(tmp_path: Path) -> None:
    rows, file = feed(tmp_path)
    assert rows[0] == list(NAMES)
    day = datetime.date(2027, 5, 10)
    assert rows[1][:8] == ["OHS-1-M02-L01", "9520123456788", 23.5, 275.4, 166.0, day, 12.0, "yes"]
    assert rows[5][:8] == ["OHS-2", "9520000010003", 7.5, 119.0, "", "", 40.0, "yes"]
    assert (file.path, file.guarded, file.prices) == (
        "web_shop/feed.xlsx",
        True,
        ("23.50", "23.50", "25.50", "25.50", "7.50"),
    )


def test_a_decimal_comma_and_other_days_change_how_cells_are_shown_and_not_what_they_are(tmp_path: Path) -> None:
    plain, _ = feed(tmp_path)
    (tmp_path / "feed.xlsx").unlink()
    other, _ = feed(tmp_path, dialect={"decimal": ",", "date": "28.02.2027", "separator": ";"})
    assert other == plain


def test_units_and_words_are_those_of_the_dialect(tmp_path: Path) -> None:
    dialect = {"weight": "kg", "length": "cm", "yes": "TRUE", "no": "FALSE"}
    rows, _ = feed(tmp_path, dialect=dialect)
    assert (rows[1][3], rows[1][4], rows[1][7]) == (0.275, 16.6, "TRUE")


def test_without_header_and_with_words_of_the_channels_own(tmp_path: Path) -> None:
    columns = [
        {"heading": "a", "value": "inventoryLevel", "map": {"12": "a dozen"}},
        {"heading": "b", "value": "=1+2"},
        {"heading": "c", "value": "0012"},
    ]
    rows, _ = feed(tmp_path, column=columns, dialect={"header": False})
    assert rows[0] == ["a dozen", "'=1+2", "0012"]
    assert rows[4] == ["40", "'=1+2", "0012"]


def test_guarded_cells_are_only_told_where_they_are_guarded(tmp_path: Path) -> None:
    """OWASP ASVS 5.0, 1.2.10 asks for the apostrophe in workbooks too; without it cells are text all the same."""
    columns = [{"heading": "=a", "value": "=1+2"}]
    rows, file = feed(tmp_path, column=columns, dialect={"guard_formulas": False})
    assert (rows[:2], file.guarded) == ([["=a"], ["=1+2"]], False)


def test_extra_files_may_be_workbooks_beside_another_feed() -> None:
    made = jobs(feed="csv", file=[{"name": "stock", "feed": "xlsx", "columns": ["sku", "inventoryLevel"]}])
    [file] = [file for job in made for file in job.files]
    assert (file.path, file.prices) == ("web_shop/stock.xlsx", ("",) * 5)


@pytest.mark.parametrize("feed", ["csv", "json", "jsonl"])
def test_only_channels_that_take_a_workbook_get_one(feed: str) -> None:
    assert jobs(feed=feed) == []


def test_a_workbook_that_is_built_again_is_not_made_again(tmp_path: Path) -> None:
    first = save(jobs(), tmp_path)
    assert first.made == ("web_shop/feed.xlsx",)
    assert save(jobs(), tmp_path).made == ()


@pytest.mark.parametrize("text", ["'Order form'", "History", "Bon: [A/B]?", "a" * 40, "\U0001f9fc" * 20, "HISTORY "])
def test_a_sheet_has_a_name_that_other_programs_take(text: str) -> None:
    """XlsxWriter's check_worksheet_name; 31 UTF-16 units, and "History" is kept (from memory)."""
    packed = io.BytesIO()
    with xlsxwriter.Workbook(packed) as book:
        name = book.add_worksheet(worksheet_name(text)).get_name()
    packed.seek(0)
    assert CalamineWorkbook.from_filelike(packed).sheet_names == [name]
    assert name.casefold().strip() != "history"
    assert len(name.encode("utf-16-le")) <= 62
