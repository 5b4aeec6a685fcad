"""Tests of the feed in JSON Lines."""

import json
from pathlib import Path
from typing import Any

from listkit.fields import FIELDS
from listkit.listing.columns import FeedColumn, column_problems, feed_files
from listkit.listing.rows import dialect_cells
from listkit.model.channel import Dialect
from listkit.write import jsonl_feed, record
from listkit.write.context import WriteContext
from tests.write.two_sets import channel, listings, own


def feed(folder: Path, **said: Any) -> list[dict[str, Any]]:
    """Return the objects of the feed."""
    [job] = jsonl_feed.write(listings(channel(feed="jsonl", **said)), WriteContext("1"))
    path = folder / "feed.jsonl"
    job.recipe(*job.inputs, (path,))
    assert jsonl_feed.verify_feed(path, job.recipe, job.inputs) == ""
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


def test_a_row_is_an_object_of_facts_under_our_names(tmp_path: Path) -> None:
    first, *_, bar = feed(tmp_path)
    assert list(first)[:3] == ["sku", "inProductGroupWithID", "name"]
    assert (first["price"], first["weight (g)"], first["choice_2"]) == ("23.50", 275.4, "Linden, Oat lip balm")
    assert "slot_1" not in bar


def test_no_cost_of_the_owner_is_in_a_feed_unless_she_asks_for_it(tmp_path: Path) -> None:
    first, *_ = feed(tmp_path)
    assert not {"fullCost", "kept", "wholesalePrice", "canMake"} & first.keys()


def test_the_owners_headings_are_the_names_and_once_leaves_out_later_ones(tmp_path: Path) -> None:
    columns = [
        {"heading": "Artikel", "value": "sku"},
        {"heading": "Text", "value": "{{ setName }}!", "once": True},
        {"heading": "=Price", "value": "price"},
        {"heading": "Kind", "value": "=gift"},
    ]
    found = feed(tmp_path, column=columns)
    assert found[0] == {"Artikel": "OHS-1-M02-L01", "Text": "First Nectar!", "=Price": "23.50", "Kind": "=gift"}
    assert found[1] == {"Artikel": "OHS-1-M02-L02", "=Price": "23.50", "Kind": "=gift"}


def test_only_channels_that_take_json_lines_get_them() -> None:
    assert list(jsonl_feed.write(listings(channel(feed="csv")), WriteContext("1"))) == []


def test_the_channels_words_and_order_are_kept_and_facts_without_a_word_stay_facts(tmp_path: Path) -> None:
    columns = [
        {"heading": "code", "value": "sku"},
        {"heading": "stock", "value": "inventoryLevel", "map": {"40": "plenty"}},
        {"heading": "there", "value": "inStock"},
        {"heading": "words", "value": "keywords", "map": {"honey": "bees"}},
        {"heading": "Picture {n}", "value": "image", "repeat": 2},
    ]
    rows = feed(tmp_path, column=columns, sort="price")
    assert rows[0] == {
        "code": "OHS-2",
        "stock": "plenty",
        "there": True,
        "Picture 1": "https://ottermarl.example/p/one-bar-open-box-grid.jpg",
    }
    assert (rows[1]["stock"], rows[1]["words"]) == (12, ["spring gift", "bees"])


def test_two_names_of_one_object_are_told_before_they_are_written() -> None:
    columns = [{"heading": "Photo", "value": "image", "repeat": 2}]
    made = channel(feed="jsonl", column=columns)
    [found] = column_problems(feed_files(made)[0], own(made))
    assert (found.code, found.message) == ("column-twice", '2 columns are headed "Photo".')
    csv = channel(column=columns)
    assert list(column_problems(feed_files(csv)[0], own(csv))) == []


def test_weights_and_lengths_are_in_the_unit_that_the_channel_and_its_columns_say(tmp_path: Path) -> None:
    first, *_ = feed(tmp_path, dialect={"weight": "kg", "length": "cm"})
    assert (first["weight (kg)"], first["width (cm)"]) == (0.275, 16.6)
    columns = [
        {"heading": "code", "value": "sku"},
        {"heading": "ounces", "value": "weight", "unit": "oz"},
        {"heading": "kilos", "value": "weight"},
        {"heading": "in kilos", "value": "weight", "map": {"0.275": "light"}},
    ]
    first, *_ = feed(tmp_path, column=columns, dialect={"weight": "kg"})
    assert (first["ounces"], first["kilos"], first["in kilos"]) == (9.71, 0.275, "light")  # 275.4 ÷ 28.349523125


def test_a_places_one_word_for_what_is_not_to_be_had_stands_for_sold_out_too() -> None:
    """As in CSV: else a place whose words are yes and no was sent SoldOut once a season was over."""
    theirs = {"InStock": "yes", "OutOfStock": "no"}
    column = FeedColumn("there", FIELDS["availability"], mapped=theirs)
    cells = [dialect_cells(Dialect())(column)("SoldOut"), record._member_of(column)("SoldOut")]
    assert cells == ["no", '"there":"no"']
    own = FeedColumn("there", FIELDS["availability"], mapped={**theirs, "SoldOut": "over"})
    assert [dialect_cells(Dialect())(own)("SoldOut"), record._member_of(own)("SoldOut")] == ["over", '"there":"over"']
