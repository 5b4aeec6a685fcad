"""Tests of the Data Package beside a feed: an independent program reads and validates both."""

import csv
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from listkit.listing.listings import Listings
from listkit.save.save import save
from listkit.write import csv_feed
from listkit.write.context import WriteContext
from tests.write.two_sets import channel, listings

frictionless = pytest.importorskip(
    "frictionless", reason="frictionless is not installed: Data Packages are not validated"
)


@pytest.fixture(autouse=True)
def cells_are_as_long_as_before() -> Iterator[None]:
    """Set back what frictionless raises for the whole program when it first reads a table: other tests read tables."""
    longest = csv.field_size_limit()
    yield
    csv.field_size_limit(longest)


def built(folder: Path, **said: Any) -> Path:
    """Return the Data Package of a channel's feed, both written to a folder."""
    saved = save(csv_feed.write(listings(channel(**said)), WriteContext("1")), folder / "out")
    assert saved.failures == ()
    return folder / "out" / "web_shop" / "datapackage.json"


def faults(package: Path) -> list[str]:
    report = frictionless.validate(str(package))
    return [error.message for task in report.tasks for error in task.errors] + [one.message for one in report.errors]


@pytest.mark.parametrize(
    "dialect",
    [
        {},
        {"separator": ";", "decimal": ",", "line_end": "lf", "quote": "all"},
        {"separator": "\t", "encoding": "windows-1252", "guard_formulas": False},
        {"separator": "|", "byte_order_mark": True},
        {"encoding": "utf-16"},
        {"weight": "oz"},
        {"date": "28/02/2027", "length": "in", "yes": "TRUE", "no": "FALSE"},
        {"date": "20270228"},
    ],
)
@pytest.mark.parametrize("rows", ["variant", "listing", "listing, then variants"])
def test_frictionless_finds_no_fault_with_a_feed_in_any_dialect(
    tmp_path: Path, dialect: dict[str, Any], rows: str
) -> None:
    assert faults(built(tmp_path, dialect=dialect, rows=rows)) == []


def test_frictionless_reads_the_values_that_were_written(tmp_path: Path) -> None:
    package = frictionless.Package(str(built(tmp_path, dialect={"separator": ";", "decimal": ","})))
    rows = package.get_resource("feed").read_rows()
    assert [str(row["price"]) for row in rows] == ["23.50", "23.50", "25.50", "25.50", "7.50"]
    assert rows[0]["availabilityEnds"].isoformat() == "2027-05-10"
    assert (rows[4]["priceValidUntil"], rows[4]["parcelWeight (g)"]) == (None, None)


@pytest.mark.parametrize(
    ("old", "new"),
    [("23.50", "dear"), ("InStock", "InStok"), ("2027-05-10", "2027-13-10"), ("OHS-1-M02-L02", "OHS-1-M02-L01")],
)
def test_frictionless_does_find_what_the_schema_forbids(tmp_path: Path, old: str, new: str) -> None:
    package = built(tmp_path)
    feed = package.with_name("feed.csv")
    feed.write_text(feed.read_text(encoding="utf-8").replace(old, new, 1), encoding="utf-8", newline="")
    assert faults(package)


def test_columns_of_the_owners_own_are_described_under_her_headings(tmp_path: Path) -> None:
    columns = [
        {"heading": "Item number", "value": "sku"},
        {"heading": "Photo", "value": "image_1"},
        {"heading": "Photo", "value": "image_2"},
        {"heading": "Words", "value": "{{ name }}"},
    ]
    package = built(tmp_path, column=columns)
    schema = json.loads(package.read_text(encoding="utf-8"))["resources"][0]["schema"]
    assert [field["name"] for field in schema["fields"]] == ["Item number", "Photo", "Photo 3", "Words"]
    assert schema["primaryKey"] == ["Item number"]
    assert schema["fields"][0]["rdfType"] == "https://schema.org/sku"


def test_frictionless_finds_no_fault_with_several_files_in_dialects_of_their_own(tmp_path: Path) -> None:
    said: dict[str, Any] = {
        "dialect": {"date": "28.02.2027", "yes": "ja", "no": "nein"},
        "column": [
            {"heading": "Code", "value": "sku"},
            {"heading": "Until", "value": "priceValidUntil"},
            {"heading": "There", "value": "inStock"},
            {"heading": "Status", "value": "availability", "map": {"InStock": "da"}, "allowed": ["da"]},
            {"heading": "Title", "value": "title", "longest": 30, "required": True},
        ],
        "file": [
            {"name": "stock", "columns": ["sku", "inventoryLevel"], "dialect": {"separator": ";"}},
            {"name": "dear-first", "sort": "-price", "columns": ["sku", "price"], "dialect": {"decimal": ","}},
        ],
    }
    package = built(tmp_path, **said)
    assert faults(package) == []
    resources = json.loads(package.read_text(encoding="utf-8"))["resources"]
    assert [one["path"] for one in resources] == ["feed.csv", "stock.csv", "dear-first.csv"]
    assert resources[0]["schema"]["fields"][3]["constraints"] == {"enum": ["da"]}
    assert resources[0]["schema"]["fields"][4]["constraints"] == {"required": True, "maxLength": 30}
    rows = frictionless.Package(str(package)).get_resource("feed").read_rows()
    assert (rows[0]["Until"].isoformat(), rows[0]["There"]) == ("2027-05-10", True)


def test_frictionless_finds_no_fault_with_the_demo_shops_feeds(tmp_path: Path, demo: Listings) -> None:
    saved = save(csv_feed.write(demo, WriteContext("1")), tmp_path / "out")
    packages = [path for path in saved.made if path.endswith("datapackage.json")]
    assert packages
    assert [fault for path in packages for fault in faults(tmp_path / "out" / path)] == []
