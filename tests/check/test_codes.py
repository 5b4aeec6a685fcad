"""Checks of codes on small shops.

GTINs by GS1 General Specifications 7.9 (from memory), what spreadsheets change by Ziemann and others, Genome Biology
17:177 (2016); how options read alike is common practice, no source.
"""

from typing import Any

from listkit.model.shop import Shop
from listkit.problem import Level
from tests.check.found import found, told
from tests.small_shop import channel, gift_set, item, settings, shop

JAR = {"slot": "Jar", "choose": ["A-1", "A-2"]}


def jars(one: dict[str, Any], other: dict[str, Any], **says: Any) -> Shop:
    return shop([item("A-1", **one), item("A-2", **other)], [gift_set([JAR])], channels=(channel(),), **says)


def test_options_that_read_alike_are_told_where_the_second_stands() -> None:
    twins = jars({"name": "Clover & Cream", "form": "butter"}, {"name": "clover and créam ", "form": "Butter"})
    (problem,) = found("option-twins", twins)
    assert problem.place.key == ("contents", 0, "choose", 1)
    assert str(problem) == (
        'Must fix · sets/set-1/set.toml: in "Jar" the options "Clover & Cream butter" and "clover and créam Butter" '
        'read alike. Give each its own words with says = "...".'
    )
    assert found("options-alike", twins) == []


def test_options_a_letter_apart_are_looked_at_but_not_when_a_digit_differs() -> None:
    near = jars({"name": "Chamomile", "form": ""}, {"name": "Chamomille", "form": ""})
    (problem,) = found("options-alike", near)
    assert problem.level is Level.LOOK_AT
    assert '"Chamomile" and "Chamomille" are nearly the same' in problem.message
    for one, other in [("Blend No2024", "Blend No2025"), ("Rose", "Rosa")]:
        assert found("options-alike", jars({"name": one, "form": ""}, {"name": other, "form": ""})) == []


def test_the_letters_that_may_differ_are_the_owners_to_choose() -> None:
    one, other = {"name": "Chamomile", "form": ""}, {"name": "Chamommille", "form": ""}
    assert len(found("options-alike", jars(one, other))) == 1
    assert found("options-alike", jars(one, other, settings=settings(checks={"options-alike": "1"}))) == []


def test_a_wrong_gtin_is_told_at_its_cell_and_at_its_line() -> None:
    one = gift_set([JAR], variant=[{"options": {"Jar": "A-2"}, "gtin": "9520000010011"}])
    of = shop([item("A-1", gtin="61414100007"), item("A-2")], [one])
    assert told("gtin-wrong", of) == [
        'Must fix · items.csv, row A-1, column gtin: "61414100007" has lost its leading zero. Write "061414100007".',
        'Must fix · sets/set-1/set.toml: "9520000010011" has a wrong check digit. '
        "Its last digit would be 0 if the others are right; look the number up.",
    ]
    assert found("gtin-wrong", of)[1].place.key == ("variant", 0, "gtin")


def test_a_wrong_gtin_of_an_item_is_not_told_again_by_the_sets_that_have_it_from_there() -> None:
    note = [{"options": {"Bar": "A-1"}, "status": "last chance"}]
    bar = gift_set([{"slot": "Bar", "choose": ["A-1", "A-2"]}], box="none", variant=note)
    (problem,) = found("gtin-wrong", shop([item("A-1", gtin="123"), item("A-2")], [bar]))
    assert problem.place.file == "items.csv"


def test_a_cell_is_named_by_the_owners_own_heading() -> None:
    rules = settings(items={"columns": {"Barcode": "gtin", "Price": "retail"}})
    (problem,) = found("gtin-wrong", shop([item("A-1", gtin="123")], [], settings=rules))
    assert problem.place.column == "Barcode"


def test_one_gtin_for_two_things_is_told_once_however_it_is_written() -> None:
    of = shop([item("A-1", gtin="061414100007"), item("A-2", gtin="0061414100007")], [])
    assert told("gtin-shared", of) == [
        "Must fix · items.csv, row A-2, column gtin: 061414100007 stands for A-1 and A-2. "
        "Each needs a GTIN of its own; an empty one is fine."
    ]


