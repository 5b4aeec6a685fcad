"""Tests of the check that what a channel's file says of its feed is used.

What is asked for is common practice, no source.
"""

from dataclasses import replace
from datetime import date
from typing import Any

from tests.check.found import run
from tests.write.two_sets import channel, listings

PLU = {"heading": "PLU", "value": "sku"}
PRICE = {"heading": "Price", "value": "price"}


def problems(**said: Any) -> list[str]:
    made = channel(**said)
    of = listings(made)
    shop = replace(of.catalog.shop, channels=(made,))
    of = replace(of, catalog=replace(of.catalog, shop=shop))
    return [str(one) for one in run("key-unused", of, date(2027, 3, 1))]


def test_columns_of_a_feed_that_has_none_are_told_once_with_how_many() -> None:
    [found] = problems(feed="json", column=[PLU, PRICE])
    assert 'no columns of yours; "PLU" and 1 more column stand nowhere. Write feed = "jsonl"' in found
    [found] = problems(feed="json", column=[PLU])
    assert '"PLU" stands nowhere.' in found


def test_columns_that_a_table_beside_feed_json_has_are_used() -> None:
    assert problems(feed="json", column=[PLU, PRICE], file=[{"name": "tills"}]) == []
    [found] = problems(feed="json", column=[PLU, PRICE], file=[{"name": "tills", "columns": ["PLU"]}])
    assert '"Price" stands nowhere.' in found


def test_rows_that_feed_json_does_not_know_are_told_unless_a_table_beside_it_has_them() -> None:
    [found] = problems(feed="json", rows="listing")
    assert 'rows = "listing" changes nothing in it' in found
    assert problems(feed="json", rows="listing", file=[{"name": "tills"}]) == []


def test_a_feed_that_is_described_and_not_made_is_told() -> None:
    [found] = problems(make=["listings"], sort="price", file=[{"name": "stock"}])
    assert found.endswith('[[file]] describes a data file, and make has no "feed". Write make = ["listings", "feed"], '
                          "or take it out.")  # fmt: skip


def test_what_tables_are_made_of_is_used() -> None:
    for feed in ("csv", "jsonl", "xlsx"):
        assert problems(feed=feed, rows="listing", sort="price", column=[PLU], file=[{"name": "stock"}]) == []
    assert problems(make=["price list"]) == []
