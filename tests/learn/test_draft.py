"""Channels drafted from samples."""

from collections.abc import Sequence

import pytest

from listkit.learn.draft import DraftColumn, draft
from listkit.learn.matching import match_feed
from tests.learn.feed_samples import SAMPLES, FeedSample


def columns(headings: Sequence[str], rows: Sequence[Sequence[str]] = ()) -> tuple[DraftColumn, ...]:
    return draft(match_feed(headings, rows), rows).columns


def told(column: DraftColumn) -> tuple[str, str, int | None, bool]:
    return column.heading, column.value, column.repeat, column.beside


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda sample: sample.name)
def test_nothing_doubtful_is_filled_in_and_every_doubt_is_marked(sample: FeedSample) -> None:
    matches = match_feed(sample.rows[0], sample.rows[1:])
    for column in draft(matches, sample.rows[1:]).columns:
        doubts = [remark for remark in column.remarks if remark.startswith("? ")]
        assert bool(column.value) is not bool(doubts)
    unsure = [match for match in matches if not match.sure]
    assert sum(not column.value for column in columns(sample.rows[0], sample.rows[1:])) <= len(unsure)


def test_numbered_columns_become_one_entry() -> None:
    assert [told(one) for one in columns(["Picture 1", "Picture 2", "Picture 3", "Price"])] == [
        ("Picture {n}", "image", 3, False),
        ("Price", "price", None, False),
    ]
    assert [told(one) for one in columns(["Foto_01", "Foto_02"])] == [("Foto_{nn}", "image", 2, False)]
    [zero] = columns(["Foto 0", "Foto 1"])
    assert (zero.begin, zero.repeat) == (0, 2)
    assert [told(one) for one in columns(["Photo", "Photo"])] == [("Photo", "image", 2, False)]


def test_columns_that_take_turns_stand_beside_each_other() -> None:
    headings = ["What to choose 1", "Chosen value 1", "What to choose 2", "Chosen value 2"]
    assert [told(one) for one in columns(headings)] == [
        ("What to choose {n}", "slot", 2, False),
        ("Chosen value {n}", "choice", 2, True),
    ]


def test_numbered_columns_that_are_apart_or_out_of_turn_stay_single() -> None:
    assert [told(one) for one in columns(["Picture 1", "Price", "Picture 2"])] == [
        ("Picture 1", "image_1", None, False),
        ("Price", "price", None, False),
        ("Picture 2", "image_2", None, False),
    ]
    assert [one.value for one in columns(["Picture 2", "Picture 1"])] == ["image_2", "image_1"]
    assert [one.value for one in columns(["Picture", "Picture 2", "Picture 3"])] == ["image_1", "image_2", "image_3"]


def test_unknown_numbered_columns_are_one_empty_entry() -> None:
    [column] = columns(["Blorb 1", "Blorb 2", "Blorb 3"])
    assert told(column) == ("Blorb {n}", "", 3, False)
    assert column.remarks == (
        '? not known: no word of it is known; write what stands in every row, or "" to leave it empty',
    )


def test_a_doubt_names_the_second_choice_and_what_the_sample_has() -> None:
    [column] = columns(["Qty"], [["a"], ["b"]])
    assert column.remarks[0].startswith("? ")
    [column] = columns(["Quantity"])
    assert column.remarks == ('? value = "inventoryLevel", or "netContents": it may also mean: Net contents by item',)
    [column] = columns(["Lid"], [["silver"], ["silver"]])
    assert column.remarks[-1] == 'in the sample: "silver" in every row'


@pytest.mark.parametrize(
    ("heading", "cells", "value", "unit"),
    [
        ("Weight (oz)", [], "weight", "oz"),
        ("Gewicht in kg", ["0,5"], "weight", "kg"),
        ("Weight", ["0.45 kg", "1.2 kg"], '{{ weight | to("kg") | places(2) }} kg', ""),
        ("Largeur (cm)", [], "width", "cm"),
        ("Price", ["£29.00", "£30.00"], "{{ price | in_currency }}", ""),
        ("Price", ["29.00 GBP"], "{{ price | places(2) }} {{ priceCurrency }}", ""),
        ("Price", ["29.00"], "price", ""),
    ],
)
def test_units_and_signs_come_out_as_the_sample_has_them(heading: str, cells: list[str], value: str, unit: str) -> None:
    [column] = columns([heading], [[cell] for cell in cells])
    assert (column.value, column.unit) == (value, unit)


def test_what_stands_only_in_a_sets_first_row_is_found() -> None:
    headings = ["Set number", "Variant code", "Story", "Price"]
    rows = [
        ["S1", "S1-a", "Long ago and far away, there was a jar of honey on the sill.", "1.00"],
        ["S1", "S1-b", "", "1.00"],
        ["S2", "S2-a", "Another one, told by the fire on a winter night in the hills.", "2.00"],
    ]
    assert [one.once for one in columns(headings, rows)] == [False, False, True, False]
    assert not any(one.once for one in columns(headings, rows[::2]))


def test_a_row_of_the_set_before_its_variants_is_found() -> None:
    headings = ["Set number", "Variant code", "Chosen value", "Price"]
    rows = [["S1", "S1", "", "1.00"], ["S1", "S1-a", "oat", "1.00"], ["S1", "S1-b", "fig", "1.00"]]
    assert draft(match_feed(headings, rows), rows).rows == "listing, then variants"
    assert draft(match_feed(headings, rows[1:]), rows[1:]).rows == "variant"


@pytest.mark.parametrize(
    ("heading", "cell", "kind"),
    [("Story", "<p>One</p>", "html"), ("Story", "One", "plain"), ("Story HTML", "", "html"), ("Story", "", "")],
)
def test_the_kind_of_text_is_told_by_marks_or_heading(heading: str, cell: str, kind: str) -> None:
    assert draft(match_feed([heading], [[cell]]), [[cell]]).text == kind


def test_words_for_being_in_stock_are_mapped_where_the_sample_says_both() -> None:
    [column] = columns(["Availability"], [["in stock"], ["sold out"]])
    assert dict(column.mapped) == {"InStock": "in stock", "LimitedAvailability": "in stock", "OutOfStock": "sold out"}
    [column] = columns(["Availability"], [["in stock"], ["in stock"]])
    assert column.mapped == ()
    assert column.remarks[0].startswith('? the sample says "in stock"; ours are InStock')
    [column] = columns(["Availability"], [["InStock"], ["OutOfStock"]])
    assert (column.mapped, column.remarks) == ((), ())
