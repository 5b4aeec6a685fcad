"""Tests of the checks of feeds."""

from datetime import date
from typing import Any

from listkit.check.context import CheckContext
from listkit.check.feeds import feed_faults
from tests.write.two_sets import channel, listings


def problems(**said: Any) -> list[str]:
    return [str(one) for one in feed_faults(listings(channel(**said)), CheckContext(date(2027, 3, 1)))]


def test_a_feed_that_can_be_written_has_no_problems() -> None:
    assert problems() == []
    assert problems(column=[{"heading": "a", "value": "{{ name }}"}], dialect={"encoding": "windows-1252"}) == []


def test_a_template_that_fails_on_one_row_is_told_with_that_row_once() -> None:
    columns = [{"heading": "a", "value": "sku"}, {"heading": "Twice", "value": "{{ width * 2 }}"}]
    [found] = problems(column=columns)
    assert found.startswith('Must fix · channels/web_shop.toml: in column "Twice", row 5 (OHS-2, One Bar), ')


def test_a_sign_that_the_encoding_has_not_is_told_once_a_column() -> None:
    columns = [{"heading": "Words", "value": "{{ setName }} → yes"}, {"heading": "b", "value": "sku"}]
    assert problems(column=columns, dialect={"encoding": "windows-1252"}) == [
        'Must fix · channels/web_shop.toml: column "Words", row 1 (OHS-1-M02-L01, First Nectar): windows-1252 has '
        'no "→" (U+2192). Write encoding = "utf-8", transliterate = true for the nearest character, or other words.'
    ]
    assert problems(column=columns) == []


def test_a_word_that_is_nearly_a_field_is_only_pointed_out() -> None:
    [found] = problems(column=[{"heading": "a", "value": "pirce"}])
    assert found.startswith("Look at · ")


def test_a_channel_without_a_feed_has_no_problems_of_feeds() -> None:
    assert problems(make=["price list"], column=[{"heading": "a", "value": "{{ pirce }}"}]) == []
