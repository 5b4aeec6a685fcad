"""Tests of the order of rows."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.listing.rows import feed_columns, feed_prices, feed_rows
from tests.write.two_sets import channel, own

FIRST, BAR = own(channel())


def rows(names: str, listings: Any = (FIRST, BAR), **said: Any) -> list[tuple[str, ...]]:
    columns = [{"heading": name.strip("!"), "value": name.strip("!"), "once": "!" in name} for name in names.split()]
    made = channel(column=columns, **said)
    return list(feed_rows(made, listings, feed_columns(made, listings)))


def test_without_sort_rows_come_as_the_sets_lie() -> None:
    assert [row[0] for row in rows("sku")][-1] == "OHS-2"


def test_rows_come_by_price_whatever_set_they_are_of() -> None:
    prices = [row[0] for row in rows("price", sort="price")]
    assert prices == ["7.50", "23.50", "23.50", "25.50", "25.50"]
    assert [row[0] for row in rows("price", sort="-price")] == list(reversed(prices))


def test_equal_rows_go_by_the_next_field_and_then_keep_their_order() -> None:
    found = rows("sku", sort=["-price", "-sku"])
    assert [row[0] for row in found][:2] == ["OHS-1-M03-L02", "OHS-1-M03-L01"]
    found = rows("sku", sort="-price")
    assert [row[0] for row in found][:2] == ["OHS-1-M03-L01", "OHS-1-M03-L02"]


@pytest.mark.parametrize("sort", ["priceValidUntil", "-priceValidUntil", "gtin", "choice_2", "-choice_2"])
def test_what_is_not_known_comes_last_either_way(sort: str) -> None:
    name = sort.removeprefix("-")
    cells = [row[0] for row in rows(name, sort=sort)]
    known = [cell for cell in cells if cell]
    assert cells[: len(known)] == known
    assert len(known) < len(cells)


def test_letters_are_sorted_without_regard_to_case_and_accents() -> None:
    listings = tuple(replace(BAR, title=title) for title in ("Zest", "éclat", "Eau", "eben"))
    assert [row[0] for row in rows("title", listings, sort="title")] == ["Eau", "eben", "éclat", "Zest"]


def test_a_listings_rows_stay_together_where_cells_stand_once() -> None:
    cheap = replace(FIRST, title="Second", offers=FIRST.offers[:1])
    found = rows("price title!", (FIRST, cheap, BAR), sort="-price")
    assert [row[1] for row in found] == ["First Nectar gift set", "", "", "", "Second", "One Bar gift set"]
    assert [row[0] for row in found] == ["25.50", "25.50", "23.50", "23.50", "23.50", "7.50"]


def test_a_sets_own_row_stays_before_its_variants() -> None:
    found = rows("sku price", rows="listing, then variants", sort="-price")
    assert [row[0] for row in found] == [
        *("OHS-1", "OHS-1-M03-L01", "OHS-1-M03-L02", "OHS-1-M02-L01", "OHS-1-M02-L02", "OHS-2"),
    ]
    assert rows("sku", rows="listing", sort="price") == [("OHS-2",), ("OHS-1",)]


def test_prices_are_told_in_the_order_of_the_rows_and_not_of_a_file_without_them() -> None:
    made = channel(column=[{"heading": "p", "value": "{{ price | places(2) }}"}], sort="price")
    assert feed_prices(made, (FIRST, BAR), feed_columns(made, (FIRST,)))[0] == "7.50"
    stock = channel(column=[{"heading": "s", "value": "inventoryLevel"}])
    assert feed_prices(stock, (FIRST, BAR), feed_columns(stock, (FIRST,))) == ("",) * 5


@given(st.lists(st.sampled_from(["price", "-price", "sku", "-sku", "-title", "weight", "image"]), max_size=3))
def test_no_row_is_lost_or_doubled_by_sorting(sort: list[str]) -> None:
    for mode in ("variant", "listing", "listing, then variants"):
        assert sorted(rows("sku price", rows=mode, sort=sort)) == sorted(rows("sku price", rows=mode))
