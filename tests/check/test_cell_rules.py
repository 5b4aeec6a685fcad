"""Tests of what a channel asks of single columns."""

from datetime import date
from typing import Any

import pytest

from listkit.check.feeds import feed_faults
from listkit.check.places import CheckContext
from tests.write.two_sets import channel, listings


def problems(*columns: dict[str, Any], **said: Any) -> list[str]:
    made = channel(column=list(columns), **said)
    found = feed_faults(listings(made), CheckContext(date(2027, 3, 1)))
    return [str(one).partition("web_shop.toml: ")[2] for one in found]


def test_a_required_column_that_is_empty_is_told_with_the_first_row_and_how_many_more() -> None:
    assert problems({"heading": "Barcode", "value": "gtin", "required": True}) == [
        'column "Barcode", row 2 (OHS-1-M02-L02, First Nectar): it is empty, and the channel requires it. 2 more rows '
        'are like it. Fill it in, say what stands there instead with map = { "" = "..." }, or take required out.'
    ]


def test_a_word_for_nothing_fills_a_required_column() -> None:
    assert problems({"heading": "Barcode", "value": "gtin", "required": True, "map": {"": "none"}}) == []


def test_a_column_that_stands_once_is_looked_at_in_every_row_that_it_could_stand_in() -> None:
    assert problems({"heading": "Box", "value": "box", "required": True, "once": True}) == [
        'column "Box", row 5 (OHS-2, One Bar): it is empty, and the channel requires it. Fill it in, say what stands '
        'there instead with map = { "" = "..." }, or take required out.'
    ]


def test_a_long_cell_is_told_by_how_much_with_what_would_fit() -> None:
    assert problems({"heading": "Title", "value": "title", "longest": 20}) == [
        'column "Title", row 1 (OHS-1-M02-L01, First Nectar): it has 21 characters, 1 over 20. 3 more rows are like '
        'it. Up to "First Nectar gift" it fits; value = "{{ title | cut(20) }}" cuts every row.'
    ]
    assert problems({"heading": "Title", "value": "{{ title | cut(20) }}", "longest": 20}) == []


@pytest.mark.parametrize(("count", "over"), [("characters", "2 over"), ("bytes", "9 over"), ("utf-16 units", "3 over")])
def test_lengths_are_counted_as_the_channel_counts(count: str, over: str) -> None:
    """Two curly quotes of three bytes each, a bee of four bytes and two units (RFC 3629, RFC 2781)."""
    [found] = problems({"heading": "a", "value": "“1234567”🐝", "longest": 8}, limits={"count": count})
    assert f", {over} 8." in found


def test_a_value_that_is_not_allowed_is_told_once_with_what_is_nearest() -> None:
    [found] = problems({"heading": "Jar", "value": "choice_1", "allowed": ["Clover & cream body butter", "other"]})
    assert found == (
        'column "Jar", row 1 (OHS-1-M02-L01, First Nectar): "Clover & Cream body butter" and "Ginger & Propolis body '
        'butter" are not among what it allows ("Clover & cream body butter" and "other"). 3 more rows are like it. '
        'Write map = { "Clover & Cream body butter" = "Clover & cream body butter" }, if that is meant, or add it to '
        "allowed."
    )


def test_what_the_map_makes_of_a_value_is_what_counts() -> None:
    column = {"heading": "a", "value": "availability", "allowed": ["in stock"], "map": {"InStock": "in stock"}}
    assert problems(column) == []


def test_rules_look_at_cells_before_they_are_guarded() -> None:
    assert problems({"heading": "a", "value": "-", "allowed": ["-"], "longest": 1}) == []


def test_rules_of_extra_files_are_told_too_and_those_shared_only_once() -> None:
    column = {"heading": "Barcode", "value": "gtin", "required": True}
    assert len(problems(column, file=[{"name": "a"}, {"name": "b", "column": [column]}])) == 2


def test_a_workbook_is_held_to_what_its_cells_take() -> None:
    column = {"heading": "a", "value": "x" * 32_768}
    assert problems(column) == []
    [found] = problems(column, feed="xlsx")
    assert "row 1 (OHS-1-M02-L01, First Nectar): 32,768 UTF-16 units, 1 over what a cell of a workbook takes" in found
