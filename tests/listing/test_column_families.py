"""Tests of columns that stand for several."""

import pytest

from listkit.listing.columns import column_problems, feed_columns, feed_files, numbered
from listkit.listing.rows import feed_rows
from tests.write.two_sets import channel, own


def headings(*columns: dict[str, object]) -> list[str]:
    return [column.heading for _, column in numbered(channel(column=list(columns)).columns)]


def problems(*columns: dict[str, object]) -> list[str]:
    made = channel(column=list(columns))
    return [str(problem) for problem in column_problems(feed_files(made)[0], own(made))]


def test_one_entry_is_as_many_columns_as_it_repeats() -> None:
    pictures = {"heading": "Picture {n}", "value": "image", "repeat": 3}
    assert headings(pictures) == ["Picture 1", "Picture 2", "Picture 3"]
    made = channel(column=[pictures])
    assert [(one.field and one.field.name, one.number) for one in feed_columns(made, own(made))] == [
        ("image", 1),
        ("image", 2),
        ("image", 3),
    ]
    assert problems(pictures) == []


def test_numbers_begin_where_the_owner_says_and_may_have_two_digits() -> None:
    assert headings({"heading": "Foto_{nn}", "value": "image", "repeat": 2}) == ["Foto_01", "Foto_02"]
    assert headings({"heading": "Foto {n}", "value": "image", "repeat": 2, "from": 0}) == ["Foto 0", "Foto 1"]


def test_names_and_values_take_turns_side_by_side() -> None:
    slots = {"heading": "Slot {n}", "value": "slot", "repeat": 2}
    choices = {"heading": "Chosen {n}", "value": "choice", "repeat": 2, "beside": True}
    after: dict[str, object] = {"heading": "Last", "value": "sku"}
    assert headings(slots, choices, after) == ["Slot 1", "Chosen 1", "Slot 2", "Chosen 2", "Last"]
    made = channel(column=[slots, choices, after])
    row = next(feed_rows(made, own(made), feed_columns(made, own(made))))
    assert row == ("Jar", "Clover & Cream body butter", "Balm", "Linden, Oat lip balm", "OHS-1-M02-L01")


def test_the_number_stands_in_templates_too_and_a_missing_member_is_empty() -> None:
    words = {"heading": "Line {n}", "value": "{{ choice_{n} }}!", "repeat": 3}
    made = channel(column=[words])
    rows = list(feed_rows(made, own(made), feed_columns(made, own(made))))
    assert rows[0] == ("Clover & Cream body butter!", "Linden, Oat lip balm!", "!")


def test_words_may_stand_in_every_column_of_a_family() -> None:
    made = channel(column=[{"heading": "Extra {n}", "repeat": 2}])
    assert next(feed_rows(made, own(made), feed_columns(made, own(made)))) == ("", "")


def test_a_value_that_is_no_family_cannot_be_repeated() -> None:
    [found] = problems({"heading": "Price {n}", "value": "price", "repeat": 2})
    assert found.startswith(
        'Must fix · channels/web_shop.toml: in column "Price {n}" "price" is one value and no family that could be '
        "repeated. Take repeat out; families are keywords, image, "
    )


@pytest.mark.parametrize("before", [[], [{"heading": "a", "value": "slot", "repeat": 3}]])
def test_a_column_beside_nothing_like_it_is_told(before: list[dict[str, object]]) -> None:
    found = problems(*before, {"heading": "b {n}", "value": "choice", "repeat": 2, "beside": True})
    assert 'in column "b {n}" it stands beside a column that is not repeated as often.' in found[-1]


def test_more_columns_than_any_channel_takes_are_told_before_they_are_made() -> None:
    [found] = problems(*({"heading": f"{at} {{n}}", "value": "image", "repeat": 99} for at in range(21)))
    assert found.startswith("Must fix · channels/web_shop.toml: there are more than 2000 columns.")