def test_a_line_that_gives_one_gtin_to_several_variants_shares_it() -> None:
    one = gift_set([JAR], variant=[{"options": {}, "gtin": "9520000010010"}])
    (problem,) = found("gtin-shared", shop([item("A-1"), item("A-2")], [one]))
    assert problem.place.key == ("variant", 0, "gtin")
    assert "SET-1-1 and SET-1-2" in problem.message


def test_a_set_of_one_piece_without_box_has_the_gtin_of_its_item() -> None:
    bar = gift_set([{"slot": "Bar", "choose": ["A-1", "A-2"]}], box="none")
    stated = gift_set([{"item": "A-1"}], code="SET-2", box="none", variant=[{"options": {}, "gtin": "9520000010010"}])
    items = [item("A-1", gtin="9520000010010"), item("A-2", gtin="9520000010027")]
    assert found("gtin-shared", shop(items, [bar, stated])) == []


def test_a_boxed_set_with_the_gtin_of_its_item_is_told_where_the_set_says_it() -> None:
    one = gift_set([{"item": "A-1"}], variant=[{"options": {}, "gtin": "9520000010010"}])
    (problem,) = found("gtin-shared", shop([item("A-1", gtin="9520000010010")], [one]))
    assert problem.place.file == "sets/set-1/set.toml"


def test_internal_numbers_are_told_only_where_they_go_into_a_feed() -> None:
    one = gift_set([{"item": "A-1"}], variant=[{"options": {}, "gtin": "2000000000008"}])
    assert len(found("gtin-internal", shop([item("A-1")], [one], channels=(channel(),)))) == 1
    assert found("gtin-internal", shop([item("A-1")], [one], channels=(channel(make=["price list"]),))) == []
    inside = shop([item("A-1", gtin="2000000000008")], [gift_set([{"item": "A-1"}])], channels=(channel(),))
    assert found("gtin-internal", inside) == []


def test_a_code_that_a_spreadsheet_spoils_is_told_once_a_set() -> None:
    month = gift_set([{"slot": "Jar", "choose": ["A-1", "A-2"]}], code="MAR")
    assert told("code-unsafe", shop([item("A-1"), item("A-2"), item("007")], [month])) == [
        'Look at · items.csv, row 007, column code: a spreadsheet makes the number 7 of "007". '
        "Let the code begin with a letter.",
        'Look at · sets/mar/set.toml: a spreadsheet makes a date of "MAR-1", and spoils 1 more. '
        "Write a code with letters that are no month.",
    ]


def test_variant_codes_are_unique_in_the_whole_shop() -> None:
    sets = [gift_set([JAR]), gift_set([{"item": "A-1"}], code="SET-1-2", name="Second Set")]
    (problem,) = found("code-twice", shop([item("A-1"), item("A-2")], sets))
    assert problem.message == 'the variant code "SET-1-2" is that of set Second Set too.'
    assert problem.place.file == "sets/set-1/set.toml"


def test_a_code_stated_for_one_variant_and_made_for_another_is_told_where_it_is_made() -> None:
    second = gift_set([{"item": "A-1"}], code="SET-2", variant=[{"options": {}, "code": "SET-1-2"}])
    (problem,) = found("code-twice", shop([item("A-1"), item("A-2")], [second, gift_set([JAR])]))
    assert problem.place.file == "sets/set-1/set.toml"
    assert problem.message == 'the variant code "SET-1-2" is that of a variant of First Set too.'


def test_two_options_with_the_same_last_part_collide_and_an_option_listed_twice_is_left_to_option_twins() -> None:
    slot = {"slot": "Jar", "choose": ["A-1", "B-1"]}
    (problem,) = found("code-twice", shop([item("A-1"), item("B-1")], [gift_set([slot])]))
    goods = "Item A-1 bar soap (A-1) and Item B-1 bar soap (B-1)"
    assert problem.message == f'two variants would have the code "SET-1-1": of Jar, {goods} end alike.'
    assert problem.hint == 'Give Item B-1 bar soap an ending of its own: part = "...".'
    assert problem.place.key == ("contents", 0, "choose", 1, "part")
    twice = shop([item("A-1")], [gift_set([{"slot": "Jar", "choose": ["A-1", "A-1"]}])])
    assert found("code-twice", twice) == []
    assert len(found("option-twins", twice)) == 1


def test_a_set_without_choices_may_have_one_variant_of_its_own_code() -> None:
    assert found("code-twice", shop([item("A-1")], [gift_set([{"item": "A-1"}])])) == []
