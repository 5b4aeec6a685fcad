"""Tests of a feed's columns."""

import pytest

from listkit.fields import FIELDS
from listkit.listing.columns import column_problems, fact, feed_columns, feed_files
from listkit.problem import FieldError
from tests.write.two_sets import channel, own


def problems(*values: str) -> list[str]:
    made = channel(column=[{"heading": f"H{number}", "value": value} for number, value in enumerate(values)])
    return [str(problem) for problem in column_problems(feed_files(made)[0], own(made))]


def test_a_feed_without_columns_has_our_common_fields_with_slots_and_choices_side_by_side() -> None:
    headings = [column.heading for column in feed_columns(channel(), own(channel()))]
    assert headings == [
        *("sku", "inProductGroupWithID", "name", "description", "keywords", "image", "url", "gtin", "price"),
        *("priceCurrency", "priceValidUntil", "availability", "availabilityStarts", "availabilityEnds"),
        *("inventoryLevel", "weight (g)", "parcelWeight (g)", "width (mm)", "height (mm)", "depth (mm)"),
        *("slot_1", "choice_1", "slot_2", "choice_2"),
    ]


def test_their_weights_and_lengths_are_headed_with_the_units_of_the_dialect() -> None:
    ounces = channel(dialect={"weight": "oz", "length": "in"})
    headings = [column.heading for column in feed_columns(ounces, own(ounces))]
    assert {"weight (oz)", "parcelWeight (oz)", "depth (in)"} <= set(headings)


def test_their_text_is_in_the_first_row_of_a_listing_alone() -> None:
    assert [column.heading for column in feed_columns(channel(), own(channel())) if column.once] == ["description"]


def test_a_feed_without_columns_has_as_many_pictures_as_the_listing_with_most() -> None:
    two_crops = channel(
        crop=[{"name": "grid", "ratio": "1:1", "width": 300}, {"name": "tall", "ratio": "4:5", "width": 9}]
    )
    headings = [column.heading for column in feed_columns(two_crops, own(two_crops))]
    assert headings[headings.index("image") :][:3] == ["image", "image_2", "url"]


def test_a_channel_without_listings_still_has_its_header() -> None:
    headings = [column.heading for column in feed_columns(channel(), ())]
    assert headings[:2] == ["sku", "inProductGroupWithID"]
    assert "slot_1" not in headings


def test_a_value_is_a_field_a_member_of_a_family_a_template_or_words() -> None:
    made = channel(
        column=[
            {"heading": "Item number", "value": "sku"},
            {"heading": "Second", "value": "choice_2"},
            {"heading": "Words", "value": "{{ name }}, {{ theme }}"},
            {"heading": "Kind", "value": "Gift sets of ours"},
            {"heading": "Empty"},
        ]
    )
    sku, second, words, kind, empty = feed_columns(made, own(made))
    assert sku.field is FIELDS["sku"]
    assert (second.field, second.number) == (FIELDS["choice"], 2)
    assert words.template is not None
    assert (kind.words, empty.words) == ("Gift sets of ours", "")


def test_image_alone_is_the_first_picture_and_keywords_alone_are_all_of_them() -> None:
    made = channel(column=[{"heading": "a", "value": "image"}, {"heading": "b", "value": "keywords"}])
    image, keywords = feed_columns(made, own(made))
    assert image.number == 1
    assert keywords.whole_family


@pytest.mark.parametrize("name", ["price_1", "choice_0", "choice_", "pirce", "", "choice_1_2"])
def test_a_name_that_is_no_field_is_none(name: str) -> None:
    with pytest.raises(FieldError):
        fact(name)


@pytest.mark.parametrize(
    ("value", "meant"),
    [
        *(("pirce", "price"), ("SKU", "sku"), ("Price", "price"), ("choise_2", "choice_2"), ("price_1", "price")),
        *(("availibility", "availability"), ("inventory_level", "")),
    ],
)
def test_words_that_are_nearly_a_field_are_pointed_out(value: str, meant: str) -> None:
    found = problems(value)
    if not meant:
        assert found == []
        return
    assert found == [
        f'Look at · channels/web_shop.toml: "{value}" is no field, so these words stand in every row. '
        f'Write "{meant}", if that is meant.'
    ]


@pytest.mark.parametrize("words", ["New", "Gift", "In stock", "Handmade", "GB", "2027", "yes", "Boxes"])
def test_other_words_are_left_alone(words: str) -> None:
    assert problems(words) == []


def test_a_template_that_asks_for_no_field_of_ours_is_told_with_the_nearest_one() -> None:
    [found] = problems("{{ pirce }}")
    assert found == ('Must fix · channels/web_shop.toml: in column "H0" there is no field "pirce". Write "price".')


def test_a_template_that_breaks_the_grammar_is_told() -> None:
    [found] = problems("{{ name ")
    assert found.startswith('Must fix · channels/web_shop.toml: in column "H0" ')
