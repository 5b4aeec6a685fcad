"""Tests of the checks of feeds.

What is asked for is common practice, no source.
"""

from dataclasses import replace
from datetime import date
from typing import Any

from listkit.check.feeds import feed_faults
from listkit.check.places import CheckContext
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


def test_the_row_of_a_fault_is_found_in_a_long_feed_and_in_the_feeds_own_order() -> None:
    made = channel(column=[{"heading": "Twice", "value": "{{ width * 2 }}"}])
    of = listings(made)
    first, bar = of.listings
    long = replace(of, listings=(*(first,) * 433, replace(first, offers=first.offers[:1]), bar))
    [found] = feed_faults(long, CheckContext(date(2027, 3, 1)))
    assert str(found).startswith(
        'Must fix · channels/web_shop.toml: in column "Twice", row 1,734 (OHS-2, One Bar), "*" cannot be used between '
    )
    cheap_first = problems(column=[{"heading": "Twice", "value": "{{ width * 2 }}"}], sort="price")
    assert 'in column "Twice", row 1 (OHS-2, One Bar)' in cheap_first[0]


def test_a_heading_that_the_encoding_has_not_is_told() -> None:
    [found] = problems(column=[{"heading": "Preis →", "value": "price"}], dialect={"encoding": "windows-1252"})
    assert 'column "Preis →", its heading: windows-1252 has no "→" (U+2192).' in found


def test_the_nearest_character_is_taken_where_that_is_wished() -> None:
    dialect = {"encoding": "windows-1252", "transliterate": True}
    columns = [{"heading": "Preis →", "value": "{{ setName }} → Łódź"}]
    assert problems(column=columns, dialect=dialect) == []
    [found] = problems(column=[{"heading": "a", "value": "🐝"}], dialect=dialect)
    assert 'windows-1252 has no "🐝"' in found


def test_what_several_files_share_is_told_once_and_a_files_own_fault_at_its_own_place() -> None:
    shared = [{"heading": "a", "value": "{{ pirce }}"}]
    assert len(problems(column=shared, file=[{"name": "one"}, {"name": "two"}])) == 1
    own = [{"name": "one", "column": shared}]
    made = channel(file=own)
    [found] = feed_faults(listings(made), CheckContext(date(2027, 3, 1)))
    assert found.place.key == ("file", 0, "column", 0, "value")


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
