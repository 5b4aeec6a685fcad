"""pydantic's phrases never reach the owner: every fault is in our words, at the owner's key."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError

from listkit.check.rules import CODES
from listkit.model.channel import Channel
from listkit.model.gift_set import GiftSet
from listkit.model.packaging import Packaging
from listkit.model.settings import Settings
from listkit.model.wholesale import Wholesale
from listkit.read.faults import faults_of, shown
from listkit.read.source import Fault

SOUND = {"code": "A", "name": "N", "box": "S", "contents": [{"item": "X"}]}


def faults(model: type[BaseModel], document: dict[str, Any]) -> list[Fault]:
    with pytest.raises(ValidationError) as caught:
        model.model_validate(document, context={"currency": "GBP"})
    return faults_of(model, caught.value)


def only(document: dict[str, Any]) -> str:
    (fault,) = faults(GiftSet, {**SOUND, **document})
    return f"{fault.message} {fault.hint}  {fault.code}"


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"seasn": "x"}, 'there is no key "seasn". Write "season".  unknown-key'),
        ({"theme": 3}, "3 is not a text. Write it in quotes.  bad-value"),
        ({"status": "on sael"}, '"on sael" is not one of the choices. Write "on sale".  bad-value'),
        ({"option_prices": 1}, '1 is not one of the choices. Write "own", "dearest" or "equal".  bad-value'),
        ({"card": "perhaps"}, '"perhaps" is neither true nor false. Write true or false, without quotes.  bad-value'),
        ({"keywords": 3}, '3 is not a list. Write it as in keywords = ["spring gift", "soap set"].  bad-value'),
        ({"message_card": "x"}, '"x" is not a table of keys. Write [message_card] on a line of its own, '
                                "and its keys below.  bad-value"),
        ({"contents": []}, "it is empty. Write at least one: what is in it, one [[contents]] each.  bad-value"),
        ({"contents": {"item": "X"}}, "it may stand several times. "
                                      "Write [[contents]] in two pairs of brackets.  bad-value"),
        ({"price": "7,50"}, '"7,50" has a comma. Write "7.50" with a point.  bad-value'),
        ({"contents": [{"item": "X", "quantity": 0}]},
         "a quantity of 0 puts nothing in the box. Write 1 or more, or take the entry out.  bad-value"),
        ({"message_card": "{ characters = 180 }"},
         '"{ characters = 180 }" is in quotes, and so it is a text. Take these quotes off. '
         "Write message_card = { characters = 180 }.  bad-value"),
        ({"variant": [{"options": "{ Jar = J-1 }"}]},
         '"{ Jar = J-1 }" is in quotes, and so it is a text. Take these quotes off. '
         'Write it as in options = { Jar = "OH-B01" }.  bad-value'),
        ({"message_card": [{"characters": 1}]},
         "it may stand only once. Write [message_card] in one pair of brackets.  bad-value"),
        ({"contents": [{"slot": "Jar", "choose": "J-1, J-2"}]},
         '"J-1, J-2" is one text and no list. Write choose = ["J-1", "J-2"].  bad-value'),
        ({"contents": [{"slot": "Jar", "choose": '["J-1"]'}]},
         "'[\"J-1\"]' is one text and no list. Write choose = [\"J-1\"].  bad-value"),
        ({"contents": [{"slot": "Jar"}]},
         '"choose" is missing. Add choose = ["OH-B01", "OH-B02"]: the options.  missing-key'),
    ],
)  # fmt: skip
def test_each_kind_of_fault_is_told_in_the_owners_words(change: dict[str, Any], told: str) -> None:
    assert only(change) == told


def test_a_key_of_the_whole_file_below_a_table_is_sent_to_the_top() -> None:
    told = only({"contents": [{"item": "X", "seasn": "spring"}]})
    assert 'Write "season" above the first line in [brackets]: it belongs to the whole file.' in told


def test_a_slip_in_a_needed_key_is_told_once() -> None:
    (fault,) = faults(GiftSet, {**SOUND, "contents": [{"itm": "X"}]})
    assert (fault.code, fault.hint) == ("unknown-key", 'Write "item".')


def test_all_faults_of_a_document_come_at_once() -> None:
    told = faults(GiftSet, {"name": "", "price": True, "photos": [{"focus": [0, 0, 1]}, {"file": "x", "focus": "y"}]})
    assert [fault.loc for fault in told] == [
        ("code",), ("name",), ("box",), ("price",), ("contents",), ("photos", 0, "file"), ("photos", 0, "focus"),
        ("photos", 1, "focus"),
    ]  # fmt: skip


def test_a_document_full_of_faults_is_told_within_measure() -> None:
    told = faults(GiftSet, {**SOUND, **{f"key{number}": 1 for number in range(1000)}})
    assert len(told) == 201
    assert (told[-1].message, told[-1].hint) == ("800 more problems are in it.", "Mend these first.")


def test_values_are_shown_as_their_kind_where_they_cannot_be_quoted() -> None:
    values = ("x", True, [1], {"a": 1}, 7, None)
    assert list(map(shown, values)) == ['"x"', "true", "a list", "a table", "7", "nothing"]


VALUES: st.SearchStrategy[Any] = st.recursive(
    st.one_of(st.text(max_size=5), st.integers(), st.booleans(), st.decimals(), st.dates(), st.times(), st.datetimes()),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=4), inner, max_size=3)),
    max_leaves=4,
)
MODELS: tuple[type[BaseModel], ...] = (Settings, GiftSet, Channel, Packaging, Wholesale)


@st.composite
def documents(draw: st.DrawFn) -> tuple[type[BaseModel], dict[str, Any]]:
    """Return a model and a document with its keys and any values."""
    model = draw(st.sampled_from(MODELS))
    keys = [field.alias or name for name, field in model.model_fields.items()]
    inner = st.dictionaries(st.sampled_from(["item", "slot", "choose", "name", "code", "options", "file", "x"]), VALUES)
    values = st.one_of(VALUES, st.lists(inner, max_size=2), inner)
    return model, draw(st.dictionaries(st.one_of(st.sampled_from(keys), st.text(max_size=3)), values, max_size=6))


@settings(deadline=None, max_examples=60)
@given(documents())
def test_any_values_under_any_keys_give_faults_in_our_words(case: tuple[type[BaseModel], dict[str, Any]]) -> None:
    model, document = case
    document["no-such-key"] = 1  # so that there is always a fault
    with pytest.raises(ValidationError) as caught:
        model.model_validate(document, context={"currency": "GBP"})
    told = faults_of(model, caught.value)
    assert "unknown-key" in [fault.code for fault in told]
    for fault in told:
        assert fault.code in CODES
        assert "\n" not in fault.message + fault.hint
        for phrase in ("Field required", "Input should be", "Extra inputs", "valid ", "datetime.", "Decimal("):
            assert phrase not in fault.message + fault.hint
