"""Every way to choose, and its code.

Counted by hand; no source.
"""

from itertools import product
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from tests.small_shop import facts, gift_set, item

ITEMS = [item(code) for code in ("B-1", "J-1", "J-2", "J-3", "C-1")]
JAR: dict[str, Any] = {"slot": "Jar", "choose": ["J-1", "J-2", "J-3"]}


def test_a_set_without_slots_has_one_variant_with_the_sets_own_code() -> None:
    [only] = facts(ITEMS, gift_set([{"item": "B-1"}])).variants
    assert only.code == "SET-1"
    assert only.choices == ()


def test_variants_take_the_last_part_of_the_chosen_codes() -> None:
    found = facts(ITEMS, gift_set([{"item": "B-1"}, JAR]))
    assert [variant.code for variant in found.variants] == ["SET-1-1", "SET-1-2", "SET-1-3"]


def test_a_stated_part_and_a_stated_code_come_first() -> None:
    slot = {"slot": "Jar", "choose": ["J-1", {"item": "J-2", "part": "OAT"}, "J-3"]}
    notes = [{"options": {"Jar": "J-3"}, "code": "OLD-3", "gtin": "9520000010010"}]
    found = facts(ITEMS, gift_set([slot], variant=notes))
    assert [(v.code, v.gtin) for v in found.variants] == [
        ("SET-1-1", ""),
        ("SET-1-OAT", ""),
        ("OLD-3", "9520000010010"),
    ]


def test_the_first_slot_changes_slowest_and_pieces_keep_the_order_of_the_contents() -> None:
    two = gift_set(
        [{"slot": "Left", "choose": ["J-1", "J-2"]}, {"item": "B-1"}, {"slot": "Right", "choose": ["J-3", "C-1"]}]
    )
    found = facts(ITEMS, two)
    assert [tuple(piece.item.code for piece in variant.pieces) for variant in found.variants] == [
        ("J-1", "B-1", "J-3"),
        ("J-1", "B-1", "C-1"),
        ("J-2", "B-1", "J-3"),
        ("J-2", "B-1", "C-1"),
    ]


def test_codes_that_may_not_lie_together_are_never_offered_fixed_items_included() -> None:
    contents: list[dict[str, Any]] = [
        {"item": "C-1"},
        {"slot": "Left", "choose": ["J-1", "J-2"]},
        {"slot": "Right", "choose": ["J-1", "J-3"]},
    ]
    apart = [["J-1", "J-3"], ["C-1", "J-2"]]
    found = facts(ITEMS, gift_set(contents, not_together=apart))
    assert [tuple(choice.item.code for choice in variant.choices) for variant in found.variants] == [("J-1", "J-1")]


@given(groups=st.lists(st.lists(st.sampled_from([item.code for item in ITEMS]), min_size=2, max_size=4), max_size=6))
def test_each_two_codes_are_held_against_all_groups_once_as_each_group_against_all_codes(
    groups: list[list[str]],
) -> None:
    codes = [item.code for item in ITEMS]
    contents = [{"slot": "A", "choose": codes}, {"slot": "B", "choose": codes}]
    found = {
        tuple(choice.item.code for choice in each.choices)
        for each in facts(ITEMS, gift_set(contents, not_together=groups)).variants
    }
    assert found == {pair for pair in product(codes, codes) if all(len({*pair} & {*group}) < 2 for group in groups)}


def test_an_option_reads_what_the_owner_says_else_name_and_form() -> None:
    slot = {"slot": "Jar", "choose": ["J-1", {"item": "J-2", "says": "Linden & Oat"}]}
    found = facts(ITEMS, gift_set([slot]))
    assert [variant.choices[0].says for variant in found.variants] == ["Item J-1 bar soap", "Linden & Oat"]


def test_five_slots_of_six_options_give_7776_variants_with_unlike_codes() -> None:
    many = [item(f"I-{letter}{number}") for letter in "ABCDE" for number in range(6)]
    slots = [{"slot": letter, "choose": [f"I-{letter}{n}" for n in range(6)]} for letter in "ABCDE"]
    found = facts(many, gift_set(slots))
    assert len(found.variants) == 6**5
    assert len({variant.code for variant in found.variants}) == 6**5
    assert found.variants[-1].code == "SET-1-A5-B5-C5-D5-E5"
