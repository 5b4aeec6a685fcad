"""Where files name codes is known from the model: every field that may hold one is looked at, and no other."""

from typing import Any, get_args

import pytest
from pydantic import BaseModel

from listkit.model.channel import Channel
from listkit.model.codes import OldCodes, code_places, old_variant_codes, old_variant_count, variant_codes, with_codes
from listkit.model.fields import CODE
from listkit.model.gift_set import GiftSet
from listkit.model.item import Item
from listkit.model.settings import Settings
from listkit.model.translation import Translation
from listkit.model.wholesale import Wholesale

SET = {
    "code": "OHS-1",
    "name": "OHS-1 by name",
    "box": "S",
    "card": False,
    "not_together": [["OH-B1", "OH-J1"]],
    "contents": [
        {"item": "OH-B1"},
        {"slot": "Jar", "choose": ["OH-J1", {"item": "OH-J2", "says": "OH-J2"}], "default": "OH-J2"},
    ],
    "variant": [{"options": {"Jar": "OH-J1"}, "code": "OH-V1"}],
    "photos": [{"file": "OH-B1.jpg", "shows": ["OH-B1"]}],
}


def gift_set(**changes: object) -> GiftSet:
    return GiftSet.model_validate({**SET, **changes})


def test_codes_of_a_set_are_found_by_their_keys_and_words_that_look_like_them_are_not() -> None:
    places = dict(code_places(gift_set()))
    assert places == {
        ("code",): "OHS-1",
        ("box",): "S",
        ("not_together", 0, 0): "OH-B1",
        ("not_together", 0, 1): "OH-J1",
        ("contents", 0, "item"): "OH-B1",
        ("contents", 1, "choose", 0, "item"): "OH-J1",
        ("contents", 1, "choose", 1, "item"): "OH-J2",
        ("contents", 1, "default"): "OH-J2",
        ("variant", 0, "options", "Jar"): "OH-J1",
        ("variant", 0, "code"): "OH-V1",
        ("photos", 0, "shows", 0): "OH-B1",
    }


def test_a_set_in_other_codes_says_the_same_but_for_them() -> None:
    renamed = with_codes(gift_set(), OldCodes({"OH-J2": "OH-W2", "OH-B1": "OH-W1"}))
    assert {code for _, code in code_places(renamed)} == {"OHS-1", "S", "OH-W1", "OH-W2", "OH-J1", "OH-V1"}
    assert (renamed.name, renamed.photos[0].file, renamed.slots[0].choose[1].says) == (
        "OHS-1 by name", "OH-B1.jpg", "OH-J2"
    )  # fmt: skip
    back = with_codes(renamed, OldCodes({"OH-W2": "OH-J2", "OH-W1": "OH-B1"}))
    assert back == gift_set()
    untouched = gift_set()
    assert with_codes(untouched, OldCodes({"OH-J9": "OH-W9"})) is untouched


def test_keys_that_are_codes_and_lists_of_them_are_found_in_the_other_files() -> None:
    words = Translation.model_validate({"items": {"OH-B1": "Savon"}, "sets": {"OHS-1": {"name": "Aube"}}})
    assert dict(code_places(words)) == {("items", "OH-B1"): "OH-B1", ("sets", "OHS-1"): "OHS-1"}
    assert list(with_codes(words, OldCodes({"OHS-1": "OHS-9"})).sets) == ["OHS-9"]
    channel = Channel.model_validate({"name": "Fair", "make": ["feed"], "leave_out": ["OH-B1"], "sets": ["OHS-1"]})
    assert {path[0] for path, _ in code_places(channel)} == {"sets", "leave_out"}
    lines = {"group": [{"title": "All", "lines": ["OHS-1"]}], "line": [{"code": "OHS-1-J1"}]}
    terms = Wholesale.model_validate(lines)
    assert {code for _, code in code_places(terms)} == {"OHS-1", "OHS-1-J1"}
    entry = {"check": "band-missed", "at": "OHS-1", "reason": "a round price"}
    shop = Settings.model_validate({"name": "N", "currency": "GBP", "country": "GB", "accepted": [entry]})
    assert dict(code_places(shop)) == {("accepted", 0, "at"): "OHS-1"}


def _models(model: type[BaseModel], seen: set[type[BaseModel]]) -> set[type[BaseModel]]:
    """Return a model with all that stand in it."""
    if model in seen:
        return seen
    seen.add(model)
    for about in model.model_fields.values():
        for part in _parts(about.annotation):
            if isinstance(part, type) and issubclass(part, BaseModel):
                _models(part, seen)
    return seen


def _parts(annotation: Any) -> set[Any]:
    return {annotation}.union(*(_parts(part) for part in get_args(annotation) if part is not Ellipsis))


@pytest.mark.parametrize("model", [GiftSet, Channel, Wholesale, Translation, Item])
def test_every_field_that_is_called_after_a_code_is_marked_as_one(model: type[BaseModel]) -> None:
    """A field added later under one of these names is found by this test, not by an owner."""
    named = {"item", "items", "sets", "lines", "larger", "default", "shows", "leave_out", "not_together", "code"}
    for each in _models(model, set()):
        for name, about in each.model_fields.items():
            if name in named and each.__name__ not in {"CasePack", "Minimum"}:
                marks = {*about.metadata, *_parts(about.annotation)}
                assert CODE in marks, f"{each.__name__}.{name}"


def test_variants_had_the_parts_of_what_could_be_chosen_before() -> None:
    assert list(variant_codes(gift_set())) == ["OH-V1", "OHS-1-J2"]
    olds = {"OH-J1": ("OH-X1",), "OH-J2": ("OH-X2",)}
    known = old_variant_codes(gift_set(code="OHS-9", old_codes=["OHS-1"]), olds)
    assert known == {
        "OHS-9-X1": "OH-V1",
        "OHS-1-J1": "OH-V1",
        "OHS-1-X1": "OH-V1",
        "OHS-9-X2": "OHS-9-J2",
        "OHS-1-J2": "OHS-9-J2",
        "OHS-1-X2": "OHS-9-J2",
    }


def test_a_part_of_its_own_stays_and_a_variant_may_state_its_own_old_codes() -> None:
    jar = {"slot": "Jar", "choose": [{"item": "OH-J1", "part": "willow", "old_codes": ["OH-OLD"]}]}
    note = {"options": {"Jar": "OH-J1"}, "old_codes": ["SPRING-W"]}
    known = old_variant_codes(gift_set(contents=[jar], variant=[note], not_together=[]), {"OH-J1": ("OH-X1",)})
    assert known == {"OHS-1-X1": "OHS-1-willow", "OHS-1-OLD": "OHS-1-willow", "SPRING-W": "OHS-1-willow"}


def test_old_codes_of_three_slots_and_their_set_are_counted_before_they_are_made() -> None:
    """301 parts a slot and 301 stems: 301 to the fourth."""
    olds = {code: tuple(f"{code}-{number}" for number in range(300)) for code in ("A", "B", "C")}
    slots = [{"slot": code, "choose": [code]} for code in olds]
    stated = {"code": "S", "old_codes": [f"T-{number}" for number in range(300)], "name": "S", "box": "S"}
    gift_set = GiftSet.model_validate({**stated, "contents": slots})
    assert old_variant_count(gift_set, olds) == 301**4
    assert old_variant_codes(gift_set, olds) == {}
