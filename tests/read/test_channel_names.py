"""Codes in a channel's `sets` and `leave_out` that name nothing, or another kind of thing."""

from typing import Any

import pytest

from listkit.model.channel import Channel
from listkit.model.gift_set import GiftSet
from listkit.model.shop import SetFolder
from listkit.read.references import Lines
from listkit.read.shop import channel_names

PAIR = GiftSet.model_validate(
    {
        "code": "S-1",
        "name": "Dawn",
        "theme": "Dew.",
        "box": "none",
        "contents": [
            {"slot": "Soap", "choose": ["A-1", {"item": "A-2", "part": "B-W"}]},
            {"slot": "Jar", "choose": ["J-1", {"item": "J-2", "part": "B"}]},
        ],
    }
)
SETS, ITEMS = frozenset({"S-1"}), frozenset({"A-1", "A-2", "J-1", "J-2"})
KNOWN = Lines(SETS | ITEMS, SETS | ITEMS, None)


def told(*, names: Lines = KNOWN, set_codes: frozenset[str] | None = SETS, **says: Any) -> list[str]:
    channel = Channel.model_validate({"name": "Stall", "make": ["price list"], **says})
    problems = channel_names([channel], names, [SetFolder("dawn", PAIR, (), ())], set_codes)
    return [f"{problem.message} {problem.hint}" for problem in problems]


def test_an_item_among_the_sets_of_a_channel_is_told_as_what_it_is() -> None:
    assert told(sets=["S-1", "A-1"]) == ['"A-1" is an item, not a set. Write the code of a set.']
    assert told(sets=["S-2"]) == ['there is no set "S-2". Write the code of a set.']
    assert told(sets=["T-1"]) == ['there is no set "T-1". Perhaps "S-1" is meant.']


def test_where_the_items_cannot_be_read_the_sets_are_known_still() -> None:
    unread = Lines(None, SETS, None)
    assert told(names=unread, sets=["S-1", "T-9"], leave_out=["A-9"]) == [
        'there is no set "T-9". Write the code of a set.'
    ]
    assert told(set_codes=None, sets=["T-9"]) == []


@pytest.mark.parametrize("code", ["S-1-1-1", "S-1-B-W-1", "S-1-B-W-B", "S-1-1-B", "S-1-1", "S-1-B-W", "S-1-B"])
def test_a_variant_or_an_option_of_a_set_may_be_left_out_whatever_its_parts_are(code: str) -> None:
    assert told(leave_out=[code]) == []


@pytest.mark.parametrize("code", ["S-1-B-1", "S-1-1-B-W", "S-1-B-B-W", "S-1-W-B", "S-1-1-1-1"])
def test_parts_in_another_order_than_the_slots_are_no_variant(code: str) -> None:
    assert len(told(leave_out=[code])) == 1
