"""Tests of the feed in JSON Lines."""

import json
from pathlib import Path
from typing import Any

from listkit.write import jsonl_feed
from listkit.write.context import WriteContext
from tests.write.two_sets import channel, listings


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
    assert (first["price"], first["weight"], first["choice_2"]) == ("23.50", 275.4, "Linden, Oat lip balm")
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
