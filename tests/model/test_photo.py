"""Tests of the values about photos that every layer holds."""

import json
import tomllib
from dataclasses import replace
from decimal import Decimal

import pytest
from pydantic import ValidationError

from listkit.model.gift_set import PhotoNote
from listkit.model.photo import (
    NEAR_LIKENESS,
    WHOLE,
    FocusBox,
    PhotoFacts,
    facts_as_json,
    facts_from_json,
    likeness_distance,
)


def box(left: str, top: str, right: str, bottom: str) -> FocusBox:
    return FocusBox(Decimal(left), Decimal(top), Decimal(right), Decimal(bottom))


FACTS = PhotoFacts(
    width=2668, height=2000, sha256="ab" * 32, format="jpeg", mode="colour", profile="sRGB", orientation=6, frames=1,
    ground="#dfdcd7", plain=True, found=box("0.1", "0.2", "0.9", "0.75"), how_found="what stands out",
    detail=WHOLE, sharpness=Decimal("0.774"), brightness=Decimal("0.700"), likeness=1 << 2500,
)  # fmt: skip


def test_a_box_has_an_area() -> None:
    assert box("0.2", "0.2", "0.6", "0.6").area == Decimal("0.16")


def test_facts_come_back_from_json_as_they_were() -> None:
    assert facts_from_json(json.loads(json.dumps(facts_as_json(FACTS)))) == FACTS


@pytest.mark.parametrize(
    "change",
    [{"width": "2668"}, {"width": True}, {"plain": 1}, {"found": "0 0 1"}, {"sharpness": "sharp"}, {"ground": None}],
)
def test_facts_that_were_remembered_in_another_form_are_measured_again(change: dict[str, object]) -> None:
    assert facts_from_json({**facts_as_json(FACTS), **change}) is None


def test_facts_that_miss_a_figure_are_measured_again() -> None:
    remembered = facts_as_json(FACTS)
    del remembered["likeness"]
    assert facts_from_json(remembered) is None


def test_likeness_is_judged_by_the_field_that_differs_most() -> None:
    """A field holds three values of 6 bits, a step of which is four levels; apart by 3 and 4 steps makes 20 levels."""
    field = (3 << 12 | 4 << 6) << 18 * 7
    assert likeness_distance(0, 0) == 0
    assert likeness_distance(field, 0) == likeness_distance(0, field) == 20 == NEAR_LIKENESS
    assert likeness_distance(field | 1, 0) == 20
    assert likeness_distance(FACTS.likeness, replace(FACTS, width=1).likeness) == 0


def noted(pieces: str) -> PhotoNote:
    return PhotoNote.model_validate(
        tomllib.loads(f'file = "a.jpg"\npieces = {{ JAR = {pieces} }}', parse_float=Decimal)
    )


def test_a_piece_is_in_its_picture_where_a_list_says_as_the_focus_is_or_the_text_of_earlier_files() -> None:
    is_in = {"JAR": box("0.1", "0.20", "0.4", "1")}
    assert noted("[0.1, 0.20, 0.4, 1]").pieces == is_in
    assert noted('"0.1, 0.20,0.4, 1"').pieces == is_in


@pytest.mark.parametrize(
    ("pieces", "says"),
    [
        ("[0.1, 0.2, 1.4, 0.5]", '"1.4" is not a share of the picture'),
        ('"0.1, 0.2, 1.4, 0.5"', '"1.4" is not a share of the picture'),
        ('"-0.1, 0.2, 0.4, 0.5"', '"-0.1" is not a share of the picture'),
        ("[10, 20, 40, 50]", '"10" is not a share of the picture'),
        ('"10 %, 20 %, 40 %, 50 %"', '"10 %" is not a share of the picture'),
        ("[0.4, 0.2, 0.1, 0.5]", "turned over or empty"),
        ("[0.1, 0.2, 0.4]", "has four sides"),
        ('"left"', "has four sides"),
        ('""', "has four sides"),
        ("0.5", "has four sides"),
        ("[true, 0.2, 0.4, 0.5]", "is not a share of the picture"),
        ("[nan, 0.2, 0.4, 0.5]", "is not a share of the picture"),
    ],
)
def test_a_place_that_no_picture_has_is_told(pieces: str, says: str) -> None:
    with pytest.raises(ValidationError, match=says):
        noted(pieces)


@pytest.mark.parametrize(
    "wrong",
    [
        {"likeness": -1}, {"width": 0}, {"height": -3}, {"frames": 0}, {"sharpness": "NaN"}, {"brightness": "2"},
        {"found": "0.9 0.2 0.1 0.75"}, {"found": "NaN 0 1 1"}, {"detail": "0 0 1 7"}, {"edges": "0 -1 0 0"},
        {"ground": "grey"},
    ],
)  # fmt: skip
def test_facts_that_no_picture_can_have_are_measured_anew(wrong: dict[str, object]) -> None:
    """A likeness below zero was compared without end; the others ended in a traceback where they were used."""
    assert facts_from_json({**facts_as_json(FACTS), **wrong}) is None
